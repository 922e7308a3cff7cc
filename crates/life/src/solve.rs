//! From a problem to its outcome: the cycles of the mission, fatigue of bumps and balls, life under current, the plan.

use crate::fatigue::{Beside, Fatigue, dwell, fatigue, ramp};
use crate::judge;
use crate::outcome::Outcome;
use crate::problem::{Attachment, Cycle, History, Problem};
use crate::sentence::{YEAR_S, significant};
use crate::valid::{Refusal, check, solid};
use crate::{carried, shown};

/// Solves a problem. What the problem does not hold leaves its figures out, and `limits` says why.
///
/// # Errors
/// [`Refusal`] when the input is not finite or not physical, when a cycle melts a joint, or when the qualification names no
/// condition of the standard.
pub fn solve(problem: &Problem) -> Result<Outcome, Refusal> {
    with(problem, Beside::All)
}

/// The same where only values count, for derivatives: models that stand beside the one that a value comes from are not run,
/// so that ranges are narrower than they are and the outcome holds no loops.
///
/// # Errors
/// As [`solve`].
pub fn values(problem: &Problem) -> Result<Outcome, Refusal> {
    with(problem, Beside::None)
}

fn with(problem: &Problem, beside: Beside) -> Result<Outcome, Refusal> {
    check(problem)?;
    let mission = &problem.mission;
    let mut cycles = mission.cycles.clone();
    if let Some(history) = &mission.history {
        cycles.extend(crate::rainflow::mission_cycles(history));
    }
    let tired = |joints, attachment: &Option<Attachment>| -> Result<Option<Fatigue>, Refusal> {
        let Some(a) = attachment else { return Ok(None) };
        solid(joints, a.alloy, &cycles)?;
        Ok(fatigue(a, &cycles, mission, beside))
    };
    let bumps = tired("bumps", &problem.bumps)?;
    let balls = tired("balls", &problem.balls)?;
    let mut outcome = Outcome {
        figures: Vec::new(),
        limits: Default::default(),
        notes: notes(problem, &cycles),
        advice: Vec::new(),
        bumps: None,
        balls: None,
        electromigration: Vec::new(),
        test: None,
        plan: Vec::new(),
        equivalent_cycles: Vec::new(),
    };
    judge::fatigue(problem, &cycles, bumps.as_ref(), balls.as_ref(), &mut outcome);
    carried::figures(problem, &mut outcome);
    shown::plan(problem, &cycles, &mut outcome)?;
    shown::test(problem, &cycles, &mut outcome);
    shown::moist(problem, &mut outcome);
    outcome.bumps = bumps.map(|f| f.life);
    outcome.balls = balls.map(|f| f.life);
    Ok(outcome)
}

/// What a reader of the mission must know.
fn notes(problem: &Problem, cycles: &[Cycle]) -> Vec<String> {
    let mission = &problem.mission;
    let mut notes = Vec::new();
    // Cycles of a history run within each other; only those of the list can be added up.
    let listed: f64 = mission.cycles.iter().map(|c| 2.0 * c.count * (dwell(c, mission) + ramp(c))).sum();
    // Left-out dwells fill the life by themselves.
    let all_given = mission.cycles.iter().all(|c| c.dwell.is_some());
    if all_given && listed > 1.01 * mission.life {
        notes.push(format!(
            "The cycles of the mission with their dwells and ramps take {:.1} years, and its life is {:.1} years: they are \
             counted as given.",
            listed / YEAR_S,
            mission.life / YEAR_S
        ));
    }
    if let Some(history) = &mission.history {
        notes.push(recorded(history, &cycles[mission.cycles.len()..]));
    }
    for c in cycles.iter().filter(|c| c.count > 0.0 && c.high == c.low) {
        notes.push(format!("Cycle {} has no swing and does no damage.", c.name));
    }
    notes
}

/// What came of a record.
fn recorded(history: &History, cycles: &[Cycle]) -> String {
    let length = match (history.points.first(), history.points.last()) {
        (Some(first), Some(last)) => last.0 - first.0,
        _ => 0.0,
    };
    let start = format!(
        "Record {}: {} readings over {} h, {} times over the life",
        history.name,
        history.points.len(),
        significant(length / 3600.0),
        significant(history.repeats)
    );
    let Some(widest) = cycles.first() else {
        return format!(
            "{start}; no swing reaches the gate of {} K, and nothing is counted.",
            significant(history.gate)
        );
    };
    let count: f64 = cycles.iter().map(|c| c.count).sum();
    format!(
        "{start}; by rainflow (ASTM E1049-85) {} cycles of {} kinds above {} K, the widest from {:.0} to {:.0} degC. Dies, \
         joints and what is below them are taken at the recorded temperature.",
        significant(count),
        cycles.len(),
        significant(history.gate),
        widest.low - 273.15,
        widest.high - 273.15
    )
}
