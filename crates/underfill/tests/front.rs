//! The front against exact answers, on turned grids, around dirty patches, and on random input.
#![allow(clippy::unwrap_used, reason = "test code")]

use facedown_underfill::front::{self, Bumps, Clock, End, Line, Map, Problem, Shape, companion, obstacle};
use facedown_underfill::{BumpShape, Edge, Lattice};
use proptest::prelude::*;

const GAP: f64 = 50e-6;
const TENSION: f64 = 0.03;
const ANGLE: f64 = 0.35;

fn square(edges: &[Edge]) -> Problem {
    Problem::bare([1e-2, 1e-2], GAP, TENSION, ANGLE, edges)
}

/// Fluidity time that a straight front takes to come a length of 1 cm twice over.
fn unit() -> f64 {
    1e-4 / (GAP * GAP / 12.0 * 2.0 * TENSION * ANGLE.cos() / GAP)
}

const PATTERNS: [(&[Edge], f64); 3] = [
    (&[Edge::Left], 0.5),
    // Torsion of a rectangle, S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, 1970, art. 109.
    (&[Edge::Left, Edge::Bottom], 0.294_685_4),
    (&[Edge::Left, Edge::Bottom, Edge::Top], 0.113_871_8),
];

#[test]
fn patterns_fill_in_the_times_of_the_torsion_function_at_second_order() {
    for (edges, exact) in PATTERNS {
        let at = |least: usize, advance: f64| {
            let mut problem = square(edges);
            (problem.resolution.least, problem.resolution.advance) = (least, advance);
            let outcome = front::solve(&problem).unwrap();
            assert_eq!(outcome.end, End::Full);
            let other = obstacle::fill(&problem).unwrap().unwrap();
            let found = outcome.fill_fluidity.unwrap();
            // The two methods solve the same equations.
            assert!((found / other.0 - 1.0).abs() < 1e-6, "{found} {}", other.0);
            found / unit() - exact
        };
        let (coarse, fine) = (at(12, 1.0), at(24, 1.0));
        assert!(fine.abs() < 0.01 * exact);
        // The length of the steps makes no error where one pressure drives.
        assert!((at(24, 0.4) - fine).abs() < 1e-6 * exact);
        if coarse.abs() > 1e-6 * exact {
            assert!((coarse / fine).log2() > 1.8, "{coarse} {fine}");
        }
    }
}

#[test]
fn a_grid_turned_by_30_degrees_gives_the_same_time() {
    for (edges, exact) in PATTERNS {
        let mut problem = square(edges);
        problem.resolution.turned_rad = 30_f64.to_radians();
        problem.resolution.least = 48;
        let found = front::solve(&problem).unwrap().fill_fluidity.unwrap() / unit();
        assert!((found / exact - 1.0).abs() < 0.015, "{found} {exact}");
    }
}

#[test]
fn a_patch_that_repels_leaves_a_void_of_its_area() {
    let radius_m = 3e-3;
    let mut problem = square(&[Edge::Left]);
    problem.resolution.least = 128;
    let patch = (Shape::Disc { centre_m: [5e-3, 5e-3], radius_m }, 3.0);
    problem.angle_substrate_rad = Map::Patches { ground: ANGLE, patches: vec![patch.clone()] };
    problem.angle_die_rad = Map::Patches { ground: ANGLE, patches: vec![patch] };
    let outcome = front::solve(&problem).unwrap();
    assert_eq!((outcome.end, outcome.voids.len()), (End::Voids, 1));
    let area = std::f64::consts::PI * radius_m * radius_m;
    let void = &outcome.voids[0];
    assert!((void.area_m2 / area - 1.0).abs() < 0.01, "{} {area}", void.area_m2);
    assert!((void.place_m[0] - 5e-3).abs() < 1.5e-4 && (void.place_m[1] - 5e-3).abs() < 1e-5);
    // Boyle's law.
    assert!((void.pressure_pa * void.volume_m3 / void.mass_pa_m3 - 1.0).abs() < 1e-12);
    // Closed off when nothing but the patch is dry, it need not be compressed; sums round.
    let over = void.pressure_pa - 101_325.0;
    assert!(over > -1e-12 * 101_325.0 && over < 2.0 * TENSION / GAP, "{over}");
}

