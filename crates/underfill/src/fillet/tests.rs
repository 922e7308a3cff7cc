//! Fillets against arcs and balances, and what must hold for any of them.

use super::*;
use proptest::prelude::*;

const ANGLES: [f64; 3] = [0.5, 0.4, 0.3];

fn even(volume_m3: f64) -> Problem {
    Problem::even([8e-3, 10e-3], [60e-6, 760e-6], volume_m3, ANGLES)
}

/// The area of an arc of radius one between wall and substrate.
fn arc_area(wall: f64, foot: f64) -> f64 {
    let turn = FRAC_PI_2 - wall - foot;
    0.5 * (foot.cos() - wall.sin()) * (wall.cos() - foot.sin()) - 0.5 * (turn - turn.sin())
}

#[test]
fn without_weight_all_four_sides_are_the_arc_that_holds_the_volume() {
    let problem = Problem { density_kg_m3: 0.0, ..even(3e-9) };
    let outcome = solve(&problem).unwrap();
    let [_, wall, foot] = ANGLES;
    for side in &outcome.sides {
        let radius = side.height_m / (foot.cos() - wall.sin());
        assert!((side.width_m / (radius * (wall.cos() - foot.sin())) - 1.0).abs() < 1e-9);
        assert!((side.area_m2 / (radius * radius * arc_area(wall, foot)) - 1.0).abs() < 1e-8);
        assert!((outcome.pressure_pa * radius / problem.tension_n_m + 1.0).abs() < 1e-9);
        assert_eq!(side.seat, Seat::Wall);
    }
    let straight = 0.036 * outcome.sides[0].area_m2;
    assert!(((straight + outcome.corners_m3) / 3e-9 - 1.0).abs() < 1e-7);
    // The centroid of the profile lies between a quarter and a half of its width from the wall.
    let turned = std::f64::consts::TAU * outcome.sides[0].area_m2 * outcome.sides[0].width_m;
    assert!((0.2..0.5).contains(&(outcome.corners_m3 / turned)));
}

#[test]
fn little_liquid_hangs_on_the_lower_edge_and_too_little_is_refused() {
    let few = solve(&even(2e-11)).unwrap();
    assert!(few.sides.iter().all(|s| s.seat == Seat::LowerEdge && s.climb == 0.0));
    assert!(few.faults().len() == 4);
    assert!(matches!(solve(&even(-1e-9)), Err(Refusal::TooLittle { missing_mm3, .. }) if missing_mm3 > 0.9));
}

#[test]
fn more_than_the_wall_holds_goes_over_the_back() {
    let problem = Problem { density_kg_m3: 0.0, ..even(4e-7) };
    let outcome = solve(&problem).unwrap();
    let spill = outcome.spill.unwrap();
    assert_eq!(spill.way, Way::Back);
    assert!((outcome.held_m3 + spill.volume_m3 - 4e-7).abs() < 1e-19);
    let side = &outcome.sides[0];
    assert!((side.height_m - 760e-6).abs() < 1e-15 && (side.head_rad - FRAC_PI_2).abs() < 1e-12);
    // Level at the edge: an arc with half the foot's slope on average.
    assert!((side.width_m * (0.5 * ANGLES[2]).tan() / 760e-6 - 1.0).abs() < 1e-9);
    assert!(outcome.faults()[0].contains("back"));
}

