//! Width of metal and of the gaps inside one net, square to the edges of the merged outline.
//!
//! From every point of an edge a ray runs square to it through the metal until it leaves; its shortest length is the
//! width there. A line of width w reads w, its round end too, and a right-angled corner is no narrow place. A
//! neck between two inner corners has no edge that it is square to; such corner pairs are measured directly. An
//! outline that touches itself in a point has width zero there. The first edge that a ray leaves through always faces back,
//! so the least over all facing edges is the least over first hits, and no visibility test is needed.
//!
//! Two facing edges count when their lines make less than 75 degrees: beyond, they form a blunt corner, which the
//! corner rule judges. Corner pairs count when both turn by more than about a degree; the flatter vertices of a
//! drawn arc are covered by the rays to within d t^2/8 (1 nm in 40 um).
//!
//! The same measure outward gives notches.

use crate::cluster::Hit;
use crate::exact::Spot;
use crate::index::EdgeIndex;
use crate::merge::FINE;
use rayon::prelude::*;

const CHUNK: usize = 2048;
/// Cosine of 75 degrees: edges must face each other at least that much.
const FACING: f64 = 0.258_819;
/// Sine of the turn from which a corner counts in corner pairs.
const TURN: f64 = 0.015;
/// Edges shorter than this (fine grid) have no trustworthy direction and send no ray.
const SHORTEST: f64 = FINE as f64;

/// Which side of the edges is measured.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Side {
    /// Through the metal.
    Inside,
    /// Through the gap outside it.
    Outside,
}

/// A measure across the metal or the gap, on the fine grid: its length, its middle, the edge on the other side.
#[derive(Clone, Copy)]
struct Across {
    length: f64,
    at: [f64; 2],
    other: u32,
}

impl Across {
    fn before(&self, other: &Across) -> bool {
        (self.length, self.at[0], self.at[1]) < (other.length, other.at[0], other.at[1])
    }
}

/// All places where the measure falls below `limit` (nm), and the least of all. `group` says which owners
/// belong together (pieces of one net); keys of the hits are the groups.
pub(crate) fn measure(
    index: &EdgeIndex,
    group: &[u32],
    side: Side,
    limit: f64,
    search_beyond: bool,
) -> (Vec<Hit>, Option<Hit>) {
    let mut reach = if search_beyond { limit * 1.25 } else { limit };
    loop {
        let (hits, least) = within(index, group, side, limit, reach * FINE as f64);
        if least.is_some() || !search_beyond || reach * FINE as f64 > 2.0 * index.extent() as f64 {
            return (hits, least);
        }
        reach *= 2.0;
    }
}

fn within(index: &EdgeIndex, group: &[u32], side: Side, limit: f64, reach: f64) -> (Vec<Hit>, Option<Hit>) {
    let numbers: Vec<u32> = (0..index.edges.len() as u32).collect();
    let parts: Vec<(Vec<Hit>, Option<Hit>)> = numbers
        .par_chunks(CHUNK)
        .map(|chunk| {
            let mut hits = Vec::new();
            let mut least: Option<Hit> = None;
            for edge in chunk {
                let own = group[index.owner(*edge) as usize];
                let radius = least.map_or(reach, |l| reach.min(limit.max(l.value + 1.0) * FINE as f64));
                let found =
                    [ray(index, group, *edge, side, radius), corner_pair(index, group, *edge, side, radius)];
                for Across { length: value, at, other } in found.into_iter().flatten() {
                    let fine = FINE as f64;
                    let hit = Hit {
                        key: (own, own),
                        value: value / fine,
                        at: [at[0] / fine, at[1] / fine],
                        edges: Some([*edge, index.after(*edge), other, index.after(other)]),
                    };
                    if hit.value < limit {
                        hits.push(hit);
                    }
                    if least.is_none_or(|l| hit.order(&l).is_lt()) {
                        least = Some(hit);
                    }
                }
            }
            (hits, least)
        })
        .collect();
    let mut hits = pinches(index, group, side);
    let mut least: Option<Hit> = hits.first().copied();
    for (part, nearest) in parts {
        hits.extend(part);
        least = least.into_iter().chain(nearest).min_by(|a, b| a.order(b));
    }
    (hits, least)
}

