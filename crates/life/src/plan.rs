//! The qualification plan: which tests, how long, on how many units, and why.
//!
//! Conditions and usual amounts are those of the JEDEC standards that each row names; where the mission asks for more, the
//! mission counts. Samples are three lots of 25 without failure (JESD47, from memory), or what the binomial law asks for
//! where failures are accepted. What such a sample proves, and what the target would take, is said in the row.

use crate::demonstration;
use crate::moisture;
use crate::norris_landzberg::{Swing, fits};
use crate::outcome::{Equivalent, PlanRow};
use crate::problem::{Alloy, Cycle, Problem};
use crate::storage::{self, Chamber, Needed};

/// Why no plan can be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Fault {
    /// No such condition.
    #[error("JESD22-A104 has no condition {letter:?} in this table: use one of {}", letters())]
    Condition {
        /// What was given.
        letter: String,
    },
    /// A probability that is none.
    #[error("{what} is {value}; it must lie between 0 and 1, both excluded")]
    Probability {
        /// What, in words.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// The chamber stands still.
    #[error("the chamber makes {0} cycles a day: give a number above zero")]
    CyclesPerDay(f64),
}

/// A condition of JESD22-A104.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Condition {
    /// Letter.
    pub letter: &'static str,
    /// Lowest and highest temperature, degC.
    pub celsius: (f64, f64),
    /// Cycles that JESD47 asks for in it, where it has it as an option (from memory).
    pub usual_cycles: Option<f64>,
}

const fn condition(letter: &'static str, low: f64, high: f64, usual_cycles: Option<f64>) -> Condition {
    Condition { letter, celsius: (low, high), usual_cycles }
}

/// The conditions of JESD22-A104; A, B, C, G, H and K read in a laboratory's table, the others from memory.
pub const CONDITIONS: [Condition; 13] = [
    condition("A", -55.0, 85.0, None),
    condition("B", -55.0, 125.0, Some(700.0)),
    condition("C", -65.0, 150.0, Some(500.0)),
    condition("G", -40.0, 125.0, Some(850.0)),
    condition("H", -55.0, 150.0, None),
    condition("I", -40.0, 115.0, None),
    condition("J", 0.0, 100.0, Some(2300.0)),
    condition("K", 0.0, 125.0, Some(1500.0)),
    condition("L", -55.0, 110.0, None),
    condition("M", -40.0, 150.0, None),
    condition("N", -40.0, 85.0, None),
    condition("R", -25.0, 125.0, None),
    condition("T", -40.0, 100.0, None),
];

fn letters() -> String {
    CONDITIONS.map(|c| c.letter).join(", ")
}

/// The condition with this letter, in either case.
///
/// # Errors
/// [`Fault::Condition`].
pub fn condition_of(letter: &str) -> Result<Condition, Fault> {
    CONDITIONS
        .into_iter()
        .find(|c| c.letter.eq_ignore_ascii_case(letter.trim()))
        .ok_or_else(|| Fault::Condition { letter: letter.into() })
}

impl Condition {
    /// Lowest and highest temperature, K.
    pub fn kelvin(&self) -> (f64, f64) {
        (self.celsius.0 + 273.15, self.celsius.1 + 273.15)
    }

    /// The chamber's cycle at this many cycles a day.
    pub fn swing(&self, per_day: f64) -> Swing {
        let (low, high) = self.kelvin();
        Swing { low, high, per_day }
    }
}

/// A mission cycle as the acceleration models see it: the temperatures of the joints, and cycles a day from dwells and
/// ramps; where the dwell is left out, from the count over the life, at least one a day.
pub fn service(cycle: &Cycle, life: f64) -> Swing {
    let per_day = match cycle.dwell {
        Some(dwell) => 86_400.0 / (2.0 * (dwell + cycle.ramp.unwrap_or(600.0))).max(1.0),
        None => (cycle.count * 86_400.0 / life).max(1.0),
    };
    Swing { low: cycle.low, high: cycle.high, per_day }
}

