//! Squares on a lattice, and which of them keep clear of metal's edges. With side zero the squares are points.

use crate::grow::region::{FINE, Ring, Spot};
use crate::grow::scan::scan;
use crate::route::plane::{P2, nearest_on_segment};
use facedown_layout::Point;
use facedown_quantity::Nm;

/// Squares in rows and columns; lengths in nm.
pub struct Lattice {
    /// Lower-left corner of the first square.
    low: P2,
    pitch: f64,
    side: f64,
    count: [usize; 2],
}

impl Lattice {
    /// The squares of the lattice through `anchor` (a lower-left corner) that may lie within a box on the fine grid.
    pub fn over([low, high]: [Spot; 2], anchor: P2, pitch: f64, side: f64) -> Lattice {
        let first = [0, 1].map(|k| ((low[k] as f64 / FINE - anchor[k]) / pitch).floor());
        let last = [0, 1].map(|k| ((high[k] as f64 / FINE - anchor[k]) / pitch).ceil());
        Lattice {
            low: [0, 1].map(|k| anchor[k] + first[k] * pitch),
            pitch,
            side,
            count: [0, 1].map(|k| (last[k] - first[k]).max(0.0) as usize + 1),
        }
    }

    /// Number of squares.
    pub fn len(&self) -> usize {
        self.count[0] * self.count[1]
    }

    /// Lower-left corner of a square.
    pub fn corner(&self, i: usize) -> P2 {
        let at = [i % self.count[0], i / self.count[0]];
        [0, 1].map(|k| self.low[k] + at[k] as f64 * self.pitch)
    }

    /// The outline of a square as a hole: clockwise.
    pub fn hole(&self, i: usize) -> Vec<Point> {
        let (at, s) = (self.corner(i), self.side);
        let corner =
            |dx: f64, dy: f64| Point::new(Nm((at[0] + dx).round() as i64), Nm((at[1] + dy).round() as i64));
        vec![corner(0.0, 0.0), corner(0.0, s), corner(s, s), corner(s, 0.0)]
    }

    /// Visits the squares whose middle lies inside rings (odd number of crossings).
    pub fn inside<'a>(&self, rings: impl IntoIterator<Item = &'a Ring>, mut visit: impl FnMut(usize)) {
        let middle = self.low.map(|v| v + self.side / 2.0);
        let rings = rings.into_iter().map(Vec::as_slice);
        scan(rings, middle, [self.pitch; 2], self.count, |x, y| visit(y * self.count[0] + x));
    }

    /// Visits the squares nearer than `clearance` (nm) to the edges of a ring. A square may come several times.
    pub fn near(&self, ring: &[Spot], clearance: f64, mut visit: impl FnMut(usize)) {
        let nm = |p: Spot| p.map(|v| v as f64 / FINE);
        let Some(&end) = ring.last() else { return };
        let mut a = nm(end);
        for &p in ring {
            let b = nm(p);
            let reach = clearance + self.side;
            for y in self.between(1, a[1].min(b[1]) - reach, a[1].max(b[1]) + clearance) {
                // Only the part of the edge that passes this row counts.
                let bottom = self.low[1] + y as f64 * self.pitch;
                let (from, to) = part(a, b, bottom - clearance, bottom + reach);
                for x in self.between(0, from.min(to) - reach, from.max(to) + clearance) {
                    let i = y * self.count[0] + x;
                    if from_square(a, b, self.corner(i), self.side) < clearance {
                        visit(i);
                    }
                }
            }
            a = b;
        }
    }

    /// Numbers of the columns (axis 0) or rows (1) whose squares begin between two coordinates.
    pub fn between(&self, axis: usize, from: f64, to: f64) -> std::ops::Range<usize> {
        let first = ((from - self.low[axis]) / self.pitch).ceil().max(0.0) as usize;
        let last = ((to - self.low[axis]) / self.pitch).floor() + 1.0;
        first..(last.max(0.0) as usize).min(self.count[axis])
    }

    /// The number of the square in a column and row.
    pub fn at(&self, x: usize, y: usize) -> usize {
        y * self.count[0] + x
    }
}

