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
//! Edges are taken in runs: one look into the index finds the runs that the rays of a whole run may reach.
//!
//! The same measure outward gives notches.

use crate::bound::Bound;
use crate::boxes::Bounds;
use crate::cluster::Hit;
use crate::exact::Spot;
use crate::index::EdgeIndex;
use crate::merge::FINE;
use crate::strip::{Frame, Side, Strip, cross, dot, vector};
use rayon::prelude::*;

/// Runs handled by one task.
const CHUNK: usize = 512;
/// Runs from which a first bound is taken.
const SAMPLES: usize = 32;
/// Cosine of 75 degrees: edges must face each other at least that much.
const FACING: f64 = 0.258_819;
/// Sine of the turn from which a corner counts in corner pairs.
const TURN: f64 = 0.015;
/// Edges shorter than this (fine grid) are what rounding leaves and send no ray.
const SHORTEST: f64 = FINE as f64;
/// Edges shorter than this (fine grid), 30 nm, are turned by rounding to whole nanometres by up to 1.4 nm over their length: a
/// ray square to one would measure a chord across a round end. They take the direction of the outline around them.
const TRUSTED: f64 = 30.0 * FINE as f64;
/// Edges that are looked at on both sides for it, and the cosine of the turn (30 degrees) that is a corner and ends the look.
const AROUND: usize = 32;
const STRAIGHT: f64 = 0.866_025;

/// A measure across the metal or the gap, on the fine grid: its length, its middle, the edge on the other side.
#[derive(Clone, Copy)]
struct Across {
    length: f64,
    at: [f64; 2],
    other: u32,
}

impl Across {
    fn before(&self, other: &Across) -> bool {
        let rank = |a: &Across| (a.length, a.at[0], a.at[1], a.other);
        rank(self) < rank(other)
    }
}

/// What is measured: merged outlines, and which of their owners belong together.
pub(crate) struct Outlines<'a> {
    /// Edges on the fine grid; owners are pieces.
    pub(crate) index: &'a EdgeIndex,
    /// The group of each piece; keys of the hits are the groups.
    pub(crate) group: &'a [u32],
    /// Pieces known to touch themselves nowhere.
    pub(crate) plain: &'a [bool],
}

/// All places where the measure falls below `limit` (nm), and the least of all, which is searched for beyond the
/// limit when asked.
pub(crate) fn measure(
    outlines: &Outlines<'_>,
    side: Side,
    limit: f64,
    search_beyond: bool,
) -> (Vec<Hit>, Option<Hit>) {
    let index = outlines.index;
    let inner: Vec<bool> = (0..index.edges.len() as u32)
        .into_par_iter()
        .map(|e| inner_corner(index, e, side).is_some())
        .collect();
    let inner_runs =
        (0..index.runs()).map(|r| index.leads(r) && index.edges_of(r).any(|e| inner[e as usize])).collect();
    let search = Search { index, group: outlines.group, side, inner, inner_runs };
    let pinches = pinches(outlines, side);
    let runs: Vec<u32> = (0..index.runs()).collect();
    let mut reach = if search_beyond { limit * 1.25 } else { limit };
    if search_beyond && !runs.is_empty() {
        // A few places bound the least, so that the search over all starts near it.
        let samples: Vec<u32> = (0..SAMPLES).map(|n| runs[n * runs.len() / SAMPLES]).collect();
        let (_, least) = search.within(&samples, 0.0, 2.0 * index.extent() as f64);
        reach = least.map_or(reach, |l| reach.max(l.value + 1.0));
    }
    loop {
        let (mut hits, mut least) = search.within(&runs, limit, reach * FINE as f64);
        hits.extend(&pinches);
        least = pinches.first().copied().into_iter().chain(least).min_by(|a, b| a.order(b));
        if least.is_some() || !search_beyond || reach * FINE as f64 > 2.0 * index.extent() as f64 {
            return (hits, least);
        }
        reach *= 4.0;
    }
}

struct Search<'a> {
    index: &'a EdgeIndex,
    group: &'a [u32],
    side: Side,
    /// For each edge, whether an inner corner is at its start; and whether a run has one.
    inner: Vec<bool>,
    inner_runs: Vec<bool>,
}

