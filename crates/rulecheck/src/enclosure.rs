//! One layer's shapes enclosed by the merged shapes of another.

use crate::cluster::Hit;
use crate::exact::{Spot, boxes_meet, distance, touch};
use crate::merge::FINE;
use crate::plane::Plane;
use rayon::prelude::*;

/// For every shape of `inner`: how far the merged shapes of `outer` that hold it reach beyond it, where that is
/// less than `needed` nm (0 when it is not held, or pokes out). The key is the shape twice. Exact to the
/// merging grid (1/16 nm).
pub(crate) fn shortfalls(inner: &Plane, outer: Option<&Plane>, needed: f64) -> Vec<Hit> {
    let reach = (needed.max(0.0) * FINE as f64).ceil() as i64;
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
            let mut worst: Option<Hit> = None;
            for ring in &part.rings {
                for (i, p) in ring.iter().enumerate() {
                    let (a, b) = (fine(p), fine(&ring[(i + 1) % ring.len()]));
                    index.near([a, b], reach, |e| {
                        let [c, d] = index.edges[e as usize];
                        if !boxes_meet(a, b, c, d, reach) || !holders.contains(&index.owner(e)) {
                            return;
                        }
                        let (value, at) = if touch(a, b, c, d) {
                            (0.0, [a[0] as f64, a[1] as f64])
                        } else {
                            distance(a, b, c, d)
                        };
                        let hit = Hit {
                            key,
                            value: value / FINE as f64,
                            at: [at[0] / FINE as f64, at[1] / FINE as f64],
                            edges: None,
                        };
                        if hit.value < needed && worst.is_none_or(|w| hit.order(&w).is_lt()) {
                            worst = Some(hit);
                        }
                    });
                }
            }
            if worst.is_none() && needed > 0.0 {
                // Nothing of the outline is near; a hole of the metal inside the shape would still leave it bare.
                let hole = outer.merged_hole_inside(part);
                return hole.map(|at| Hit { key, value: 0.0, at: [at[0] as f64, at[1] as f64], edges: None });
            }
            worst
        })
        .collect()
}

impl Plane {
    /// A vertex of the merged outline that lies inside a shape.
    fn merged_hole_inside(&self, part: &crate::plane::Part) -> Option<Spot> {
        let (low, high) = part.bounds();
        let mut found: Option<Spot> = None;
        let scaled = |p: Spot| [p[0] * FINE, p[1] * FINE];
        self.merged.in_box(scaled(low), scaled(high), |e| {
            let p = self.merged.edges[e as usize][0];
            let p = [p[0].div_euclid(FINE), p[1].div_euclid(FINE)];
            if part.contains(p) && found.is_none_or(|f| p < f) {
                found = Some(p);
            }
        });
        found
    }
}
