//! What a study is asked to plan: the best recipes, and the windows about its own.
//!
//! The rooms [`crate::search`] and [`crate::window`] answer tasks of their own. Here the study's problem becomes those tasks, and what
//! comes back becomes figures, notes, and what the report shows.

use crate::contamination::{FittedLaw, Read};
use crate::faces;
use crate::filling::{Moment, task};
use crate::front::{ClosedForms, Resolution};
use crate::measured::{DropFound, Found, UNDERFILL};
use crate::problem::{Angle, Face, Fillet, Problem};
use crate::search::volume::Surroundings;
use crate::search::{Choices, Effort, SearchTask, Table, search_with};
use crate::solve::Work;
use crate::window::{
    Clocks, Spread, Tolerances, Window, WindowOutcome, WindowTask, spread_with, window_with,
};
use facedown_evidence::Figure;
use serde::{Deserialize, Serialize};

/// What was planned.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// Recipes, the best first.
    pub recipes: Option<Table>,
    /// Windows with their axes.
    pub windows: Vec<(Window, WindowOutcome)>,
    /// What the tolerances do at the recipe itself.
    pub spread: Option<Spread>,
}

/// Points along the axes of a window.
const ACROSS: usize = 9;
const UP: usize = 7;
/// Draws at the recipe itself, and at a point of a window.
const DRAWS: [u64; 2] = [10_000, 2_000];
/// Draws that are followed directly.
const CHECKS: usize = 6;
/// Confidence of the probabilities.
const CONFIDENCE: f64 = 0.95;
/// Seed of the draws.
const SEED: u64 = 20;
/// Deviations where the design has no place for its own (common practice, no source): tension and volume over their values,
/// temperature in K.
const TENSION: f64 = 0.03;
const VOLUME: f64 = 0.05;
const TEMPERATURE: f64 = 2.0;
/// The grid of windows.
const GRID: Resolution = Resolution { cells_a_pitch: 1.0, least: 24, advance: 1.0, turned_rad: 0.0 };

/// Plans what the problem asks for.
pub(crate) fn plan(
    work: &Work<'_>,
    found: &Found,
    figures: &mut Vec<Figure>,
    notes: &mut Vec<String>,
) -> Plan {
    let mut plan = Plan::default();
    let Some(fineness) = work.problem.fineness else { return plan };
    if work.problem.search.is_some() {
        match recipes(work, fineness) {
            Ok(table) => {
                if let Some(best) = table.best() {
                    notes.push(format!(
                        "The shortest recipe of those tried that keeps all limits: {}.",
                        best.recipe.words()
                    ));
                } else {
                    notes.push("None of the recipes that were tried keeps all limits.".into());
                }
                plan.recipes = Some(table);
            }
            Err(reason) => notes.push(format!("No recipe is searched: {reason}.")),
        }
    }
    if work.problem.windows.is_some() {
        match windows(work, found, fineness) {
            Ok((spread, windows)) => {
                figures.extend(probabilities(&spread));
                notes.push(format!(
                    "Probabilities are those of {} draws of the angles' spreads, the gap, the viscosity, the surface tension ({:.0} %), the volume \
                     ({:.0} %) and the temperature ({TEMPERATURE:.0} K; the last three common practice, no source), told from {} fronts; \
                     {} draws followed directly differ by up to {:.1} % in time and in {} verdicts.",
                    spread.void.draws,
                    100.0 * TENSION,
                    100.0 * VOLUME,
                    spread.fronts,
                    spread.accuracy.checked,
                    100.0 * spread.accuracy.time,
                    spread.accuracy.disagree
                ));
                plan.spread = Some(spread);
                plan.windows = windows;
            }
            Err(reason) => notes.push(format!("No process window is given: {reason}.")),
        }
    }
    plan
}

fn probabilities(spread: &Spread) -> Vec<Figure> {
    let figure = |name: &str, p: crate::window::Probability| {
        let basis =
            "draws of the tolerances through the front's response (interval: E. B. Wilson 1927, 95 %)";
        Figure::solved(name, 100.0 * p.share, "%", basis).between(100.0 * p.between[0], 100.0 * p.between[1])
    };
    vec![figure("void_probability", spread.void), figure("no_fill_probability", spread.no_fill)]
}

fn recipes(work: &Work<'_>, fineness: f64) -> Result<Table, String> {
    let p = work.problem;
    let Some(asked) = &p.search else { return Err("none is asked for".into()) };
    // The choices read the closed forms alone.
    let plain = Problem { fineness: None, search: None, windows: None, drops: Vec::new(), ..p.clone() };
    let mut choices = Choices::of(&plain).map_err(|e| e.to_string())?;
    let take = |own: &mut Vec<f64>, given: &[f64]| {
        if !given.is_empty() {
            *own = given.to_vec();
        }
    };
    take(&mut choices.waits_s, &asked.waits_s);
    take(&mut choices.offsets_m, &asked.offsets_m);
    if !asked.patterns.is_empty() {
        choices.patterns.clone_from(&asked.patterns);
    }
    if !asked.passes.is_empty() {
        choices.passes.clone_from(&asked.passes);
    }
    let base = task::problem(work, fineness, Moment::Dispense);
    let law = ClosedForms::of(&base);
    let half = 0.5 * p.die.thickness_m;
    let task = SearchTask {
        base,
        around: Surroundings {
            thickness_m: p.die.thickness_m,
            room_m: [asked.room_m; 4],
            least_fillet: Some(Fillet { height_m: half, width_m: half }),
            volume_tolerance: VOLUME,
        },
        recipes: choices.recipes(),
        void_area_fraction: asked.void_area_fraction,
        largest_void_m2: f64::INFINITY,
        gel_margin: asked.gel_margin,
        effort: Effort::default(),
    };
    search_with(&task, &law).map_err(|e| e.to_string())
}

