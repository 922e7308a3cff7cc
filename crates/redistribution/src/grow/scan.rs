//! Which points of a lattice lie inside rings, row by row.

use super::region::{FINE, Spot};

/// Visits the column and row of every lattice point inside rings (odd number of crossings). The lattice starts at
/// `origin` and goes on by `step`, both nm.
pub fn scan<'a>(
    rings: impl IntoIterator<Item = &'a [Spot]>,
    origin: [f64; 2],
    step: [f64; 2],
    count: [usize; 2],
    mut visit: impl FnMut(usize, usize),
) {
    let steps = |p: Spot| [0, 1].map(|k| (p[k] as f64 / FINE - origin[k]) / step[k]);
    let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); count[1]];
    let (mut first, mut last) = (count[1], 0);
    for ring in rings {
        let Some(&end) = ring.last() else { continue };
        let mut a = steps(end);
        for &p in ring {
            let b = steps(p);
            let (low, high) = if a[1] < b[1] { (a, b) } else { (b, a) };
            let from = low[1].ceil().max(0.0) as usize;
            let to = (high[1].ceil().max(0.0) as usize).min(count[1]);
            for (y, row) in crossings.iter_mut().enumerate().take(to).skip(from) {
                row.push(low[0] + (y as f64 - low[1]) / (high[1] - low[1]) * (high[0] - low[0]));
            }
            (first, last) = (first.min(from), last.max(to));
            a = b;
        }
    }
    for (y, row) in crossings.iter_mut().enumerate().take(last).skip(first) {
        row.sort_unstable_by(f64::total_cmp);
        for pair in row.chunks_exact(2) {
            let from = pair[0].ceil().max(0.0) as usize;
            let to = (pair[1].ceil().max(0.0) as usize).min(count[0]);
            (from..to).for_each(|x| visit(x, y));
        }
    }
}
