//! What a finished life test says: a fit with its bounds where failures allow one, else a lower bound, and in words which.

use crate::outcome::FittedTest;
use crate::problem::LifeTest;
use crate::weibull::Weibull;
use crate::weibull_fit::{Fault, Sample};

/// A finished test with its answer; lives in cycles of the test.
#[derive(Debug, Clone, PartialEq)]
pub struct Tested {
    /// For the report.
    pub fitted: FittedTest,
    /// The fitted distribution, or the lower bound with the shape that was given.
    pub weibull: Weibull,
    /// True where the distribution is a lower bound only.
    pub bound_only: bool,
    /// Life at the asked share failed.
    pub life: f64,
    /// Its bounds by the likelihood ratio; nothing for a lower bound and where the failures do not bound it.
    pub life_bounds: Option<(f64, f64)>,
    /// Sentences that a reader must see.
    pub notes: Vec<String>,
}

/// Fits a test, with two-sided bounds at `confidence`, and reads the life at the share `failed` from it. Where nothing
/// failed, or all at one count, `shape` (from elsewhere) gives a lower bound at the one-sided `confidence`.
///
/// # Errors
/// Any [`Fault`] but those that a lower bound answers.
pub fn tested(test: &LifeTest, shape: f64, failed: f64, confidence: f64) -> Result<Tested, Fault> {
    let sample = Sample::new(&test.failures, &test.running)?;
    if !(failed > 0.0 && failed < 1.0) {
        return Err(Fault::OutOfRange {
            what: "the share failed",
            value: failed,
            allowed: "between 0 and 1, both excluded",
        });
    }
    let per_cent = 100.0 * confidence;
    let fit = match sample.fit() {
        Ok(fit) => fit,
        Err(why @ (Fault::NoFailures | Fault::NoSpread { .. })) => {
            let least = sample.least_scale(shape, confidence)?;
            let why = why.to_string();
            let note = format!(
                "The test: {why}. For a shape of {shape:.1}, taken from elsewhere, the characteristic life is at least {:.0} cycles \
                 at {per_cent:.0} % confidence; this is a bound and no estimate.",
                least.scale
            );
            return Ok(Tested {
                fitted: FittedTest {
                    shape: None,
                    shape_bounds: None,
                    characteristic: None,
                    characteristic_bounds: None,
                    points: sample.points(),
                },
                weibull: least,
                bound_only: true,
                life: least.quantile(failed),
                life_bounds: None,
                notes: vec![note],
            });
        }
        Err(fault) => return Err(fault),
    };
    let mut notes = Vec::new();
    let mut kept = |bounds: Result<(f64, f64), Fault>| match bounds {
        Ok(bounds) => Ok(Some(bounds)),
        Err(why @ Fault::Unbounded { .. }) => {
            notes.push(format!("The test: {why} of {per_cent:.0} %."));
            Ok(None)
        }
        Err(fault) => Err(fault),
    };
    let shape_bounds = kept(sample.shape_bounds(&fit, confidence))?;
    let characteristic_bounds = kept(sample.scale_bounds(&fit, confidence))?;
    let life_bounds = kept(sample.quantile_bounds(&fit, failed, confidence))?;
    if sample.failed() < 4 {
        notes.push(format!(
            "The fit rests on {} failure{}; its bounds say more than its values.",
            sample.failed(),
            if sample.failed() == 1 { "" } else { "s" }
        ));
    }
    Ok(Tested {
        fitted: FittedTest {
            shape: Some(fit.weibull.shape),
            shape_bounds,
            characteristic: Some(fit.weibull.scale),
            characteristic_bounds,
            points: sample.points(),
        },
        weibull: fit.weibull,
        bound_only: false,
        life: fit.weibull.quantile(failed),
        life_bounds,
        notes,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Alloy;

    fn test(failures: &[f64], running: &[f64]) -> LifeTest {
        LifeTest {
            low: 273.15,
            high: 373.15,
            cycles_per_day: 48.0,
            alloy: Alloy::TinSilverCopper,
            failures: failures.to_vec(),
            running: running.to_vec(),
        }
    }

    #[test]
    fn failures_give_a_fit() {
        let found = tested(&test(&[3200.0, 4100.0, 4400.0, 4600.0], &[4640.0; 4]), 6.0, 0.01, 0.9).unwrap();
        assert!(!found.bound_only && found.notes.is_empty() && found.fitted.points.len() == 4);
        let (low, high) = found.life_bounds.unwrap();
        assert!(low < found.life && found.life < high);
    }

    #[test]
    fn no_failures_give_a_bound_and_say_so() {
        let found = tested(&test(&[], &[5000.0; 32]), 6.0, 0.01, 0.9).unwrap();
        assert!(found.bound_only && found.fitted.shape.is_none() && found.fitted.points.is_empty());
        // (5000^6 * 32 / ln 10)^(1/6)
        assert!((found.weibull.scale - 5000.0 * (32.0 / 10.0_f64.ln()).powf(1.0 / 6.0)).abs() < 1e-6);
        assert!((found.weibull.failed(found.life) - 0.01).abs() < 1e-12);
        assert!(
            found.notes[0].contains("no unit failed") && found.notes[0].contains("at least 7753 cycles"),
            "{}",
            found.notes[0]
        );
    }

    #[test]
    fn equal_failures_give_a_bound_and_few_are_said() {
        let equal = tested(&test(&[700.0; 3], &[600.0]), 4.0, 0.01, 0.9).unwrap();
        assert!(equal.bound_only && equal.notes[0].contains("inspect the units more often"));
        let few = tested(&test(&[700.0, 900.0], &[1000.0; 8]), 4.0, 0.01, 0.9).unwrap();
        assert!(few.notes.iter().any(|n| n.contains("2 failures")));
        assert!(tested(&test(&[], &[]), 4.0, 0.01, 0.9).is_err());
        assert!(tested(&test(&[1.0, 2.0], &[]), 4.0, 1.0, 0.9).is_err());
    }
}
