//! The knot of the cost study. Prices and yields are those of the design's table `[cost]`; where it gives none, invented
//! defaults stand in and a note names them. The steps follow from what the design has.

use super::COST;
use crate::graph::{Absent, Failure, Inputs, Join, Node, Progress, Reads, Report, Study, Upstream};
use crate::stage::Stage;
use facedown_cost as cost;
use facedown_cost::yields::Model;
use facedown_package::prices::{STEPS, WaferPrices, YieldModel};
use facedown_package::{Design, Die, Form, Mount};
use serde::Serialize;

/// The cost study of the whole package.
#[derive(Debug, Clone, Copy)]
pub struct Cost;

/// What one solve reads, and which of it is a default.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CostTask {
    /// The study's own input.
    pub problem: cost::Problem,
    /// What money and defaults the reader must know of, in sentences.
    pub notes: Vec<String>,
}

impl Study<Design> for Cost {
    type Input = CostTask;
    type Output = cost::Outcome;

    fn node(&self) -> Node {
        Node {
            name: COST,
            stage: Stage::Service,
            version: 2,
            reads: &[
                Reads::Design("die.width, die.height, die.mount, die.rdl, interposer"),
                Reads::Design("form, substrate, balls, process, cost"),
            ],
            reported_under: COST,
        }
    }

    fn inputs(&self, design: &Design, _: &Upstream<'_>) -> Inputs<CostTask> {
        if design.dies.is_empty() {
            return Err(Absent::NotInDesign("The design has no die to price.".into()));
        }
        Ok(vec![(String::new(), task(design))])
    }

    fn solve(&self, task: &CostTask, _: &Progress<'_>) -> Result<cost::Outcome, Failure> {
        cost::solve(&task.problem).map_err(|e| Failure::Study(e.to_string()))
    }

    fn report(&self, _: &str, task: &CostTask, outcome: &cost::Outcome) -> Report {
        let notes = [task.notes.as_slice(), outcome.notes.as_slice()];
        super::report_of(&outcome.figures, &outcome.limits, &notes, &outcome.advice)
    }

    fn join(&self, _: &str) -> Join {
        Join::Largest
    }
}

/// Invented prices: a wafer of 300 mm, its bumps, one layer of redistribution.
const WAFER: f64 = 3000.0;
const BUMPING: f64 = 150.0;
const LAYER: f64 = 120.0;
/// Invented defects, 1/m2 (0.1 a square centimetre), and clustering.
const DEFECTS: f64 = 1000.0;
const CLUSTERING: f64 = 3.0;

/// Invented saw street, rim without good dies, wafer diameter, m, and price of a wafer test.
const STREET: f64 = 80e-6;
const RIM: f64 = 3e-3;
const WAFER_DIAMETER: f64 = 0.3;
const WAFER_TEST: f64 = 0.15;

/// Names what a default stands in for.
#[derive(Default)]
struct Defaults(Vec<String>);

impl Defaults {
    fn or(&mut self, given: Option<f64>, default: f64, what: impl Fn() -> String) -> f64 {
        given.unwrap_or_else(|| {
            self.0.push(what());
            default
        })
    }
}

fn task(design: &Design) -> CostTask {
    let mut defaults = Defaults::default();
    let dies = design.dies.iter().map(|die| wafer_of(design, die, &mut defaults)).collect();
    let steps: Vec<cost::Step> = steps_of(design, &mut defaults);
    let mut notes = Vec::new();
    if let Some(money) = design.prices.as_ref().and_then(|p| p.money.as_ref()) {
        notes.push(format!("All prices are in {money}."));
    }
    if !defaults.0.is_empty() {
        notes.push(format!("Invented defaults stand in for: {}.", defaults.0.join("; ")));
    }
    for step in design.prices.iter().flat_map(|p| &p.steps).filter(|s| STEPS.contains(&s.name.as_str())) {
        if !steps.iter().any(|s| s.name == step.name) {
            notes.push(format!("The design has no step {}; its price is left out.", step.name));
        }
    }
    CostTask { problem: cost::Problem { dies, steps, invented: !defaults.0.is_empty() }, notes }
}

