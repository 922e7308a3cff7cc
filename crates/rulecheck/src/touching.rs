//! What touches what on one layer: shapes that touch, overlap or hold each other, and outlines that meet themselves.

use crate::boxes::Bounds;
use crate::exact::{Spot, cross, distance, touch};
use crate::index::EdgeIndex;
use crate::plane::Part;
use rayon::prelude::*;

/// Blocks handled by one task; fixed, so that the answer does not depend on the number of threads.
const CHUNK: usize = 64;

/// Two shapes of one layer that touch or overlap, with a place where they do.
pub(crate) struct Contact {
    pub(crate) shapes: (u32, u32),
    pub(crate) at: Spot,
    /// True when their outlines touch, false when one lies wholly inside the other.
    pub(crate) outlines: bool,
}

/// Everything that touches on a layer.
pub(crate) struct Touching {
    /// Pairs of shapes, sorted, each once.
    pub(crate) contacts: Vec<Contact>,
    /// Shapes whose own edges cross properly, with a place; each shape once.
    pub(crate) crossings: Vec<(u32, Spot)>,
    /// For each shape: it has one ring, and that nowhere touches itself.
    pub(crate) plain: Vec<bool>,
}

#[derive(Default)]
struct Found {
    contacts: Vec<((u32, u32), Spot)>,
    crossings: Vec<(u32, Spot)>,
    uneven: Vec<u32>,
}

/// All contacts of a layer; the edges' owners are the numbers of the shapes.
pub(crate) fn touching(parts: &[Part], index: &EdgeIndex) -> Touching {
    let blocks: Vec<u32> = (0..index.blocks()).collect();
    let found: Vec<Found> = blocks
        .par_chunks(CHUNK)
        .map(|chunk| {
            let mut found = Found::default();
            // A run alone goes one way and cannot meet itself.
            for block in chunk {
                index.pairs_from(*block, || 0, |_, _| true, |run, other| found.pair(index, run, other));
            }
            found
        })
        .collect();
    let inside: Vec<Contact> = parts
        .par_iter()
        .enumerate()
        .flat_map_iter(|(i, part)| {
            let (i, at) = (i as u32, part.rings[0][0]);
            let held = move |j: u32| Contact { shapes: (i.min(j), i.max(j)), at, outlines: false };
            index.containing(at).into_iter().filter(move |j| *j != i).map(held)
        })
        .collect();
    let mut plain: Vec<bool> = parts.iter().map(|p| p.rings.len() == 1).collect();
    let (mut contacts, mut crossings) = (inside, Vec::new());
    for part in found {
        contacts.extend(part.contacts.into_iter().map(|(shapes, at)| Contact { shapes, at, outlines: true }));
        crossings.extend(part.crossings);
        part.uneven.into_iter().for_each(|shape| plain[shape as usize] = false);
    }
    contacts.par_sort_unstable_by_key(|c| (c.shapes, !c.outlines, c.at));
    contacts.dedup_by_key(|c| c.shapes);
    crossings.sort_unstable();
    crossings.dedup_by_key(|f| f.0);
    Touching { contacts, crossings, plain }
}

impl Found {
    fn pair(&mut self, index: &EdgeIndex, first: u32, second: u32) {
        let (own, other) = (index.run_owner(first), index.run_owner(second));
        if own == other {
            self.within_shape(index, first, second, own);
        } else if own < other {
            self.between_shapes(index, first, second, (own, other));
        } else {
            self.between_shapes(index, second, first, (other, own));
        }
    }

    fn between_shapes(&mut self, index: &EdgeIndex, first: u32, second: u32, shapes: (u32, u32)) {
        if self.contacts.iter().rev().take(4).any(|c| c.0 == shapes) {
            return;
        }
        let around = index.run_bounds(second);
        for i in index.edges_of(first).filter(|i| index.edge_bounds(*i).meets(&around)) {
            let [a, b] = index.edges[i as usize];
            for j in index.edges_of(second) {
                let [c, d] = index.edges[j as usize];
                if touch(a, b, c, d) {
                    let (_, at) = distance(a, b, c, d);
                    self.contacts.push((shapes, [at[0].round() as i64, at[1].round() as i64]));
                    return;
                }
            }
        }
    }

    fn within_shape(&mut self, index: &EdgeIndex, first: u32, second: u32, shape: u32) {
        let around = index.run_bounds(second);
        for i in index.edges_of(first) {
            let own: Bounds = index.edge_bounds(i);
            if !own.meets(&around) {
                continue;
            }
            for j in index.edges_of(second).filter(|j| *j != i && index.edge_bounds(*j).meets(&own)) {
                let ([a, b], [c, d]) = (index.edges[i.min(j) as usize], index.edges[i.max(j) as usize]);
                if index.after(i) == j || index.after(j) == i {
                    // Neighbours share a vertex; only one that turns straight back meets the other elsewhere.
                    let (o, p, q) = if b == c { (b, a, d) } else { (a, b, c) };
                    let back = (p[0] - o[0]) as f64 * (q[0] - o[0]) as f64
                        + (p[1] - o[1]) as f64 * (q[1] - o[1]) as f64;
                    if back > 0.0 && cross(o, p, q) == 0 {
                        self.uneven.push(shape);
                    }
                } else if touch(a, b, c, d) {
                    self.uneven.push(shape);
                    let apart = |p, q, r, s| cross(p, q, r).signum() * cross(p, q, s).signum() < 0;
                    if apart(a, b, c, d) && apart(c, d, a, b) {
                        self.crossings.push((shape, a));
                    }
                }
            }
        }
    }
}
