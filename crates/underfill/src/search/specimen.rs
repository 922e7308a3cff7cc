//! An invented search over a small bumped die, for tests, examples and benchmarks. All data are invented.

use super::recipe::Choices;
use super::table::{Effort, SearchTask};
use super::volume::Surroundings;
use crate::front::{Bumps, Clock, Map, Problem, Resolution};
use crate::problem::{BumpShape, Edge, Fillet, Lattice, Pattern};

/// A die with `n` by `n` pillars at a pitch of 150 um, a bare rim and the same angle everywhere; viscosity 0.15 Pa s.
pub fn die(n: usize) -> Problem {
    let (pitch, rim) = (150e-6, 350e-6);
    let side = (n - 1) as f64 * pitch + 2.0 * rim;
    let mut base = Problem::bare([side, side], 60e-6, 0.03, 25_f64.to_radians(), &[Edge::Left]);
    let places_m = (0..n * n).map(|k| [k % n, k / n].map(|i| rim + i as f64 * pitch)).collect();
    base.bumps =
        Some(Bumps { places_m, diameter_m: 75e-6, shape: BumpShape::Cylinder, lattice: Lattice::Square });
    base.angle_bump_rad = Map::Uniform(35_f64.to_radians());
    base.clock = Clock::constant(0.15);
    base.resolution = Resolution { cells_a_pitch: 1.0, ..Resolution::default() };
    base
}

/// Lines, pairs, corners and middles from two edges over that die, in one pass and in as many as the beads ask for.
pub fn task(n: usize) -> SearchTask {
    let base = die(n);
    let side = base.size_m[0];
    let fillet = crate::volume::fillet_volume(4.0 * side, 0.3e-3, 0.25e-3);
    let volume = 1.25 * (side * side * 60e-6 + fillet);
    let choices = Choices {
        patterns: vec![Pattern::Line, Pattern::TwoLines, Pattern::L, Pattern::U],
        edges: vec![Edge::Left, Edge::Bottom],
        passes: vec![1, 2, 4],
        waits_s: vec![3.0],
        offsets_m: vec![0.3e-3],
        volumes_m3: vec![volume],
    };
    SearchTask {
        base,
        around: Surroundings {
            thickness_m: 0.4e-3,
            room_m: [1.5e-3; 4],
            least_fillet: Some(Fillet { height_m: 0.25e-3, width_m: 0.3e-3 }),
            volume_tolerance: 0.1,
        },
        recipes: choices.recipes(),
        void_area_fraction: 0.01,
        largest_void_m2: 0.15e-6,
        gel_margin: 2.0,
        effort: Effort::default(),
    }
}
