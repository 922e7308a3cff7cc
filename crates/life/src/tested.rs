//! What a finished life test says: a fit with its bounds where failures allow one, else a lower bound, and in words which.

use crate::outcome::{FittedTest, ShareLife};
use crate::problem::LifeTest;
use crate::weibull::Weibull;
use crate::weibull_fit::{Fault, Fit, Sample, lives_between};

/// Shares failed between which the band of a fit is given, and how many of them.
const BAND: (f64, f64, usize) = (1e-4, 0.995, 33);

/// A finished test with its answer; lives in cycles of the test.
#[derive(Debug, Clone, PartialEq)]
pub struct Tested {
    /// For the report.
    pub fitted: FittedTest,
    /// The fitted distribution, or the lower bound with the shape that was given; nothing where neither can be had.
    pub weibull: Option<Weibull>,
    /// True where the distribution is a lower bound only.
    pub bound_only: bool,
    /// Bounds of the life at the asked share failed by the likelihood ratio; nothing without a fit and where the failures
    /// do not bound it.
    pub life_bounds: Option<(f64, f64)>,
    /// Sentences that a reader must see.
    pub notes: Vec<String>,
}

/// Fits a test with two-sided bounds at `confidence`, those of the life at the share `failed` among them. Where nothing
/// failed, or all at one count, a `shape` from elsewhere gives a lower bound at the one-sided `confidence`.
///
/// # Errors
/// Any [`Fault`] but [`Fault::NoFailures`], [`Fault::NoSpread`] and [`Fault::Unbounded`], which are answered in words.
pub fn tested(test: &LifeTest, shape: Option<f64>, failed: f64, confidence: f64) -> Result<Tested, Fault> {
    let sample = Sample::new(&test.failures, &test.running)?;
    match sample.fit() {
        Ok(fit) => fitted(&sample, &fit, failed, confidence),
        Err(Fault::NoFailures) => bounded(
            &sample,
            shape,
            confidence,
            "No package failed in the finished test, so that nothing can be fitted",
        ),
        Err(why @ Fault::NoSpread { .. }) => {
            bounded(&sample, shape, confidence, &format!("The finished test is not fitted: {why}"))
        }
        Err(fault) => Err(fault),
    }
}

fn bounded(sample: &Sample, shape: Option<f64>, confidence: f64, why: &str) -> Result<Tested, Fault> {
    let weibull = shape.map(|shape| sample.least_scale(shape, confidence)).transpose()?;
    let bound = weibull.map_or_else(String::new, |w| {
        format!(
            "; for a Weibull shape of {:.1} the characteristic life is above {:.0} cycles at {:.0} % confidence, which is a \
             bound and no estimate",
            w.shape,
            w.scale,
            100.0 * confidence
        )
    });
    Ok(Tested {
        fitted: FittedTest {
            shape: None,
            shape_bounds: None,
            characteristic: None,
            characteristic_bounds: None,
            confidence,
            points: sample.points(),
            running: sample.running(),
            band: Vec::new(),
            at_least: weibull.map(|w| (w.shape, w.scale)),
            translated: None,
        },
        weibull,
        bound_only: true,
        life_bounds: None,
        notes: vec![format!("{why}{bound}.")],
    })
}

fn fitted(sample: &Sample, fit: &Fit, failed: f64, confidence: f64) -> Result<Tested, Fault> {
    let per_cent = 100.0 * confidence;
    let mut notes = Vec::new();
    let mut kept = |bounds: Result<(f64, f64), Fault>| match bounds {
        Ok(bounds) => Ok(Some(bounds)),
        Err(why @ Fault::Unbounded { .. }) => {
            notes.push(format!("The finished test: {why} of {per_cent:.0} %."));
            Ok(None)
        }
        Err(fault) => Err(fault),
    };
    let shape_bounds = kept(sample.shape_bounds(fit, confidence))?;
    let characteristic_bounds = kept(sample.scale_bounds(fit, confidence))?;
    let life_bounds = kept(sample.quantile_bounds(fit, failed, confidence))?;
    let failures = sample.failed();
    if failures < 4 {
        notes.push(format!(
            "The fit of the finished test rests on {failures} failure{}; its bounds say more than its values.",
            if failures == 1 { "" } else { "s" }
        ));
    }
    Ok(Tested {
        fitted: FittedTest {
            shape: Some(fit.weibull.shape),
            shape_bounds,
            characteristic: Some(fit.weibull.scale),
            characteristic_bounds,
            confidence,
            points: sample.points(),
            running: sample.running(),
            band: band(sample, fit, confidence)?,
            at_least: None,
            translated: None,
        },
        weibull: Some(fit.weibull),
        bound_only: false,
        life_bounds,
        notes,
    })
}

