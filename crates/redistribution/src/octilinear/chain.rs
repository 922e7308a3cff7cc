//! From strings to staircases: chains of pieces in one sector of 45 degrees, each made octilinear in its turn.
//!
//! A chain moves only inside the parallelogram that its two directions span between its ends. Everything foreign that
//! reaches into it, widened by the room that it needs, lies above or below the chain as it runs now; that decides on
//! which side the staircase passes it, so the topology never changes and the layer is clear after every step.

use super::clear::{Grid, Line, room_at};
use super::stairs::{Corner, Stairs};
use super::{STAIR_SLACK, gauge};
use crate::route::mesh::NONE;
use crate::route::plane::{P2, distance, dot, sub};
use crate::route::sketch::Sketch;

/// Overlap that counts as rounding, nm.
const FINE: f64 = 2.5;

/// Rounds in which staircases are sought again among the settled, to save bends.
const POLISH: usize = 2;

/// A run of pieces of one wire.
struct Chain {
    wire: u32,
    points: Vec<P2>,
    /// Sector of its directions, 0..8; [`FIXED`] when it is one octilinear piece between bends.
    sector: u8,
    /// True when all its pieces are octilinear.
    settled: bool,
    cost: f64,
}

const FIXED: u8 = 8;

/// Makes all strings octilinear; `None` where that fails.
pub fn convert(s: &Sketch, strings: Vec<Option<Line>>) -> Vec<Option<Vec<P2>>> {
    let mut layer = Layer::new(s, &strings);
    layer.settle();
    let mut lines: Vec<Option<Vec<P2>>> =
        strings.iter().enumerate().map(|(w, line)| line.as_ref().and_then(|_| layer.joined(w))).collect();
    verify(s, &mut lines);
    lines
}

struct Layer<'a> {
    s: &'a Sketch,
    chains: Vec<Chain>,
    of_wire: Vec<Vec<u32>>,
    moving: Grid,
    fixed: Fixed,
    /// Most room that anything needs from a centre line, nm.
    reach: f64,
    /// Most room that a wire needs from another, nm.
    pitch: f64,
}

/// Vertices and blocked edges.
struct Fixed {
    grid: Grid,
    list: Vec<FixedThing>,
}

enum FixedThing {
    Vertex(u32),
    /// Ends, and the room from the edge of a wire, nm.
    Edge([P2; 2], f64),
}

impl Fixed {
    fn new(s: &Sketch, cell: f64) -> Fixed {
        let mut fixed = Fixed { grid: Grid::new(cell), list: Vec::new() };
        for (v, x) in s.mesh.vertices.iter().enumerate() {
            fixed.grid.add([x.p; 2], fixed.list.len() as u32);
            fixed.list.push(FixedThing::Vertex(v as u32));
        }
        for e in s.mesh.edges.iter().filter(|e| e.blocked) {
            let ends = e.v.map(|v| s.mesh.vertices[v as usize]);
            let gap = ends.iter().map(|v| if v.radius > 0.0 { 0.0 } else { v.gap }).fold(0.0, f64::max);
            let room = if gap > 0.0 { gap - STAIR_SLACK / 2.0 } else { 2.0 };
            fixed.grid.add(ends.map(|v| v.p), fixed.list.len() as u32);
            fixed.list.push(FixedThing::Edge(ends.map(|v| v.p), room));
        }
        fixed
    }
}

/// Something foreign: a segment or point and the room that the centre line must keep from it, nm.
struct Obstacle {
    segment: [P2; 2],
    room: f64,
    /// The chain that it belongs to while that is not settled.
    owner: Option<u32>,
    /// A keep-out's side, which may run in any direction and never bends.
    free: bool,
}

impl Obstacle {
    fn bends_later(&self) -> bool {
        self.owner.is_some() || self.free
    }
}

