//! Steady creep of solder: strain rate by stress and temperature, without memory.
//!
//! Two forms are in use for lead-free solder, each with constants and elasticity of one source: the hyperbolic sine (F.
//! Garofalo, Transactions of the Metallurgical Society of AIME 227 (1963) 351) and the sum of two power laws (S. Wiese).
//! The energy and strain models of life that were fitted with one of them hold for that one alone, see
//! [`crate::energy`]. Stress and rate are von Mises equivalents.

use crate::anand::{FASTEST, ln_sinh};

/// How the rate depends on stress and temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// `A [sinh(alpha sigma)]^n exp(-Q/RT)`.
    Sine {
        /// `A`, 1/s.
        rate: f64,
        /// `alpha`, 1/Pa.
        multiplier: f64,
        /// `n`.
        exponent: f64,
        /// `Q/R`, K.
        activation: f64,
    },
    /// `sum of A (sigma / 1 MPa)^n exp(-H/kT)`: rate (1/s), exponent, activation temperature (K) of each part.
    Powers([(f64, f64, f64); 2]),
}

/// A creep law with its elasticity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Creep {
    /// Alloy with source.
    pub name: &'static str,
    /// The rate.
    pub form: Form,
    /// Young modulus at 0 K by its straight line over temperature, Pa.
    pub modulus: f64,
    /// Fall of the Young modulus, Pa/K.
    pub modulus_fall: f64,
    /// Poisson ratio.
    pub poisson: f64,
}

/// A. Schubert et al., ECTC 2003, tin-silver-copper; used by A. Syed, ECTC 2004; from memory.
pub const SCHUBERT: Creep = Creep {
    name: "creep, hyperbolic sine, SnAgCu, Schubert et al. 2003",
    form: Form::Sine { rate: 277_984.0, multiplier: 0.024_47e-6, exponent: 6.41, activation: 6500.0 },
    modulus: 61_251.0e6,
    modulus_fall: 58.5e6,
    poisson: 0.36,
};

/// S. Wiese et al. 2002, Sn4.0Ag0.5Cu, as in A. Syed, ECTC 2004; from memory. The Poisson ratio is that of [`SCHUBERT`].
pub const WIESE: Creep = Creep {
    name: "creep, two power laws, Sn4.0Ag0.5Cu, Wiese et al. 2002",
    form: Form::Powers([(4e-7, 3.0, 3223.0), (1e-12, 12.0, 7348.0)]),
    modulus: 59_533.0e6,
    modulus_fall: 66.667e6,
    poisson: 0.36,
};

impl Creep {
    /// Equivalent stress (Pa) at a strain rate (1/s) and a temperature (K): [`Creep::rate`] turned round by halving; at most
    /// 10 GPa.
    pub fn steady_stress(&self, rate: f64, temperature: f64) -> f64 {
        if rate <= 0.0 {
            return 0.0;
        }
        let (mut low, mut high) = (0.0_f64, 1e10_f64.ln());
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if self.rate(middle.exp(), temperature) < rate { low = middle } else { high = middle }
        }
        high.exp()
    }

    /// Strain rate (1/s, with the sign of the stress) under an equivalent stress (Pa) at a temperature (K).
    pub fn rate(&self, stress: f64, temperature: f64) -> f64 {
        if stress == 0.0 {
            return 0.0;
        }
        let size = match self.form {
            Form::Sine { rate, multiplier, exponent, activation } => {
                let logarithm =
                    rate.ln() - activation / temperature + exponent * ln_sinh(multiplier * stress.abs());
                logarithm.min(FASTEST).exp()
            }
            Form::Powers(parts) => parts
                .iter()
                .map(|(rate, exponent, activation)| {
                    let logarithm =
                        rate.ln() - activation / temperature + exponent * (stress.abs() / 1e6).ln();
                    logarithm.min(FASTEST).exp()
                })
                .sum(),
        };
        size.copysign(stress)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn creep_grows_with_stress_and_heat_and_is_odd() {
        for law in [SCHUBERT, WIESE] {
            assert!(law.rate(20e6, 300.0) > law.rate(10e6, 300.0));
            assert!(law.rate(20e6, 400.0) > law.rate(20e6, 300.0));
            assert_eq!(law.rate(-20e6, 300.0), -law.rate(20e6, 300.0));
            assert_eq!(law.rate(0.0, 300.0), 0.0);
            assert!(law.rate(1e12, 400.0).is_finite());
        }
    }
}
