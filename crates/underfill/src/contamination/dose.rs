//! A first-order law fitted to readings, with what it is uncertain by.
//!
//! The law itself is that of [`crate::treatment::fit`]: least squares without weights. Its covariance is that of the linearised
//! estimate (G. A. F. Seber and C. J. Wild, Nonlinear Regression, 1989, sec. 2.1.2): with the derivatives J of the readings by the
//! constants that are fitted and the variances V of the readings, `(J'J)^-1 J' V J (J'J)^-1`. Where readings scatter more
//! than their spreads say, their variances are raised by the ratio of both (R. T. Birge, Phys. Rev. 40 (1932) 207). An end that
//! is assumed and not fitted brings its own variance and moves what is fitted beside it. Deviations of angles and doses follow to first
//! order.

use crate::problem::Angle;
use crate::treatment::{self, FirstOrder, NoLaw};
use facedown_field::{dense, distribution, root};
use serde::{Deserialize, Serialize};

/// Standard deviation of a reading without one, rad (2 degrees: usual for sessile drops, common practice).
pub const READING_SPREAD: f64 = 2.0 * std::f64::consts::PI / 180.0;

/// An angle after a dose, or after a time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Read {
    /// Dose, J (power times time); zero before. For ageing the time, s.
    pub dose: f64,
    /// Angle, rad.
    pub angle_rad: f64,
    /// One standard deviation, rad; zero is taken as [`READING_SPREAD`].
    pub spread_rad: f64,
}

impl Read {
    fn deviation(&self) -> f64 {
        if self.spread_rad > 0.0 { self.spread_rad } else { READING_SPREAD }
    }
}

/// A law with the covariance of its constants.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FittedLaw {
    /// The law.
    pub law: FirstOrder,
    /// Covariance of start (rad), end (rad) and rate (one over the unit of the dose), in this order.
    pub covariance: [[f64; 3]; 3],
    /// Scatter of the readings about the law over what their spreads say; 1 where too few were read to tell.
    pub scatter: f64,
    /// Readings beyond the number of constants fitted.
    pub freedom: usize,
    /// Whether the end was fitted, or assumed.
    pub end_fitted: bool,
}

/// The dose that a limit needs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DoseNeeded {
    /// At which the law meets the limit.
    pub best: f64,
    /// One standard deviation of it.
    pub spread: f64,
    /// From which on the angle lies below the limit with the confidence asked for, one-sided; absent where no dose gives that.
    pub sure: Option<f64>,
}

/// Derivatives of the law by start, end and rate at a dose.
fn slopes(law: FirstOrder, dose: f64) -> [f64; 3] {
    let left = (-law.rate * dose).exp();
    [left, 1.0 - left, (law.end_rad - law.start_rad) * dose * left]
}

/// The linear estimate of the constants that are `free` (start, end, rate) from readings at `doses`: for each free one, how much it
/// moves with each reading, and how much with a held end. Nothing where the doses cannot tell them apart.
fn estimate(law: FirstOrder, doses: &[f64], free: [bool; 3]) -> Option<Vec<(usize, Vec<f64>, f64)>> {
    let which: Vec<usize> = (0..3).filter(|&k| free[k]).collect();
    let (n, p) = (doses.len(), which.len());
    let rows: Vec<[f64; 3]> = doses.iter().map(|&d| slopes(law, d)).collect();
    // Columns of one length, so that a rate per joule stands beside an angle.
    let size: Vec<f64> =
        which.iter().map(|&k| rows.iter().map(|r| r[k] * r[k]).sum::<f64>().sqrt()).collect();
    if n < p || size.iter().any(|s| *s <= 0.0 || !s.is_finite()) {
        return None;
    }
    let scaled = |i: usize, a: usize| rows[i][which[a]] / size[a];
    let mut normal = vec![0.0; p * p];
    for a in 0..p {
        for b in 0..p {
            normal[a * p + b] = (0..n).map(|i| scaled(i, a) * scaled(i, b)).sum();
        }
    }
    let mut moved: Vec<(usize, Vec<f64>, f64)> =
        which.iter().map(|&k| (k, Vec::with_capacity(n), 0.0)).collect();
    for (i, row) in rows.iter().enumerate() {
        let right: Vec<f64> = (0..p).map(|a| scaled(i, a)).collect();
        let x = dense::solve(&normal, &right).ok()?;
        for a in 0..p {
            let by_reading = x[a] / size[a];
            moved[a].1.push(by_reading);
            // What the end adds to a reading is taken off it before the others are fitted.
            moved[a].2 -= by_reading * row[1];
        }
    }
    Some(moved)
}

