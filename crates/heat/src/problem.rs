//! What the study reads: plain numbers in SI units, temperatures in K.
//!
//! Frames: a die's own frame has its origin at the lower-left corner, seen from above through the package; what stands
//! on something is placed by the distance of the two centres. Conductivities are tables over temperature, linear
//! between their points and constant beyond the ends; one point is a constant.

use serde::{Deserialize, Serialize};

/// A property over temperature: pairs of K and value, temperatures rising; linear between, constant beyond the ends.
pub type Table = Vec<(f64, f64)>;

/// A package on its board, with its power and surroundings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    /// The dies, at least one on bumps.
    pub dies: Vec<Die>,
    /// What carries the dies, where they do not stand on the substrate.
    pub interposer: Option<Interposer>,
    /// The substrate.
    pub substrate: Carrier,
    /// The balls between substrate and board, over the whole substrate.
    pub balls: Joints,
    /// The board. Left out: the JESD51-9 board with two planes for this body size.
    pub board: Option<Carrier>,
    /// The lid, where there is one.
    pub lid: Option<Lid>,
    /// The stiffener ring, where there is one. The closed forms leave it out.
    #[serde(default)]
    pub ring: Option<Ring>,
    /// Where it works.
    pub service: Service,
    /// Emissivities of the faces.
    pub emissivity: Emissivity,
    /// Film of the cold plate that the case resistance is taken with, W/(m2 K).
    pub cold_plate_film: f64,
    /// Whether the pair of transients of JESD51-14 is followed too, by the solid model.
    #[serde(default)]
    pub pair: bool,
    /// Power of dies or blocks over time, for the solid model.
    #[serde(default)]
    pub trace: Option<Trace>,
    /// How finely the solid model is cut, 1 for the usual grid; left out: closed forms alone.
    #[serde(default)]
    pub fineness: Option<f64>,
}

/// Power over time. What does not follow it keeps its power.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Trace {
    /// It repeats for ever; else the powers of its first piece held before it.
    pub repeats: bool,
    /// How long each piece of constant power lasts, s.
    pub durations_s: Vec<f64>,
    /// What follows it.
    pub courses: Vec<Course>,
}

/// A die or block that follows a trace.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Course {
    /// Name.
    pub name: String,
    /// Index of the die.
    pub die: usize,
    /// Index of its block; absent for the whole die, in the shape of its blocks or cells.
    pub block: Option<usize>,
    /// Heat in each piece, W.
    pub powers_w: Vec<f64>,
}

/// One die.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Die {
    /// Name.
    pub name: String,
    /// Size in x, m.
    pub width_m: f64,
    /// Size in y, m.
    pub height_m: f64,
    /// Centre of the die from the centre of what it stands on, m, seen from above.
    pub at_m: [f64; 2],
    /// Layers from the active face to the back; for a memory stack also its upper dies and bond layers.
    pub body: Vec<Layer>,
    /// Heat of the die, W, `even_w` and its bumps' Joule heat ([`Joints::heats_w`]) included. Zero is allowed.
    pub power_w: f64,
    /// Where the rest of the heat arises on the active face; empty where it is spread evenly, or where there is a grid.
    pub blocks: Vec<Block>,
    /// The same by cell, instead of blocks.
    #[serde(default)]
    pub grid: Option<PowerGrid>,
    /// Heat that is spread evenly over the active face beside blocks or cells, W: Joule heat of its redistribution.
    #[serde(default)]
    pub even_w: f64,
    /// How it is mounted.
    pub mount: Mount,
    /// Thermal interface between its back and the lid; absent without a lid or where it does not touch the lid.
    pub interface: Option<Interface>,
}

/// Heat of a rectangle of the active face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Block {
    /// Left edge, m, die frame as seen from above.
    pub x_m: f64,
    /// Lower edge, m, die frame as seen from above.
    pub y_m: f64,
    /// Size in x, m.
    pub width_m: f64,
    /// Size in y, m.
    pub height_m: f64,
    /// Heat, W.
    pub power_w: f64,
}

/// Values by cell: from the lower-left corner to the right, then upward, as seen from above.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cells {
    /// Cells along x.
    pub columns: usize,
    /// Values, as many as columns times rows.
    pub values: Vec<f64>,
}