/// Cycles of the `test` that do the damage of the mission, by each published fit for the alloy (Norris and Landzberg's
/// form): the sum of `count / factor`. Cycles without a swing do none.
pub fn equivalents(alloy: Alloy, cycles: &[Cycle], life: f64, test: &Swing) -> Vec<Equivalent> {
    fits(alloy)
        .iter()
        .map(|fit| {
            let test_cycles = cycles
                .iter()
                .filter(|c| c.high > c.low)
                .map(|c| c.count / fit.factor(test, &service(c, life)))
                .sum();
            Equivalent { fit: fit.name.into(), test_cycles }
        })
        .collect()
}

/// Units of a test and what they prove.
struct Lot {
    units: u64,
    accepted: u64,
    proves: String,
}

const STORAGE_RULE: &str = "JESD47 (sample and amount from memory)";

fn lot(problem: &Problem, shape: Option<f64>) -> Lot {
    let asked = &problem.qualification;
    let accepted = asked.accepted;
    // Three lots of 25 stand for 3 % of the lot defective at 90 %; failures that are accepted are paid for by units.
    let units = if accepted == 0 {
        75
    } else {
        demonstration::units(0.97, asked.confidence, accepted).unwrap_or(75).max(75)
    };
    let proved = demonstration::proved_reliability(units, u64::from(accepted), asked.confidence);
    let target = 1.0 - problem.mission.failed;
    let needed = demonstration::units(target, asked.confidence, accepted);
    let mut proves = String::new();
    if let (Some(proved), Some(needed)) = (proved, needed) {
        let allowed =
            if accepted == 0 { "no failure".into() } else { format!("at most {accepted} failures") };
        proves = format!(
            "{units} units with {allowed} prove {:.2} % survival at {:.0} % confidence; ",
            100.0 * proved,
            100.0 * asked.confidence
        );
        if needed <= units {
            proves += &format!("the target of {:.2} % is met", 100.0 * target);
        } else {
            proves += &format!("the target of {:.3} % would take {needed} units", 100.0 * target);
            if let (Some(shape), Some(run), 0) =
                (shape, demonstration::success_run(target, asked.confidence), accepted)
            {
                let longer = (run / units as f64).powf(1.0 / shape);
                proves += &format!(", or a test {longer:.1} times as long for a Weibull shape of {shape:.1}");
            }
        }
    }
    Lot { units, accepted: u64::from(accepted), proves }
}

fn joined(parts: &[&str]) -> String {
    let mut text = parts.iter().filter(|p| !p.is_empty()).copied().collect::<Vec<_>>().join("; ");
    if let Some(first) = text.get(..1) {
        let first = first.to_uppercase();
        text.replace_range(..1, &first);
    }
    text + "."
}

fn cycling(problem: &Problem, equivalents: &[Equivalent]) -> Result<PlanRow, Fault> {
    let asked = &problem.qualification;
    let condition = condition_of(&asked.condition)?;
    let shape = problem
        .bumps
        .iter()
        .chain(&problem.balls)
        .map(|a| a.weibull_shape)
        .filter(|s| *s > 0.0)
        .min_by(f64::total_cmp);
    let Lot { units, accepted, proves } = lot(problem, shape);
    let most = equivalents.iter().map(|e| e.test_cycles).max_by(f64::total_cmp);
    let least = equivalents.iter().map(|e| e.test_cycles).min_by(f64::total_cmp);
    let mut whys = Vec::new();
    let mut amount: f64 = 0.0;
    if let (Some(most), Some(least)) = (most, least) {
        amount = most.ceil();
        let fits = equivalents.len();
        let plural = if fits == 1 { "fit" } else { "fits" };
        whys.push(format!(
            "the mission stands for {least:.0} to {most:.0} cycles by {fits} published {plural}"
        ));
    }
    if let Some(usual) = condition.usual_cycles {
        amount = amount.max(usual);
        whys.push(format!("JESD47 asks for {usual:.0} in condition {}", condition.letter));
    }
    if amount <= 0.0 {
        amount = 1000.0;
        whys.push("1000 cycles are common practice, no source".into());
    }
    let whys: Vec<&str> = whys.iter().map(String::as_str).chain([proves.as_str()]).collect();
    Ok(PlanRow {
        test: "temperature cycling".into(),
        standard: "JESD22-A104".into(),
        condition: format!(
            "condition {}: {:.0} to {:.0} degC, {:.0} cycles a day, after preconditioning",
            condition.letter, condition.celsius.0, condition.celsius.1, asked.cycles_per_day
        ),
        amount,
        unit: "cycles".into(),
        sample: units,
        accepted,
        why: joined(&whys),
        basis: "JESD22-A104 (condition), JESD47 (cycles and sample, from memory), acceleration in the form of Norris and Landzberg 1969".into(),
    })
}

