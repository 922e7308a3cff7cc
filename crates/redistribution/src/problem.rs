//! What redistribution reads: die, pads, bump sites, rules, nets, all in whole nanometres.

use facedown_layout::{Point, Polygon};
use facedown_quantity::Nm;
use serde::{Deserialize, Serialize};

/// A die pad as drawn by the chip designer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pad {
    /// Unique name.
    pub name: String,
    /// Net.
    pub net: String,
    /// Centre of the opening.
    pub at: Point,
    /// Opening width (x).
    pub width: Nm,
    /// Opening height (y).
    pub height: Nm,
}

/// A place where a bump may stand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Site {
    /// Unique name, row letter and column number for arrays (`C4`).
    pub name: String,
    /// Centre.
    pub at: Point,
    /// Net that must stand here; absent where the assignment is free to choose.
    pub net: Option<String>,
}

/// Lines, spaces and enclosures of the RDL, the same on every RDL layer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Rules {
    /// Width of signal lines.
    pub line: Nm,
    /// Least space between metal of different nets.
    pub space: Nm,
    /// Least distance of RDL metal from the die outline.
    pub edge_clearance: Nm,
    /// RDL metal beyond the dielectric opening over a die pad on every side (landing), round at the corners.
    pub landing_enclosure: Nm,
    /// Diameter of the capture pad under a bump.
    pub capture: Nm,
    /// UBM diameter.
    pub ubm: Nm,
    /// Opening of the last dielectric under the UBM, diameter.
    pub bump_opening: Nm,
    /// Largest diameter of the bump after reflow.
    pub bump: Nm,
    /// Opening of the dielectric over a die pad, inset from the pad opening on every side.
    pub pad_opening_inset: Nm,
    /// Diameter of a via opening between two RDL layers.
    pub via: Nm,
    /// RDL metal beyond a via opening on every side.
    pub via_enclosure: Nm,
    /// How metal that is too wide is slotted; absent where any width is allowed.
    pub slots: Option<Slots>,
}

/// Metal wider than the process allows gets square slots.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Slots {
    /// No disc wider than this may lie in RDL metal outside landings, capture pads and vias.
    pub widest: Nm,
    /// Side of a slot.
    pub side: Nm,
}

/// A net's metal in the free room of a layer.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Plane {
    /// RDL layer that it grows on (1 nearest the die); absent for every layer where the net has metal.
    pub layer: Option<u8>,
    /// Bars and openings; absent for a solid plane.
    pub mesh: Option<Mesh>,
}

/// Square openings on a lattice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mesh {
    /// Width of the bars between openings, and the least metal between an opening and what the plane ends at.
    pub line: Nm,
    /// Side of an opening.
    pub opening: Nm,
}

/// Directions that traces may run in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Style {
    /// Straight lines in any direction joined by arcs.
    AnyAngle,
    /// Multiples of 45 degrees.
    Octilinear,
}

/// How pads find their bumps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AssignmentMode {
    /// Any pad to any site (sites with a net keep it).
    Free,
    /// Nets only to sites on their own side of the die (nearest edge of the pad).
    BySide,
    /// Only the nets given at the sites; every net must have one.
    Fixed,
}

/// What is asked of one net beyond the defaults.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NetSpec {
    /// Net name.
    pub name: String,
    /// A supply or ground net: may have many bumps, may be wide, may be grown into free room.
    pub supply: bool,
    /// Number of bumps wanted; at least one.
    pub bumps: usize,
    /// Trace width; absent for the line width of the rules.
    pub width: Option<Nm>,
    /// All pads and bumps of the net must be one piece on the RDL. Where false, the pieces are joined
    /// elsewhere (on the die or in the substrate) and each piece needs at least one pad and one bump.
    pub one_piece: bool,
    /// How the net's metal grows into the free room after routing; absent where it does not.
    pub plane: Option<Plane>,
}

/// Room where no RDL metal may be.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeepOut {
    /// RDL layer (1 nearest the die); absent for all layers.
    pub layer: Option<u8>,
    /// Outline; holes are ignored.
    pub polygon: Polygon,
}

/// One redistribution task.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Problem {
    /// Die name.
    pub name: String,
    /// Die width; the frame's origin is the lower-left corner.
    pub width: Nm,
    /// Die height.
    pub height: Nm,
    /// Pads.
    pub pads: Vec<Pad>,
    /// Bump sites.
    pub sites: Vec<Site>,
    /// Rules.
    pub rules: Rules,
    /// Number of RDL layers, 1 or 2.
    pub layers: u8,
    /// Directions.
    pub style: Style,
    /// How pads find bumps.
    pub assignment: AssignmentMode,
    /// Nets with wishes of their own; a net that is not listed is a signal with one bump.
    pub nets: Vec<NetSpec>,
    /// Keep-outs.
    pub keep_outs: Vec<KeepOut>,
}
