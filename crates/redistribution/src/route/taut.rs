//! One wire pulled taut: the shortest course around the discs that it must keep clear of.
//!
//! Each foreign vertex that the wire passes holds it off by the metal's radius, one gap, half the wire, and one
//! pitch for every wire that passes between (the half-cut rule of Maley 1990: a routing is legal when every wire
//! keeps from every obstacle at least the room that the wires in between need). The course is straight lines joined
//! by arcs around those discs. It is found by an active set: start from the taut string around the bare vertices,
//! add the disc most intruded upon, drop those that the string no longer bends around, until neither is left.

use super::plane::{P2, along, cross, distance, dot, left, nearest_on_segment, norm, orient, sub};
use super::sketch::Sketch;

/// A disc to keep out of, with its place along the wire.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Disc {
    /// Centre, nm.
    pub centre: P2,
    /// Least distance of the wire's centre line, nm.
    pub radius: f64,
    /// +1 when the disc lies to the left of the wire, -1 to the right.
    pub side: f64,
    /// First and last crossing at which it bounds the wire.
    pub span: [f64; 2],
    /// The vertex that it stands for, or [`super::mesh::NONE`].
    pub vertex: u32,
}

/// An arc of a course.
#[derive(Debug, Clone, Copy)]
pub struct Arc {
    /// Centre, nm.
    pub centre: P2,
    /// Radius, nm.
    pub radius: f64,
    /// +1 turns left (counter-clockwise), -1 right.
    pub side: f64,
    /// First point.
    pub from: P2,
    /// Last point.
    pub to: P2,
    /// Angle turned through, radians, not negative.
    pub angle: f64,
    /// The vertex around which it turns, or [`super::mesh::NONE`].
    pub vertex: u32,
    /// Place along the wire in crossings.
    pub index: f64,
}

/// The course of a wire: start, arcs joined by straight lines, end.
#[derive(Debug, Clone, Default)]
pub struct Course {
    /// First point.
    pub start: P2,
    /// Last point.
    pub end: P2,
    /// Arcs in order.
    pub arcs: Vec<Arc>,
}

impl Course {
    /// Straight pieces in order, with the range of crossings that each covers.
    pub fn lines(&self) -> impl Iterator<Item = (P2, P2, [f64; 2])> + '_ {
        let n = self.arcs.len();
        (0..=n).map(move |k| {
            let (a, i) =
                if k == 0 { (self.start, -1.0) } else { (self.arcs[k - 1].to, self.arcs[k - 1].index) };
            let (b, j) =
                if k == n { (self.end, f64::INFINITY) } else { (self.arcs[k].from, self.arcs[k].index) };
            (a, b, [i, j])
        })
    }

    /// Length, nm.
    pub fn length(&self) -> f64 {
        self.lines().map(|(a, b, _)| distance(a, b)).sum::<f64>()
            + self.arcs.iter().map(|a| a.radius * a.angle).sum::<f64>()
    }
}

/// Two discs between which a wire does not fit, by vertex.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pinch {
    /// The two vertices ([`super::mesh::NONE`] for a place learnt from another wire).
    pub vertices: [u32; 2],
    /// Where.
    pub at: P2,
}

