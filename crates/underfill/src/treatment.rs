//! What plasma and waiting do to an angle.
//!
//! Both follow first order: with the dose D of a plasma, `angle = end + (start - end) exp(-k D)`, and with the time after
//! it, `angle = aged + (fresh - aged) exp(-t / tau)`. The constants come from the user's own readings before and after;
//! a published rate is a starting value and is named so. Exponential fall with the fluence of oxygen atoms: Polymers 16
//! (2024) 1381 (1/e at about 5e22 per m2 on aromatic polymers, valid from 5e20 to 5e23 per m2).

use facedown_field::dense;
use serde::{Deserialize, Serialize};

/// Fluence of oxygen atoms at which the angle on aromatic polymers has fallen to 1/e, per m2 (Polymers 16 (2024) 1381).
pub const FLUENCE: f64 = 5e22;

/// A first-order change of an angle with dose or time; angles in rad, the rate in one over the unit of the dose.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FirstOrder {
    /// Before.
    pub start_rad: f64,
    /// After an endless dose.
    pub end_rad: f64,
    /// Rate.
    pub rate: f64,
}

impl FirstOrder {
    /// The angle after a dose, rad.
    pub fn after(self, dose: f64) -> f64 {
        self.end_rad + (self.start_rad - self.end_rad) * (-self.rate * dose).exp()
    }

    /// The dose at which the angle reaches `limit` (rad); nothing where it never does.
    pub fn dose_for(self, limit_rad: f64) -> Option<f64> {
        if limit_rad == self.start_rad {
            return Some(0.0);
        }
        let ratio = (self.start_rad - self.end_rad) / (limit_rad - self.end_rad);
        let dose = ratio.ln() / self.rate;
        (ratio >= 1.0 && dose.is_finite()).then_some(dose)
    }
}

/// Why readings give no first-order law.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoLaw {
    /// There is no reading at dose zero, or none after a dose.
    #[error("readings before and after are needed")]
    OneSided,
    /// The angle does not move towards its end.
    #[error("the readings after lie no nearer to the end value than those before")]
    WrongWay,
}

/// Fits the law to readings (dose, angle in rad). With one dose above zero the end value is `assumed_end` (rad); with
/// two or more different doses above zero the end is fitted too, by least squares, unless the fit wants no end within
/// 0 to pi, when `assumed_end` is kept.
///
/// # Errors
/// [`NoLaw`] when the readings do not show such a change.
pub fn fit(readings: &[(f64, f64)], assumed_end: f64) -> Result<FirstOrder, NoLaw> {
    let mean = |pick: &dyn Fn(f64) -> bool| {
        let picked: Vec<f64> = readings.iter().filter(|r| pick(r.0)).map(|r| r.1).collect();
        (!picked.is_empty()).then(|| picked.iter().sum::<f64>() / picked.len() as f64)
    };
    let start = mean(&|d| d == 0.0).ok_or(NoLaw::OneSided)?;
    let mut doses: Vec<f64> = readings.iter().map(|r| r.0).filter(|d| *d > 0.0).collect();
    doses.sort_by(f64::total_cmp);
    doses.dedup();
    let (Some(&least), Some(&most)) = (doses.first(), doses.last()) else { return Err(NoLaw::OneSided) };
    // Single dose, or the first guess of several: the law through the mean of the largest dose.
    let through = |end: f64, dose: f64| -> Result<FirstOrder, NoLaw> {
        let after = mean(&|d| d == dose).ok_or(NoLaw::OneSided)?;
        let ratio = (after - end) / (start - end);
        if !(ratio > 0.0 && ratio < 1.0) {
            return Err(NoLaw::WrongWay);
        }
        Ok(FirstOrder { start_rad: start, end_rad: end, rate: -ratio.ln() / dose })
    };
    if doses.len() < 2 {
        return through(assumed_end, most);
    }
    // For a given rate the law is linear in start and end; the rate itself by golden section on its logarithm.
    let linear = |rate: f64| -> Option<(FirstOrder, f64)> {
        let rows: Vec<f64> =
            readings.iter().flat_map(|r| [(-rate * r.0).exp(), -(-rate * r.0).exp_m1()]).collect();
        let right: Vec<f64> = readings.iter().map(|r| r.1).collect();
        let x = dense::least_squares(&rows, 2, &right).ok()?;
        let law = FirstOrder { start_rad: x[0], end_rad: x[1], rate };
        let sum = readings.iter().map(|r| (law.after(r.0) - r.1).powi(2)).sum();
        Some((law, sum))
    };
    let misfit = |log_rate: f64| linear(log_rate.exp()).map_or(f64::INFINITY, |l| l.1);
    let (mut low, mut high) = ((1e-3 / most).ln(), (30.0 / least).ln());
    // The sum of squares may have flat ends: a coarse search first.
    let grid: Vec<f64> = (0..=60).map(|i| low + (high - low) * f64::from(i) / 60.0).collect();
    if let Some(best) = (0..grid.len()).min_by(|&i, &j| misfit(grid[i]).total_cmp(&misfit(grid[j]))) {
        low = grid[best.saturating_sub(1)];
        high = grid[(best + 1).min(grid.len() - 1)];
    }
    let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
    for _ in 0..80 {
        let (a, b) = (high - golden * (high - low), low + golden * (high - low));
        if misfit(a) <= misfit(b) { high = b } else { low = a }
    }
    match linear((0.5 * (low + high)).exp()) {
        Some((law, _))
            if (0.0..=std::f64::consts::PI).contains(&law.end_rad)
                && (law.start_rad - law.end_rad).abs() > 1e-9 =>
        {
            Ok(law)
        }
        _ => through(assumed_end, most),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    proptest::proptest! {
        #[test]
        fn doses_give_back_the_law(start in 0.8..1.6_f64, end in 0.05..0.5_f64, k in 0.2..4.0_f64) {
            let law = FirstOrder { start_rad: start, end_rad: end, rate: k };
            let readings: Vec<(f64, f64)> = [0.0, 0.3, 0.8, 2.0].map(|d| (d, law.after(d))).to_vec();
            let found = fit(&readings, 0.0).unwrap();
            proptest::prop_assert!((found.rate / k - 1.0).abs() < 1e-4, "{found:?}");
            proptest::prop_assert!((found.end_rad - end).abs() < 1e-4);
            let one = fit(&readings[..2], end).unwrap();
            proptest::prop_assert!((one.rate / k - 1.0).abs() < 1e-9);
            let limit = 0.5 * (start + end);
            proptest::prop_assert!((law.after(law.dose_for(limit).unwrap()) - limit).abs() < 1e-12);
        }
    }

    #[test]
    fn readings_that_show_no_change_are_refused() {
        assert_eq!(fit(&[(0.0, 1.0)], 0.0), Err(NoLaw::OneSided));
        assert_eq!(fit(&[(1.0, 1.0)], 0.0), Err(NoLaw::OneSided));
        assert_eq!(fit(&[(0.0, 1.0), (1.0, 1.2)], 0.0), Err(NoLaw::WrongWay));
        let law = FirstOrder { start_rad: 1.0, end_rad: 0.2, rate: 1.0 };
        assert_eq!(law.dose_for(0.1), None);
        assert_eq!(law.dose_for(1.2), None);
    }
}
