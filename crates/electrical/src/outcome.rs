//! What the study gives: plain data for the report, for heat (Joule heat) and for life (current per bump).

use crate::problem::Kind;
use facedown_evidence::Figure;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The electrical side of one die.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// The trace with the longest path as a line; none where no net has a trace.
    pub trace: Option<TraceLine>,
    /// One bump.
    pub bump: Connection,
    /// Resistance of the bump's pieces in their order, ohm.
    pub bump_pieces: Vec<(String, f64)>,
    /// The wire that it replaces.
    pub wire: Connection,
    /// Each net, in the order of the problem.
    pub nets: Vec<NetOutcome>,
    /// Wire bond against flip chip.
    pub comparison: Vec<Row>,
    /// Joule heat by place.
    pub joule: Joule,
    /// Figures of the study.
    pub figures: Vec<Figure>,
    /// What limits a figure, as a clause that ends a sentence.
    pub limits: BTreeMap<String, String>,
    /// What a reader must know.
    pub notes: Vec<String>,
    /// Facts of the trade.
    pub advice: Vec<String>,
}

/// The trace with the longest path as a line over its reference.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TraceLine {
    /// Width, m.
    pub width_m: f64,
    /// Sheet resistance at temperature, ohm per square.
    pub sheet_ohm: f64,
    /// Impedance, ohm.
    pub impedance_ohm: f64,
    /// Effective relative permittivity.
    pub effective_permittivity: f64,
    /// Capacitance, F/m.
    pub capacitance_f_m: f64,
    /// Inductance, H/m.
    pub inductance_h_m: f64,
}

/// A bump or a wire.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Connection {
    /// Resistance at temperature, ohm.
    pub resistance_ohm: f64,
    /// Partial self inductance, H.
    pub partial_h: f64,
    /// Partial mutual inductance to the neighbour, H.
    pub mutual_h: f64,
    /// Loop inductance with the neighbour as return, H.
    pub loop_h: f64,
    /// Capacitance to the return, F.
    pub capacitance_f: f64,
}

/// One net.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NetOutcome {
    /// Name.
    pub name: String,
    /// What it does.
    pub kind: Kind,
    /// Bumps.
    pub bumps: u32,
    /// Resistance of the longest path, vias included, without the bump, ohm.
    pub trace_resistance_ohm: f64,
    /// Capacitance of all its traces, F.
    pub trace_capacitance_f: f64,
    /// Inductance of the longest path over its reference, H.
    pub trace_inductance_h: f64,
    /// Delay along the longest path, s.
    pub trace_delay_s: f64,
    /// Mean current of a bump, A.
    pub bump_current_mean_a: f64,
    /// Largest current of a bump, A.
    pub bump_current_max_a: f64,
    /// That over the smallest cross-section of the bump, A/m2.
    pub bump_current_density_a_m2: f64,
    /// Drop across the most loaded bump, V.
    pub drop_bump_v: f64,
    /// Drop in the plane from bump to the farthest point of the bump's area, V.
    pub drop_plane_v: f64,
    /// Drop along the longest path of traces, V.
    pub drop_trace_v: f64,
    /// Drop of the same net over wires, V: the wire, and the plane fed from its edges.
    pub drop_wired_v: f64,
    /// Joule heat, W.
    pub joule: Joule,
}

impl NetOutcome {
    /// The whole drop from below the bump to the farthest point that the net feeds, V.
    pub fn drop_v(&self) -> f64 {
        self.drop_bump_v + self.drop_plane_v + self.drop_trace_v
    }
}

/// Joule heat by place, W.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Joule {
    /// In bumps.
    pub bumps_w: f64,
    /// In traces and vias.
    pub traces_w: f64,
    /// In planes.
    pub planes_w: f64,
}

impl Joule {
    /// All together, W.
    pub fn total_w(&self) -> f64 {
        self.bumps_w + self.traces_w + self.planes_w
    }
}

/// One row of the table wire bond against flip chip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// What is compared, in words.
    pub quantity: String,
    /// Unit of the three values, in the writing of the design file.
    pub unit: String,
    /// A bond wire.
    pub wire: f64,
    /// A bump alone.
    pub bump: f64,
    /// The longest signal trace with its via and its bump.
    pub bump_and_trace: f64,
}