#[test]
fn a_void_has_the_area_of_its_patch_wherever_the_patch_lies_between_the_cells() {
    // Cells of 125 um; patches of ten cells, moved by parts of one.
    let (size, centre) = ([5e-3, 5e-3], [2.5e-3, 2.5e-3]);
    let void = |patch: Shape| {
        let mut problem = Problem::bare(size, GAP, TENSION, ANGLE, &[Edge::Left]);
        problem.resolution.least = 40;
        for map in [&mut problem.angle_die_rad, &mut problem.angle_substrate_rad] {
            *map = Map::Patches { ground: ANGLE, patches: vec![(patch.clone(), 3.0)] };
        }
        let outcome = front::solve(&problem).unwrap();
        assert_eq!((outcome.end, outcome.voids.len()), (End::Voids, 1));
        outcome.voids[0].area_m2
    };
    for (k, part) in [[0.0, 0.0], [0.31, 0.77], [0.5, 0.13], [0.09, 0.95]].into_iter().enumerate() {
        let [x, y] = [0, 1].map(|k| centre[k] + 125e-6 * part[k]);
        let radius_m = 6e-4;
        let area = std::f64::consts::PI * radius_m * radius_m;
        let found = void(Shape::Disc { centre_m: [x, y], radius_m });
        assert!((found / area - 1.0).abs() < 0.01, "disc {k}: {}", found / area - 1.0);
        let (low_m, high_m) = ([x - 5.1e-4, y - 7.3e-4], [x + 6.2e-4, y + 4.4e-4]);
        let area = (high_m[0] - low_m[0]) * (high_m[1] - low_m[1]);
        let found = void(Shape::Rectangle { low_m, high_m });
        assert!((found / area - 1.0).abs() < 0.01, "rectangle {k}: {}", found / area - 1.0);
    }
}

/// A channel that is fed at both ends and closed at its sides.
fn closed_channel(ambient_pa: f64) -> Problem {
    let mut problem = Problem::bare([1e-2, 5e-4], GAP, TENSION, ANGLE, &[Edge::Left, Edge::Right]);
    problem.walls = vec![Edge::Bottom, Edge::Top];
    problem.ambient_pa = ambient_pa;
    problem.resolution.least = 8;
    problem
}

#[test]
fn trapped_air_ends_where_its_pressure_holds_the_menisci() {
    let drive = 2.0 * TENSION * ANGLE.cos() / GAP;
    for ambient in [101_325.0, 13_332.0, 1_333.0, 133.0] {
        let problem = closed_channel(ambient);
        let outcome = front::solve(&problem).unwrap();
        assert_eq!((outcome.end, outcome.voids.len()), (End::Voids, 1), "{ambient}");
        let void = &outcome.voids[0];
        let share = void.volume_m3 / outcome.free_volume_m3;
        // Boyle's law: p0 / (p0 + drive).
        let exact = ambient / (ambient + drive);
        assert!((share / exact - 1.0).abs() < 1e-8, "{ambient}: {share} {exact}");
    }
    assert_eq!(front::solve(&closed_channel(0.0)).unwrap().end, End::Full);
}

#[test]
fn a_symmetric_case_stays_symmetric() {
    let mut problem = square(&[Edge::Left]);
    problem.resolution.least = 30;
    let patch = |y: f64| (Shape::Disc { centre_m: [4e-3, y], radius_m: 1.013e-3 }, 1.9);
    problem.angle_substrate_rad = Map::Patches { ground: ANGLE, patches: vec![patch(2.5e-3), patch(7.5e-3)] };
    let outcome = front::solve(&problem).unwrap();
    let drive = |x: usize, y: usize| outcome.cells.iter().find(|c| c.at == [x, y]).unwrap().drive_pa;
    let arrival = |x: usize, y: usize| {
        let cell = outcome.cells.iter().find(|c| c.at == [x, y]).unwrap();
        cell.arrival_fluidity.unwrap_or(0.0) / unit()
    };
    for x in 0..30 {
        for y in 0..15 {
            let (a, b) = (arrival(x, y), arrival(x, 29 - y));
            assert!((drive(x, y) - drive(x, 29 - y)).abs() < 1e-9, "{x} {y}");
            assert!((a - b).abs() < 1e-8, "{x} {y} {a} {b}");
        }
    }
}

