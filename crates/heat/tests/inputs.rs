//! What a design may say of its heat: cells of power, voids in a bond line, currents in bumps, powers over time.
#![allow(clippy::unwrap_used, reason = "test code")]

use facedown_heat::network::{Downward, Setting, Upward};
use facedown_heat::problem::*;
use facedown_heat::solid::{Reading, solve, traced};
use facedown_heat::{Refusal, specimen};
use proptest::prelude::*;

const FINENESS: f64 = 0.4;

fn setting(problem: &Problem) -> Setting {
    Setting {
        ambient_k: 300.0,
        down: Downward::Insulated,
        up: Upward::Film(5000.0),
        board: problem.board.clone().unwrap(),
        natural: facedown_heat::film::Natural::ThinLayer,
        pattern: facedown_heat::mixing::Pattern::Along,
        powers_w: problem.dies.iter().map(|d| d.power_w).collect(),
    }
}

fn read(problem: &Problem) -> Reading {
    let reading = solve(problem, &setting(problem), FINENESS).unwrap();
    assert!(reading.balance.abs() < 1e-6, "{}", reading.balance);
    reading
}

fn one_die() -> Problem {
    let mut problem = specimen::lidded();
    problem.dies[0].blocks.clear();
    problem
}

fn gridded(columns: usize, values: Vec<f64>) -> Problem {
    let mut problem = one_die();
    let die = &mut problem.dies[0];
    die.power_w = values.iter().sum();
    let cells = Cells { columns, values };
    let (width_m, height_m) = (die.width_m, die.height_m);
    die.grid = Some(PowerGrid { x_m: 0.0, y_m: 0.0, width_m, height_m, cells });
    problem
}

#[test]
fn a_grid_of_blocks_is_as_warm_as_its_blocks() {
    let grid = gridded(4, vec![10.0, 0.0, 0.0, 0.0, 0.0, 20.0, 20.0, 0.0]);
    let mut blocks = one_die();
    let die = &mut blocks.dies[0];
    die.power_w = 50.0;
    let (w, h) = (die.width_m / 4.0, die.height_m / 2.0);
    die.blocks = vec![
        Block { x_m: 0.0, y_m: 0.0, width_m: w, height_m: h, power_w: 10.0 },
        Block { x_m: w, y_m: h, width_m: 2.0 * w, height_m: h, power_w: 40.0 },
    ];
    let [grid, blocks] = [read(&grid), read(&blocks)];
    // Grids differ: theirs has lines at the blocks.
    assert!((grid.dies[0].hottest / blocks.dies[0].hottest - 1.0).abs() < 0.01);
    assert!((grid.dies[0].mean / blocks.dies[0].mean - 1.0).abs() < 0.005);
    for axis in 0..2 {
        assert!((grid.dies[0].at[axis] - blocks.dies[0].at[axis]).abs() < 0.7e-3);
    }
}

#[test]
fn heat_of_currents_arises_in_the_bumps_that_carry_them() {
    let mut even = one_die();
    even.dies[0].power_w = 40.0;
    let mut hot = even.clone();
    let places: Vec<[f64; 2]> =
        (0..100).map(|i| [(f64::from(i % 10) + 0.5) * 0.4e-3, (f64::from(i / 10) + 0.5) * 0.4e-3]).collect();
    for problem in [&mut even, &mut hot] {
        let Mount::Bumps(joints) = &mut problem.dies[0].mount else { unreachable!() };
        (joints.count, joints.places) = (100.0, places.clone());
    }
    let before = read(&even);
    hot.dies[0].power_w = 40.5;
    let Mount::Bumps(joints) = &mut hot.dies[0].mount else { unreachable!() };
    joints.heats_w = vec![5e-3; 100];
    let after = read(&hot);
    // Half a watt more comes in, and none of it through the face.
    let face = |r: &Reading| r.dies[0].up + r.dies[0].down;
    assert!((face(&after) - 40.0).abs() < 1e-4 * 40.0, "{}", face(&after));
    assert!(after.dies[0].bump.unwrap() - before.dies[0].bump.unwrap() > 0.1);
    assert!(after.dies[0].hottest > before.dies[0].hottest);
    // As much heat spread over the face warms the substrate less.
    let mut spread = even.clone();
    (spread.dies[0].power_w, spread.dies[0].even_w) = (40.5, 0.5);
    assert!(after.substrate > read(&spread).substrate);
    // More than the die has is refused.
    joints_of(&mut hot).heats_w = vec![1.0; 100];
    assert!(matches!(facedown_heat::solve(&hot), Err(Refusal::OutOfRange(_))));
}

