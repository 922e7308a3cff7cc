//! The same front on coarser grids: how far the fill time is still from that of a fine grid.

use super::medium::{CellLaw, ClosedForms};
use super::problem::{Problem, Resolution};
use super::{Going, Outcome, Refusal, solve_while};

/// An outcome with the error of its fill time.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// On the grid that was asked for.
    pub outcome: Outcome,
    /// Error of the fill time in fluidity time, 1/Pa; absent where it does not fill on one of the grids.
    pub error: Option<f64>,
    /// Observed order: how fast the differences of three grids fall, each twice as fine as the one before. Absent where they do not
    /// fall in one direction; the error is then the difference to the next coarser grid.
    pub order: Option<f64>,
    /// Error of the area of all voids, m2: the difference to the next coarser grid.
    pub void_area_error_m2: f64,
}

/// Follows the front on the grid that is asked for, on one of cells twice as long, and on one four times as long.
///
/// The error is that of L. F. Richardson's extrapolation (Philos. Trans. R. Soc. A 210 (1911) 307) with the observed order, taken
/// between 0.5 and 2.
///
/// # Errors
/// As [`super::solve`].
pub fn solve(problem: &Problem) -> Result<Judged, Refusal> {
    solve_judged(problem, &ClosedForms::of(problem))
}

/// The same with another law of the cells.
///
/// # Errors
/// As [`super::solve`].
pub fn solve_judged(problem: &Problem, law: &dyn CellLaw) -> Result<Judged, Refusal> {
    solve_judged_while(problem, law, &|| true)
}

/// The same as long as it is to go on.
///
/// # Errors
/// As [`super::solve_while`].
pub fn solve_judged_while(
    problem: &Problem,
    law: &dyn CellLaw,
    going: &Going<'_>,
) -> Result<Judged, Refusal> {
    let on = |coarser: f64| {
        let r = problem.resolution;
        let resolution = Resolution {
            cells_a_pitch: r.cells_a_pitch / coarser,
            least: ((r.least as f64 / coarser).round() as usize).max(1),
            ..r
        };
        solve_while(&Problem { resolution, ..problem.clone() }, law, going)
    };
    let (fine, (twice, fourfold)) = rayon::join(|| on(1.0), || (on(2.0), on(4.0)));
    let (outcome, twice, fourfold) = (fine?, twice?, fourfold?);
    let (mut error, mut order) = (None, None);
    if let (Some(a), Some(b)) = (outcome.fill_fluidity, twice.fill_fluidity) {
        error = Some((a - b).abs());
        if let Some(c) = fourfold.fill_fluidity {
            let fall = (c - b) / (b - a);
            if fall > 1.0 && fall.is_finite() {
                order = Some(fall.log2());
                error = Some((a - b).abs() / (fall.log2().clamp(0.5, 2.0).exp2() - 1.0));
            }
        }
    }
    let area = |o: &Outcome| o.voids.iter().map(|v| v.area_m2).sum::<f64>();
    let void_area_error_m2 = (area(&outcome) - area(&twice)).abs();
    Ok(Judged { outcome, error, order, void_area_error_m2 })
}
