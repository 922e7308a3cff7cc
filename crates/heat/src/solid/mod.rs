//! The package as a solid: temperatures in space by finite volumes, with the closed forms as its hand check.
//!
//! The same problem and settings as the network ([`crate::network`]), laid out as boxes ([`parts`]), cut by a grid
//! (`mesh`), filled with the conductivities of the real layout (`fill`), cooled by the air around (`air`) and
//! solved (`case`) until conductivities, films and temperatures agree. Everything that a test or a service asks for
//! is read off the field (`reading`). Three grids give each reading its numerical error (`error`).

mod air;
mod case;
mod error;
mod fill;
mod mesh;
mod outlines;
mod overlap;
pub mod parts;
mod pitch;
mod reading;
mod standing;
mod traced;
mod transient;
mod volume;

pub use error::{Estimate, estimate, extrapolated};
pub use outlines::Outline;
pub use reading::{Crossing, DieReading, FaceReading, Map, Reading};
pub use standing::Standing;
pub(crate) use traced::of_design;
pub use traced::{Traced, TracedPlace, traced};
pub use transient::{Heating, TIMES_S, heating, without_capacity};
pub use volume::{PART_NAMES, Volume};

use crate::network::{Films, Setting};
use crate::problem::Problem;
use crate::valid::Refusal;

/// Solves a setting at a fineness (1 is the usual grid) and reads it off.
///
/// # Errors
/// [`Refusal`] where the grid does not fit into memory, heat has no way out, or films and temperatures do not settle.
pub fn solve(problem: &Problem, setting: &Setting, fineness: f64) -> Result<Reading, Refusal> {
    Ok(Reading::of(
        problem,
        &case::Case::solve(problem, setting, mesh::Cut { fineness, early: false }, None)?,
    ))
}

/// The same with films that are given for each kind of face, W/(m2 K), instead of those of air: for comparisons with
/// other solvers, which know no correlations. Zero insulates.
///
/// # Errors
/// As [`solve`].
pub fn solve_with_films(
    problem: &Problem,
    setting: &Setting,
    films: Films,
    fineness: f64,
) -> Result<Reading, Refusal> {
    Ok(Reading::of(
        problem,
        &case::Case::solve(problem, setting, mesh::Cut { fineness, early: false }, Some(films))?,
    ))
}

/// The same with the whole field.
///
/// # Errors
/// As [`solve`].
pub fn solve_whole(
    problem: &Problem,
    setting: &Setting,
    fineness: f64,
) -> Result<(Reading, Volume), Refusal> {
    let case = case::Case::solve(problem, setting, mesh::Cut { fineness, early: false }, None)?;
    Ok((Reading::of(problem, &case), Volume::of(&case)))
}
