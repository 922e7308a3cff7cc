//! The rules that a drawing is held against, as plain data.

use facedown_layout::{Polygon, Role};
use facedown_quantity::Nm;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Share of metal asked for in every window of a layer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DensityWindow {
    /// Side of the square window. Windows at the far edges are moved inward so that they end at the die edge.
    pub size: Nm,
    /// Distance from one window to the next.
    pub step: Nm,
    /// Least share of metal, 0 to 1.
    pub low: f64,
    /// Greatest share of metal, 0 to 1.
    pub high: f64,
}

/// Room where no RDL metal may be.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeepOut {
    /// RDL layer (1 nearest the die); absent for all layers.
    pub layer: Option<u8>,
    /// Outline, holes allowed.
    pub polygon: Polygon,
}

/// Design rules. Width and space always apply; everything that is `None` is not checked.
///
/// A distance rule is broken by any distance below its value; a distance equal to it passes. Distances between
/// different shapes (spaces, clearances) are judged exactly. Widths and enclosures allow for round outlines that
/// were drawn as chords: see [`Rules::flattening`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rules {
    /// Least width of RDL metal.
    pub line: Nm,
    /// Least space between RDL metal of different nets on one layer.
    pub space: Nm,
    /// How far a drawn edge may lie from the outline that was meant: sagitta of the chords of an arc plus the
    /// rounding to whole nanometres. Two such edges make an enclosure read low by up to twice this. A width reads low
    /// by up to four times this: two chords at one sagitta each, two more because a ray that starts at the end of a
    /// chord runs beside the centre of the arc. So much is forgiven: with the default of 2 nm an enclosure of 10 um
    /// passes down to 9.996 um and a width of 40 um down to 39.992 um, far below what a mask writer resolves.
    /// Zero for exact judgement of straight outlines.
    pub flattening: Nm,
    /// Least angle between neighbouring edges of the merged metal, inside or outside, in degrees (90 forbids
    /// acute corners).
    pub corner_angle_deg: Option<f64>,
    /// Length over which the direction of an edge is taken at a corner; jogs shorter than this, which merging
    /// shapes on a grid may leave, do not hide a corner and do not make one.
    pub corner_length: Nm,
    /// Widest RDL metal: no wider disc may lie in the metal of a net outside its landings, capture pads and vias. A
    /// thousandth of it and twice [`Rules::flattening`] are forgiven.
    #[serde(default)]
    pub widest: Option<Nm>,
    /// Least space between metal of one net across a notch; breaches are warnings.
    pub notch: Option<Nm>,
    /// Least distance of RDL metal from the die outline (layer `Outline`, or the die rectangle without one).
    pub edge_clearance: Option<Nm>,
    /// RDL metal beyond the dielectric opening over a die pad.
    pub landing_enclosure: Option<Nm>,
    /// Metal of the top RDL layer beyond the UBM.
    pub capture_encloses_ubm: Option<Nm>,
    /// UBM beyond the opening of the last dielectric.
    pub ubm_encloses_bump_opening: Option<Nm>,
    /// Die pad (passivation opening or pad metal as drawn on the pad layer) beyond the dielectric opening in it.
    pub pad_encloses_opening: Option<Nm>,
    /// RDL metal beyond a via opening, on both layers that it joins.
    pub via_enclosure: Option<Nm>,
    /// Least width of the dielectric opening over a die pad.
    pub pad_opening_width: Option<Nm>,
    /// Least space between dielectric openings over die pads.
    pub pad_opening_space: Option<Nm>,
    /// Least space from such an opening to an opening of the last dielectric.
    pub pad_opening_to_bump_opening: Option<Nm>,
    /// Least space from such an opening to a UBM.
    pub pad_opening_to_ubm: Option<Nm>,
    /// Least width of a via opening between RDL layers.
    pub via_width: Option<Nm>,
    /// Least width of an opening of the last dielectric.
    pub bump_opening_width: Option<Nm>,
    /// Least width of a UBM.
    pub ubm_width: Option<Nm>,
    /// Least width of a bump.
    pub bump_width: Option<Nm>,
    /// Least space between bumps, edge to edge.
    pub bump_space: Option<Nm>,
    /// Least distance of a bump's centre from the seal ring (the die outline, as for `edge_clearance`).
    pub bump_centre_to_seal_ring: Option<Nm>,
    /// Least distance of a bump's edge from the seal ring.
    pub bump_edge_to_seal_ring: Option<Nm>,
    /// Share of metal in windows of every RDL layer.
    pub density: Option<DensityWindow>,
    /// Keep-outs beyond those on the drawing. On the drawing, shapes of layer `KeepOut` bind every RDL layer, and
    /// shapes of kind `KeepOut` on an RDL layer bind that layer.
    pub keep_outs: Vec<KeepOut>,
    /// Least distance of RDL metal from a keep-out; zero lets metal touch it.
    pub keep_out_clearance: Nm,
    /// Nets whose pieces are joined elsewhere, on the die or in the substrate. Each piece of such a net needs at
    /// least one pad and one bump; any other net must be one piece.
    pub joined_elsewhere: BTreeSet<String>,
    /// Layers whose labels name the net of a shape without one. Empty: labels are ignored.
    pub net_labels: BTreeSet<Role>,
    /// Number of violations that the report keeps; all are counted.
    pub keep: usize,
}

impl Rules {
    /// Width, space, one piece a net, no acute corners; nothing else.
    pub fn new(line: Nm, space: Nm) -> Rules {
        Rules {
            line,
            space,
            flattening: Nm(2),
            corner_angle_deg: Some(90.0),
            corner_length: Nm(50),
            widest: None,
            notch: None,
            edge_clearance: None,
            landing_enclosure: None,
            capture_encloses_ubm: None,
            ubm_encloses_bump_opening: None,
            pad_encloses_opening: None,
            via_enclosure: None,
            pad_opening_width: None,
            pad_opening_space: None,
            pad_opening_to_bump_opening: None,
            pad_opening_to_ubm: None,
            via_width: None,
            bump_opening_width: None,
            ubm_width: None,
            bump_width: None,
            bump_space: None,
            bump_centre_to_seal_ring: None,
            bump_edge_to_seal_ring: None,
            density: None,
            keep_outs: Vec::new(),
            keep_out_clearance: Nm::ZERO,
            joined_elsewhere: BTreeSet::new(),
            net_labels: BTreeSet::new(),
            keep: 1000,
        }
    }

    /// What an enclosure may fall short by because outlines are drawn as chords on a grid, in nm.
    pub(crate) fn enclosure_slack(&self) -> f64 {
        2.0 * self.flattening.0.max(0) as f64
    }

    /// What a width may fall short by for the same reason, in nm.
    pub(crate) fn width_slack(&self) -> f64 {
        4.0 * self.flattening.0.max(0) as f64
    }

    /// Least width asked for on a layer.
    pub(crate) fn width_on(&self, role: Role) -> Option<Nm> {
        match role {
            Role::Rdl(_) => Some(self.line),
            Role::Opening(1) => self.pad_opening_width,
            Role::Opening(_) => self.via_width,
            Role::BumpOpening => self.bump_opening_width,
            Role::Ubm => self.ubm_width,
            Role::Bump => self.bump_width,
            Role::Outline | Role::Pad | Role::KeepOut => None,
        }
    }

    /// Least space asked for between different things on a layer.
    pub(crate) fn space_on(&self, role: Role) -> Option<Nm> {
        match role {
            Role::Rdl(_) => Some(self.space),
            Role::Opening(1) => self.pad_opening_space,
            Role::Bump => self.bump_space,
            _ => None,
        }
    }
}
