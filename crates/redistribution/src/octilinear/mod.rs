//! Octilinear courses: every trace in multiples of 45 degrees, in the topology that the router found.
//!
//! Distances are measured with the gauge whose unit ball is the regular octagon with horizontal, vertical and diagonal
//! sides about the unit circle: two mitred octilinear traces are apart by it exactly as parallel lines are, and it
//! never exceeds the straight distance, so what is clear by the gauge is clear. Discs become octagons, and Maley's
//! half-cut rule holds for polygonal gauges too (Maley 1990, Single-layer wire routing and compaction).
//!
//! 1. [`string`]: each wire is pulled taut around its octagons. A taut string is shortest in every norm at once
//!    (Hershberger and Snoeyink 1994, Computing minimum length paths of a given homotopy class), so the octilinear
//!    lengths of its pieces add up to the least octilinear length in the topology.
//! 2. [`clear`]: strings too near each other teach each other octagons, until all are clear.
//! 3. [`chain`], [`stairs`]: pieces in one sector of 45 degrees form a chain; each chain becomes the staircase with the
//!    fewest bends between the metal on its two sides. Every staircase has the chain's octilinear length, and at every
//!    moment the whole layer, staircases and strings together, is clear; of chains that lie side by side the uppermost
//!    (or lowest) goes first and the next follows it.
//!
//! All corners are whole nanometres, and pieces run in exact multiples of 45 degrees. What finds no clear course
//! has none in the result.

pub mod chain;
pub mod clear;
pub mod gauge;
pub mod stairs;
pub mod string;
pub mod trace;

use crate::route::mesh::Mesh;
use crate::route::negotiate::Routed;
use crate::route::plane::{P2, cross, dot, sub};
use crate::route::taut::{Arc, Course};

/// What the router's spaces may shrink by for strings, nm. The router keeps room for chords of arcs, of which an
/// octilinear layer has none; half of it is spent here so that rounding to whole nanometres never takes a course away.
pub const STRING_SLACK: f64 = 2.0;

/// The same for staircases, nm.
pub const STAIR_SLACK: f64 = 5.0;

/// Measures the edges of a mesh by the gauge, so that the router counts the lines that fit through each in octilinear
/// form.
pub fn measure(mesh: &mut Mesh) {
    for e in &mut mesh.edges {
        let [a, b] = e.v.map(|v| mesh.vertices[v as usize].p);
        e.length = gauge::norm(sub(b, a));
    }
}

/// Gives every wire of a routed layer its octilinear course; a wire without one that is clear has none.
pub fn straighten(routed: &mut Routed) {
    let strings = clear::strings(&routed.sketch);
    let lines = chain::convert(&routed.sketch, strings);
    routed.pinches.clear();
    for (w, line) in lines.into_iter().enumerate() {
        if line.is_none() && routed.sketch.wires[w].routed {
            let wire = &routed.sketch.wires[w];
            routed.pinches.push(crate::route::taut::Pinch {
                vertices: wire.ends,
                at: routed.sketch.mesh.vertices[wire.ends[0] as usize].p,
            });
        }
        routed.courses[w] = line.map(|l| course(&l));
    }
    routed.missing.clear();
}

/// A course with a corner (an arc of no radius) at each bend.
fn course(points: &[P2]) -> Course {
    let n = points.len();
    let arcs = (1..n.saturating_sub(1))
        .map(|k| {
            let (u, v) = (sub(points[k], points[k - 1]), sub(points[k + 1], points[k]));
            let turn = cross(u, v).atan2(dot(u, v));
            Arc {
                centre: points[k],
                radius: 0.0,
                side: if turn < 0.0 { -1.0 } else { 1.0 },
                from: points[k],
                to: points[k],
                angle: turn.abs(),
                vertex: crate::route::mesh::NONE,
                index: k as f64,
            }
        })
        .collect();
    Course { start: points[0], end: points[n - 1], arcs }
}
