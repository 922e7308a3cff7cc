//! What a fillet is told by.

use super::filling::{Seat, Way};
use super::refusal::name;
use crate::problem::Edge;
use serde::{Deserialize, Serialize};

/// The liquid around a die, at rest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// Pressure in the liquid on the substrate above that of the air, Pa; the same on all sides, as all are connected.
    pub pressure_pa: f64,
    /// The sides in the order of [`super::EDGES`].
    pub sides: [Meniscus; 4],
    /// Volume that the fillets hold, corners included, m3.
    pub held_m3: f64,
    /// Part of it around the four corners, m3: each the profile of its two sides turned by a quarter, half and half.
    pub corners_m3: f64,
    /// What does not hold.
    pub spill: Option<Spill>,
}

/// The fillet along one side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Meniscus {
    /// Side.
    pub edge: Edge,
    /// Height of its line on the die above the substrate, m.
    pub height_m: f64,
    /// Share of the die's wall, from its lower edge to its back, that is wet.
    pub climb: f64,
    /// Where that line is.
    pub seat: Seat,
    /// Distance of its line on the substrate from the die's wall, m.
    pub width_m: f64,
    /// Whether a stop holds that line.
    pub stopped: bool,
    /// Angle at the substrate, rad: the contact angle there, more at a stop.
    pub foot_rad: f64,
    /// Angle at the wall, rad: the contact angle there, more at the edge of the back, less or below zero at the lower edge.
    pub head_rad: f64,
    /// Volume over length, m2.
    pub area_m2: f64,
    /// Distance from the wall and height above the substrate, m, from wall to substrate.
    pub profile_m: Vec<[f64; 2]>,
    /// The liquid of the dispensed line before any of it has gone under the die.
    pub tongue: Option<Tongue>,
    /// What must stay clear.
    pub clear: Option<Clear>,
}

/// A dispensed line on the substrate, before the gap draws from it: the farthest it comes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Tongue {
    /// Half the width of the bead where it lay on its own, m.
    pub half_width_m: f64,
    /// Its height there, m.
    pub height_m: f64,
    /// Distance from the die's wall to its far side, m: of the bead, or of the fillet that all of it would make at the die,
    /// whichever is more.
    pub reach_m: f64,
    /// Whether the bead touches the die; if not, nothing flows under it.
    pub touches: bool,
    /// Whether the side holds all of it at once.
    pub holds: bool,
}

/// A passive or keep-out beside the die.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Clear {
    /// Its distance from the die's wall, m.
    pub distance_m: f64,
    /// Farthest that fillet or tongue come, m.
    pub reach_m: f64,
}

impl Clear {
    /// Whether the liquid gets there.
    pub fn reached(&self) -> bool {
        self.reach_m >= self.distance_m
    }
}

/// Liquid that the weakest side does not hold.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Spill {
    /// That side.
    pub edge: Edge,
    /// Where it goes.
    pub way: Way,
    /// Volume, m3.
    pub volume_m3: f64,
}

impl Outcome {
    /// Sentences on what is wrong; none where all is well.
    pub fn faults(&self) -> Vec<String> {
        let mut faults = Vec::new();
        if let Some(spill) = self.spill {
            let place = match spill.way {
                Way::Back => "bulges over the edge of the die's back",
                Way::Stop => "goes over the stop on the substrate",
                Way::Substrate => "runs on over the substrate",
            };
            faults.push(format!(
                "{:.3} mm3 do not hold: the liquid {place} at the {} edge; dispense less.",
                spill.volume_m3 * 1e9,
                name(spill.edge)
            ));
        }
        for side in &self.sides {
            let edge = name(side.edge);
            if side.seat == Seat::LowerEdge {
                faults.push(format!(
                    "The fillet at the {edge} edge does not climb the die's wall: too little liquid is left."
                ));
            }
            if let Some(clear) = side.clear.filter(Clear::reached) {
                faults.push(format!(
                    "At the {edge} edge the liquid comes {:.3} mm from the die, and {:.3} mm must stay clear.",
                    clear.reach_m * 1e3,
                    clear.distance_m * 1e3
                ));
            }
            let Some(tongue) = side.tongue else { continue };
            if !tongue.touches {
                faults.push(format!(
                    "The line at the {edge} edge is {:.3} mm wide on either side of its middle and does not touch the die: nothing flows under \
                     it.",
                    tongue.half_width_m * 1e3
                ));
            } else if !tongue.holds {
                faults.push(format!(
                    "A pass at the {edge} edge is more than its side holds before the gap draws: take more passes."
                ));
            }
        }
        faults
    }
}
