//! What wafers and steps of assembly cost and yield, in the user's own money.

use crate::read::record::{record, words};
use crate::values::{Fraction, Length, Name};

/// Steps of assembly that a package has by what the design says; a step of another name is one more, before the final
/// test.
pub const STEPS: &[&str] = &[
    "interposer",
    "substrate",
    "place and reflow",
    "clean",
    "underfill and cure",
    "ring",
    "lid",
    "ball attach",
    "final test",
];

record! {
    /// Prices and yields. What is left out is an invented default, and the results say so.
    pub struct Prices: "the table [cost]" {
        /// Name of the money that all prices are in. Left out: no name.
        money: Option<String>,
        /// Wafers that the dies come from.
        #[serde(default)]
        wafers "wafer": Vec<WaferPrices>,
        /// Steps of assembly.
        #[serde(default)]
        steps "step": Vec<StepPrices>,
    }
}

record! {
    /// A wafer with its dies.
    pub struct WaferPrices: "a table [[cost.wafer]]" {
        /// The die that comes from it. Left out: every die without a wafer of its own.
        die: Option<Name>,
        /// Price of the finished wafer, redistribution and bumps included.
        price: Option<f64>,
        /// Diameter.
        diameter: Option<Length>,
        /// Rim without good dies.
        edge_exclusion: Option<Length>,
        /// Saw street between neighbours.
        street: Option<Length>,
        /// Killing defects by area, in one over cm2.
        defects_per_cm2: Option<f64>,
        /// How defects lie on wafers. Left out: clustered.
        model: Option<YieldModel>,
        /// Clustering parameter, above zero; small where defects lie in clusters.
        clustering: Option<f64>,
        /// Share of the faults that the wafer test finds.
        test_coverage: Option<Fraction>,
        /// Price of the wafer test of one die.
        test_price: Option<f64>,
    }
}

record! {
    /// A step of assembly.
    pub struct StepPrices: "a table [[cost.step]]" {
        /// Its name: one of those that the package has, or another.
        name: String,
        /// Price of the step and its material, once for each package.
        price: Option<f64>,
        /// Share of packages that the step leaves good.
        good "yield": Option<Fraction>,
        /// True for a step after which bad packages are found and taken out.
        inspected: Option<bool>,
    }
}

words! {
    /// How defects lie on wafers.
    pub enum YieldModel: "a yield model" {
        /// Evenly (Poisson).
        Poisson = "poisson",
        /// A triangular spread of densities (Murphy 1964).
        Murphy = "murphy",
        /// An exponential spread of densities (Seeds 1967).
        Seeds = "seeds",
        /// A gamma spread of densities (Stapper 1983).
        Clustered = "clustered",
    }
}
