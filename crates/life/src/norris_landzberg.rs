//! From test cycles to service cycles of a solder joint.
//!
//! K. C. Norris and A. H. Landzberg, Reliability of controlled collapse interconnections, IBM Journal of Research and
//! Development 13 (1969) 266: `AF = (dT_test/dT_use)^a (f_use/f_test)^b exp(C (1/T_use - 1/T_test))` with the highest
//! temperatures in K. Slow service cycles dwell longer and do more damage each, so the frequency term is below 1. No
//! one set holds for tin-silver-copper (A. Syed, ECTC 2010): all are run and their spread is shown.

use crate::problem::Alloy;

/// Constants of one published fit (all from memory of the named sources).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Name with source.
    pub name: &'static str,
    /// Exponent of the temperature range.
    pub range: f64,
    /// Exponent of the frequency.
    pub frequency: f64,
    /// Activation temperature, K.
    pub activation: f64,
}

/// The original, for high-lead bumps; in use for tin-lead.
pub const NORRIS_LANDZBERG: Fit =
    Fit { name: "Norris and Landzberg 1969", range: 1.9, frequency: 1.0 / 3.0, activation: 1414.0 };
/// N. Pan et al., SMTAI 2005. Its exponent belongs to the ratio of hot dwells, taken here as that of the periods.
pub const PAN: Fit = Fit { name: "Pan et al. 2005", range: 2.65, frequency: 0.136, activation: 2185.0 };
/// P. Lall, A. Shirgaokar and D. Arunachalam, Journal of Electronic Packaging 2012.
pub const LALL: Fit = Fit { name: "Lall et al. 2012", range: 2.3, frequency: 0.3, activation: 4562.0 };
/// W. Dauksher, IEEE Transactions on Device and Materials Reliability 2008.
pub const DAUKSHER: Fit = Fit { name: "Dauksher 2008", range: 1.75, frequency: 0.25, activation: 1600.0 };

/// The fits for an alloy.
pub fn fits(alloy: Alloy) -> &'static [Fit] {
    match alloy {
        Alloy::TinLead => &[NORRIS_LANDZBERG],
        Alloy::TinSilverCopper => &[PAN, LALL, DAUKSHER],
    }
}

/// A temperature cycle as the model sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swing {
    /// Lowest temperature, K.
    pub low: f64,
    /// Highest temperature, K.
    pub high: f64,
    /// Cycles per day.
    pub per_day: f64,
}

impl Fit {
    /// How many `service` cycles one `test` cycle stands for; no end for a service cycle without a swing.
    pub fn factor(&self, test: &Swing, service: &Swing) -> f64 {
        ((test.high - test.low) / (service.high - service.low)).powf(self.range)
            * (service.per_day / test.per_day).powf(self.frequency)
            * (self.activation * (1.0 / service.high - 1.0 / test.high)).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slow_service_cycles_lower_the_factor() {
        let test = Swing { low: 273.15, high: 373.15, per_day: 48.0 };
        for fit in [NORRIS_LANDZBERG, PAN, LALL, DAUKSHER] {
            assert!((fit.factor(&test, &test) - 1.0).abs() < 1e-15);
            assert!(fit.factor(&test, &Swing { per_day: 1.0, ..test }) < 1.0);
            assert!(fit.factor(&test, &Swing { high: 353.15, ..test }) > 1.0);
        }
    }
}