/// The discs that bound a routed wire, in the order in which it meets them.
pub fn discs_of(s: &Sketch, wire: u32) -> Vec<Disc> {
    let w = &s.wires[wire as usize];
    let half = w.width / 2.0;
    let mut discs: Vec<Disc> = Vec::with_capacity(2 * w.crossings.len());
    let mut last: [Option<usize>; 2] = [None, None];
    for (i, &c) in w.crossings.iter().enumerate() {
        let x = s.crossings[c as usize];
        let e = &s.mesh.edges[x.edge as usize];
        let order = &s.order[x.edge as usize];
        let Some(here) = order.iter().position(|&o| o == c) else { continue };
        for end in 0..2 {
            let v = e.v[end];
            let vertex = &s.mesh.vertices[v as usize];
            // Going into tri[0], v[0] is on the left hand.
            let is_left = (e.tri[0] == x.to) == (end == 0);
            let between = if end == 0 { &order[..here] } else { &order[here + 1..] };
            let stack: f64 = between
                .iter()
                .map(|&o| &s.wires[s.crossings[o as usize].wire as usize])
                .filter(|o| o.ends[0] != v && o.ends[1] != v)
                .map(|o| o.width + s.space)
                .sum();
            let own = w.ends[0] == v || w.ends[1] == v;
            let radius =
                if own && between.is_empty() { 0.0 } else { vertex.radius + vertex.gap + stack + half };
            let slot = usize::from(!is_left);
            match last[slot] {
                Some(k) if discs[k].vertex == v => {
                    discs[k].radius = discs[k].radius.max(radius);
                    discs[k].span[1] = i as f64;
                }
                _ => {
                    last[slot] = Some(discs.len());
                    discs.push(Disc {
                        centre: vertex.p,
                        radius,
                        side: if is_left { 1.0 } else { -1.0 },
                        span: [i as f64; 2],
                        vertex: v,
                    });
                }
            }
        }
    }
    discs
}

/// The taut string around the bare centres of the discs (no room kept), as disc numbers.
fn string(start: P2, end: P2, discs: &[Disc], crossings: usize) -> Vec<usize> {
    let portal = |i: usize| {
        let mut p = [usize::MAX; 2];
        for (k, d) in discs.iter().enumerate() {
            if d.vertex != super::mesh::NONE && d.span[0] <= i as f64 && i as f64 <= d.span[1] {
                p[usize::from(d.side < 0.0)] = k;
            }
        }
        p
    };
    let portals: Vec<[usize; 2]> =
        (0..crossings).map(portal).filter(|p| p[0] != usize::MAX && p[1] != usize::MAX).collect();
    // A wire that winds around its own terminal would meet its end there: that side of the portal counts from the
    // rim of the disc.
    let place = |k: usize, other: usize| {
        let c = discs[k].centre;
        if c != start && c != end {
            return c;
        }
        let d = sub(discs[other].centre, c);
        along(c, d, (discs[k].radius / norm(d)).min(0.5))
    };
    let mut turns = Vec::new();
    let n = portals.len();
    let (mut apex, mut i) = (start, 0usize);
    let mut guard = 0;
    'restart: loop {
        guard += 1;
        if guard > 4 * n + 8 {
            return turns;
        }
        // Each side of the funnel: the point, the portal that it comes from, the disc.
        type Corner = Option<(P2, usize, usize)>;
        let (mut l, mut r): (Corner, Corner) = (None, None);
        let mut k = i;
        while k <= n {
            let (pl, pr, dl, dr) = if k < n {
                {
                    let [l, r] = portals[k];
                    (place(l, r), place(r, l), l, r)
                }
            } else {
                (end, end, usize::MAX, usize::MAX)
            };
            if let Some((rp, rk, rd)) = r
                && orient(apex, rp, pl) < 0.0
                && distance(apex, rp) > 1e-6
            {
                turns.push(rd);
                (apex, i) = (rp, next_after(&portals, rk, rd, 1));
                continue 'restart;
            }
            if let Some((lp, lk, ld)) = l
                && orient(apex, lp, pr) > 0.0
                && distance(apex, lp) > 1e-6
            {
                turns.push(ld);
                (apex, i) = (lp, next_after(&portals, lk, ld, 0));
                continue 'restart;
            }
            if l.is_none_or(|(lp, _, _)| orient(apex, lp, pl) <= 0.0) {
                l = Some((pl, k, dl));
            }
            if r.is_none_or(|(rp, _, _)| orient(apex, rp, pr) >= 0.0) {
                r = Some((pr, k, dr));
            }
            k += 1;
        }
        return turns;
    }
}

