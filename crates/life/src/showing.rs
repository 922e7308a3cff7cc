//! Life under current, the finished test and the qualification plan: from the problem to figures, rows and sentences.

use crate::electromigration::{Fault, life, loaded, published};
use crate::moisture;
use crate::norris_landzberg::Swing;
use crate::outcome::{FittedTest, Outcome};
use crate::plan;
use crate::problem::{Alloy, Currents, Cycle, LifeTest, Problem};
use crate::weibull_fit::{self, Sample};
use facedown_evidence::Figure;

const YEAR_S: f64 = 31_557_600.0;
/// Confidence of the bounds of a fitted test.
const BOUNDS: f64 = 0.9;

const CURRENT_BASIS: &str = "calendar time to the allowed failed share of packages: Black 1969 with the joint's own heat \
    and its crowding over that of the measurement (Choi, Yeh and Tu 2003; Berger 1972), lognormal, first failure of all \
    carriers";
const DENSITY_BASIS: &str = "highest mean density over the opening through which current enters the solder";
const CYCLES_BASIS: &str = "cycles of the chosen condition of JESD22-A104: those that stand for the mission by the \
    published fits in the form of Norris and Landzberg 1969, the most of them, and no fewer than JESD47 asks for (from \
    memory)";
const SAMPLE_BASIS: &str = "packages in temperature cycling: three lots of 25 (JESD47, from memory), more where failures \
    are accepted (binomial law)";

/// What a refusal or a fault says, as a clause.
fn clause(said: &str) -> String {
    said.trim_end_matches('.').to_owned()
}

/// Figures of the life under current.
pub(crate) fn currents(problem: &Problem, outcome: &mut Outcome) {
    let names = ["electromigration_life", "current_density_max"];
    let Some(currents) = &problem.currents else {
        for name in names {
            outcome
                .limits
                .insert(name.into(), "the design does not say what current its joints carry".into());
        }
        return;
    };
    let area = 0.25 * std::f64::consts::PI * currents.opening * currents.opening;
    let most = currents
        .carriers
        .iter()
        .filter(|c| c.current != 0.0)
        .max_by(|a, b| a.current.abs().total_cmp(&b.current.abs()));
    match most {
        Some(c) => {
            let density = c.current.abs() / area / 1e4;
            outcome.figures.push(Figure::hand("current_density_max", density, "A/cm2", DENSITY_BASIS));
            outcome.limits.insert("current_density_max".into(), format!("set by {}", c.name));
            if density > 5e3 {
                outcome.advice.push(format!(
                    "Solder bumps are commonly held to 5e3 to 1e4 A/cm2 over the opening at about 100 degC; {} carries {} \
                     A/cm2 (common practice, no source).",
                    c.name,
                    significant(density)
                ));
            }
        }
        None => {
            outcome.limits.insert("current_density_max".into(), clause(&Fault::NoCurrent.to_string()));
        }
    }
    match lives(problem, currents, outcome) {
        Ok(figure) => outcome.figures.push(figure),
        Err(why) => {
            outcome.limits.insert("electromigration_life".into(), clause(&why.to_string()));
        }
    }
}

fn lives(problem: &Problem, currents: &Currents, outcome: &mut Outcome) -> Result<Figure, Fault> {
    let own = !currents.kinetics.is_empty();
    let sets = if own { currents.kinetics.clone() } else { published(currents.alloy) };
    let mission = &problem.mission;
    let lives = sets
        .iter()
        .map(|set| life(currents, set, mission.failed, mission.powered))
        .collect::<Result<Vec<_>, Fault>>()?;
    let joints = loaded(currents)?;
    // The shortest of the published lives is the figure: none of the sets is known to be that of this joint.
    let years = lives.iter().map(|l| l.calendar_time_s / YEAR_S).filter(|y| y.is_finite());
    let (low, high) = years.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), y| (l.min(y), h.max(y)));
    if !low.is_finite() {
        return Err(Fault::Numerics(facedown_field::NoConvergence::NotFinite));
    }
    let basis = if own {
        format!("{CURRENT_BASIS}; the shortest by the design's own constants")
    } else {
        format!("{CURRENT_BASIS}; the shortest by constants from memory of published measurements")
    };
    let mut figure = Figure::hand("electromigration_life", low, "year", &basis).between(low, high);
    let worst = joints.iter().max_by(|a, b| {
        let life = |j: &crate::electromigration::Loaded| sets[0].median_life(j.density, j.temperature);
        life(b).total_cmp(&life(a))
    });
    if let Some(joint) = worst {
        outcome.limits.insert(
            "electromigration_life".into(),
            format!(
                "set by {} with {} A/cm2 at {:.0} degC",
                joint.name,
                significant(joint.density / 1e4),
                joint.temperature - 273.15
            ),
        );
        for set in &sets {
            let ratio = set.reference_density / joint.density;
            let colder = set.reference_temperature - joint.temperature;
            if !(0.1..=10.0).contains(&ratio) || colder.abs() > 60.0 {
                figure = figure.outside(&format!(
                    "The constants were measured at {} A/cm2 and {:.0} degC, far from {} A/cm2 and {:.0} degC here.",
                    significant(set.reference_density / 1e4),
                    set.reference_temperature - 273.15,
                    significant(joint.density / 1e4),
                    joint.temperature - 273.15
                ));
                break;
            }
        }
    }
    outcome.electromigration = lives;
    Ok(figure)
}