impl Search<'_> {
    fn within(&self, runs: &[u32], limit: f64, reach: f64) -> (Vec<Hit>, Option<Hit>) {
        let bound = Bound::new();
        let fine = FINE as f64;
        let parts: Vec<(Vec<Hit>, Option<Hit>)> = runs
            .par_chunks(CHUNK)
            .map(|chunk| {
                let mut hits = Vec::new();
                let mut least: Option<Hit> = None;
                let mut across = Vec::new();
                // Nothing wider than the least so far can matter, except what breaks the rule.
                let radius = || reach.min(limit.max(bound.get() + 1.0) * fine);
                for run in chunk.iter().filter(|r| self.index.leads(**r)) {
                    let own = self.group[self.index.run_owner(*run) as usize];
                    self.opposite(*run, own, radius(), &mut across);
                    for edge in self.index.edges_of(*run) {
                        let ray = self.ray(edge, &across, radius());
                        let pair = if self.inner[edge as usize] {
                            self.corner_pair(edge, own, radius())
                        } else {
                            None
                        };
                        for Across { length: value, at, other } in [ray, pair].into_iter().flatten() {
                            let hit = Hit {
                                key: (own, own),
                                value: value / fine,
                                at: [at[0] / fine, at[1] / fine],
                                edges: Some([edge, self.index.after(edge), other, self.index.after(other)]),
                            };
                            if hit.value < limit {
                                hits.push(hit);
                            }
                            if least.is_none_or(|l| hit.order(&l).is_lt()) {
                                least = Some(hit);
                                bound.lower(hit.value);
                            }
                        }
                    }
                }
                (hits, least)
            })
            .collect();
        let mut hits = Vec::new();
        let mut least: Option<Hit> = None;
        for (part, nearest) in parts {
            hits.extend(part);
            least = least.into_iter().chain(nearest).min_by(|a, b| a.order(b));
        }
        (hits, least)
    }

    /// The edges of one group in the runs that rays from a run's edges may reach.
    fn opposite(&self, run: u32, own: u32, reach: f64, found: &mut Vec<u32>) {
        found.clear();
        let index = self.index;
        let edges = index.edges_of(run);
        let (from, to) = (index.edges[edges.start as usize][0], index.edges[edges.end as usize - 1][1]);
        let Some(frame) = Frame::new(from, to, self.side) else { return };
        // How far rays fan out beside the run, and where its edges lie in its frame.
        let mut strip = Strip { s: [0.0, 0.0], t: [0.0, 0.0] };
        let mut fan: f64 = 0.0;
        for edge in edges {
            let b = index.edges[edge as usize][1];
            strip.take(frame.of(b));
            let along = self.course(edge);
            fan = fan.max((cross(frame.u, along) / along[0].hypot(along[1])).abs());
        }
        strip.s = [strip.s[0] - fan * reach - 2.0, strip.s[1] + fan * reach + 2.0];
        strip.t = [strip.t[0] - 2.0, strip.t[1] + reach + 2.0];
        let around = frame.bounds(&strip);
        index.visit_runs(
            |b| b.meets(&around) && frame.meets(&strip, b),
            |other| {
                if self.group[index.run_owner(other) as usize] == own {
                    found.push(other);
                }
            },
        );
    }

    /// The shortest ray from an edge to the edges of the given runs, with its middle.
    fn ray(&self, edge: u32, across: &[u32], reach: f64) -> Option<Across> {
        let index = self.index;
        let [a, b] = index.edges[edge as usize];
        let own = vector(a, b);
        if own[0].hypot(own[1]) < SHORTEST {
            return None;
        }
        let along = self.course(edge);
        let ahead = [a[0] + along[0] as i64, a[1] + along[1] as i64];
        let frame = Frame::new(a, ahead, self.side)?;
        let (u, n) = (frame.u, frame.n);
        let length = dot(own, u);
        let (before, after) = (index.before(edge), index.after(edge));
        let mut best: Option<Across> = None;
        for run in across {
            let strip = Strip { s: [-1.0, length + 1.0], t: [-2.0, best.map_or(reach, |b| b.length) + 1.0] };
            if !frame.meets(&strip, &index.run_bounds(*run)) {
                continue;
            }
            for f in index.edges_of(*run) {
                if f == edge || f == before || f == after {
                    continue;
                }
                let [c, d] = index.edges[f as usize];
                let other = vector(c, d);
                let facing = dot(u, other);
                if facing >= 0.0 || facing * facing < FACING * FACING * dot(other, other) {
                    continue;
                }
                let (to_c, to_d) = (vector(a, c), vector(a, d));
                let (sc, sd) = (dot(to_c, u), dot(to_d, u));
                let (from, to) = (sd.max(0.0), sc.min(length));
                if to - from <= 1e-3 {
                    continue;
                }
                let (tc, td) = (dot(to_c, n), dot(to_d, n));
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
                    continue;
                }
                let t = t.max(0.0);
                let at = |k: usize| a[k] as f64 + u[k] * s + n[k] * t / 2.0;
                let found = Across { length: t, at: [at(0), at(1)], other: f };
                if best.is_none_or(|b| found.before(&b)) {
                    best = Some(found);
                }
            }
        }
        best
    }

    /// The direction of the outline at an edge, whole on the fine grid.
    fn course(&self, edge: u32) -> [f64; 2] {
        let index = self.index;
        let along = |e: u32| vector(index.edges[e as usize][0], index.edges[e as usize][1]);
        let length = |v: [f64; 2]| v[0].hypot(v[1]);
        let own = along(edge);
        if length(own) >= TRUSTED {
            return own;
        }
        let bent = |one: u32, other: u32| {
            let (one, other) = (along(one), along(other));
            dot(one, other) < STRAIGHT * length(one) * length(other)
        };
        // Edges of a nanometre turn anyhow; of the others a corner ends the outline's course.
        let speck = |e: u32| length(along(e)) < 4.0 * FINE as f64;
        let ([mut first, mut last], mut ends) = ([edge; 2], [false; 2]);
        for step in 0..2 * AROUND {
            let course = vector(index.edges[first as usize][0], index.edges[last as usize][1]);
            if length(course) >= TRUSTED {
                return course;
            }
            if ends[step % 2] {
                continue;
            }
            let (from, to) =
                if step % 2 == 0 { (first, index.before(first)) } else { (last, index.after(last)) };
            if to == first || to == last || bent(from, to) && !speck(from) && !speck(to) {
                ends[step % 2] = true;
            } else if step % 2 == 0 {
                first = to;
            } else {
                last = to;
            }
        }
        own
    }

    /// The nearest inner corner across from the inner corner at the start of an edge.
    fn corner_pair(&self, edge: u32, own: u32, reach: f64) -> Option<Across> {
        let index = self.index;
        let corner = inner_corner(index, edge, self.side)?;
        let p = index.edges[edge as usize][0];
        let sign = if self.side == Side::Inside { 1.0 } else { -1.0 };
        // Moving along either edge from the corner must not come nearer to the other corner, which must lie on the
        // measured side of both edges: then the connection is a neck.
        let sees = |(into, out): ([f64; 2], [f64; 2]), across: [f64; 2]| {
            dot(across, out) <= 0.0
                && dot(across, into) >= 0.0
                && sign * cross(into, across) > 0.0
                && sign * cross(out, across) > 0.0
        };
        let best = std::cell::Cell::new(None::<Across>);
        let around = Bounds { low: p, high: p };
        index.visit_runs(
            |b| {
                let radius = best.get().map_or(reach, |b| b.length) + 1.0;
                b.gap_squared(&around) <= radius * radius
            },
            |run| {
                if !self.inner_runs[run as usize] || self.group[index.run_owner(run) as usize] != own {
                    return;
                }
                for f in index.edges_of(run).filter(|f| self.inner[*f as usize]) {
                    let q = index.edges[f as usize][0];
                    if q <= p {
                        continue;
                    }
                    let across = vector(p, q);
                    let span = across[0].hypot(across[1]);
                    if span > best.get().map_or(reach, |b| b.length) || !sees(corner, across) {
                        continue;
                    }
                    let Some(other) = inner_corner(index, f, self.side) else { continue };
                    if sees(other, [-across[0], -across[1]]) {
                        let at = [(p[0] + q[0]) as f64 / 2.0, (p[1] + q[1]) as f64 / 2.0];
                        let found = Across { length: span, at, other: f };
                        if best.get().is_none_or(|b| found.before(&b)) {
                            best.set(Some(found));
                        }
                    }
                }
            },
        );
        best.get()
    }
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

/// Places where the merged outline of one group touches itself in a point.
fn pinches(outlines: &Outlines<'_>, side: Side) -> Vec<Hit> {
    let Outlines { index, group, plain } = *outlines;
    if side == Side::Outside {
        return Vec::new();
    }
    let mut starts: Vec<(u32, Spot)> = (0..index.edges.len() as u32)
        .filter(|e| !plain[index.owner(*e) as usize])
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
