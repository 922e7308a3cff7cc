//! An invented window over a small bumped die, for tests, examples and benchmarks. All data are invented.

use super::clocks::Clocks;
use super::draw::Tolerances;
use super::task::WindowTask;
use crate::cure::Kinetics;
use crate::front::{Line, Problem, Resolution};
use crate::problem::Edge;

/// An L over a die with `n` by `n` pillars ([`crate::search::specimen::die`]) at 363 K.
pub fn die(n: usize) -> Problem {
    let mut base = crate::search::specimen::die(n);
    base.lines = [Edge::Left, Edge::Bottom].map(|e| Line::ample(e, base.size_m)).to_vec();
    base.resolution = Resolution { cells_a_pitch: 0.5, least: 16, ..Resolution::default() };
    base
}

/// That die with an epoxy of labelled starting values and usual tolerances.
pub fn task(draws: u64) -> WindowTask {
    let mut liquid = crate::specimen::wetting().liquid;
    liquid.kinetics = Some(Kinetics::starting(600.0, 75e3));
    let temperatures: Vec<f64> = (0..9).map(|k| 333.15 + 10.0 * f64::from(k)).collect();
    let clocks = Clocks::of(&liquid, &temperatures);
    let clocks = clocks.unwrap_or_else(|_| Clocks::constant(363.15, crate::front::Clock::constant(0.15)));
    WindowTask {
        base: die(8),
        clocks,
        temperature_k: 363.15,
        tolerances: Tolerances {
            angles_rad: [0.07, 0.1, 0.1],
            gap: 0.06,
            viscosity: 0.15,
            tension: 0.03,
            temperature_k: 2.0,
            volume: 0.03,
        },
        void_area_fraction: 0.01,
        gel_margin: 2.0,
        draws,
        confidence: 0.95,
        seed: 1,
        checks: 4,
    }
}
