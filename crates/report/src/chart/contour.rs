//! Contour lines of a field that is known at the middles of the cells of an uneven grid.
//!
//! Marching squares (W. E. Lorensen, H. E. Cline, Computer Graphics 21 (1987) 163-169, in the plane), with the mean of the
//! four values deciding a saddle; pieces that share an edge are joined into lines. Squares with a missing corner have
//! no line.

use std::collections::BTreeMap;

/// A line through places of equal value, open or closed.
pub type Line = Vec<(f64, f64)>;

/// An edge of the grid of middles: its lower corner, and true where it runs to the right.
type Edge = (usize, usize, bool);

/// Lines of one level. `x` and `y` rise; `value(i, j)` is the value at `x[i]`, `y[j]`, not a number where there is none.
pub fn lines(x: &[f64], y: &[f64], value: impl Fn(usize, usize) -> f64, level: f64) -> Vec<Line> {
    // Each edge belongs to at most two pieces of line.
    let mut next: BTreeMap<Edge, Vec<Edge>> = BTreeMap::new();
    for j in 0..y.len().saturating_sub(1) {
        for i in 0..x.len().saturating_sub(1) {
            for (a, b) in pieces(i, j, &value, level) {
                next.entry(a).or_default().push(b);
                next.entry(b).or_default().push(a);
            }
        }
    }
    let place = |(i, j, right): Edge| {
        let (k, l) = if right { (i + 1, j) } else { (i, j + 1) };
        let (a, b) = (value(i, j), value(k, l));
        let share = ((level - a) / (b - a)).clamp(0.0, 1.0);
        (x[i] + share * (x[k] - x[i]), y[j] + share * (y[l] - y[j]))
    };
    let mut found = Vec::new();
    // Open lines first, from an end; what is left is closed.
    for ends in [1, 2] {
        let starts: Vec<Edge> = next.iter().filter(|(_, to)| to.len() == ends).map(|(e, _)| *e).collect();
        for start in starts {
            let mut line = vec![place(start)];
            let mut at = start;
            while let Some(to) = next.get_mut(&at).and_then(Vec::pop) {
                if let Some(back) = next.get_mut(&to)
                    && let Some(k) = back.iter().position(|e| *e == at)
                {
                    back.swap_remove(k);
                }
                line.push(place(to));
                at = to;
            }
            if line.len() > 1 {
                found.push(line);
            }
        }
    }
    found
}

/// Pieces of line in the square above and to the right of a middle.
fn pieces(i: usize, j: usize, value: &impl Fn(usize, usize) -> f64, level: f64) -> Vec<(Edge, Edge)> {
    let corners = [value(i, j), value(i + 1, j), value(i + 1, j + 1), value(i, j + 1)];
    if !corners.iter().all(|v| v.is_finite()) {
        return Vec::new();
    }
    let (bottom, right, top, left) = ((i, j, true), (i + 1, j, false), (i, j + 1, true), (i, j, false));
    let above = corners.map(|v| v > level);
    match above {
        [false, false, false, false] | [true, true, true, true] => Vec::new(),
        [true, false, false, false] | [false, true, true, true] => vec![(left, bottom)],
        [false, true, false, false] | [true, false, true, true] => vec![(bottom, right)],
        [false, false, true, false] | [true, true, false, true] => vec![(right, top)],
        [false, false, false, true] | [true, true, true, false] => vec![(top, left)],
        [true, true, false, false] | [false, false, true, true] => vec![(left, right)],
        [true, false, false, true] | [false, true, true, false] => vec![(bottom, top)],
        [true, false, true, false] | [false, true, false, true] => {
            let middle_above = corners.iter().sum::<f64>() / 4.0 > level;
            if middle_above == above[0] {
                vec![(left, top), (bottom, right)]
            } else {
                vec![(left, bottom), (right, top)]
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cone_has_one_round_line() {
        let x: Vec<f64> = (0..41).map(|i| f64::from(i) / 20.0 - 1.0).collect();
        let found = lines(&x, &x, |i, j| x[i].hypot(x[j]), 0.6);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].first(), found[0].last());
        assert!(found[0].iter().all(|(a, b)| (a.hypot(*b) - 0.6).abs() < 2e-3));
    }

    #[test]
    fn a_slope_has_one_straight_line_on_an_uneven_grid_and_none_where_nothing_is_known() {
        let (x, y) = ([0.0, 1.0, 1.5, 4.0], [0.0, 0.2, 3.0]);
        let found = lines(&x, &y, |i, j| x[i] + y[j], 2.0);
        assert_eq!(found.len(), 1);
        assert!(found[0].iter().all(|(a, b)| (a + b - 2.0).abs() < 1e-12));
        assert!(lines(&x, &y, |_, _| f64::NAN, 2.0).is_empty());
        assert!(lines(&x, &y, |_, _| 3.0, 2.0).is_empty());
        assert!(lines(&[], &[], |_, _| 3.0, 2.0).is_empty());
    }
}
