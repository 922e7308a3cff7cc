//! What a cell of the grid resists and draws, from the gap, the bumps and the angles in it.
//!
//! [`CellLaw`] is the one place where permeability and driving pressure of a cell are asked for. Permeability
//! comes from the table of solved unit cells ([`crate::flow::cells`]), the rest from closed forms ([`ClosedForms`]).
//!
//! Every bump owns a box of its lattice, as wide and high as the steps to its neighbours. The boxes of an even array tile it,
//! so that its density is even and ends half a pitch beyond the outer row; where bumps are missing, the gap is bare. The density
//! in a cell is the share of the boxes in it, and the cell is one of an array with that density. Angles enter by the mean
//! of their cosines over the cell, as energies add up (A. B. D. Cassie, Discuss. Faraday Soc. 3 (1948) 11).

use super::Refusal;
use super::grid::{Grid, SIDE};
use super::map::Map;
use super::problem::{Bumps, Problem};
use crate::flow::Medium;
use crate::flow::permeability::Cell;
use crate::flow::plates::Gap;
use crate::flow::pressure::Bump;
use crate::nearest;
use crate::problem::{BumpShape, Lattice};

/// What is in a cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Local {
    /// Gap, m.
    pub gap_m: f64,
    /// Bumps in an area, 1/m2.
    pub density_per_m2: f64,
    /// Mean cosine of the contact angle on die, substrate and bumps.
    pub cosines: [f64; 3],
}

/// Permeability, free share and driving pressure of a cell.
pub trait CellLaw: Sync {
    /// The medium; nothing where the bumps cannot span the gap.
    fn medium(&self, local: Local) -> Option<Medium>;
}

/// The closed forms of [`crate::flow`] with its table of unit cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClosedForms {
    /// Surface tension, N/m.
    pub tension_n_m: f64,
    /// Largest diameter of the bumps (m), shape and arrangement; none for a bare gap.
    pub bump: Option<(f64, BumpShape, Lattice)>,
}

/// Bumps are not taken nearer to each other than this times their diameter.
const NEAREST: f64 = 1.02;

impl ClosedForms {
    /// Of a problem.
    pub fn of(problem: &Problem) -> ClosedForms {
        let bump = problem.bumps.as_ref().map(|b| (b.diameter_m, b.shape, b.lattice));
        ClosedForms { tension_n_m: problem.tension_n_m, bump }
    }
}

impl CellLaw for ClosedForms {
    fn medium(&self, local: Local) -> Option<Medium> {
        let angle = |k: usize| local.cosines[k].clamp(-1.0, 1.0).acos();
        let gap = Gap { gap_m: local.gap_m, tension_n_m: self.tension_n_m, angles_rad: [angle(0), angle(1)] };
        let Some((diameter_m, shape, lattice)) =
            self.bump.filter(|b| local.density_per_m2 * b.0 * b.0 > 1e-9)
        else {
            let permeability_m2 = local.gap_m * local.gap_m / 12.0;
            return Some(Medium { permeability_m2, free: 1.0, pressure_pa: gap.pressure() });
        };
        let pitch_m = (1.0 / (local.density_per_m2 * lattice.cell_share())).sqrt().max(NEAREST * diameter_m);
        let bump = Bump { cell: Cell { lattice, pitch_m, diameter_m, gap_m: local.gap_m }, shape };
        let free = 1.0 - bump.volume()? / (bump.cell.area() * local.gap_m);
        let permeability_m2 = bump.permeability_m2()?;
        Some(Medium { permeability_m2, free, pressure_pa: bump.mean_pressure(gap, angle(2))? })
    }
}

/// Bumps in an area (1/m2) in every cell.
fn densities(bumps: &Bumps, grid: &Grid, size: [f64; 2], aligned: bool) -> Vec<f64> {
    let mut number = vec![u32::MAX; grid.count[0] * grid.count[1]];
    for (cell, [i, j]) in grid.position.iter().enumerate() {
        number[j * grid.count[0] + i] = cell as u32;
    }
    let mut density = vec![0.0; grid.area.len()];
    let whole = grid.step[0] * grid.step[1];
    let origin = grid.place(0.0, 0.0);
    let (ex, ey) = (grid.place(1.0, 0.0), grid.place(0.0, 1.0));
    for (place, steps) in bumps.places_m.iter().zip(nearest::steps(&bumps.places_m)) {
        let half = [0, 1].map(|k| 0.5 * steps[k].min(size[k]));
        let low = [0, 1].map(|k| (place[k] - half[k]).max(0.0));
        let high = [0, 1].map(|k| (place[k] + half[k]).min(size[k]));
        let share = ((high[0] - low[0]) * (high[1] - low[1])).recip();
        // The columns and rows that the box may touch.
        let to_grid = |p: [f64; 2]| {
            let d = [p[0] - origin[0], p[1] - origin[1]];
            [ex, ey].map(|e| {
                let axis = [e[0] - origin[0], e[1] - origin[1]];
                (d[0] * axis[0] + d[1] * axis[1]) / (axis[0] * axis[0] + axis[1] * axis[1])
            })
        };
        let corners = [low, [high[0], low[1]], high, [low[0], high[1]]].map(to_grid);
        let range = |k: usize| {
            let (a, b) =
                corners.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), c| (a.min(c[k]), b.max(c[k])));
            (a.max(0.0) as usize)..((b.ceil() as usize).min(grid.count[k]))
        };
        for j in range(1) {
            for i in range(0) {
                let cell = number[j * grid.count[0] + i] as usize;
                if cell >= density.len() {
                    continue;
                }
                let covered = if aligned {
                    let (a, b) = (grid.place(i as f64, j as f64), grid.place(i as f64 + 1.0, j as f64 + 1.0));
                    let along = |k: usize| (high[k].min(b[k]) - low[k].max(a[k])).max(0.0);
                    along(0) * along(1) / whole
                } else {
                    let samples = grid.samples([i, j], size, SIDE);
                    let inside =
                        samples.iter().filter(|p| (0..2).all(|k| p[k] >= low[k] && p[k] < high[k])).count();
                    inside as f64 / samples.len().max(1) as f64
                };
                density[cell] += covered * share;
            }
        }
    }
    density
}

