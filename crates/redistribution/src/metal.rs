//! From courses to metal: traces, landings, capture pads, teardrops as polygons in whole nanometres.
//!
//! Arcs become chords so that metal is never narrower than asked: outer arcs are circumscribed, inner arcs inscribed, both
//! within [`CHORD`] of the true arc. The router keeps that much more space, so what is drawn still has the space of
//! the rules.

use crate::route::plane::{P2, along, cross, distance, dot, left, norm, sub};
use crate::route::taut::{Arc, Course};
use facedown_layout::{Point, Polygon};
use facedown_quantity::Nm;

/// Largest distance between an arc and the chords drawn for it, nm.
pub const CHORD: f64 = 4.0;

/// Extra half width of drawn metal that makes up for rounding to whole nanometres, nm.
pub const ROUNDING: f64 = 1.0;

/// What the router adds to every space, nm: chords and rounding on both sides.
pub const ALLOWANCE: f64 = 2.0 * (CHORD + 2.0 * ROUNDING);

fn point(p: P2) -> Point {
    Point::new(Nm(p[0].round() as i64), Nm(p[1].round() as i64))
}

/// A polygon from points in floating nanometres; repeated points are dropped.
pub fn polygon(points: &[P2]) -> Polygon {
    let mut outer: Vec<Point> = Vec::with_capacity(points.len());
    for &p in points {
        let q = point(p);
        if outer.last() != Some(&q) {
            outer.push(q);
        }
    }
    while outer.len() > 1 && outer.first() == outer.last() {
        outer.pop();
    }
    Polygon::new(outer)
}

fn chords(radius: f64, angle: f64) -> usize {
    let step = 2.0 * (1.0 - (CHORD / radius).min(0.5)).acos();
    (angle / step).ceil().max(1.0) as usize
}

/// Points of an arc of a circle around `centre` from angle `from` through `sweep` (signed), outside the circle
/// when `outside`, else on it.
fn arc(centre: P2, radius: f64, from: f64, sweep: f64, outside: bool, out: &mut Vec<P2>) {
    let at = |r: f64, a: f64| [centre[0] + r * a.cos(), centre[1] + r * a.sin()];
    let n = chords(radius, sweep.abs());
    let step = sweep / n as f64;
    out.push(at(radius, from));
    if outside {
        let r = radius / (step / 2.0).cos();
        out.extend((0..n).map(|i| at(r, from + (i as f64 + 0.5) * step)));
    } else {
        out.extend((1..n).map(|i| at(radius, from + i as f64 * step)));
    }
    out.push(at(radius, from + sweep));
}

/// One side of a trace, from its start to its end: `hand` +1 for the left.
fn side(course: &Course, half: f64, hand: f64) -> Vec<P2> {
    let mut points = Vec::new();
    let lines: Vec<_> = course.lines().collect();
    for (k, &(a, b, _)) in lines.iter().enumerate() {
        let d = sub(b, a);
        let l = norm(d);
        if l > 1e-6 {
            let n = left([d[0] / l, d[1] / l]);
            points.push(along(a, n, hand * half));
            points.push(along(b, n, hand * half));
        }
        if let Some(bend) = course.arcs.get(k) {
            let v = sub(bend.from, bend.centre);
            let inner = bend.side == hand;
            let radius = if inner { bend.radius - half } else { bend.radius + half };
            if radius > 1.0 && bend.angle > 1e-9 {
                arc(bend.centre, radius, v[1].atan2(v[0]), bend.side * bend.angle, !inner, &mut points);
            }
        }
    }
    points
}

/// The trace of a course with its ends cut straight at the terminals' centres.
pub fn trace(course: &Course, width: f64) -> Polygon {
    let half = width / 2.0 + ROUNDING;
    let mut points = side(course, half, -1.0);
    let mut back = side(course, half, 1.0);
    back.reverse();
    points.extend(back);
    polygon(&points)
}

