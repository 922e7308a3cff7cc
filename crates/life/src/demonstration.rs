//! What a test with few or no failures proves, and how many units it takes.
//!
//! Units pass or fail by the binomial law; the confidence C is the chance that a population with just the demanded
//! reliability R would have shown more failures. Without failure this is the success run `n = ln(1 - C) / ln R`
//! (R. B. Abernethy, The New Weibull Handbook). Failure rates follow the chi-square bound of a Poisson process
//! (JESD85: Methods for Calculating Failure Rates in Units of FITs).

use facedown_field::distribution::{beta_probability, beta_quantile, chi_square_quantile};

/// Units of a success run before rounding up, `ln(1 - confidence) / ln(reliability)`; both within 0 to 1, both excluded,
/// else nothing.
pub fn success_run(reliability: f64, confidence: f64) -> Option<f64> {
    let inside = |p: f64| p > 0.0 && p < 1.0;
    (inside(reliability) && inside(confidence)).then(|| (-confidence).ln_1p() / reliability.ln())
}

/// Reliability over a test that is `ratio` times as long as the demanded life, for a population with just the demanded
/// `reliability` and a Weibull `shape`: `R^(ratio^shape)`. Longer tests need fewer units.
pub fn over_longer_test(reliability: f64, ratio: f64, shape: f64) -> f64 {
    reliability.powf(ratio.powf(shape))
}

/// Fewest units that show `reliability` at `confidence` when at most `accepted` of them fail: the smallest n with
/// `sum over i <= accepted of C(n,i) (1-R)^i R^(n-i) <= 1 - C`. Nothing where a probability is not within 0 to 1 or more
/// than 1e12 units would be needed.
pub fn units(reliability: f64, confidence: f64, accepted: u32) -> Option<u64> {
    let run = success_run(reliability, confidence)?;
    let c = f64::from(accepted);
    // The chance of at most c failures is that of a beta variable of n - c and c + 1 below R.
    let enough = |n: u64| {
        let n = n as f64;
        n > c
            && beta_probability(reliability, n - c, c + 1.0)
                .is_some_and(|p| p <= (1.0 - confidence) * (1.0 + 1e-12))
    };
    if run > 1e12 {
        return None;
    }
    if accepted == 0 {
        return Some((run * (1.0 - 1e-12)).ceil().max(1.0) as u64);
    }
    let (mut low, mut high) = (u64::from(accepted), u64::from(accepted) + 1 + run.ceil() as u64);
    while !enough(high) {
        low = high;
        high *= 2;
        if high > 1_000_000_000_000 {
            return None;
        }
    }
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if enough(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}

/// Reliability that `failed` of `units` prove at a one-sided `confidence` (C. J. Clopper and E. S. Pearson, Biometrika 26
/// (1934) 404). Zero where all failed; nothing for no units, more failures than units or a confidence outside 0 to 1.
pub fn proved_reliability(units: u64, failed: u64, confidence: f64) -> Option<f64> {
    if units == 0 || failed > units || !(confidence > 0.0 && confidence < 1.0) {
        return None;
    }
    if failed == units {
        return Some(0.0);
    }
    if failed == 0 {
        return Some((1.0 - confidence).powf(1.0 / units as f64));
    }
    beta_quantile(1.0 - confidence, (units - failed) as f64, failed as f64 + 1.0)
}

/// Sample size of JESD47 before rounding up, `chi2(confidence; 2c+2) / 2 (1/LTPD - 1/2) + c`, for a lot tolerance per
/// cent defective given as a share (formula from memory); JESD47 itself uses a confidence of 90 %.
pub fn lot_sample(tolerated_share: f64, confidence: f64, accepted: u32) -> Option<f64> {
    if !(tolerated_share > 0.0 && tolerated_share < 1.0) {
        return None;
    }
    let c = f64::from(accepted);
    Some(0.5 * chi_square_quantile(confidence, 2.0 * c + 2.0)? * (1.0 / tolerated_share - 0.5) + c)
}

/// Upper bound of the expected number of failures after `failed` were seen, `chi2(confidence; 2r+2) / 2`.
pub fn most_failures(failed: u64, confidence: f64) -> Option<f64> {
    Some(0.5 * chi_square_quantile(confidence, 2.0 * failed as f64 + 2.0)?)
}

/// Upper bound of a constant failure rate: per unit of `device_time` (units times test time times acceleration). Not
/// for wear-out, whose rate rises. Nothing for no time.
pub fn most_rate(failed: u64, device_time: f64, confidence: f64) -> Option<f64> {
    (device_time > 0.0).then_some(most_failures(failed, confidence)? / device_time)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nothing_out_of_range_gives_a_number() {
        assert_eq!(success_run(1.0, 0.9), None);
        assert_eq!(units(0.9, 1.0, 0), None);
        assert_eq!(units(f64::NAN, 0.9, 0), None);
        assert_eq!(proved_reliability(0, 0, 0.9), None);
        assert_eq!(proved_reliability(3, 3, 0.9), Some(0.0));
        assert_eq!(lot_sample(0.0, 0.9, 0), None);
        assert_eq!(most_rate(0, 0.0, 0.9), None);
    }

    proptest! {
        #[test]
        fn units_are_just_enough(r in 0.5..0.9999_f64, c in 0.05..0.99_f64, accepted in 0..6u32) {
            let n = units(r, c, accepted).unwrap();
            let chance = |n: u64| -> f64 {
                (0..=u64::from(accepted).min(n))
                    .map(|i| {
                        let ways: f64 = (0..i).map(|k| ((n - k) as f64 / (k + 1) as f64).ln()).sum();
                        (ways + i as f64 * (1.0 - r).ln() + (n - i) as f64 * r.ln()).exp()
                    })
                    .sum()
            };
            prop_assert!(chance(n) <= (1.0 - c) * (1.0 + 1e-9));
            prop_assert!(n == u64::from(accepted) + 1 || chance(n - 1) > (1.0 - c) * (1.0 - 1e-9));
        }

        #[test]
        fn what_is_proved_takes_that_many(n in 2..5000u64, failed in 0..5u64, c in 0.05..0.99_f64) {
            prop_assume!(failed < n);
            let r = proved_reliability(n, failed, c).unwrap();
            // A hair below what is proved, the units are enough.
            let less = r * (1.0 - 1e-6);
            prop_assert!(units(less, c, failed as u32).unwrap() <= n);
        }
    }
}