/// Even steps between two ends.
fn steps([low, high]: [f64; 2], count: usize) -> Vec<f64> {
    (0..count).map(|k| low + (high - low) * k as f64 / (count - 1) as f64).collect()
}

fn windows(
    work: &Work<'_>,
    found: &Found,
    fineness: f64,
) -> Result<(Spread, Vec<(Window, WindowOutcome)>), String> {
    let p = work.problem;
    let Some(asked) = p.windows else { return Err("none is asked for".into()) };
    let mut base = task::problem(work, fineness, Moment::Dispense);
    base.resolution = Resolution { cells_a_pitch: GRID.cells_a_pitch.min(fineness), ..GRID };
    let law = ClosedForms::of(&base);
    let temperature_k = p.dispense.temperature_k;
    let [low, high] = asked.temperatures_k;
    // The tolerance of the temperature reaches beyond the axis.
    let reach = 5.0 * TEMPERATURE;
    let temperatures = steps([low.min(temperature_k) - reach, high.max(temperature_k) + reach], 12);
    let spread_of =
        |face: Face| work.faces.angles.iter().find(|a| a.face == face).map_or(0.0, |a| a.spread_rad);
    let task = WindowTask {
        base,
        clocks: Clocks::of(&p.liquid, &temperatures).map_err(|e| e.to_string())?,
        temperature_k,
        tolerances: Tolerances {
            angles_rad: [Face::Die, Face::Substrate, Face::Bump].map(spread_of),
            gap: asked.gap_spread,
            viscosity: asked.viscosity_spread,
            tension: TENSION,
            temperature_k: TEMPERATURE,
            volume: VOLUME,
        },
        void_area_fraction: asked.void_area_fraction,
        gel_margin: 1.0,
        draws: DRAWS[0],
        confidence: CONFIDENCE,
        seed: SEED,
        checks: CHECKS,
    };
    let spread = spread_with(&task, &law).map_err(|e| e.to_string())?;
    let task = WindowTask { draws: DRAWS[1], checks: 2, ..task };
    let face = Face::Substrate;
    let angles_rad = steps(asked.angles_rad, ACROSS);
    let mut axes = vec![
        Window::AngleTemperature {
            face,
            angles_rad: angles_rad.clone(),
            temperatures_k: steps(asked.temperatures_k, UP),
        },
        Window::GapAngle { gaps_m: steps(asked.gaps_m, UP), face, angles_rad },
    ];
    axes.extend(queue(p, found, asked.queue_s).map(|points| Window::Queue { face, points }));
    let mut windows = Vec::new();
    for window in axes {
        let outcome = window_with(&task, &window, &law).map_err(|e| e.to_string())?;
        windows.push((window, outcome));
    }
    Ok((spread, windows))
}

/// The angle of the underfill itself on the substrate over the time after the plasma, where drops of it show how it ages: of the
/// dose nearest to that of the step, of first order.
fn own_ageing(problem: &Problem, found: &Found) -> Option<(FittedLaw, f64)> {
    let plasma = problem.plasma?;
    let own = |d: &&DropFound| d.face == Face::Substrate && d.liquid == UNDERFILL;
    let treated: Vec<&DropFound> = found.shown.drops.iter().filter(own).filter(|d| d.dose_j > 0.0).collect();
    let off = |d: &DropFound| (d.dose_j - plasma.power_w * plasma.time_s).abs();
    let dose_j = treated.iter().copied().min_by(|a, b| off(a).total_cmp(&off(b)))?.dose_j;
    let treated = treated.into_iter().filter(|d| d.dose_j == dose_j);
    let youngest = treated.clone().map(|d| d.age_s).fold(f64::INFINITY, f64::min);
    let reads: Vec<Read> = treated
        .map(|d| Read { dose: d.age_s - youngest, angle_rad: d.angle_rad, spread_rad: d.spread_rad })
        .collect();
    let before: Vec<&DropFound> = found.shown.drops.iter().filter(own).filter(|d| d.dose_j == 0.0).collect();
    // Where the ages show no end, the face goes back to what it was before the plasma.
    let end = before.first().map_or(f64::NAN, |d| d.angle_rad);
    let spread_rad = before.first().map_or(f64::NAN, |d| d.spread_rad);
    FittedLaw::of(&reads, Angle { angle_rad: end, spread_rad }).ok().map(|law| (law, youngest))
}

/// Queue times with the angle of the underfill on the substrate that the readings show or predict then; nothing where they show no
/// ageing.
fn queue(problem: &Problem, found: &Found, longest_s: f64) -> Option<Vec<(f64, Angle)>> {
    if let Some((law, youngest)) = own_ageing(problem, found) {
        return Some(
            steps([0.0, longest_s], ACROSS)
                .into_iter()
                .map(|queue_s| (queue_s, law.after((queue_s - youngest).max(0.0))))
                .collect(),
        );
    }
    let aged = problem.readings.iter().any(|r| r.face == Face::Substrate && r.age_s > 0.0);
    if problem.plasma.is_none() || !aged {
        return None;
    }
    let mut points = Vec::new();
    for queue_s in steps([0.0, longest_s], ACROSS) {
        let later = Problem { queue_s, angle_substrate: None, fineness: None, ..problem.clone() };
        let own: Vec<_> = found.own.iter().copied().filter(|o| o.0 != Face::Substrate).collect();
        let faces = faces::judge(&later, &own).ok()?;
        let at = faces.angles.iter().find(|a| a.face == Face::Substrate && a.from.contains("predicted"))?;
        points.push((queue_s, Angle { angle_rad: at.angle_rad, spread_rad: at.spread_rad }));
    }
    Some(points)
}
