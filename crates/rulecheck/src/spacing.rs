//! Space between different things on one layer, and shorts.
//!
//! Measured on the drawn edges, not on merged ones: a shared edge inside a net can never be nearest to another
//! net, and drawn vertices are exact. Whether a space is too small is decided in integers; boxes and floating
//! distances only put aside what is surely farther.

use crate::bound::Bound;
use crate::cluster::Hit;
use crate::exact::{boxes_meet, distance, nearer, surely_apart};
use crate::index::EdgeIndex;
use crate::plane::Plane;
use rayon::prelude::*;

/// Blocks handled by one task.
const CHUNK: usize = 64;
/// Blocks from which a first bound is taken.
const SAMPLES: usize = 32;

/// What was found on a layer.
pub(crate) struct Spacing {
    /// Pairs of edges nearer than the limit; touching things at 0.
    pub(crate) hits: Vec<Hit>,
    /// The nearest pair of all.
    pub(crate) least: Option<Hit>,
}

/// Distances between things of a layer. `identity` gives each shape's thing (its net, or its piece); `limit` in nm.
pub(crate) fn on_layer(plane: &Plane, identity: &[u32], limit: i64) -> Spacing {
    let mut spacing = Spacing { hits: Vec::new(), least: None };
    // Outlines that touch are found again below, edge by edge.
    for contact in plane.contacts.iter().filter(|c| !c.outlines || limit == 0) {
        let (a, b) = (identity[contact.shapes.0 as usize], identity[contact.shapes.1 as usize]);
        if a != b {
            let at = [contact.at[0] as f64, contact.at[1] as f64];
            spacing.hits.push(Hit { key: (a.min(b), a.max(b)), value: 0.0, at, edges: None });
        }
    }
    let Some(first) = identity.first() else { return spacing };
    let index = &plane.index;
    let mut search = Search { index, identity, limit, reach: i64::MAX / 4, bound: Bound::new() };
    let blocks: Vec<u32> = (0..index.blocks()).collect();
    if identity.iter().any(|i| i != first) {
        // Neighbours of a few bound the least space; in one pass over all no more than that need be looked at.
        for sample in 0..SAMPLES.min(blocks.len()) {
            let block = blocks[sample * blocks.len() / SAMPLES.min(blocks.len())];
            search.from(block, &mut Vec::new(), &mut None);
        }
        search.reach = (limit + limit / 4 + 1).max(search.bound.get().min(1e15).ceil() as i64 + 1);
    }
    let parts: Vec<(Vec<Hit>, Option<Hit>)> = blocks
        .par_chunks(CHUNK)
        .map(|chunk| {
            let (mut hits, mut least) = (Vec::new(), None);
            for block in chunk {
                search.from(*block, &mut hits, &mut least);
            }
            (nearest_of_each(hits), least)
        })
        .collect();
    let mut hits = Vec::new();
    let mut least: Option<Hit> = None;
    for (part, nearest) in parts {
        hits.extend(part);
        least = least.into_iter().chain(nearest).min_by(|a, b| a.order(b));
    }
    spacing.hits.extend(nearest_of_each(hits));
    let touching = spacing.hits.iter().min_by(|a, b| a.order(b)).copied();
    spacing.least = least.into_iter().chain(touching).min_by(|a, b| a.order(b));
    spacing
}

struct Search<'a> {
    index: &'a EdgeIndex,
    identity: &'a [u32],
    limit: i64,
    reach: i64,
    bound: Bound,
}