fn vector(a: Spot, b: Spot) -> [f64; 2] {
    [(b[0] - a[0]) as f64, (b[1] - a[1]) as f64]
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

/// The shortest ray from an edge, with its middle.
fn ray(index: &EdgeIndex, group: &[u32], edge: u32, side: Side, reach: f64) -> Option<Across> {
    let [a, b] = index.edges[edge as usize];
    let along = vector(a, b);
    let length = along[0].hypot(along[1]);
    if length < SHORTEST {
        return None;
    }
    let u = [along[0] / length, along[1] / length];
    // The metal is on the left of its edges.
    let n = if side == Side::Inside { [-u[1], u[0]] } else { [u[1], -u[0]] };
    let own = group[index.owner(edge) as usize];
    let (before, after) = (index.before(edge), index.after(edge));
    let mut best: Option<Across> = None;
    let step = 2.0 * index.cell() as f64;
    let pieces = (length / (2.0 * step)).ceil().max(1.0);
    for piece in 0..pieces as i64 {
        let (s0, s1) = (length * piece as f64 / pieces, length * (piece + 1) as f64 / pieces);
        let mut t0 = 0.0;
        while t0 < best.map_or(reach, |b| b.length) {
            let t1 = (t0 + step).min(reach);
            let (mut low, mut high) = ([i64::MAX; 2], [i64::MIN; 2]);
            for (s, t) in [(s0, t0), (s0, t1), (s1, t0), (s1, t1)] {
                for k in 0..2 {
                    let x = a[k] as f64 + u[k] * s + n[k] * t;
                    low[k] = low[k].min(x.floor() as i64 - 1);
                    high[k] = high[k].max(x.ceil() as i64 + 1);
                }
            }
            index.in_box(low, high, |f| {
                if f == edge || f == before || f == after || group[index.owner(f) as usize] != own {
                    return;
                }
                let [c, d] = index.edges[f as usize];
                let other = vector(c, d);
                let facing = dot(u, other);
                if facing >= 0.0 || facing * facing < FACING * FACING * dot(other, other) {
                    return;
                }
                let (to_c, to_d) = (vector(a, c), vector(a, d));
                let (sc, sd) = (dot(to_c, u), dot(to_d, u));
                let (tc, td) = (dot(to_c, n), dot(to_d, n));
                let (from, to) = (sd.max(0.0), sc.min(length));
                if to - from <= 1e-3 {
                    return;
                }
                let at_s = |s: f64| tc + (td - tc) * (s - sc) / (sd - sc);
                let ends = [(from, at_s(from)), (to, at_s(to))];
                // Between parallel edges the middle tells the place best.
                let (s, t) = if (ends[0].1 - ends[1].1).abs() < 0.01 {
                    ((from + to) / 2.0, ends[0].1.min(ends[1].1))
                } else if ends[0].1 < ends[1].1 {
                    ends[0]
                } else {
                    ends[1]
                };
                if ends[0].1.max(ends[1].1) <= 1e-3 || t < -1.0 || t > reach {
                    return;
                }
                let t = t.max(0.0);
                let at = |k: usize| a[k] as f64 + u[k] * s + n[k] * t / 2.0;
                let found = Across { length: t, at: [at(0), at(1)], other: f };
                if best.is_none_or(|b| found.before(&b)) {
                    best = Some(found);
                }
            });
            t0 = t1;
            if t1 >= reach {
                break;
            }
        }
    }
    best
}

/// True when the outline turns away from the measured side at the start of an edge (an inner corner of it).
fn inner_corner(index: &EdgeIndex, edge: u32, side: Side) -> Option<([f64; 2], [f64; 2])> {
    let [p, q] = index.edges[index.before(edge) as usize];
    let [r, s] = index.edges[edge as usize];
    let (into, out) = (vector(p, q), vector(r, s));
    let turn = cross(into, out) / (into[0].hypot(into[1]) * out[0].hypot(out[1]));
    let inner = if side == Side::Inside { turn < -TURN } else { turn > TURN };
    inner.then_some((into, out))
}

/// The nearest inner corner across from the corner at the start of an edge.
fn corner_pair(index: &EdgeIndex, group: &[u32], edge: u32, side: Side, reach: f64) -> Option<Across> {
    let corner = inner_corner(index, edge, side)?;
    let own = group[index.owner(edge) as usize];
    let p = index.edges[edge as usize][0];
    let reach_whole = reach.ceil() as i64;
    let sign = if side == Side::Inside { 1.0 } else { -1.0 };
    // Moving along either edge from the corner must not come nearer to the other corner, which must lie on the
    // measured side of both edges: then the connection is a neck.
    let sees = |(into, out): ([f64; 2], [f64; 2]), across: [f64; 2]| {
        dot(across, out) <= 0.0
            && dot(across, into) >= 0.0
            && sign * cross(into, across) > 0.0
            && sign * cross(out, across) > 0.0
    };
    let mut best: Option<Across> = None;
    index.near([p, p], reach_whole, |f| {
        let q = index.edges[f as usize][0];
        if q <= p || group[index.owner(f) as usize] != own {
            return;
        }
        let across = vector(p, q);
        let span = across[0].hypot(across[1]);
        if span > best.map_or(reach, |b| b.length) || !sees(corner, across) {
            return;
        }
        let Some(other) = inner_corner(index, f, side) else { return };
        if sees(other, [-across[0], -across[1]]) {
            let at = [(p[0] + q[0]) as f64 / 2.0, (p[1] + q[1]) as f64 / 2.0];
            let found = Across { length: span, at, other: f };
            if best.is_none_or(|b| found.before(&b)) {
                best = Some(found);
            }
        }
    });
    best
}

/// Places where the merged outline of one group touches itself in a point.
fn pinches(index: &EdgeIndex, group: &[u32], side: Side) -> Vec<Hit> {
    if side == Side::Outside {
        return Vec::new();
    }
    let mut starts: Vec<(u32, Spot)> = (0..index.edges.len() as u32)
        .map(|e| (group[index.owner(e) as usize], index.edges[e as usize][0]))
        .collect();
    starts.par_sort_unstable();
    let mut hits: Vec<Hit> = starts
        .windows(2)
        .filter(|w| w[0] == w[1])
        .map(|w| {
            let (g, p) = w[0];
            Hit {
                key: (g, g),
                value: 0.0,
                at: [p[0] as f64 / FINE as f64, p[1] as f64 / FINE as f64],
                edges: None,
            }
        })
        .collect();
    hits.sort_by(Hit::order);
    hits
}
