//! The geodesic bound: the shortest path from a pad to its bump around foreign capture pads.
//!
//! No routing can be shorter than the shortest curve between its ends that stays clear of every foreign capture pad
//! by one space and half a line. It is found exactly: the shortest path around a few discs (a search over their
//! common tangents) is a lower bound for all of them, and once it touches no further disc it is the answer, so
//! discs are taken in only when a path runs into them.

use crate::route::plane::{P2, along, cross, distance, dot, left, nearest_on_segment, norm, sub};
use std::collections::HashMap;

/// Discs on a grid, to find those near a path.
pub struct Discs {
    discs: Vec<(P2, f64)>,
    cell: f64,
    grid: HashMap<(i64, i64), Vec<u32>>,
}

impl Discs {
    /// Discs by centre and radius, nm.
    pub fn new(discs: Vec<(P2, f64)>) -> Discs {
        let widest = discs.iter().map(|d| d.1).fold(1.0, f64::max);
        let cell = 4.0 * widest;
        let mut grid: HashMap<(i64, i64), Vec<u32>> = HashMap::new();
        for (i, (p, _)) in discs.iter().enumerate() {
            grid.entry(((p[0] / cell).floor() as i64, (p[1] / cell).floor() as i64)).or_default().push(i as u32);
        }
        Discs { discs, cell, grid }
    }

    fn near(&self, a: P2, b: P2, mut f: impl FnMut(u32)) {
        let n = (distance(a, b) / self.cell).ceil().max(1.0) as i64;
        let key = |p: P2| ((p[0] / self.cell).floor() as i64, (p[1] / self.cell).floor() as i64);
        let mut last = None;
        for i in 0..=n {
            let k = key(along(a, sub(b, a), i as f64 / n as f64));
            if last == Some(k) {
                continue;
            }
            last = Some(k);
            for dx in -1..=1 {
                for dy in -1..=1 {
                    if let Some(l) = self.grid.get(&(k.0 + dx, k.1 + dy)) {
                        l.iter().for_each(|&i| f(i));
                    }
                }
            }
        }
    }

    /// Length of the shortest path from `p` to `q` outside all discs but those that hold `p` or `q`, nm.
    ///
    /// ```
    /// use facedown_redistribution::geodesic::Discs;
    /// let around = Discs::new(vec![([0.0, 0.0], 100.0)]);
    /// let straight = 600.0;
    /// assert!(around.shortest([-300.0, 0.0], [300.0, 0.0]) > straight);
    /// ```
    pub fn shortest(&self, p: P2, q: P2) -> f64 {
        let mut active: Vec<(P2, f64)> = Vec::new();
        let mut known: Vec<u32> = Vec::new();
        // Each round takes in at least one disc; discs far from the path are never touched.
        loop {
            let (length, lines, arcs) = path(p, q, &active);
            let before = known.len();
            let mut take = |i: u32| {
                let d = self.discs[i as usize];
                if known.contains(&i) || distance(p, d.0) < d.1 || distance(q, d.0) < d.1 {
                    return;
                }
                let hit = lines.iter().any(|&(a, b)| nearest_on_segment(a, b, d.0).1 < d.1 - 1e-3)
                    || arcs.iter().any(|a: &(P2, f64, P2)| distance(a.2, d.0) < d.1 - 1e-3 && a.0 != d.0);
                if hit {
                    known.push(i);
                    active.push(d);
                }
            };
            for &(a, b) in &lines {
                self.near(a, b, &mut take);
            }
            if known.len() == before || known.len() > 60 {
                return length;
            }
        }
    }
}

struct Tangent {
    from: (usize, f64),
    to: (usize, f64),
    a: P2,
    b: P2,
}