#[test]
fn a_stop_holds_the_line_until_it_leans_over() {
    let mut problem = even(6e-9);
    let free = solve(&problem).unwrap();
    let distance_m = 0.7 * free.sides[0].width_m;
    problem.sides[0].stop = Some(Stop { distance_m, until_rad: 1.2 });
    let held = solve(&problem).unwrap();
    assert!(held.sides[0].stopped && (held.sides[0].width_m / distance_m - 1.0).abs() < 1e-9);
    assert!(held.sides[0].foot_rad > ANGLES[2] && held.pressure_pa > free.pressure_pa);
    assert!(held.sides[1].width_m > free.sides[1].width_m && !held.sides[1].stopped);
    // Less steep, it lets go before the other sides run off.
    problem.sides[0].stop = Some(Stop { distance_m, until_rad: 0.6 });
    problem.volume_m3 = 4e-8;
    let over = solve(&problem).unwrap().spill.unwrap();
    assert_eq!((over.edge, over.way), (crate::problem::Edge::Left, Way::Stop));
    problem.sides[0].stop = Some(Stop { distance_m: 2e-6, until_rad: 0.3 });
    assert!(matches!(solve(&problem), Err(Refusal::NothingHolds { .. })));
}

#[test]
fn a_line_is_told_by_its_bead_and_what_it_reaches() {
    let mut problem = even(3e-9);
    problem.density_kg_m3 = 0.0;
    let line = Line { offset_m: 0.3e-3, area_m2: 0.2e-6 };
    problem.sides[0].line = Some(line);
    problem.sides[0].keep_clear_m = Some(1e-3);
    problem.sides[1].line = Some(Line { offset_m: 3e-3, ..line });
    problem.sides[1].keep_clear_m = Some(9e-3);
    let outcome = solve(&problem).unwrap();
    let near = outcome.sides[0].tongue.unwrap();
    // An arc: area r^2 (foot - sin foot cos foot), half width r sin foot.
    let foot = ANGLES[2];
    let half = (0.2e-6 / (foot - foot.sin() * foot.cos())).sqrt() * foot.sin();
    assert!((near.half_width_m / half - 1.0).abs() < 1e-8 && near.touches && near.holds);
    assert!(near.reach_m >= 0.3e-3 + half - 1e-12);
    assert!(outcome.sides[0].clear.unwrap().reached() && !outcome.sides[1].clear.unwrap().reached());
    let far = outcome.sides[1].tongue.unwrap();
    assert!(!far.touches && (far.reach_m - 3e-3 - half).abs() < 1e-11);
    let faults = outcome.faults();
    assert!(
        faults.len() == 2 && faults[0].contains("clear") && faults[1].contains("does not touch"),
        "{faults:?}"
    );
    // Weight flattens and widens a bead; a very large one is a puddle of 2 a sin(foot / 2).
    problem.density_kg_m3 = 1700.0;
    problem.sides[1].line = Some(Line { area_m2: 8e-5, ..line });
    let outcome = solve(&problem).unwrap();
    assert!(outcome.sides[0].tongue.unwrap().half_width_m > half);
    let puddle = 2.0 * (0.5 * foot).sin() / problem.weight_per_m2().sqrt();
    let wide = outcome.sides[1].tongue.unwrap();
    assert!((wide.height_m / puddle - 1.0).abs() < 1e-3 && !wide.holds);
}

