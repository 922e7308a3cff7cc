//! How the design is shown good: the finished test, the qualification plan, what moisture asks of the user.

use crate::moisture;
use crate::norris_landzberg::Swing;
use crate::outcome::{Outcome, TranslatedTest};
use crate::plan;
use crate::problem::{Alloy, Cycle, Problem};
use crate::sentence::{clause, lower_first, significant};
use crate::tested::tested;
use facedown_evidence::Figure;

/// Confidence of the bounds of a fitted test.
const BOUNDS: f64 = 0.9;

const CYCLES_BASIS: &str = "cycles of the chosen condition of JESD22-A104: those that stand for the mission by the \
    published fits in the form of Norris and Landzberg 1969, the most of them, and no fewer than JESD47 asks for (from \
    memory)";
const SAMPLE_BASIS: &str = "packages in temperature cycling: three lots of 25 (JESD47, from memory), more where failures \
    are accepted (binomial law)";

/// The alloy whose fits translate the mission into test cycles: that of the given joints, balls first, else that of the
/// finished test.
fn alloy(problem: &Problem) -> Option<Alloy> {
    let of = |a: &Option<crate::problem::Attachment>| a.as_ref().map(|a| a.alloy);
    of(&problem.balls).or(of(&problem.bumps)).or(problem.test.as_ref().map(|t| t.alloy))
}

/// The plan and its figures.
///
/// # Errors
/// [`plan::Fault`].
pub(crate) fn plan(problem: &Problem, cycles: &[Cycle], outcome: &mut Outcome) -> Result<(), plan::Fault> {
    let asked = &problem.qualification;
    let test = plan::condition_of(&asked.condition)?.swing(asked.cycles_per_day);
    let life = problem.mission.life;
    outcome.equivalent_cycles = alloy(problem).map_or_else(Vec::new, |a| {
        let mut list = plan::equivalents(a, cycles, life, &test);
        list.retain(|e| e.test_cycles.is_finite());
        if cycles.is_empty() { Vec::new() } else { list }
    });
    outcome.plan = plan::rows(problem, &outcome.equivalent_cycles)?;
    let Some(row) = outcome.plan.iter().find(|r| r.unit == "cycles") else { return Ok(()) };
    let spans = outcome.equivalent_cycles.iter().map(|e| e.test_cycles.ceil());
    let least = spans.clone().min_by(f64::total_cmp);
    let most = spans.max_by(f64::total_cmp);
    let mut figure = Figure::hand("qualification_cycles", row.amount, "cycles", CYCLES_BASIS);
    // Where the standard asks for more than the mission, the fits do not set the figure.
    if let (Some(least), Some(most)) = (least, most)
        && most >= row.amount
    {
        figure = figure.between(least, most);
    }
    if outcome.equivalent_cycles.is_empty() {
        figure = figure.outside(
            "The mission has no temperature cycles, or the solder is not known: the usual number counts.",
        );
    }
    for c in cycles.iter().filter(|c| c.count > 0.0 && c.high > test.high) {
        figure = figure.outside(&format!(
            "Cycle {} reaches {:.0} degC, above the test's {:.0} degC.",
            c.name,
            c.high - 273.15,
            test.high - 273.15
        ));
    }
    let glass = problem.bumps.as_ref().and_then(|b| b.underfill.as_ref()).and_then(|u| u.glass_transition);
    if let Some(glass) = glass.filter(|g| *g < test.high) {
        figure = figure.outside(&format!(
            "The test reaches {:.0} degC, above the glass transition of the underfill at {:.0} degC: what fails in it need \
             not be what fails in service.",
            test.high - 273.15,
            glass - 273.15
        ));
    }
    // The row says first what sets the cycles, then what the sample proves.
    let why = lower_first(&clause(&row.why));
    let (cycles_why, sample_why) = match why.find(" units with ").and_then(|at| why[..at].rfind("; ")) {
        Some(at) => (why[..at].to_owned(), why[at + 2..].to_owned()),
        None => (why.clone(), why),
    };
    outcome.limits.insert("qualification_cycles".into(), cycles_why);
    outcome.limits.insert("sample_size".into(), sample_why);
    outcome.figures.push(figure);
    outcome.figures.push(Figure::hand("sample_size", row.sample as f64, "", SAMPLE_BASIS));
    Ok(())
}

