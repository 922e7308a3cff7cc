//! One layer's shapes enclosed by the merged shapes of another.

use crate::boxes::Bounds;
use crate::cluster::Hit;
use crate::exact::{Spot, distance, surely_apart, touch};
use crate::index::EdgeIndex;
use crate::merge::FINE;
use crate::plane::Plane;
use rayon::prelude::*;

/// For every shape of `inner`: how far the merged shapes of `outer` that hold it reach beyond it, where that is
/// less than `needed` nm (0 when it is not held, or pokes out). The key is the shape twice. Exact to the
/// merging grid (1/16 nm).
pub(crate) fn shortfalls(inner: &Plane, outer: Option<&Plane>, needed: f64) -> Vec<Hit> {
    inner
        .parts
        .par_iter()
        .enumerate()
        .filter_map(|(shape, part)| {
            let first = part.rings[0][0];
            let fine = |p: &Spot| [p[0] * FINE, p[1] * FINE];
            let key = (shape as u32, shape as u32);
            let bare = Hit { key, value: 0.0, at: [first[0] as f64, first[1] as f64], edges: None };
            let Some(outer) = outer else { return Some(bare) };
            let index = &outer.merged;
            // The first vertex may lie exactly on the outline of what holds the shape, which counts as held; another
            // vertex then tells.
            let holders = part.rings[0].iter().map(|p| index.containing(fine(p))).find(|h| !h.is_empty());
            let Some(holders) = holders else { return Some(bare) };
            let mut nearest = Nearest { index, holders: &holders, key, needed, worst: None };
            for ring in &part.rings {
                let points: Vec<Spot> = ring.iter().map(fine).collect();
                nearest.outline(&points);
            }
            let worst = nearest.worst;
            if worst.is_none() && needed > 0.0 {
                // Nothing of the outline is near; a hole of the metal inside the shape would still leave it bare.
                let hole = outer.merged_hole_inside(part);
                return hole.map(|at| Hit { key, value: 0.0, at: [at[0] as f64, at[1] as f64], edges: None });
            }
            worst
        })
        .collect()
}

/// Edges of the inner outline for which the outer ones are looked up together, and those of them that are held against a run
/// together.
const TOGETHER: [usize; 2] = [32, 8];

/// The search for the place where an inner outline comes nearest to the outlines that hold it.
struct Nearest<'a> {
    index: &'a EdgeIndex,
    holders: &'a [u32],
    key: (u32, u32),
    needed: f64,
    worst: Option<Hit>,
}

impl Nearest<'_> {
    /// Nothing farther than this matters, fine grid.
    fn radius(&self) -> f64 {
        self.worst.map_or(self.needed, |w| self.needed.min(w.value)).max(0.0) * FINE as f64 + 1.0
    }

    fn outline(&mut self, points: &[Spot]) {
        let edges: Vec<[Spot; 2]> =
            (0..points.len()).map(|i| [points[i], points[(i + 1) % points.len()]]).collect();
        let (mut runs, mut near) = (Vec::new(), Vec::new());
        for many in edges.chunks(TOGETHER[0]) {
            let (around, radius) = (Bounds::around(many.as_flattened()), self.radius());
            runs.clear();
            self.index.visit_runs(
                |b| b.gap_squared(&around) <= radius * radius,
                |run| {
                    if self.holders.contains(&self.index.run_owner(run)) {
                        runs.push(run);
                    }
                },
            );
            for few in many.chunks(TOGETHER[1]) {
                let (around, radius) = (Bounds::around(few.as_flattened()), self.radius());
                near.clear();
                near.extend(
                    runs.iter()
                        .copied()
                        .filter(|r| self.index.run_bounds(*r).gap_squared(&around) <= radius * radius),
                );
                for edge in few {
                    self.edge(*edge, &near);
                }
            }
        }
    }

    fn edge(&mut self, [a, b]: [Spot; 2], runs: &[u32]) {
        let own = Bounds::around(&[a, b]);
        for run in runs {
            let radius = self.radius();
            if self.index.run_bounds(*run).gap_squared(&own) > radius * radius {
                continue;
            }
            for e in self.index.edges_of(*run) {
                let radius = self.radius();
                let [c, d] = self.index.edges[e as usize];
                if self.index.edge_bounds(e).gap_squared(&own) > radius * radius
                    || surely_apart(a, b, c, d, radius)
                {
                    continue;
                }
                let (value, at) =
                    if touch(a, b, c, d) { (0.0, [a[0] as f64, a[1] as f64]) } else { distance(a, b, c, d) };
                let hit = Hit {
                    key: self.key,
                    value: value / FINE as f64,
                    at: [at[0] / FINE as f64, at[1] / FINE as f64],
                    edges: None,
                };
                if hit.value < self.needed && self.worst.is_none_or(|w| hit.order(&w).is_lt()) {
                    self.worst = Some(hit);
                }
            }
        }
    }
}

impl Plane {
    /// A vertex of the merged outline that lies inside a shape.
    fn merged_hole_inside(&self, part: &crate::plane::Part) -> Option<Spot> {
        let Bounds { low, high } = part.bounds();
        let mut found: Option<Spot> = None;
        let scaled = |p: Spot| [p[0] * FINE, p[1] * FINE];
        self.merged.in_box(&Bounds { low: scaled(low), high: scaled(high) }, |e| {
            let p = self.merged.edges[e as usize][0];
            let p = [p[0].div_euclid(FINE), p[1].div_euclid(FINE)];
            if part.contains(p) && found.is_none_or(|f| p < f) {
                found = Some(p);
            }
        });
        found
    }
}
