//! Corners of the merged outline: none sharper than the limit, inside or outside.
//!
//! The direction of each side is taken over a given length along the outline, so that a jog of a few nanometres
//! left by merging neither hides a corner nor makes one. Flattened arcs have only obtuse corners.

use crate::cluster::Hit;
use crate::exact::Spot;
use crate::index::EdgeIndex;
use crate::merge::FINE;
use rayon::prelude::*;

/// Corners sharper than `limit_deg`, inside and outside the metal; the value of a hit is the angle in degrees, its key the group. `length` (nm)
/// is the length over which directions are taken, `flattening` (nm) how far a drawn edge may be off.
pub(crate) fn sharp(
    index: &EdgeIndex,
    group: &[u32],
    limit_deg: f64,
    length: f64,
    flattening: f64,
) -> [Vec<Hit>; 2] {
    let length = length.max(1.0) * FINE as f64;
    let off = (flattening.max(0.0) * FINE as f64).max(1.0);
    let corners: Vec<(bool, Hit)> = (0..index.rings())
        .into_par_iter()
        .flat_map_iter(|ring| {
            let edges = index.ring(ring);
            let points: Vec<Spot> = edges.clone().map(|e| index.edges[e as usize][0]).collect();
            let own = group[index.owner(edges.start) as usize];
            (0..points.len()).filter_map(move |i| {
                let corner = points[i];
                let back = reached(&points, i, points.len() - 1, length)?;
                let ahead = reached(&points, i, 1, length)?;
                let (u, v) = (offset(corner, back), offset(corner, ahead));
                let dot = u[0] * v[0] + u[1] * v[1];
                if dot < 0.0 && limit_deg <= 90.0 {
                    // Blunt, as nearly all are.
                    return None;
                }
                let cross = u[0] * v[1] - u[1] * v[0];
                let angle = cross.abs().atan2(dot).to_degrees();
                let doubt = (off / u[0].hypot(u[1]) + off / v[0].hypot(v[1])).to_degrees();
                let inside = cross < 0.0;
                (angle + doubt < limit_deg).then_some((
                    inside,
                    Hit {
                        key: (own, own),
                        value: angle,
                        at: [corner[0] as f64 / FINE as f64, corner[1] as f64 / FINE as f64],
                        edges: None,
                    },
                ))
            })
        })
        .collect();
    let of = |inside: bool| corners.iter().filter(|c| c.0 == inside).map(|c| c.1).collect();
    [of(true), of(false)]
}

fn offset(from: Spot, to: Spot) -> [f64; 2] {
    [(to[0] - from[0]) as f64, (to[1] - from[1]) as f64]
}

/// The first vertex, going on by `step`, that lies at least `length` from vertex `i`; the farthest one of the ring
/// when none does.
fn reached(points: &[Spot], i: usize, step: usize, length: f64) -> Option<Spot> {
    let mut far: Option<(f64, Spot)> = None;
    let mut at = i;
    for _ in 1..points.len() {
        at = (at + step) % points.len();
        let [x, y] = offset(points[i], points[at]);
        if x.abs().max(y.abs()) >= length {
            return Some(points[at]);
        }
        let distance = x.hypot(y);
        if distance >= length {
            return Some(points[at]);
        }
        if far.is_none_or(|f| distance > f.0) {
            far = Some((distance, points[at]));
        }
    }
    far.map(|f| f.1)
}
