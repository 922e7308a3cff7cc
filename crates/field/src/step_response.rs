//! A sampled step response on a uniform grid of the logarithm of time, smoothed, with its slope.
//!
//! Parts of all speeds show equally well over the logarithm of time, and on a uniform grid their answers differ only by
//! a shift. Samples rarely lie on such a grid and carry noise; at each grid point a cubic is fitted to the samples
//! nearby, near ones counting more (local regression with tricube weights: W. S. Cleveland, J. American Statistical
//! Association 74 (1979) 829-836; on a uniform grid it is the filter of A. Savitzky, M. J. E. Golay, Analytical
//! Chemistry 36 (1964) 1627-1639). The cubic gives value and slope at once, up to both ends of the record. Its bias is of
//! the fourth order of the width in the value and of the third in the slope.

use crate::{NoConvergence, dense};

/// A response over the logarithm of time.
#[derive(Debug, Clone, PartialEq)]
pub struct StepResponse {
    /// Logarithm (base e) of the first time, s.
    pub start: f64,
    /// Step of the logarithm of time.
    pub step: f64,
    /// Response, one number a grid point.
    pub values: Vec<f64>,
    /// Slope over the logarithm of time.
    pub slopes: Vec<f64>,
}

/// How samples are brought onto the grid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resampling {
    /// Grid points in a decade of time; 20 to 50 are usual.
    pub per_decade: f64,
    /// Half width of the window of the fit, decades; never fewer than seven samples are taken. Zero follows the
    /// samples as closely as those seven allow.
    pub half_window_decades: f64,
}

impl Default for Resampling {
    /// 25 points a decade, a window of 0.1 decades to both sides: for responses with little noise.
    fn default() -> Self {
        Resampling { per_decade: 25.0, half_window_decades: 0.1 }
    }
}

/// Samples below which no window is drawn.
const FEWEST: usize = 7;

/// Grid points above which a request is refused.
const MOST: f64 = 20_000.0;

impl StepResponse {
    /// From samples at rising times above zero, s.
    ///
    /// # Errors
    /// [`NoConvergence::NotFinite`] when the lists differ in length, hold fewer than seven samples, times that do not
    /// rise from above zero or numbers that are not finite, or when the grid would have fewer than two or more than
    /// 20,000 points; [`NoConvergence::Singular`] when a window holds no cubic.
    pub fn sampled(times: &[f64], values: &[f64], how: Resampling) -> Result<StepResponse, NoConvergence> {
        let usable = times.len() == values.len()
            && times.len() >= FEWEST
            && times[0] > 0.0
            && times.windows(2).all(|t| t[0] < t[1])
            && times.iter().chain(values).all(|v| v.is_finite())
            && how.per_decade > 0.0
            && how.half_window_decades >= 0.0;
        if !usable {
            return Err(NoConvergence::NotFinite);
        }
        let z: Vec<f64> = times.iter().map(|t| t.ln()).collect();
        let decade = std::f64::consts::LN_10;
        let (start, end) = (z[0], z[z.len() - 1]);
        let intervals = ((end - start) / decade * how.per_decade).round();
        if !(1.0..MOST).contains(&intervals) {
            return Err(NoConvergence::NotFinite);
        }
        let step = (end - start) / intervals;
        let half = how.half_window_decades * decade;
        let fits: Result<Vec<_>, _> =
            (0..=intervals as usize).map(|i| cubic(&z, values, start + i as f64 * step, half)).collect();
        let (values, slopes) = fits?.into_iter().unzip();
        Ok(StepResponse { start, step, values, slopes })
    }

    /// Logarithm of the time of a grid point.
    pub fn log_time(&self, index: usize) -> f64 {
        self.start + index as f64 * self.step
    }

    /// Times of the grid points, s.
    pub fn times(&self) -> Vec<f64> {
        (0..self.values.len()).map(|i| self.log_time(i).exp()).collect()
    }
}

