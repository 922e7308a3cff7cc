//! A Weibull distribution from a life test with units that still run.
//!
//! Maximum likelihood for exact failures and right-censored units (W. Q. Meeker and L. A. Escobar, Statistical Methods
//! for Reliability Data, Wiley 1998, ch. 8): with the scale eliminated, the shape is the only root of a rising function.
//! Bounds are those of the likelihood ratio (the same, sec. 8.3): all values at which twice the loss of log-likelihood
//! stays below the chi-square quantile of one degree of freedom. They stay sensible for few failures, where bounds from
//! the curvature do not. Without any failure only a lower bound of the scale for a given shape can be stated
//! ([`Sample::least_scale`]). Lives are in any one unit. Cost: one pass over the units for each step of a root.

mod contour;

use crate::rank;
use crate::weibull::Weibull;
use facedown_field::{NoConvergence, distribution, root};

pub use contour::lives_between;

/// Why a test gives no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Fault {
    /// No units at all.
    #[error("the test holds no units: give the cycles of failures or of units still running")]
    Empty,
    /// A life that is none.
    #[error("unit {place} has a life of {value}; it must be a number above zero")]
    Life {
        /// Place in the list, from 1, failures first.
        place: usize,
        /// What was given.
        value: f64,
    },
    /// Nothing failed.
    #[error(
        "no unit failed, so that shape and scale cannot be fitted; only a lower bound for a given shape can be stated"
    )]
    NoFailures,
    /// All failures at one life and no unit lived longer.
    #[error(
        "all failures lie at {life} and no unit lived longer, so that the shape has no end: inspect the units more often"
    )]
    NoSpread {
        /// Where.
        life: f64,
    },
    /// A bound does not exist within what numbers can hold.
    #[error("so few failures do not bound {what} at this confidence")]
    Unbounded {
        /// What, in words.
        what: &'static str,
    },
    /// A probability or shape that is none.
    #[error("{what} is {value}; it must lie {allowed}")]
    OutOfRange {
        /// What, in words.
        what: &'static str,
        /// What was given.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
    /// The numerics gave no number.
    #[error("the fit did not converge: {0}")]
    Numerics(#[from] NoConvergence),
}

/// A checked life test.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    failures: Vec<f64>,
    running: Vec<f64>,
    /// Logarithm of the longest life, the unit of all that follows.
    unit: f64,
    /// Logarithms of all lives over the longest, zero or below.
    logs: Vec<f64>,
    /// Their sum over the failures.
    failed_logs: f64,
}

/// The fitted distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Shape and scale of greatest likelihood.
    pub weibull: Weibull,
    /// Natural logarithm of the likelihood, densities in one over the unit of the lives.
    pub log_likelihood: f64,
}

fn probability(what: &'static str, value: f64) -> Result<f64, Fault> {
    if value > 0.0 && value < 1.0 {
        Ok(value)
    } else {
        Err(Fault::OutOfRange { what, value, allowed: "between 0 and 1, both excluded" })
    }
}

impl Sample {
    /// A test of units that failed at these lives and units that still ran at those.
    ///
    /// # Errors
    /// [`Fault::Empty`], [`Fault::Life`].
    pub fn new(failures: &[f64], running: &[f64]) -> Result<Sample, Fault> {
        for (i, &value) in failures.iter().chain(running).enumerate() {
            if !(value > 0.0 && value.is_finite()) {
                return Err(Fault::Life { place: i + 1, value });
            }
        }
        let longest = failures.iter().chain(running).copied().max_by(f64::total_cmp).ok_or(Fault::Empty)?;
        let unit = longest.ln();
        let logs: Vec<f64> = failures.iter().chain(running).map(|t| (t / longest).ln()).collect();
        Ok(Sample {
            failed_logs: logs[..failures.len()].iter().sum(),
            failures: failures.to_vec(),
            running: running.to_vec(),
            unit,
            logs,
        })
    }

    /// Number of failures.
    pub fn failed(&self) -> usize {
        self.failures.len()
    }

    /// Failures with their median ranks, adjusted for the units that were taken out before (see [`rank`]), in rising life.
    pub fn points(&self) -> Vec<(f64, f64)> {
        rank::adjusted(&self.failures, &self.running)
    }

