//! The fill of the gap on its real bump map: the study's problem as one of [`crate::front`], and what becomes of it.
//!
//! The closed forms of the study take the bumps as a field with its mean pitch. Here every bump stands at its place, residue
//! lies where it lies, lines hold what is dispensed. `fill` follows the front and keeps what other rooms and the pictures
//! need: times of arrival and voids as one map, the course, the liquid that is left. [`task`](mod@task) builds the front's
//! problem, `residue` the angles over dirty faces, [`outcome`](mod@outcome) keeps its result, `write` makes figures of it.

pub(crate) mod fillets;
pub mod outcome;
pub(crate) mod residue;
pub mod task;
pub(crate) mod write;

pub use outcome::{FillMap, Filling};
pub use task::Moment;

use crate::front::companion::{Judged, solve_judged_while};
use crate::front::{ClosedForms, Going, Refusal};
use crate::solve::Work;

/// Follows the front at a moment of the face; on coarser grids as well, so that the figures carry their errors.
///
/// # Errors
/// [`Refusal`] of the front: bumps that touch on the real map, a grid that is too fine, a step that cannot be taken.
pub(crate) fn fill(
    work: &Work<'_>,
    fineness: f64,
    moment: Moment,
    going: &Going<'_>,
) -> Result<Filling, Refusal> {
    let mut problem = task::problem(work, fineness, moment);
    if let Some(sheared) = work.sheared {
        let (shear, clock) = sheared.of_front(&problem.clock);
        (problem.shear, problem.clock) = (Some(shear), clock);
    }
    let Judged { outcome, error, order, void_area_error_m2 } =
        solve_judged_while(&problem, &ClosedForms::of(&problem), going)?;
    let error_s = error.and_then(|e| {
        let end = outcome.fill_fluidity?;
        let earlier = problem.clock.time((end - e).max(0.0))?;
        let time = outcome.fill_time_s?;
        match problem.shear {
            None => Some(time - earlier),
            // Shear stretches both times alike.
            Some(_) => Some(time * (1.0 - earlier / problem.clock.time(end)?)),
        }
    });
    Ok(Filling::keep(
        &problem,
        &outcome,
        outcome::Errors { error_s, order, void_area_m2: void_area_error_m2 },
    ))
}
