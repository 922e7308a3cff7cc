//! What the report shows of measurements: plain numbers.

use crate::problem::Face;
use serde::{Deserialize, Serialize};

/// Everything that was measured.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Measurements {
    /// Drops that were read, in their order.
    pub drops: Vec<DropFound>,
    /// Maps over the die.
    pub maps: Vec<FaceMap>,
    /// Charts over lots.
    pub charts: Vec<LotChart>,
}

/// A drop that was read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DropFound {
    /// Its number in the problem, from nothing.
    pub of: usize,
    /// Where.
    pub face: Face,
    /// With what.
    pub liquid: String,
    /// Place from the lower left corner of the die, m.
    pub place_m: Option<[f64; 2]>,
    /// Lot.
    pub lot: Option<String>,
    /// Plasma dose before, J.
    pub dose_j: f64,
    /// Time after it, s.
    pub age_s: f64,
    /// Contact angle, rad.
    pub angle_rad: f64,
    /// One standard deviation, rad.
    pub spread_rad: f64,
    /// Where the angle comes from, in words.
    pub from: String,
    /// The picture with what was found in it, PNG in base 64.
    pub marked_png: Option<String>,
    /// Size of that picture, pixels.
    pub marked_size: [usize; 2],
}

/// An angle over the die from readings at places.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FaceMap {
    /// Face.
    pub face: Face,
    /// Liquid.
    pub liquid: String,
    /// Columns and rows.
    pub count: [usize; 2],
    /// Sides of a cell, m.
    pub step_m: [f64; 2],
    /// Angle in each cell, rad, rows from the lower left.
    pub angle_rad: Vec<f32>,
    /// One standard deviation of it, rad.
    pub spread_rad: Vec<f32>,
    /// Places of the readings, m.
    pub places_m: Vec<[f64; 2]>,
    /// Length over which the angle changes, m, as the readings have it.
    pub length_m: f64,
}

/// A control chart of one liquid on one face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LotChart {
    /// Face.
    pub face: Face,
    /// Liquid.
    pub liquid: String,
    /// Whether the face had plasma before.
    pub treated: bool,
    /// Whether the points are means of lots; else single readings.
    pub means: bool,
    /// Middle line, rad.
    pub middle_rad: f64,
    /// The lots in their order.
    pub points: Vec<LotPoint>,
}

/// A lot on a chart.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LotPoint {
    /// Name.
    pub lot: String,
    /// Mean or single reading, rad.
    pub angle_rad: f64,
    /// Lower and upper limit, rad.
    pub limits_rad: [f64; 2],
    /// What asks for a look at the process, in words; empty where all is as usual.
    pub signals: Vec<String>,
}
