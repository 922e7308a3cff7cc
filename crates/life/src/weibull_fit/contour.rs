//! All distributions that a test does not rule out, and the band that they cover on a probability plot.
//!
//! The bounds by the likelihood ratio of any one property of a fit (its shape, its life at some share failed) are the
//! extremes of that property over the distributions whose likelihood is near enough to the greatest. So the edge of that
//! set, followed once, gives the bounds of all shares together (W. Q. Meeker and L. A. Escobar, Statistical Methods for
//! Reliability Data, Wiley 1998, sec. 8.3), where [`Sample::quantile_bounds`] finds those of one share. With the shape
//! held, the likelihood depends on the scale through one variable alone, so that each shape costs one pass over the units.

use super::{Fault, Fit, Sample, loss};
use crate::weibull::Weibull;
use facedown_field::root;

/// Shapes on the edge; the extremes of a property lie between them, wrong by less than a thousandth of its bounds' width.
const SHAPES: usize = 65;

impl Sample {
    /// Distributions on the edge of what a two-sided `confidence` allows: for shapes from the least to the largest, the
    /// shortest and the longest scale.
    ///
    /// # Errors
    /// Those of [`Sample::shape_bounds`].
    pub fn contour(&self, fit: &Fit, confidence: f64) -> Result<Vec<Weibull>, Fault> {
        let allowed = loss(confidence)?;
        let (least, largest) = self.shape_bounds(fit, confidence)?;
        let best = self.profile(fit.weibull.shape);
        let r = self.failures.len() as f64;
        let mut edge = Vec::with_capacity(2 * SHAPES);
        for k in 0..SHAPES {
            // Close together where the edge turns round.
            let along = 0.5 - 0.5 * (std::f64::consts::PI * k as f64 / (SHAPES - 1) as f64).cos();
            let shape = least * (largest / least).powf(along);
            let left = ((allowed - (best - self.profile(shape))) / r).max(0.0);
            let sum = self.power_sum(shape).ln() - r.ln();
            // With x the logarithm of the accumulated hazard over its best, the loss for each failure is exp x - 1 - x.
            let loss = |x: f64| x.exp_m1() - x - left;
            let roots = if left > 0.0 {
                [
                    root::bracketed(loss, 0.0, (2.0 * left).sqrt(), 1e-12)?,
                    root::bracketed(loss, -(left + 1.0), 0.0, 1e-12)?,
                ]
            } else {
                [0.0; 2]
            };
            edge.extend(roots.map(|x| Weibull { shape, scale: (self.unit + (sum - x) / shape).exp() }));
        }
        Ok(edge)
    }
}

/// Least and largest life at which the share `failed` (0 to 1, both excluded) has failed, over the edge of a set of
/// distributions; nothing for none.
pub fn lives_between(edge: &[Weibull], failed: f64) -> Option<(f64, f64)> {
    let lives = || edge.iter().map(|w| w.quantile(failed));
    Some((lives().min_by(f64::total_cmp)?, lives().max_by(f64::total_cmp)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_edge_gives_the_bounds_of_each_share(
            failures in prop::collection::vec(100.0..1e4_f64, 3..20),
            running in prop::collection::vec(100.0..1e4_f64, 0..20),
            share in 0.001..0.95_f64,
        ) {
            let sample = Sample::new(&failures, &running).unwrap();
            let Ok(fit) = sample.fit() else { return Ok(()) };
            let (Ok(edge), Ok((low, high))) =
                (sample.contour(&fit, 0.9), sample.quantile_bounds(&fit, share, 0.9)) else { return Ok(()) };
            let (least, most) = lives_between(&edge, share).unwrap();
            // Never wider than the true bounds, and narrower by less than the claim.
            let width = (high / low).ln();
            for inside in [(least / low).ln(), (high / most).ln()] {
                prop_assert!((-1e-9..1e-3 * width).contains(&inside), "{inside} of {width}");
            }
        }
    }

    #[test]
    fn nothing_on_an_edge_bounds_nothing() {
        assert_eq!(lives_between(&[], 0.1), None);
    }
}
