//! A hand check of the warpage at room temperature: a round plate of rings for the body.
//!
//! The die becomes a disc and the body a round plate, each of half its diagonal: the corner lies lowest. All parts
//! cool from the last temperature of joining at their moduli at room temperature. It holds for one die near the
//! middle without a lid; a ring becomes a ring over the same share of the radius.

use crate::annular::{Ring, solve};
use crate::mixture;
use crate::problem::{Plate, Problem};
use crate::property::Elastic;
use crate::section::{Section, stacked};
use facedown_field::NoConvergence;

/// Why there is none.
pub(crate) enum NoHand {
    /// The package is no disc.
    Shape,
    /// The rings have no solution.
    Unsolved,
}

impl From<NoConvergence> for NoHand {
    fn from(_: NoConvergence) -> NoHand {
        NoHand::Unsolved
    }
}

/// Signed warpage over the body at room temperature, m.
pub(crate) fn warpage_room(problem: &Problem) -> Result<f64, NoHand> {
    let [die] = problem.dies.as_slice() else { return Err(NoHand::Shape) };
    if problem.interposer.is_some() || problem.cover.is_some() || problem.substrate.received_bow_m.is_some() {
        return Err(NoHand::Shape);
    }
    let p = &problem.process;
    let body = &problem.substrate.plate;
    let radius = |p: &Plate| p.width_m.hypot(p.height_m) / 2.0;
    let half = radius(body);
    let from = if die.joints.underfill.is_some() { p.underfill_cure_k } else { p.bump_solidus_k };
    let cold = |layers: &Plate, from: f64| -> Vec<(f64, Elastic)> {
        layers
            .layers
            .iter()
            .map(|l| {
                let now = mixture::layer(l, p.room_k, p.room_k);
                let strain = mixture::layer(l, from, p.room_k).strain;
                (l.thickness_m, Elastic { strain, ..now })
            })
            .collect()
    };
    let bottom = -body.thickness_m() / 2.0;
    let face = -bottom;
    let base = stacked(bottom, &cold(body, from));
    let joined = mixture::joint_layer(&die.joints, true, p.room_k, p.room_k).in_plane;
    let over = mixture::joint_layer(&die.joints, true, from, p.room_k).in_plane.strain;
    let mut layers = vec![(die.joints.gap_m, Elastic { strain: over, ..joined })];
    layers.extend(cold(&die.plate, from));
    let mut under_die = base.clone();
    under_die.extend(stacked(face, &layers).into_iter().filter(|q| q.stiffness[0] > 0.0));
    let rings = [
        Ring { outer: radius(&die.plate), section: Section::of(&under_die) },
        Ring { outer: half, section: Section::of(&base) },
    ];
    // A die as large as its body leaves no ring around it.
    let count = if rings[0].outer < half * (1.0 - 1e-6) { 2 } else { 1 };
    let plate = solve(&rings[..count])?;
    let heights: Vec<f64> = (0..=200).map(|k| plate.height(half * k as f64 / 200.0)).collect();
    let high = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let low = heights.iter().copied().fold(f64::INFINITY, f64::min);
    let rim = heights.last().copied().unwrap_or(0.0);
    Ok(if rim <= 0.0 { high - low } else { low - high })
}
