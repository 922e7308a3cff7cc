//! Distributions: the few functions that reliability and process statistics ask for, by a general-purpose library.

use statrs::distribution::{Beta, ChiSquared, ContinuousCDF, Normal};

/// The quantile of the chi-square distribution with `degrees` degrees of freedom (any positive number) at the
/// probability `p` (0 to 1); nothing outside.
pub fn chi_square_quantile(p: f64, degrees: f64) -> Option<f64> {
    if !(0.0..1.0).contains(&p) {
        return None;
    }
    Some(ChiSquared::new(degrees).ok()?.inverse_cdf(p)).filter(|x| x.is_finite())
}

/// Probability below `z` under the standard normal distribution.
pub fn normal_probability(z: f64) -> f64 {
    0.5 * statrs::function::erf::erfc(-z / std::f64::consts::SQRT_2)
}

/// The quantile of the standard normal distribution at the probability `p` (0 to 1, both excluded).
pub fn normal_quantile(p: f64) -> Option<f64> {
    if !(p > 0.0 && p < 1.0) {
        return None;
    }
    Some(Normal::standard().inverse_cdf(p)).filter(|x| x.is_finite())
}

/// The quantile of the beta distribution at the probability `p` (0 to 1, both excluded).
pub fn beta_quantile(p: f64, a: f64, b: f64) -> Option<f64> {
    if !(p > 0.0 && p < 1.0) {
        return None;
    }
    Some(Beta::new(a, b).ok()?.inverse_cdf(p)).filter(|x| x.is_finite())
}

/// Probability below `x` (0 to 1) under the beta distribution with the parameters `a` and `b`, both above zero; nothing
/// outside.
pub fn beta_probability(x: f64, a: f64, b: f64) -> Option<f64> {
    if !((0.0..=1.0).contains(&x) && a > 0.0 && b > 0.0 && a.is_finite() && b.is_finite()) {
        return None;
    }
    statrs::function::beta::checked_beta_reg(a, b, x).ok().filter(|p| p.is_finite())
}

/// The gamma function.
pub fn gamma(x: f64) -> f64 {
    statrs::function::gamma::gamma(x)
}

/// The natural logarithm of the gamma function, for positive numbers however large.
pub fn log_gamma(x: f64) -> f64 {
    statrs::function::gamma::ln_gamma(x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_values() {
        // Abramowitz and Stegun 1964, table 26.8 (chi-square) and 26.1 (normal).
        assert!((chi_square_quantile(0.60, 2.0).unwrap() - 1.832_58).abs() < 1e-4);
        assert!((chi_square_quantile(0.90, 2.0).unwrap() - 4.605_17).abs() < 1e-4);
        assert!((normal_probability(1.0) - 0.841_344_746).abs() < 1e-9);
        assert!((normal_quantile(0.975).unwrap() - 1.959_964).abs() < 1e-6);
        assert!((log_gamma(101.0) - (1..=100).map(|i| f64::from(i).ln()).sum::<f64>()).abs() < 1e-10);
        assert!((gamma(0.5) - std::f64::consts::PI.sqrt()).abs() < 1e-13);
        assert!((beta_quantile(0.5, 2.0, 2.0).unwrap() - 0.5).abs() < 1e-9);
        // 3 of 5 heads or more.
        assert!((beta_probability(0.5, 3.0, 3.0).unwrap() - 0.5).abs() < 1e-14);
        assert!((beta_probability(0.9, 22.0, 1.0).unwrap() - 0.9_f64.powi(22)).abs() < 1e-14);
        assert_eq!(beta_probability(1.1, 2.0, 2.0), None);
        assert_eq!(beta_probability(0.5, 0.0, 2.0), None);
        assert_eq!(chi_square_quantile(1.5, 2.0), None);
        assert_eq!(normal_quantile(0.0), None);
    }
}
