//! The staircase with the fewest bends between obstacles on its two sides.
//!
//! A course that runs in two neighbouring directions only, along x and along the diagonal x = y, is a staircase of
//! right angles in the coordinates `d = x - y` and `h = y`: along x only `d` grows, along the diagonal only `h`. An
//! obstacle above it forbids the quadrant up and left of its lower right corner (least `h`, largest `d`), one below
//! the quadrant down and right of its upper left corner. Which makes the search a small one over the lines through
//! those corners, and exact.

/// A corner of an obstacle, in `d` and `h`, nm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// `x - y`.
    pub d: f64,
    /// `y`.
    pub h: f64,
}

/// What is asked of one staircase from (0, 0) to (`d`, `h`).
#[derive(Debug, Clone, Default)]
pub struct Stairs {
    /// Where it ends.
    pub d: f64,
    /// Where it ends.
    pub h: f64,
    /// Corners of obstacles above: the course passes below and to the right.
    pub above: Vec<Corner>,
    /// Corners of obstacles below.
    pub below: Vec<Corner>,
    /// Least and comfortable length of the first and of the last straight piece, nm (0 for none).
    pub ends: [[f64; 2]; 2],
    /// Direction in which the neighbouring pieces run: `Some(true)` along x, `Some(false)` along the diagonal; a
    /// different one costs a bend.
    pub beside: [Option<bool>; 2],
    /// Among equals the upper staircase is taken, else the lower.
    pub upper: bool,
}

/// Cost of an end piece shorter than the least and than the comfortable length, in bends.
const SHORT: [f64; 2] = [2.0, 0.6];

/// Corners kept of one side; more than this never matter in practice and would make the search slow.
const MOST: usize = 60;

/// A solution: its cost in bends, and corners in `d`, `h` from (0, 0) to the end.
pub type Solution = (f64, Vec<Corner>);

impl Stairs {
    /// The cheapest staircase, or `None` when obstacles above and below leave no way.
    pub fn solve(&self) -> Option<Solution> {
        let above = front(&self.above, self.d, self.h, true);
        let below = front(&self.below, self.d, self.h, false);
        if above.len() > MOST || below.len() > MOST {
            return None;
        }
        let (ds, hs) = self.lines(&above, &below);
        let (m, n) = (ds.len(), hs.len());
        let least_d = |h: f64| above.iter().filter(|c| c.h < h).map(|c| c.d).fold(0.0, f64::max);
        let most_d = |h: f64| below.iter().filter(|c| c.h > h).map(|c| c.d).fold(self.d, f64::min);
        let most_h = |d: f64| above.iter().filter(|c| c.d > d).map(|c| c.h).fold(self.h, f64::min);
        let least_h = |d: f64| below.iter().filter(|c| c.d < d).map(|c| c.h).fold(0.0, f64::max);
        let row: Vec<(f64, f64)> = hs.iter().map(|&h| (least_d(h), most_d(h))).collect();
        let column: Vec<(f64, f64)> = ds.iter().map(|&d| (least_h(d), most_h(d))).collect();
        // cost[j][i][k]: at (ds[i], hs[j]) having come along x (k = 0) or the diagonal (k = 1).
        let mut cost = vec![[f64::INFINITY; 2]; m * n];
        let mut from = vec![[0u8; 2]; m * n];
        let area = (self.d * self.h).max(1.0);
        let sign = if self.upper { 1.0 } else { -1.0 };
        for j in 0..n {
            for i in 0..m {
                let at = j * m + i;
                for k in 0..2 {
                    let (before, fits) = if k == 0 {
                        if i == 0 {
                            continue;
                        }
                        (at - 1, ds[i - 1] >= row[j].0 && ds[i] <= row[j].1)
                    } else {
                        if j == 0 {
                            continue;
                        }
                        (at - m, hs[j - 1] >= column[i].0 && hs[j] <= column[i].1)
                    };
                    if !fits {
                        continue;
                    }
                    // A small price on the area above (or below) breaks ties, the same way for all.
                    let step = if k == 0 {
                        1e-3 * (0.5 + sign * (0.5 - hs[j] / self.h.max(1.0))) * (ds[i] - ds[i - 1]) * self.h
                            / area
                    } else {
                        0.0
                    };
                    let origin = (k == 0 && i == 1 && j == 0) || (k == 1 && j == 1 && i == 0);
                    if origin {
                        cost[at][k] = step + f64::from(self.beside[0].is_some_and(|x| x != (k == 0)));
                        from[at][k] = 2;
                        continue;
                    }
                    for l in 0..2 {
                        let mut c = cost[before][l] + step;
                        if l != k {
                            c +=
                                1.0 + self.short(ds[i - usize::from(k == 0)], hs[j - usize::from(k == 1)], k);
                        }
                        if c < cost[at][k] {
                            cost[at][k] = c;
                            from[at][k] = l as u8;
                        }
                    }
                }
            }
        }
        let last = m * n - 1;
        let total = [0, 1].map(|k| cost[last][k] + f64::from(self.beside[1].is_some_and(|x| x != (k == 0))));
        let mut k = usize::from(total[1] < total[0]);
        if !total[k].is_finite() {
            return None;
        }
        let best = total[k];
        let mut at = last;
        let corner = |at: usize| Corner { d: ds[at % m], h: hs[at / m] };
        let mut path = vec![corner(at)];
        loop {
            let l = from[at][k];
            at = if k == 0 { at - 1 } else { at - m };
            if l == 2 {
                path.push(corner(at));
                break;
            }
            if usize::from(l) != k {
                path.push(corner(at));
            }
            k = usize::from(l);
        }
        path.reverse();
        Some((best, path))
    }