/// Covariance of start, end and rate from readings of dose and standard deviation, for a law of which some constants are fitted and the
/// others held. A held end has a deviation of its own; other held constants have none. Nothing where the doses cannot tell the fitted
/// ones apart.
pub fn covariance(
    law: FirstOrder,
    readings: &[(f64, f64)],
    free: [bool; 3],
    end_deviation: f64,
) -> Option<[[f64; 3]; 3]> {
    let doses: Vec<f64> = readings.iter().map(|r| r.0).collect();
    let moved = estimate(law, &doses, free)?;
    let mut out = [[0.0; 3]; 3];
    for (a, of_a, end_a) in &moved {
        for (b, of_b, end_b) in &moved {
            let read: f64 = readings.iter().enumerate().map(|(i, r)| of_a[i] * of_b[i] * r.1 * r.1).sum();
            out[*a][*b] = read + if free[1] { 0.0 } else { end_a * end_b * end_deviation.powi(2) };
        }
        if !free[1] {
            out[*a][1] = end_a * end_deviation.powi(2);
            out[1][*a] = out[*a][1];
        }
    }
    if !free[1] {
        out[1][1] = end_deviation.powi(2);
    }
    out.iter().flatten().all(|v| v.is_finite()).then_some(out)
}

impl FittedLaw {
    /// Fits readings; the end is fitted where two or more doses above zero allow it, else it is `assumed_end`.
    ///
    /// # Errors
    /// [`NoLaw`] when the readings show no such change.
    pub fn of(readings: &[Read], assumed_end: Angle) -> Result<FittedLaw, NoLaw> {
        let pairs: Vec<(f64, f64)> = readings.iter().map(|r| (r.dose, r.angle_rad)).collect();
        let law = treatment::fit(&pairs, assumed_end.angle_rad)?;
        let end_fitted = law.end_rad != assumed_end.angle_rad;
        // With an assumed end the law goes through the means at no dose and at the largest.
        let most = readings.iter().map(|r| r.dose).fold(0.0, f64::max);
        let used: Vec<&Read> =
            readings.iter().filter(|r| end_fitted || r.dose == 0.0 || r.dose == most).collect();
        let free = [true, end_fitted, true];
        let freedom = used.len().saturating_sub(2 + usize::from(end_fitted));
        let square: f64 =
            used.iter().map(|r| ((r.angle_rad - law.after(r.dose)) / r.deviation()).powi(2)).sum();
        let scatter = if freedom > 0 { (square / freedom as f64).sqrt() } else { 1.0 };
        let raised: Vec<(f64, f64)> =
            used.iter().map(|r| (r.dose, r.deviation() * scatter.max(1.0))).collect();
        let covariance = covariance(law, &raised, free, assumed_end.spread_rad).ok_or(NoLaw::OneSided)?;
        Ok(FittedLaw { law, covariance, scatter, freedom, end_fitted })
    }

    /// The angle after a dose, with its standard deviation; held within 0 to 180 deg.
    pub fn after(&self, dose: f64) -> Angle {
        let g = slopes(self.law, dose);
        let mut variance = 0.0;
        for (a, row) in self.covariance.iter().enumerate() {
            for (b, v) in row.iter().enumerate() {
                variance += g[a] * v * g[b];
            }
        }
        let angle_rad = self.law.after(dose).clamp(0.0, std::f64::consts::PI);
        Angle { angle_rad, spread_rad: variance.max(0.0).sqrt() }
    }

    /// The dose that brings the angle to a limit (rad), and the one that does so with a one-sided confidence (0.5 to 1). Nothing
    /// where the law never meets it.
    pub fn dose_for(&self, limit_rad: f64, confidence: f64) -> Option<DoseNeeded> {
        let best = self.law.dose_for(limit_rad)?;
        let slope = (limit_rad - self.law.end_rad) * self.law.rate;
        let spread = (self.after(best).spread_rad / slope).abs();
        let sure = smallest(|dose| self.after(dose), limit_rad, confidence, self.law.rate.recip());
        Some(DoseNeeded { best, spread, sure })
    }
}