/// Heat by cell over a rectangle of the active face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PowerGrid {
    /// Left edge, m, die frame as seen from above.
    pub x_m: f64,
    /// Lower edge, m, die frame as seen from above.
    pub y_m: f64,
    /// Size in x, m.
    pub width_m: f64,
    /// Size in y, m.
    pub height_m: f64,
    /// Heat of each cell, W.
    pub cells: Cells,
}

/// How a die is mounted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mount {
    /// Face down on bumps, on the interposer where there is one, else on the substrate.
    Bumps(Joints),
    /// Face up on the back of another die.
    OnDie {
        /// Index of the die below.
        host: usize,
        /// Glue or film under it.
        attach: Vec<Layer>,
    },
}

/// An array of bumps or balls with what is between them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Joints {
    /// Number of joints.
    pub count: f64,
    /// Pieces of one joint, one above the other.
    pub pieces: Vec<Piece>,
    /// Conductivity between the joints, W/(m K): underfill or air.
    pub fill: Table,
    /// Centres of the joints from the lower-left corner of the area that they lie in, m, seen from above, for the solid
    /// model; empty where they are spread evenly. Else there are `count` of them.
    #[serde(default)]
    pub places: Vec<[f64; 2]>,
    /// Joule heat of each joint, W, in the order of the places; empty where there is none.
    #[serde(default)]
    pub heats_w: Vec<f64>,
    /// Heat capacity of the layer's volume, J/(m3 K), joints and fill together; left out: no transients.
    #[serde(default)]
    pub capacity: Option<f64>,
}

/// A piece of a joint.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Piece {
    /// Height, m.
    pub height_m: f64,
    /// Largest diameter, m.
    pub diameter_m: f64,
    /// A sphere cut at both ends instead of a cylinder.
    pub barrel: bool,
    /// Conductivity, W/(m K).
    pub conductivity: Table,
}

/// A layer of a die, carrier or lid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Layer {
    /// Name.
    pub name: String,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Conductivity of its body in the plane, W/(m K); for a metal layer that of the dielectric between the metal.
    pub in_plane: Table,
    /// Conductivity of its body through the plane, W/(m K). Left out: as in the plane.
    pub through: Option<Table>,
    /// Metal in its plane (traces, planes).
    pub metal: Option<Metal>,
    /// Metal columns through it (vias, joints in openings of a mask).
    pub columns: Option<Metal>,
    /// Heat capacity of its volume, J/(m3 K), metal included; left out: no transients.
    #[serde(default)]
    pub capacity: Option<f64>,
}

/// Metal that takes a share of a layer's area.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Metal {
    /// Share of the area, 0 to 1.
    pub share: f64,
    /// Conductivity, W/(m K).
    pub conductivity: Table,
}

/// A substrate or a board.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Carrier {
    /// Size in x, m.
    pub width_m: f64,
    /// Size in y, m.
    pub height_m: f64,
    /// Layers from the die side down.
    pub layers: Vec<Layer>,
}

/// An interposer on the substrate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Interposer {
    /// Size and layers.
    pub carrier: Carrier,
    /// Centre from the centre of the substrate, m.
    pub at_m: [f64; 2],
    /// Joints between it and the substrate, over its whole area.
    pub joints: Joints,
}

/// A lid over the dies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Lid {
    /// Size in x, m.
    pub width_m: f64,
    /// Size in y, m.
    pub height_m: f64,
    /// Thickness of the plate, m.
    pub thickness_m: f64,
    /// Conductivity, W/(m K).
    pub conductivity: Table,
    /// Its foot on the substrate, where it has one.
    pub foot: Option<Foot>,
    /// Heat capacity of its volume, J/(m3 K); left out: no transients.
    #[serde(default)]
    pub capacity: Option<f64>,
}

/// The foot of a lid, a frame on the rim of the substrate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Foot {
    /// Width of the frame, m.
    pub band_m: f64,
    /// Height, m.
    pub height_m: f64,
    /// Glue under it.
    pub adhesive: Layer,
}