impl Search<'_> {
    /// Nothing farther than the least so far can matter, except what breaks the rule.
    fn radius(&self) -> i64 {
        let least = self.bound.get();
        // The largest integer stands for no bound yet.
        self.reach.min(self.limit.max((least.ceil() as i64).saturating_add(1)))
    }

    /// The square of the radius, with room for rounding.
    fn radius_squared(&self) -> f64 {
        let radius = self.radius() as f64 + 1.0;
        radius * radius
    }

    /// Measures from the edges of a block to those of the blocks after it.
    fn from(&self, block: u32, hits: &mut Vec<Hit>, least: &mut Option<Hit>) {
        let identity = |owner: u32| self.identity[owner as usize];
        self.index.pairs_from(
            block,
            || self.radius() + 1,
            |own, other| identity(own) != identity(other),
            |run, other| self.pairs(run, other, hits, least),
        );
    }

    /// Measures the edges of one run against those of another.
    fn pairs(&self, first: u32, second: u32, hits: &mut Vec<Hit>, least: &mut Option<Hit>) {
        let index = self.index;
        let identity = |edge: u32| self.identity[index.owner(edge) as usize];
        let around = index.run_bounds(second);
        for x in index.edges_of(first) {
            let own = index.edge_bounds(x);
            if own.gap_squared(&around) > self.radius_squared() {
                continue;
            }
            for y in index.edges_of(second) {
                if index.edge_bounds(y).gap_squared(&own) > self.radius_squared() {
                    continue;
                }
                let (i, j) = (x.min(y), x.max(y));
                let ([a, b], [c, d]) = (index.edges[i as usize], index.edges[j as usize]);
                let radius = self.radius();
                if surely_apart(a, b, c, d, radius as f64) {
                    continue;
                }
                let (value, at) = distance(a, b, c, d);
                if value > radius as f64 {
                    continue;
                }
                let edges = Some([i, index.after(i), j, index.after(j)]);
                let (p, q) = (identity(i), identity(j));
                let hit = Hit { key: (p.min(q), p.max(q)), value, at, edges };
                if least.is_none_or(|l| hit.order(&l).is_lt()) {
                    *least = Some(hit);
                    self.bound.lower(value);
                }
                if value <= self.limit as f64 + 1.0 && nearer(a, b, c, d, self.limit) {
                    hits.push(hit);
                }
            }
        }
    }
}

/// Of the hits of one edge with one other thing, the worst.
fn nearest_of_each(mut hits: Vec<Hit>) -> Vec<Hit> {
    let edge = |h: &Hit| h.edges.map(|e| e[0]);
    let other = |h: &Hit| h.edges.map(|e| e[2]);
    hits.sort_by(|a, b| {
        (edge(a), a.key).cmp(&(edge(b), b.key)).then(a.order(b)).then(other(a).cmp(&other(b)))
    });
    hits.dedup_by(|later, first| (edge(later), later.key) == (edge(first), first.key));
    hits
}

/// Things of `plane` nearer than `limit` (nm) to things of another layer; shapes that overlap come with 0. The
/// key is the shape of each.
pub(crate) fn between(plane: &Plane, other: &Plane, limit: i64) -> Vec<Hit> {
    let shapes: Vec<Vec<Hit>> = plane
        .parts
        .par_iter()
        .enumerate()
        .map(|(shape, part)| {
            let mut hits: Vec<Hit> = Vec::new();
            let mut add = |hit: Hit| match hits.iter_mut().find(|h| h.key == hit.key) {
                Some(h) if hit.order(h).is_lt() => *h = hit,
                Some(_) => {}
                None => hits.push(hit),
            };
            for met in other.meeting(part) {
                let at = part.centre();
                add(Hit {
                    key: (shape as u32, met),
                    value: 0.0,
                    at: [at[0] as f64, at[1] as f64],
                    edges: None,
                });
            }
            for ring in &part.rings {
                for (i, a) in ring.iter().enumerate() {
                    let b = ring[(i + 1) % ring.len()];
                    other.index.near([*a, b], limit, |e| {
                        let [c, d] = other.index.edges[e as usize];
                        if boxes_meet(*a, b, c, d, limit) && nearer(*a, b, c, d, limit) {
                            let (value, at) = distance(*a, b, c, d);
                            add(Hit { key: (shape as u32, other.index.owner(e)), value, at, edges: None });
                        }
                    });
                }
            }
            hits.sort_by_key(|h| h.key);
            hits
        })
        .collect();
    shapes.into_iter().flatten().collect()
}