    /// The uppermost staircase that passes below all obstacles above, or the lowest that passes above all below.
    pub fn extreme(&self, upper: bool) -> Vec<Corner> {
        let mut corners = front(if upper { &self.above } else { &self.below }, self.d, self.h, upper);
        if !upper {
            corners.reverse();
        }
        let mut path = vec![Corner { d: 0.0, h: 0.0 }];
        let mut at = path[0];
        for c in corners.into_iter().chain([Corner { d: self.d, h: self.h }]) {
            let (d, h) = (c.d.clamp(at.d, self.d), c.h.clamp(at.h, self.h));
            path.push(if upper { Corner { d: at.d, h } } else { Corner { d, h: at.h } });
            at = Corner { d, h };
            path.push(at);
        }
        path.dedup();
        path
    }

    /// Price of turning into direction `k` at (`d`, `h`) when that leaves an end piece too short.
    fn short(&self, d: f64, h: f64, k: usize) -> f64 {
        let root = std::f64::consts::SQRT_2;
        let mut price = 0.0;
        let mut hold = |piece: f64, limits: [f64; 2]| {
            if piece < limits[0] {
                price += SHORT[0];
            } else if piece < limits[1] {
                price += SHORT[1];
            }
        };
        if k == 1 && h == 0.0 {
            hold(d, self.ends[0]);
        } else if k == 0 && d == 0.0 {
            hold(h * root, self.ends[0]);
        }
        if k == 0 && h == self.h {
            hold(self.d - d, self.ends[1]);
        } else if k == 1 && d == self.d {
            hold((self.h - h) * root, self.ends[1]);
        }
        price
    }

    /// Lines on which bends may lie.
    fn lines(&self, above: &[Corner], below: &[Corner]) -> (Vec<f64>, Vec<f64>) {
        let root = std::f64::consts::SQRT_2;
        let mut ds = vec![0.0, self.d, (self.d / 2.0).round()];
        let mut hs = vec![0.0, self.h, (self.h / 2.0).round()];
        for e in self.ends.into_iter().flatten() {
            let e = e.ceil();
            let up = (e / root).ceil();
            ds.extend([e, self.d - e]);
            hs.extend([up, self.h - up]);
        }
        for c in above.iter().chain(below) {
            ds.push(c.d);
            hs.push(c.h);
        }
        for (list, most) in [(&mut ds, self.d), (&mut hs, self.h)] {
            list.retain(|&x| (0.0..=most).contains(&x));
            list.sort_by(f64::total_cmp);
            list.dedup();
        }
        (ds, hs)
    }
}

/// The corners that matter inside the rectangle, without those that another makes needless.
fn front(corners: &[Corner], d: f64, h: f64, above: bool) -> Vec<Corner> {
    // Above: forbidden are larger h and smaller d. Mirrored below, so that one rule serves both.
    let mut list: Vec<Corner> = corners
        .iter()
        .copied()
        .filter(|c| if above { c.h < h && c.d > 0.0 } else { c.h > 0.0 && c.d < d })
        .map(|c| if above { c } else { Corner { d: -c.d, h: -c.h } })
        .collect();
    list.sort_by(|a, b| a.h.total_cmp(&b.h).then(b.d.total_cmp(&a.d)));
    let mut kept: Vec<Corner> = Vec::new();
    for c in list {
        if kept.last().is_none_or(|k| c.d > k.d) {
            kept.push(c);
        }
    }
    if !above {
        kept.iter_mut().for_each(|c| *c = Corner { d: -c.d, h: -c.h });
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corners(s: &Stairs) -> Option<Vec<(f64, f64)>> {
        s.solve().map(|(_, p)| p.iter().map(|c| (c.d, c.h)).collect())
    }

    #[test]
    fn a_free_staircase_has_one_bend_on_the_side_asked_for() {
        let free = Stairs { d: 10.0, h: 6.0, upper: true, ..Stairs::default() };
        assert_eq!(corners(&free).unwrap(), vec![(0.0, 0.0), (0.0, 6.0), (10.0, 6.0)]);
        let lower = Stairs { upper: false, ..free };
        assert_eq!(corners(&lower).unwrap(), vec![(0.0, 0.0), (10.0, 0.0), (10.0, 6.0)]);
    }

    #[test]
    fn obstacles_on_both_sides_are_passed_between() {
        let s = Stairs {
            d: 10.0,
            h: 6.0,
            above: vec![Corner { d: 4.0, h: 2.0 }],
            below: vec![Corner { d: 7.0, h: 3.0 }],
            upper: true,
            ..Stairs::default()
        };
        let path = corners(&s).unwrap();
        assert_eq!(path.len(), 4);
        for w in path.windows(2) {
            assert!(!(w[1].1 > 2.0 && w[0].0 < 4.0), "cuts the obstacle above: {path:?}");
            assert!(!(w[0].1 < 3.0 && w[1].0 > 7.0), "cuts the obstacle below: {path:?}");
        }
    }

    #[test]
    fn obstacles_that_overlap_leave_no_way() {
        let s = Stairs {
            d: 10.0,
            h: 6.0,
            above: vec![Corner { d: 7.0, h: 2.0 }],
            below: vec![Corner { d: 4.0, h: 3.0 }],
            ..Stairs::default()
        };
        assert!(s.solve().is_none());
    }

    #[test]
    fn short_end_pieces_are_avoided_where_there_is_room() {
        let s = Stairs { d: 100.0, h: 4.0, ends: [[30.0; 2]; 2], ..Stairs::default() };
        let path = corners(&s).unwrap();
        assert!(path[1].0 >= 30.0 && path[2].0 <= 70.0, "{path:?}");
    }
}