fn wafer_of(design: &Design, die: &Die, defaults: &mut Defaults) -> cost::Die {
    let all = design.prices.iter().flat_map(|p| &p.wafers);
    let own = all.clone().find(|w| w.die.as_ref() == Some(&die.name));
    let given = own.or_else(|| all.clone().find(|w| w.die.is_none()));
    let of = |what: &str| format!("{what} of die {}", die.name);
    let mut take = |value: &dyn Fn(&WaferPrices) -> Option<f64>, default: f64, what: &str| {
        defaults.or(given.and_then(value), default, || of(what))
    };
    let layers = die.rdl.as_ref().map_or(0.0, |r| f64::from(r.layers.unwrap_or(1)));
    let bumping = if die.mount() == Mount::Flip { BUMPING } else { 0.0 };
    let coverage = if design.dies.len() > 1 { 0.98 } else { 0.90 };
    let wafer_price = take(&|w| w.price, WAFER + bumping + LAYER * layers, "wafer price");
    let wafer_diameter = take(&|w| w.diameter.as_ref().map(|v| v.si()), WAFER_DIAMETER, "wafer diameter");
    let edge_exclusion = take(&|w| w.edge_exclusion.as_ref().map(|v| v.si()), RIM, "edge exclusion");
    let street = take(&|w| w.street.as_ref().map(|v| v.si()), STREET, "saw street");
    let defect_density = take(&|w| w.defects_per_cm2.map(|v| v * 1e4), DEFECTS, "defect density");
    let model = match given.and_then(|w| w.model).unwrap_or(YieldModel::Clustered) {
        YieldModel::Poisson => Model::Poisson,
        YieldModel::Murphy => Model::Murphy,
        YieldModel::Seeds => Model::Seeds,
        YieldModel::Clustered => {
            Model::Clustered(take(&|w| w.clustering, CLUSTERING, "clustering of defects"))
        }
    };
    let test_coverage = take(&|w| w.test_coverage.as_ref().map(|v| v.si()), coverage, "test coverage");
    let test_price = take(&|w| w.test_price, WAFER_TEST, "wafer test price");
    cost::Die {
        name: die.name.to_string(),
        width: die.width.si(),
        height: die.height.si(),
        street,
        wafer_diameter,
        edge_exclusion,
        wafer_price,
        defect_density,
        model,
        test_coverage,
        test_price,
    }
}

/// The steps that the design has, with the user's numbers in them, and the user's further steps before the final test.
fn steps_of(design: &Design, defaults: &mut Defaults) -> Vec<cost::Step> {
    let priced = || design.prices.iter().flat_map(|p| &p.steps);
    let mut steps: Vec<cost::Step> = usual(design)
        .into_iter()
        .map(|usual| {
            let given = priced().find(|s| s.name == usual.name);
            let price = given.and_then(|s| s.price);
            let good = given.and_then(|s| s.good.as_ref()).map(|v| v.si());
            cost::Step {
                price: defaults.or(price, usual.price, || format!("price of {}", usual.name)),
                good: defaults.or(good, usual.good, || format!("yield of {}", usual.name)),
                inspected: given.and_then(|s| s.inspected).unwrap_or(usual.inspected),
                name: usual.name,
            }
        })
        .collect();
    let further: Vec<cost::Step> = priced()
        .filter(|s| !STEPS.contains(&s.name.as_str()))
        .map(|s| cost::Step {
            name: s.name.clone(),
            price: s.price.unwrap_or_default(),
            good: s.good.as_ref().map_or(1.0, |v| v.si()),
            inspected: s.inspected.unwrap_or(false),
        })
        .collect();
    let last = steps.len().saturating_sub(1);
    steps.splice(last..last, further);
    steps
}

fn usual(design: &Design) -> Vec<cost::Step> {
    let step = |name: &str, price: f64, good: f64, inspected: bool| cost::Step {
        name: name.into(),
        price,
        good,
        inspected,
    };
    let count = design.dies.len() as f64;
    let area_cm2 = design.substrate.as_ref().map_or(0.0, |s| s.width.si() * s.height.si() * 1e4);
    let mut steps = Vec::new();
    if let Some(interposer) = &design.interposer {
        let area = interposer.width.si() * interposer.height.si() * 1e4;
        steps.push(step("interposer", 2.5 * area, 0.995, true));
    }
    steps.push(step("substrate", 0.35 * area_cm2, 1.0, false));
    steps.push(step("place and reflow", 0.08 * count, 0.998_f64.powf(count), true));
    if let Some(process) = &design.process {
        if process.clean.is_some() {
            steps.push(step("clean", 0.05, 1.0, false));
        }
        if process.underfill.is_some() {
            steps.push(step("underfill and cure", 0.06 * count, 0.999_f64.powf(count), true));
        }
    }
    match design.form() {
        Form::Bare => {}
        Form::Ring(_) => steps.push(step("ring", 0.25, 0.999, false)),
        Form::Lid(_) => steps.push(step("lid", 0.60, 0.998, false)),
    }
    if design.balls.is_some() {
        steps.push(step("ball attach", 0.10, 0.999, false));
    }
    steps.push(step("final test", 0.30, 0.995, true));
    steps
}