#[test]
fn regions_in_series_are_passed_in_the_times_of_their_closed_form() {
    use facedown_underfill::flow::{Medium, regions::Regions};
    // Gaps of 40, 80 (160) and 40 um: what narrows draws more and resists more.
    for wide_m in [80e-6, 160e-6] {
        let mut problem = Problem::bare([1e-2, 1e-3], 40e-6, TENSION, ANGLE, &[Edge::Left]);
        let wide = Shape::Rectangle { low_m: [2e-3, -1.0], high_m: [8e-3, 1.0] };
        problem.gap_m = Map::Patches { ground: 40e-6, patches: vec![(wide, wide_m)] };
        let medium = |gap: f64| Medium {
            // The regions' flow is by depth as well: permeability times gap over gap at the front.
            permeability_m2: gap.powi(3) / 12.0,
            free: gap,
            pressure_pa: 2.0 * TENSION * ANGLE.cos() / gap,
        };
        let regions = Regions(vec![(medium(40e-6), 2e-3), (medium(wide_m), 6e-3), (medium(40e-6), 2e-3)]);
        let exact = regions.fluidity_to(1e-2).unwrap();
        let at = |least: usize| {
            let mut problem = problem.clone();
            problem.resolution.least = least;
            let outcome = front::solve(&problem).unwrap();
            assert_eq!(outcome.end, End::Full, "{}", outcome.filled);
            outcome.fill_fluidity.unwrap() / exact - 1.0
        };
        let (coarse, fine) = (at(5), at(20));
        assert!(fine.abs() < 0.01, "{coarse} {fine}");
        assert!(fine.abs() < 0.5 * coarse.abs() || coarse.abs() < 2e-3, "{coarse} {fine}");
    }
}

#[test]
fn a_line_that_runs_dry_stops_and_a_second_pass_goes_on() {
    let mut problem = square(&[]);
    problem.resolution.least = 24;
    let whole = 1e-4 * GAP;
    let line =
        |volume_m3: f64, start_s: f64| Line { volume_m3, start_s, ..Line::ample(Edge::Left, problem.size_m) };
    let mut short = problem.clone();
    short.lines = vec![line(0.4 * whole, 0.0)];
    let outcome = front::solve(&short).unwrap();
    assert_eq!(outcome.end, End::RanDry);
    assert!((outcome.filled - 0.4).abs() < 1e-9, "{}", outcome.filled);
    assert_eq!(outcome.fill_time_s, None);
    assert!(outcome.left_m3[0].unwrap() < 1e-9 * whole);
    let wait = 0.3 * unit();
    problem.lines = vec![line(0.4 * whole, 0.0), line(0.7 * whole, wait)];
    let outcome = front::solve(&problem).unwrap();
    assert_eq!(outcome.end, End::Full);
    // The front stands at 0.4 until the second pass, then goes on as if it had not stopped.
    let exact = wait + (0.5 - 0.5 * 0.4 * 0.4) * unit();
    assert!((outcome.fill_fluidity.unwrap() / exact - 1.0).abs() < 0.01);
    assert!((outcome.left_m3[1].unwrap() / whole - 0.1).abs() < 1e-8);
}

#[test]
fn what_does_not_wet_does_not_fill_and_the_gel_stops_the_front() {
    let dry = Problem::bare([1e-2, 1e-2], GAP, TENSION, 1.7, &[Edge::Left]);
    let outcome = front::solve(&dry).unwrap();
    assert_eq!((outcome.end, outcome.fill_fluidity, outcome.filled), (End::DoesNotWet, None, 0.0));
    let mut gels = square(&[Edge::Left]);
    gels.resolution.least = 24;
    gels.clock = Clock::new(vec![(0.0, 0.0), (60.0, 0.18 * unit())], None).unwrap();
    let outcome = front::solve(&gels).unwrap();
    assert_eq!(outcome.fill_time_s, None);
    assert!(outcome.fill_fluidity.is_some());
    assert!((outcome.filled - 0.6).abs() < 0.02, "{}", outcome.filled);
}

