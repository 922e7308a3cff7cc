//! What the study reads: plain numbers in SI units, temperatures in K.
//!
//! Frames: the package lies die side up, x and y in its plane, z up; what stands on something is placed by the
//! distance of the two centres, seen from above. Properties are tables over temperature, linear between their points
//! and constant beyond the ends; one point is a constant. Warpage and curvature are positive where the package is
//! convex: its corners lower, nearer the board, than its centre (JESD22-B112).

use serde::{Deserialize, Serialize};

/// A property over temperature: pairs of K and value, temperatures rising; linear between, constant beyond the ends.
pub type Table = Vec<(f64, f64)>;

/// A package and its way from the received substrate to the board.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    /// The substrate.
    pub substrate: Substrate,
    /// What carries the dies, where they do not stand on the substrate.
    pub interposer: Option<Interposer>,
    /// The dies on bumps, at least one; a memory stack counts as one die with many layers.
    pub dies: Vec<Die>,
    /// Stiffener ring or lid, where there is one.
    pub cover: Option<Cover>,
    /// Balls under the substrate, where there are any.
    pub balls: Option<Balls>,
    /// Temperatures at which parts are joined, and those that are asked for.
    pub process: Process,
    /// How finely it is solved; left out: as [`Resolution::default`].
    #[serde(default)]
    pub resolution: Resolution,
}

/// How finely a problem is solved.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Resolution {
    /// Pieces of the grid along the longer side of the substrate, at the least.
    pub pieces: f64,
    /// Longest interval of temperature over which moduli are taken as their mean, K.
    pub interval_k: f64,
    /// Share of the energy that the steps of conjugate gradients may leave.
    pub rest: f64,
}

impl Default for Resolution {
    fn default() -> Resolution {
        Resolution { pieces: 10.0, interval_k: 25.0, rest: 1e-11 }
    }
}

impl Resolution {
    /// A coarse companion for changes of the figures with the input, where the error of the figures themselves falls out
    /// of the difference of two alike. Never for the figures.
    pub const COMPANION: Resolution = Resolution { pieces: 8.0, interval_k: 50.0, rest: 1e-7 };
}

/// An elastic solid that looks the same in every direction.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Solid {
    /// Name, for sentences.
    pub name: String,
    /// Young's modulus, Pa, over temperature. For a silicon wafer in the (100) plane give a pair with
    /// `E / (1 - nu) = 180 GPa`, as plates feel it.
    pub modulus: Table,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Instantaneous coefficient of expansion d(ln L)/dT, 1/K, over temperature; not a mean from a reference
    /// temperature.
    pub expansion: Table,
}

/// A layer of a die or a substrate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Layer {
    /// Name.
    pub name: String,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Its body; for a metal layer the dielectric between the metal.
    pub solid: Solid,
    /// Metal in its plane (traces, planes).
    pub metal: Option<Metal>,
}

/// Metal that takes a share of a layer's area.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Metal {
    /// Share of the area, 0 to 1.
    pub share: f64,
    /// The metal.
    pub solid: Solid,
}

/// A plate of layers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plate {
    /// Size in x, m.
    pub width_m: f64,
    /// Size in y, m.
    pub height_m: f64,
    /// Layers from the bottom up.
    pub layers: Vec<Layer>,
}

/// The substrate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Substrate {
    /// Size and layers, from the ball side up.
    pub plate: Plate,
    /// Bow as received, m, at room temperature: signed warpage over the whole substrate, positive where it is convex
    /// with the die side up. Left out: flat.
    pub received_bow_m: Option<f64>,
}

/// An interposer on the substrate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Interposer {
    /// Size and layers.
    pub plate: Plate,
    /// Centre from the centre of the substrate, m.
    pub at_m: [f64; 2],
    /// Joints between it and the substrate.
    pub joints: JointLayer,
}

/// One die on bumps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Die {
    /// Name.
    pub name: String,
    /// Size and layers as it lies on its bumps: from the active face up to the back.
    pub plate: Plate,
    /// Centre of the die from the centre of what it stands on, m.
    pub at_m: [f64; 2],
    /// Joints under it.
    pub joints: JointLayer,
    /// Thermal interface between its back and the lid; absent without a lid or where it does not touch the lid.
    pub interface: Option<Layer>,
    /// How strong it is, where that is known.
    pub strength: Option<Strength>,
}

