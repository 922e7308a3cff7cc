//! What the study gives.

use facedown_evidence::Figure;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Cost and yield of the package.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// Figures: `die_yield`, `assembly_yield`, `package_yield` (%), `dies_per_wafer`, `cost_dies`, `cost_assembly`,
    /// `cost_scrap`, `cost_good_package` (in the table's money).
    pub figures: Vec<Figure>,
    /// What limits a figure, by its name, as a clause that ends a sentence.
    pub limits: BTreeMap<String, String>,
    /// What was assumed.
    pub notes: Vec<String>,
    /// Facts of the trade that speak to this design.
    pub advice: Vec<String>,
    /// One row a die.
    pub dies: Vec<DieRow>,
    /// One row a step, in order.
    pub steps: Vec<StepRow>,
}

/// A die on its wafer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DieRow {
    /// Name.
    pub name: String,
    /// Whole dies on a wafer.
    pub per_wafer: f64,
    /// Share of good ones, 0 to 1.
    pub good: f64,
    /// Share of bad ones among those that passed the wafer test, 0 to 1.
    pub escapes: f64,
    /// Money for one that passed.
    pub price: f64,
}

/// A step of assembly.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StepRow {
    /// Name.
    pub name: String,
    /// Money spent in one package that reaches the end of the step, dies included.
    pub spent: f64,
    /// Share of good packages among those that leave it, 0 to 1.
    pub good: f64,
    /// Share of all packages begun that are taken out here, 0 to 1.
    pub taken_out: f64,
}
