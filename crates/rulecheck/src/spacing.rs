//! Space between different things on one layer, and shorts.
//!
//! Measured on the drawn edges, not on merged ones: a shared edge inside a net can never be nearest to another
//! net, and drawn vertices are exact. Whether a space is too small is decided in integers.

use crate::cluster::Hit;
use crate::exact::{boxes_meet, distance, nearer};
use crate::plane::Plane;
use rayon::prelude::*;

/// Edges handled by one task; fixed, so that the answer does not depend on the number of threads.
const CHUNK: usize = 4096;

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
    let mut reach = limit + limit / 4 + 1;
    loop {
        let (hits, least) = within(plane, identity, limit, reach);
        let found = least.is_some();
        if found || reach > 2 * plane.index.extent() {
            spacing.hits.extend(hits);
            let touching = spacing.hits.iter().min_by(|a, b| a.order(b)).copied();
            spacing.least = least.into_iter().chain(touching).min_by(|a, b| a.order(b));
            return spacing;
        }
        if identity.iter().all(|i| *i == identity[0]) {
            return spacing;
        }
        reach *= 2;
    }
}

fn within(plane: &Plane, identity: &[u32], limit: i64, reach: i64) -> (Vec<Hit>, Option<Hit>) {
    let index = &plane.index;
    let numbers: Vec<u32> = (0..index.edges.len() as u32).collect();
    let parts: Vec<(Vec<Hit>, Option<Hit>)> = numbers
        .par_chunks(CHUNK)
        .map(|chunk| {
            let mut hits = Vec::new();
            let mut least: Option<Hit> = None;
            let mut own_hits: Vec<Hit> = Vec::new();
            for i in chunk {
                let [a, b] = index.edges[*i as usize];
                let own = identity[index.owner(*i) as usize];
                // Nothing farther than the least so far can matter, except what breaks the rule.
                let mut radius = least.map_or(reach, |l| reach.min(limit.max(l.value.ceil() as i64 + 1)));
                own_hits.clear();
                index.near([a, b], radius, |j| {
                    if j <= *i {
                        return;
                    }
                    let other = identity[index.owner(j) as usize];
                    let [c, d] = index.edges[j as usize];
                    if other == own || !boxes_meet(a, b, c, d, radius) {
                        return;
                    }
                    let (value, at) = distance(a, b, c, d);
                    if value > radius as f64 {
                        return;
                    }
                    let edges = Some([*i, index.after(*i), j, index.after(j)]);
                    let hit = Hit { key: (own.min(other), own.max(other)), value, at, edges };
                    if least.is_none_or(|l| hit.order(&l).is_lt()) {
                        least = Some(hit);
                        radius = reach.min(limit.max(value.ceil() as i64 + 1));
                    }
                    if value <= limit as f64 + 1.0 && nearer(a, b, c, d, limit) {
                        match own_hits.iter_mut().find(|h| h.key == hit.key) {
                            Some(h) if hit.order(h).is_lt() => *h = hit,
                            Some(_) => {}
                            None => own_hits.push(hit),
                        }
                    }
                });
                hits.append(&mut own_hits);
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
