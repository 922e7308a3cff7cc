//! Cure and viscosity: kinetics, gel, and the viscosity over temperature and degree of cure.
//!
//! The degree of cure follows `da/dt = (k1 + k2 a^m)(1 - a)^n` with Arrhenius rates (S. Sourour and M. R. Kamal,
//! Thermochim. Acta 14 (1976) 41); with `k1` alone it is a reaction of order n. Viscosity grows with cure as
//! `(g / (g - a))^(c1 + c2 a)` (J. M. Castro and C. W. Macosko, Polym. Commun. 23 (1982) 82), `g` the degree at gel.
//! Temperature histories are polylines in time.

use facedown_field::{NoConvergence, rates::Path};
use serde::{Deserialize, Serialize};

/// Gas constant, J/(mol K).
pub const GAS: f64 = 8.314_462_618;
/// Longest time over which a gel is looked for, s.
pub const LONGEST_S: f64 = 1e8;

/// Kinetics of a cure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Kinetics {
    /// Factor of the rate that does not need product, 1/s.
    pub a1_per_s: f64,
    /// Its activation energy, J/mol.
    pub e1_j_mol: f64,
    /// Factor of the autocatalytic rate, 1/s; zero for a reaction of order n.
    pub a2_per_s: f64,
    /// Its activation energy, J/mol.
    pub e2_j_mol: f64,
    /// Order in the degree of cure.
    pub m: f64,
    /// Order in what is left.
    pub n: f64,
    /// Degree of cure as delivered, 0 to 1.
    pub start: f64,
    /// Degree of cure at gel, 0 to 1.
    pub gel: f64,
}

impl Kinetics {
    /// Rate of cure, 1/s, at a temperature (K) and a degree (0 to 1).
    pub fn rate(&self, temperature_k: f64, degree: f64) -> f64 {
        let a = degree.clamp(0.0, 1.0);
        let k = |factor: f64, energy: f64| factor * (-energy / (GAS * temperature_k)).exp();
        (k(self.a1_per_s, self.e1_j_mol) + k(self.a2_per_s, self.e2_j_mol) * a.powf(self.m))
            * (1.0 - a).powf(self.n)
    }

    /// Labelled starting values (from memory): an autocatalytic epoxy that gels at 60 % cure, after `gel_s` seconds at
    /// 150 degC, with one activation energy (J/mol) for both rates, `k1 = 0.05 k2`, m = 1, n = 1.5.
    pub fn starting(gel_s: f64, energy_j_mol: f64) -> Kinetics {
        // Time to gel is the integral of da / ((0.05 + a)(1 - a)^1.5) from 0 to 0.6 over k2. With s = sqrt(1 - a) it is
        // that of 2 ds / (s^2 (1.05 - s^2)), from sqrt(0.4) to 1: by partial fractions
        // 2 / 1.05 [ -1/s + atanh(s / sqrt 1.05) / sqrt 1.05 ].
        let c = 1.05_f64.sqrt();
        let part = |s: f64| 2.0 / 1.05 * (-1.0 / s + (s / c).atanh() / c);
        let integral = part(1.0) - part(0.4_f64.sqrt());
        let k2 = integral / gel_s * (energy_j_mol / (GAS * 423.15)).exp();
        Kinetics {
            a1_per_s: 0.05 * k2,
            e1_j_mol: energy_j_mol,
            a2_per_s: k2,
            e2_j_mol: energy_j_mol,
            m: 1.0,
            n: 1.5,
            start: 0.0,
            gel: 0.6,
        }
    }
}

/// Growth of the viscosity with cure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Chemoviscosity {
    /// Exponent at no cure.
    pub c1: f64,
    /// Growth of the exponent with the degree of cure.
    pub c2: f64,
}

impl Chemoviscosity {
    /// Castro and Macosko 1982, for a polyurethane (from memory): a starting value.
    pub const STARTING: Chemoviscosity = Chemoviscosity { c1: 1.5, c2: 1.0 };

    /// Fluidity (one over viscosity) over that of the uncured liquid, 1 to 0; zero from gel on.
    pub fn fluidity(self, degree: f64, gel: f64) -> f64 {
        let left = ((gel - degree) / gel).max(0.0);
        left.powf(self.c1 + self.c2 * degree.max(0.0)).min(1.0)
    }
}

/// Viscosity of the uncured liquid over temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Melt<'a> {
    /// Points, K and Pa s, temperatures rising; at least one.
    pub points: &'a [(f64, f64)],
    /// Activation energy outside of the points, J/mol.
    pub energy_j_mol: f64,
}

