//! From owners on a lattice to outlines: each owner's part of the plane as rings that meet, and never cross, those of
//! the others.

use super::region::{Ring, Spot, spot};

/// Owners and distances at the points of a lattice.
pub struct Lattice {
    /// Abscissae, nm, rising.
    pub xs: Vec<f64>,
    /// Ordinates, nm, rising.
    pub ys: Vec<f64>,
    /// Owner of each point, row by row.
    pub owner: Vec<u32>,
    /// Distance of each point from its owner, nm.
    pub distance: Vec<f64>,
}

impl Lattice {
    /// The place between two neighbouring points of different owners that is as far from the one as from the other.
    fn crossing(&self, p: usize, q: usize) -> Spot {
        let (p, q) = (p.min(q), p.max(q));
        let n = self.xs.len();
        let (a, b) = ([self.xs[p % n], self.ys[p / n]], [self.xs[q % n], self.ys[q / n]]);
        let gap = (b[0] - a[0]).abs() + (b[1] - a[1]).abs();
        let ahead = self.distance[q] - self.distance[p];
        let t = if ahead.is_finite() { ((ahead + gap) / (2.0 * gap)).clamp(0.1, 0.9) } else { 0.5 };
        spot(a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))
    }

    /// The rings around the points of each owner `0..owners`, the owner on the left. Points that touch across a corner
    /// only are kept apart.
    pub fn rings(&self, owners: usize) -> Vec<Vec<Ring>> {
        let (n, rows) = (self.xs.len(), self.ys.len());
        // A crossing is named by its lower point and direction: 2 p to the right, 2 p + 1 upward.
        let name = |p: usize, q: usize| 2 * p.min(q) + usize::from(p.abs_diff(q) != 1);
        let mut steps: Vec<Vec<(usize, usize, Spot)>> = vec![Vec::new(); owners];
        for y in 0..rows - 1 {
            for x in 0..n - 1 {
                let p = y * n + x;
                let corners = [p, p + 1, p + 1 + n, p + n];
                let of = corners.map(|c| self.owner[c]);
                if of.iter().all(|&o| o == of[0]) {
                    continue;
                }
                for k in 0..4 {
                    let mine = of[k];
                    if mine as usize >= owners || of[(k + 3) % 4] == mine {
                        continue;
                    }
                    let mut last = k;
                    while of[(last + 1) % 4] == mine {
                        last += 1;
                    }
                    let leave = (corners[last % 4], corners[(last + 1) % 4]);
                    let enter = (corners[(k + 3) % 4], corners[k]);
                    steps[mine as usize].push((
                        name(leave.0, leave.1),
                        name(enter.0, enter.1),
                        self.crossing(leave.0, leave.1),
                    ));
                }
            }
        }
        steps.into_iter().map(chained).collect()
    }
}

/// Joins steps (from, to, place of from) to closed rings.
fn chained(mut steps: Vec<(usize, usize, Spot)>) -> Vec<Ring> {
    steps.sort_unstable();
    let mut used = vec![false; steps.len()];
    let mut rings = Vec::new();
    for first in 0..steps.len() {
        let mut ring = Ring::new();
        let mut at = first;
        while !used[at] {
            used[at] = true;
            ring.push(steps[at].2);
            match steps.binary_search_by_key(&steps[at].1, |s| s.0) {
                Ok(next) => at = next,
                Err(_) => break,
            }
        }
        if ring.len() > 2 {
            rings.push(ring);
        }
    }
    rings
}

/// A ring with the corners left out that lie within `by` nm of the chord that replaces them (Douglas and Peucker 1973).
pub fn smoother(ring: &[Spot], by: f64) -> Ring {
    let n = ring.len();
    if n < 8 {
        return ring.to_vec();
    }
    let by = by * super::region::FINE;
    let far = |a: Spot, b: Spot| ((a[0] - b[0]) as f64).hypot((a[1] - b[1]) as f64);
    let opposite =
        (0..n).max_by(|&i, &j| far(ring[i], ring[0]).total_cmp(&far(ring[j], ring[0]))).unwrap_or(0);
    let mut keep = vec![false; n + 1];
    (keep[0], keep[opposite], keep[n]) = (true, true, true);
    let mut open = vec![(0, opposite), (opposite, n)];
    while let Some((i, j)) = open.pop() {
        let (a, b) = (ring[i], ring[j % n]);
        let (d, l) = ([(b[0] - a[0]) as f64, (b[1] - a[1]) as f64], far(a, b));
        let off = |k: usize| {
            let e = [(ring[k][0] - a[0]) as f64, (ring[k][1] - a[1]) as f64];
            if l > 0.0 { (d[0] * e[1] - d[1] * e[0]).abs() / l } else { e[0].hypot(e[1]) }
        };
        let worst = (i + 1..j).map(|k| (k, off(k))).max_by(|p, q| p.1.total_cmp(&q.1));
        if let Some((k, _)) = worst.filter(|w| w.1 > by) {
            keep[k] = true;
            open.extend([(i, k), (k, j)]);
        }
    }
    let out: Ring = (0..n).filter(|&k| keep[k]).map(|k| ring[k]).collect();
    if out.len() < 3 { ring.to_vec() } else { out }
}

#[cfg(test)]
mod tests {
    use super::super::region::area;
    use super::*;

    #[test]
    fn two_halves_meet_where_both_are_equally_far() {
        // Owner 0 at x = 0, owner 1 at x = 5, no owner on the frame.
        let (xs, ys): (Vec<f64>, Vec<f64>) =
            ((0..8).map(f64::from).collect(), (0..5).map(f64::from).collect());
        let mut owner = vec![u32::MAX; 40];
        let mut distance = vec![f64::INFINITY; 40];
        for y in 1..4 {
            for x in 1..7 {
                owner[y * 8 + x] = u32::from(x > 3);
                distance[y * 8 + x] = if x > 3 { 6.0 - x as f64 } else { x as f64 - 1.0 };
            }
        }
        let rings = Lattice { xs, ys, owner, distance }.rings(2);
        assert_eq!([rings[0].len(), rings[1].len()], [1, 1]);
        let (a, b) = (area(&rings[0][0]), area(&rings[1][0]));
        assert!(a > 0.0 && (a - b).abs() < 1e-9, "{a} {b}");
        assert!(rings[0][0].contains(&spot(3.5, 2.0)) && rings[1][0].contains(&spot(3.5, 2.0)));
    }

    #[test]
    fn points_across_a_corner_stay_apart() {
        let (xs, ys): (Vec<f64>, Vec<f64>) =
            ((0..4).map(f64::from).collect(), (0..4).map(f64::from).collect());
        let mut owner = vec![u32::MAX; 16];
        (owner[5], owner[6], owner[9], owner[10]) = (0, 1, 1, 0);
        let rings = Lattice { xs, ys, owner, distance: vec![0.0; 16] }.rings(2);
        assert_eq!([rings[0].len(), rings[1].len()], [2, 2]);
    }
}
