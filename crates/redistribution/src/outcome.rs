//! What redistribution gives back, as plain data.

use facedown_evidence::Figure;
use facedown_layout::{Drawing, Point};
use serde::{Deserialize, Serialize};

/// A bump with the net that it got.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlacedBump {
    /// Site name.
    pub name: String,
    /// Centre.
    pub at: Point,
    /// Net; absent for a site left empty (no bump is drawn there).
    pub net: Option<String>,
}

/// What became of one connection tree (a net, or one piece of a net whose pieces are joined elsewhere).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NetReport {
    /// Net name.
    pub net: String,
    /// Names of its pads.
    pub pads: Vec<String>,
    /// Names of its bumps.
    pub bumps: Vec<String>,
    /// True when every terminal is connected.
    pub routed: bool,
    /// Centre-line length, m.
    pub length_m: f64,
    /// Shortest path around foreign capture pads, m, centre to centre; for a tree the sum over its branches.
    pub bound_m: f64,
    /// Trace width, m.
    pub width_m: f64,
    /// Length over width from pad to its farthest bump, in squares.
    pub squares: f64,
    /// RDL layers used, 1 nearest the die.
    pub layers: Vec<u8>,
}

/// Why something cannot be routed, found before routing or by it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Certificate {
    /// A net with two boundary pads splits the die; the pad and the bump of another lie on different sides.
    Sector {
        /// The net that separates.
        separating: String,
        /// The nets that it cuts.
        cut: Vec<String>,
        /// What would free it.
        mend: String,
    },
    /// More nets must pass a closed cut than it has room for.
    Cut {
        /// The cut in words (`ring 1 of the array`).
        cut: String,
        /// Nets that must pass.
        demand: usize,
        /// Traces that fit.
        capacity: usize,
        /// Nets that must pass, by name.
        nets: Vec<String>,
        /// What would free it.
        mend: String,
    },
    /// The router found no way; the nets left open.
    Unrouted {
        /// Net names.
        nets: Vec<String>,
        /// Where room is short and what would free it.
        mend: String,
    },
}

/// The whole result.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// Figures of the study (`nets`, `routed_nets`, `wirelength`, ...); the rule checker's are added by the caller.
    pub figures: Vec<Figure>,
    /// Certificates of what cannot be routed; empty for a complete layout.
    pub certificates: Vec<Certificate>,
    /// One report a connection tree.
    pub nets: Vec<NetReport>,
    /// All sites with what stands there.
    pub bumps: Vec<PlacedBump>,
    /// The layout.
    pub drawing: Drawing,
}