impl Melt<'_> {
    /// Viscosity, Pa s: `ln(viscosity)` is linear in 1/T between points; outside `A exp(E / RT)` goes on from the nearest.
    pub fn viscosity(&self, temperature_k: f64) -> f64 {
        let after = self.points.partition_point(|p| p.0 <= temperature_k);
        let arrhenius =
            |(t, mu): (f64, f64)| mu * (self.energy_j_mol / GAS * (1.0 / temperature_k - 1.0 / t)).exp();
        match (after.checked_sub(1).and_then(|i| self.points.get(i)), self.points.get(after)) {
            (Some(&(t0, m0)), Some(&(t1, m1))) => {
                let share = (1.0 / temperature_k - 1.0 / t0) / (1.0 / t1 - 1.0 / t0);
                (m0.ln() * (1.0 - share) + m1.ln() * share).exp()
            }
            (Some(&p), None) | (None, Some(&p)) => arrhenius(p),
            (None, None) => f64::NAN,
        }
    }
}

/// A temperature history: times (s, rising) and temperatures (K); held after its last point.
#[derive(Debug, Clone, PartialEq)]
pub struct History(Vec<(f64, f64)>);

impl History {
    /// A constant temperature, K.
    pub fn constant(temperature_k: f64) -> History {
        History(vec![(0.0, temperature_k)])
    }

    /// A start at time zero, then ramps and holds one after the other: (ramp s, temperature K, hold s).
    pub fn steps(start_k: f64, steps: impl IntoIterator<Item = (f64, f64, f64)>) -> History {
        let mut points = vec![(0.0, start_k)];
        let mut time = 0.0;
        for (ramp, temperature, hold) in steps {
            time += ramp;
            points.push((time, temperature));
            time += hold;
            points.push((time, temperature));
        }
        History(points)
    }

    /// Temperature at a time, K.
    pub fn at(&self, time: f64) -> f64 {
        let after = self.0.partition_point(|p| p.0 <= time);
        match (after.checked_sub(1).and_then(|i| self.0.get(i)), self.0.get(after)) {
            (Some(&(t0, a)), Some(&(t1, b))) => a + (b - a) * (time - t0) / (t1 - t0),
            (Some(p), None) | (None, Some(p)) => p.1,
            (None, None) => f64::NAN,
        }
    }

    /// The last time of a change, s.
    pub fn end(&self) -> f64 {
        self.0.last().map_or(0.0, |p| p.0)
    }
}

/// Rates of the degree of cure (1/s) and of the fluidity time (1/(Pa s)), over time (s) and both values.
pub type Rate = Box<dyn Fn(f64, &[f64; 2]) -> [f64; 2]>;

/// Degree of cure and fluidity time along a temperature history.
///
/// The fluidity time `S(t)` is the integral of one over the viscosity, 1/Pa. With one temperature all over, every
/// Newtonian front depends on time through `S` alone, so that a front is solved once and timed again for any history.
pub struct Course {
    path: Path<Rate, 2>,
    gel: f64,
}

impl Course {
    /// Follows a cure until gel and the end of the history, at most `LONGEST_S`.
    ///
    /// # Errors
    /// [`NoConvergence`] where rates are not finite or change too fast for the method.
    pub fn follow(
        kinetics: Kinetics,
        growth: Chemoviscosity,
        melt: Melt<'_>,
        history: &History,
    ) -> Result<Course, NoConvergence> {
        let points = melt.points.to_vec();
        let energy_j_mol = melt.energy_j_mol;
        let along = history.clone();
        Course::of_rate(
            Box::new(move |t, y: &[f64; 2]| {
                let temperature = along.at(t);
                let melt = Melt { points: &points, energy_j_mol };
                [
                    kinetics.rate(temperature, y[0]),
                    growth.fluidity(y[0], kinetics.gel) / melt.viscosity(temperature),
                ]
            }),
            (kinetics.start, kinetics.gel),
            history,
        )
    }

    /// The same for any rates of degree and fluidity time, `ends` being the degree at
    /// the start and at gel.
    ///
    /// # Errors
    /// As [`Course::follow`].
    pub fn of_rate(rate: Rate, ends: (f64, f64), history: &History) -> Result<Course, NoConvergence> {
        let (start, gel) = ends;
        let first = rate(0.0, &[start, 0.0]);
        // The fluidity time is small against itself only after a while: its scale is what a hundredth of a second gives.
        let scale = (first[1] * 1e-2).max(1e-12);
        let mut path = Path::new(rate, 0.0, [start, 0.0], 1e-9, [1e-3, scale], 1e-3);
        let complete = |y: &[f64; 2]| y[0] >= 1.0 - 1e-9;
        for (time, _) in &history.0 {
            path.march(*time, complete)?;
        }
        path.march(LONGEST_S, |y| y[0] >= gel)?;
        Ok(Course { path, gel })
    }