/// The smallest dose from which on an angle lies below a limit with a one-sided confidence: looked for from a thousandth of `unit`
/// to thirty times it. The angle plus its deviation times the normal quantile is what must be below.
pub(crate) fn smallest(
    angle: impl Fn(f64) -> Angle,
    limit_rad: f64,
    confidence: f64,
    unit: f64,
) -> Option<f64> {
    let quantile = distribution::normal_quantile(confidence)?;
    let over = |dose: f64| {
        let at = angle(dose);
        at.angle_rad + quantile * at.spread_rad - limit_rad
    };
    if over(0.0) <= 0.0 {
        return Some(0.0);
    }
    let steps = 240;
    let dose = |k: i32| unit * 1e-3 * (30e3_f64.ln() * f64::from(k) / f64::from(steps)).exp();
    let mut before = 0.0;
    for k in 0..=steps {
        let next = dose(k);
        if over(next) <= 0.0 {
            let found = root::bracketed(over, before, next, 1e-12).unwrap_or(next);
            return Some(found).filter(|d| d.is_finite());
        }
        before = next;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use facedown_raster::render::Noise;

    const TRUTH: FirstOrder = FirstOrder { start_rad: 1.3, end_rad: 0.25, rate: 1.0 / 9e3 };
    const DOSES: [f64; 5] = [0.0, 4e3, 9e3, 18e3, 36e3];

    fn readings(noise: &mut Noise, spread: f64, doses: &[f64]) -> Vec<Read> {
        let repeated = doses.iter().flat_map(|d| [*d; 4]);
        repeated
            .map(|dose| Read {
                dose,
                angle_rad: TRUTH.after(dose) + spread * noise.normal(),
                spread_rad: spread,
            })
            .collect()
    }

    #[test]
    fn deviations_are_those_of_many_fits_and_a_sure_dose_is_mostly_enough() {
        let mut noise = Noise::new(7);
        let spread = 0.03;
        let (mut rates, mut said, mut enough, runs) = (Vec::new(), 0.0, 0, 300);
        for _ in 0..runs {
            let fit = FittedLaw::of(
                &readings(&mut noise, spread, &DOSES),
                Angle { angle_rad: 0.2, spread_rad: 0.1 },
            )
            .unwrap();
            assert!(fit.end_fitted && fit.freedom == 17);
            rates.push(fit.law.rate);
            said += fit.covariance[2][2].sqrt() / f64::from(runs);
            let sure = fit.dose_for(0.5, 0.95).unwrap().sure.unwrap();
            enough += u32::from(TRUTH.after(sure) <= 0.5);
        }
        let mean = rates.iter().sum::<f64>() / rates.len() as f64;
        let found = (rates.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / (rates.len() - 1) as f64).sqrt();
        // Three deviations of the deviation of 300 draws are 12 %; raising by the scatter adds up to 5 %, never takes.
        assert!((said / found - 1.0).abs() < 0.15, "{said} {found}");
        // 95 % within three deviations of a binomial of 300, and a little more by the raising.
        assert!((0.912..0.995).contains(&(f64::from(enough) / f64::from(runs))), "{enough}");
    }

    #[test]
    fn an_assumed_end_brings_its_own_deviation() {
        let at = |spread_rad: f64| {
            let exact: Vec<Read> =
                [0.0, 9e3].map(|dose| Read { dose, angle_rad: TRUTH.after(dose), spread_rad: 1e-6 }).to_vec();
            FittedLaw::of(&exact, Angle { angle_rad: TRUTH.end_rad, spread_rad }).unwrap()
        };
        let fit = at(0.05);
        assert!(!fit.end_fitted && (fit.law.rate / TRUTH.rate - 1.0).abs() < 1e-9);
        // By finite differences of the fit itself.
        let moved = FittedLaw::of(
            &[0.0, 9e3].map(|dose| Read { dose, angle_rad: TRUTH.after(dose), spread_rad: 1e-6 }),
            Angle { angle_rad: TRUTH.end_rad + 1e-5, spread_rad: 0.05 },
        )
        .unwrap();
        let slope = (moved.law.rate - fit.law.rate) / 1e-5;
        assert!((fit.covariance[2][2].sqrt() / (slope.abs() * 0.05) - 1.0).abs() < 1e-3);
        assert!((fit.covariance[1][2] / (slope * 0.05 * 0.05) - 1.0).abs() < 1e-3);
        // Where it was read the angle is known however little the end is.
        assert!(fit.after(9e3).spread_rad < 1e-5 && fit.after(90e3).spread_rad > 0.04);
        assert!(at(0.3).dose_for(0.3, 0.95).unwrap().sure.is_none());
    }

    proptest::proptest! {
        #![proptest_config(proptest::prelude::ProptestConfig::with_cases(32))]
        #[test]
        fn more_confidence_asks_for_more_dose(spread in 0.005..0.04_f64, limit in 0.4..0.9_f64, seed in 0..1000_u64) {
            let mut noise = Noise::new(seed);
            let fit = FittedLaw::of(&readings(&mut noise, spread, &DOSES), Angle { angle_rad: 0.2, spread_rad: 0.1 }).unwrap();
            let need = |c: f64| fit.dose_for(limit, c);
            if let (Some(half), Some(more)) = (need(0.5), need(0.9)) {
                let half_sure = half.sure.unwrap();
                proptest::prop_assert!((half_sure / half.best - 1.0).abs() < 1e-6, "{half:?}");
                proptest::prop_assert!(more.sure.is_none_or(|s| s > half_sure));
                proptest::prop_assert!(half.spread > 0.0);
            }
        }
    }
}
