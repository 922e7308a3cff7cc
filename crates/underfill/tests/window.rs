//! Windows and draws against fronts that are followed directly, and on what must be refused.
#![allow(clippy::unwrap_used, reason = "test code")]

use facedown_underfill::front::{self, Clock, Map, Shape};
use facedown_underfill::problem::{Angle, Face};
use facedown_underfill::window::{self, Clocks, NoWindow, Tolerances, Verdict, Window, WindowTask, specimen};

const NONE: Tolerances = Tolerances {
    angles_rad: [0.0; 3],
    gap: 0.0,
    viscosity: 0.0,
    tension: 0.0,
    temperature_k: 0.0,
    volume: 0.0,
};

fn small(draws: u64) -> WindowTask {
    let mut task = specimen::task(draws);
    task.base = specimen::die(6);
    task.base.resolution.least = 10;
    task
}

/// Fill time of the base followed with a clock, s.
fn direct(task: &WindowTask, clock: Clock) -> f64 {
    let problem = front::Problem { clock, ..task.base.clone() };
    front::solve(&problem).unwrap().fill_time_s.unwrap()
}

#[test]
fn viscosity_and_tension_are_exact_through_the_fluidity_time() {
    let mut task = small(2000);
    task.clocks = Clocks::constant(363.15, Clock::constant(0.15));
    task.tolerances = Tolerances { viscosity: 0.2, ..NONE };
    task.checks = 0;
    let told = window::spread(&task).unwrap();
    let middle = direct(&task, Clock::constant(0.15));
    assert!((told.fill_time_s.unwrap() / middle - 1.0).abs() < 1e-9);
    assert_eq!((told.verdict, told.fronts, told.good.hits), (Verdict::Fills, 1, 2000));
    // The time is as log-normal as the viscosity: quantiles to what 2000 draws tell, three deviations of each.
    let [low, half, high] = told.fill_times_s.unwrap().map(|t| (t / middle).ln() / 0.2);
    assert!(half.abs() < 3.0 * 1.2533 / 2000_f64.sqrt(), "{half}");
    assert!((low + 1.644_854).abs() < 3.0 * 2.11 / 2000_f64.sqrt(), "{low}");
    assert!((high - 1.644_854).abs() < 3.0 * 2.11 / 2000_f64.sqrt(), "{high}");
    // The same seed, the same draws.
    assert_eq!(window::spread(&task).unwrap(), told);
}

#[test]
fn angles_and_gaps_between_the_fronts_are_those_of_fronts() {
    let mut task = small(400);
    task.checks = 12;
    let told = window::spread(&task).unwrap();
    // What a design is told is the measure of its own draws.
    assert!(told.accuracy.time < 0.01 && told.accuracy.disagree == 0, "{:?}", told.accuracy);
    println!("{:?}", told.accuracy);
    assert_eq!(told.accuracy.checked, 12);
    assert!(told.void.between[0] <= told.void.share && told.void.share <= told.void.between[1]);
}

#[test]
fn a_patch_that_turns_to_repelling_is_told_where_it_does() {
    let mut task = small(4000);
    let side = task.base.size_m[0];
    let ground = 25_f64.to_radians();
    // Along the open edge, so that it fills late and traps nothing as long as it draws.
    let strip = Shape::Rectangle { low_m: [0.8 * side, 0.0], high_m: [side, side] };
    // Bare plates under the patch: it repels where both cosines add up to less than nothing.
    task.base.bumps = None;
    let sigma = 0.1;
    let covered = std::f64::consts::PI - ground - 0.5 * sigma;
    task.base.angle_substrate_rad = Map::Patches { ground, patches: vec![(strip, covered)] };
    task.base.resolution.least = 16;
    task.tolerances = Tolerances { angles_rad: [0.0, sigma, 0.0], ..NONE };
    task.clocks = Clocks::constant(363.15, Clock::constant(0.15));
    let told = window::spread(&task).unwrap();
    // Half a deviation from the turn: P(z > 0.5) = 0.30854 (Abramowitz and Stegun 1964, table 26.1). The parabola
    // between the nodes moves the turn by some 0.002 deviations, and the probability by less than 0.002.
    let [low, high] = told.void.between;
    assert!(low - 0.002 < 0.308_54 && 0.308_54 < high + 0.002, "{:?}", told.void);
    assert_eq!(told.void.hits, told.no_fill.hits);
    assert_eq!(told.accuracy.disagree, 0);
}