/// The first portal after `k` that does not hang on disc `d`.
fn next_after(portals: &[[usize; 2]], mut k: usize, d: usize, slot: usize) -> usize {
    while k < portals.len() && portals[k][slot] == d {
        k += 1;
    }
    k
}

struct Contact {
    disc: Disc,
    index: f64,
    /// Tangent points towards the previous and the next contact.
    from: P2,
    to: P2,
}

/// The taut course from `start` to `end` around `discs` (in order of their spans).
///
/// # Errors
/// The [`Pinch`] when the wire does not fit between two discs, or when the string does not settle.
pub fn taut(start: P2, end: P2, discs: &[Disc], crossings: usize) -> Result<Course, Pinch> {
    let point = |p: P2, index: f64| Contact {
        disc: Disc { centre: p, radius: 0.0, side: 1.0, span: [index; 2], vertex: super::mesh::NONE },
        index,
        from: p,
        to: p,
    };
    let far = crossings as f64;
    let mut chain: Vec<Contact> = vec![point(start, -1.0), point(end, far)];
    for k in string(start, end, discs, crossings) {
        let d = discs[k];
        let at = chain.len() - 1;
        let index = ((d.span[0] + d.span[1]) / 2.0).max(chain[at - 1].index);
        chain.insert(at, Contact { disc: d, index, from: d.centre, to: d.centre });
    }
    for _ in 0..200 + 4 * discs.len() {
        tangents(&mut chain)?;
        if let Some(k) = slack(&chain) {
            chain.remove(k);
            continue;
        }
        match worst(&chain, discs) {
            None => return Ok(course(start, end, &chain)),
            Some((after, d)) => {
                let disc = discs[d];
                let (lo, hi) = (chain[after].index, chain[after + 1].index);
                let index = ((disc.span[0] + disc.span[1]) / 2.0).clamp(lo, hi);
                chain.insert(after + 1, Contact { disc, index, from: disc.centre, to: disc.centre });
            }
        }
    }
    Err(Pinch {
        vertices: [chain.get(1).map_or(super::mesh::NONE, |c| c.disc.vertex), super::mesh::NONE],
        at: start,
    })
}

/// Tangent points between neighbours. A disc swallowed by its neighbour on the same side is taken out.
fn tangents(chain: &mut Vec<Contact>) -> Result<(), Pinch> {
    let mut k = 0;
    while k + 1 < chain.len() {
        let (a, b) = (chain[k].disc, chain[k + 1].disc);
        let d = sub(b.centre, a.centre);
        let far = norm(d);
        let delta = b.side * b.radius - a.side * a.radius;
        if delta.abs() > far - 1e-9 || far < 1e-9 {
            let last = chain.len() - 1;
            let swallowed = if a.side == b.side || a.radius == 0.0 || b.radius == 0.0 {
                if k == 0 {
                    1
                } else if k + 1 == last || a.radius <= b.radius {
                    k
                } else {
                    k + 1
                }
            } else {
                // The wire does not fit between the two.
                return Err(Pinch { vertices: [a.vertex, b.vertex], at: along(a.centre, d, 0.5) });
            };
            if swallowed == 0 || swallowed == last || last == 1 {
                return Err(Pinch { vertices: [a.vertex, b.vertex], at: along(a.centre, d, 0.5) });
            }
            // A terminal inside the disc of something foreign has no way out.
            if (k == 0 && b.radius > far && swallowed == 1 && a.radius == 0.0)
                || (k + 1 == last && a.radius > far)
            {
                return Err(Pinch { vertices: [a.vertex, b.vertex], at: a.centre });
            }
            chain.remove(swallowed);
            k = swallowed.saturating_sub(2);
            continue;
        }
        // u leaves a towards b so that both discs are touched on their own side: |delta| <= far.
        let sin = -delta / far;
        let cos = (1.0 - sin * sin).max(0.0).sqrt();
        let e = [d[0] / far, d[1] / far];
        let u = [e[0] * cos - e[1] * sin, e[0] * sin + e[1] * cos];
        let n = left(u);
        chain[k].to = along(a.centre, n, -a.side * a.radius);
        chain[k + 1].from = along(b.centre, n, -b.side * b.radius);
        k += 1;
    }
    Ok(())
}

