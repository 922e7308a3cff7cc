//! How a package warms up: the answer of its junctions to a step of power, from a tenth of a microsecond to hours.
//!
//! Films and conductivities are held at their settled values, so that the model is linear and the answer to any trace
//! of powers follows from it. Cells at the active faces are a micrometre thick, because heat is no deeper in the first
//! microseconds.

use super::case::{Case, Spot};
use super::mesh::Cut;
use super::parts::{Part, parts};
use crate::network::Setting;
use crate::problem::Problem;
use crate::valid::Refusal;
use facedown_field::conduction::{Probe, Span};
use facedown_field::relaxation::{Relaxation, step};

/// Times that are followed, s.
pub const TIMES_S: [f64; 2] = [1e-7, 1e4];
/// Largest error of the answers at any shift, over the steady ones.
pub(super) const ERROR: f64 = 2e-3;

/// The answer of the hottest die to a step of the power of all dies together, K/W of all of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Heating {
    /// The hottest die.
    pub die: usize,
    /// Its hottest place: gains, K/W, and time constants, s.
    pub hottest: Vec<Relaxation>,
    /// What answers at once there: half a cell of a micrometre.
    pub hottest_at_once: f64,
    /// The mean of all active faces weighted by their power: all gains are positive, a driving-point impedance.
    pub driven: Vec<Relaxation>,
    /// What answers at once there.
    pub driven_at_once: f64,
    /// Measured error over the steady answer.
    pub error: f64,
    /// Systems solved.
    pub shifts: usize,
    /// Cells.
    pub cells: usize,
}

impl Heating {
    /// Rise of the hottest place after a time of constant power, K/W.
    pub fn impedance(&self, time_s: f64) -> f64 {
        self.hottest_at_once + step(&self.hottest, time_s)
    }
}

/// Parts whose heat capacity is not known, which keeps [`heating`] from an answer.
pub fn without_capacity(problem: &Problem, setting: &Setting) -> Vec<Part> {
    let parts = parts(problem, setting);
    let mut unknown: Vec<Part> =
        parts.slabs.iter().filter(|s| !s.capacity().is_some_and(|c| c > 0.0)).map(|s| s.part).collect();
    unknown.sort();
    unknown.dedup();
    unknown
}

/// Follows the warming of a package after its power is switched on; `None` where a part has no heat capacity given.
///
/// # Errors
/// [`Refusal`] as for the steady case, and where the answer is not reached.
pub fn heating(problem: &Problem, setting: &Setting, fineness: f64) -> Result<Option<Heating>, Refusal> {
    let power: f64 = setting.powers_w.iter().sum();
    if power <= 0.0 || !without_capacity(problem, setting).is_empty() {
        return Ok(None);
    }
    let mut case = Case::solve(problem, setting, Cut { fineness, early: true }, None)?;
    let hottest = case
        .spots
        .iter()
        .max_by(|a, b| a.rise(&case.body, &case.field).total_cmp(&b.rise(&case.body, &case.field)));
    let Some(hottest) = hottest.copied() else { return Ok(None) };
    let mut load = case.body.zero();
    for spot in &case.spots {
        for (cell, share) in spot.shared() {
            case.body.add_at(&mut load, cell, spot.heat / power * share);
        }
    }
    for (cell, heat) in &case.inside {
        case.body.add_at(&mut load, *cell, heat / power);
    }
    let place = |spot: &Spot, weight: f64, into: &mut Probe| {
        into.cells.extend(spot.shared().map(|(cell, share)| (cell, weight * share)));
        into.direct += weight * spot.heat / power / spot.conductance();
    };
    let mut probes = [Probe::default(), Probe::default()];
    place(&hottest, 1.0, &mut probes[0]);
    for spot in &case.spots {
        place(spot, spot.heat / power, &mut probes[1]);
    }
    // The weights of a driving point are those of the load.
    probes[1].cells.extend(case.inside.iter().map(|(cell, heat)| (*cell, heat / power)));
    let span = Span { times: TIMES_S, error: ERROR };
    let answer = case
        .body
        .response(&case.films, &case.capacities(), &load, &probes, span)
        .map_err(|_| Refusal::Unsettled { power_w: power })?;
    let [hot, mean] = [0, 1].map(|i| answer.parts[i].clone());
    Ok(Some(Heating {
        die: hottest.die,
        hottest: hot,
        hottest_at_once: answer.direct[0],
        driven: mean,
        driven_at_once: answer.direct[1],
        error: answer.error,
        shifts: answer.shifts,
        cells: case.body.count(),
    }))
}