/// A stiffener ring, a frame on the rim of the substrate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Ring {
    /// Outer size in x, m.
    pub width_m: f64,
    /// Outer size in y, m.
    pub height_m: f64,
    /// Width of the frame, m.
    pub band_m: f64,
    /// Height, m.
    pub thickness_m: f64,
    /// Conductivity, W/(m K).
    pub conductivity: Table,
    /// Glue under it.
    pub adhesive: Layer,
    /// Heat capacity of its volume, J/(m3 K); left out: no transients.
    #[serde(default)]
    pub capacity: Option<f64>,
}

/// A thermal interface.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Interface {
    /// Name (`TIM1`).
    pub name: String,
    /// Its bond line.
    pub bond_line: BondLine,
    /// Conductivity, W/(m K).
    pub conductivity: Table,
    /// Contact resistance of both faces together, m2 K/W.
    pub contact_m2_k_w: f64,
    /// Share of its area that is void, 0 to below 1.
    pub voids: f64,
    /// Where the voids lie, for the solid model; nothing where they are spread evenly. Else `voids` is their share.
    #[serde(default)]
    pub void_places: Option<VoidPlaces>,
    /// Heat capacity of its volume, J/(m3 K); left out: no transients.
    #[serde(default)]
    pub capacity: Option<f64>,
}

/// Places of voids over the area of an interface.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum VoidPlaces {
    /// Round voids: centre from the lower-left corner of the area, seen from above, and diameter, m.
    Circles(Vec<([f64; 2], f64)>),
    /// Share of each cell of the whole area that is void.
    Map(Cells),
}

/// Thickness of a thermal interface.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BondLine {
    /// Given, m.
    Given(f64),
    /// Squeezed out until the filler holds the pressure.
    Pressed {
        /// Yield stress of the filled paste, Pa.
        yield_stress_pa: f64,
        /// Pressure while it is applied, Pa.
        pressure_pa: f64,
    },
}

/// Where the package works.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Service {
    /// Ambient temperature, K; for the cold plates their temperature.
    pub ambient_k: f64,
    /// Surroundings.
    pub surroundings: Surroundings,
    /// Film on the top of the package, heat sink included, W/(m2 K), instead of the air's own.
    pub top_film: Option<f64>,
    /// Heat sink on the lid or on the die.
    pub heat_sink: Option<HeatSink>,
}

/// Surroundings.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Surroundings {
    /// Natural convection over a horizontal board (JESD51-2A).
    StillAir,
    /// Air along the board (JESD51-6).
    MovingAir {
        /// Velocity, m/s.
        speed_m_s: f64,
    },
    /// A cooled ring on the board around the package, all else insulated (JESD51-8).
    RingColdPlate,
    /// A cooled plate on the package, the board in still air.
    TopColdPlate,
}

/// A heat sink.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeatSink {
    /// Resistance from its base to the air, K/W.
    pub resistance_k_w: f64,
    /// Thermal interface between it and the lid or die (`TIM2`).
    pub interface: Option<Interface>,
}

/// Emissivities, 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Emissivity {
    /// Lid or back of the die.
    pub top: f64,
    /// Substrate.
    pub substrate: f64,
    /// Board.
    pub board: f64,
}

impl Default for Emissivity {
    /// Silicon 0.65, solder mask and laminate 0.90 (middle of the usual ranges; from memory).
    fn default() -> Self {
        Emissivity { top: 0.65, substrate: 0.90, board: 0.90 }
    }
}

impl Layer {
    /// A layer of one constant conductivity, W/(m K).
    pub fn plain(name: &str, thickness_m: f64, conductivity: f64) -> Layer {
        Layer {
            name: name.into(),
            thickness_m,
            in_plane: vec![(300.0, conductivity)],
            through: None,
            metal: None,
            columns: None,
            capacity: None,
        }
    }
}

impl Die {
    /// Joule heat of its bumps, W.
    pub fn joule_w(&self) -> f64 {
        match &self.mount {
            Mount::Bumps(joints) => joints.heats_w.iter().sum(),
            Mount::OnDie { .. } => 0.0,
        }
    }
}

impl Cells {
    /// Cells along y.
    pub fn rows(&self) -> usize {
        self.values.len() / self.columns.max(1)
    }
}

impl Problem {
    /// Heat of all dies, W.
    pub fn power_w(&self) -> f64 {
        self.dies.iter().map(|d| d.power_w).sum()
    }
}