/// The finished test, fitted, and what it says about the mission.
pub(crate) fn test(problem: &Problem, cycles: &[Cycle], outcome: &mut Outcome) {
    let Some(test) = &problem.test else { return };
    let shape = problem.balls.iter().chain(&problem.bumps).map(|a| a.weibull_shape).next();
    let failed = problem.mission.failed;
    let mut found = match tested(test, shape, failed, BOUNDS) {
        Ok(found) => found,
        Err(why) => {
            outcome.notes.push(format!("The finished test is not fitted: {}.", clause(&why.to_string())));
            return;
        }
    };
    outcome.notes.extend(found.notes);
    if let (Some(w), Some((low, high))) = (found.weibull, found.life_bounds) {
        outcome.notes.push(format!(
            "By the finished test {} % of packages have failed at {:.0} of its cycles, between {low:.0} and {high:.0} at {:.0} % \
             confidence.",
            significant(100.0 * failed),
            w.quantile(failed),
            100.0 * BOUNDS
        ));
    }
    let swing = Swing { low: test.low, high: test.high, per_day: test.cycles_per_day };
    let stands = plan::equivalents(test.alloy, cycles, problem.mission.life, &swing);
    let span = stands.iter().map(|e| e.test_cycles).filter(|n| n.is_finite() && *n > 0.0);
    let (low, high) = span.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), n| (l.min(n), h.max(n)));
    if let Some(w) = found.weibull
        && low <= high
    {
        outcome.notes.push(format!(
            "By the finished test {}{} to {} % of packages fail over the mission, which stands for {low:.0} to {high:.0} of its \
             cycles.",
            if found.bound_only { "no more than " } else { "" },
            significant(100.0 * w.failed(low)),
            significant(100.0 * w.failed(high))
        ));
        // The mission repeats itself, so that its damage grows evenly with time.
        let life = |over: f64| problem.mission.life * w.quantile(failed) / over;
        found.fitted.translated = Some(TranslatedTest {
            failed,
            test_cycles: w.quantile(failed),
            test_cycles_between: found.life_bounds,
            mission_cycles: (low, high),
            field_life_s: (life(high), life(low)),
        });
    }
    outcome.test = Some(found.fitted);
}

/// What moisture asks of the user, as sentences.
pub(crate) fn moist(problem: &Problem, outcome: &mut Outcome) {
    let Some(m) = &problem.moisture else { return };
    let level = moisture::name(m.level);
    if let (Some(share), moisture::FloorLife::Limited(time)) =
        (m.wet_at_floor_life(), moisture::floor_life(m.level))
    {
        outcome.notes.push(format!(
            "At the end of the floor life of level {level} the dry body holds {:.0} % of its saturation, and {:.0} % where \
             moisture comes last (Fick's law).",
            100.0 * share,
            100.0 * m.wet_inside(time, m.floor_temperature)
        ));
    }
    let hours = |thickness| moisture::standard_bake(m.level, thickness).map(|b| b.at_125 / 3600.0);
    if let Some(thin) = hours(1.4e-3) {
        let thick = hours(2.0e-3).map_or_else(String::new, |h| format!(", {h:.0} h up to 2.0 mm"));
        outcome.notes.push(format!(
            "IPC/JEDEC J-STD-033 bakes a saturated body of level {level} at 125 degC for {thin:.0} h up to 1.4 mm of thickness\
             {thick}."
        ));
    }
    // A residue of a twentieth is common practice, no source.
    if let Ok(time) = m.bake_time(0.05)
        && time.is_finite()
    {
        outcome.notes.push(format!(
            "A bake at {:.0} degC takes {} h to leave 5 % of a full saturation (Fick's law).",
            m.bake_temperature - 273.15,
            significant(time / 3600.0)
        ));
    }
}
