//! What the study gives: temperatures, heat paths, metrics.

use crate::solid::{Map, Volume};
use facedown_evidence::Figure;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The result.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// Ambient of service, K.
    pub ambient_k: f64,
    /// Heat of all dies, W.
    pub power_w: f64,
    /// The dies in service, in the order of the problem.
    pub dies: Vec<DieTemperatures>,
    /// Mean temperature of the lid, K, where there is one.
    pub lid_k: Option<f64>,
    /// Mean temperature of the interposer, K, where there is one.
    pub interposer_k: Option<f64>,
    /// Mean temperature of the substrate, K.
    pub substrate_k: f64,
    /// Mean temperature of the board under the package, K.
    pub board_k: f64,
    /// From the hottest junction up to the ambient; empty where no heat goes up.
    pub up: Vec<Step>,
    /// From the hottest junction down to the ambient; empty where no heat goes down.
    pub down: Vec<Step>,
    /// Heat that leaves upward (lid, dies, top of the substrate), W.
    pub up_w: f64,
    /// Heat that leaves through the balls into the board, W.
    pub down_w: f64,
    /// Films of the faces in service.
    pub films: Vec<FaceFilm>,
    /// Effective conductivities of the carriers and joints in service.
    pub effective: Vec<Effective>,
    /// The standard surroundings that were solved.
    pub metrics: Vec<Metric>,
    /// What the solid model gives besides, where it has run.
    #[serde(default)]
    pub solid: Option<Solid>,
    /// Figures.
    pub figures: Vec<Figure>,
    /// What limits a figure, by figure name, as a clause that ends a sentence.
    pub limits: BTreeMap<String, String>,
    /// What was assumed, and cautions.
    pub notes: Vec<String>,
    /// Facts of practice, each marked.
    pub advice: Vec<String>,
}

/// A die in service.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DieTemperatures {
    /// Name.
    pub name: String,
    /// Heat, W.
    pub power_w: f64,
    /// Mean of the active face, K.
    pub mean_k: f64,
    /// Hottest place of the active face, K.
    pub max_k: f64,
    /// Hottest bump at half its height, K; absent for a die without bumps.
    pub bump_k: Option<f64>,
    /// Mean of its back, K.
    pub back_k: f64,
    /// Heat through its back, W.
    pub up_w: f64,
    /// Heat through its bumps, W.
    pub down_w: f64,
}

/// One step of a heat path.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Name.
    pub name: String,
    /// Temperature drop, K.
    pub kelvins: f64,
    /// Share of the whole drop from junction to ambient.
    pub share: f64,
    /// Heat that flows through it, W.
    pub heat_w: f64,
    /// Drop over the heat that flows through it, K/W; zero where no heat flows.
    pub resistance_k_w: f64,
}

/// Film on a face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FaceFilm {
    /// Face.
    pub face: String,
    /// Area, m2.
    pub area_m2: f64,
    /// Mean temperature, K.
    pub temperature_k: f64,
    /// Film by convection, or as given, W/(m2 K).
    pub convection: f64,
    /// Film by radiation, W/(m2 K).
    pub radiation: f64,
    /// Heat that leaves, W.
    pub heat_w: f64,
}

/// Effective conductivity of a stack.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Effective {
    /// Stack.
    pub name: String,
    /// Thickness, m.
    pub thickness_m: f64,
    /// In the plane, W/(m K).
    pub in_plane: f64,
    /// Through it, W/(m K).
    pub through: f64,
}

/// A thermal metric in standard surroundings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Metric {
    /// Surroundings and board, in words.
    pub surroundings: String,
    /// Velocity of the air, m/s; zero where there is none.
    pub speed_m_s: f64,
    /// Junction to ambient, K/W.
    pub theta_ja: Option<f64>,
    /// Junction to top of the case at its centre, over the whole power, K/W.
    pub psi_jt: Option<f64>,
    /// Junction to board, over the whole power, K/W.
    pub psi_jb: Option<f64>,
    /// Share of the heat that goes into the board.
    pub board_share: f64,
}

/// The solid model in service, on its finest grid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Solid {
    /// Cells.
    pub cells: usize,
    /// Rounds of films and conductivities.
    pub rounds: usize,
    /// Solver steps in all rounds.
    pub steps: usize,
    /// Observed order of the junction's error; absent where the grids tell none.
    pub order: Option<f64>,
    /// The die whose hottest place is hottest, by its place among the dies.
    pub hottest_die: usize,
    /// Rises in the plane of the hottest die's active face, over the substrate, beside it of the surface below; x and y from
    /// the middle of the substrate.
    pub plan: Map,
    /// Rises in the section along x through the hottest place; x from the middle of the substrate, z from the lowest
    /// face.
    pub section: Map,
    /// Mean and hottest temperature of every block of every die, K.
    pub blocks: Vec<Vec<[f64; 2]>>,
    /// How the junction warms up after the power is switched on; absent where a part has no heat capacity.
    #[serde(default)]
    pub heating: Option<Warming>,
    /// Junctions over the power trace; absent without one, or where a part has no heat capacity.
    #[serde(default)]
    pub trace: Option<Followed>,
    /// The hottest place, m from the middle of the substrate.
    pub hottest_at_m: [f64; 2],
    /// The whole field.
    pub volume: Volume,
}

/// The answer of the hottest place to a step of the power of all dies, films and conductivities as they settle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Warming {
    /// Name of the die.
    pub die: String,
    /// Time, s, and rise over power, K/W.
    pub curve: Vec<[f64; 2]>,
    /// The same for the hottest place on a cold plate with a good and with a poor contact, where the pair was followed.
    #[serde(default)]
    pub pair: Option<[Vec<[f64; 2]>; 2]>,
    /// Parts of the same curve: gain, K/W (negative where a place lags), and time constant, s.
    pub parts: Vec<[f64; 2]>,
    /// Time constants, s, with their resistances, K/W, by deconvolution of the mean junction's curve.
    pub spectrum: Vec<[f64; 2]>,
    /// Cumulative structure function of the mean junction: resistance, K/W, and heat capacity, J/K, from the junction on.
    pub structure: Vec<[f64; 2]>,
    /// Largest error of the curve over its end.
    pub error: f64,
    /// Cells, and systems solved.
    pub cells: usize,
    /// Systems solved.
    pub shifts: usize,
}

/// Junctions over a power trace, films and conductivities as service has settled them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Followed {
    /// The trace repeats for ever; else its first powers held before it.
    pub repeats: bool,
    /// Places that were watched: the hottest of each course in service.
    pub places: Vec<FollowedPlace>,
    /// The place that becomes hottest, by its place in that list.
    pub hottest: usize,
    /// Time, s, and heat of all dies, W, in steps.
    pub power: Vec<[f64; 2]>,
    /// Largest error of the answers over their ends.
    pub error: f64,
    /// Cells.
    pub cells: usize,
    /// Systems solved.
    pub shifts: usize,
}

/// A place over a power trace.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FollowedPlace {
    /// Name of the course.
    pub name: String,
    /// Hottest temperature, K.
    pub max_k: f64,
    /// When, s from the start of the trace.
    pub at_s: f64,
    /// Temperature in service, K.
    pub service_k: f64,
    /// Time, s, and temperature, K.
    pub curve: Vec<[f64; 2]>,
}
