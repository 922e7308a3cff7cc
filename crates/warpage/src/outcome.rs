//! What the study gives: shapes at every stage and temperature, stresses, what joints and life read on.
//!
//! Signs: curvature and warpage are positive where the package is convex (corners lower than the centre, die side
//! up); tension is positive.

use facedown_evidence::Figure;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The result.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// The stages in their order, each back at the temperature that is said.
    pub stages: Vec<Stage>,
    /// Warpage of the finished package over temperature, rising. Elastic: cooling runs the same way back.
    pub curve: Vec<CurvePoint>,
    /// Largest magnitude of warpage that the ball pitch permits at elevated temperature, m, where the table knows the
    /// pitch.
    pub permissible_m: Option<f64>,
    /// The table of limits by pitch.
    pub permissible: Vec<Permissible>,
    /// Sections through the finished package, at room temperature and at the peak of the reflow.
    pub profiles: Vec<Profile>,
    /// How the gap under each die (or interposer) differs from flat while its solder freezes; in the order of the
    /// dies, the interposer last.
    pub gaps: Vec<GapBow>,
    /// The same for the package over a flat board at the balls; absent without balls.
    pub ball_gap: Option<GapBow>,
    /// Stresses in the dies, in their order.
    pub dies: Vec<DieStress>,
    /// Loads of the layer under each die (and interposer), in the same order as `gaps`.
    pub edges: Vec<EdgeLoad>,
    /// Bond lines between dies and lid; empty without a lid that touches a die.
    pub bond_lines: Vec<BondLine>,
    /// Figures.
    pub figures: Vec<Figure>,
    /// What limits a figure, by figure name, as a clause that ends a sentence.
    pub limits: BTreeMap<String, String>,
    /// What was assumed, and cautions.
    pub notes: Vec<String>,
    /// Facts of practice, each marked.
    pub advice: Vec<String>,
}

/// A stage of assembly at one temperature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stage {
    /// Name: `received`, `die attach`, `underfill`, `ring`, `lid`, `ball attach`, `reflow peak`, `coldest`.
    pub name: String,
    /// Temperature, K.
    pub temperature_k: f64,
    /// Curvature at the middle of the first die in x and y, 1/m.
    pub curvature: [f64; 2],
    /// Signed warpage over the body, m (JEITA ED-7306 rule of sign).
    pub warpage_body_m: f64,
}

/// Warpage of the finished package at one temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CurvePoint {
    /// Temperature, K.
    pub temperature_k: f64,
    /// Signed warpage over the body, m.
    pub warpage_body_m: f64,
    /// Signed warpage over the ball field, m, where there are balls; else over the body.
    pub warpage_m: f64,
}

/// A row of the table of permissible warpage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Permissible {
    /// Ball pitch, m.
    pub pitch_m: f64,
    /// Largest magnitude of warpage at elevated temperature, m.
    pub warpage_m: f64,
}

/// A section of the underside of the substrate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Profile {
    /// Temperature, K.
    pub temperature_k: f64,
    /// Line: `x axis`, `y axis` or `diagonal`.
    pub line: String,
    /// Distance from the centre along the line and height over the least-squares plane of the body, m.
    pub points_m: Vec<[f64; 2]>,
}

/// Two faces over each other, as second derivatives: what the joint study reads as the bow of a gap.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GapBow {
    /// Die, `interposer` or `balls`.
    pub name: String,
    /// Temperature at which the solder turns solid, K.
    pub temperature_k: f64,
    /// Curvature of the upper face in x and y, 1/m, positive where it is convex.
    pub upper: [f64; 2],
    /// Curvature of the lower face in x and y, 1/m.
    pub lower: [f64; 2],
    /// Second derivative of the gap in x and y, 1/m, positive where the gap is wider at the edge: lower less upper.
    pub gap: [f64; 2],
    /// The same at the liquidus.
    pub gap_at_liquidus: [f64; 2],
    /// Half the extent of the joints in x and y, m.
    pub half_extent_m: [f64; 2],
}

/// Stress in a die.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DieStress {
    /// Name.
    pub name: String,
    /// Stress in the middle of the back at room temperature in x and y, Pa.
    pub back_room_pa: [f64; 2],
    /// Largest tension anywhere from the coldest temperature to the peak, Pa.
    pub tension_max_pa: f64,
    /// Temperature of that, K.
    pub tension_at_k: f64,
    /// `back` or `active face`.
    pub tension_on: String,
    /// Probability that it breaks at the worst temperature, where its strength is given.
    pub failure_probability: Option<f64>,
}

/// Load of the layer under a die near its edge. Comparison metrics: the elastic peak has a singularity in truth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EdgeLoad {
    /// Die or `interposer`.
    pub name: String,
    /// Temperature of the largest magnitude of shear, K.
    pub temperature_k: f64,
    /// Largest magnitude of shear at the edge, Pa.
    pub shear_max_pa: f64,
    /// Largest peel (tension through the layer) over temperature near the edge, Pa; zero where it is pressed all the
    /// time.
    pub peel_max_pa: f64,
    /// Temperature of the largest peel, K.
    pub peel_at_k: f64,
    /// Length over which shear dies away from the edge, m, at room temperature.
    pub decay_length_m: f64,
}

/// Bond line between a die and the lid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BondLine {
    /// Die.
    pub name: String,
    /// Thickness as given, m.
    pub nominal_m: f64,
    /// Thickest less thinnest place over the die at room temperature, m.
    pub spread_room_m: f64,
    /// Largest opening at any place from its cure to any later temperature, m.
    pub opening_max_m: f64,
}
