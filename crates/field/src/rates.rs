//! Rate equations of a few numbers: an explicit pair of orders 5 and 4 with a controlled step.
//!
//! Coefficients: J. R. Dormand and P. J. Prince, A family of embedded Runge-Kutta formulae, Journal of Computational
//! and Applied Mathematics 6 (1980) 19, table 2. A [`Path`] keeps its accepted steps, so that a value between two of
//! them is one shorter step of the same formula and as exact as the path itself. Not for stiff equations: these need
//! many steps and end in [`NoConvergence::TooSlow`].

use crate::NoConvergence;

/// Most accepted and refused steps of one path.
const MOST_STEPS: usize = 200_000;

/// The solution of `dy/dt = f(t, y)` from a start, marched as far as was asked.
pub struct Path<F, const N: usize> {
    rate: F,
    points: Vec<(f64, [f64; N])>,
    tolerance: f64,
    scale: [f64; N],
    step: f64,
    taken: usize,
}

impl<F: Fn(f64, &[f64; N]) -> [f64; N], const N: usize> Path<F, N> {
    /// A path that starts with `start` at time `from`. A step is accepted when its error in every component is below
    /// `tolerance * (|y| + scale)`; `first_step` is tried first.
    pub fn new(
        rate: F,
        from: f64,
        start: [f64; N],
        tolerance: f64,
        scale: [f64; N],
        first_step: f64,
    ) -> Self {
        Path { rate, points: vec![(from, start)], tolerance, scale, step: first_step, taken: 0 }
    }

    /// The last time reached and the values there.
    pub fn end(&self) -> (f64, [f64; N]) {
        self.points[self.points.len() - 1]
    }

    /// The accepted points in order of time.
    pub fn points(&self) -> &[(f64, [f64; N])] {
        &self.points
    }

    /// Marches to `to`, or to the first accepted point where `enough` holds. A kink of the rate should be the end of
    /// one march and the start of the next.
    ///
    /// # Errors
    /// [`NoConvergence::NotFinite`] when rates are not finite numbers, [`NoConvergence::TooSlow`] after 200,000 steps.
    pub fn march(&mut self, to: f64, enough: impl Fn(&[f64; N]) -> bool) -> Result<(), NoConvergence> {
        loop {
            let (t, y) = self.end();
            if t >= to || enough(&y) {
                return Ok(());
            }
            let last = self.step >= to - t;
            let h = if last { to - t } else { self.step };
            let next = if last { to } else { t + h };
            if next <= t {
                return Err(NoConvergence::TooSlow);
            }
            let (end, error) = step(&self.rate, t, &y, h);
            self.taken += 1;
            if self.taken > MOST_STEPS {
                return Err(NoConvergence::TooSlow);
            }
            let mut worst = 0.0_f64;
            for i in 0..N {
                let allowed = self.tolerance * (y[i].abs().max(end[i].abs()) + self.scale[i]);
                // `max` would pass over what is not a number.
                let share = (error[i] / allowed).abs();
                worst = if share.is_finite() { worst.max(share) } else { f64::INFINITY };
            }
            if worst <= 1.0 {
                self.points.push((next, end));
                let growth = if worst == 0.0 { 5.0 } else { (0.9 * worst.powf(-0.2)).min(5.0) };
                // A step that was cut by the end of the march says nothing against the longer one.
                self.step = if last { self.step.max(h * growth) } else { h * growth };
            } else {
                self.step = h * if worst.is_finite() { (0.9 * worst.powf(-0.2)).max(0.1) } else { 0.1 };
                if self.step < 1e-14 * (t.abs() + h) || self.step < f64::MIN_POSITIVE {
                    return Err(if worst.is_finite() {
                        NoConvergence::TooSlow
                    } else {
                        NoConvergence::NotFinite
                    });
                }
            }
        }
    }

    /// The values at a time, held at the ends outside of the path.
    pub fn at(&self, time: f64) -> [f64; N] {
        let after = self.points.partition_point(|p| p.0 <= time);
        let (t, y) = self.points[after.saturating_sub(1)];
        if after == 0 || after == self.points.len() || time <= t {
            return y;
        }
        step(&self.rate, t, &y, time - t).0
    }