/// A regular polygon that holds a disc of this radius, nm, with as many corners as a disc of radius `like` needs. Nested
/// circles drawn with the same number of corners keep their distance exactly all around.
pub fn circle(centre: P2, radius: f64, like: f64) -> Polygon {
    // A multiple of eight keeps the polygon symmetric.
    let n = chords(like.max(radius), std::f64::consts::TAU).next_multiple_of(8);
    let step = std::f64::consts::TAU / n as f64;
    let r = (radius + ROUNDING) / (step / 2.0).cos();
    let points: Vec<P2> = (0..n)
        .map(|i| (i as f64 + 0.5) * step)
        .map(|a| [centre[0] + r * a.cos(), centre[1] + r * a.sin()])
        .collect();
    polygon(&points)
}

/// The part of [`circle`] inside `low..high`, for a landing near the die edge: round where traces leave it, straight
/// along the edge.
pub fn circle_within(centre: P2, radius: f64, low: P2, high: P2) -> Polygon {
    let round = circle(centre, radius, 0.0);
    let mut ring: Vec<P2> = round.outer.iter().map(|p| [p.x.nm(), p.y.nm()]).collect();
    for (axis, limit, sign) in [(0, low[0], 1.0), (0, high[0], -1.0), (1, low[1], 1.0), (1, high[1], -1.0)] {
        let depth = |p: P2| sign * (p[axis] - limit);
        let mut kept = Vec::with_capacity(ring.len() + 1);
        for i in 0..ring.len() {
            let (p, q) = (ring[i], ring[(i + 1) % ring.len()]);
            if depth(p) >= 0.0 {
                kept.push(p);
            }
            if (depth(p) < 0.0) != (depth(q) < 0.0) {
                kept.push(along(p, sub(q, p), depth(p) / (depth(p) - depth(q))));
            }
        }
        ring = kept;
    }
    polygon(&ring)
}

/// Every piece of every wire on a grid, to ask how near foreign metal is.
pub struct Neighbours {
    low: P2,
    cell: f64,
    columns: usize,
    rows: usize,
    cells: Vec<Vec<u32>>,
    pieces: Vec<Piece>,
    /// Largest half width of a line, nm.
    widest: f64,
}

struct Piece {
    net: u32,
    half: f64,
    a: P2,
    b: P2,
}

/// Largest distance between an arc and the chords that stand for it on the grid, nm.
const COARSE_CHORD: f64 = 50.0;

impl Neighbours {
    /// An empty grid over `low..high` with cells of about `cell` nm.
    pub fn new(low: P2, high: P2, cell: f64) -> Neighbours {
        let widest = (high[0] - low[0]).max(high[1] - low[1]);
        let cell = cell.max(widest / 2000.0).max(1.0);
        let count = |k: usize| ((high[k] - low[k]) / cell).ceil().max(1.0) as usize + 1;
        let (columns, rows) = (count(0), count(1));
        Neighbours {
            low,
            cell,
            columns,
            rows,
            cells: vec![Vec::new(); columns * rows],
            pieces: Vec::new(),
            widest: 0.0,
        }
    }

    fn key(&self, p: P2) -> (usize, usize) {
        let k =
            |i: usize, n: usize| (((p[i] - self.low[i]) / self.cell).floor().max(0.0) as usize).min(n - 1);
        (k(0, self.columns), k(1, self.rows))
    }

    /// Adds a disc (a piece without length).
    pub fn disc(&mut self, net: u32, centre: P2, radius: f64) {
        let i = self.pieces.len() as u32;
        self.pieces.push(Piece { net, half: radius, a: centre, b: centre });
        let (x0, y0) = self.key([centre[0] - radius, centre[1] - radius]);
        let (x1, y1) = self.key([centre[0] + radius, centre[1] + radius]);
        for y in y0..=y1 {
            for x in x0..=x1 {
                self.cells[y * self.columns + x].push(i);
            }
        }
    }

