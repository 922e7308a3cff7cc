//! One recipe followed by the front, and judged.

use super::refusal::Why;
use super::table::{SearchTask, Stage, Tried};
use super::volume;
use crate::front::{self, CellLaw, End, Outcome, Resolution};
use crate::search::Recipe;

/// Follows a recipe on a grid.
pub(super) fn follow(
    task: &SearchTask,
    law: &dyn CellLaw,
    recipe: Recipe,
    resolution: Resolution,
    stage: Stage,
) -> Tried {
    let mut tried = Tried::new(recipe, stage);
    let mut problem = recipe.problem(&task.base);
    problem.resolution = resolution;
    match front::solve_with(&problem, law) {
        Err(reason) => tried.why = Some(Why::NotFollowed { reason: reason.to_string() }),
        Ok(outcome) => judge(task, &mut tried, &problem, &outcome),
    }
    tried
}

fn judge(task: &SearchTask, tried: &mut Tried, problem: &front::Problem, outcome: &Outcome) {
    let area = task.base.size_m[0] * task.base.size_m[1];
    let dry: f64 = outcome.voids.iter().map(|v| v.area_m2).sum::<f64>() + outcome.unfilled_area_m2;
    let largest = outcome.voids.first().map_or(0.0, |v| v.area_m2);
    let gel_s = problem.clock.gel().and_then(|s| problem.clock.time(s));
    tried.fill_time_s = outcome.fill_time_s;
    tried.done_s = outcome.fill_time_s.map(|t| t.max(tried.last_start_s));
    tried.gel_time_s = gel_s;
    tried.void_area_fraction = Some(dry / area);
    tried.largest_void_m2 = Some(largest);
    tried.last_place_m = outcome.last_place_m;
    tried.volume_window_m3 =
        Some(volume::window(&tried.recipe, task.base.size_m, outcome.free_volume_m3, &task.around));
    let limits = [task.void_area_fraction, task.largest_void_m2];
    tried.why = match outcome.end {
        _ if outcome.filled < 1.0 && outcome.fill_fluidity.is_some() && outcome.fill_time_s.is_none() => {
            Some(Why::Gels { gel_s: gel_s.unwrap_or(0.0) })
        }
        End::Gelled => Some(Why::Gels { gel_s: gel_s.unwrap_or(0.0) }),
        // A pass that begins after the gel never flows.
        End::RanDry if gel_s.is_some_and(|gel| tried.last_start_s >= gel) => {
            Some(Why::Gels { gel_s: gel_s.unwrap_or(0.0) })
        }
        End::RanDry => Some(Why::RanDry { share_percent: 100.0 * outcome.filled }),
        End::DoesNotWet => Some(Why::DoesNotWet { share_percent: 100.0 * dry / area }),
        End::Full | End::Voids if dry / area > limits[0] || largest > limits[1] => Some(Why::Voids {
            share_percent: 100.0 * dry / area,
            largest_mm2: 1e6 * largest,
            allowed_percent: 100.0 * limits[0],
            allowed_mm2: 1e6 * limits[1],
        }),
        End::Full | End::Voids => None,
    };
    if let (None, Some(fill), Some(gel)) = (&tried.why, tried.fill_time_s, gel_s)
        && fill * task.gel_margin > gel
    {
        tried.why = Some(Why::Gels { gel_s: gel });
    }
}
