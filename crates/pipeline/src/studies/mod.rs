//! The studies of the house as knots of the graph: what each reads from a design, and what it reports.

mod cost;
mod direct;
mod electrical;
mod heat;
mod heat_inputs;
pub mod joints;
mod life;
mod micrograph;
pub mod placing;
mod plates;
pub mod properties;
mod redistribution;
mod routing_problem;
mod rule_check;
mod underfill;
mod warpage;

pub use cost::{Cost, CostTask};
pub use electrical::{Electrical, ElectricalTask};
pub use heat::{Heat, HeatTask};
pub use joints::{JointTask, Joints};
pub use life::{Life, LifeTask};
pub use micrograph::{Micrograph, MicrographTask};
pub use redistribution::{Redistribution, Task};
pub use routing_problem::{RDL_CURRENT_DENSITY, routing_problem};
pub(crate) use rule_check::layer_words;
pub use rule_check::{RuleCheck, checker_rules};
pub use underfill::{Underfill, UnderfillTask};
pub use warpage::{Warpage, WarpageTask};

use crate::graph::{Graph, GraphError, Report};
use facedown_evidence::Figure;
use facedown_package::Design;
use std::collections::BTreeMap;

/// Name of the redistribution study.
pub const REDISTRIBUTION: &str = "redistribution";
/// Name of the rule check of the redistribution's drawings.
pub const RULE_CHECK: &str = "rule-check";

/// Name of the warpage study.
pub const WARPAGE: &str = "warpage";
/// Name of the joint study.
pub const JOINTS: &str = "joints";
/// Name of the underfill study.
pub const UNDERFILL: &str = "underfill";
/// Name of the count of voids in micrographs.
pub const MICROGRAPH: &str = "micrograph";
/// Name of the electrical study.
pub const ELECTRICAL: &str = "electrical";
/// Name of the heat study.
pub const HEAT: &str = "heat";
/// Name of the life study.
pub const LIFE: &str = "life";
/// Name of the cost study.
pub const COST: &str = "cost";

/// A study's figures, limits, notes and advice as the graph reports them.
pub(crate) fn report_of(
    figures: &[Figure],
    limits: &BTreeMap<String, String>,
    notes: &[&[String]],
    advice: &[String],
) -> Report {
    let advice = advice.iter().map(|a| format!("Practice: {a}"));
    let notes = notes.iter().flat_map(|n| n.iter().cloned()).chain(advice).collect();
    Report { figures: figures.to_vec(), limits: limits.clone(), notes }
}

/// All studies of the house.
///
/// # Errors
/// Never for the graph as it stands; a study added in a wrong place would be one.
pub fn graph() -> Result<Graph<Design>, GraphError> {
    Graph::default()
        .with(Redistribution)?
        .with(RuleCheck)?
        .with(Warpage)?
        .with(Joints)?
        .with(Underfill)?
        .with(Micrograph)?
        .with(Electrical)?
        .with(Heat)?
        .with(Life)?
        .with(Cost)
}
