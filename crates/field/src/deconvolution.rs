//! The parts of a step response: its spectrum of time constants by deconvolution.
//!
//! Over the logarithm of time z, `a(z) = integral of R(y) (1 - exp(-exp(z - y))) dy`: the response is the spectrum
//! smeared by one known function (E. N. Protonotarios, O. Wing, IEEE Trans. Circuit Theory 14 (1967) 2-20; V. Székely,
//! T. Van Bien, Solid-State Electronics 31 (1988) 1363-1368; from memory). The spectrum is sought as weights on a uniform
//! grid of z. Unlike the usual form over the slope `da/dz`, the equations are those of the rises from one grid point to
//! the next, which are exact for such weights at any step and need no derivative.
//!
//! The weights are found by the multiplicative iteration of W. H. Richardson (J. Optical Society of America 62 (1972)
//! 55-59) and L. B. Lucy (Astronomical Journal 79 (1974) 745-754): they stay above zero, as those of a driving-point
//! response must, and the sum of rises is kept. It sharpens slowly, so that stopping early is what keeps noise out:
//! it stops as soon as the fitted response lies within the stated noise (root mean square), or after the stated number
//! of iterations.
//!
//! A driving-point response never falls. Falls (by noise) are first made level by the nearest rising curve (pool of
//! adjacent violators; R. E. Barlow et al., Statistical Inference under Order Restrictions, 1972).

use crate::NoConvergence;
use crate::relaxation::Relaxation;
use crate::step_response::StepResponse;

/// What is asked of the deconvolution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// Final value of the response; `None` where the record ends settled.
    pub settled: Option<f64>,
    /// Root mean square noise of the response, in its own unit; zero for a computed one.
    pub noise: f64,
    /// Iterations at most.
    pub iterations: usize,
}

impl Default for Asked {
    fn default() -> Self {
        Asked { settled: None, noise: 0.0, iterations: 5000 }
    }
}

/// A spectrum with what was done for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Spectrum {
    /// Weights above a billionth of their sum, from quick to slow.
    pub parts: Vec<Relaxation>,
    /// Iterations done.
    pub iterations: usize,
    /// Root mean square difference of the fitted response from the given one, over its final value.
    pub misfit: f64,
    /// Largest change that made the response rising, over its final value.
    pub levelled: f64,
}

/// Slope over the logarithm of time, as a share of the last value, up to which a record counts as settled. At the end
/// of a single exponential a slope of 2 % leaves less than 0.3 % to come.
const UNSETTLED: f64 = 0.02;

/// Stretch of the logarithm of time at the end of a record over which that slope is taken.
const END: f64 = 0.5;

/// Share of the final value by which a response may fall before it is refused.
const FALL: f64 = 0.05;

/// Misfit above which no spectrum is given.
const MISFIT: f64 = 0.01;

/// Share of the final value below which a weight is put to zero for good.
const NOTHING: f64 = 1e-15;

/// Why there is no spectrum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoSpectrum {
    /// A number is missing or not finite, or the response has no final value above zero.
    NotFinite,
    /// The response falls by that share of its final value: it is no response at the place of its input.
    Falls(f64),
    /// The record ends while the response still rises, by that share of its last value in a factor e of time.
    NotSettled(f64),
    /// After the iterations the fitted response is off by that share of the final value (root mean square).
    Misfit(f64),
}

impl std::fmt::Display for NoSpectrum {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            NoSpectrum::NotFinite => f.write_str("the response has no finite final value above zero"),
            NoSpectrum::Falls(share) => write!(
                f,
                "the response falls by {:.1} % of its final value; up to {:.0} % is taken for noise",
                100.0 * share,
                100.0 * FALL
            ),
            NoSpectrum::NotSettled(share) => write!(
                f,
                "at its end the response still rises by {:.1} % in a factor e of time; up to {:.0} % counts as settled",
                100.0 * share,
                100.0 * UNSETTLED
            ),
            NoSpectrum::Misfit(share) => write!(
                f,
                "the fitted response is off by {:.1} % of the final value; up to {:.0} % is accepted",
                100.0 * share,
                100.0 * MISFIT
            ),
        }
    }
}

impl std::error::Error for NoSpectrum {}

impl From<NoConvergence> for NoSpectrum {
    fn from(_: NoConvergence) -> Self {
        NoSpectrum::NotFinite
    }
}

