//! Stiff rate equations of a few numbers: an implicit method of order 5 with a controlled step.
//!
//! Creep of solder is stiff: at 125 degC it forgets a stress in milliseconds, while a cycle lasts an hour. Radau IIA
//! with three stages is stable for any such ratio, and its simplified Newton iteration bears a Jacobian by differences
//! (E. Hairer and G. Wanner, Solving Ordinary Differential Equations II, 2nd ed. 1996, section IV.8: coefficients
//! eq. 8.1 and table 5.6, error estimate eq. 8.20). The stages are solved as one dense system, which suits up to about
//! ten numbers. A step at whose end the rate has a kink should end there: march from kink to kink.

use crate::NoConvergence;
use nalgebra::{DMatrix, DVector, SMatrix, SVector};

/// Most accepted and refused steps of one march.
const MOST_STEPS: usize = 100_000;
/// Most Newton iterations of one step.
const MOST_ITERATIONS: usize = 10;

/// Tolerances of a march.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy<const N: usize> {
    /// Allowed error of a step relative to the value.
    pub relative: f64,
    /// Allowed error of a step in the unit of each value.
    pub absolute: [f64; N],
}

/// Solves `dy/dt = rate(t, y)` from `start` at time `from` to time `to`, tells every accepted point to `seen` (the
/// start excluded), and gives the values at the end. The first step tried is `first_step`, or a thousandth of the
/// interval where that is not above zero.
///
/// # Errors
/// [`NoConvergence::NotFinite`] when rates or their step are not finite, [`NoConvergence::TooSlow`] after 100,000
/// steps.
pub fn march<const N: usize>(
    rate: impl Fn(f64, &[f64; N]) -> [f64; N],
    (from, to): (f64, f64),
    start: [f64; N],
    accuracy: &Accuracy<N>,
    first_step: f64,
    mut seen: impl FnMut(f64, &[f64; N]),
) -> Result<[f64; N], NoConvergence> {
    if !(from.is_finite() && to.is_finite() && start.iter().all(|v| v.is_finite())) {
        return Err(NoConvergence::NotFinite);
    }
    let (mut t, mut y) = (from, start);
    let mut step = if first_step > 0.0 { first_step } else { 1e-3 * (to - from) };
    let mut slopes = rate(t, &y);
    for _ in 0..MOST_STEPS {
        if t >= to {
            return Ok(y);
        }
        // A rest too short for a step of its own joins the last one.
        let last = step >= (to - t) * (1.0 - 1e-9);
        let h = if last { to - t } else { step };
        match trial(&rate, t, &y, &slopes, h, accuracy) {
            Some((end, error, iterations)) if error <= 1.0 => {
                t = if last { to } else { t + h };
                y = end;
                slopes = rate(t, &y);
                if !y.iter().chain(&slopes).all(|v| v.is_finite()) {
                    return Err(NoConvergence::NotFinite);
                }
                seen(t, &y);
                let safety = 0.9 * (2.0 * MOST_ITERATIONS as f64 + 1.0)
                    / (2.0 * MOST_ITERATIONS as f64 + iterations as f64);
                let growth = if error == 0.0 { 8.0 } else { (safety * error.powf(-0.25)).clamp(0.2, 8.0) };
                step = if last { step.max(h * growth) } else { h * growth };
            }
            Some((_, error, _)) if error.is_finite() => step = h * (0.9 * error.powf(-0.25)).clamp(0.1, 0.9),
            _ => step = 0.25 * h,
        }
        if t + step <= t {
            return Err(if slopes.iter().all(|v| v.is_finite()) {
                NoConvergence::TooSlow
            } else {
                NoConvergence::NotFinite
            });
        }
    }
    Err(NoConvergence::TooSlow)
}