/// Value and slope at `at` of the cubic through the samples around it.
fn cubic(z: &[f64], values: &[f64], at: f64, half: f64) -> Result<(f64, f64), NoConvergence> {
    let mut low = z.partition_point(|v| *v < at - half);
    let mut high = z.partition_point(|v| *v <= at + half);
    while high - low < FEWEST {
        // The nearer neighbour joins first.
        let left = low.checked_sub(1).map(|i| at - z[i]);
        let right = z.get(high).map(|v| v - at);
        match (left, right) {
            (Some(a), Some(b)) if a <= b => low -= 1,
            (_, Some(_)) => high += 1,
            (Some(_), None) => low -= 1,
            (None, None) => return Err(NoConvergence::Singular),
        }
    }
    let reach = (at - z[low]).abs().max((z[high - 1] - at).abs()).max(half) * 1.001;
    let (mut matrix, mut right) = ([0.0; 16], [0.0; 4]);
    for (z, value) in z[low..high].iter().zip(&values[low..high]) {
        let u = (z - at) / reach;
        let weight = (1.0 - u.abs().powi(3)).powi(3);
        let powers = [1.0, u, u * u, u * u * u];
        for (i, a) in powers.iter().enumerate() {
            right[i] += weight * a * value;
            for (j, b) in powers.iter().enumerate() {
                matrix[4 * i + j] += weight * a * b;
            }
        }
    }
    let fit = dense::solve(&matrix, &right)?;
    Ok((fit[0], fit[1] / reach))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::relaxation::{Relaxation, step};

    #[test]
    fn cubics_of_the_logarithm_are_exact_even_from_uneven_samples() {
        let times: Vec<f64> = (0..60).map(|i| 1e-5 * 1.3_f64.powf(i as f64 + 0.3 * (i % 3) as f64)).collect();
        let cubic = |z: f64| 2.0 + z * (0.3 + z * (0.01 + 0.002 * z));
        let values: Vec<f64> = times.iter().map(|t| cubic(t.ln())).collect();
        let response = StepResponse::sampled(&times, &values, Resampling::default()).unwrap();
        for (i, (value, slope)) in response.values.iter().zip(&response.slopes).enumerate() {
            let z = response.log_time(i);
            assert!((value - cubic(z)).abs() < 1e-9);
            assert!((slope - (0.3 + z * (0.02 + 0.006 * z))).abs() < 1e-8);
        }
    }

    #[test]
    fn the_steepest_slope_of_one_part_is_its_gain_over_e() {
        let part = [Relaxation { gain: 2.0, time_constant: 0.1 }];
        let times: Vec<f64> = (0..300).map(|i| 10f64.powf(-4.0 + i as f64 / 50.0)).collect();
        let values: Vec<f64> = times.iter().map(|t| step(&part, *t)).collect();
        let response = StepResponse::sampled(&times, &values, Resampling::default()).unwrap();
        let steepest = response.slopes.iter().fold(0.0_f64, |a, b| a.max(*b));
        // The bias of the window: third order.
        assert!((steepest - 2.0 / std::f64::consts::E).abs() < 2e-3, "{steepest}");
    }

    #[test]
    fn bad_samples_are_refused() {
        let times: Vec<f64> = (1..20).map(f64::from).collect();
        let good = vec![1.0; 19];
        let refused = |t: &[f64], v: &[f64], how| StepResponse::sampled(t, v, how).is_err();
        assert!(!refused(&times, &good, Resampling::default()));
        assert!(refused(&times[..5], &good[..5], Resampling::default()));
        assert!(refused(&times, &good[..18], Resampling::default()));
        let mut back = times.clone();
        back[3] = 9.0;
        assert!(refused(&back, &good, Resampling::default()));
        let mut wild = good.clone();
        wild[0] = f64::NAN;
        assert!(refused(&times, &wild, Resampling::default()));
        assert!(refused(&times, &good, Resampling { per_decade: 1e9, ..Resampling::default() }));
    }
}
