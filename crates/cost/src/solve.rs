//! The whole study: dies from the wafer, then the steps.

use crate::flow::follow;
use crate::outcome::{DieRow, Outcome};
use crate::problem::{Die, Problem};
use crate::yields::{Model, die_yield, dies_per_wafer, escapes, passing};
use facedown_evidence::Figure;
use std::collections::BTreeMap;

/// Why there is no outcome.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// A number that no package can have.
    #[error("{what} is {value}; it must be {allowed}")]
    Number {
        /// What it belongs to.
        what: String,
        /// The number.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
    /// Nothing to price.
    #[error("the package has no die; give it at least one")]
    NoDie,
    /// A die that does not fit on its wafer.
    #[error("no whole die \"{die}\" fits on a wafer of {diameter_mm} mm; choose a larger wafer")]
    NoneOnWafer {
        /// The die.
        die: String,
        /// The wafer's diameter, mm.
        diameter_mm: f64,
    },
}

/// Prices a package.
///
/// # Errors
/// [`Refusal`] for numbers outside their range.
pub fn solve(problem: &Problem) -> Result<Outcome, Refusal> {
    if problem.dies.is_empty() {
        return Err(Refusal::NoDie);
    }
    for step in &problem.steps {
        let of = |what: &str| format!("the {what} of step \"{}\"", step.name);
        within(of("price"), step.price, step.price >= 0.0, "zero or more")?;
        within(of("yield"), step.good, step.good > 0.0 && step.good <= 1.0, "above 0 and up to 100 %")?;
    }
    let dies = problem.dies.iter().map(row_of).collect::<Result<Vec<_>, _>>()?;
    let price: f64 = dies.iter().map(|d| d.price).sum();
    let known_good: f64 = dies.iter().map(|d| 1.0 - d.escapes).product();
    let flow = follow(price, known_good, &problem.steps);
    let assembly: f64 = problem.steps.iter().map(|s| s.good).product();
    let steps_price: f64 = problem.steps.iter().map(|s| s.price).sum();
    let each = flow.spent / flow.good;
    within("the price of one good package".into(), each, true, "a finite number; some yield is too small")?;
    let money = "sum over the process table, in its money";
    let worst = dies.iter().min_by(|a, b| a.good.total_cmp(&b.good));
    let mut figures = vec![
        Figure::hand(
            "assembly_yield",
            100.0 * assembly,
            "%",
            "product of the step yields of the process table",
        ),
        Figure::hand(
            "package_yield",
            100.0 * flow.good,
            "%",
            "dies that escape their test (Williams and Brown 1981) and step yields, multiplied",
        ),
        Figure::hand("cost_dies", price, "", money),
        Figure::hand("cost_assembly", steps_price, "", money),
        Figure::hand("cost_scrap", flow.scrap / flow.good, "", "money in bad packages, for each good one"),
        Figure::hand("cost_good_package", each, "", "all money spent over the good packages"),
    ];
    let mut limits = BTreeMap::new();
    if let Some(d) = worst {
        figures.insert(
            0,
            Figure::hand("dies_per_wafer", d.per_wafer, "", "whole dies of a straight lattice, counted"),
        );
        figures.insert(
            1,
            Figure::hand("die_yield", 100.0 * d.good, "%", "defect yield model of the process table"),
        );
        limits.insert("die_yield".into(), format!("of die \"{}\"", d.name));
        limits.insert("dies_per_wafer".into(), format!("of die \"{}\"", d.name));
    }
    let dearest = problem.steps.iter().max_by(|a, b| a.price.total_cmp(&b.price));
    if let Some(step) = dearest {
        let share = |x: f64| 100.0 * x / each;
        limits.insert(
            "cost_good_package".into(),
            format!(
                "with {:.0} % in dies, {:.0} % in assembly (most of it {}), {:.0} % in scrap",
                share(price),
                share(steps_price),
                step.name,
                share(flow.scrap / flow.good)
            ),
        );
    }
    if let Some(step) = problem.steps.iter().min_by(|a, b| a.good.total_cmp(&b.good)) {
        limits.insert(
            "assembly_yield".into(),
            format!("held back by {} with {:.2} %", step.name, 100.0 * step.good),
        );
    }
    let mut notes = Vec::new();
    if problem.invented {
        notes.push("Prices and yields that the design does not give are invented defaults; put in your own before you compare money.".into());
    }
    let mut advice = Vec::new();
    if dies.len() > 1 && dies.iter().any(|d| d.escapes > 0.02) {
        advice.push(
            "With several dies a bad one wastes all others: dies are tested to a known-good level before assembly (common practice)."
                .into(),
        );
    }
    Ok(Outcome { figures, limits, notes, advice, dies, steps: flow.rows })
}

