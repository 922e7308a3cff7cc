//! Openings in wide metal: planes that become meshes, and slots in metal wider than the process allows.
//!
//! Openings are squares on a lattice whose bars have a given width. A square is kept only where it stays a given
//! distance inside the metal, so that
//! - metal stays one piece where it was one: squares that touch neither each other nor an edge cut nothing apart,
//! - no metal becomes narrower than the bars or that distance,
//! - every new corner is a right angle.
//!
//! What is left out near edges and pads stays solid. Openings depend on the drawing alone.

mod cut;
mod lattice;
mod mesh;
mod slots;

pub use mesh::mesh;
pub use slots::slots;

use crate::grow::region::{Ring, Spot, bounds, outer_ring};
use facedown_layout::{Polygon, ShapeKind};

/// Metal that openings stay out of because something stands on it.
fn is_pad(kind: ShapeKind) -> bool {
    matches!(kind, ShapeKind::Landing | ShapeKind::Capture | ShapeKind::Via)
}

/// All rings of a drawn polygon, the metal on their left.
fn rings(polygon: &Polygon) -> Vec<Ring> {
    let hole = |points: &Vec<facedown_layout::Point>| {
        let mut ring = outer_ring(points);
        ring.reverse();
        ring
    };
    std::iter::once(outer_ring(&polygon.outer)).chain(polygon.holes.iter().map(hole)).collect()
}

/// True when a ring comes into a box.
fn meets(ring: &[Spot], [low, high]: [Spot; 2]) -> bool {
    let [l, h] = bounds(ring);
    (0..2).all(|k| l[k] <= high[k] && h[k] >= low[k])
}
