//! What the study gives: plain data for other studies, the pictures and the report.

use crate::problem::Face;
use facedown_evidence::Figure;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The result of one underfilled part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// Figures with their evidence; those that cannot be judged are absent.
    pub figures: Vec<Figure>,
    /// What limits a figure, or why it is absent, by figure name, as a clause that ends a sentence.
    pub limits: BTreeMap<String, String>,
    /// Sentences that a reader must see.
    pub notes: Vec<String>,
    /// Facts of the trade, marked common practice.
    pub advice: Vec<String>,
    /// The process sheet, line by line in the order of the work.
    pub sheet: Vec<SheetLine>,
    /// True when the gap fills.
    pub fills: bool,
    /// Time until the gap is full, s; absent when it does not fill.
    pub fill_time_s: Option<f64>,
    /// Time to gel at the flow temperature from the start of dispensing, s; absent when longer than 1e8 s.
    pub gel_time_s: Option<f64>,
    /// Temperature at which it gels in the cure, where stress begins to build up, K.
    pub gel_temperature_k: Option<f64>,
    /// Degree of cure at the end of the cure, 0 to 1.
    pub cure_degree: f64,
    /// Volume to dispense, m3.
    pub volume_m3: f64,
    /// Gap, m.
    #[serde(default)]
    pub gap_m: f64,
    /// Volume of the gap less the bumps, m3.
    pub gap_volume_m3: f64,
    /// Fillet height, m, as wanted or as the given volume makes it; zero where none is left for it.
    pub fillet_height_m: f64,
    /// Fillet width, m.
    pub fillet_width_m: f64,
    /// The fillets, where the gap was followed on its bump map and fills.
    #[serde(default)]
    pub fillets: Option<crate::fillet::Outcome>,
    /// Estimate of the void area over the die area; absent where it cannot be judged.
    pub void_area_fraction: Option<f64>,
    /// Mean driving pressure between the bumps, Pa.
    pub driving_pressure_pa: f64,
    /// Permeability between the bumps, m2.
    pub permeability_m2: f64,
    /// Angles of the underfill that the flow uses.
    pub angles: Vec<FaceAngle>,
    /// Surface energies from readings.
    pub surface_energies: Vec<FaceEnergy>,
    /// The front over time, from dispensing to full (or to where it stops).
    pub front: Vec<FrontPoint>,
    /// Degree of cure over the cure, from the end of the flow.
    pub cure: Vec<CurePoint>,
    /// The fill on the bump map, where it was followed.
    #[serde(default)]
    pub filling: Option<crate::filling::Filling>,
    /// The same without the plasma, where residue lies on a face and plasma is to remove it.
    #[serde(default)]
    pub untreated: Option<crate::filling::Filling>,
    /// Recipes and process windows.
    #[serde(default)]
    pub plan: crate::planning::Plan,
    /// The cleaning step on each face whose readings show it.
    #[serde(default)]
    pub cleaning: Vec<crate::cleaning::Cleaning>,
    /// Drops, maps and charts of the faces.
    #[serde(default)]
    pub measured: crate::measured::Measurements,
}

/// The angle of the underfill on a face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FaceAngle {
    /// Face.
    pub face: Face,
    /// Angle, rad.
    pub angle_rad: f64,
    /// One standard deviation, rad, where it is known.
    pub spread_rad: f64,
    /// Where the angle comes from, in words.
    pub from: String,
}

/// Surface energy of a face from readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FaceEnergy {
    /// Face.
    pub face: Face,
    /// `untreated`, or `at dispense` when plasma and queue time are in it.
    pub state: String,
    /// Total, J/m2.
    pub total_j_m2: f64,
    /// Dispersive part, J/m2.
    pub dispersive_j_m2: f64,
    /// Polar part, J/m2.
    pub polar_j_m2: f64,
    /// One standard deviation of the total from those of the readings, J/m2.
    pub spread_j_m2: f64,
    /// Total by the acid-base method, J/m2, where three probe liquids allow it.
    pub acid_base_total_j_m2: Option<f64>,
    /// Angle of the underfill that these parts predict, rad.
    pub predicted_angle_rad: f64,
    /// One standard deviation of that angle, rad.
    pub predicted_spread_rad: f64,
}

/// The front at one time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FrontPoint {
    /// Time since dispensing began, s.
    pub time_s: f64,
    /// Share of the die's area that is filled, 0 to 1.
    pub filled: f64,
    /// Distance of the front from its line, m; absent for patterns whose front is not straight.
    pub position_m: Option<f64>,
    /// Pockets of air that are closed off; zero by the closed forms, which know none.
    #[serde(default)]
    pub pockets: usize,
}

/// The cure at one time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CurePoint {
    /// Time since the first ramp began, s.
    pub time_s: f64,
    /// Temperature, K.
    pub temperature_k: f64,
    /// Degree of cure, 0 to 1.
    pub degree: f64,
}

/// One line of the process sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetLine {
    /// Step of the work.
    pub step: String,
    /// Setting.
    pub setting: String,
    /// Limit that must be kept.
    pub limit: String,
    /// How it is inspected.
    pub inspection: String,
    /// Caution; empty where none is needed.
    pub caution: String,
}
