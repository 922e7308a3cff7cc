//! Early certificates: proofs, found in milliseconds and before any routing, that one RDL layer cannot carry a pairing.
//!
//! Two kinds. A *sector* certificate: a connected net touches the outer wall of the die at two places and so
//! divides the rest in two; another connected net has terminals on both sides. A *cut* certificate: more
//! nets must cross a line drawn through bumps than its gaps have room for. Each is a necessary condition that fails, so
//! there are no false alarms; a pairing without certificates can still turn out to be unroutable. Nets may wind around
//! bumps at will, so a bump in the open never conflicts by its place alone: interior points can be moved past each other
//! by winding, and only what hangs on the wall keeps its order.

mod cut;
mod sector;
mod wall;

use crate::assignment::Tree;
use crate::outcome::Certificate;
use crate::problem::Problem;
use facedown_quantity::Nm;

/// All certificates against a pairing; none for two layers, where vias can pass what one layer cannot.
pub fn certificates(problem: &Problem, trees: &[Tree]) -> Vec<Certificate> {
    if problem.layers != 1 {
        return Vec::new();
    }
    let mut found = sector::conflicts(problem, trees);
    found.extend(cut::overfull(problem, trees));
    found
}

/// The narrowest trace that any net may have.
fn least_width(problem: &Problem) -> Nm {
    let wished = problem.nets.iter().filter_map(|n| n.width);
    wished.fold(problem.rules.line, Nm::min)
}
