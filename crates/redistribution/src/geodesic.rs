//! The geodesic bound: the shortest path from a pad to its bump around foreign capture pads.
//!
//! No routing can be shorter than the shortest curve between its ends that stays clear of every foreign capture pad
//! by one space and half a line. It is found exactly: the shortest path around a few discs (a search over their
//! common tangents) is a lower bound for all of them, and once it touches no further disc it is the answer, so
//! discs are taken in only when a path runs into them.

use crate::route::buckets::Buckets;
use crate::route::plane::{P2, along, cross, distance, dot, left, nearest_on_segment, norm, sub};

/// Discs on a grid, to find those near a path.
pub struct Discs {
    discs: Vec<(P2, f64)>,
    cell: f64,
    buckets: Buckets,
}

impl Discs {
    /// Discs by centre and radius, nm.
    pub fn new(discs: Vec<(P2, f64)>) -> Discs {
        let cell = 2.0 * discs.iter().map(|d| d.1).fold(1.0, f64::max);
        let boxes: Vec<_> = discs.iter().map(|&(p, r)| (p.map(|x| x - r), p.map(|x| x + r))).collect();
        let buckets = Buckets::new(&boxes, cell);
        Discs { discs, cell, buckets }
    }

    /// Calls `f` with every disc that the piece from `a` to `b` may run into, some of them more than once.
    fn near(&self, a: P2, b: P2, mut f: impl FnMut(u32)) {
        let n = (distance(a, b) / self.cell).ceil().max(1.0) as usize;
        let at = |i: usize| along(a, sub(b, a), i as f64 / n as f64);
        for i in 0..n {
            let (p, q) = (at(i), at(i + 1));
            let (lo, hi) = ([p[0].min(q[0]), p[1].min(q[1])], [p[0].max(q[0]), p[1].max(q[1])]);
            self.buckets.near(lo, hi, &mut f);
        }
    }

    /// Length of the shortest path from `p` to `q` outside all discs but those that hold `p` or `q`, nm. `known` is the
    /// length of some path that does so (infinite when none is known) and `bends` the centres of discs that it bends
    /// around; both only make the search faster.
    ///
    /// ```
    /// use facedown_redistribution::geodesic::Discs;
    /// let around = Discs::new(vec![([0.0, 0.0], 100.0)]);
    /// let straight = 600.0;
    /// assert!(around.shortest([-300.0, 0.0], [300.0, 0.0], f64::INFINITY, &[]) > straight);
    /// ```
    pub fn shortest(&self, p: P2, q: P2, known: f64, bends: &[P2]) -> f64 {
        let known = known * (1.0 + 1e-9) + 1e-3;
        let mut active: Vec<(P2, f64)> = Vec::new();
        let mut taken: Vec<u32> = Vec::new();
        for &c in bends {
            self.near(c, c, |i| {
                let d = self.discs[i as usize];
                if d.0 == c && !taken.contains(&i) && distance(p, c) >= d.1 && distance(q, c) >= d.1 {
                    taken.push(i);
                    active.push(d);
                }
            });
        }
        // Each round takes in at least one disc; discs far from the path are never touched.
        loop {
            let (length, lines, arcs) = path(p, q, &active, known);
            let before = taken.len();
            let mut take = |i: u32| {
                let d = self.discs[i as usize];
                let hit = lines.iter().any(|&(a, b)| nearest_on_segment(a, b, d.0).1 < d.1 - 1e-3)
                    || arcs.iter().any(|a: &Bend| distance(a.middle, d.0) < d.1 - 1e-3 && a.centre != d.0);
                if hit && !taken.contains(&i) && distance(p, d.0) >= d.1 && distance(q, d.0) >= d.1 {
                    taken.push(i);
                    active.push(d);
                }
            };
            for &(a, b) in &lines {
                self.near(a, b, &mut take);
            }
            if taken.len() == before {
                return length;
            }
        }
    }
}

/// An arc of a path.
struct Bend {
    centre: P2,
    middle: P2,
}

/// A tangent that ends at a body, with the cheapest way there.
#[derive(Clone, Copy)]
struct Arrival {
    /// Length up to the end of the tangent.
    cost: f64,
    a: P2,
    b: P2,
    /// The body, side and arrival that it comes from.
    from: (usize, usize, usize),
}

