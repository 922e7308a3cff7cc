//! The package as a network of plates, joints and films, solved by a small dense system.
//!
//! Unknown are the heat that each die sends through its back and the heat that flows through the lid's foot. All plates
//! are linear for given films and conductivities, so the junction temperatures seen from above and from below are
//! linear in them and must agree. Rises are over the ambient, K.
//!
//! A plate under a smaller one sees its footprint as an even source; in turn the smaller one sees the footprint's mean
//! temperature, while its uneven heat sees the layers below cut off at its own outline. A film over a whole face takes
//! heat under a footprint too, where there is no air; that heat is put back as part of the source, which is exact but
//! for the unevenness within the footprint (derived).

mod assembly;
mod balance;
mod faces;
mod stage;

pub(crate) use stage::{MOST_MODES, Stage};

use crate::film::Natural;
use crate::mixing::Pattern;
use crate::problem::{Carrier, Problem};
use crate::sheet::Sheet;

/// Where heat goes below the package.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Downward {
    /// Into a board in air of that velocity, m/s.
    Air(f64),
    /// Into a board whose rim around the package is held at the ambient temperature (JESD51-8).
    Ring,
    /// Nowhere.
    Insulated,
}

/// Where heat goes above the package.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Upward {
    /// Into air of that velocity, m/s.
    Air(f64),
    /// Through a film, W/(m2 K).
    Film(f64),
    /// Nowhere.
    Insulated,
}

/// What is solved: surroundings, board, choices of the method.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// Ambient, K.
    pub ambient_k: f64,
    /// Below.
    pub down: Downward,
    /// Above.
    pub up: Upward,
    /// The board.
    pub board: Carrier,
    /// Correlations of natural convection.
    pub natural: Natural,
    /// How metal lies in thin trace layers.
    pub pattern: Pattern,
    /// Heat of each die, W.
    pub powers_w: Vec<f64>,
}

/// Films of the faces, convection and radiation together, W/(m2 K).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Films {
    /// On the lid, or on the backs of the dies.
    pub top: f64,
    /// On the substrate around the dies, where there is no lid.
    pub substrate: f64,
    /// On the board around the package.
    pub board_top: f64,
    /// Under the board.
    pub board_bottom: f64,
}

/// Mean temperatures that conductivities are taken at, K.
#[derive(Debug, Clone, PartialEq)]
pub struct Levels {
    /// Dies in the order of the problem.
    pub dies: Vec<f64>,
    /// Lid.
    pub lid: f64,
    /// Interposer.
    pub interposer: f64,
    /// Substrate.
    pub substrate: f64,
    /// Board.
    pub board: f64,
}

/// The path of a board with a cooled ring, from the footprint and from the board sensor, K/W.
#[derive(Debug, Clone, Copy)]
struct Ring {
    footprint: f64,
    sensor: f64,
}

/// The assembled network.
#[derive(Debug, Clone)]
pub struct Network<'a> {
    pub(crate) problem: &'a Problem,
    pub(crate) setting: &'a Setting,
    /// Dies on bumps, as indices into the problem's dies.
    pub(crate) on_bumps: Vec<usize>,
    /// Area of each die on bumps, m2.
    areas: Vec<f64>,
    /// Bump layer of each die on bumps.
    pub(crate) joints: Vec<Sheet>,
    /// Body of each die on bumps, from the active face to the back.
    pub(crate) bodies: Vec<Vec<Sheet>>,
    /// Interface of each die on bumps.
    pub(crate) interfaces: Vec<Option<Sheet>>,
    /// Heat of the dies that stand on each die on bumps, W.
    stacked_w: Vec<f64>,
    board: Option<Stage>,
    ring: Option<Ring>,
    pub(crate) balls: Sheet,
    pub(crate) substrate: Option<Stage>,
    pub(crate) interposer: Option<Stage>,
    pub(crate) interposer_joints: Option<Sheet>,
    pub(crate) lid: Option<Stage>,
    foot: Option<f64>,
    films: Films,
}

/// Temperatures and heat of a solved network; rises over the ambient, K; heat in W.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Solution {
    /// Mean rise of the active face of each die on bumps.
    pub junction: Vec<f64>,
    /// Mean rise of its back.
    pub back: Vec<f64>,
    /// Heat through its body toward its back; negative where a stacked die heats it from above.
    pub body_up: Vec<f64>,
    /// Heat that leaves its back upward, that of stacked dies included.
    pub up: Vec<f64>,
    /// Heat through its bumps.
    pub down: Vec<f64>,
    /// Mean rise of what carries it, under its bumps.
    pub under_bumps: Vec<f64>,
    /// Rise of the top of the case over its centre.
    pub case: Vec<f64>,
    /// Heat through the lid's foot, downward.
    pub foot: f64,
    /// Mean rise of the lid's outer face.
    pub lid: f64,
    /// Mean rise of the substrate under the interposer, or zero.
    pub under_interposer: f64,
    /// Mean rise of the substrate's face.
    pub substrate: f64,
    /// Mean rise of the board under the package.
    pub board_footprint: f64,
    /// Rise of the board beside the package, at the standard place.
    pub board_sensor: f64,
    /// Heat through the balls.
    pub balls: f64,
    /// Top, substrate, board above, board below.
    pub faces: [FaceHeat; 4],
}

/// One cooled face.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FaceHeat {
    /// Area, m2.
    pub area: f64,
    /// Mean rise, K.
    pub rise: f64,
    /// Heat that leaves, W.
    pub heat: f64,
}