/// Lowest glass transition of an underfill of the package, K.
fn glass(problem: &Problem) -> Option<f64> {
    let filled = problem.bumps.iter().chain(&problem.balls).filter_map(|a| a.underfill.as_ref());
    filled.filter_map(|u| u.glass_transition).min_by(f64::total_cmp)
}

/// A row of a chamber that runs for its usual time or as long as the mission asks, whichever is more.
fn chamber(problem: &Problem, chamber: &Chamber, needed: Option<Vec<Needed>>, conditioned: bool) -> PlanRow {
    let Lot { units, accepted, proves } = lot(problem, None);
    let usual = chamber.usual / 3600.0;
    let mut amount = usual;
    let mut whys = Vec::new();
    if let Some(glass) = glass(problem).filter(|g| *g < chamber.temperature) {
        whys.push(format!(
            "{:.0} degC lies above the glass transition of the underfill at {:.0} degC, so that what fails in it need not fail in \
             service",
            chamber.temperature - 273.15,
            glass - 273.15
        ));
    }
    if let Some((low, high)) = needed.as_deref().and_then(storage::span) {
        let (low, high) = (low / 3600.0, high / 3600.0);
        amount = amount.max(high.ceil());
        whys.push(format!("the mission stands for {low:.0} to {high:.0} h by the published constants"));
        whys.extend(chamber.humidity.and_then(|_| storage::beyond_fit(&problem.mission)));
    } else {
        whys.push("the mission names no such surroundings".into());
    }
    whys.push(format!("the usual time is {usual:.0} h"));
    let whys: Vec<&str> = whys.iter().map(String::as_str).chain([proves.as_str()]).collect();
    let humidity =
        chamber.humidity.map(|h| format!(", {:.0} % relative humidity", 100.0 * h)).unwrap_or_default();
    let after = if conditioned { ", after preconditioning" } else { "" };
    PlanRow {
        test: chamber.test.into(),
        standard: chamber.standard.into(),
        condition: format!("{:.0} degC{humidity}{after}", chamber.temperature - 273.15),
        amount,
        unit: "h".into(),
        sample: units,
        accepted,
        why: joined(&whys),
        basis: format!(
            "{} (condition), {STORAGE_RULE}; {}",
            chamber.standard,
            if chamber.humidity.is_some() {
                "humidity by Peck 1986 and Hallberg and Peck 1991"
            } else {
                "Arrhenius"
            }
        ),
    }
}

fn preconditioning(problem: &Problem, others: &[PlanRow]) -> Option<PlanRow> {
    let level = problem.moisture.as_ref()?.level;
    let soak = moisture::soak(level);
    let humidity = 100.0 * soak.humidity;
    let energy = problem.moisture.as_ref()?.activation_energy;
    // The standard's own limit of the exchange.
    let shorter = moisture::accelerated_soak(level).filter(|_| (0.40..=0.48).contains(&energy)).map_or_else(
        String::new,
        |fast| {
            format!(
                " (or {:.0} h at {:.0} degC, {humidity:.0} %)",
                fast.time / 3600.0,
                fast.temperature - 273.15
            )
        },
    );
    let soaked = if soak.time > 0.0 {
        format!(
            "{:.0} degC, {humidity:.0} % relative humidity{shorter}, then three reflows",
            soak.temperature - 273.15
        )
    } else {
        "30 degC, 60 % relative humidity for the time on the label, then three reflows".into()
    };
    let sample = others.iter().filter(|r| r.condition.ends_with("preconditioning")).map(|r| r.sample).sum();
    Some(PlanRow {
        test: "preconditioning".into(),
        standard: "JESD22-A113".into(),
        condition: format!("level {}: {soaked}", moisture::name(level)),
        amount: soak.time / 3600.0,
        unit: "h".into(),
        sample,
        accepted: 0,
        why: "All units of the tests that follow it are soaked and soldered as the user will.".into(),
        basis: "JESD22-A113, soak of IPC/JEDEC J-STD-020 (from memory)".into(),
    })
}