/// Shortest path around a few discs: length, straight pieces, arcs. Bodies are visited in the order of their
/// projections on the line from `p` to `q`: a path that is a few percent longer than that line never goes back along it.
fn path(p: P2, q: P2, discs: &[(P2, f64)], known: f64) -> (f64, Vec<(P2, P2)>, Vec<Bend>) {
    if discs.is_empty() {
        return (distance(p, q), vec![(p, q)], vec![]);
    }
    let axis = sub(q, p);
    let mut bodies = discs.to_vec();
    bodies.sort_by(|a, b| dot(a.0, axis).total_cmp(&dot(b.0, axis)));
    bodies.insert(0, (p, 0.0));
    bodies.push((q, 0.0));
    let last = bodies.len() - 1;
    let along_axis: Vec<f64> = bodies.iter().map(|b| dot(b.0, axis) / norm(axis)).collect();
    let widest = discs.iter().map(|d| d.1).fold(0.0, f64::max);
    let side = [1.0, -1.0];
    let mut arrivals: Vec<[Vec<Arrival>; 2]> = vec![Default::default(); bodies.len()];
    let mut bound = known;
    // Nothing of a body is nearer to the ends than these.
    let from_p: Vec<f64> = bodies.iter().map(|b| distance(p, b.0) - b.1).collect();
    let to_q: Vec<f64> = bodies.iter().map(|b| distance(b.0, q) - b.1).collect();
    for i in 0..last {
        let from = along_axis[1..last].partition_point(|&x| x < along_axis[i] - 2.0 * widest) + 1;
        for si in 0..if i == 0 { 1 } else { 2 } {
            if i > 0 && arrivals[i][si].is_empty() {
                continue;
            }
            let cheapest = arrivals[i][si].iter().map(|x| x.cost).fold(f64::INFINITY, f64::min);
            let cheapest = if i == 0 { 0.0 } else { cheapest.max(from_p[i]) };
            for j in i + 1..=last {
                let far = distance(bodies[i].0, bodies[j].0);
                // The shorter, crossing tangent is the least that any can be.
                let inner = (far * far - (bodies[i].1 + bodies[j].1).powi(2)).max(0.0).sqrt();
                if cheapest + inner + to_q[j] > bound {
                    continue;
                }
                let to = along_axis[1..last].partition_point(|&x| x <= along_axis[j] + 2.0 * widest) + 1;
                for sj in 0..if j == last { 1 } else { 2 } {
                    let Some(t) = tangent(bodies[i], side[si], bodies[j], side[sj]) else { continue };
                    let Tangent { a, b, length, .. } = t;
                    let rest = distance(b, q);
                    if cheapest + length + rest > bound || bodies[from.min(to)..to].iter().any(|d| t.meets(d))
                    {
                        continue;
                    }
                    let mut best = if i == 0 { (length, usize::MAX) } else { (f64::INFINITY, 0) };
                    for (k, x) in arrivals[i][si].iter().enumerate() {
                        if x.cost + length < best.0 && x.cost + length + rest <= bound {
                            let angle = turn(bodies[i].0, x.b, a, side[si]);
                            let cost = x.cost + bodies[i].1 * angle + length;
                            if angle < std::f64::consts::PI && cost < best.0 {
                                best = (cost, k);
                            }
                        }
                    }
                    if best.0 + rest > bound {
                        continue;
                    }
                    if j == last {
                        bound = bound.min(best.0);
                    }
                    arrivals[j][sj].push(Arrival { cost: best.0, a, b, from: (i, si, best.1) });
                }
            }
        }
    }
    let end = arrivals[last][0].iter().copied().min_by(|x, y| x.cost.total_cmp(&y.cost));
    let Some(mut at) = end else {
        // Shut in, or every path goes back along the line: the straight line is a bound all the same.
        return (distance(p, q), vec![], vec![]);
    };
    let length = at.cost;
    let (mut lines, mut bends) = (vec![], vec![]);
    loop {
        lines.push((at.a, at.b));
        let (i, si, k) = at.from;
        if i == 0 {
            return (length, lines, bends);
        }
        let before = arrivals[i][si][k];
        let centre = bodies[i].0;
        let half = turn(centre, before.b, at.a, side[si]) * side[si] / 2.0;
        let v = sub(before.b, centre);
        let m = [v[0] * half.cos() - v[1] * half.sin(), v[0] * half.sin() + v[1] * half.cos()];
        bends.push(Bend { centre, middle: along(centre, m, 1.0) });
        at = before;
    }
}

/// A straight piece between two bodies that touches both.
struct Tangent {
    a: P2,
    b: P2,
    /// Its direction, of length 1.
    u: P2,
    length: f64,
}

impl Tangent {
    /// True when it runs through a disc by more than a thousandth of a nanometre.
    fn meets(&self, disc: &(P2, f64)) -> bool {
        let v = sub(disc.0, self.a);
        let t = dot(v, self.u);
        let away = if t <= 0.0 {
            dot(v, v)
        } else if t >= self.length {
            let w = sub(disc.0, self.b);
            dot(w, w)
        } else {
            cross(self.u, v).powi(2)
        };
        let r = disc.1 - 1e-3;
        r > 0.0 && away <= r * r
    }
}

/// The line that leaves body `a` and meets body `b` with each on its side (+1 left).
fn tangent(a: (P2, f64), sa: f64, b: (P2, f64), sb: f64) -> Option<Tangent> {
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
    Some(Tangent { a: along(a.0, n, -sa * a.1), b: along(b.0, n, -sb * b.1), u, length: far * cos })
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
        let got = Discs::new(vec![([0.0, 0.0], r)]).shortest([-d, 0.0], [d, 0.0], f64::INFINITY, &[]);
        let want = 2.0 * (d * d - r * r).sqrt() + r * (std::f64::consts::PI - 2.0 * (r / d).acos());
        assert!((got - want).abs() < 1e-9, "{got} {want}");
    }

    #[test]
    fn a_wall_of_discs_is_passed_through_its_gap() {
        // Discs of radius 40 at pitch 100 along y leave gaps of 20; the way from (-500, 10) to (500, 10) bends a little.
        let wall: Vec<_> = (-10..=10).map(|k| ([0.0, 100.0 * f64::from(k)], 40.0)).collect();
        let got = Discs::new(wall).shortest([-500.0, 10.0], [500.0, 10.0], f64::INFINITY, &[]);
        assert!(got > 1000.0 && got < 1010.0, "{got}");
    }
}