    /// Adds all pieces of a course; arcs as chords.
    pub fn course(&mut self, net: u32, half: f64, course: &Course) {
        for (a, b, _) in course.lines() {
            self.add(net, half, a, b);
        }
        for c in &course.arcs {
            let v = sub(c.from, c.centre);
            let from = v[1].atan2(v[0]);
            let n = (c.angle / (2.0 * (1.0 - (COARSE_CHORD / c.radius).min(0.5)).acos())).ceil().max(1.0)
                as usize;
            let at = |i: usize| {
                let t = from + c.side * c.angle * i as f64 / n as f64;
                [c.centre[0] + c.radius * t.cos(), c.centre[1] + c.radius * t.sin()]
            };
            for i in 0..n {
                self.add(net, half + COARSE_CHORD, at(i), at(i + 1));
            }
        }
    }

    fn add(&mut self, net: u32, half: f64, a: P2, b: P2) {
        let i = self.pieces.len() as u32;
        self.widest = self.widest.max(half);
        self.pieces.push(Piece { net, half, a, b });
        let n = (distance(a, b) / self.cell).ceil().max(1.0) as i32;
        let mut last = None;
        for k in 0..=n {
            let c = self.key(along(a, sub(b, a), f64::from(k) / f64::from(n)));
            if last != Some(c) {
                self.cells[c.1 * self.columns + c.0].push(i);
                last = Some(c);
            }
        }
    }

    /// True when the segment `a b` keeps `space` from all metal of other nets.
    pub fn clear(&self, net: u32, a: P2, b: P2, space: f64) -> bool {
        // Walking a piece in steps of a cell may miss the cell of a corner that it cuts: one cell more on each side.
        let grow = self.cell + space + self.widest;
        let (x0, y0) = self.key([a[0].min(b[0]) - grow, a[1].min(b[1]) - grow]);
        let (x1, y1) = self.key([a[0].max(b[0]) + grow, a[1].max(b[1]) + grow]);
        for y in y0..=y1 {
            for x in x0..=x1 {
                for &i in &self.cells[y * self.columns + x] {
                    let p = &self.pieces[i as usize];
                    if p.net != net && between(a, b, p.a, p.b) < p.half + space {
                        return false;
                    }
                }
            }
        }
        true
    }
}

/// Distance between two segments; zero when they cross.
pub fn between(a: P2, b: P2, c: P2, d: P2) -> f64 {
    use crate::route::plane::{nearest_on_segment, orient};
    let apart = |p: f64, q: f64| p.signum() == q.signum() && p != 0.0 && q != 0.0;
    if !apart(orient(a, b, c), orient(a, b, d))
        && !apart(orient(c, d, a), orient(c, d, b))
        && distance(a, b) > 0.0
        && distance(c, d) > 0.0
    {
        // Collinear pieces may still be apart; the end-point distances below tell.
        if orient(a, b, c) != 0.0 || orient(a, b, d) != 0.0 {
            return 0.0;
        }
    }
    nearest_on_segment(a, b, c)
        .1
        .min(nearest_on_segment(a, b, d).1)
        .min(nearest_on_segment(c, d, a).1)
        .min(nearest_on_segment(c, d, b).1)
}

/// The widened end of a trace that leaves a disc of `radius` at `centre` in direction of `to` (the end of its first
/// straight piece): the hull of a disc of 0.9 of that radius and the trace at some distance. The longest of a few lengths
/// that keeps clear of others is taken; `None` where there is no room or the trace is as wide as the disc.
pub fn teardrop(
    net: u32,
    centre: P2,
    to: P2,
    radius: f64,
    width: f64,
    space: f64,
    others: &Neighbours,
) -> Option<Polygon> {
    let straight = distance(centre, to);
    let r = 0.9 * radius;
    let half = width / 2.0 + ROUNDING;
    if half >= 0.95 * r {
        return None;
    }
    let u = [(to[0] - centre[0]) / straight, (to[1] - centre[1]) / straight];
    let n = left(u);
    for share in [1.0, 0.7, 0.45, 0.25] {
        let reach = radius + share * (0.6 * radius + 1.5 * width);
        if reach > straight {
            continue;
        }
        let tip = |hand: f64| along(along(centre, u, reach), n, hand * half);
        // Tangent from a tip to the inner disc, on its own side.
        let foot = |hand: f64| {
            let p = sub(tip(hand), centre);
            let far = norm(p);
            let phi = half.atan2(reach) + (r / far).acos();
            [
                centre[0] + r * (u[0] * phi.cos() + hand * n[0] * phi.sin()),
                centre[1] + r * (u[1] * phi.cos() + hand * n[1] * phi.sin()),
            ]
        };
        let clear = [1.0, -1.0].iter().all(|&h| others.clear(net, foot(h), tip(h), space));
        if clear {
            return Some(polygon(&[centre, foot(-1.0), tip(-1.0), tip(1.0), foot(1.0)]));
        }
    }
    None
}

