//! What a life under current is reckoned from. Only the constants are here so far.

use serde::{Deserialize, Serialize};

/// Constants of Black's law for one joint, with the measured life that they start from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kinetics {
    /// Name with source.
    pub name: String,
    /// Exponent of the current density.
    pub exponent: f64,
    /// Activation energy, eV.
    pub activation_ev: f64,
    /// Mean current density of the measured life, A/m2.
    pub reference_density: f64,
    /// Temperature of the joint in that measurement, K.
    pub reference_temperature: f64,
    /// Median life there, s.
    pub reference_life: f64,
    /// Standard deviation of the logarithm of the life.
    pub log_deviation: f64,
}