/// The spectrum of a driving-point response. Its sum is the final value but for the misfit.
///
/// # Errors
/// [`NoSpectrum`] says which condition the response breaks. Time: 250 grid points and 5000 iterations take about a
/// quarter of a second.
pub fn spectrum(response: &StepResponse, asked: &Asked) -> Result<Spectrum, NoSpectrum> {
    let count = response.values.len();
    let last = response.values.last().copied().unwrap_or(f64::NAN);
    let settled = asked.settled.unwrap_or(last);
    let finite = response.values.iter().all(|v| v.is_finite()) && response.step > 0.0;
    if !(finite && settled > 0.0 && settled.is_finite() && count >= 2) {
        return Err(NoSpectrum::NotFinite);
    }
    let rising = rising(&response.values, settled);
    if asked.settled.is_none() {
        let back = ((END / response.step).ceil() as usize).clamp(1, count - 1);
        // Two values differ by noise, too.
        let rise = last - rising[count - 1 - back] - 2.0 * asked.noise;
        let slope = rise / (back as f64 * response.step) / last;
        if slope.is_nan() || slope > UNSETTLED {
            return Err(NoSpectrum::NotSettled(slope));
        }
    }
    let levelled = rising.iter().zip(&response.values).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    if levelled > FALL * settled {
        return Err(NoSpectrum::Falls(levelled / settled));
    }
    // Rises: up to the first point, from point to point, after the last one.
    let mut rises = vec![rising[0]];
    rises.extend(rising.windows(2).map(|v| v[1] - v[0]));
    rises.push(settled - rising[count - 1]);

    let kernel = Kernel::new(count, response.step);
    let mut weights = vec![settled / kernel.places as f64; kernel.places];
    let reached: Vec<f64> = kernel.onto_weights(&vec![1.0; count + 1]);
    let mut fit = kernel.onto_rises(&weights);
    let mut done = 0;
    let mut misfit = off(&fit, &rising);
    while done < asked.iterations && misfit > asked.noise {
        let ratio: Vec<f64> =
            rises.iter().zip(&fit).map(|(r, f)| if *f > 0.0 { r / f } else { 0.0 }).collect();
        let change = kernel.onto_weights(&ratio);
        for ((weight, change), reached) in weights.iter_mut().zip(&change).zip(&reached) {
            *weight *= change / reached;
            // Out of the race; numbers near the end of the range of double precision would slow everything down.
            if *weight < NOTHING * settled {
                *weight = 0.0;
            }
        }
        fit = kernel.onto_rises(&weights);
        misfit = off(&fit, &rising);
        done += 1;
    }
    if misfit.is_nan() || misfit > (MISFIT * settled).max(asked.noise) {
        return Err(NoSpectrum::Misfit(misfit / settled));
    }
    let parts = weights
        .iter()
        .enumerate()
        .filter(|(_, w)| **w > 1e-9 * settled)
        .map(|(j, w)| Relaxation {
            gain: *w,
            time_constant: (response.start + kernel.offset(j) * response.step).exp(),
        })
        .collect();
    Ok(Spectrum { parts, iterations: done, misfit: misfit / settled, levelled: levelled / settled })
}

/// The nearest rising curve between zero and a final value, by least squares.
fn rising(values: &[f64], settled: f64) -> Vec<f64> {
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for value in values {
        pools.push((value.clamp(0.0, settled), 1));
        while let [.., (a, m), (b, n)] = pools[..] {
            if a <= b {
                break;
            }
            pools.pop();
            pools.pop();
            pools.push(((a * m as f64 + b * n as f64) / (m + n) as f64, m + n));
        }
    }
    pools.into_iter().flat_map(|(value, count)| std::iter::repeat_n(value, count)).collect()
}

/// Root mean square of the fitted response less the given one, at the grid points.
fn off(rises: &[f64], values: &[f64]) -> f64 {
    let mut sum = 0.0;
    let squares: f64 = values
        .iter()
        .zip(rises)
        .map(|(value, rise)| {
            sum += rise;
            (sum - value).powi(2)
        })
        .sum();
    (squares / values.len() as f64).sqrt()
}

/// The rises of unit weights: rows are the rises, columns the places of the weights. Kept both ways, so that both
/// products run along memory.
struct Kernel {
    places: usize,
    /// Places before the first grid point.
    early: usize,
    by_place: Vec<f64>,
    by_rise: Vec<f64>,
    rises: usize,
}

impl Kernel {
    fn new(count: usize, step: f64) -> Kernel {
        // Quicker than the first sample by up to a factor 30, slower than the last one by up to a factor 10.
        let early = (30.0_f64.ln() / step).ceil() as usize;
        let late = (10.0_f64.ln() / step).ceil() as usize;
        let (places, rises) = (early + count + late, count + 1);
        let mut by_place = Vec::with_capacity(places * rises);
        for j in 0..places {
            // Remaining part 1 - W at a grid point; its differences are the rises.
            let rest = |i: usize| (-((i as f64 + early as f64 - j as f64) * step).exp()).exp();
            let near = |rise: f64| if rise < 1e-18 { 0.0 } else { rise };
            by_place.push(near(1.0 - rest(0)));
            by_place.extend((1..count).map(|i| near(rest(i - 1) - rest(i))));
            by_place.push(near(rest(count - 1)));
        }
        let by_rise =
            (0..rises).flat_map(|i| (0..places).map(move |j| j * rises + i)).map(|k| by_place[k]).collect();
        Kernel { places, early, by_place, by_rise, rises }
    }