    /// Lives of the units that still ran, rising.
    pub fn running(&self) -> Vec<f64> {
        let mut lives = self.running.clone();
        lives.sort_by(f64::total_cmp);
        lives
    }

    fn power_sum(&self, shape: f64) -> f64 {
        self.logs.iter().map(|x| (shape * x).exp()).sum()
    }

    /// Log-likelihood of a shape with the best scale for it; lives in units of the longest.
    fn profile(&self, shape: f64) -> f64 {
        let r = self.failures.len() as f64;
        r * shape.ln() - r * (self.power_sum(shape) / r).ln() + (shape - 1.0) * self.failed_logs - r
    }

    /// Shape and scale of greatest likelihood.
    ///
    /// # Errors
    /// [`Fault::NoFailures`], [`Fault::NoSpread`], [`Fault::Numerics`].
    pub fn fit(&self) -> Result<Fit, Fault> {
        let r = self.failures.len() as f64;
        if self.failures.is_empty() {
            return Err(Fault::NoFailures);
        }
        let spread = -self.failed_logs / r;
        // Rises from minus infinity to `spread`, and is not above zero at 1/spread.
        let slope = |shape: f64| {
            let (mut sum, mut weighted) = (0.0, 0.0);
            for x in &self.logs {
                let power = (shape * x).exp();
                sum += power;
                weighted += power * x;
            }
            weighted / sum - 1.0 / shape + spread
        };
        let low = 1.0 / spread;
        let mut high = 2.0 * low;
        while high.is_finite() && slope(high) <= 0.0 {
            high *= 2.0;
        }
        // Beyond a shape of 1e4 the failures lie within 0.04 % of each other: one reading, not a distribution.
        if low >= 1e4 || !high.is_finite() {
            return Err(Fault::NoSpread { life: self.failures[0] });
        }
        let shape = root::bracketed(slope, low, high, 1e-13)?;
        let scale = (self.unit + (self.power_sum(shape) / r).ln() / shape).exp();
        Ok(Fit { weibull: Weibull { shape, scale }, log_likelihood: self.profile(shape) - r * self.unit })
    }

    /// Bounds of the shape by the likelihood ratio at a two-sided `confidence`.
    ///
    /// # Errors
    /// [`Fault::OutOfRange`], [`Fault::Unbounded`], [`Fault::Numerics`].
    pub fn shape_bounds(&self, fit: &Fit, confidence: f64) -> Result<(f64, f64), Fault> {
        let allowed = loss(confidence)?;
        let best = self.profile(fit.weibull.shape);
        let over = |x: f64| (best - self.profile(fit.weibull.shape * x.exp())) - allowed;
        Ok((bound(&over, -0.1, "the shape")?.exp() * fit.weibull.shape, {
            bound(&over, 0.1, "the shape")?.exp() * fit.weibull.shape
        }))
    }

    /// Bounds of the life at the share `failed` by the likelihood ratio at a two-sided `confidence`; the shape takes its
    /// best value for each life.
    ///
    /// # Errors
    /// [`Fault::OutOfRange`], [`Fault::Unbounded`], [`Fault::Numerics`].
    pub fn quantile_bounds(&self, fit: &Fit, failed: f64, confidence: f64) -> Result<(f64, f64), Fault> {
        let allowed = loss(confidence)?;
        let hazard = -(-probability("the share failed", failed)?).ln_1p();
        let centre = fit.weibull.quantile(failed).ln() - self.unit;
        let best = self.profile(fit.weibull.shape);
        let over = |x: f64| match self.best_through(centre + x, hazard, fit.weibull.shape) {
            Some(likelihood) => (best - likelihood) - allowed,
            None => f64::NAN,
        };
        let step = 0.1 / fit.weibull.shape;
        let at = |x: f64| (self.unit + centre + x).exp();
        Ok((at(bound(&over, -step, "the life from below")?), at(bound(&over, step, "the life from above")?)))
    }

    /// Bounds of the characteristic life (63.2 % failed).
    ///
    /// # Errors
    /// Those of [`Sample::quantile_bounds`].
    pub fn scale_bounds(&self, fit: &Fit, confidence: f64) -> Result<(f64, f64), Fault> {
        self.quantile_bounds(fit, -(-1.0_f64).exp_m1(), confidence)
    }

