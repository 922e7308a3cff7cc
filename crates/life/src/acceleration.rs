//! Acceleration of storage, humidity and cracking by temperature, humidity and swing.

/// Boltzmann constant, eV/K (CODATA 2018, exact).
pub const BOLTZMANN_EV: f64 = 8.617_333_262e-5;

/// Arrhenius: how many times faster it goes at `test` than at `use_` (K) with the activation energy in eV
/// (S. Arrhenius 1889; in this form JEDEC JEP122).
pub fn arrhenius(activation_ev: f64, use_: f64, test: f64) -> f64 {
    (activation_ev / BOLTZMANN_EV * (1.0 / use_ - 1.0 / test)).exp()
}

/// Humidity: exponent and activation energy of the power law of relative humidity with Arrhenius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Humidity {
    /// Name with source.
    pub name: &'static str,
    /// Exponent of the relative humidity.
    pub exponent: f64,
    /// Activation energy, eV.
    pub activation_ev: f64,
}

/// The published sets of constants for humidity (values from memory of the named sources).
pub const HUMIDITY: [Humidity; 2] = [
    Humidity { name: "D. S. Peck 1986", exponent: 2.66, activation_ev: 0.79 },
    Humidity { name: "O. Hallberg and D. S. Peck 1991", exponent: 3.0, activation_ev: 0.9 },
];

/// Relative humidities between which the constants were fitted, about (from memory).
pub const HUMIDITY_RANGE: [f64; 2] = [0.2, 0.9];

impl Humidity {
    /// How many times faster it goes at (K, relative humidity 0 to 1) `test` than at `use_`. Both humidities must be
    /// above zero; outside [`HUMIDITY_RANGE`] it is an extrapolation.
    pub fn factor(&self, use_: (f64, f64), test: (f64, f64)) -> f64 {
        (test.1 / use_.1).powf(self.exponent) * arrhenius(self.activation_ev, use_.0, test.0)
    }
}

/// Coffin-Manson on the temperature swing (K): how many use cycles one test cycle stands for. JEDEC JEP122 gives the
/// exponent as 1 to 3 for soft solder, 3 to 5 for hard metals and compounds, 6 to 9 for brittle fracture (from memory).
pub fn swing(exponent: f64, use_: f64, test: f64) -> f64 {
    (test / use_).powf(exponent)
}
