//! Die edge, keep-outs and seal ring: distances from things that are no metal.

use crate::boxes::Bounds;
use crate::cluster::Hit;
use crate::exact::{Spot, boxes_meet, distance, nearer};
use crate::index::EdgeIndex;
use crate::merge::overlap;
use crate::plane::{Part, Plane, rings};
use facedown_layout::{Drawing, Role, ShapeKind};
use rayon::prelude::*;

/// The outer edge of the die: the outer rings of the drawn outline, or the die rectangle without one.
pub(crate) fn outline(drawing: &Drawing) -> EdgeIndex {
    let mut outer: Vec<Vec<Spot>> = Vec::new();
    if let Some(layer) = drawing.layer(Role::Outline) {
        outer
            .extend(layer.shapes.iter().filter_map(|s| rings(&s.polygon).ok()).map(|mut r| r.swap_remove(0)));
    }
    if outer.is_empty() {
        let (w, h) = (drawing.width.0, drawing.height.0);
        outer.push(vec![[0, 0], [w, 0], [w, h], [0, h]]);
    }
    let owned: Vec<(u32, &[Spot])> = outer.iter().map(|r| (0, r.as_slice())).collect();
    let extent = owned.iter().flat_map(|(_, r)| r.iter()).flatten().map(|x| x.abs()).max().unwrap_or(1);
    EdgeIndex::new(&owned, extent / 64)
}

/// True when a box with a point of it known lies inside the outline and farther than `limit` nm from it.
fn clear_inside(outline: &EdgeIndex, around: &Bounds, point: Spot, limit: i64) -> bool {
    let mut clear = true;
    outline.in_box(&around.grown(limit + 1), |_| clear = false);
    clear && !outline.containing(point).is_empty()
}

/// Distance from a segment to the outline, when it is nearer than `limit` nm or crosses beyond the outline (0).
fn to_outline(outline: &EdgeIndex, a: Spot, b: Spot, limit: i64) -> Option<(f64, [f64; 2])> {
    let mut worst: Option<(f64, [f64; 2])> = None;
    let mut on_edge = false;
    outline.near([a, b], limit, |e| {
        let [c, d] = outline.edges[e as usize];
        if boxes_meet(a, b, c, d, limit) && nearer(a, b, c, d, limit) {
            let found = distance(a, b, c, d);
            if worst.is_none_or(|w| found.0 < w.0) {
                worst = Some(found);
            }
        }
        on_edge |= distance(a, a, c, d).0 == 0.0;
    });
    if worst.is_none() && !on_edge && outline.containing(a).is_empty() {
        worst = Some((0.0, [a[0] as f64, a[1] as f64]));
    }
    worst
}

/// Metal nearer than `limit` nm to the die edge, or beyond it; key: the net.
pub(crate) fn edge_clearance(plane: &Plane, outline: &EdgeIndex, limit: i64) -> Vec<Hit> {
    let index = &plane.index;
    (0..index.runs())
        .into_par_iter()
        .filter(|run| index.leads(*run))
        .flat_map_iter(|run| {
            let edges = index.edges_of(run);
            let around = edges.clone().fold(Bounds::NONE, |all, e| all.with(&index.edge_bounds(e)));
            let first = index.edges[edges.start as usize][0];
            let near = if clear_inside(outline, &around, first, limit) { 0..0 } else { edges };
            near.filter_map(|e| {
                let [a, b] = index.edges[e as usize];
                let (value, at) = to_outline(outline, a, b, limit)?;
                let net = plane.parts[index.owner(e) as usize].net.unwrap_or(u32::MAX);
                Some(Hit { key: (net, net), value, at, edges: Some([e, index.after(e), e, e]) })
            })
        })
        .collect()
}

