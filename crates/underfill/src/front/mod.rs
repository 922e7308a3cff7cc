//! The front of the underfill in the plane of the die: fill time, isochrones and trapped air on the real bump map.
//!
//! [`solve`] takes a [`Problem`] (places of bumps, gap and angles as maps, lines with volumes and times, viscosity over time)
//! and gives an [`Outcome`] (arrival in every cell, voids, figures as plain numbers). Liquid flows by Darcy's law,
//! averaged over the gap, in the region that it has filled; permeability and driving pressure of a cell come from the gap, the
//! bumps and the angles in it ([`medium`]). The front is a fill of cells, moved by implicit steps that neither make nor lose
//! liquid (`advance`); air that is closed off is kept as pockets (`gas`). The method, what was measured to choose it, and
//! its limits are in `docs/flow.md`.
//!
//! [`obstacle`] is a second method for one driving pressure and open air, from one linear solution; [`companion`] solves on
//! coarser grids as well and tells the error.
//!
//! ```
//! use facedown_underfill::{Edge, front};
//! let problem = front::Problem::bare([10e-3, 10e-3], 50e-6, 0.03, 20_f64.to_radians(), &[Edge::Left]);
//! let filled = front::solve(&problem).unwrap();
//! // 6 mu L^2 / (gap tension (cos a + cos b)) at a viscosity of 1 Pa s.
//! assert!((filled.fill_time_s.unwrap() / 212.84 - 1.0).abs() < 1e-3);
//! ```

mod advance;
mod clock;
mod coarser;
pub mod companion;
mod finish;
mod follow;
mod gas;
mod grid;
mod map;
pub mod medium;
mod network;
pub mod obstacle;
mod outcome;
mod pressure;
mod problem;
mod refusal;
mod valid;

pub use clock::Clock;
pub use map::{Map, Shape};
pub use medium::{CellLaw, ClosedForms};
pub use outcome::{CellOutcome, End, Outcome, Progress, Void};
pub use problem::{Bumps, Line, Problem, Resolution, Shear};
pub use refusal::Refusal;

use facedown_field::NoConvergence;
use rayon::prelude::*;

/// Follows the front with the closed forms of this crate in each cell.
///
/// # Errors
/// [`Refusal`] for input that makes no sense, and where no step can be taken.
pub fn solve(problem: &Problem) -> Result<Outcome, Refusal> {
    solve_with(problem, &ClosedForms::of(problem))
}

/// Follows the front with another law of the cells, tables of solved unit cells for instance.
///
/// # Errors
/// As [`solve`].
pub fn solve_with(problem: &Problem, law: &dyn CellLaw) -> Result<Outcome, Refusal> {
    solve_while(problem, law, &|| true)
}

/// Whether to go on; asked before every step.
pub type Going<'a> = dyn Fn() -> bool + Sync + 'a;

/// The same as long as it is to go on.
///
/// # Errors
/// As [`solve`], and [`Refusal::Stopped`].
pub fn solve_while(problem: &Problem, law: &dyn CellLaw, going: &Going<'_>) -> Result<Outcome, Refusal> {
    valid::check(problem)?;
    let network = network::Network::new(problem, law)?;
    let way = follow::follow(&network, problem, going).map_err(Refusal::Numeric)?;
    let way = way.ok_or(Refusal::Stopped)?;
    let outcome = finish::finish(problem, &network, way);
    balanced(problem, &outcome)?;
    Ok(outcome)
}

/// Liquid that a fill may gain or lose, over what was given. No case is known that does (some 1e-13 in random ones); one that
/// did would not be told.
const LOST: f64 = 1e-8;

fn balanced(problem: &Problem, outcome: &Outcome) -> Result<(), Refusal> {
    let given: f64 = problem.lines.iter().map(|l| l.volume_m3).sum();
    let left: f64 = outcome.left_m3.iter().flatten().sum();
    let share = (outcome.used_m3 + left - given) / given;
    if given.is_finite() && (share.is_nan() || share.abs() > LOST) {
        return Err(Refusal::Unbalanced { share });
    }
    Ok(())
}

/// Several problems, recipes for instance, on all cores; outcomes in their order.
pub fn solve_all(problems: &[Problem]) -> Vec<Result<Outcome, Refusal>> {
    problems.par_iter().map(solve).collect()
}

/// A number that a method could not reach, in words.
fn words(reason: NoConvergence) -> String {
    reason.to_string()
}