/// A contact that the string does not bend around.
fn slack(chain: &[Contact]) -> Option<usize> {
    let mut worst = (-1e-9, None);
    for k in 1..chain.len().saturating_sub(1) {
        let turn = turn_at(chain, k);
        if turn < worst.0 {
            worst = (turn, Some(k));
        }
    }
    worst.1
}

/// Angle turned at a contact in its own sense; negative when the string would lift off. A string lifts off by less
/// than a quarter turn, but may wind around a disc by up to three, so what looks like a larger turn back is winding.
fn turn_at(chain: &[Contact], k: usize) -> f64 {
    let u = sub(chain[k].from, chain[k - 1].to);
    let v = sub(chain[k + 1].from, chain[k].to);
    let turn = cross(u, v).atan2(dot(u, v)) * chain[k].disc.side;
    if turn < -1.7 { turn + std::f64::consts::TAU } else { turn }
}

/// The disc intruded upon most, and the contact after which it belongs.
fn worst(chain: &[Contact], discs: &[Disc]) -> Option<(usize, usize)> {
    let mut worst = (1e-3, None);
    for (n, d) in discs.iter().enumerate() {
        for k in 0..chain.len() - 1 {
            let (a, b) = (&chain[k], &chain[k + 1]);
            if a.index > d.span[1] + 1e-9
                || b.index < d.span[0] - 1e-9
                || same(&a.disc, d)
                || same(&b.disc, d)
            {
                continue;
            }
            let (t, dist) = nearest_on_segment(a.to, b.from, d.centre);
            let depth = if t > 0.0 && t < 1.0 {
                let l = sub(b.from, a.to);
                d.radius - d.side * cross(l, sub(d.centre, a.to)) / norm(l)
            } else {
                d.radius - dist
            };
            if depth > worst.0 {
                worst = (depth, Some((k, n)));
            }
        }
        for (k, c) in chain.iter().enumerate().take(chain.len() - 1).skip(1) {
            if c.index > d.span[1] + 0.5 || c.index < d.span[0] - 0.5 || same(&c.disc, d) {
                continue;
            }
            let toward = sub(d.centre, c.disc.centre);
            if within(c.disc.centre, c.from, c.to, c.disc.side, toward) {
                let depth = d.radius - (norm(toward) - c.disc.radius).abs();
                if depth > worst.0 {
                    let middle = (d.span[0] + d.span[1]) / 2.0;
                    worst = (depth, Some((if middle < c.index { k - 1 } else { k }, n)));
                }
            }
        }
    }
    worst.1
}

fn same(a: &Disc, b: &Disc) -> bool {
    a.centre == b.centre && a.side == b.side && a.radius >= b.radius
}

/// True when direction `toward` from `centre` lies within the arc from `from` to `to`.
pub fn within(centre: P2, from: P2, to: P2, side: f64, toward: P2) -> bool {
    let (a, b) = (sub(from, centre), sub(to, centre));
    let angle = |x: P2| {
        let t = cross(a, x).atan2(dot(a, x)) * side;
        if t < -1e-9 { t + std::f64::consts::TAU } else { t }
    };
    angle(toward) <= angle(b)
}

fn course(start: P2, end: P2, chain: &[Contact]) -> Course {
    let arcs = (1..chain.len() - 1)
        .map(|k| {
            let c = &chain[k];
            Arc {
                centre: c.disc.centre,
                radius: c.disc.radius,
                side: c.disc.side,
                from: c.from,
                to: c.to,
                angle: turn_at(chain, k).max(0.0),
                vertex: c.disc.vertex,
                index: c.index,
            }
        })
        .collect();
    Course { start, end, arcs }
}