    /// Greatest log-likelihood of all distributions that have the accumulated `hazard` at the log life `y`. It is concave
    /// in the shape, so that its slope has one root.
    fn best_through(&self, y: f64, hazard: f64, near: f64) -> Option<f64> {
        let r = self.failures.len() as f64;
        let slope = |shape: f64| {
            let sum: f64 = self.logs.iter().map(|x| (x - y) * (shape * (x - y)).exp()).sum();
            // A power that overflows is only a very large slope.
            (r / shape - r * y + self.failed_logs - hazard * sum).max(-1e300)
        };
        let (mut low, mut high) = (near, near);
        while slope(low) < 0.0 {
            low *= 0.5;
            if low < 1e-12 * near {
                return None;
            }
        }
        while slope(high) > 0.0 {
            high *= 2.0;
            if high > 1e12 * near {
                return None;
            }
        }
        let shape = if low == high { low } else { root::bracketed(slope, low, high, 1e-12).ok()? };
        let sum: f64 = self.logs.iter().map(|x| (shape * (x - y)).exp()).sum();
        Some(r * (shape.ln() - shape * y + hazard.ln()) + (shape - 1.0) * self.failed_logs - hazard * sum)
    }

    /// Lower bound of the scale for a `shape` that is known from elsewhere, at a one-sided `confidence`:
    /// `(2 sum t^shape / chi2(confidence; 2 r + 2))^(1/shape)` for r failures in a test that ends at a set time; the
    /// answer of a test without failure. (R. B. Abernethy, The New Weibull Handbook, ch. 6; Nelson, J. Qual. Technol. 17
    /// (1985) 140; both from memory.)
    ///
    /// # Errors
    /// [`Fault::OutOfRange`].
    pub fn least_scale(&self, shape: f64, confidence: f64) -> Result<Weibull, Fault> {
        if !(0.05..=100.0).contains(&shape) {
            return Err(Fault::OutOfRange {
                what: "the shape of the Weibull distribution",
                value: shape,
                allowed: "between 0.05 and 100",
            });
        }
        probability("the confidence", confidence)?;
        let degrees = 2.0 * (self.failures.len() as f64 + 1.0);
        let quantile =
            distribution::chi_square_quantile(confidence, degrees).ok_or(NoConvergence::NotFinite)?;
        let scale = (self.unit + (2.0 * self.power_sum(shape) / quantile).ln() / shape).exp();
        Ok(Weibull { shape, scale })
    }
}

/// Loss of log-likelihood that a two-sided confidence allows.
fn loss(confidence: f64) -> Result<f64, Fault> {
    probability("the confidence", confidence)?;
    let quantile = distribution::chi_square_quantile(confidence, 1.0).ok_or(NoConvergence::NotFinite)?;
    Ok(0.5 * quantile)
}

