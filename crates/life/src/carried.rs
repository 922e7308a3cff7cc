//! Figures of the life under current.

use crate::electromigration::{self, Fault, Loaded, loaded, outside, sets};
use crate::outcome::Outcome;
use crate::problem::{Currents, Problem};
use crate::sentence::{YEAR_S, clause, significant};
use facedown_evidence::Figure;

const CURRENT_BASIS: &str = "calendar time to the allowed failed share of packages: Black 1969 with the joint's own heat \
    and its crowding over that of the measurement (Choi, Yeh and Tu 2003; Berger 1972), lognormal, first failure of all \
    carriers";
const DENSITY_BASIS: &str = "highest mean density over the opening through which current enters the solder";

/// Figures of the life under current.
pub(crate) fn figures(problem: &Problem, outcome: &mut Outcome) {
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
    match life(problem, currents, outcome) {
        Ok(figure) => outcome.figures.push(figure),
        Err(why) => {
            outcome.limits.insert("electromigration_life".into(), clause(&why.to_string()));
        }
    }
}

/// The figure of the life under current.
fn life(problem: &Problem, currents: &Currents, outcome: &mut Outcome) -> Result<Figure, Fault> {
    let mission = &problem.mission;
    let lives = electromigration::lives(currents, mission.failed, mission.powered)?;
    let sets = sets(currents);
    let joints = loaded(currents)?;
    // The shortest of the published lives is the figure: none of the sets is known to be that of this joint.
    let years = lives.iter().map(|l| l.calendar_time_s / YEAR_S).filter(|y| y.is_finite());
    let (low, high) = years.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), y| (l.min(y), h.max(y)));
    if !low.is_finite() {
        return Err(Fault::Numerics(facedown_field::NoConvergence::NotFinite));
    }
    let basis = if !currents.kinetics.is_empty() {
        format!("{CURRENT_BASIS}; the shortest by the design's own constants")
    } else {
        format!("{CURRENT_BASIS}; the shortest by constants from memory of published measurements")
    };
    // The formula takes the solder as one potential, which crowds more than a real joint: the other end is no more crowding
    // than in the measurement.
    let easy = Currents { feed: None, ..currents.clone() };
    let uncrowded = electromigration::lives(&easy, mission.failed, mission.powered)?;
    let longest =
        uncrowded.iter().map(|l| l.calendar_time_s / YEAR_S).filter(|y| y.is_finite()).fold(high, f64::max);
    let mut figure = Figure::hand("electromigration_life", low, "year", &basis).between(low, longest);
    let worst = joints.iter().max_by(|a, b| {
        let life = |j: &Loaded| sets[0].median_life(j.density, j.temperature);
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
        if let Some(sentence) = outside(joint) {
            figure = figure.outside(&sentence);
        }
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
