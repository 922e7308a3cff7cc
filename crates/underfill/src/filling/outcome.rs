//! What is kept of a front: plain numbers for the figures, one map for the pictures.

use crate::front;
use crate::outcome::FrontPoint;
use serde::{Deserialize, Serialize};

/// The gap under a part, filled or not, on its bump map.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Filling {
    /// How it ended.
    pub end: front::End,
    /// Time until the last cell that can be filled is full, s; absent where it never is, or after the gel.
    pub fill_time_s: Option<f64>,
    /// Error of that time by coarser grids, s.
    pub fill_time_error_s: Option<f64>,
    /// Observed order of the error; absent where three grids tell none.
    pub order: Option<f64>,
    /// Share of the free volume that is filled at the end, or at the gel, 0 to 1.
    pub filled: f64,
    /// Place of the last cell to be filled, m from the lower left corner of the die.
    pub last_place_m: Option<[f64; 2]>,
    /// Voids, largest first.
    pub voids: Vec<front::Void>,
    /// Area of all voids over that of the die.
    pub void_area_fraction: f64,
    /// Error of the area of all voids, m2.
    pub void_area_error_m2: f64,
    /// Plan area that stays dry without being closed off, m2.
    pub unfilled_area_m2: f64,
    /// Largest error of the volume of a step, over the filled volume.
    pub volume_error: f64,
    /// Liquid that went into the gap, m3.
    pub used_m3: f64,
    /// Liquid that the lines still hold at the end, m3: what fillets are made of.
    pub left_m3: f64,
    /// Free volume of the gap, m3.
    pub free_volume_m3: f64,
    /// Bumps that voids touch, each once.
    pub bumps_touched: usize,
    /// Largest diameter of the bumps, m; zero without bumps.
    pub bump_diameter_m: f64,
    /// Centres of the bumps, m from the lower left corner of the die.
    pub bumps_m: Vec<[f64; 2]>,
    /// Arrival and voids over the die.
    pub map: FillMap,
    /// The front over time.
    pub course: Vec<FrontPoint>,
}

/// Numbers over the cells of the grid, in rows from the lower left; of a cell that holds nothing, none.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FillMap {
    /// Columns and rows.
    pub count: [usize; 2],
    /// Sides of a cell, m.
    pub step_m: [f64; 2],
    /// When the front passed, s.
    pub arrival_s: Vec<Option<f32>>,
    /// Number of the void from 1, 0 for none.
    pub void: Vec<u32>,
    /// Contact angle on the substrate, rad, where it is not the same everywhere; else empty.
    pub angle_substrate_rad: Vec<f32>,
}

/// Errors by coarser grids.
pub(crate) struct Errors {
    pub error_s: Option<f64>,
    pub order: Option<f64>,
    pub void_area_m2: f64,
}

/// Points of the course that are kept at most.
const POINTS: usize = 120;

impl Filling {
    /// Keeps an outcome on an aligned grid.
    pub(crate) fn keep(problem: &front::Problem, outcome: &front::Outcome, errors: Errors) -> Filling {
        let [columns, rows] = outcome.count;
        let mut arrival_s = vec![None; columns * rows];
        let mut void = vec![0; columns * rows];
        let uneven = problem.angle_substrate_rad.uniform().is_none();
        let mut angle_substrate_rad = vec![0.0; if uneven { columns * rows } else { 0 }];
        for cell in &outcome.cells {
            let at = cell.at[1] * columns + cell.at[0];
            // Where the front turns dry cells into a void it has passed them only in part.
            arrival_s[at] = cell.arrival_s.filter(|_| cell.fill > 0.5).map(|t| t as f32);
            void[at] = if cell.fill > 0.5 { 0 } else { cell.void };
            if uneven {
                angle_substrate_rad[at] = problem.angle_substrate_rad.at(cell.place_m) as f32;
            }
        }
        let told = outcome.course.iter().filter_map(|p| Some((p.time_s?, p.filled, p.pockets)));
        let all: Vec<(f64, f64, usize)> = std::iter::once((0.0, 0.0, 0)).chain(told).collect();
        let every = all.len().div_ceil(POINTS).max(1);
        let last = all.len() - 1;
        let course = all
            .iter()
            .enumerate()
            .filter(|(k, _)| k % every == 0 || *k == last)
            .map(|(_, p)| FrontPoint { time_s: p.0, filled: p.1, position_m: None, pockets: p.2 });
        let dispensed: f64 = problem.lines.iter().map(|l| l.volume_m3).sum();
        Filling {
            end: outcome.end,
            fill_time_s: outcome.fill_time_s,
            fill_time_error_s: errors.error_s,
            order: errors.order,
            filled: outcome.filled,
            last_place_m: outcome.last_place_m,
            voids: outcome.voids.clone(),
            // A sum of nothing is minus zero.
            void_area_fraction: outcome.void_area_fraction() + 0.0,
            void_area_error_m2: errors.void_area_m2,
            unfilled_area_m2: outcome.unfilled_area_m2,
            volume_error: outcome.volume_error,
            used_m3: outcome.used_m3,
            left_m3: (dispensed - outcome.used_m3).max(0.0),
            free_volume_m3: outcome.free_volume_m3,
            bumps_touched: outcome.bumps_touched(),
            bump_diameter_m: problem.bumps.as_ref().map_or(0.0, |b| b.diameter_m),
            bumps_m: problem.bumps.as_ref().map_or_else(Vec::new, |b| b.places_m.clone()),
            map: FillMap {
                count: outcome.count,
                step_m: outcome.step_m,
                arrival_s,
                void,
                angle_substrate_rad,
            },
            course: course.collect(),
        }
    }

    /// True where every cell is full in time.
    pub fn is_full(&self) -> bool {
        self.end == front::End::Full && self.fill_time_s.is_some()
    }

    /// Voids that touch a bump.
    pub fn voids_touching(&self) -> usize {
        self.voids.iter().filter(|v| !v.bumps.is_empty()).count()
    }

    /// Voids that join two bumps.
    pub fn voids_bridging(&self) -> usize {
        self.voids.iter().filter(|v| v.bridges()).count()
    }
}
