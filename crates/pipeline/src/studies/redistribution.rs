//! The knot of the redistribution study: one part per flip die.

use super::REDISTRIBUTION;
use super::direct::{self, Direct};
use super::routing_problem::routing_problem;
use crate::graph::{Absent, Failure, Inputs, Join, Node, Progress, Reads, Report, Study, Upstream};
use crate::stage::Stage;
use facedown_package::{Design, Mount};
use facedown_redistribution::{NetReport, Outcome, Problem, SolveError};
use serde::Serialize;

/// The redistribution study.
#[derive(Debug, Clone, Copy)]
pub struct Redistribution;

/// What one die asks for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Task {
    work: Work,
    /// Sentences on what was assumed; they change nothing in the result and stay out of its key.
    #[serde(skip)]
    notes: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
enum Work {
    /// Pads are routed to bumps.
    Route(Box<Problem>),
    /// Every pad has its bump on it.
    Direct(Direct),
}

impl Study<Design> for Redistribution {
    type Input = Task;
    type Output = Outcome;

    fn node(&self) -> Node {
        Node {
            name: REDISTRIBUTION,
            stage: Stage::Redistribute,
            version: 2,
            reads: &[
                Reads::Design("die.width, die.height, die.seal_ring"),
                Reads::Design("die.pads"),
                Reads::Design("die.bumps"),
                Reads::Design("die.rdl"),
                Reads::Design("die.net, die.currents, die.assignment"),
                Reads::Design("die.keep_out"),
            ],
            reported_under: REDISTRIBUTION,
        }
    }

    fn inputs(&self, design: &Design, _: &Upstream<'_>) -> Inputs<Task> {
        let mut tasks = Vec::new();
        for die in design.dies.iter().filter(|d| d.mount() == Mount::Flip) {
            let task = match routing_problem(die) {
                Some((problem, notes)) => Task { work: Work::Route(Box::new(problem)), notes },
                None => {
                    let direct = direct::direct(die).map_err(Absent::Impossible)?;
                    let note = format!(
                        "Die {} has its pads drawn for bumps: each of its {} bumps stands on its own pad, and nothing \
                         is routed.",
                        die.name,
                        direct.seats.len()
                    );
                    Task { work: Work::Direct(direct), notes: vec![note] }
                }
            };
            tasks.push((die.name.to_string(), task));
        }
        if tasks.is_empty() {
            return Err(Absent::NotInDesign("The design has no flip-mounted die.".into()));
        }
        Ok(tasks)
    }

    fn solve(&self, task: &Task, progress: &Progress<'_>) -> Result<Outcome, Failure> {
        match &task.work {
            Work::Direct(direct) => Ok(direct::outcome(direct)),
            Work::Route(problem) => {
                let mut go_on = |share: f64| {
                    progress.tell(share, "routing");
                    !progress.cancelled()
                };
                facedown_redistribution::solve(problem, &mut go_on).map_err(|error| match error {
                    SolveError::Stopped => Failure::Cancelled,
                    other => Failure::Study(other.to_string()),
                })
            }
        }
    }

    fn report(&self, _: &str, task: &Task, outcome: &Outcome) -> Report {
        let mut limits = std::collections::BTreeMap::new();
        let worst = |value: fn(&NetReport) -> f64| {
            let routed = outcome.nets.iter().filter(|n| n.routed && value(n).is_finite() && value(n) > 0.0);
            routed.max_by(|a, b| value(a).total_cmp(&value(b))).map(|n| format!("set by net {}", n.net))
        };
        let detour = |n: &NetReport| if n.bound_m > 0.0 { n.length_m / n.bound_m } else { 0.0 };
        for (figure, clause) in [
            ("longest_net", worst(|n| n.length_m)),
            ("worst_detour", worst(detour)),
            ("trace_resistance_max", worst(|n| n.squares)),
            (
                "wirelength_ratio",
                worst(|n| n.length_m - n.bound_m).map(|c| c.replacen("set by", "most of it in", 1)),
            ),
            ("routed_nets", unrouted(outcome)),
        ] {
            limits.extend(clause.map(|c| (figure.to_owned(), c)));
        }
        Report { figures: outcome.figures.clone(), limits, notes: task.notes.clone() }
    }

    fn join(&self, figure: &str) -> Join {
        match figure {
            "nets" | "routed_nets" | "bumps" | "wirelength" | "geodesic_bound" | "assignment_bound" => {
                Join::Sum
            }
            _ => Join::Largest,
        }
    }
}

/// The nets that are open, as a clause.
fn unrouted(outcome: &Outcome) -> Option<String> {
    let mut open: Vec<&str> = outcome.nets.iter().filter(|n| !n.routed).map(|n| n.net.as_str()).collect();
    open.sort_unstable();
    open.dedup();
    match open.as_slice() {
        [] => None,
        [one] => Some(format!("net {one} is open")),
        few if few.len() <= 4 => Some(format!("nets {} are open", few.join(", "))),
        many => Some(format!("nets {} and {} more are open", many[..3].join(", "), many.len() - 3)),
    }
}