#[test]
fn shear_stretches_the_time_as_a_straight_front_of_a_power_law_liquid() {
    use facedown_underfill::flow::plates::Gap;
    let gap = Gap { gap_m: GAP, tension_n_m: TENSION, angles_rad: [ANGLE; 2] };
    for (consistency, index) in [(0.2, 0.8), (0.08, 1.1)] {
        let mut problem = square(&[Edge::Left]);
        problem.clock = Clock::constant(consistency);
        problem.shear = Some(front::Shear { index });
        problem.resolution.advance = 0.5;
        let found = front::solve(&problem).unwrap().fill_time_s.unwrap();
        let exact = gap.fill_time_power_law(consistency, index, 1e-2).unwrap();
        assert!((found / exact - 1.0).abs() < 0.02, "{found} {exact}");
    }
}

#[test]
fn a_radial_spread_takes_the_time_of_its_closed_form() {
    use facedown_underfill::flow::plates::radial_time;
    // A quarter: a block of radius r0 in the corner cannot be fed in the plane, so the corner is fed over two short lines.
    let mut problem = square(&[]);
    problem.resolution.least = 100;
    let r0 = 2e-3;
    let line = |edge| Line { to_m: r0, ..Line::ample(edge, problem.size_m) };
    problem.lines = vec![line(Edge::Left), line(Edge::Bottom)];
    let outcome = front::solve(&problem).unwrap();
    // Far from the source the front is round: two times at different radii differ by the closed form, from the radius of the
    // circle with the conductance of the source.
    let at = |r: f64| {
        let near = outcome.cells.iter().min_by(|a, b| {
            let off = |c: &front::CellOutcome| {
                let aim = r / 2_f64.sqrt();
                (c.place_m[0] - aim).hypot(c.place_m[1] - aim)
            };
            off(a).total_cmp(&off(b))
        });
        let near = near.unwrap();
        (near.arrival_fluidity.unwrap(), near.place_m[0].hypot(near.place_m[1]))
    };
    let mobility = GAP * GAP / 12.0 * 2.0 * TENSION * ANGLE.cos() / GAP;
    let ((s1, r1), (s2, r2), (s3, r3)) = (at(5e-3), at(7e-3), at(9e-3));
    let law = |source: f64, r: f64| radial_time(mobility, 1.0, source, r);
    // One unknown (the source's radius) from the first interval, the second interval is the check.
    let source =
        facedown_field::root::bracketed(|a| law(a, r2) - law(a, r1) - (s2 - s1), 1e-5, 4e-3, 1e-12).unwrap();
    let second = law(source, r3) - law(source, r2);
    assert!(((s3 - s2) / second - 1.0).abs() < 0.03, "{} {second}", s3 - s2);
}

#[test]
fn a_companion_tells_the_error() {
    let mut problem = square(&[Edge::Left, Edge::Bottom]);
    problem.resolution.least = 32;
    let judged = companion::solve(&problem).unwrap();
    let off = (judged.outcome.fill_fluidity.unwrap() / unit() - 0.294_685_4).abs();
    let told = judged.error.unwrap() / unit();
    assert!(told > 0.5 * off && told < 3.0 * off, "{told} {off}");
    assert!((judged.order.unwrap() - 2.0).abs() < 0.1);
}

fn bumped(size_m: [f64; 2], pitch: f64, count: [usize; 2], edges: &[Edge]) -> Problem {
    let mut problem = Problem::bare(size_m, 60e-6, TENSION, ANGLE, edges);
    let low = [0, 1].map(|k| 0.5 * (size_m[k] - pitch * (count[k] as f64 - 1.0)));
    let place = |k: usize| [low[0] + pitch * (k % count[0]) as f64, low[1] + pitch * (k / count[0]) as f64];
    problem.bumps = Some(Bumps {
        places_m: (0..count[0] * count[1]).map(place).collect(),
        diameter_m: 0.4 * pitch,
        shape: BumpShape::Cylinder,
        lattice: Lattice::Square,
    });
    problem
}

