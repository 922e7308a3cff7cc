//! What the front reads: places of bumps, gap and angles as maps, lines with volumes and times. Plain numbers in SI; places
//! in m from the lower left corner of the die.

use super::clock::Clock;
use super::map::{Map, Shape};
use crate::problem::{BumpShape, Edge, Lattice};
use serde::{Deserialize, Serialize};

/// A gap under a die that is to be filled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    /// Extent of the die along x and y, m.
    pub size_m: [f64; 2],
    /// Gap, m.
    pub gap_m: Map,
    /// Bumps; none for a bare gap.
    pub bumps: Option<Bumps>,
    /// Surface tension, N/m.
    pub tension_n_m: f64,
    /// Contact angle on the die, rad.
    pub angle_die_rad: Map,
    /// Contact angle on the substrate, rad.
    pub angle_substrate_rad: Map,
    /// Contact angle on the bumps, rad.
    pub angle_bump_rad: Map,
    /// Where there is no gap to fill: dams, posts.
    pub blocked: Vec<Shape>,
    /// Edges that are walls to liquid and air; all others are open to the air where no line lies.
    pub walls: Vec<Edge>,
    /// Dispensed lines. Lines on one and the same stretch are passes; otherwise they must not lie over each other.
    pub lines: Vec<Line>,
    /// Viscosity over time.
    pub clock: Clock,
    /// Shear thinning or thickening; left out, none.
    pub shear: Option<Shear>,
    /// Pressure of the air in which it is dispensed, Pa; zero for a perfect vacuum.
    pub ambient_pa: f64,
    /// The grid.
    pub resolution: Resolution,
}

/// Bumps by their places.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bumps {
    /// Centres, m.
    pub places_m: Vec<[f64; 2]>,
    /// Largest diameter, m.
    pub diameter_m: f64,
    /// Shape between the faces.
    pub shape: BumpShape,
    /// Arrangement that describes the neighbourhood of a bump best; hexagonal rows run along x.
    pub lattice: Lattice,
}

/// A line of liquid along a stretch of an edge.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// Edge.
    pub edge: Edge,
    /// Begin of the stretch, m along x or y.
    pub from_m: f64,
    /// End of the stretch, m along x or y.
    pub to_m: f64,
    /// Volume, m3; infinite for an ample feed.
    pub volume_m3: f64,
    /// When it is dispensed, s.
    pub start_s: f64,
}

/// A liquid whose shear stress is `consistency rate^index` in what its viscosity over time is at a rate of 1/s.
///
/// The front is followed as that of a Newtonian liquid, and its time is stretched by the apparent viscosity at the mean
/// pressure gradient of the wet region. That is exact for a straight front in an even bare gap and an estimate otherwise:
/// places of one time are not changed by it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Shear {
    /// Index of the power law; 1 for none.
    pub index: f64,
}

/// Fineness of the grid and of the steps.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Resolution {
    /// Cells in a pitch of the bumps.
    pub cells_a_pitch: f64,
    /// Least number of cells along the shorter side.
    pub least: usize,
    /// Cells that the front goes in a step, on the average over its flow.
    pub advance: f64,
    /// Angle by which the grid is turned against the die, rad.
    pub turned_rad: f64,
}

impl Default for Resolution {
    fn default() -> Resolution {
        Resolution { cells_a_pitch: 2.0, least: 64, advance: 0.5, turned_rad: 0.0 }
    }
}

impl Problem {
    /// Uniform gap, angles and ample feed along edges: what most tests begin with.
    pub fn bare(size_m: [f64; 2], gap_m: f64, tension_n_m: f64, angle_rad: f64, edges: &[Edge]) -> Problem {
        Problem {
            size_m,
            gap_m: Map::Uniform(gap_m),
            bumps: None,
            tension_n_m,
            angle_die_rad: Map::Uniform(angle_rad),
            angle_substrate_rad: Map::Uniform(angle_rad),
            angle_bump_rad: Map::Uniform(angle_rad),
            blocked: Vec::new(),
            walls: Vec::new(),
            lines: edges.iter().map(|&edge| Line::ample(edge, size_m)).collect(),
            clock: Clock::constant(1.0),
            shear: None,
            ambient_pa: 101_325.0,
            resolution: Resolution::default(),
        }
    }
}

impl Line {
    /// A line along a whole edge that does not run dry.
    pub fn ample(edge: Edge, size_m: [f64; 2]) -> Line {
        let to_m = match edge {
            Edge::Left | Edge::Right => size_m[1],
            Edge::Bottom | Edge::Top => size_m[0],
        };
        Line { edge, from_m: 0.0, to_m, volume_m3: f64::INFINITY, start_s: 0.0 }
    }
}