/// First and last abscissa of the part of a segment between two ordinates.
fn part(a: P2, b: P2, low: f64, high: f64) -> (f64, f64) {
    if (b[1] - a[1]).abs() < 1e-9 {
        return (a[0], b[0]);
    }
    let x = |y: f64| {
        let t = ((y - a[1]) / (b[1] - a[1])).clamp(0.0, 1.0);
        a[0] + t * (b[0] - a[0])
    };
    (x(low), x(high))
}

/// Distance of a segment from a square given by its lower-left corner, 0 where they meet.
fn from_square(a: P2, b: P2, low: P2, side: f64) -> f64 {
    if side == 0.0 {
        return nearest_on_segment(a, b, low).1;
    }
    let high = low.map(|v| v + side);
    // The part of the segment within the square, if any.
    let (mut t0, mut t1) = (0.0_f64, 1.0_f64);
    for k in 0..2 {
        let d = b[k] - a[k];
        if d.abs() < 1e-9 {
            if a[k] < low[k] || a[k] > high[k] {
                t1 = -1.0;
            }
            continue;
        }
        let (u, v) = ((low[k] - a[k]) / d, (high[k] - a[k]) / d);
        t0 = t0.max(u.min(v));
        t1 = t1.min(u.max(v));
    }
    if t0 <= t1 {
        return 0.0;
    }
    let from_end = |p: P2| {
        let off = [0, 1].map(|k| (low[k] - p[k]).max(p[k] - high[k]).max(0.0));
        off[0].hypot(off[1])
    };
    let corners = [low, [high[0], low[1]], high, [low[0], high[1]]];
    corners
        .iter()
        .map(|&c| nearest_on_segment(a, b, c).1)
        .chain([from_end(a), from_end(b)])
        .fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grow::region::spot;
    use proptest::prelude::*;

    #[test]
    fn squares_near_a_slanted_edge_are_those_that_it_is_near() {
        let ring = vec![spot(0.0, 0.0), spot(900.0, 300.0), spot(200.0, 800.0)];
        let lattice = Lattice::over([spot(0.0, 0.0), spot(900.0, 800.0)], [3.0, 5.0], 40.0, 16.0);
        let mut near = vec![false; lattice.len()];
        lattice.near(&ring, 25.0, |i| near[i] = true);
        for (i, near) in near.iter().enumerate() {
            let nm = |p: Spot| p.map(|v| v as f64 / FINE);
            let least = (0..3)
                .map(|k| from_square(nm(ring[k]), nm(ring[(k + 1) % 3]), lattice.corner(i), 16.0))
                .fold(f64::INFINITY, f64::min);
            assert_eq!(*near, least < 25.0, "square {i}");
        }
        let mut within = vec![false; lattice.len()];
        lattice.inside([&ring], |i| within[i] = true);
        let by_area = within.iter().filter(|w| **w).count() as f64 * 1600.0;
        assert!((by_area / 330_000.0 - 1.0).abs() < 0.05, "{by_area}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn distance_from_a_square_is_the_least_over_points(
            (ax, ay) in (-50.0..50.0f64, -50.0..50.0f64), (bx, by) in (-50.0..50.0f64, -50.0..50.0f64),
        ) {
            let got = from_square([ax, ay], [bx, by], [-10.0, -10.0], 20.0);
            let sampled = (0..=2000)
                .map(|k| f64::from(k) / 2000.0)
                .map(|t| [ax + t * (bx - ax), ay + t * (by - ay)])
                .map(|p| (p[0].abs() - 10.0).max(0.0).hypot((p[1].abs() - 10.0).max(0.0)))
                .fold(f64::INFINITY, f64::min);
            prop_assert!(got <= sampled + 1e-9 && got >= sampled - 0.1, "{got} {sampled}");
        }
    }
}