impl<'a> Layer<'a> {
    fn new(s: &'a Sketch, strings: &[Option<Line>]) -> Layer<'a> {
        let widest = s.wires.iter().map(|w| w.width).fold(0.0, f64::max);
        let reach = s
            .mesh
            .vertices
            .iter()
            .map(|v| v.radius + v.gap + widest / 2.0 + 3.0)
            .fold(widest + s.space, f64::max);
        let mut layer = Layer {
            s,
            chains: Vec::new(),
            of_wire: vec![Vec::new(); strings.len()],
            moving: Grid::new(10.0 * (widest + s.space)),
            fixed: Fixed::new(s, 2.0 * reach),
            reach,
            pitch: widest + s.space,
        };
        for (w, line) in strings.iter().enumerate() {
            let Some(line) = line else { continue };
            let points: Vec<P2> = line.iter().map(|b| b.p).collect();
            for (points, sector) in split(&points) {
                let settled = points.windows(2).all(|p| gauge::octilinear(sub(p[1], p[0])));
                layer.of_wire[w].push(layer.chains.len() as u32);
                layer.chains.push(Chain { wire: w as u32, points, sector, settled, cost: f64::INFINITY });
                layer.register(layer.chains.len() - 1);
            }
        }
        layer
    }

    fn register(&mut self, c: usize) {
        for p in self.chains[c].points.windows(2) {
            self.moving.add([p[0], p[1]], c as u32);
        }
    }

    /// Makes chain after chain octilinear, until none is left or none can be.
    ///
    /// A chain whose neighbours above (or below) are all settled always has a staircase: the uppermost (lowest) one.
    /// "Lies above" has no cycles among curves that run from left to right, so there is such a chain until all
    /// are settled, but for rare neighbours that meet end to end; those are tried with finely cut obstacles.
    fn settle(&mut self) {
        let top = |c: &Chain| c.points.iter().map(|p| p[1]).fold(f64::NEG_INFINITY, f64::max);
        let mut order: Vec<usize> = (0..self.chains.len()).collect();
        order.sort_by(|&a, &b| top(&self.chains[b]).total_cmp(&top(&self.chains[a])).then(a.cmp(&b)));
        let mut waits: Vec<Option<[u32; 2]>> = vec![None; self.chains.len()];
        let mut patient = true;
        loop {
            let mut progress = false;
            for &c in &order {
                let waiting = |w: [u32; 2]| w.iter().all(|&x| !self.chains[x as usize].settled);
                if self.chains[c].settled || (patient && waits[c].is_some_and(waiting)) {
                    continue;
                }
                match self.stairs(c, patient) {
                    Ok((cost, points)) => {
                        self.take(c, cost, points);
                        progress = true;
                        if !patient {
                            break;
                        }
                    }
                    Err(by) => waits[c] = by,
                }
            }
            let left = order.iter().any(|&c| !self.chains[c].settled);
            if !left || (!progress && !patient) {
                break;
            }
            patient = progress;
        }
        for _ in 0..POLISH {
            for &c in &order {
                if self.chains[c].sector == FIXED || !self.chains[c].settled {
                    continue;
                }
                let Ok((cost, points)) = self.stairs(c, true) else { continue };
                if points.len() < self.chains[c].points.len() || cost < self.chains[c].cost - 0.5 {
                    self.take(c, cost, points);
                }
            }
        }
    }

    fn take(&mut self, c: usize, cost: f64, points: Vec<P2>) {
        self.chains[c].points = points;
        self.chains[c].cost = cost;
        self.chains[c].settled = true;
        self.register(c);
    }

    /// The best staircase for a chain now; else, where unsettled chains on both sides are in the way, one above and
    /// one below to wait for.
    fn stairs(&self, c: usize, patient: bool) -> Result<(f64, Vec<P2>), Option<[u32; 2]>> {
        let chain = &self.chains[c];
        let frame = Frame::new(chain.points[0], chain.sector);
        let line: Vec<P2> = chain.points.iter().map(|&p| frame.inward(p)).collect();
        let mut stairs = self.task(c, &frame, line[line.len() - 1]);
        let mut waits: [Option<u32>; 2] = [None; 2];
        let mut slanted: Vec<([P2; 2], f64, bool)> = Vec::new();
        for o in &self.obstacles(chain) {
            let segment = o.segment.map(|p| frame.inward(p));
            let Some((above, corner)) = corner(segment, o.room, &line).ok_or(None)? else { continue };
            let d = sub(segment[1], segment[0]);
            if o.bends_later() && d[0] * d[1] > 0.0 && d[0].abs() > d[1].abs() {
                slanted.push((segment, o.room, above));
                if let Some(owner) = o.owner {
                    waits[usize::from(!above)] = Some(owner);
                    if let ([Some(a), Some(b)], true) = (waits, patient) {
                        return Err(Some([a, b]));
                    }
                }
            } else if above {
                stairs.above.push(corner);
            } else {
                stairs.below.push(corner);
            }
        }
        let sides = [true, false].map(|a| !slanted.iter().any(|s| s.2 == a));
        let exact = stairs.clone();
        for parts in if patient { [6, 0, 0] } else { [8, 32, 128] } {
            if parts == 0 || (slanted.is_empty() && parts > 8) {
                continue;
            }
            stairs.above.truncate(exact.above.len());
            stairs.below.truncate(exact.below.len());
            for &([a, b], room, _) in &slanted {
                let at = |k: usize| {
                    let t = k as f64 / parts as f64;
                    [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
                };
                for i in 0..parts {
                    if let Some((above, corner)) = corner([at(i), at(i + 1)], room, &line).ok_or(None)? {
                        if above { &mut stairs.above } else { &mut stairs.below }.push(corner);
                    }
                }
            }
            if let Some((cost, path)) = stairs.solve() {
                return Ok((cost, frame.path(&path)));
            }
        }
        // The uppermost staircase runs above the chain, so whatever lies below is out of its way; and conversely.
        let path = match sides {
            [true, _] => exact.extreme(true),
            [_, true] => exact.extreme(false),
            _ => return Err(None),
        };
        Ok((path.len() as f64, frame.path(&path)))
    }

    /// What is asked of a chain's staircase before obstacles are known.
    fn task(&self, c: usize, frame: &Frame, end: P2) -> Stairs {
        let chain = &self.chains[c];
        let mut stairs = Stairs { d: end[0] - end[1], h: end[1], upper: frame.up(), ..Stairs::default() };
        let mine = &self.of_wire[chain.wire as usize];
        let place = mine.iter().position(|&x| x as usize == c).unwrap_or(0);
        let wire = &self.s.wires[chain.wire as usize];
        let ends = [place == 0, place + 1 == mine.len()];
        for k in 0..2 {
            if ends[k] {
                let v = &self.s.mesh.vertices[wire.ends[k] as usize];
                stairs.ends[k] = [v.radius + 0.75 * wire.width, v.radius + 1.5 * wire.width];
            } else {
                let beside = &self.chains[mine[if k == 0 { place - 1 } else { place + 1 }] as usize];
                let n = beside.points.len();
                let (a, b) = if k == 0 { (n - 2, n - 1) } else { (0, 1) };
                let d = frame.turned(sub(beside.points[b], beside.points[a]));
                stairs.beside[k] = if d[1] == 0.0 && d[0] > 0.0 {
                    Some(true)
                } else if d[0] == d[1] && d[0] > 0.0 {
                    Some(false)
                } else {
                    None
                };
            }
        }
        stairs
    }

    /// Everything foreign near the parallelogram of a chain.
    fn obstacles(&self, chain: &Chain) -> Vec<Obstacle> {
        let wire = &self.s.wires[chain.wire as usize];
        let (p, q) = (chain.points[0], chain.points[chain.points.len() - 1]);
        let frame = Frame::new(p, chain.sector);
        let end = frame.inward(q);
        let low = frame.outward([end[0] - end[1], 0.0]);
        let side = gauge::gap([p, q], [low; 2]);
        let mut out = Vec::new();
        let mut near = Vec::new();
        self.fixed.grid.near([p, q], side + self.reach, &mut near);
        for &i in &near {
            match self.fixed.list[i as usize] {
                FixedThing::Vertex(v) if !wire.ends.contains(&v) => {
                    let at = self.s.mesh.vertices[v as usize].p;
                    let room = room_at(self.s, v, wire.width, STAIR_SLACK);
                    out.push(Obstacle { segment: [at; 2], room, owner: None, free: false });
                }
                FixedThing::Vertex(_) => {}
                FixedThing::Edge(segment, room) => {
                    out.push(Obstacle { segment, room: room + wire.width / 2.0, owner: None, free: true });
                }
            }
        }
        self.moving.near([p, q], side + self.pitch, &mut near);
        for &i in &near {
            let other = &self.chains[i as usize];
            let foreign = &self.s.wires[other.wire as usize];
            let room = (foreign.width + wire.width) / 2.0 + self.s.space - STAIR_SLACK;
            // Wires of one net may touch, but where they run apart they stay apart, lest they meet at a sharp angle.
            if foreign.net == wire.net && (other.wire == chain.wire || near_now(chain, other, room)) {
                continue;
            }
            for s in other.points.windows(2) {
                let owner = (!other.settled).then_some(i);
                out.push(Obstacle { segment: [s[0], s[1]], room, owner, free: false });
            }
        }
        out
    }

    /// The whole course of a wire, straight runs joined; `None` when a part of it is not octilinear.
    fn joined(&self, w: usize) -> Option<Vec<P2>> {
        let mut points: Vec<P2> = Vec::new();
        for &c in &self.of_wire[w] {
            let chain = &self.chains[c as usize];
            if !chain.settled {
                return None;
            }
            for &p in &chain.points {
                if points.last() != Some(&p) {
                    points.push(p);
                }
            }
        }
        let mut k = 1;
        while k + 1 < points.len() {
            let (u, v) = (sub(points[k], points[k - 1]), sub(points[k + 1], points[k]));
            if u[0] * v[1] == u[1] * v[0] && dot(u, v) > 0.0 {
                points.remove(k);
            } else {
                k += 1;
            }
        }
        (points.len() > 1).then_some(points)
    }
}

/// True when two chains are nearer than `room` as they run now.
fn near_now(a: &Chain, b: &Chain, room: f64) -> bool {
    a.points
        .windows(2)
        .any(|p| b.points.windows(2).any(|q| gauge::gap([p[0], p[1]], [q[0], q[1]]) < room + 2.0))
}

/// Cuts a string into chains: longest runs in one sector, each between terminals or bends along octilinear pieces, which
/// stand by themselves.
fn split(points: &[P2]) -> Vec<(Vec<P2>, u8)> {
    let n = points.len() - 1;
    let sectors: Vec<u8> = (0..n).map(|k| sectors_of(sub(points[k + 1], points[k]))).collect();
    let mut out = Vec::new();
    let mut from = 0;
    while from < n {
        let mut mask = sectors[from];
        let mut to = from + 1;
        while to < n && mask & sectors[to] != 0 {
            mask &= sectors[to];
            to += 1;
        }
        let straight = |k: usize| gauge::octilinear(sub(points[k + 1], points[k]));
        let (mut a, mut b) = (from, to);
        while a < b && from > 0 && straight(a) {
            a += 1;
        }
        while b > a && to < n && straight(b - 1) {
            b -= 1;
        }
        out.extend((from..a).map(|k| (points[k..=k + 1].to_vec(), FIXED)));
        if a < b {
            out.push((points[a..=b].to_vec(), mask.trailing_zeros() as u8));
        }
        out.extend((b.max(a)..to).map(|k| (points[k..=k + 1].to_vec(), FIXED)));
        from = to;
    }
    out
}

/// Sectors of 45 degrees that a direction lies in, a bit each; two for a multiple of 45 degrees.
fn sectors_of(v: P2) -> u8 {
    (0..8)
        .filter(|&s| {
            let p = Frame::new([0.0; 2], s).inward(v);
            p[1] >= 0.0 && p[0] >= p[1]
        })
        .fold(0, |m, s| m | 1 << s)
}

/// Coordinates in which a chain starts at the origin and runs between the x axis and the diagonal.
struct Frame {
    origin: P2,
    /// Rows of the matrix: the frame's x and y in layout directions.
    rows: [P2; 2],
}

impl Frame {
    fn new(origin: P2, sector: u8) -> Frame {
        let axes = [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]];
        let quarter = usize::from(sector / 2) % 4;
        let (x, y) = (axes[quarter], axes[(quarter + 1) % 4]);
        Frame { origin, rows: if sector.is_multiple_of(2) { [x, y] } else { [y, x] } }
    }

    fn turned(&self, v: P2) -> P2 {
        // Adding zero turns -0 into 0.
        [dot(self.rows[0], v) + 0.0, dot(self.rows[1], v) + 0.0]
    }

    fn inward(&self, p: P2) -> P2 {
        self.turned(sub(p, self.origin))
    }

    fn outward(&self, q: P2) -> P2 {
        [0, 1].map(|k| self.origin[k] + self.rows[0][k] * q[0] + self.rows[1][k] * q[1])
    }

    fn path(&self, corners: &[Corner]) -> Vec<P2> {
        corners.iter().map(|c| self.outward([c.d + c.h, c.h])).collect()
    }

    /// True when the frame's upper left lies towards the top of the die.
    fn up(&self) -> bool {
        -self.rows[0][1] + 2.0 * self.rows[1][1] > 0.0
    }
}

/// The corner that an obstacle sets to a chain, in the chain's frame, and whether it lies above. The outer `None` when it
/// lies across the chain, the inner when it does not reach into the parallelogram.
#[allow(clippy::option_option)]
fn corner(segment: [P2; 2], room: f64, line: &[P2]) -> Option<Option<(bool, Corner)>> {
    let end = line[line.len() - 1];
    let (length, height) = (end[0], end[1]);
    let a = room.ceil();
    let d = (room * std::f64::consts::SQRT_2).ceil();
    // Sides of the widened segment as (normal, limit): n . p <= limit.
    let mut sides: Vec<(P2, f64)> = Vec::with_capacity(10);
    for n in [[1.0, 0.0], [0.0, 1.0], [1.0, 1.0], [1.0, -1.0]] {
        let (p, q) = (dot(n, segment[0]), dot(n, segment[1]));
        let out = if n[0] * n[1] == 0.0 { a } else { d };
        sides.push((n, p.max(q) + out));
        sides.push(([-n[0], -n[1]], -(p.min(q) - out)));
    }
    // Quick answers first: the parallelogram's own sides are among the same directions.
    let (most_x, least_x) = (sides[0].1, -sides[1].1);
    let (most_h, least_h) = (sides[2].1, -sides[3].1);
    let (most_s, least_s) = (sides[4].1, -sides[5].1);
    let (most_d, least_d) = (sides[6].1, -sides[7].1);
    if most_x <= 0.0
        || least_x >= length
        || most_h <= 0.0
        || least_h >= height
        || most_s <= 0.0
        || least_s >= length + height
        || most_d <= 0.0
        || least_d >= length - height
    {
        return Some(None);
    }
    let along = sub(segment[1], segment[0]);
    if along != [0.0, 0.0] && !gauge::octilinear(along) {
        let n = [-along[1], along[0]];
        let (at, out) = (dot(n, segment[0]), room * gauge::support(n));
        sides.push((n, at + out));
        sides.push(([-n[0], -n[1]], -at + out));
    }
    let mut shape = vec![[0.0, 0.0], [length - height, 0.0], [length, height], [height, height]];
    for (n, limit) in sides {
        shape = cut(&shape, n, limit);
        if shape.len() < 3 {
            return Some(None);
        }
    }
    let (mut over, mut under) = (0.0_f64, 0.0_f64);
    for p in &shape {
        let off = p[1] - height_at(line, p[0]);
        over = over.max(off);
        under = under.max(-off);
    }
    // The line itself may stick into the shape between the shape's corners.
    for p in &line[1..line.len() - 1] {
        if let Some((low, high)) = span_at(&shape, p[0]) {
            over = over.max(high - p[1]);
            under = under.max(p[1] - low);
        }
    }
    if over.max(under) < 0.5 {
        return Some(None);
    }
    if over.min(under) > FINE {
        return None;
    }
    let by = |f: fn(&P2) -> f64, g: fn(f64, f64) -> f64| shape.iter().map(f).reduce(g).unwrap_or(0.0);
    let corner = if over > under {
        Corner {
            d: (by(|p| p[0] - p[1], f64::max) - 1e-3).ceil(),
            h: (by(|p| p[1], f64::min) + 1e-3).floor(),
        }
    } else {
        Corner {
            d: (by(|p| p[0] - p[1], f64::min) + 1e-3).floor(),
            h: (by(|p| p[1], f64::max) - 1e-3).ceil(),
        }
    };
    Some(Some((over > under, corner)))
}

/// Height of a line that never goes back in x, at `x`.
fn height_at(line: &[P2], x: f64) -> f64 {
    for p in line.windows(2) {
        if x <= p[1][0] {
            let l = p[1][0] - p[0][0];
            return if l > 0.0 {
                p[0][1] + (p[1][1] - p[0][1]) * ((x - p[0][0]) / l).max(0.0)
            } else {
                p[0][1]
            };
        }
    }
    line[line.len() - 1][1]
}

/// Lowest and highest point of a convex shape at `x`.
fn span_at(shape: &[P2], x: f64) -> Option<(f64, f64)> {
    let mut span: Option<(f64, f64)> = None;
    for k in 0..shape.len() {
        let (a, b) = (shape[k], shape[(k + 1) % shape.len()]);
        if (a[0] <= x && x <= b[0]) || (b[0] <= x && x <= a[0]) {
            let t = if a[0] == b[0] { 0.0 } else { (x - a[0]) / (b[0] - a[0]) };
            let y = a[1] + t * (b[1] - a[1]);
            span = Some(span.map_or((y, y), |(l, h)| (l.min(y), h.max(y))));
        }
    }
    span
}

/// The part of a convex shape with `n . p <= limit`.
fn cut(shape: &[P2], n: P2, limit: f64) -> Vec<P2> {
    let mut out = Vec::with_capacity(shape.len() + 1);
    for k in 0..shape.len() {
        let (a, b) = (shape[k], shape[(k + 1) % shape.len()]);
        let (p, q) = (dot(n, a) - limit, dot(n, b) - limit);
        if p <= 0.0 {
            out.push(a);
        }
        if (p < 0.0 && q > 0.0) || (p > 0.0 && q < 0.0) {
            let t = p / (p - q);
            out.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
        }
    }
    out
}

/// Takes out courses that are not clear of others or of fixed metal, or turn by more than 90 degrees.
fn verify(s: &Sketch, lines: &mut [Option<Vec<P2>>]) {
    let widest = s.wires.iter().map(|w| w.width).fold(0.0, f64::max);
    let fixed = Fixed::new(s, 6.0 * (widest + s.space));
    let reach =
        s.mesh.vertices.iter().map(|v| v.radius + v.gap + widest).fold(widest + s.space, f64::max) + 3.0;
    let mut near = Vec::new();
    for (wire, line) in s.wires.iter().zip(lines.iter_mut()) {
        let clear = line.iter().flat_map(|l| l.windows(2)).all(|p| {
            let segment = [p[0], p[1]];
            fixed.grid.near(segment, reach, &mut near);
            near.iter().all(|&i| match fixed.list[i as usize] {
                FixedThing::Vertex(v) => {
                    wire.ends.contains(&v)
                        || gauge::gap(segment, [s.mesh.vertices[v as usize].p; 2])
                            >= room_at(s, v, wire.width, STAIR_SLACK) - 1.0
                }
                FixedThing::Edge(e, room) => gauge::gap(segment, e) >= room + wire.width / 2.0 - 1.0,
            })
        });
        let folded = line.iter().flat_map(|l| l.windows(3)).any(|p| {
            let (u, v) = (sub(p[1], p[0]), sub(p[2], p[1]));
            dot(u, v) < 0.0 || distance(p[0], p[1]) == 0.0
        });
        if !clear || folded {
            *line = None;
        }
    }
    let mut grid = Grid::new(6.0 * (widest + s.space));
    let mut pieces: Vec<(usize, [P2; 2])> = Vec::new();
    for (w, line) in lines.iter_mut().enumerate() {
        let mine: Vec<[P2; 2]> = line.iter().flat_map(|l| l.windows(2)).map(|p| [p[0], p[1]]).collect();
        let clear = mine.iter().all(|&segment| {
            grid.near(segment, widest + s.space, &mut near);
            near.iter().all(|&i| {
                let (o, other) = pieces[i as usize];
                let room = (s.wires[o].width + s.wires[w].width) / 2.0 + s.space - STAIR_SLACK;
                s.wires[o].net == s.wires[w].net || gauge::gap(segment, other) >= room - 1.0
            })
        });
        if !clear {
            *line = None;
            continue;
        }
        for segment in mine {
            grid.add(segment, pieces.len() as u32);
            pieces.push((w, segment));
        }
    }
    debug_assert!(s.wires.iter().all(|w| w.direct == NONE || w.crossings.is_empty()));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sectors_go_around_and_octilinear_directions_lie_in_two() {
        for k in 0..8u8 {
            let t = (f64::from(k) + 0.5) * std::f64::consts::FRAC_PI_4;
            assert_eq!(sectors_of([t.cos(), t.sin()]), 1 << k, "sector {k}");
        }
        assert_eq!(sectors_of([1.0, 0.0]), 1 | 1 << 7);
        assert_eq!(sectors_of([-2.0, 2.0]), 1 << 2 | 1 << 3);
    }

    #[test]
    fn a_point_above_sets_the_lower_right_corner_of_its_octagon() {
        let line = [[0.0, 0.0], [1000.0, 400.0]];
        let (above, c) = corner([[500.0, 330.0]; 2], 100.0, &line).unwrap().unwrap();
        assert!(above);
        // Lower side at 330 - 100, diagonal side at 500 - 330 + 100 sqrt 2.
        assert_eq!(c, Corner { d: 170.0 + 142.0, h: 230.0 });
    }

    #[test]
    fn what_lies_across_is_told() {
        let line = [[0.0, 0.0], [1000.0, 400.0]];
        assert!(corner([[500.0, 200.0]; 2], 30.0, &line).is_none());
    }
}