fn joints_of(problem: &mut Problem) -> &mut Joints {
    match &mut problem.dies[0].mount {
        Mount::Bumps(joints) => joints,
        Mount::OnDie { .. } => unreachable!(),
    }
}

#[test]
fn one_void_over_the_middle_is_worse_than_the_same_share_spread() {
    let with = |voids: f64, places: Option<VoidPlaces>| {
        let mut problem = one_die();
        let tim = problem.dies[0].interface.as_mut().unwrap();
        (tim.voids, tim.void_places) = (voids, places);
        read(&problem).dies[0].clone()
    };
    let (w, h, d) = (16e-3, 14e-3, 4e-3);
    let share = std::f64::consts::FRAC_PI_4 * d * d / (w * h);
    let full = with(0.0, None);
    let spread = with(share, None);
    let circle = with(share, Some(VoidPlaces::Circles(vec![([w / 2.0, h / 2.0], d)])));
    assert!(full.hottest < spread.hottest && spread.hottest + 3.0 < circle.hottest);
    // A map of the same circle, cut finely, is the circle.
    let columns = 160;
    let inside = |i: usize| {
        let [x, y] = [(i % columns) as f64, (i / columns) as f64].map(|v| (v + 0.5) * w / columns as f64);
        f64::from(u8::from((x - w / 2.0).hypot(y - h / 2.0) < d / 2.0))
    };
    let values: Vec<f64> = (0..columns * 140).map(inside).collect();
    let map = with(share, Some(VoidPlaces::Map(Cells { columns, values })));
    assert!((map.hottest / circle.hottest - 1.0).abs() < 0.02, "{} {}", map.hottest, circle.hottest);
    assert!((map.mean / circle.mean - 1.0).abs() < 0.01);
}

/// The package with heat capacities everywhere, so that it can be followed over time.
fn followed(courses: Vec<Course>, durations_s: Vec<f64>, repeats: bool) -> Problem {
    let mut problem = specimen::lidded();
    for layer in problem.substrate.layers.iter_mut().chain(problem.board.as_mut().unwrap().layers.iter_mut())
    {
        layer.capacity = Some(2e6);
    }
    for die in &mut problem.dies {
        die.body.iter_mut().for_each(|l| l.capacity = Some(1.66e6));
        die.interface.as_mut().unwrap().capacity = Some(2e6);
    }
    joints_of(&mut problem).capacity = Some(2e6);
    problem.balls.capacity = Some(1e6);
    let lid = problem.lid.as_mut().unwrap();
    lid.capacity = Some(3.45e6);
    if let Some(foot) = &mut lid.foot {
        foot.adhesive.capacity = Some(2e6);
    }
    problem.trace = Some(Trace { repeats, durations_s, courses });
    problem
}

fn course(name: &str, block: Option<usize>, powers_w: Vec<f64>) -> Course {
    Course { name: name.into(), die: 0, block, powers_w }
}

#[test]
fn a_trace_of_the_powers_of_service_is_service() {
    let courses = vec![course("a", Some(0), vec![35.0; 2]), course("b", Some(1), vec![25.0; 2])];
    let problem = followed(courses, vec![1e-3, 2.0], true);
    let found = traced(&problem, &setting(&problem), FINENESS).unwrap().unwrap();
    assert_eq!(found.places.len(), 2);
    for place in &found.places {
        assert!((place.hottest[0] / place.in_service - 1.0).abs() < 1e-6);
        assert!(place.curve.iter().all(|p| (p[1] / place.in_service - 1.0).abs() < 1e-6));
    }
}