/// Bumps whose centre or edge is too near the die edge: hits by shape, for each of the two limits.
pub(crate) fn seal_ring(
    plane: &Plane,
    outline: &EdgeIndex,
    centre: Option<i64>,
    edge: Option<i64>,
) -> [Vec<Hit>; 2] {
    let mut found = [Vec::new(), Vec::new()];
    for (shape, part) in plane.parts.iter().enumerate() {
        let key = (shape as u32, shape as u32);
        if let Some(limit) = centre {
            // Doubled coordinates keep the centre of the box whole.
            let c = part.centre2();
            let mut worst: Option<Hit> = None;
            for [p, q] in &outline.edges {
                let (p, q) = ([2 * p[0], 2 * p[1]], [2 * q[0], 2 * q[1]]);
                if nearer(c, c, p, q, 2 * limit) {
                    let (value, at) = distance(c, c, p, q);
                    let hit = Hit { key, value: value / 2.0, at: [at[0] / 2.0, at[1] / 2.0], edges: None };
                    worst = worst.into_iter().chain([hit]).min_by(|a, b| a.order(b));
                }
            }
            if worst.is_none() && outline.containing(part.centre()).is_empty() {
                worst =
                    Some(Hit { key, value: 0.0, at: [c[0] as f64 / 2.0, c[1] as f64 / 2.0], edges: None });
            }
            found[0].extend(worst.map(|w| Hit { at: [c[0] as f64 / 2.0, c[1] as f64 / 2.0], ..w }));
        }
        let away = |limit: i64| clear_inside(outline, &part.bounds(), part.rings[0][0], limit.max(0));
        if let Some(limit) = edge.filter(|limit| !away(*limit)) {
            let mut worst: Option<Hit> = None;
            for ring in &part.rings {
                for (i, a) in ring.iter().enumerate() {
                    if let Some((value, at)) = to_outline(outline, *a, ring[(i + 1) % ring.len()], limit) {
                        worst = worst
                            .into_iter()
                            .chain([Hit { key, value, at, edges: None }])
                            .min_by(|a, b| a.order(b));
                    }
                }
            }
            found[1].extend(worst);
        }
    }
    found
}

/// The keep-outs that bind an RDL layer.
pub(crate) fn keep_outs_on(drawing: &Drawing, extra: &[crate::rules::KeepOut], role: Role) -> Vec<Part> {
    let Role::Rdl(number) = role else { return Vec::new() };
    let everywhere =
        drawing.layer(Role::KeepOut).into_iter().flat_map(|l| l.shapes.iter().map(|s| &s.polygon));
    let here = drawing
        .layer(role)
        .into_iter()
        .flat_map(|l| l.shapes.iter().filter(|s| s.kind == ShapeKind::KeepOut).map(|s| &s.polygon));
    let given = extra.iter().filter(|k| k.layer.is_none_or(|l| l == number)).map(|k| &k.polygon);
    everywhere
        .chain(here)
        .chain(given)
        .filter_map(|p| rings(p).ok())
        .map(|rings| Part { kind: ShapeKind::KeepOut, net: None, rings })
        .collect()
}

/// Metal in keep-outs or nearer to them than `clearance` nm; key: the net and the number of the keep-out.
pub(crate) fn in_keep_outs(plane: &Plane, keep_outs: &[Part], clearance: i64) -> Vec<Hit> {
    let hits: Vec<Vec<Hit>> = keep_outs
        .par_iter()
        .enumerate()
        .map(|(number, keep_out)| {
            let key = |shape: u32| (plane.parts[shape as usize].net.unwrap_or(u32::MAX), number as u32);
            let mut hits = Vec::new();
            for shape in plane.meeting(keep_out) {
                if let Some(at) = overlap(&plane.parts[shape as usize].rings, &keep_out.rings) {
                    hits.push(Hit { key: key(shape), value: 0.0, at, edges: None });
                }
            }
            for ring in &keep_out.rings {
                for (i, a) in ring.iter().enumerate() {
                    let b = ring[(i + 1) % ring.len()];
                    plane.index.near([*a, b], clearance, |e| {
                        let [c, d] = plane.index.edges[e as usize];
                        if boxes_meet(*a, b, c, d, clearance) && nearer(*a, b, c, d, clearance) {
                            let (value, at) = distance(*a, b, c, d);
                            let edges = Some([e, plane.index.after(e), e, e]);
                            hits.push(Hit { key: key(plane.index.owner(e)), value, at, edges });
                        }
                    });
                }
            }
            hits
        })
        .collect();
    hits.into_iter().flatten().collect()
}
