//! What the front gives: times of arrival, voids, figures as plain numbers.

use serde::{Deserialize, Serialize};

/// The filled gap, or what became of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// Cells of the grid, in rows; cells that hold nothing are left out.
    pub cells: Vec<CellOutcome>,
    /// Columns and rows of the grid.
    pub count: [usize; 2],
    /// Sides of a cell, m.
    pub step_m: [f64; 2],
    /// How it ended.
    pub end: End,
    /// Fluidity time at which the last cell was full, 1/Pa; absent where it never was.
    pub fill_fluidity: Option<f64>,
    /// Time of it, s; absent as well where the liquid gels before.
    pub fill_time_s: Option<f64>,
    /// Fluidity time at the gel, 1/Pa, where the liquid gels.
    pub gel_fluidity: Option<f64>,
    /// Share of the free volume that is filled at the end, or at the gel where that comes before; 0 to 1.
    pub filled: f64,
    /// Place of the last cell to be filled, m.
    pub last_place_m: Option<[f64; 2]>,
    /// Voids: trapped air, largest first.
    pub voids: Vec<Void>,
    /// Plan area that stayed dry without being closed off, m2: not reached, or not wetting.
    pub unfilled_area_m2: f64,
    /// Free volume of the gap, m3.
    pub free_volume_m3: f64,
    /// Liquid that each line holds at the end, m3, in the order of the lines; none for an ample one.
    pub left_m3: Vec<Option<f64>>,
    /// Liquid that went into the gap, m3.
    pub used_m3: f64,
    /// Largest error of the volume of a step, over the filled volume.
    pub volume_error: f64,
    /// Air that the front passed over in places smaller than a cell, over the free volume.
    pub passed_over: f64,
    /// The front over time.
    pub course: Vec<Progress>,
    /// Solutions of the pressure, and sweeps of the solver.
    pub effort: [usize; 2],
}

/// How it ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum End {
    /// Every cell is full.
    Full,
    /// What is dry is trapped air.
    Voids,
    /// The lines ran dry.
    RanDry,
    /// What is dry does not draw the liquid in.
    DoesNotWet,
    /// Every line begins after the gel.
    Gelled,
}

/// A cell.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CellOutcome {
    /// Column and row.
    pub at: [usize; 2],
    /// Centroid, m.
    pub place_m: [f64; 2],
    /// Area, m2.
    pub area_m2: f64,
    /// Fluidity time at which the front passed it (half full), 1/Pa.
    pub arrival_fluidity: Option<f64>,
    /// Time of it, s; absent as well where the liquid gels before.
    pub arrival_s: Option<f64>,
    /// Fill at the end, 0 to 1.
    pub fill: f64,
    /// Share of its gap that repels beside a part that draws, and stays dry, 0 to 1.
    pub repels: f64,
    /// Driving pressure of that part, Pa; zero without one.
    pub repelling_pa: f64,
    /// Void that it belongs to, by its number from 1; 0 for none.
    pub void: u32,
    /// Largest angle between the ways of the front on both sides of the cell, rad: near pi where fronts meet head-on.
    pub meeting_rad: f64,
    /// Permeability, m2.
    pub permeability_m2: f64,
    /// Share of the gap that bumps leave free.
    pub free: f64,
    /// Driving pressure, Pa.
    pub drive_pa: f64,
}

/// A void.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Void {
    /// Plan area without bumps in it, m2.
    pub area_m2: f64,
    /// Volume of the air, m3.
    pub volume_m3: f64,
    /// Pressure of the air, Pa.
    pub pressure_pa: f64,
    /// Pressure times volume when it was closed off, over that of now; 1 but for rounding.
    pub mass_pa_m3: f64,
    /// Middle, m.
    pub place_m: [f64; 2],
    /// Bumps that it touches, by their number.
    pub bumps: Vec<usize>,
    /// Lower left and upper right of its cells, m.
    pub bounds_m: [[f64; 2]; 2],
}

impl Void {
    /// Whether it joins two bumps.
    pub fn bridges(&self) -> bool {
        self.bumps.len() > 1
    }
}

/// The front at one time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Progress {
    /// Fluidity time, 1/Pa.
    pub fluidity: f64,
    /// Time, s; absent after the gel.
    pub time_s: Option<f64>,
    /// Share of the free volume that is filled.
    pub filled: f64,
    /// Volume that flowed in in the step, m3.
    pub inflow_m3: f64,
    /// Error of the step's volume over the filled volume.
    pub volume_error: f64,
    /// Pockets of air.
    pub pockets: usize,
}

impl Outcome {
    /// Area of all voids over that of the die.
    pub fn void_area_fraction(&self) -> f64 {
        let whole: f64 = self.cells.iter().map(|c| c.area_m2).sum();
        self.voids.iter().map(|v| v.area_m2).sum::<f64>() / whole
    }

    /// Bumps that voids touch, each once.
    pub fn bumps_touched(&self) -> usize {
        let all: std::collections::BTreeSet<usize> =
            self.voids.iter().flat_map(|v| v.bumps.iter().copied()).collect();
        all.len()
    }
}
