//! Planes as meshes: square openings on one lattice for the whole die, so that the bars of neighbouring pieces run in
//! line.
//!
//! Openings keep the width of a bar from the plane's outline and from the landings, capture pads and vias of the net;
//! its traces stay whole under the mesh.

use super::lattice::Lattice;
use super::{is_pad, meets, rings};
use crate::grow::region::{FINE, Ring, bounds};
use crate::problem::{Mesh, Problem};
use crate::route::plane::P2;
use facedown_layout::{Drawing, Polygon, Role, ShapeKind};
use rayon::prelude::*;

/// Least distance of an opening from a trace of its own net, nm: enough that rounding does not let them overlap.
const FROM_TRACE: f64 = 2.0;

/// Cuts the openings of the nets that ask for a mesh into their planes.
pub fn mesh(problem: &Problem, drawing: &mut Drawing) {
    for net in &problem.nets {
        let Some(mesh) = net.plane.and_then(|p| p.mesh) else { continue };
        // A bar stands over the middle of the die.
        let half = |length: facedown_quantity::Nm| ((length.0 + mesh.line.0) / 2) as f64;
        let anchor = [half(problem.width), half(problem.height)];
        for layer in drawing.layers.iter_mut().filter(|l| matches!(l.role, Role::Rdl(_))) {
            let mine = |s: &&facedown_layout::Shape| s.net.as_ref() == Some(&net.name);
            let mut metal = OwnMetal::default();
            for shape in layer.shapes.iter().filter(mine).filter(|s| s.kind != ShapeKind::Plane) {
                let list = if is_pad(shape.kind) { &mut metal.pads } else { &mut metal.traces };
                list.extend(rings(&shape.polygon));
            }
            let planes = layer
                .shapes
                .par_iter_mut()
                .filter(|s| s.kind == ShapeKind::Plane && s.net.as_ref() == Some(&net.name));
            planes.for_each(|plane| open(&mut plane.polygon, mesh, anchor, &metal));
        }
    }
}

#[derive(Default)]
struct OwnMetal {
    pads: Vec<Ring>,
    traces: Vec<Ring>,
}

fn open(plane: &mut Polygon, mesh: Mesh, anchor: P2, metal: &OwnMetal) {
    let outline = rings(plane);
    let (bar, side) = (mesh.line.nm(), mesh.opening.nm());
    let [low, high] = bounds(&outline[0]);
    let lattice = Lattice::over([low, high], anchor, bar + side, side);
    let mut open = vec![false; lattice.len()];
    lattice.inside(&outline, |i| open[i] = true);
    outline.iter().for_each(|r| lattice.near(r, bar, |i| open[i] = false));
    let reach = ((bar + side) * FINE) as i64;
    let around = [low.map(|v| v - reach), high.map(|v| v + reach)];
    for (list, apart) in [(&metal.pads, bar), (&metal.traces, FROM_TRACE)] {
        for ring in list.iter().filter(|r| meets(r, around)) {
            lattice.near(ring, apart, |i| open[i] = false);
            lattice.inside([ring], |i| open[i] = false);
        }
    }
    plane.holes.extend((0..lattice.len()).filter(|&i| open[i]).map(|i| lattice.hole(i)));
}