/// Shortest path around a few discs: length, straight pieces, arcs (centre, radius, middle).
#[allow(clippy::type_complexity)]
fn path(p: P2, q: P2, discs: &[(P2, f64)]) -> (f64, Vec<(P2, P2)>, Vec<(P2, f64, P2)>) {
    let k = discs.len();
    if k == 0 {
        return (distance(p, q), vec![(p, q)], vec![]);
    }
    // Bodies: the discs, then p and q as discs without radius.
    let mut bodies = discs.to_vec();
    bodies.push((p, 0.0));
    bodies.push((q, 0.0));
    let mut tangents: Vec<Tangent> = Vec::new();
    for i in 0..k + 2 {
        for j in 0..k + 2 {
            if i == j || i == k + 1 || j == k {
                continue;
            }
            for si in [1.0, -1.0] {
                for sj in [1.0, -1.0] {
                    if (i >= k && si < 0.0) || (j >= k && sj < 0.0) {
                        continue;
                    }
                    let Some((a, b)) = tangent(bodies[i], si, bodies[j], sj) else { continue };
                    let clear = discs.iter().all(|d| nearest_on_segment(a, b, d.0).1 > d.1 - 1e-3);
                    if clear {
                        tangents.push(Tangent { from: (i, si), to: (j, sj), a, b });
                    }
                }
            }
        }
    }
    // Dijkstra over tangents.
    let n = tangents.len();
    let mut cost = vec![f64::INFINITY; n];
    let mut from = vec![usize::MAX; n];
    let mut done = vec![false; n];
    for (t, x) in tangents.iter().enumerate() {
        if x.from.0 == k {
            cost[t] = distance(x.a, x.b);
        }
    }
    loop {
        let mut best = usize::MAX;
        for t in 0..n {
            if !done[t] && cost[t].is_finite() && (best == usize::MAX || cost[t] < cost[best]) {
                best = t;
            }
        }
        if best == usize::MAX {
            // Enclosed: no path around the discs; the straight line is still a bound.
            return (distance(p, q), vec![], vec![]);
        }
        done[best] = true;
        let at = &tangents[best];
        if at.to.0 == k + 1 {
            break;
        }
        for t in 0..n {
            if done[t] || tangents[t].from != at.to {
                continue;
            }
            let (c, r) = bodies[at.to.0];
            let angle = turn(c, at.b, tangents[t].a, at.to.1);
            if angle > std::f64::consts::PI + 1e-9 {
                continue;
            }
            let c2 = cost[best] + r * angle + distance(tangents[t].a, tangents[t].b);
            if c2 < cost[t] {
                cost[t] = c2;
                from[t] = best;
            }
        }
    }
    let last = (0..n).filter(|&t| done[t] && tangents[t].to.0 == k + 1).min_by(|&a, &b| cost[a].total_cmp(&cost[b]));
    let Some(mut t) = last else { return (distance(p, q), vec![], vec![]) };
    let length = cost[t];
    let (mut lines, mut arcs) = (vec![], vec![]);
    loop {
        lines.push((tangents[t].a, tangents[t].b));
        let before = from[t];
        if before == usize::MAX {
            break;
        }
        let (c, r) = bodies[tangents[t].from.0];
        let angle = turn(c, tangents[before].b, tangents[t].a, tangents[t].from.1) * tangents[t].from.1 / 2.0;
        let v = sub(tangents[before].b, c);
        let m = [v[0] * angle.cos() - v[1] * angle.sin(), v[0] * angle.sin() + v[1] * angle.cos()];
        arcs.push((c, r, along(c, m, 1.0)));
        t = before;
    }
    (length, lines, arcs)
}

/// The line that leaves body `a` and meets body `b` with each on its side (+1 left).
fn tangent(a: (P2, f64), sa: f64, b: (P2, f64), sb: f64) -> Option<(P2, P2)> {
    let d = sub(b.0, a.0);
    let far = norm(d);
    let delta = sb * b.1 - sa * a.1;
    if delta.abs() >= far {
        return None;
    }
    let sin = -delta / far;
    let cos = (1.0 - sin * sin).sqrt();
    let e = [d[0] / far, d[1] / far];
    let u = [e[0] * cos - e[1] * sin, e[0] * sin + e[1] * cos];
    let n = left(u);
    Some((along(a.0, n, -sa * a.1), along(b.0, n, -sb * b.1)))
}

/// Angle turned around `c` from `a` to `b`, to the left for side +1, in 0..2 pi.
fn turn(c: P2, a: P2, b: P2, side: f64) -> f64 {
    let (u, v) = (sub(a, c), sub(b, c));
    let t = cross(u, v).atan2(dot(u, v)) * side;
    if t < -1e-9 { t + std::f64::consts::TAU } else { t.max(0.0) }
}

#[cfg(test)]
mod tests {
    use super::Discs;

    #[test]
    fn one_disc_in_the_way_gives_the_closed_form() {
        let (d, r) = (300.0_f64, 100.0_f64);
        let got = Discs::new(vec![([0.0, 0.0], r)]).shortest([-d, 0.0], [d, 0.0]);
        let want = 2.0 * (d * d - r * r).sqrt() + r * (std::f64::consts::PI - 2.0 * (r / d).acos());
        assert!((got - want).abs() < 1e-9, "{got} {want}");
    }

    #[test]
    fn a_wall_of_discs_is_passed_through_its_gap() {
        // Discs of radius 40 at pitch 100 along y leave gaps of 20; the way from (-500, 10) to (500, 10) bends a little.
        let wall: Vec<_> = (-10..=10).map(|k| ([0.0, 100.0 * f64::from(k)], 40.0)).collect();
        let got = Discs::new(wall).shortest([-500.0, 10.0], [500.0, 10.0]);
        assert!(got > 1000.0 && got < 1010.0, "{got}");
    }
}