/// Where `over` turns positive on one side of zero, in logarithms; the first step is doubled until it does.
fn bound(over: &impl Fn(f64) -> f64, first: f64, what: &'static str) -> Result<f64, Fault> {
    let (mut near, mut far) = (0.0, first);
    loop {
        let value = over(far);
        if value.is_nan() || far.abs() > 200.0 {
            return Err(Fault::Unbounded { what });
        }
        if value >= 0.0 {
            break;
        }
        (near, far) = (far, 2.0 * far);
    }
    Ok(root::bracketed(over, near, far, 1e-11)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_cannot_be_fitted_says_why() {
        assert_eq!(Sample::new(&[], &[]), Err(Fault::Empty));
        assert!(matches!(Sample::new(&[1.0, -2.0], &[]), Err(Fault::Life { place: 2, .. })));
        assert!(matches!(Sample::new(&[1.0], &[f64::NAN]), Err(Fault::Life { place: 2, .. })));
        assert_eq!(Sample::new(&[], &[500.0; 30]).unwrap().fit(), Err(Fault::NoFailures));
        assert_eq!(Sample::new(&[7.0; 3], &[6.0]).unwrap().fit(), Err(Fault::NoSpread { life: 7.0 }));
        assert!(Sample::new(&[7.0], &[]).unwrap().fit().is_err());
        let sample = Sample::new(&[7.0, 9.0], &[8.0]).unwrap();
        let fit = sample.fit().unwrap();
        assert!(matches!(sample.shape_bounds(&fit, 1.0), Err(Fault::OutOfRange { .. })));
        assert!(matches!(sample.quantile_bounds(&fit, 0.0, 0.9), Err(Fault::OutOfRange { .. })));
        assert!(matches!(sample.least_scale(0.0, 0.9), Err(Fault::OutOfRange { .. })));
    }

    #[test]
    fn one_failure_with_longer_units_is_enough_for_a_fit() {
        let sample = Sample::new(&[800.0], &[1000.0; 9]).unwrap();
        let fit = sample.fit().unwrap();
        let (low, high) = sample.shape_bounds(&fit, 0.9).unwrap();
        assert!(low < fit.weibull.shape && fit.weibull.shape < high);
    }

    #[test]
    fn without_failure_the_bound_is_that_of_the_success_run() {
        // 45 units to 1000 h, shape 1: reliability of 95 % at 1000 h with 90 % confidence.
        let bound = Sample::new(&[], &[1000.0; 45]).unwrap().least_scale(1.0, 0.9).unwrap();
        let reliability = 1.0 - bound.failed(1000.0);
        assert!((reliability - 0.1_f64.powf(1.0 / 45.0)).abs() < 1e-9);
    }

    fn lives() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
        (prop::collection::vec(1.0..1e4_f64, 2..20), prop::collection::vec(1.0..1e4_f64, 0..20))
    }

    proptest! {
        #[test]
        fn the_fit_is_the_top_of_the_likelihood((failures, running) in lives(), a in -0.2..0.2_f64, b in -0.2..0.2_f64) {
            let sample = Sample::new(&failures, &running).unwrap();
            let Ok(fit) = sample.fit() else { return Ok(()) };
            let likelihood = |shape: f64, scale: f64| {
                let failed: f64 = failures
                    .iter()
                    .map(|t| shape.ln() - shape * scale.ln() + (shape - 1.0) * t.ln())
                    .sum();
                failed - failures.iter().chain(&running).map(|t| (t / scale).powf(shape)).sum::<f64>()
            };
            let Weibull { shape, scale } = fit.weibull;
            let top = likelihood(shape, scale);
            prop_assert!((top - fit.log_likelihood).abs() < 1e-8 * (1.0 + top.abs()));
            prop_assert!(likelihood(shape * a.exp(), scale * b.exp()) <= top + 1e-9 * (1.0 + top.abs()));
        }

        #[test]
        fn the_unit_of_life_does_not_matter((failures, running) in lives(), factor in 1e-3..1e3_f64) {
            let times = |lives: &[f64]| lives.iter().map(|t| t * factor).collect::<Vec<_>>();
            let one = Sample::new(&failures, &running).unwrap();
            let other = Sample::new(&times(&failures), &times(&running)).unwrap();
            let (Ok(a), Ok(b)) = (one.fit(), other.fit()) else { return Ok(()) };
            prop_assert!((b.weibull.shape / a.weibull.shape - 1.0).abs() < 1e-8);
            prop_assert!((b.weibull.scale / a.weibull.scale / factor - 1.0).abs() < 1e-8);
        }

        #[test]
        fn bounds_enclose_and_widen((failures, running) in lives(), p in 0.001..0.95_f64) {
            let sample = Sample::new(&failures, &running).unwrap();
            let Ok(fit) = sample.fit() else { return Ok(()) };
            let narrow = sample.shape_bounds(&fit, 0.5).unwrap();
            let wide = sample.shape_bounds(&fit, 0.9).unwrap();
            prop_assert!(wide.0 < narrow.0 && narrow.0 < fit.weibull.shape);
            prop_assert!(fit.weibull.shape < narrow.1 && narrow.1 < wide.1);
            let life = fit.weibull.quantile(p);
            if let (Ok(narrow), Ok(wide)) = (sample.quantile_bounds(&fit, p, 0.5), sample.quantile_bounds(&fit, p, 0.9)) {
                prop_assert!(wide.0 < narrow.0 && narrow.0 < life && life < narrow.1 && narrow.1 < wide.1);
            }
        }
    }
}
