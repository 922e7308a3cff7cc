//! A liquid that thins or thickens under shear, as the study uses it.
//!
//! The sheet of a material gives a viscosity at one shear rate; the flow in the gap has another, which falls as the front slows.
//! For a power law the time of a front in a bare slit is known in closed form ([`Gap::fill_time_power_law`]). Its ratio to that of
//! the stated viscosity gives the apparent viscosity at the shear of the flow, with which the closed forms, the search and the
//! windows go on as with any other liquid. The front on the bump map takes the power law itself ([`crate::front::Shear`]).

use crate::flow::plates::Gap;
use crate::front::{Clock, Shear};
use crate::problem::{Problem, Thinning};

/// How far from the rate of the reading a power law is carried (common practice, no source: it holds over one to two decades).
const REACH: f64 = 30.0;

/// What shear does to the flow of a problem.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Sheared {
    law: Thinning,
    /// Apparent viscosity over the stated one.
    pub factor: f64,
    /// Shear rate at the wall at the mean speed of the front, 1/s.
    pub rate_per_s: f64,
}

/// The shear in the gap along a way (m) of the front; nothing where the liquid has no power law, or nothing draws it in.
pub(crate) fn sheared(problem: &Problem, gap: Gap, viscosity: f64, length_m: f64) -> Option<Sheared> {
    let law = problem.liquid.thinning.filter(|l| l.index != 1.0)?;
    let consistency = viscosity * law.rate_per_s.powf(1.0 - law.index);
    let time = gap.fill_time_power_law(consistency, law.index, length_m)?;
    let factor = time / gap.fill_time(viscosity, length_m)?;
    // Slit flow: 6 v / h for a Newtonian liquid, times (2 n + 1) / (3 n) (Rabinowitsch and Mooney).
    let rate_per_s = 6.0 * length_m / (time * gap.gap_m) * (2.0 * law.index + 1.0) / (3.0 * law.index);
    (factor > 0.0 && factor.is_finite() && rate_per_s.is_finite()).then_some(Sheared {
        law,
        factor,
        rate_per_s,
    })
}

impl Sheared {
    /// The problem with the apparent viscosity in the place of the stated one.
    pub fn apparent(&self, problem: &Problem) -> Problem {
        let mut problem = problem.clone();
        for point in &mut problem.liquid.viscosity {
            point.1 *= self.factor;
        }
        problem
    }

    /// The law of the front, with its clock: that of the apparent viscosity brought to a rate of 1/s.
    pub fn of_front(&self, clock: &Clock) -> (Shear, Clock) {
        let at_one = self.law.rate_per_s.powf(1.0 - self.law.index);
        (Shear { index: self.law.index }, clock.thicker(at_one / self.factor))
    }

    /// What is to be said.
    pub fn told(&self, apparent: f64) -> String {
        format!(
            "The underfill {} under shear (index {}): {apparent:.3} Pa s at the {:.3} per s that the front has at the wall on the average, against \
             {:.3} Pa s at the {} per s of the reading. That is exact for a straight front in a bare gap and an estimate between bumps.",
            if self.law.index < 1.0 { "thins" } else { "thickens" },
            self.law.index,
            self.rate_per_s,
            apparent / self.factor,
            self.law.rate_per_s
        )
    }

    /// Which range the law leaves, if any.
    pub fn outside(&self) -> Option<String> {
        let ratio = self.rate_per_s / self.law.rate_per_s;
        (!(1.0 / REACH..=REACH).contains(&ratio)).then(|| {
            format!(
                "The viscosity was read at {} per s and is carried to {:.3} per s by its power law, which is trusted within a factor of {REACH:.0}.",
                self.law.rate_per_s, self.rate_per_s
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen;
    use crate::{Pattern, solve};

    /// A bare gap with a line, followed by the front as well.
    fn bare(thinning: Option<Thinning>) -> Problem {
        let mut problem = specimen::wetting();
        (problem.bumps, problem.places_m, problem.plasma) = (None, Vec::new(), None);
        problem.angle_die = problem.angle_substrate;
        problem.dispense.pattern = Pattern::Line;
        problem.liquid.thinning = thinning;
        problem.fineness = Some(2.0);
        problem
    }

    #[test]
    fn a_straight_front_takes_the_time_of_the_power_law_by_both_ways() {
        let (index, rate_per_s) = (0.8, 10.0);
        let problem = bare(Some(Thinning { index, rate_per_s }));
        let outcome = solve(&problem).unwrap();
        let gap = Gap {
            gap_m: problem.gap_m,
            tension_n_m: problem.liquid.surface_tension_n_m,
            angles_rad: [30_f64.to_radians(); 2],
        };
        let consistency = 0.15 * rate_per_s.powf(1.0 - index);
        let expected = gap.fill_time_power_law(consistency, index, 6.4e-3).unwrap();
        let time = outcome.figures.iter().find(|f| f.name == "fill_time").unwrap();
        // The cure thickens it a little in that time; the grid of the front is 64 cells.
        assert!((time.hand.unwrap() / expected - 1.0).abs() < 5e-3, "{time:?} {expected}");
        assert!((time.value / expected - 1.0).abs() < 2e-2, "{time:?} {expected}");
        assert!(time.error.unwrap() >= 0.0 && time.error.unwrap() < 0.05 * time.value, "{time:?}");
        let rate = outcome.figures.iter().find(|f| f.name == "shear_rate").unwrap();
        let by_hand = 6.0 * 6.4e-3 / (expected * problem.gap_m) * (2.0 * index + 1.0) / (3.0 * index);
        assert!((rate.value / by_hand - 1.0).abs() < 1e-9);
        assert!(outcome.notes.iter().any(|n| n.contains("thins under shear")));
    }

    #[test]
    fn an_index_of_one_changes_nothing_and_a_far_reading_is_told() {
        let plain = solve(&bare(None)).unwrap();
        let same = solve(&bare(Some(Thinning { index: 1.0, rate_per_s: 10.0 }))).unwrap();
        assert_eq!(plain, same);
        let far = solve(&bare(Some(Thinning { index: 0.9, rate_per_s: 1e5 }))).unwrap();
        let time = far.figures.iter().find(|f| f.name == "fill_time").unwrap();
        assert!(time.outside.as_ref().unwrap().contains("power law"), "{:?}", time.outside);
    }
}