/// Three digits, in powers of ten where large.
fn significant(value: f64) -> String {
    if value == 0.0 || (0.01..1e4).contains(&value.abs()) {
        let digits = if value.abs() >= 100.0 { 0 } else { 2 };
        format!("{value:.digits$}")
    } else {
        format!("{value:.2e}")
    }
}

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
    let why = lower_first(&clause(&row.why));
    outcome.limits.insert("qualification_cycles".into(), why.clone());
    outcome.limits.insert("sample_size".into(), why);
    outcome.figures.push(figure);
    outcome.figures.push(Figure::hand("sample_size", row.sample as f64, "", SAMPLE_BASIS));
    Ok(())
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |c| c.to_lowercase().collect::<String>() + letters.as_str())
}

/// The finished test, fitted, and what it says about the mission.
pub(crate) fn test(problem: &Problem, cycles: &[Cycle], outcome: &mut Outcome) {
    let Some(test) = &problem.test else { return };
    match fitted(test) {
        Ok((found, weibull)) => {
            let swing = Swing { low: test.low, high: test.high, per_day: test.cycles_per_day };
            let stands = plan::equivalents(test.alloy, cycles, problem.mission.life, &swing);
            let span = stands.iter().map(|e| e.test_cycles).filter(|n| n.is_finite() && *n > 0.0);
            let (low, high) = span.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), n| (l.min(n), h.max(n)));
            if let Some(w) = weibull
                && low <= high
            {
                outcome.notes.push(format!(
                    "By the finished test {} to {} % of packages fail over the mission, which stands for {low:.0} to \
                     {high:.0} of its cycles.",
                    significant(100.0 * w.failed(low)),
                    significant(100.0 * w.failed(high))
                ));
            }
            outcome.test = Some(found);
        }
        Err(weibull_fit::Fault::NoFailures) => {
            let shape = problem.balls.iter().chain(&problem.bumps).map(|a| a.weibull_shape).next();
            let points = Vec::new();
            outcome.test = Some(FittedTest {
                shape: None,
                shape_bounds: None,
                characteristic: None,
                characteristic_bounds: None,
                points,
            });
            let bound = shape.and_then(|shape| {
                let sample = Sample::new(&test.failures, &test.running).ok()?;
                Some((shape, sample.least_scale(shape, BOUNDS).ok()?.scale))
            });
            let bound = bound.map_or_else(String::new, |(shape, scale)| {
                format!(
                    ": for a Weibull shape of {shape:.1} the characteristic life is above {scale:.0} cycles at {:.0} % \
                     confidence",
                    100.0 * BOUNDS
                )
            });
            outcome.notes.push(format!(
                "No package failed in the finished test, so that nothing can be fitted{bound}."
            ));
        }
        Err(why) => {
            outcome.notes.push(format!("The finished test is not fitted: {}.", clause(&why.to_string())))
        }
    }
}

fn fitted(test: &LifeTest) -> Result<(FittedTest, Option<crate::weibull::Weibull>), weibull_fit::Fault> {
    let sample = Sample::new(&test.failures, &test.running)?;
    let fit = sample.fit()?;
    Ok((
        FittedTest {
            shape: Some(fit.weibull.shape),
            shape_bounds: sample.shape_bounds(&fit, BOUNDS).ok(),
            characteristic: Some(fit.weibull.scale),
            characteristic_bounds: sample.scale_bounds(&fit, BOUNDS).ok(),
            points: sample.points(),
        },
        Some(fit.weibull),
    ))
}

/// What moisture asks of the user, as sentences.
pub(crate) fn moist(problem: &Problem, outcome: &mut Outcome) {
    let Some(m) = &problem.moisture else { return };
    let level = moisture::name(m.level);
    if let Some(share) = m.wet_at_floor_life() {
        outcome.notes.push(format!(
            "At the end of the floor life of level {level} the dry body holds {:.0} % of its saturation (Fick's law).",
            100.0 * share
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
