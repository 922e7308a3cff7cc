//! The two-parameter Weibull distribution and the weakest link of many joints.
//!
//! W. Weibull, A statistical distribution function of wide applicability, Journal of Applied Mechanics 18 (1951) 293:
//! `F(t) = 1 - exp(-(t / scale)^shape)`. A package fails with its first joint, so the survivals of all joints multiply.
//! Lives are in any one unit of time or cycles.

use facedown_field::{NoConvergence, distribution, root};

/// A distribution of lives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weibull {
    /// Shape; above 1 for wear-out.
    pub shape: f64,
    /// Scale: the characteristic life, at which 63.2 % have failed.
    pub scale: f64,
}

impl Weibull {
    /// The distribution of this shape with the share `failed` (0 to 1, both excluded) at `life`.
    pub fn through(life: f64, failed: f64, shape: f64) -> Weibull {
        Weibull { shape, scale: life / (-(-failed).ln_1p()).powf(1.0 / shape) }
    }

    /// The distribution with this median.
    pub fn of_median(median: f64, shape: f64) -> Weibull {
        Weibull::through(median, 0.5, shape)
    }

    /// Share failed at a life of zero or more.
    pub fn failed(&self, life: f64) -> f64 {
        -(-self.hazard(life)).exp_m1()
    }

    /// Accumulated hazard `(t / scale)^shape`.
    fn hazard(&self, life: f64) -> f64 {
        (life / self.scale).powf(self.shape)
    }

    /// Life at which the share `failed` (0 to 1) has failed.
    pub fn quantile(&self, failed: f64) -> f64 {
        self.scale * (-(-failed).ln_1p()).powf(1.0 / self.shape)
    }

    /// Mean life.
    pub fn mean(&self) -> f64 {
        self.scale * distribution::gamma(1.0 + 1.0 / self.shape)
    }

    /// Standard deviation of the life.
    pub fn deviation(&self) -> f64 {
        let first = distribution::gamma(1.0 + 1.0 / self.shape);
        self.scale * (distribution::gamma(1.0 + 2.0 / self.shape) - first * first).max(0.0).sqrt()
    }

    /// The first failure among `count` alike: the same shape, the scale times `count^(-1/shape)`.
    pub fn first_of(&self, count: f64) -> Weibull {
        Weibull { shape: self.shape, scale: self.scale * count.powf(-1.0 / self.shape) }
    }
}

/// Share of arrays failed at `life`, where an array holds (distribution, number of joints) and fails with its first joint.
pub fn array_failed(parts: &[(Weibull, f64)], life: f64) -> f64 {
    -(-parts.iter().map(|(one, count)| count * one.hazard(life)).sum::<f64>()).exp_m1()
}

/// The weakest link of joints that share one shape: again a Weibull distribution, `scale^-shape` being the sum of
/// `count scale_i^-shape`. Nothing for no joints.
pub fn array_of_one_shape(shape: f64, parts: &[(f64, f64)]) -> Option<Weibull> {
    // Relative to the shortest scale, so that no power overflows.
    let least = parts.iter().filter(|p| p.1 > 0.0).map(|p| p.0).min_by(f64::total_cmp)?;
    let sum: f64 = parts.iter().map(|&(scale, count)| count * (least / scale).powf(shape)).sum();
    Some(Weibull { shape, scale: least * sum.powf(-1.0 / shape) })
}

/// Life at which the share `failed` of arrays has failed, for joints of any shapes.
///
/// # Errors
/// [`NoConvergence::NotBracketed`] for no joints or a share outside 0 to 1 (both excluded), else those of the root.
pub fn array_quantile(parts: &[(Weibull, f64)], failed: f64) -> Result<f64, NoConvergence> {
    let goal = -(-failed).ln_1p();
    if !(goal > 0.0 && goal.is_finite()) {
        return Err(NoConvergence::NotBracketed);
    }
    let parts: Vec<(Weibull, f64)> = parts.iter().copied().filter(|p| p.1 > 0.0).collect();
    // Each kind alone reaches the goal no earlier than all together; with the goal shared among them, no later.
    let alone = |share: f64| {
        parts
            .iter()
            .map(|(one, count)| one.scale.ln() + (goal / (share * count)).ln() / one.shape)
            .min_by(f64::total_cmp)
            .ok_or(NoConvergence::NotBracketed)
    };
    let (low, high) = (alone(parts.len() as f64)?, alone(1.0)?);
    let over = |x: f64| parts.iter().map(|(one, count)| count * one.hazard(x.exp())).sum::<f64>() - goal;
    if over(high) <= 0.0 {
        return Ok(high.exp());
    }
    if over(low) >= 0.0 {
        return Ok(low.exp());
    }
    Ok((low + root::bracketed(|x| over(low + x), 0.0, high - low, 1e-13)?).exp())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn textbook_properties() {
        let w = Weibull { shape: 2.0, scale: 1000.0 };
        assert!((w.failed(1000.0) - (1.0 - (-1.0_f64).exp())).abs() < 1e-15);
        assert!((w.mean() - 1000.0 * 0.5 * std::f64::consts::PI.sqrt()).abs() < 1e-9);
        assert!((Weibull::of_median(500.0, 3.0).quantile(0.5) - 500.0).abs() < 1e-9);
        assert_eq!(array_quantile(&[], 0.5), Err(NoConvergence::NotBracketed));
        assert_eq!(array_of_one_shape(2.0, &[]), None);
    }

    proptest! {
        #[test]
        fn the_weakest_link_is_found_both_ways(
            shape in 0.5..12.0_f64,
            scales in prop::collection::vec((1.0..1e6_f64, 1.0..1e4_f64), 1..6),
            failed in 1e-6..0.999_f64,
        ) {
            let closed = array_of_one_shape(shape, &scales).unwrap().quantile(failed);
            let parts: Vec<(Weibull, f64)> = scales.iter().map(|&(scale, n)| (Weibull { shape, scale }, n)).collect();
            let found = array_quantile(&parts, failed).unwrap();
            prop_assert!((found / closed - 1.0).abs() < 1e-9);
            prop_assert!((array_failed(&parts, found) / failed - 1.0).abs() < 1e-7);
        }

        #[test]
        fn more_joints_fail_earlier(shape in 0.5..12.0_f64, n in 1.0..1e5_f64, p in 1e-6..0.999_f64) {
            let one = Weibull { shape, scale: 3000.0 };
            let all = one.first_of(n);
            prop_assert!(all.quantile(p) <= one.quantile(p) * (1.0 + 1e-12));
            let same = 1.0 - (1.0 - one.failed(all.quantile(p))).powf(n);
            prop_assert!((same / p - 1.0).abs() < 1e-5);
        }

        #[test]
        fn quantiles_invert(shape in 0.3..12.0_f64, p in 1e-9..0.9999_f64) {
            let w = Weibull { shape, scale: 7.0 };
            prop_assert!((w.failed(w.quantile(p)) / p - 1.0).abs() < 1e-9);
        }
    }
}
