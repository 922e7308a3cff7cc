//! The distance from each place to the nearest other one, by squares that hold about one place each.

/// Places sorted into squares.
struct Squares<'a> {
    places: &'a [[f64; 2]],
    /// Lower corner, and the side of a square, m.
    low: [f64; 2],
    side: f64,
    count: [usize; 2],
    /// Places by square, and where each square begins among them.
    order: Vec<usize>,
    begins: Vec<usize>,
}

impl<'a> Squares<'a> {
    fn of(places: &'a [[f64; 2]]) -> Squares<'a> {
        let end =
            |k: usize, pick: fn(f64, f64) -> f64, from: f64| places.iter().map(|p| p[k]).fold(from, pick);
        let low = [0, 1].map(|k| end(k, f64::min, f64::INFINITY));
        let size = [0, 1].map(|k| end(k, f64::max, f64::NEG_INFINITY) - low[k]);
        let n = places.len() as f64;
        // For places in a row a square has the length of their mean distance.
        let side = (size[0] * size[1] / n).sqrt().max(size[0].max(size[1]) / n);
        let side = if side > 0.0 && side.is_finite() { side } else { 1.0 };
        let count = size.map(|s| (s / side) as usize + 1);
        let mut squares = Squares { places, low, side, count, order: Vec::new(), begins: Vec::new() };
        let homes: Vec<usize> = places.iter().map(|p| squares.index(squares.home(p))).collect();
        let mut begins = vec![0; count[0] * count[1] + 1];
        homes.iter().for_each(|&h| begins[h + 1] += 1);
        (1..begins.len()).for_each(|k| begins[k] += begins[k - 1]);
        let mut next = begins.clone();
        squares.order = vec![0; places.len()];
        for (place, &home) in homes.iter().enumerate() {
            squares.order[next[home]] = place;
            next[home] += 1;
        }
        squares.begins = begins;
        squares
    }

    fn home(&self, place: &[f64; 2]) -> [usize; 2] {
        [0, 1].map(|k| (((place[k] - self.low[k]) / self.side) as usize).min(self.count[k] - 1))
    }

    fn index(&self, [x, y]: [usize; 2]) -> usize {
        x * self.count[1] + y
    }

    /// Distance from a place to the nearest other one; infinite for one place alone.
    fn nearest(&self, from: usize) -> f64 {
        let own = self.places[from];
        let [x, y] = self.home(&own);
        // Squares, until the root of the least is drawn.
        let mut best = f64::INFINITY;
        for ring in 0..=self.count[0].max(self.count[1]) {
            // What lies beyond the rings so far is farther than their width; a hair less, as places are rounded.
            let covered = ring.saturating_sub(1) as f64 * self.side * (1.0 - 1e-12);
            if ring > 0 && best <= covered * covered {
                break;
            }
            let xs = x.saturating_sub(ring)..=(x + ring).min(self.count[0] - 1);
            for i in xs {
                let ys = y.saturating_sub(ring)..=(y + ring).min(self.count[1] - 1);
                let whole = i.abs_diff(x) == ring;
                for j in ys.filter(|j| whole || j.abs_diff(y) == ring) {
                    let square = self.index([i, j]);
                    for &other in &self.order[self.begins[square]..self.begins[square + 1]] {
                        if other != from {
                            let [x, y] = [0, 1].map(|k| self.places[other][k] - own[k]);
                            best = best.min(x * x + y * y);
                        }
                    }
                }
            }
        }
        best.sqrt()
    }
}

/// How far the next row or column may be, over the distance to the nearest place, to count as one of the same array.
const SAME_ARRAY: f64 = 3.0;

impl Squares<'_> {
    /// Steps along x and y to the neighbours of a place: the least of those that lie more along that axis than along the
    /// other. Where there is none nearby, the distance to the nearest.
    fn steps(&self, from: usize) -> [f64; 2] {
        let own = self.places[from];
        let nearest = self.nearest(from);
        let reach = SAME_ARRAY * nearest;
        let mut steps = [f64::INFINITY; 2];
        if reach.is_finite() {
            let [low, high] = [-reach, reach].map(|r| self.home(&[own[0] + r, own[1] + r]));
            for i in low[0]..=high[0] {
                for j in low[1]..=high[1] {
                    let square = self.index([i, j]);
                    for &other in &self.order[self.begins[square]..self.begins[square + 1]] {
                        let d = [0, 1].map(|k| (self.places[other][k] - own[k]).abs());
                        let axis = usize::from(d[1] > d[0]);
                        if other != from && d[0].hypot(d[1]) <= reach * (1.0 + 1e-9) {
                            steps[axis] = steps[axis].min(d[axis]);
                        }
                    }
                }
            }
        }
        steps.map(|s| if s.is_finite() { s } else { nearest })
    }
}