/// The layer of joints under a die or an interposer, with what is between them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JointLayer {
    /// Gap between the two faces, m.
    pub gap_m: f64,
    /// Share of the area that joints take, 0 to 1.
    pub share: f64,
    /// The joints: solder, or pillar and solder together.
    pub joint: Solid,
    /// Extent of the joint array in x and y, from the centre of the first to the centre of the last, m.
    pub extent_m: [f64; 2],
    /// Underfill, where there is one.
    pub underfill: Option<Underfill>,
}

/// An underfill.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Underfill {
    /// Cured underfill.
    pub solid: Solid,
    /// Shrinkage of its volume after it has gelled, as a share (0.003 is 0.3 %); what it shrinks while liquid strains
    /// nothing.
    pub shrinkage_after_gel: f64,
}

/// A stiffener ring or a lid, glued along the rim.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cover {
    /// Ring or lid.
    pub kind: CoverKind,
    /// Size in x over its outer edges, m.
    pub width_m: f64,
    /// Size in y over its outer edges, m.
    pub height_m: f64,
    /// Thickness of the ring, or of the lid's plate, m.
    pub thickness_m: f64,
    /// Width of the band that is glued, m.
    pub band_m: f64,
    /// Height of the lid's foot under its plate, m; zero for a ring.
    pub foot_m: f64,
    /// What it is made of.
    pub solid: Solid,
    /// Glue under the band.
    pub adhesive: Layer,
}

/// Ring or lid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CoverKind {
    /// A frame, open over the dies.
    Ring,
    /// A plate over the dies.
    Lid,
}

/// The ball field, centred under the substrate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Balls {
    /// Pitch, m.
    pub pitch_m: f64,
    /// Diameter of a ball, m.
    pub diameter_m: f64,
    /// Extent in x and y, from the centre of the first ball to the centre of the last, m.
    pub extent_m: [f64; 2],
}

/// Temperatures of joining and of asking, K.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Process {
    /// Room temperature.
    pub room_k: f64,
    /// Where the solder of the bumps turns solid: die and substrate are one from here on.
    pub bump_solidus_k: f64,
    /// Where the solder of the bumps is all liquid.
    pub bump_liquidus_k: f64,
    /// Last step of the underfill cure: underfill, die and substrate are one from here on. Not used without
    /// underfill.
    pub underfill_cure_k: f64,
    /// Cure of the glue under ring or lid. Not used without them.
    pub cover_cure_k: f64,
    /// Where the solder of the balls turns solid.
    pub ball_solidus_k: f64,
    /// Where the solder of the balls is all liquid.
    pub ball_liquidus_k: f64,
    /// Peak of the board reflow.
    pub reflow_peak_k: f64,
    /// Coldest temperature of service or qualification.
    pub coldest_k: f64,
    /// Share of what the bare joints hold, 0 to 1, that has crept away when the underfill has cured.
    pub crept_in_cure: f64,
}

/// Strength statistics of a die: independent flaw populations.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Strength {
    /// Flaws of the ground back; the reference is an area, m2.
    pub back: Option<Weibull>,
    /// Flaws along the four edges of the back from sawing; the reference is a length, m.
    pub edge: Option<Weibull>,
}

/// A two-parameter Weibull distribution of strength (W. Weibull 1951).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Weibull {
    /// Strength that 63.2 % of the reference pieces do not reach, Pa, under one tensile stress that is even over the
    /// reference.
    pub characteristic_pa: f64,
    /// Shape.
    pub shape: f64,
    /// Area (m2) or length (m) of the reference piece under that stress.
    pub reference: f64,
    /// Where the numbers come from, for sentences.
    pub source: String,
}

impl Problem {
    /// Whether anything in it is underfilled.
    pub fn has_underfill(&self) -> bool {
        let mut joints = self.dies.iter().map(|d| &d.joints).chain(self.interposer.iter().map(|i| &i.joints));
        joints.any(|j| j.underfill.is_some())
    }
}

impl Solid {
    /// A solid with constant properties: modulus in Pa, Poisson's ratio, expansion in 1/K.
    pub fn constant(name: &str, modulus: f64, poisson: f64, expansion: f64) -> Solid {
        Solid {
            name: name.into(),
            modulus: vec![(300.0, modulus)],
            poisson,
            expansion: vec![(300.0, expansion)],
        }
    }
}

impl Layer {
    /// A layer of one solid without metal in it.
    pub fn plain(name: &str, thickness_m: f64, solid: Solid) -> Layer {
        Layer { name: name.into(), thickness_m, solid, metal: None }
    }
}

impl Plate {
    /// Thickness of all layers, m.
    pub fn thickness_m(&self) -> f64 {
        self.layers.iter().map(|l| l.thickness_m).sum()
    }
}