fn row_of(die: &Die) -> Result<DieRow, Refusal> {
    let of = |what: &str| format!("the {what} of die \"{}\"", die.name);
    for (what, value) in
        [("width", die.width), ("height", die.height), ("wafer diameter", die.wafer_diameter)]
    {
        within(of(what), value, value > 0.0 && value < 10.0, "above zero")?;
    }
    for (what, value) in [
        ("saw street", die.street),
        ("edge exclusion", die.edge_exclusion),
        ("wafer price", die.wafer_price),
        ("test price", die.test_price),
        ("defect density", die.defect_density),
    ] {
        within(of(what), value, value >= 0.0, "zero or more")?;
    }
    within(of("test coverage"), die.test_coverage, (0.0..=1.0).contains(&die.test_coverage), "0 to 100 %")?;
    if let Model::Clustered(a) = die.model {
        within(of("clustering parameter"), a, a > 0.0, "above zero")?;
    }
    if die.wafer_diameter / (die.width.min(die.height)) > 1e5 {
        return Err(Refusal::Number { what: of("width"), value: die.width, allowed: "a die, not dust" });
    }
    let per_wafer =
        dies_per_wafer([die.width, die.height], die.street, die.wafer_diameter, die.edge_exclusion);
    if per_wafer == 0 {
        return Err(Refusal::NoneOnWafer { die: die.name.clone(), diameter_mm: die.wafer_diameter * 1e3 });
    }
    let good = die_yield(die.model, die.width * die.height, die.defect_density);
    let price = (die.wafer_price / per_wafer as f64 + die.test_price) / passing(good, die.test_coverage);
    within(of("price"), price, true, "a finite number; its yield is too small")?;
    Ok(DieRow {
        name: die.name.clone(),
        per_wafer: per_wafer as f64,
        good,
        escapes: escapes(good, die.test_coverage),
        price,
    })
}

fn within(what: String, value: f64, holds: bool, allowed: &'static str) -> Result<(), Refusal> {
    if holds && value.is_finite() { Ok(()) } else { Err(Refusal::Number { what, value, allowed }) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Step;
    use proptest::prelude::*;

    fn die(side: f64, defects: f64, coverage: f64) -> Die {
        Die {
            name: "a".into(),
            width: side,
            height: side,
            street: 80e-6,
            wafer_diameter: 0.3,
            edge_exclusion: 3e-3,
            wafer_price: 3000.0,
            defect_density: defects,
            model: Model::Clustered(3.0),
            test_coverage: coverage,
            test_price: 0.1,
        }
    }

    fn step(good: f64) -> Step {
        Step { name: "reflow".into(), price: 0.3, good, inspected: false }
    }

    fn figure(outcome: &Outcome, name: &str) -> f64 {
        outcome.figures.iter().find(|f| f.name == name).map_or(f64::NAN, |f| f.value)
    }

    #[test]
    fn nonsense_is_refused_in_words() {
        let problem = |d: Die, s: Step| Problem { dies: vec![d], steps: vec![s], invented: false };
        for bad in [
            problem(die(f64::NAN, 1.0, 0.9), step(0.9)),
            problem(die(0.01, -1.0, 0.9), step(0.9)),
            problem(die(0.01, 1.0, 1.2), step(0.9)),
            problem(die(0.01, 1.0, 0.9), step(0.0)),
            problem(die(1.0, 1.0, 0.9), step(0.9)),
            problem(die(1e-9, 1.0, 0.9), step(0.9)),
            problem(Die { model: Model::Poisson, ..die(0.2, 1e9, 0.9) }, step(0.9)),
            Problem { dies: vec![], steps: vec![], invented: false },
        ] {
            let refusal = solve(&bad).expect_err("must be refused");
            assert!(refusal.to_string().len() > 20, "{refusal}");
        }
    }

    #[test]
    fn several_untested_dies_multiply_their_escapes() {
        let one = Problem { dies: vec![die(0.01, 1e3, 0.0)], steps: vec![step(1.0)], invented: false };
        let four = Problem { dies: vec![die(0.01, 1e3, 0.0); 4], ..one.clone() };
        let (one, four) = (solve(&one).unwrap(), solve(&four).unwrap());
        let y = figure(&one, "package_yield") / 100.0;
        assert!((figure(&four, "package_yield") / 100.0 - y.powi(4)).abs() < 1e-12);
        assert!(!four.advice.is_empty());
    }

    proptest! {
        #[test]
        fn every_figure_is_finite_and_more_defects_never_cost_less(
            side in 1e-3..20e-3_f64, d in 0.0..2e4_f64, c in 0.0..1.0_f64, y in 0.5..1.0_f64,
        ) {
            let at = |d| Problem { dies: vec![die(side, d, c)], steps: vec![step(y)], invented: true };
            let (a, b) = (solve(&at(d)).unwrap(), solve(&at(d * 1.3 + 1.0)).unwrap());
            prop_assert!(a.figures.iter().all(|f| f.value.is_finite()));
            prop_assert!(figure(&a, "cost_good_package") <= figure(&b, "cost_good_package") * (1.0 + 1e-12));
        }
    }
}