/// Steps of the array along x and y about every place ([`Squares::steps`]); infinite for one place alone.
pub(crate) fn steps(places: &[[f64; 2]]) -> Vec<[f64; 2]> {
    if places.is_empty() {
        return Vec::new();
    }
    let squares = Squares::of(places);
    (0..places.len()).map(|i| squares.steps(i)).collect()
}

/// Distance from every place to the nearest other one; infinite for one place alone.
pub(crate) fn each(places: &[[f64; 2]]) -> Vec<f64> {
    if places.is_empty() {
        return Vec::new();
    }
    let squares = Squares::of(places);
    (0..places.len()).map(|i| squares.nearest(i)).collect()
}

/// Median over the places (m) of the distance to the nearest other one, m; infinite for one place alone.
pub fn median_nearest(places: &[[f64; 2]]) -> f64 {
    let mut nearest = each(places);
    nearest.sort_by(f64::total_cmp);
    nearest.get(nearest.len() / 2).copied().unwrap_or(f64::INFINITY)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn as_by_looking_at_every_pair(
            places in prop::collection::vec((-9..9_i32, -9..9_i32), 2..60),
            stretch in prop_oneof![Just(0.0), Just(1e-6), 0.1..10.0_f64],
        ) {
            let places: Vec<[f64; 2]> =
                places.iter().map(|&(x, y)| [f64::from(x) * 1e-4, f64::from(y) * 1e-4 * stretch]).collect();
            let squares = Squares::of(&places);
            for (i, from) in places.iter().enumerate() {
                let others = places.iter().enumerate().filter(|(j, _)| *j != i);
                let squared = |to: &[f64; 2]| (to[0] - from[0]) * (to[0] - from[0]) + (to[1] - from[1]) * (to[1] - from[1]);
                let least = others.map(|(_, to)| squared(to)).fold(f64::INFINITY, f64::min);
                prop_assert_eq!(squares.nearest(i), least.sqrt());
            }
        }
    }

    #[test]
    fn steps_are_those_of_the_array() {
        let array = |step: [f64; 2], shift: f64| -> Vec<[f64; 2]> {
            let place = |k: i32| {
                let (i, j) = (f64::from(k % 6), f64::from(k / 6));
                [step[0] * (i + shift * (f64::from(k / 6) % 2.0)), step[1] * j]
            };
            (0..30).map(place).collect()
        };
        let close =
            |found: &[f64; 2], x: f64, y: f64| (found[0] - x).abs() < 1e-9 && (found[1] - y).abs() < 1e-9;
        assert!(steps(&array([2.0, 2.0], 0.0)).iter().all(|s| close(s, 2.0, 2.0)));
        assert!(steps(&array([1.0, 2.0], 0.0)).iter().all(|s| close(s, 1.0, 2.0)));
        // Rows shifted by half a pitch, as high as an equilateral triangle.
        let high = 0.75_f64.sqrt();
        assert!(steps(&array([1.0, high], 0.5)).iter().all(|s| close(s, 1.0, high)));
        // A single row has no step across.
        let row: Vec<[f64; 2]> = (0..9).map(|k| [f64::from(k), 0.0]).collect();
        assert!(steps(&row).iter().all(|s| close(s, 1.0, 1.0)));
        assert_eq!(steps(&[[0.0; 2]]), [[f64::INFINITY; 2]]);
    }

    #[test]
    fn one_place_has_no_neighbour_and_two_have_each_other() {
        assert_eq!(median_nearest(&[[1.0, 2.0]]), f64::INFINITY);
        assert_eq!(median_nearest(&[[0.0, 0.0], [3.0, 4.0]]), 5.0);
    }
}