#[test]
fn what_cannot_be_is_refused_in_words() {
    let told = |change: &dyn Fn(&mut Problem)| {
        let mut problem = even(3e-9);
        change(&mut problem);
        solve(&problem).unwrap_err().to_string()
    };
    assert!(told(&|p| p.sides[2].wall_rad = 1.4).contains("bottom edge"));
    assert!(told(&|p| p.back_m = 1e-6).contains("above the gap"));
    assert!(told(&|p| p.volume_m3 = f64::NAN).contains("volume"));
    assert!(told(&|p| p.tension_n_m = 0.0).contains("surface tension"));
    let line = Line { offset_m: 0.0, area_m2: 1e-7 };
    assert!(
        told(&|p| {
            p.sides[0].line = Some(line);
            p.sides[0].substrate_rad = 0.0
        })
        .contains("without end")
    );
    assert!(
        told(&|p| p.sides[3].stop = Some(Stop { distance_m: 1e-3, until_rad: 0.1 })).contains("stop holds")
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]
    #[test]
    fn the_volume_is_kept_under_one_pressure(
        angles in prop::array::uniform4((0.05..0.7_f64, 0.05..0.7_f64)),
        stops in prop::array::uniform4(prop_oneof![Just(None), (3e-4..2e-3_f64, 0.8..1.9_f64).prop_map(Some)]),
        volume in 2e-10..2e-8_f64, density in prop_oneof![Just(0.0), 1000.0..2500.0_f64],
    ) {
        let mut problem = even(volume);
        problem.density_kg_m3 = density;
        for (k, side) in problem.sides.iter_mut().enumerate() {
            (side.wall_rad, side.substrate_rad) = angles[k];
            side.stop = stops[k].map(|(distance_m, until_rad)| Stop { distance_m, until_rad });
        }
        let outcome = match solve(&problem) {
            Err(Refusal::TooLittle { .. }) => return Ok(()),
            other => other.unwrap(),
        };
        let spilled = outcome.spill.map_or(0.0, |s| s.volume_m3);
        prop_assert!((outcome.held_m3 + spilled - volume).abs() < 2.0 * KEPT * volume);
        let straight: f64 = (0..4).map(|k| problem.length_m(k) * outcome.sides[k].area_m2).sum();
        prop_assert!((straight + outcome.corners_m3 - outcome.held_m3).abs() < 1e-6 * volume);
        let weight = problem.weight_per_m2();
        for (k, side) in outcome.sides.iter().enumerate() {
            // Upright forces on each side's liquid, with the pressure that is told.
            let pull = outcome.pressure_pa / problem.tension_n_m * side.width_m - weight * side.area_m2;
            prop_assert!((pull - side.foot_rad.sin() + side.head_rad.cos()).abs() < 1e-6, "{k} {pull}");
            let (wall, substrate) = angles[k];
            prop_assert!(side.foot_rad >= substrate - 1e-12 && (side.stopped || side.foot_rad < substrate + 1e-12));
            match side.seat {
                Seat::LowerEdge => prop_assert!(side.head_rad < wall + 1e-9 && side.height_m == 60e-6),
                Seat::Wall => prop_assert!((side.head_rad - wall).abs() < 1e-9),
                Seat::UpperEdge => prop_assert!(side.head_rad > wall - 1e-9 && side.height_m == 760e-6),
            }
            if let Some((distance, _)) = stops[k] {
                prop_assert!(side.width_m < distance * (1.0 + 1e-9));
            }
            let end = side.profile_m.last().unwrap();
            prop_assert!((end[0] - side.width_m).abs() < 1e-8 * (side.width_m.abs() + side.height_m));
        }
        // More liquid stands higher under more pressure on every side.
        problem.volume_m3 *= 1.1;
        let more = solve(&problem).unwrap();
        prop_assert!(more.pressure_pa >= outcome.pressure_pa - 1e-9 * outcome.pressure_pa.abs());
        for (a, b) in outcome.sides.iter().zip(&more.sides) {
            prop_assert!(b.height_m >= a.height_m * (1.0 - 1e-9) && b.width_m >= a.width_m - 1e-9 * a.height_m);
        }
    }

    #[test]
    fn shapes_depend_on_the_capillary_length_alone(scale in 0.5..2.0_f64, volume in 1e-9..8e-9_f64) {
        let one = solve(&even(volume)).unwrap();
        let mut other = even(volume * scale.powi(3));
        other.size_m = other.size_m.map(|x| x * scale);
        (other.gap_m, other.back_m) = (other.gap_m * scale, other.back_m * scale);
        other.tension_n_m *= scale * scale;
        let other = solve(&other).unwrap();
        for (a, b) in one.sides.iter().zip(&other.sides) {
            prop_assert!((b.width_m / a.width_m / scale - 1.0).abs() < 1e-7);
            prop_assert!((b.height_m / a.height_m / scale - 1.0).abs() < 1e-7);
        }
    }
}
