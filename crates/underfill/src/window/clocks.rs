//! Clocks at several temperatures, and the clock between them.
//!
//! With one activation energy for all rates, cures at two temperatures are one course with its time and its fluidity scaled. So the course is
//! interpolated over the share of the gel's time and fluidity, and those by their logarithms over one over the temperature: exact
//! in that case, close where energies differ a little from rate to rate.

use super::NoWindow;
use crate::cure::{Chemoviscosity, Course, History, Kinetics, Melt};
use crate::front::Clock;
use crate::problem::Liquid;
use crate::solve::{ACTIVATION, STARTING};
use facedown_evidence::input::within;
use serde::{Deserialize, Serialize};

/// Clocks at temperatures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Clocks {
    /// Temperature (K) and clock, temperatures rising; one or more.
    points: Vec<(f64, Clock)>,
}

/// Points of a clock that is made from a cure.
const POINTS: usize = 240;

impl Clocks {
    /// One clock for every temperature.
    pub fn constant(temperature_k: f64, clock: Clock) -> Clocks {
        Clocks { points: vec![(temperature_k, clock)] }
    }

    /// From clocks at rising temperatures, K.
    ///
    /// # Errors
    /// [`NoWindow`]: none, or temperatures that do not rise.
    pub fn new(points: Vec<(f64, Clock)>) -> Result<Clocks, NoWindow> {
        let clocks = Clocks { points };
        clocks.check()?;
        Ok(clocks)
    }

    pub(super) fn check(&self) -> Result<(), NoWindow> {
        let mut before = 100.0;
        for (t, _) in &self.points {
            within("a temperature of a clock", *t, before, 2000.0, "rising, from 100 K to 2000 K")?;
            before = t + 1e-9;
        }
        if self.points.is_empty() { Err(NoWindow::NoPoints) } else { Ok(()) }
    }

    /// Of a liquid that flows at constant temperatures (K, rising): melt, growth and kinetics, with the labelled starting values of
    /// this crate where the liquid gives none.
    ///
    /// # Errors
    /// [`NoWindow`]: temperatures that do not rise, or a cure that cannot be followed.
    pub fn of(liquid: &Liquid, temperatures_k: &[f64]) -> Result<Clocks, NoWindow> {
        let melt =
            Melt { points: &liquid.viscosity, energy_j_mol: liquid.activation_j_mol.unwrap_or(ACTIVATION) };
        let growth = liquid.chemoviscosity.unwrap_or(Chemoviscosity::STARTING);
        let kinetics = liquid.kinetics.unwrap_or(Kinetics::starting(STARTING[0].0, STARTING[0].1));
        let mut points = Vec::new();
        for &t in temperatures_k {
            within("a temperature of a clock", t, 150.0, 1000.0, "from 150 K to 1000 K")?;
            let course =
                Course::follow(kinetics, growth, melt, &History::constant(t)).map_err(NoWindow::Cure)?;
            let viscosity = melt.viscosity(t);
            let clock = course.gel_time().and_then(|gel| {
                // Closer towards the start, where the front is quick.
                let times = (0..=POINTS).map(|k| gel * (k as f64 / POINTS as f64).powi(2));
                let pairs = times
                    .map(|time| if time > 0.0 { (time, course.fluidity_time(time)) } else { (0.0, 0.0) });
                let mut rising: Vec<(f64, f64)> = pairs.collect();
                rising.dedup_by(|next, kept| next.1 <= kept.1);
                Clock::new(rising, None)
            });
            points.push((t, clock.unwrap_or(Clock::constant(viscosity))));
        }
        Clocks::new(points)
    }

    /// The two clocks about a temperature and the share of the second, over one over the temperature. Beyond the ends it goes on.
    fn about(&self, temperature_k: f64) -> (&Clock, &Clock, f64) {
        let n = self.points.len();
        let next = self.points.partition_point(|p| p.0 <= temperature_k).clamp(1, n.max(2) - 1).min(n - 1);
        let (a, b) = (&self.points[next.saturating_sub(1)], &self.points[next]);
        let share =
            if a.0 == b.0 { 0.0 } else { (1.0 / temperature_k - 1.0 / a.0) / (1.0 / b.0 - 1.0 / a.0) };
        (&a.1, &b.1, share)
    }