/// The band of a fit, even along the axis of a Weibull plot; none where the failures do not bound the shape.
fn band(sample: &Sample, fit: &Fit, confidence: f64) -> Result<Vec<ShareLife>, Fault> {
    let edge = match sample.contour(fit, confidence) {
        Ok(edge) => edge,
        Err(Fault::Unbounded { .. }) => return Ok(Vec::new()),
        Err(fault) => return Err(fault),
    };
    let place = |share: f64| (-(-share).ln_1p()).ln();
    let (low, high, count) = BAND;
    let shares = (0..count).map(|k| {
        let along = k as f64 / (count - 1) as f64;
        -(-(place(low) + along * (place(high) - place(low))).exp()).exp_m1()
    });
    Ok(shares
        .filter_map(|failed| Some(ShareLife { failed, between: lives_between(&edge, failed)? }))
        .collect())
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
        let found = tested(&test(&[3200.0, 4100.0, 4400.0, 4600.0], &[4640.0; 4]), None, 0.01, 0.9).unwrap();
        assert!(!found.bound_only && found.notes.is_empty() && found.fitted.points.len() == 4);
        let (low, high) = found.life_bounds.unwrap();
        let life = found.weibull.unwrap().quantile(0.01);
        assert!(low < life && life < high);
        // The band holds the line and the bounds that were found for one share.
        assert!(
            found.fitted.band.windows(2).all(|w| w[0].failed < w[1].failed && w[0].between < w[1].between)
        );
        for at in &found.fitted.band {
            let life = found.weibull.unwrap().quantile(at.failed);
            assert!(at.between.0 < life && life < at.between.1, "{at:?}");
        }
        let before = found.fitted.band.iter().rfind(|b| b.failed < 0.01).unwrap().between;
        let after = found.fitted.band.iter().find(|b| b.failed > 0.01).unwrap().between;
        assert!(before.0 < low && low < after.0 && before.1 < high && high < after.1);
        assert_eq!(found.fitted.running, [4640.0; 4]);
    }

    #[test]
    fn no_failures_give_a_bound_and_say_so() {
        let run = test(&[], &[5000.0; 32]);
        let found = tested(&run, Some(6.0), 0.01, 0.9).unwrap();
        assert!(found.bound_only && found.fitted.shape.is_none() && found.fitted.points.is_empty());
        // (5000^6 * 32 / ln 10)^(1/6)
        let least = 5000.0 * (32.0 / 10.0_f64.ln()).powf(1.0 / 6.0);
        assert!((found.weibull.unwrap().scale - least).abs() < 1e-6);
        assert_eq!(found.fitted.at_least.unwrap().0, 6.0);
        assert!(found.fitted.band.is_empty() && found.fitted.running.len() == 32);
        assert!(found.notes[0].contains("No package failed"), "{}", found.notes[0]);
        assert!(found.notes[0].contains("above 7753 cycles at 90 % confidence"), "{}", found.notes[0]);
        let blind = tested(&run, None, 0.01, 0.9).unwrap();
        assert!(blind.weibull.is_none() && blind.notes[0].ends_with("fitted."), "{}", blind.notes[0]);
    }

    #[test]
    fn equal_failures_give_a_bound_and_few_are_said() {
        let equal = tested(&test(&[700.0; 3], &[600.0]), Some(4.0), 0.01, 0.9).unwrap();
        assert!(equal.bound_only && equal.weibull.is_some());
        assert!(equal.notes[0].contains("inspect the units more often"), "{}", equal.notes[0]);
        let few = tested(&test(&[700.0, 900.0], &[1000.0; 8]), None, 0.01, 0.9).unwrap();
        assert!(few.notes.iter().any(|n| n.contains("2 failures")));
        assert!(tested(&test(&[], &[]), Some(4.0), 0.01, 0.9).is_err());
        assert!(tested(&test(&[1.0, 2.0], &[]), Some(4.0), 1.0, 0.9).is_err());
    }
}