/// One step: the values at its end, its error as a share of what is allowed, and the Newton iterations it took;
/// nothing where the iteration does not settle.
fn trial<const N: usize>(
    rate: &impl Fn(f64, &[f64; N]) -> [f64; N],
    t: f64,
    y: &[f64; N],
    slopes: &[f64; N],
    h: f64,
    accuracy: &Accuracy<N>,
) -> Option<([f64; N], f64, usize)> {
    let s6 = 6.0_f64.sqrt();
    let nodes = [(4.0 - s6) / 10.0, (4.0 + s6) / 10.0, 1.0];
    let a = [
        [(88.0 - 7.0 * s6) / 360.0, (296.0 - 169.0 * s6) / 1800.0, (-2.0 + 3.0 * s6) / 225.0],
        [(296.0 + 169.0 * s6) / 1800.0, (88.0 + 7.0 * s6) / 360.0, (-2.0 - 3.0 * s6) / 225.0],
        [(16.0 - s6) / 36.0, (16.0 + s6) / 36.0, 1.0 / 9.0],
    ];
    let jacobian = jacobian(rate, t, y, slopes, accuracy);
    let mut system = DMatrix::<f64>::identity(3 * N, 3 * N);
    for i in 0..3 {
        for j in 0..3 {
            for row in 0..N {
                for column in 0..N {
                    system[(i * N + row, j * N + column)] -= h * a[i][j] * jacobian[(row, column)];
                }
            }
        }
    }
    let system = system.lu();
    let allowed =
        |i: usize, value: f64| accuracy.absolute[i] + accuracy.relative * y[i].abs().max(value.abs());
    // Changes of the stages over the start.
    let mut z = DVector::<f64>::zeros(3 * N);
    let mut before = f64::INFINITY;
    let mut settled = None;
    for iteration in 1..=MOST_ITERATIONS {
        let mut stage_rates = [[0.0; N]; 3];
        for stage in 0..3 {
            let at: [f64; N] = std::array::from_fn(|i| y[i] + z[stage * N + i]);
            stage_rates[stage] = rate(t + nodes[stage] * h, &at);
        }
        let mut right = -z.clone();
        for stage in 0..3 {
            for i in 0..N {
                right[stage * N + i] += h * (0..3).map(|j| a[stage][j] * stage_rates[j][i]).sum::<f64>();
            }
        }
        let change = system.solve(&right)?;
        let mut size = 0.0_f64;
        for (k, value) in change.iter().enumerate() {
            let share = value.abs() / allowed(k % N, y[k % N] + z[k]);
            size = if share.is_finite() { size.max(share) } else { return None };
        }
        z += change;
        let contraction = size / before;
        // What is still missing, from the observed contraction; a linear problem is done after one iteration.
        let known = iteration > 1 && contraction < 1.0;
        if size < 1e-6 || (known && size * contraction / (1.0 - contraction) < 1e-3) {
            settled = Some(iteration);
            break;
        }
        if iteration > 2 && contraction >= 0.9 {
            return None;
        }
        before = size;
    }
    let iterations = settled?;
    let end: [f64; N] = std::array::from_fn(|i| y[i] + z[2 * N + i]);
    // The embedded formula, filtered by the real eigenvalue so that stiff parts do not blow it up.
    let mu = 3.0 + 3.0_f64.powf(2.0 / 3.0) - 3.0_f64.powf(1.0 / 3.0);
    let weights = [(-13.0 - 7.0 * s6) / 3.0, (-13.0 + 7.0 * s6) / 3.0, -1.0 / 3.0];
    let filter = (SMatrix::<f64, N, N>::identity() * (mu / h) - jacobian).try_inverse()?;
    let pull: SVector<f64, N> =
        SVector::from_fn(|i, _| (0..3).map(|stage| weights[stage] * z[stage * N + i]).sum::<f64>() / h);
    let share = |error: &SVector<f64, N>| {
        let sum: f64 = (0..N).map(|i| (error[i] / allowed(i, end[i])).powi(2)).sum();
        (sum / N as f64).sqrt()
    };
    let mut error = filter * (SVector::from(*slopes) + pull);
    let mut size = share(&error);
    if size > 1.0 {
        // Hairer and Wanner's second filter, for steps that start with a fast transient.
        let shifted: [f64; N] = std::array::from_fn(|i| y[i] + error[i]);
        error = filter * (SVector::from(rate(t, &shifted)) + pull);
        size = share(&error).min(size);
    }
    Some((end, size, iterations))
}