    /// Time (s) and fluidity time (1/Pa) at the gel of a temperature; nothing where it does not gel.
    pub fn gel(&self, temperature_k: f64) -> Option<(f64, f64)> {
        let (a, b, share) = self.about(temperature_k);
        let gel = |c: &Clock| c.gel().and_then(|s| c.time(s).map(|t| (t, s)));
        let (a, b) = (gel(a)?, gel(b)?);
        Some((mixed(a.0, b.0, share), mixed(a.1, b.1, share)))
    }

    /// Time (s) at a fluidity time (1/Pa); nothing after the gel.
    pub fn time(&self, temperature_k: f64, fluidity: f64) -> Option<f64> {
        let (a, b, share) = self.about(temperature_k);
        if fluidity <= 0.0 {
            return Some(0.0);
        }
        let Some((time, most)) = self.gel(temperature_k) else {
            return Some(mixed(a.time(fluidity)?, b.time(fluidity)?, share));
        };
        let part = fluidity / most;
        if part > 1.0 {
            return None;
        }
        let of = |c: &Clock| {
            let gel = c.gel()?;
            Some(c.time((part * gel).min(gel))? / c.time(gel)?)
        };
        Some(time * ((1.0 - share) * of(a)? + share * of(b)?).clamp(0.0, 1.0))
    }

    /// Fluidity time (1/Pa) at a time (s); that of the gel after it.
    pub fn fluidity(&self, temperature_k: f64, time_s: f64) -> f64 {
        let (a, b, share) = self.about(temperature_k);
        if time_s <= 0.0 {
            return 0.0;
        }
        let Some((gel_s, most)) = self.gel(temperature_k) else {
            return mixed(a.fluidity(time_s), b.fluidity(time_s), share);
        };
        // The inverse of the time, by bisection: both fall on one course.
        let (mut low, mut high) = (0.0, most);
        if time_s >= gel_s {
            return most;
        }
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.time(temperature_k, middle).is_some_and(|t| t < time_s) {
                low = middle
            } else {
                high = middle
            }
        }
        0.5 * (low + high)
    }
}

fn mixed(a: f64, b: f64, share: f64) -> f64 {
    ((1.0 - share) * a.ln() + share * b.ln()).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_between_two_is_that_of_its_own_temperature() {
        let liquid = crate::specimen::wetting().liquid;
        let clocks = Clocks::of(&liquid, &[353.15, 363.15, 373.15]).unwrap();
        let direct = Clocks::of(&liquid, &[367.15]).unwrap();
        let (gel, most) = direct.gel(367.15).unwrap();
        let found = clocks.gel(367.15).unwrap();
        // The points of a clock are linear between: 240 of them leave some 1e-4.
        assert!((found.0 / gel - 1.0).abs() < 1e-3 && (found.1 / most - 1.0).abs() < 1e-3);
        for part in [0.01, 0.1, 0.5, 0.9] {
            let (a, b) =
                (clocks.time(367.15, part * most).unwrap(), direct.time(367.15, part * most).unwrap());
            assert!((a / b - 1.0).abs() < 2e-3, "{part} {a} {b}");
            assert!((clocks.fluidity(367.15, a) / (part * most) - 1.0).abs() < 1e-9);
        }
        assert_eq!(clocks.time(367.15, 1.01 * most), None);
        let plain = Clocks::new(vec![(350.0, Clock::constant(0.4)), (370.0, Clock::constant(0.1))]).unwrap();
        let middle = 1.0 / (0.5 / 350.0 + 0.5 / 370.0);
        assert!((plain.time(middle, 10.0).unwrap() - 2.0).abs() < 1e-9 && plain.gel(middle).is_none());
        assert!((plain.fluidity(middle, 2.0) - 10.0).abs() < 1e-9);
        assert!(Clocks::new(vec![(350.0, Clock::constant(0.4)), (350.0, Clock::constant(0.1))]).is_err());
        assert_eq!(Clocks::new(Vec::new()), Err(NoWindow::NoPoints));
    }
}
