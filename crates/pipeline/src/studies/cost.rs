//! The knot of the cost study. The design file has no prices yet, so that all of them are defaults, invented and said
//! to be; the steps follow from what the design has.

use super::COST;
use crate::graph::{Absent, Failure, Inputs, Join, Node, Progress, Reads, Report, Study, Upstream};
use crate::stage::Stage;
use facedown_cost as cost;
use facedown_cost::yields::Model;
use facedown_package::{Design, Form, Mount};

/// The cost study of the whole package.
#[derive(Debug, Clone, Copy)]
pub struct Cost;

impl Study<Design> for Cost {
    type Input = cost::Problem;
    type Output = cost::Outcome;

    fn node(&self) -> Node {
        Node {
            name: COST,
            stage: Stage::Service,
            version: 1,
            reads: &[
                Reads::Design("die.width, die.height, die.mount, die.rdl, interposer"),
                Reads::Design("form, substrate, balls, process"),
            ],
            reported_under: COST,
        }
    }

    fn inputs(&self, design: &Design, _: &Upstream<'_>) -> Inputs<cost::Problem> {
        if design.dies.is_empty() {
            return Err(Absent::NotInDesign("The design has no die to price.".into()));
        }
        Ok(vec![(String::new(), problem(design))])
    }

    fn solve(&self, problem: &cost::Problem, _: &Progress<'_>) -> Result<cost::Outcome, Failure> {
        cost::solve(problem).map_err(|e| Failure::Study(e.to_string()))
    }

    fn report(&self, _: &str, _: &cost::Problem, outcome: &cost::Outcome) -> Report {
        super::report_of(&outcome.figures, &outcome.limits, &[outcome.notes.as_slice()], &outcome.advice)
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

fn problem(design: &Design) -> cost::Problem {
    let several = design.dies.len() > 1;
    let dies = design
        .dies
        .iter()
        .map(|die| {
            let layers = die.rdl.as_ref().map_or(0.0, |r| f64::from(r.layers.unwrap_or(1)));
            let flip = die.mount() == Mount::Flip;
            cost::Die {
                name: die.name.to_string(),
                width: die.width.si(),
                height: die.height.si(),
                street: 80e-6,
                wafer_diameter: 0.3,
                edge_exclusion: 3e-3,
                wafer_price: WAFER + if flip { BUMPING } else { 0.0 } + LAYER * layers,
                defect_density: DEFECTS,
                model: Model::Clustered(CLUSTERING),
                test_coverage: if several { 0.98 } else { 0.90 },
                test_price: 0.15,
            }
        })
        .collect();
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
    cost::Problem { dies, steps, invented: true }
}