#[test]
fn an_even_array_has_the_medium_of_its_cell_and_bumps_touched_by_a_void_are_told() {
    use facedown_underfill::flow::{permeability::Cell, pressure::Bump};
    let mut problem = bumped([5e-3, 4e-3], 250e-6, [18, 14], &[Edge::Left]);
    problem.resolution.least = 32;
    let patch = (Shape::Disc { centre_m: [2.5e-3, 2e-3], radius_m: 6e-4 }, 3.1);
    for map in [&mut problem.angle_die_rad, &mut problem.angle_substrate_rad, &mut problem.angle_bump_rad] {
        *map = Map::Patches { ground: ANGLE, patches: vec![patch.clone()] };
    }
    let outcome = front::solve(&problem).unwrap();
    let cell = Cell { lattice: Lattice::Square, pitch_m: 250e-6, diameter_m: 100e-6, gap_m: 60e-6 };
    let permeability_m2 = Bump { cell, shape: BumpShape::Cylinder }.permeability_m2().unwrap();
    for c in &outcome.cells {
        let deep = (0..2).all(|k| c.place_m[k] > 5e-4 && c.place_m[k] < problem.size_m[k] - 5e-4);
        if deep {
            assert!((c.permeability_m2 / permeability_m2 - 1.0).abs() < 1e-6);
        }
    }
    let void = &outcome.voids[0];
    assert!(void.bridges());
    let places = &problem.bumps.as_ref().unwrap().places_m;
    let near = |r: f64| places.iter().filter(|p| (p[0] - 2.5e-3).hypot(p[1] - 2e-3) < r).count();
    // Every bump in the patch, and none that is a cell's diagonal beyond it.
    let cells = outcome.step_m[0].hypot(outcome.step_m[1]);
    assert!(void.bumps.len() >= near(6e-4 - cells) && void.bumps.len() <= near(6e-4 + 50e-6 + 2.0 * cells));
}

#[test]
fn a_reservoir_that_runs_dry_before_menisci_that_stand_still_gives_what_it_holds() {
    // Found by the random test below: cells that the drying line can no longer fill were kept in the set of full ones.
    let mut problem = bumped([1e-2, 6e-3], 500e-6, [15, 9], &[]);
    problem.resolution.least = 16;
    problem.ambient_pa = 500.0;
    let discs = [
        (8.0747e-3, 4.0484e-3, 9.7290e-4, 0.244_728),
        (6.2359e-3, 4.2112e-4, 1.720_93e-3, 0.449_671),
        (4.7391e-3, 1.962_27e-3, 2e-4, 2.321_936),
        (7.4260e-3, 5.121_66e-3, 6.7465e-4, 1.293_807),
    ];
    let disc =
        |&(x, y, radius_m, angle): &(f64, f64, f64, f64)| (Shape::Disc { centre_m: [x, y], radius_m }, angle);
    problem.angle_substrate_rad = Map::Patches { ground: 0.4, patches: discs.iter().map(disc).collect() };
    let lines = [(Edge::Left, 0.674_265, 0.055_219), (Edge::Right, 0.182_476, 0.151_023)];
    let line = |(edge, share, start): (Edge, f64, f64)| Line {
        volume_m3: share * 6e-5 * 60e-6,
        start_s: start * unit(),
        ..Line::ample(edge, problem.size_m)
    };
    problem.lines = lines.map(line).to_vec();
    let outcome = front::solve(&problem).unwrap();
    let given: f64 = problem.lines.iter().map(|l| l.volume_m3).sum();
    let left: f64 = outcome.left_m3.iter().flatten().sum();
    assert!((outcome.used_m3 + left - given).abs() < 1e-10 * given, "{} {left} {given}", outcome.used_m3);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn nothing_is_lost_on_random_patches_and_lines(
        patches in prop::collection::vec((0.0..1e-2_f64, 0.0..6e-3_f64, 2e-4..2e-3_f64, 0.0..3.1_f64), 0..5),
        lines in prop::collection::vec((0..4_usize, 0.02..1.2_f64, 0.0..0.2_f64), 1..4),
        turn in prop_oneof![Just(0.0), -1.0..1.0_f64],
        ambient in prop_oneof![Just(101_325.0), Just(500.0), Just(0.0)],
    ) {
        let mut problem = bumped([1e-2, 6e-3], 500e-6, [15, 9], &[]);
        problem.resolution.least = 16;
        problem.resolution.turned_rad = turn;
        problem.ambient_pa = ambient;
        let disc = |&(x, y, radius_m, angle): &(f64, f64, f64, f64)| (Shape::Disc { centre_m: [x, y], radius_m }, angle);
        problem.angle_substrate_rad = Map::Patches { ground: 0.4, patches: patches.iter().map(disc).collect() };
        let edges = [Edge::Left, Edge::Right, Edge::Bottom, Edge::Top];
        problem.lines = lines
            .iter()
            .map(|&(e, share, start)| Line {
                volume_m3: share * 6e-5 * 60e-6,
                start_s: start * unit(),
                ..Line::ample(edges[e], problem.size_m)
            })
            .collect();
        let outcome = front::solve(&problem).unwrap();
        prop_assert!(outcome.volume_error <= 1e-10, "{}", outcome.volume_error);
        let given: f64 = problem.lines.iter().map(|l| l.volume_m3).sum();
        let left: f64 = outcome.left_m3.iter().flatten().sum();
        prop_assert!((outcome.used_m3 + left - given).abs() < 1e-10 * given, "{} {left} {given}", outcome.used_m3);
        prop_assert!((outcome.used_m3 / outcome.free_volume_m3 - outcome.filled).abs() < 1e-8);
        prop_assert!(outcome.filled <= 1.0 + 1e-8);
        let dry: f64 = outcome.cells.iter().map(|c| c.area_m2 * (1.0 - c.fill)).sum();
        let whole: f64 = outcome.cells.iter().map(|c| c.area_m2).sum();
        let voids: f64 = outcome.cells.iter().filter(|c| c.void > 0).map(|c| c.area_m2 * (1.0 - c.fill)).sum();
        prop_assert!((dry - voids - outcome.unfilled_area_m2).abs() < 1e-9 * whole);
        for v in &outcome.voids {
            prop_assert!(v.area_m2.is_finite() && v.pressure_pa.is_finite() && v.pressure_pa > 0.0);
        }
        prop_assert!(outcome.cells.iter().all(|c| (0.0..=1.0).contains(&c.fill) && c.meeting_rad.is_finite()));
        prop_assert!(outcome.course.windows(2).all(|w| w[0].fluidity <= w[1].fluidity));
    }
}