/// The plan of one package: preconditioning (where its level is known), temperature cycling, storage, and the humidity
/// tests. `equivalents` are the mission in cycles of the chosen condition (see [`equivalents`]); empty, the usual
/// cycles count.
///
/// # Errors
/// Any [`Fault`].
pub fn rows(problem: &Problem, equivalents: &[Equivalent]) -> Result<Vec<PlanRow>, Fault> {
    let asked = &problem.qualification;
    for (what, value) in [
        ("the confidence of the qualification", asked.confidence),
        ("the share of failed packages", problem.mission.failed),
    ] {
        if !(value > 0.0 && value < 1.0) {
            return Err(Fault::Probability { what, value });
        }
    }
    if !(asked.cycles_per_day > 0.0 && asked.cycles_per_day.is_finite()) {
        return Err(Fault::CyclesPerDay(asked.cycles_per_day));
    }
    let mission = &problem.mission;
    let hot = Chamber { temperature: asked.storage_temperature, ..storage::STORAGE };
    let mut rows = vec![
        cycling(problem, equivalents)?,
        chamber(problem, &hot, storage::dry(mission, hot.temperature), false),
    ];
    // The milder of the two highly accelerated conditions where the usual one would soften the underfill.
    let soft = glass(problem).is_some_and(|g| g < storage::PRESSURE.temperature);
    let accelerated = if soft {
        [&storage::PRESSURE_BIASED_110, &storage::PRESSURE_110]
    } else {
        [&storage::PRESSURE_BIASED, &storage::PRESSURE]
    };
    for humid in [&storage::DAMP_HEAT].into_iter().chain(accelerated) {
        rows.push(chamber(problem, humid, storage::humid(mission, humid), true));
    }
    if let Some(first) = preconditioning(problem, &rows) {
        rows.insert(0, first);
    }
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::{Level, Mission, Moisture, Qualification};

    fn problem() -> Problem {
        let cycle = |low: f64, high: f64, per_day: f64| Cycle {
            name: "day".into(),
            low: low + 273.15,
            high: high + 273.15,
            lower_part: None,
            count: 3652.5 * per_day,
            dwell: None,
            ramp: None,
        };
        Problem {
            bumps: None,
            balls: None,
            mission: Mission {
                life: 10.0 * 365.25 * 86_400.0,
                powered: 0.5,
                failed: 0.01,
                cycles: vec![cycle(15.0, 75.0, 1.0), cycle(20.0, 50.0, 4.0), cycle(30.0, 30.0, 9.0)],
                history: None,
                powered_temperature: Some(353.15),
                ambient_temperature: Some(303.15),
                ambient_humidity: Some(0.6),
            },
            currents: None,
            moisture: Some(Moisture {
                level: Level::L3,
                thickness: 0.8e-3,
                both_faces: false,
                diffusivity: 3e-13,
                diffusivity_temperature: 303.15,
                activation_energy: 0.45,
                floor_temperature: 303.15,
                bake_temperature: 398.15,
            }),
            qualification: Qualification::default(),
            test: None,
        }
    }

    #[test]
    fn the_plan_holds_every_test_with_its_reason() {
        let problem = problem();
        let test = condition_of("J").unwrap().swing(48.0);
        let stands =
            equivalents(Alloy::TinSilverCopper, &problem.mission.cycles, problem.mission.life, &test);
        assert_eq!(stands.len(), 3);
        let rows = rows(&problem, &stands).unwrap();
        let standards: Vec<&str> = rows.iter().map(|r| r.standard.as_str()).collect();
        assert_eq!(
            standards,
            ["JESD22-A113", "JESD22-A104", "JESD22-A103", "JESD22-A101", "JESD22-A110", "JESD22-A118"]
        );
        assert_eq!((rows[0].amount, rows[0].sample), (192.0, 4 * 75));
        assert!(rows[0].condition.contains("(or 40 h at 60 degC, 60 %)"), "{}", rows[0].condition);
        assert!(rows[1].amount >= 2300.0 && rows[1].why.contains("96.98 %"), "{}", rows[1].why);
        assert!(rows[1].why.contains("230 units"), "{}", rows[1].why);
        assert!(rows.iter().all(|r| r.why.ends_with('.') && r.amount > 0.0 && r.sample >= 75));
    }

    #[test]
    fn a_longer_test_makes_up_for_units() {
        let mut problem = crate::specimen::outdoors();
        problem.mission.failed = 0.01;
        problem.qualification = Qualification::default();
        for a in problem.bumps.iter_mut().chain(&mut problem.balls) {
            a.weibull_shape = 2.0;
        }
        let why = rows(&problem, &[]).unwrap().into_iter().find(|r| r.standard == "JESD22-A104").unwrap().why;
        // (229.1 / 75)^(1/2)
        assert!(why.contains("a test 1.7 times as long for a Weibull shape of 2.0"), "{why}");
    }

    #[test]
    fn a_soft_underfill_gets_the_milder_humidity_tests() {
        let mut problem = crate::specimen::outdoors();
        let glass = |problem: &mut Problem, celsius: f64| {
            let underfill = problem.bumps.as_mut().and_then(|b| b.underfill.as_mut()).unwrap();
            underfill.glass_transition = Some(celsius + 273.15);
            let rows = rows(problem, &[]).unwrap();
            ["JESD22-A110", "JESD22-A118", "JESD22-A103"].map(|s| {
                rows.iter().find(|r| r.standard == s).map(|r| (r.condition.clone(), r.why.clone())).unwrap()
            })
        };
        let [biased, bare, storage] = glass(&mut problem, 120.0);
        assert!(biased.0.starts_with("110 degC") && bare.0.starts_with("110 degC"), "{biased:?}");
        assert!(storage.1.contains("glass transition of the underfill at 120 degC"), "{}", storage.1);
        let [biased, bare, storage] = glass(&mut problem, 155.0);
        assert!(biased.0.starts_with("130 degC") && bare.0.starts_with("130 degC"), "{biased:?}");
        assert!(!storage.1.contains("glass"), "{}", storage.1);
        assert!(glass(&mut problem, 100.0)[0].1.contains("110 degC lies above the glass transition"));
    }

    #[test]
    fn a_mission_that_asks_for_more_sets_the_amount() {
        let long = [Equivalent { fit: "one".into(), test_cycles: 4000.2 }];
        let rows = rows(&problem(), &long).unwrap();
        assert_eq!(rows[1].amount, 4001.0);
    }

    #[test]
    fn accepted_failures_cost_units() {
        let mut problem = problem();
        problem.qualification.accepted = 1;
        let rows = rows(&problem, &[]).unwrap();
        // 0.97^n + n 0.03 0.97^(n-1) <= 0.1 first at 129.
        assert_eq!((rows[1].sample, rows[1].accepted), (129, 1));
    }

    #[test]
    fn what_is_wrong_is_named() {
        let mut problem = problem();
        problem.qualification.condition = "Z".into();
        let text = rows(&problem, &[]).unwrap_err().to_string();
        assert!(text.contains("\"Z\"") && text.contains("A, B, C, G"), "{text}");
        problem.qualification.condition = " j".into();
        assert!(rows(&problem, &[]).is_ok());
        problem.qualification.confidence = 1.0;
        assert!(matches!(rows(&problem, &[]), Err(Fault::Probability { .. })));
        problem.qualification.confidence = 0.9;
        problem.qualification.cycles_per_day = f64::NAN;
        assert!(matches!(rows(&problem, &[]), Err(Fault::CyclesPerDay(_))));
    }
}