/// What is in the cells.
#[derive(Debug, Clone)]
pub(super) struct Contents {
    /// Medium and gap (m) of the part that draws liquid; of the whole cell where nothing in it does.
    pub media: Vec<(Medium, f64)>,
    /// Share of each cell's area that draws liquid; 1 as well where nothing in the cell does.
    pub drawing: Vec<f64>,
    /// Driving pressure of the part of each cell that repels beside one that draws, Pa; zero without such a part.
    pub repelling_pa: Vec<f64>,
}

/// Places along a side of a cell that the boundary of a patch runs through.
const FINE: usize = 16;
/// Share of a cell below which it does not draw at all.
const LEAST: f64 = 0.01;

/// Places in a cell where its maps are asked: few where all of them agree, many where a patch ends in it.
fn places(problem: &Problem, grid: &Grid, cell: usize) -> Vec<[f64; 2]> {
    let size = problem.size_m;
    let maps =
        [&problem.gap_m, &problem.angle_die_rad, &problem.angle_substrate_rad, &problem.angle_bump_rad];
    let [i, j] = grid.position[cell];
    let mut few = Vec::new();
    if maps.iter().any(|m| m.uniform().is_none()) {
        few = grid.samples([i, j], size, SIDE);
    }
    if few.is_empty() {
        return vec![grid.centre[cell]];
    }
    if maps.iter().any(|m| matches!(m, Map::Raster { .. })) {
        return few;
    }
    let corners = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [1.0, 1.0]];
    let corners = corners.map(|[a, b]| grid.place(i as f64 + a, j as f64 + b));
    let even = maps.iter().all(|m| {
        let first = m.at(few[0]);
        few.iter().chain(&corners).all(|p| m.at(*p) == first)
    });
    if even { few } else { grid.samples([i, j], size, FINE) }
}

/// The mean of a number over places.
fn mean(places: &[[f64; 2]], map: &Map, of: fn(f64) -> f64) -> f64 {
    map.uniform().map_or_else(|| places.iter().map(|p| of(map.at(*p))).sum::<f64>() / places.len() as f64, of)
}

/// The medium of every cell. Where a part of a cell repels and another draws, the two are kept apart: only the one that draws
/// takes liquid and lets it through.
///
/// # Errors
/// [`Refusal::LowSphere`] where a bump cannot span the gap, [`Refusal::NotPhysical`] where a law gives no sound number.
pub(super) fn media(problem: &Problem, law: &dyn CellLaw, grid: &Grid) -> Result<Contents, Refusal> {
    let aligned = problem.resolution.turned_rad == 0.0;
    let density = problem
        .bumps
        .as_ref()
        .map_or_else(|| vec![0.0; grid.area.len()], |b| densities(b, grid, problem.size_m, aligned));
    let faces = [&problem.angle_die_rad, &problem.angle_substrate_rad, &problem.angle_bump_rad];
    let mut contents = Contents { media: Vec::new(), drawing: Vec::new(), repelling_pa: Vec::new() };
    for (cell, &density_per_m2) in density.iter().enumerate() {
        let mut places = places(problem, grid, cell);
        let gap_m = mean(&places, &problem.gap_m, |gap| gap);
        let medium = |cosines: [f64; 3]| {
            law.medium(Local { gap_m, density_per_m2, cosines }).ok_or_else(|| Refusal::LowSphere {
                diameter_um: 1e6 * problem.bumps.as_ref().map_or(0.0, |b| b.diameter_m),
                gap_um: 1e6 * gap_m,
                place_mm: grid.centre[cell].map(|v| 1e3 * v),
            })
        };
        // Angles that occur, each with whether it draws.
        let mut known: Vec<([f64; 3], bool)> = Vec::new();
        let whole = places.len();
        let mut draws = Vec::with_capacity(whole);
        for place in &places {
            let cosines = faces.map(|f| f.at(*place).cos());
            let found = known.iter().rev().find(|k| k.0 == cosines);
            let draw = match found {
                Some(known) => known.1,
                None => {
                    let draw = medium(cosines)?.pressure_pa > 0.0;
                    known.push((cosines, draw));
                    draw
                }
            };
            draws.push(draw);
        }
        let mut drawing = draws.iter().filter(|d| **d).count() as f64 / whole as f64;
        let mut repelling_pa = 0.0;
        if drawing > LEAST && drawing < 1.0 {
            let part = |draw: bool| -> Vec<[f64; 2]> {
                places.iter().zip(&draws).filter(|(_, d)| **d == draw).map(|(p, _)| *p).collect()
            };
            let dry = part(false);
            repelling_pa = medium(faces.map(|f| mean(&dry, f, f64::cos)))?.pressure_pa;
            places = part(true);
        } else {
            drawing = 1.0;
        }
        let medium = medium(faces.map(|f| mean(&places, f, f64::cos)))?;
        for (what, value, allowed) in [
            ("the permeability of a cell, in m2,", medium.permeability_m2, "above zero"),
            ("the free share of a cell", medium.free, "above zero"),
        ] {
            if !(value > 0.0 && value.is_finite()) {
                return Err(Refusal::NotPhysical { what: what.into(), value, allowed });
            }
        }
        contents.media.push((medium, gap_m));
        contents.drawing.push(drawing);
        contents.repelling_pa.push(repelling_pa);
    }
    Ok(contents)
}