#[test]
fn one_block_that_follows_leaves_the_other_as_it_is() {
    // Off for so long that all of its heat is gone, then back.
    let courses = vec![course("a", Some(0), vec![0.0, 35.0])];
    let mut problem = followed(courses, vec![1e5, 1e5], false);
    let found = traced(&problem, &setting(&problem), FINENESS).unwrap().unwrap();
    let [place] = found.places.as_slice() else { panic!("one place") };
    assert!((place.hottest[0] / place.in_service - 1.0).abs() < 1e-6);
    // Without that block the place is as warm as a steady case without it; conductivities are those of service.
    let mut alone = problem.clone();
    alone.dies[0].body[0].in_plane = vec![(300.0, 120.0)];
    problem.dies[0].body[0].in_plane = vec![(300.0, 120.0)];
    let found = traced(&problem, &setting(&problem), FINENESS).unwrap().unwrap();
    alone.dies[0].blocks[0].power_w = 0.0;
    alone.dies[0].power_w = 25.0;
    let at = read(&problem).dies[0].at;
    let plan = read(&alone).plan;
    let cell = |lines: &[f64], at: f64| lines.partition_point(|e| *e < at) - 1;
    let steady = plan.rises[cell(&plan.along, at[1]) * (plan.across.len() - 1) + cell(&plan.across, at[0])];
    let first = found.places[0].curve[0][1];
    // Cells along z differ: those of the trace are thin at the active face.
    assert!((first / steady - 1.0).abs() < 0.01, "{first} {steady}");
}

#[test]
fn bursts_heat_more_than_their_mean_and_less_than_their_peak() {
    let all = |powers: Vec<f64>| vec![course("processor", None, powers)];
    let hottest = |period: f64| {
        let problem = followed(all(vec![120.0, 0.0]), vec![period / 2.0, period / 2.0], true);
        traced(&problem, &setting(&problem), FINENESS).unwrap().unwrap().places[0].clone()
    };
    let (quick, slow, slowest) = (hottest(1e-4), hottest(1e-1), hottest(1e4));
    assert!((quick.hottest[0] / quick.in_service - 1.0).abs() < 0.05);
    assert!(quick.hottest[0] < slow.hottest[0] && slow.hottest[0] < slowest.hottest[0]);
    assert!((slowest.hottest[0] / slowest.in_service - 2.0).abs() < 1e-3);
}

#[test]
fn what_does_not_fit_is_refused() {
    let refused = |problem: &Problem, words: &str| {
        let why = facedown_heat::solve(problem).unwrap_err().to_string();
        assert!(why.contains(words), "{why}");
    };
    let mut problem = gridded(2, vec![1.0, 2.0, 3.0, 4.0]);
    problem.dies[0].grid.as_mut().unwrap().cells.values.pop();
    refused(&problem, "whole rows");
    let mut problem = gridded(2, vec![1.0, -2.0]);
    problem.dies[0].power_w = 1.0;
    refused(&problem, "a cell");
    let mut problem = gridded(1, vec![1.0]);
    problem.dies[0].grid.as_mut().unwrap().x_m = 1e-3;
    refused(&problem, "power grid");
    let problem = followed(vec![course("a", Some(7), vec![1.0])], vec![1.0], true);
    refused(&problem, "block that is there");
    let problem = followed(vec![course("a", None, vec![1.0])], vec![0.0], true);
    refused(&problem, "length of a row");
    let mut problem = one_die();
    problem.dies[0].interface.as_mut().unwrap().void_places =
        Some(VoidPlaces::Map(Cells { columns: 1, values: vec![1.5] }));
    refused(&problem, "void");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(6))]
    #[test]
    fn all_heat_of_a_grid_arrives(
        columns in 1..9_usize, values in prop::collection::vec(0.01..3.0_f64, 9..60),
    ) {
        let rows = values.len() / columns;
        let values = values[..rows * columns].to_vec();
        let total: f64 = values.iter().sum();
        let reading = read(&gridded(columns, values));
        let face = reading.dies[0].up + reading.dies[0].down;
        prop_assert!((face / total - 1.0).abs() < 1e-5, "{} {}", face, total);
    }
}
