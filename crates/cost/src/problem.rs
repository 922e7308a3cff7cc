//! What the study reads.

use crate::yields::Model;
use serde::{Deserialize, Serialize};

/// A package to be priced.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    /// The dies in the package.
    pub dies: Vec<Die>,
    /// The steps after the wafer in their order.
    pub steps: Vec<Step>,
    /// True when some price or yield is a default of this program and not the user's own.
    pub invented: bool,
}

/// One die and the wafer that it comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Die {
    /// Name.
    pub name: String,
    /// Size in x, m.
    pub width: f64,
    /// Size in y, m.
    pub height: f64,
    /// Saw street between neighbours, m.
    pub street: f64,
    /// Diameter of the wafer, m.
    pub wafer_diameter: f64,
    /// Rim of the wafer without good dies, m.
    pub edge_exclusion: f64,
    /// Price of the finished wafer, redistribution and bumps included.
    pub wafer_price: f64,
    /// Killing defects by area, 1/m2.
    pub defect_density: f64,
    /// Yield model.
    pub model: Model,
    /// Share of the faults that the wafer test finds, 0 to 1; 0 for dies that go untested into the package.
    pub test_coverage: f64,
    /// Price of the wafer test of one die.
    pub test_price: f64,
}

/// One step of assembly.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Name.
    pub name: String,
    /// Price of the step and its material, once for each package.
    pub price: f64,
    /// Share of packages that the step leaves good, above 0 and up to 1.
    pub good: f64,
    /// True for a step after which bad packages are found and taken out (an inspection or a test).
    pub inspected: bool,
}
