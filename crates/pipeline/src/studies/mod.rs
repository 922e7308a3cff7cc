//! The studies of the house as knots of the graph: what each reads from a design, and what it reports.

mod direct;
pub mod properties;
mod redistribution;
mod routing_problem;
mod rule_check;

pub use redistribution::{Redistribution, Task};
pub use routing_problem::{RDL_CURRENT_DENSITY, routing_problem};
pub(crate) use rule_check::layer_words;
pub use rule_check::{RuleCheck, checker_rules};

use crate::graph::{Graph, GraphError};
use facedown_package::Design;

/// Name of the redistribution study.
pub const REDISTRIBUTION: &str = "redistribution";
/// Name of the rule check of the redistribution's drawings.
pub const RULE_CHECK: &str = "rule-check";

/// All studies of the house.
///
/// # Errors
/// Never for the graph as it stands; a study added in a wrong place would be one.
pub fn graph() -> Result<Graph<Design>, GraphError> {
    Graph::default().with(Redistribution)?.with(RuleCheck)
}