    fn offset(&self, place: usize) -> f64 {
        place as f64 - self.early as f64
    }

    fn onto_rises(&self, weights: &[f64]) -> Vec<f64> {
        product(&self.by_place, weights, self.rises)
    }

    fn onto_weights(&self, rises: &[f64]) -> Vec<f64> {
        product(&self.by_rise, rises, self.places)
    }
}

/// Sum of rows, each times its factor.
fn product(rows: &[f64], factors: &[f64], width: usize) -> Vec<f64> {
    let mut out = vec![0.0; width];
    for (row, factor) in rows.chunks_exact(width).zip(factors) {
        if *factor != 0.0 {
            for (o, r) in out.iter_mut().zip(row) {
                *o += factor * r;
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::relaxation::step;
    use crate::step_response::Resampling;

    /// Three parts known from a ladder of 0.1, 0.3, 0.6 and 0.01, 0.1, 5.
    const PARTS: [Relaxation; 3] = [
        Relaxation { gain: 0.081_939_16, time_constant: 9.065_214_7e-4 },
        Relaxation { gain: 0.304_681_68, time_constant: 0.032_373_548 },
        Relaxation { gain: 0.613_379_16, time_constant: 3.066_719_9 },
    ];

    fn response(noise: impl Fn(usize) -> f64, how: Resampling) -> StepResponse {
        let times: Vec<f64> = (0..450).map(|i| 10f64.powf(-6.0 + i as f64 / 56.0)).collect();
        let values: Vec<f64> = times.iter().enumerate().map(|(i, t)| step(&PARTS, *t) + noise(i)).collect();
        StepResponse::sampled(&times, &values, how).unwrap()
    }

    /// Sum and mean logarithmic place of the weights around each part.
    fn peaks(parts: &[Relaxation]) -> Vec<(f64, f64)> {
        let near = |from: f64, to: f64| {
            let peak = parts.iter().filter(|p| p.time_constant > from && p.time_constant < to);
            let (sum, place) =
                peak.fold((0.0, 0.0), |(s, z), p| (s + p.gain, z + p.gain * p.time_constant.ln()));
            (sum, (place / sum).exp())
        };
        vec![near(1e-6, 6e-3), near(6e-3, 0.3), near(0.3, 1e3)]
    }

    #[test]
    fn three_parts_come_back() {
        let found = spectrum(&response(|_| 0.0, Resampling::default()), &Asked::default()).unwrap();
        for ((sum, place), part) in peaks(&found.parts).into_iter().zip(PARTS) {
            assert!((sum / part.gain - 1.0).abs() < 0.01, "{sum} {part:?}");
            assert!((place / part.time_constant - 1.0).abs() < 0.01, "{place} {part:?}");
        }
        assert!(found.misfit < 5e-4, "{}", found.misfit);
    }

    #[test]
    fn noise_is_fitted_no_closer_than_it_is_stated() {
        // A deterministic noise of about 0.2 %, root mean square.
        let noise = |i: usize| 0.003 * (((i * 7919 + 13) % 1009) as f64 / 504.5 - 1.0);
        let how = Resampling { half_window_decades: 0.25, ..Resampling::default() };
        let asked = Asked { noise: 0.0012, ..Asked::default() };
        let found = spectrum(&response(noise, how), &asked).unwrap();
        assert!(found.iterations < 5000 && found.misfit <= 0.0012, "{found:?}");
        for ((sum, place), part) in peaks(&found.parts).into_iter().zip(PARTS) {
            assert!((sum / part.gain - 1.0).abs() < 0.05, "{sum} {part:?}");
            assert!((place / part.time_constant - 1.0).abs() < 0.10, "{place} {part:?}");
        }
    }

    #[test]
    fn what_is_no_settled_rising_response_is_refused() {
        let mut good = response(|_| 0.0, Resampling::default());
        let asked = Asked { iterations: 10, ..Asked::default() };
        assert!(matches!(spectrum(&good, &asked), Err(NoSpectrum::Misfit(_))));
        let short = StepResponse {
            values: good.values[..165].to_vec(),
            slopes: good.slopes[..165].to_vec(),
            ..good.clone()
        };
        assert!(matches!(spectrum(&short, &Asked::default()), Err(NoSpectrum::NotSettled(_))));
        assert!(spectrum(&short, &Asked { settled: Some(1.0), ..Asked::default() }).is_ok());
        for value in &mut good.values[60..120] {
            *value -= 0.2;
        }
        assert!(matches!(spectrum(&good, &asked), Err(NoSpectrum::Falls(_))));
        good.values[3] = f64::NAN;
        assert_eq!(spectrum(&good, &asked), Err(NoSpectrum::NotFinite));
    }
}