    /// The time at which a component that never falls reaches `value`; nothing when the path ends before.
    pub fn time_of(&self, component: usize, value: f64) -> Option<f64> {
        let after = self.points.partition_point(|p| p.1[component] < value);
        let (t, y) = *self.points.get(after)?;
        if after == 0 || y[component] == value {
            return Some(t);
        }
        let (start, from) = self.points[after - 1];
        let over = |time: f64| step(&self.rate, start, &from, time - start).0[component] - value;
        // The step's own end has its full error; the bracket may miss the value by that much and no more.
        Some(crate::root::bracketed(|s| over(start + s), 0.0, t - start, 1e-14).map_or(t, |s| start + s))
    }
}

/// One step: the values at its end by the formula of order 5, and their difference from those of order 4.
fn step<const N: usize>(
    rate: &impl Fn(f64, &[f64; N]) -> [f64; N],
    t: f64,
    y: &[f64; N],
    h: f64,
) -> ([f64; N], [f64; N]) {
    const C: [f64; 7] = [0.0, 0.2, 0.3, 0.8, 8.0 / 9.0, 1.0, 1.0];
    const A: [[f64; 6]; 7] = [
        [0.0; 6],
        [0.2, 0.0, 0.0, 0.0, 0.0, 0.0],
        [3.0 / 40.0, 9.0 / 40.0, 0.0, 0.0, 0.0, 0.0],
        [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0, 0.0, 0.0, 0.0],
        [19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0, 0.0, 0.0],
        [9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0, 0.0],
        [35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0],
    ];
    const E: [f64; 7] =
        [71.0 / 57600.0, 0.0, -71.0 / 16695.0, 71.0 / 1920.0, -17253.0 / 339200.0, 22.0 / 525.0, -1.0 / 40.0];
    let mut k = [[0.0; N]; 7];
    let mut end = *y;
    for stage in 0..7 {
        end = *y;
        for i in 0..N {
            for (before, slope) in k.iter().enumerate().take(stage) {
                end[i] += h * A[stage][before] * slope[i];
            }
        }
        k[stage] = rate(t + C[stage] * h, &end);
    }
    let mut error = [0.0; N];
    for i in 0..N {
        error[i] = h * (0..7).map(|stage| E[stage] * k[stage][i]).sum::<f64>();
    }
    (end, error)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decay_and_oscillation_are_followed_to_the_tolerance() {
        let mut decay = Path::new(|_, y: &[f64; 1]| [-y[0]], 0.0, [1.0], 1e-11, [1e-6], 0.1);
        decay.march(5.0, |_| false).unwrap();
        for t in [0.0, 0.37, 1.0, 2.345, 5.0] {
            assert!((decay.at(t)[0] - f64::exp(-t)).abs() < 1e-9, "{t}");
        }
        let mut swing = Path::new(|_, y: &[f64; 2]| [y[1], -y[0]], 0.0, [0.0, 1.0], 1e-11, [1.0; 2], 0.1);
        swing.march(20.0, |_| false).unwrap();
        assert!((swing.at(17.3)[0] - 17.3_f64.sin()).abs() < 1e-8);
    }

    #[test]
    fn the_time_of_a_value_is_found_between_steps() {
        let mut path = Path::new(|_, y: &[f64; 1]| [1.0 - y[0]], 0.0, [0.0], 1e-12, [1.0], 0.1);
        path.march(100.0, |y| y[0] > 0.95).unwrap();
        assert!((path.time_of(0, 0.5).unwrap() - 2.0_f64.ln()).abs() < 1e-10);
        assert_eq!(path.time_of(0, 0.9999), None);
        assert_eq!(path.time_of(0, -1.0), Some(0.0));
    }

    #[test]
    fn the_order_is_five() {
        let error = |h: f64| {
            let (end, _) = step(&|t, y: &[f64; 1]| [y[0] * t.cos()], 0.3, &[1.0], h);
            (end[0] - ((0.3 + h).sin() - 0.3_f64.sin()).exp()).abs()
        };
        let order = (error(0.2) / error(0.1)).log2();
        assert!((order - 6.0).abs() < 0.4, "local order {order}");
    }

    #[test]
    fn what_has_no_finite_rate_is_refused() {
        let mut path = Path::new(|t, _: &[f64; 1]| [1.0 / (1.0 - t)], 0.0, [0.0], 1e-9, [1.0], 0.1);
        assert!(path.march(2.0, |_| false).is_err());
        let mut path = Path::new(|_, _: &[f64; 1]| [f64::NAN], 0.0, [0.0], 1e-9, [1.0], 0.1);
        assert_eq!(path.march(2.0, |_| false), Err(NoConvergence::NotFinite));
    }
}