/// Changes of the rates with the values by forward differences.
fn jacobian<const N: usize>(
    rate: &impl Fn(f64, &[f64; N]) -> [f64; N],
    t: f64,
    y: &[f64; N],
    slopes: &[f64; N],
    accuracy: &Accuracy<N>,
) -> SMatrix<f64, N, N> {
    let mut matrix = SMatrix::<f64, N, N>::zeros();
    for column in 0..N {
        let mut moved = *y;
        let reach = 1e-7 * y[column].abs().max(accuracy.absolute[column] / accuracy.relative.max(1e-12));
        moved[column] += reach;
        let reach = moved[column] - y[column];
        if reach == 0.0 {
            continue;
        }
        let there = rate(t, &moved);
        for row in 0..N {
            let slope = (there[row] - slopes[row]) / reach;
            matrix[(row, column)] = if slope.is_finite() { slope } else { 0.0 };
        }
    }
    matrix
}

#[cfg(test)]
mod tests {
    use super::*;

    fn accuracy<const N: usize>(relative: f64) -> Accuracy<N> {
        Accuracy { relative, absolute: [relative; N] }
    }

    #[test]
    fn robertson_kinetics_reach_the_published_values() {
        // Hairer and Wanner, section IV.10, problem ROBER, solution at t = 1e11 by the test set of the same authors.
        let rate = |_: f64, y: &[f64; 3]| {
            let (a, b) = (0.04 * y[0] - 1e4 * y[1] * y[2], 3e7 * y[1] * y[1]);
            [-a, a - b, b]
        };
        let mut steps = 0;
        let limits = Accuracy { relative: 1e-9, absolute: [1e-14, 1e-18, 1e-14] };
        let end = march(rate, (0.0, 1e11), [1.0, 0.0, 0.0], &limits, 1e-6, |_, _| steps += 1).unwrap();
        assert!((end[0] / 0.208_334_014_970_122e-7 - 1.0).abs() < 1e-5, "{end:?}");
        assert!((end[1] / 0.833_336_077_033_472e-13 - 1.0).abs() < 1e-5);
        assert!((end[2] - 0.999_999_979_166_503).abs() < 1e-9);
        assert!(steps < 4000, "{steps}");
    }

    #[test]
    fn a_fast_relaxation_follows_a_slow_forcing() {
        // Prothero and Robinson: the solution is the cosine for any stiffness.
        for stiffness in [1.0, 1e3, 1e6] {
            let rate = move |t: f64, y: &[f64; 1]| [-stiffness * (y[0] - t.cos()) - t.sin()];
            let end = march(rate, (0.0, 10.0), [1.0], &accuracy(1e-8), 0.0, |_, _| {}).unwrap();
            assert!((end[0] - 10.0_f64.cos()).abs() < 1e-6, "{stiffness}: {end:?}");
        }
    }

    #[test]
    fn the_order_is_five() {
        let rate = |t: f64, y: &[f64; 1]| [y[0] * t.cos()];
        let loose = Accuracy { relative: 1e-8, absolute: [1e-8] };
        let error = |h: f64| {
            let (end, ..) = trial(&rate, 0.3, &[1.0], &rate(0.3, &[1.0]), h, &loose).unwrap();
            (end[0] - ((0.3 + h).sin() - 0.3_f64.sin()).exp()).abs()
        };
        let order = (error(0.5) / error(0.25)).log2();
        assert!((order - 6.0).abs() < 0.6, "local order {order}");
    }

    #[test]
    fn tighter_tolerances_give_smaller_errors() {
        let rate = |_: f64, y: &[f64; 2]| [y[1], 100.0 * (1.0 - y[0] * y[0]) * y[1] - y[0]];
        let run =
            |relative| march(rate, (0.0, 60.0), [2.0, 0.0], &accuracy(relative), 1e-3, |_, _| {}).unwrap();
        let best = run(1e-11);
        assert!((run(1e-5)[0] - best[0]).abs() < 1e-3);
        assert!((run(1e-8)[0] - best[0]).abs() < 1e-6);
    }

    #[test]
    fn what_has_no_finite_rate_is_refused() {
        let nan = march(|_, _: &[f64; 1]| [f64::NAN], (0.0, 1.0), [0.0], &accuracy(1e-6), 0.1, |_, _| {});
        assert_eq!(nan, Err(NoConvergence::NotFinite));
        let pole = march(|_, y: &[f64; 1]| [y[0] * y[0]], (0.0, 2.0), [1.0], &accuracy(1e-6), 0.1, |_, _| {});
        assert!(pole.is_err());
    }
}