#[cfg(test)]
mod tests {
    use super::super::mesh::NONE;
    use super::*;

    fn disc(x: f64, y: f64, radius: f64, side: f64, at: f64) -> Disc {
        Disc { centre: [x, y], radius, side, span: [at, at], vertex: NONE }
    }

    #[test]
    fn a_string_over_one_disc_has_the_closed_form_length() {
        // Start and end on the axis at distance d from a disc of radius r: two tangents and the arc between.
        let (d, r) = (300.0, 100.0);
        let course = taut([-d, 0.0], [d, 0.0], &[disc(0.0, 0.0, r, -1.0, 0.0)], 1).unwrap();
        let tangent = f64::sqrt(d * d - r * r);
        let arc = r * (std::f64::consts::PI - 2.0 * (r / d).acos());
        assert!((course.length() - (2.0 * tangent + arc)).abs() < 1e-9);
    }

    #[test]
    fn a_disc_that_does_not_touch_is_ignored() {
        let course = taut([0.0, 0.0], [1000.0, 0.0], &[disc(500.0, 200.0, 100.0, 1.0, 0.0)], 1).unwrap();
        assert!(course.arcs.is_empty());
        assert!((course.length() - 1000.0).abs() < 1e-12);
    }

    #[test]
    fn two_discs_that_overlap_across_the_wire_are_a_pinch() {
        let discs = [disc(500.0, 60.0, 70.0, 1.0, 0.0), disc(500.0, -60.0, 70.0, -1.0, 0.0)];
        assert!(taut([0.0, 0.0], [1000.0, 0.0], &discs, 1).is_err());
    }

    /// A wire that winds around its own terminal outside two others, around a further bump, and back: taken from
    /// a generated ring with two neighbouring pads exchanged.
    #[test]
    fn a_wire_may_wind_around_its_own_terminal() {
        let d = |x: f64, y: f64, radius: f64, side: f64, from: f64, to: f64, vertex: u32| Disc {
            centre: [x * 1e3, y * 1e3],
            radius,
            side,
            span: [from, to],
            vertex,
        };
        let discs = [
            d(5892.0, 50.0, 27014.0, -1.0, 0.0, 0.0, 241),
            d(5843.0, 50.0, 17002.0, 1.0, 0.0, 2.0, 239),
            d(5946.0, 211.0, 137113.0, -1.0, 1.0, 1.0, 1249),
            d(5761.0, 211.0, 67029.0, -1.0, 2.0, 7.0, 1240),
            d(5795.0, 50.0, 27014.0, 1.0, 3.0, 3.0, 237),
            d(5747.0, 50.0, 47038.0, 1.0, 4.0, 4.0, 235),
            d(5699.0, 50.0, 67062.0, 1.0, 5.0, 5.0, 233),
            d(5650.0, 50.0, 97098.0, 1.0, 6.0, 6.0, 231),
            d(5576.0, 211.0, 107077.0, 1.0, 7.0, 8.0, 1233),
            d(5576.0, 396.0, 57017.0, -1.0, 8.0, 12.0, 1242),
            d(5391.0, 396.0, 107077.0, 1.0, 9.0, 9.0, 1234),
            d(5391.0, 581.0, 57017.0, 1.0, 10.0, 10.0, 1239),
            d(5576.0, 581.0, 127101.0, 1.0, 11.0, 11.0, 1251),
            d(5761.0, 396.0, 127101.0, 1.0, 12.0, 12.0, 1250),
        ];
        let course = taut([5868e3, 20e3], [5761e3, 211e3], &discs, 13).unwrap();
        let around: Vec<u32> = course.arcs.iter().map(|a| a.vertex).collect();
        assert!(around.contains(&1240) && around.contains(&1242), "{around:?}");
    }
}