#[test]
fn input_that_makes_no_sense_is_refused_in_words() {
    let refused = |change: &dyn Fn(&mut Problem)| {
        let mut problem = square(&[Edge::Left]);
        problem.resolution.least = 8;
        change(&mut problem);
        front::solve(&problem).unwrap_err().to_string()
    };
    assert_eq!(
        refused(&|p| p.lines.clear()),
        "no line is dispensed; give at least one, along an edge of the die"
    );
    assert_eq!(
        refused(&|p| p.lines.push(Line { from_m: 5e-3, ..Line::ample(Edge::Left, p.size_m) })),
        "lines 1 and 2 lie over each other from 5.000 mm to 10.000 mm; passes share one stretch, other lines must not touch"
    );
    assert_eq!(
        refused(&|p| p.lines[0].to_m = 2e-2),
        "line 1 runs from 0.000 mm to 20.000 mm along an edge of 10.000 mm; it must begin before it ends, on the edge"
    );
    assert_eq!(
        refused(&|p| p.tension_n_m = f64::NAN),
        "the surface tension is NaN; it must be from 0.1 mN/m to 1 N/m"
    );
    assert_eq!(
        refused(&|p| p.angle_die_rad = Map::Uniform(4.0)),
        "the contact angle on the die is 4; it must be from 0 to 180 deg"
    );
    let bumps = |diameter_m: f64, shape| {
        move |p: &mut Problem| {
            p.bumps = Some(Bumps {
                places_m: vec![[1e-3, 1e-3], [1.1e-3, 1e-3]],
                diameter_m,
                shape,
                lattice: Lattice::Square,
            });
        }
    };
    assert_eq!(
        refused(&bumps(120e-6, BumpShape::Cylinder)),
        "bumps 0 and 1 (from 0) are 100.0 um apart and 120.0 um wide; they must not touch"
    );
    assert!(refused(&bumps(40e-6, BumpShape::TruncatedSphere)).contains("cannot span the gap of 50.0 um"));
}
