//! What a fillet is asked from.

use crate::problem::Edge;
use serde::{Deserialize, Serialize};

/// A die with its gap filled and liquid left for the fillets.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    /// Width (along x) and height (along y) of the die, m.
    pub size_m: [f64; 2],
    /// Height of the die's lower face above the substrate, m.
    pub gap_m: f64,
    /// Height of the die's back above the substrate, m.
    pub back_m: f64,
    /// Liquid beyond the die's edges when the gap is full: what was dispensed less the free volume of the gap, m3.
    pub volume_m3: f64,
    /// Surface tension, N/m.
    pub tension_n_m: f64,
    /// Density, kg/m3; zero leaves the weight out.
    pub density_kg_m3: f64,
    /// Contact angle on the die's lower face, rad.
    pub face_rad: f64,
    /// The sides in the order of [`EDGES`].
    pub sides: [Side; 4],
}

/// The order of the sides.
pub const EDGES: [Edge; 4] = [Edge::Left, Edge::Right, Edge::Bottom, Edge::Top];

/// One side of the die.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Side {
    /// Contact angle on the die's wall, rad.
    pub wall_rad: f64,
    /// Contact angle on the substrate beside the die, rad.
    pub substrate_rad: f64,
    /// What stops the liquid on the substrate.
    pub stop: Option<Stop>,
    /// Distance of the nearest passive or keep-out from the die's wall, m: the liquid must not come so far, but nothing holds it.
    pub keep_clear_m: Option<f64>,
    /// The line dispensed along this side.
    pub line: Option<Line>,
}

/// A dam, the rim of a solder mask opening or of a coating that does not wet: the line of the liquid stays there until it leans over it
/// too far.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Stop {
    /// Distance from the die's wall, m.
    pub distance_m: f64,
    /// Angle at which the liquid goes over it, rad: the contact angle beyond a change of coating; that plus the turn of the
    /// surface at an edge (J. W. Gibbs's condition). A line that leans beyond a right angle is taken as over in any case: from
    /// there on the pressure falls as liquid is added.
    pub until_rad: f64,
}

/// A dispensed line.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// Distance of its middle from the die's wall, m.
    pub offset_m: f64,
    /// Volume of the largest pass over the length of the line, m2.
    pub area_m2: f64,
}

impl Problem {
    /// A die whose sides are alike: angles on its lower face, its wall and the substrate, rad.
    pub fn even(
        size_m: [f64; 2],
        [gap_m, back_m]: [f64; 2],
        volume_m3: f64,
        [face_rad, wall_rad, substrate_rad]: [f64; 3],
    ) -> Problem {
        let side = Side { wall_rad, substrate_rad, stop: None, keep_clear_m: None, line: None };
        Problem {
            size_m,
            gap_m,
            back_m,
            volume_m3,
            tension_n_m: 0.03,
            density_kg_m3: 1700.0,
            face_rad,
            sides: [side; 4],
        }
    }

    /// Density times gravity over tension, 1/m2: the inverse square of the capillary length.
    pub fn weight_per_m2(&self) -> f64 {
        self.density_kg_m3 * super::profile::GRAVITY / self.tension_n_m
    }

    /// Length of a side, m, by its place in [`EDGES`].
    pub fn length_m(&self, side: usize) -> f64 {
        self.size_m[if side < 2 { 1 } else { 0 }]
    }
}