#[test]
fn passes_wait_as_those_of_the_front_and_too_little_liquid_runs_dry() {
    let mut task = small(10);
    task.tolerances = NONE;
    task.checks = 0;
    let clock = Clock::constant(0.15);
    task.clocks = Clocks::constant(363.15, clock.clone());
    let free =
        front::solve(&front::Problem { clock: clock.clone(), ..task.base.clone() }).unwrap().free_volume_m3;
    let edges = task.base.lines.clone();
    let lines = |share: f64| {
        let mut out = Vec::new();
        for (pass, part) in [(0, 0.5), (1, share - 0.5)] {
            for l in &edges {
                out.push(front::Line { volume_m3: 0.5 * part * free, start_s: 4.0 * f64::from(pass), ..*l });
            }
        }
        out
    };
    task.base.lines = lines(1.3);
    let told = window::spread(&task).unwrap().fill_time_s.unwrap();
    let followed = direct(&task, clock);
    // Both lines of this L run dry at once, as the die is as wide as high.
    assert!(followed > 4.0 && (told / followed - 1.0).abs() < 0.01, "{told} {followed}");
    task.base.lines = lines(0.9);
    assert_eq!(window::spread(&task).unwrap().verdict, Verdict::RunsDry);
}

#[test]
fn a_window_knows_its_corners() {
    let mut task = small(200);
    task.checks = 3;
    let angles_rad: Vec<f64> = [15.0, 50.0, 85.0_f64].map(f64::to_radians).to_vec();
    let temperatures_k = vec![343.15, 363.15, 403.15];
    let asked = Window::AngleTemperature { face: Face::Substrate, angles_rad, temperatures_k };
    let told = window::window(&task, &asked).unwrap();
    assert_eq!((told.points.len(), told.count), (9, [3, 3]));
    let time = |i: usize, j: usize| told.points[j * 3 + i].fill_time_s.unwrap();
    assert!(time(0, 0) < time(1, 0) && time(1, 0) < time(2, 0) && time(0, 1) < time(0, 0));
    // A point of the grid is a front with that angle and the clock of that temperature.
    let mut one = task.clone();
    one.base.angle_substrate_rad = Map::Uniform(50_f64.to_radians());
    let fluidity = front::solve(&front::Problem { clock: Clock::constant(1.0), ..one.base.clone() }).unwrap();
    let followed = task.clocks.time(343.15, fluidity.fill_fluidity.unwrap()).unwrap();
    assert!((time(1, 0) / followed - 1.0).abs() < 1e-9, "{} {followed}", time(1, 0));
    assert!(told.accuracy.time < 0.02, "{:?}", told.accuracy);
    // Waiting makes the angle worse until it no longer wets.
    let queue = [0.0, 1.0, 2.0].map(|d| (86_400.0 * d, Angle { angle_rad: 0.4 + 1.2 * d, spread_rad: 0.05 }));
    task.base.bumps = None;
    let told =
        window::window(&task, &Window::Queue { face: Face::Substrate, points: queue.to_vec() }).unwrap();
    assert_eq!(told.points[0].verdict, Verdict::Fills);
    assert_eq!(told.points[2].verdict, Verdict::DoesNotWet);
    assert!(told.points[2].no_fill.share > 0.99 && told.points[0].void.share < 0.01);
}

#[test]
fn what_makes_no_window_is_refused_in_words() {
    let mut task = small(10);
    task.base.shear = Some(front::Shear { index: 0.8 });
    assert_eq!(window::spread(&task), Err(NoWindow::Shear));
    let mut task = small(10);
    task.tolerances.gap = f64::NAN;
    let words = window::spread(&task).unwrap_err().to_string();
    assert_eq!(words, "the tolerance of the gap is NaN; it must be from 0 to 0.22 of it");
    let empty = Window::Queue { face: Face::Die, points: Vec::new() };
    assert_eq!(window::window(&small(10), &empty), Err(NoWindow::NoPoints));
}