    /// Degree of cure at a time (s), 0 to 1.
    pub fn degree(&self, time: f64) -> f64 {
        self.path.at(time)[0]
    }

    /// Fluidity time at a time, 1/Pa.
    pub fn fluidity_time(&self, time: f64) -> f64 {
        self.path.at(time)[1]
    }

    /// Time at which the fluidity time reaches a value, s; nothing when it gels before.
    pub fn time_of_fluidity(&self, value: f64) -> Option<f64> {
        self.path.time_of(1, value)
    }

    /// Time at which the degree of cure reaches a value, s; nothing where that is not followed.
    pub fn time_of_degree(&self, value: f64) -> Option<f64> {
        self.path.time_of(0, value)
    }

    /// Time to gel, s; nothing when it takes longer than `LONGEST_S`.
    pub fn gel_time(&self) -> Option<f64> {
        self.time_of_degree(self.gel)
    }

    /// Largest fluidity time that is reached, 1/Pa.
    pub fn most_fluidity(&self) -> f64 {
        self.path.end().1[1]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MELT: Melt<'_> = Melt { points: &[(363.15, 0.1)], energy_j_mol: 50e3 };

    fn first_order(k: f64) -> Kinetics {
        Kinetics {
            a1_per_s: k,
            e1_j_mol: 0.0,
            a2_per_s: 0.0,
            e2_j_mol: 0.0,
            m: 1.0,
            n: 1.0,
            start: 0.0,
            gel: 0.6,
        }
    }

    #[test]
    fn reactions_of_first_and_second_order_follow_their_closed_forms() {
        let follow = |k: Kinetics| {
            Course::follow(k, Chemoviscosity::STARTING, MELT, &History::steps(400.0, [(0.0, 400.0, 1000.0)]))
                .unwrap()
        };
        let first = follow(first_order(1e-2));
        assert!((first.degree(100.0) - (1.0 - (-1.0_f64).exp())).abs() < 1e-8);
        assert!((first.gel_time().unwrap() + 0.4_f64.ln() * 100.0).abs() < 1e-5);
        let second = follow(Kinetics { n: 2.0, ..first_order(1e-2) });
        assert!((second.degree(300.0) - 0.75).abs() < 1e-8);
    }

    #[test]
    fn the_starting_values_gel_when_they_say() {
        for (gel_s, energy) in [(300.0, 65e3), (600.0, 75e3), (1200.0, 95e3)] {
            let course = Course::follow(
                Kinetics::starting(gel_s, energy),
                Chemoviscosity::STARTING,
                MELT,
                &History::constant(423.15),
            )
            .unwrap();
            assert!((course.gel_time().unwrap() / gel_s - 1.0).abs() < 1e-7);
        }
    }

    #[test]
    fn a_cure_that_never_gels_or_gels_at_once_is_followed() {
        let slow =
            Course::follow(first_order(1e-12), Chemoviscosity::STARTING, MELT, &History::constant(363.15))
                .unwrap();
        assert_eq!(slow.gel_time(), None);
        assert!((slow.fluidity_time(20.0) - 200.0).abs() < 1e-6);
        let quick =
            Course::follow(first_order(1e9), Chemoviscosity::STARTING, MELT, &History::constant(363.15))
                .unwrap();
        assert!(quick.gel_time().unwrap() < 1e-8 && quick.time_of_fluidity(1.0).is_none());
    }

    #[test]
    fn viscosities_between_points_and_outside() {
        let melt = Melt { points: &[(300.0, 10.0), (400.0, 0.1)], energy_j_mol: 50e3 };
        assert!((melt.viscosity(300.0) - 10.0).abs() < 1e-12 && (melt.viscosity(400.0) - 0.1).abs() < 1e-12);
        let middle = 1.0 / (0.5 / 300.0 + 0.5 / 400.0);
        assert!((melt.viscosity(middle) - 1.0).abs() < 1e-12);
        assert!(melt.viscosity(420.0) < 0.1 && melt.viscosity(290.0) > 10.0);
        let ramp = History::steps(300.0, [(10.0, 400.0, 5.0), (5.0, 350.0, 0.0)]);
        assert_eq!(
            [ramp.at(0.0), ramp.at(5.0), ramp.at(12.0), ramp.at(20.0), ramp.at(99.0)],
            [300.0, 350.0, 400.0, 350.0, 350.0]
        );
    }
}