/// A web between two traces of one net that leave a terminal at less than a right angle, so that no sharp notch stays
/// between them: the room between their centre lines until half a space opens between their edges. No foreign metal can
/// be in it, as that would need two spaces and a line. `None` when the angle is wide enough, or the traces stay together
/// to the end. `from_start` tells at which end of each course the terminal is.
pub fn web(courses: [&Course; 2], from_start: [bool; 2], width: f64, space: f64) -> Option<Polygon> {
    let lines = [0, 1].map(|k| centre_line(courses[k], from_start[k]));
    let centre = lines[0][0];
    let ahead = [0, 1].map(|k| sub(first_straight(courses[k], from_start[k]), centre));
    if dot(ahead[0], ahead[1]) < -0.1 * norm(ahead[0]) * norm(ahead[1]) {
        return None;
    }
    let step = width / 4.0;
    let apart = width + space / 2.0;
    let [a, b] = lines.map(|l| walk(&l, step));
    let n = a.len().min(b.len());
    let open = (1..n).find(|&i| distance(a[i], b[i]) >= apart)?;
    let mut ring: Vec<P2> = a[..=open].to_vec();
    ring.extend(b[1..=open].iter().rev());
    let area: f64 = (0..ring.len()).map(|i| cross(ring[i], ring[(i + 1) % ring.len()])).sum();
    if area < 0.0 {
        ring.reverse();
    }
    Some(polygon(&ring))
}

/// Points of a centre line from one of its ends, arcs in steps of a few degrees.
fn centre_line(course: &Course, from_start: bool) -> Vec<P2> {
    let mut points = Vec::new();
    let lines: Vec<_> = course.lines().collect();
    for (k, &(a, b, _)) in lines.iter().enumerate() {
        points.push(a);
        points.push(b);
        if let Some(c) = course.arcs.get(k) {
            let v = sub(c.from, c.centre);
            let n = (c.angle / 0.05).ceil().max(1.0) as usize;
            for i in 1..n {
                let t = v[1].atan2(v[0]) + c.side * c.angle * i as f64 / n as f64;
                points.push([c.centre[0] + c.radius * t.cos(), c.centre[1] + c.radius * t.sin()]);
            }
        }
    }
    if !from_start {
        points.reverse();
    }
    points
}

/// Points at equal steps along a line of points.
fn walk(points: &[P2], step: f64) -> Vec<P2> {
    let mut out = vec![points[0]];
    let mut left_over = step;
    for p in points.windows(2) {
        let l = distance(p[0], p[1]);
        let mut at = left_over;
        while at <= l && l > 0.0 {
            out.push(along(p[0], sub(p[1], p[0]), at / l));
            at += step;
        }
        left_over = at - l;
    }
    out
}

/// The first straight piece's far end, seen from the start or the end of a course.
pub fn first_straight(course: &Course, from_start: bool) -> P2 {
    let bend: Option<&Arc> = if from_start { course.arcs.first() } else { course.arcs.last() };
    match (bend, from_start) {
        (Some(a), true) => a.from,
        (Some(a), false) => a.to,
        (None, true) => course.end,
        (None, false) => course.start,
    }
}
