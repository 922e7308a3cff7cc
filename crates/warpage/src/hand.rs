//! A hand check of the warpage at room temperature: a round plate of rings for the body.
//!
//! The die becomes a disc and the body a round plate. All parts cool from the last temperature of joining at their moduli at room temperature. It holds for one die near
//! the middle without a lid; a ring becomes a ring over the same share of the radius.

use crate::annular::{Ring, solve};
use crate::mixture;
use crate::problem::{CoverKind, Problem};
use crate::property::{Elastic, integral};
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
    let lid = problem.cover.as_ref().is_some_and(|c| c.kind == CoverKind::Lid);
    if problem.interposer.is_some() || lid || problem.substrate.received_bow_m.is_some() {
        return Err(NoHand::Shape);
    }
    let p = &problem.process;
    let body = &problem.substrate.plate;
    // Without a ring the corner lies lowest, as far out as the half diagonal; a ring keeps the corner from dropping, and the body bends
    // like a disc of its mean width.
    let radius = |p: &crate::problem::Plate| {
        if problem.cover.is_none() {
            p.width_m.hypot(p.height_m) / 2.0
        } else {
            (p.width_m + p.height_m) / 4.0
        }
    };
    let half = radius(body);
    let from = if die.joints.underfill.is_some() { p.underfill_cure_k } else { p.bump_solidus_k };
    let cold = |layers: &crate::problem::Plate, from: f64| -> Vec<(f64, Elastic)> {
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
    let mut rings = vec![Ring { outer: radius(&die.plate), section: Section::of(&under_die) }];
    let whole = Section::of(&base);
    if let Some(c) = &problem.cover {
        rings.push(Ring { outer: half * (1.0 - 2.0 * c.band_m / c.width_m.min(c.height_m)), section: whole });
        let strain = integral(&c.solid.expansion, from, p.room_k);
        let steel = Elastic { strain, ..Elastic::of(&c.solid, p.room_k, p.room_k) };
        let glue = mixture::layer(&c.adhesive, p.room_k, p.room_k);
        let glue = Elastic { strain: mixture::layer(&c.adhesive, from, p.room_k).strain, ..glue };
        let mut rim = base.clone();
        rim.extend(stacked(face, &[(c.adhesive.thickness_m, glue), (c.thickness_m, steel)]));
        rings.push(Ring { outer: half, section: Section::of(&rim) });
    } else {
        rings.push(Ring { outer: half, section: whole });
    }
    let plate = solve(&rings)?;
    let heights: Vec<f64> = (0..=200).map(|k| plate.height(half * k as f64 / 200.0)).collect();
    let high = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let low = heights.iter().copied().fold(f64::INFINITY, f64::min);
    let rim = heights.last().copied().unwrap_or(0.0);
    Ok(if rim <= 0.0 { high - low } else { low - high })
}
