//! The reflow as a curve: ramp, preheat, ramp to peak, hold, cooling.
//!
//! Straight pieces, as the profiles of J-STD-020 are drawn, from room temperature (25 degC) and back.

use crate::problem::Reflow;

/// Room temperature at which a profile starts and ends, K.
pub const ROOM: f64 = 298.15;

/// A reflow as straight pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Time, s, and temperature, K, of the corners.
    pub points: Vec<[f64; 2]>,
    /// Time at the peak, s.
    pub hold: f64,
    /// True where the wanted time above liquidus is shorter than the ramps allow, so that it was not kept.
    pub ramps_too_slow: bool,
}

impl Curve {
    /// The curve of a reflow for a solder with its liquidus at `liquidus` K. A wanted time above liquidus sets the hold
    /// at the peak.
    pub fn new(reflow: &Reflow, liquidus: f64) -> Curve {
        let on_ramps = |height: f64| height.max(0.0) * (1.0 / reflow.ramp_up + 1.0 / reflow.ramp_down);
        let (hold, ramps_too_slow) = match reflow.time_above_liquidus {
            Some(wanted) if reflow.peak > liquidus => {
                let hold = wanted - on_ramps(reflow.peak - liquidus);
                (hold.max(0.0), hold < -1e-9)
            }
            _ => (reflow.hold, false),
        };
        let mut points = vec![[0.0, ROOM]];
        let mut go = |seconds: f64, to: f64| {
            let last = points.last().map_or(0.0, |p| p[0]);
            points.push([last + seconds, to]);
        };
        go((reflow.preheat_from - ROOM).abs() / reflow.ramp_up, reflow.preheat_from);
        go(reflow.preheat_time, reflow.preheat_to);
        go((reflow.peak - reflow.preheat_to) / reflow.ramp_up, reflow.peak);
        if hold > 0.0 {
            go(hold, reflow.peak);
        }
        go((reflow.peak - ROOM).abs() / reflow.ramp_down, ROOM);
        Curve { points, hold, ramps_too_slow }
    }

    /// Time above a temperature in K, s.
    pub fn time_above(&self, temperature: f64) -> f64 {
        self.points
            .windows(2)
            .map(|pair| {
                let ([t0, a], [t1, b]) = (pair[0], pair[1]);
                let (low, high) = (a.min(b), a.max(b));
                let share = if high <= temperature {
                    0.0
                } else if low >= temperature {
                    1.0
                } else {
                    (high - temperature) / (high - low)
                };
                share * (t1 - t0)
            })
            .sum()
    }

    /// Time from the start to the peak, s.
    pub fn time_to_peak(&self) -> f64 {
        let peak = self.points.iter().map(|p| p[1]).fold(f64::NEG_INFINITY, f64::max);
        self.points.iter().find(|p| p[1] == peak).map_or(0.0, |p| p[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reflow() -> Reflow {
        Reflow {
            preheat_from: 423.15,
            preheat_to: 473.15,
            preheat_time: 90.0,
            ramp_up: 1.5,
            peak: 518.15,
            time_above_liquidus: Some(60.0),
            hold: 0.0,
            ramp_down: 3.0,
            count: 3,
            lead_free: None,
        }
    }

    #[test]
    fn the_hold_makes_up_the_wanted_time_above_liquidus() {
        let curve = Curve::new(&reflow(), 493.15);
        // 25 K at 1.5 K/s and 3 K/s take 25 s; 35 s are left for the peak.
        assert!((curve.hold - 35.0).abs() < 1e-9 && (curve.time_above(493.15) - 60.0).abs() < 1e-9);
        assert!((curve.time_to_peak() - (125.0 / 1.5 + 90.0 + 30.0)).abs() < 1e-9);
        let slow = Curve::new(&Reflow { time_above_liquidus: Some(20.0), ..reflow() }, 493.15);
        assert!(slow.ramps_too_slow && (slow.time_above(493.15) - 25.0).abs() < 1e-9);
        let cold = Curve::new(&Reflow { peak: 480.0, ..reflow() }, 493.15);
        assert_eq!(cold.time_above(493.15), 0.0);
        // Time runs forward in a chill as well.
        let chill = Reflow { preheat_from: 255.0, preheat_to: 258.0, peak: 260.0, ..reflow() };
        assert!(Curve::new(&chill, 493.15).points.windows(2).all(|w| w[0][0] <= w[1][0]));
    }
}
