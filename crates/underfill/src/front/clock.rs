//! Time and fluidity time: how a front that was followed once is told in seconds for any history of the viscosity.
//!
//! With one viscosity in the whole gap every front depends on time only through the fluidity time `S = integral dt /
//! viscosity`. The front is solved in S; temperature, cure and lot enter here alone.

use serde::{Deserialize, Serialize};

/// Fluidity time over time, up to the gel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Clock {
    /// Time (s) and fluidity time (1/Pa), both rising from nothing, linear between.
    points: Vec<(f64, f64)>,
    /// Viscosity after the last point, Pa s; absent where the liquid gels there.
    after: Option<f64>,
}

impl Clock {
    /// One viscosity for ever, Pa s.
    pub fn constant(viscosity: f64) -> Clock {
        Clock { points: vec![(0.0, 0.0)], after: Some(viscosity) }
    }

    /// From points of time (s) and fluidity time (1/Pa), the first at nothing; after the last the liquid has gelled, or
    /// keeps a viscosity (Pa s). Nothing where points do not rise, or a number is none.
    pub fn new(points: Vec<(f64, f64)>, after: Option<f64>) -> Option<Clock> {
        let rising = points.windows(2).all(|w| w[1].0 > w[0].0 && w[1].1 > w[0].1);
        let finite = points.iter().all(|p| p.0.is_finite() && p.1.is_finite());
        let clock = Clock { points, after };
        (rising && finite && clock.sound()).then_some(clock)
    }

    /// Whether it begins at nothing and its viscosity is one; a clock read from a file may not.
    pub(crate) fn sound(&self) -> bool {
        self.points.first() == Some(&(0.0, 0.0))
            && self.points.windows(2).all(|w| w[1].0 > w[0].0 && w[1].1 > w[0].1)
            && self.after.is_none_or(|mu| mu > 0.0 && mu.is_finite())
    }

    /// The clock of a viscosity that is everywhere `factor` times this one; the gel comes at the same time.
    pub(crate) fn thicker(&self, factor: f64) -> Clock {
        Clock {
            points: self.points.iter().map(|p| (p.0, p.1 / factor)).collect(),
            after: self.after.map(|mu| mu * factor),
        }
    }

    fn last(&self) -> (f64, f64) {
        self.points.last().copied().unwrap_or((0.0, 0.0))
    }

    /// Fluidity time at a time (s); after the gel that of the gel.
    pub fn fluidity(&self, time_s: f64) -> f64 {
        let (t, s) = self.last();
        if time_s >= t {
            return s + self.after.map_or(0.0, |mu| (time_s - t) / mu);
        }
        between(self.points.iter().copied(), time_s)
    }

    /// Time at a fluidity time, s; nothing after the gel.
    pub fn time(&self, fluidity: f64) -> Option<f64> {
        let (t, s) = self.last();
        if fluidity > s {
            return self.after.map(|mu| t + (fluidity - s) * mu);
        }
        Some(between(self.points.iter().map(|p| (p.1, p.0)), fluidity))
    }

    /// Viscosity at a time, Pa s; nothing after the gel.
    pub fn viscosity(&self, time_s: f64) -> Option<f64> {
        let next = self.points.partition_point(|p| p.0 <= time_s);
        match (next.checked_sub(1).and_then(|k| self.points.get(k)), self.points.get(next)) {
            (Some(a), Some(b)) => Some((b.0 - a.0) / (b.1 - a.1)),
            _ => self.after,
        }
    }

    /// Fluidity time at the gel, where it gels.
    pub fn gel(&self) -> Option<f64> {
        if self.after.is_none() { Some(self.last().1) } else { None }
    }
}

fn between(points: impl Iterator<Item = (f64, f64)>, x: f64) -> f64 {
    let mut before = (0.0, 0.0);
    for point in points {
        if point.0 >= x && point.0 > before.0 {
            return before.1 + (point.1 - before.1) * (x - before.0).max(0.0) / (point.0 - before.0);
        }
        before = point;
    }
    before.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_and_fluidity_are_each_other_s_inverse_up_to_the_gel() {
        let clock = Clock::new(vec![(0.0, 0.0), (10.0, 5.0), (20.0, 25.0)], None).unwrap();
        for time in [0.0, 3.0, 10.0, 15.0, 20.0] {
            assert!((clock.time(clock.fluidity(time)).unwrap() - time).abs() < 1e-12);
        }
        assert_eq!((clock.fluidity(15.0), clock.gel(), clock.time(25.1)), (15.0, Some(25.0), None));
        assert_eq!(clock.fluidity(99.0), 25.0);
        let constant = Clock::constant(0.5);
        assert_eq!((constant.fluidity(2.0), constant.time(4.0), constant.gel()), (4.0, Some(2.0), None));
        assert_eq!(Clock::new(vec![(0.0, 0.0), (1.0, 0.0)], None), None);
        assert_eq!(Clock::new(vec![(0.0, 1.0)], None), None);
        assert_eq!(Clock::new(vec![(0.0, 0.0)], Some(f64::NAN)), None);
    }
}
