//! The whole solve on random and on extreme arrays: the rest is a balance, figures are finite, and where there is no
//! rest there is no figure of a shape.

use facedown_joints::outcome::ArrayOutcome;
use facedown_joints::problem::{Array, Body, GapMap, Kind, Layer, Metal, Reflow, Solder, Supply};
use facedown_joints::{Outcome, Problem, solve};
use proptest::prelude::*;

const GRAVITY: f64 = 9.806_65;

fn solder() -> Solder {
    Solder {
        name: "tin-silver".into(),
        surface_tension: 0.5,
        surface_tension_range: Some([0.45, 0.55]),
        density_liquid: 7000.0,
        solidus: 494.0,
        liquidus: 494.0,
        leaded: false,
    }
}

fn reflow(peak: f64) -> Reflow {
    Reflow {
        preheat_from: 423.0,
        preheat_to: 453.0,
        preheat_time: 90.0,
        ramp_up: 1.5,
        peak,
        time_above_liquidus: None,
        hold: 10.0,
        ramp_down: 2.0,
        count: 2,
        lead_free: None,
    }
}

/// Bumps of one kind: pads of 80 um, plated to `height` over the pad, at a pitch of 200 um.
fn bumps(count: u32, solder_um3: f64, carried_mass: f64) -> Array {
    Array {
        solder: solder(),
        joints: vec![kind("signal", count, 80e-6, 80e-6, solder_um3)],
        pitch: 200e-6,
        carried_mass,
        extra_force: 0.0,
        gap_map: GapMap::Flat,
        misplacement: 5e-6,
        height_shortfall: 3e-6,
        metallisation: vec![Layer { metal: Metal::Nickel, thickness: 3e-6 }],
        lower_metallisation: vec![],
        consumed_per_reflow: None,
    }
}

fn kind(name: &str, count: u32, upper: f64, lower: f64, solder_um3: f64) -> Kind {
    Kind {
        name: name.into(),
        count,
        upper_diameter: upper,
        lower_diameter: lower,
        upper_solder: vec![Supply::Volume(solder_um3 * 1e-18)],
        lower_solder: vec![],
        upper_metal: 0.0,
        lower_metal: 0.0,
    }
}

fn problem(array: Array) -> Problem {
    Problem { bumps: Some(array), reflow: Some(reflow(518.0)), ..Problem::default() }
}

/// Every number of an outcome is finite and every range holds its value.
fn finite(outcome: &Outcome) {
    for figure in &outcome.figures {
        assert!(figure.value.is_finite(), "{figure:?}");
        if let Some([low, high]) = figure.between {
            assert!(low <= figure.value && figure.value <= high, "{figure:?}");
        }
        assert!(figure.error.is_none_or(|e| e.is_finite() && e >= 0.0), "{figure:?}");
        assert!(figure.hand.is_none_or(f64::is_finite), "{figure:?}");
    }
    for array in [&outcome.bumps, &outcome.balls].into_iter().flatten() {
        let numbers = [
            array.stand_off,
            array.stand_off_least,
            array.stand_off_most,
            array.load,
            array.vertical_stiffness_total,
            array.lateral_stiffness_total,
            array.open_joints,
        ];
        assert!(numbers.iter().all(|v| v.is_finite()), "{array:?}");
        for kind in &array.kinds {
            assert!(kind.profile.iter().flatten().all(|v| v.is_finite()), "{kind:?}");
            assert!(kind.force.is_finite() && kind.height.is_finite() && kind.lateral_stiffness.is_finite());
        }
    }
}

/// What a caller sees who has no rest: a sentence, and no figure of any shape.
fn has_no_shape(outcome: &Outcome) {
    finite(outcome);
    assert!(outcome.bumps.is_none());
    for name in
        ["joint_height", "joint_width", "stand_off", "vertical_stiffness", "bridging_margin", "ubm_left"]
    {
        assert!(outcome.figure(name).is_none(), "{name} is reported without a rest");
    }
    assert!(outcome.limits.contains_key("stand_off"), "no limit says why: {:?}", outcome.limits);
    assert!(outcome.notes.len() >= 2, "no note says why: {:?}", outcome.notes);
}

fn maps() -> impl Strategy<Value = GapMap> {
    prop_oneof![
        Just(GapMap::Flat),
        (-1.0..1.0_f64, -1.0..1.0_f64).prop_map(|(x, y)| GapMap::Bow {
            curvature_x: x,
            curvature_y: y,
            half_width: 4e-3,
            half_height: 3e-3,
        }),
        prop::collection::vec(-6e-6..6e-6_f64, 1..40).prop_map(GapMap::Samples),
    ]
}

prop_compose! {
    fn arrays()(
        signal in 1u32..3000, supply in 0u32..200,
        upper in 40e-6..120e-6_f64, ratio in 0.7..1.4_f64, fill in 0.4..1.6_f64, more in 0.9..1.15_f64,
        metal in -5e-6..40e-6_f64, share in -0.2..1.0_f64, gap_map in maps(),
    ) -> Array {
        let lower = upper * ratio;
        let volume = fill * upper * upper * lower * 1e18;
        let mut array = bumps(signal, volume, 0.0);
        array.pitch = 2.5 * upper.max(lower);
        array.joints = vec![kind("signal", signal, upper, lower, volume), kind("supply", supply, upper, lower, volume * more)];
        for kind in &mut array.joints {
            kind.upper_metal = metal;
        }
        // A share of what surface tension can carry at all; negative lifts.
        array.extra_force = share * f64::from(signal + supply) * 0.5 * upper;
        array.carried_mass = 1e-6;
        array.gap_map = gap_map;
        array
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn any_array_rests_or_says_why_not(array in arrays()) {
        let given = problem(array);
        let outcome = solve(&given).unwrap();
        match &outcome.bumps {
            Some(_) => finite(&outcome),
            None => has_no_shape(&outcome),
        }
        // The same problem gives the same outcome, through its text too.
        let text = serde_json::to_string(&given).unwrap();
        prop_assert_eq!(serde_json::from_str::<Problem>(&text).unwrap(), given.clone());
        prop_assert_eq!(solve(&given).unwrap(), outcome);
    }

    #[test]
    fn on_flat_parts_the_forces_of_all_joints_balance_the_load(mut array in arrays()) {
        array.gap_map = GapMap::Flat;
        let weight: f64 = array.joints.iter()
            .map(|k| f64::from(k.count) * 7000.0 * GRAVITY * array_volume(k))
            .sum();
        let load = array.carried_mass * GRAVITY + array.extra_force + 0.5 * weight;
        let outcome = solve(&problem(array)).unwrap();
        let Some(rest) = &outcome.bumps else { return Ok(()) };
        prop_assume!(rest.open_joints == 0.0 && outcome.figure("stand_off").unwrap().outside.is_none());
        let forces: Vec<f64> = rest.kinds.iter().map(|k| f64::from(k.count) * k.force).collect();
        let size = forces.iter().map(|f| f.abs()).sum::<f64>() + load.abs();
        prop_assert!((forces.iter().sum::<f64>() - load).abs() < 1e-8 * size, "{:?} against {}", forces, load);
        prop_assert!((rest.load - (load - 0.5 * weight)).abs() < 1e-12 * size);
        let stiffness: f64 = rest.kinds.iter().map(|k| f64::from(k.count) * k.vertical_stiffness).sum();
        prop_assert!((stiffness / rest.vertical_stiffness_total - 1.0).abs() < 1e-9);
        // Every kind fills the same gap.
        for (kind, metal) in rest.kinds.iter().map(|k| (k, rest.stand_off - k.height)) {
            prop_assert!((metal - (rest.stand_off - rest.kinds[0].height)).abs() < 1e-15, "{}", kind.name);
        }
    }

    #[test]
    fn more_load_lowers_the_part_and_more_solder_lifts_it(array in arrays(), more in 1.02..1.2_f64) {
        let mut flat = array;
        flat.gap_map = GapMap::Flat;
        flat.joints.truncate(1);
        flat.extra_force = flat.extra_force.abs();
        let gap = |array: Array| solve(&problem(array)).unwrap().bumps.map(|b| b.stand_off);
        let mut heavy = flat.clone();
        heavy.extra_force = more * heavy.extra_force + 1e-6;
        let mut full = flat.clone();
        full.joints[0].upper_solder = vec![Supply::Volume(array_volume(&full.joints[0]) * more)];
        let (light, heavy, full) = (gap(flat), gap(heavy), gap(full));
        // A part that its joints cannot carry has no gap; more load only presses it flat.
        prop_assume!(light.is_some());
        prop_assert!(heavy < light, "{:?} {:?}", heavy, light);
        prop_assert!(full > light, "{:?} {:?}", full, light);
    }

    #[test]
    fn lengths_and_forces_scale(array in arrays(), factor in 0.5..2.0_f64) {
        let mut small = array;
        small.gap_map = GapMap::Flat;
        small.carried_mass = 0.0;
        small.extra_force = small.extra_force.abs();
        small.solder.density_liquid = 100.0;
        let mut large = small.clone();
        large.pitch *= factor;
        large.extra_force *= factor;
        large.solder.density_liquid /= factor * factor;
        prop_assume!((100.0..3e4).contains(&large.solder.density_liquid));
        for kind in &mut large.joints {
            kind.upper_diameter *= factor;
            kind.lower_diameter *= factor;
            kind.upper_metal *= factor;
            kind.upper_solder = vec![Supply::Volume(array_volume(kind) * factor.powi(3))];
        }
        let solved = [small, large].map(|array| solve(&problem(array)).unwrap().bumps);
        if let [Some(small), Some(large)] = solved {
            prop_assert!((large.stand_off - factor * small.stand_off).abs() < 1e-9 * small.kinds[0].height);
            prop_assert!((large.vertical_stiffness_total / small.vertical_stiffness_total - 1.0).abs() < 1e-7);
        }
    }

    #[test]
    fn numbers_without_meaning_are_refused_and_never_solved(
        place in 0usize..9, bad in prop::sample::select(vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300]),
    ) {
        let mut given = problem(bumps(100, 469_144.5, 1e-5));
        let array = given.bumps.as_mut().unwrap();
        match place {
            0 => array.solder.surface_tension = bad,
            1 => array.solder.density_liquid = bad,
            2 => array.pitch = bad,
            3 => array.carried_mass = bad,
            4 => array.extra_force = bad,
            5 => array.joints[0].upper_diameter = bad,
            6 => array.joints[0].upper_solder = vec![Supply::Volume(bad)],
            7 => array.gap_map = GapMap::Samples(vec![0.0, bad]),
            _ => given.reflow.as_mut().unwrap().peak = bad,
        }
        let refusal = solve(&given).unwrap_err().to_string();
        prop_assert!(refusal.contains("allowed") || refusal.contains("must"), "{}", refusal);
    }
}

fn array_volume(kind: &Kind) -> f64 {
    kind.upper_solder.iter().map(Supply::volume).sum()
}

#[test]
fn a_peak_below_the_liquidus_melts_nothing_and_gives_no_shape() {
    let mut given = problem(bumps(1000, 469_144.5, 1e-5));
    given.reflow = Some(reflow(480.0));
    let outcome = solve(&given).unwrap();
    has_no_shape(&outcome);
    assert!(
        outcome.notes.iter().any(|n| n.contains("does not melt") && n.contains("14 K")),
        "{:?}",
        outcome.notes
    );
    assert_eq!(outcome.figure("time_above_liquidus").map(|f| f.value), Some(0.0));
}

#[test]
fn no_solder_is_refused_with_its_place() {
    for supplies in [
        vec![],
        vec![Supply::Volume(0.0)],
        vec![Supply::Volume(-1e-15)],
        vec![Supply::Ball { diameter: 0.0 }],
    ] {
        let mut array = bumps(1000, 469_144.5, 1e-5);
        array.joints[0].upper_solder = supplies;
        let refusal = solve(&problem(array)).unwrap_err().to_string();
        assert!(refusal.contains("bumps \"signal\": solder"), "{refusal}");
    }
    // A breath of solder on a wide pad is no joint either.
    let refusal = solve(&problem(bumps(1000, 1e-3, 1e-5))).unwrap_err().to_string();
    assert!(refusal.contains("solder volume over the cube"), "{refusal}");
}

#[test]
fn a_huge_mass_presses_the_solder_over_the_pads_and_every_shape_says_so() {
    let mut crushed = 0;
    for mass in [2e-3, 2.5e-3, 1e-2, 1.0, 100.0] {
        let outcome = solve(&problem(bumps(100, 469_144.5, mass))).unwrap();
        finite(&outcome);
        let Some(rest) = &outcome.bumps else {
            has_no_shape(&outcome);
            assert!(outcome.notes.iter().any(|n| n.contains("pressed flat")), "{:?}", outcome.notes);
            crushed += 1;
            continue;
        };
        let figure = outcome.figure("stand_off").unwrap();
        assert!(figure.outside.as_ref().is_some_and(|s| s.contains("180 degrees")), "{mass} kg: {rest:?}");
        assert!(rest.stand_off > 0.0, "{mass} kg: the part goes through the other to {:e} m", rest.stand_off);
    }
    assert!((3..5).contains(&crushed), "{crushed} of five are pressed flat");
}

#[test]
fn more_lift_than_the_liquid_holds_gives_no_shape() {
    let mut array = bumps(1000, 469_144.5, 0.0);
    array.extra_force = -1.0;
    let outcome = solve(&problem(array)).unwrap();
    has_no_shape(&outcome);
    assert!(outcome.notes.iter().any(|n| n.contains("lower it")), "{:?}", outcome.notes);
}

#[test]
fn a_lifted_part_hangs_on_all_its_joints() {
    let mut array = bumps(1000, 469_144.5, 1e-6);
    array.extra_force = -5e-3;
    let outcome = solve(&problem(array)).unwrap();
    finite(&outcome);
    assert!(outcome.bumps.is_some_and(|b| b.kinds[0].force < 0.0));
    // No joint carries it, those with more solder neither.
    assert!(outcome.notes.iter().all(|n| !n.contains("carry the part")), "{:?}", outcome.notes);
}

#[test]
fn the_hand_check_is_that_of_the_kind_that_is_there() {
    let mut array = bumps(1000, 469_144.5, 1e-5);
    let mut absent = kind("spare", 0, 80e-6, 80e-6, 469_144.5);
    absent.upper_metal = 40e-6;
    array.joints.insert(0, absent);
    let outcome = solve(&problem(array)).unwrap();
    for name in ["stand_off", "joint_height"] {
        let figure = outcome.figure(name).unwrap();
        assert!((figure.hand.unwrap() / figure.value - 1.0).abs() < 1e-3, "{figure:?}");
    }
}

#[test]
fn a_reversed_bow_opens_the_other_joints() {
    let bow = |curvature: f64| {
        let mut array = bumps(1000, 469_144.5, 1e-5);
        array.gap_map = GapMap::Bow {
            curvature_x: curvature,
            curvature_y: curvature,
            half_width: 5e-3,
            half_height: 5e-3,
        };
        let outcome = solve(&problem(array)).unwrap();
        finite(&outcome);
        outcome
    };
    for strength in [0.05, 0.2, 0.5] {
        let (corner_wide, corner_narrow) = (bow(strength), bow(-strength));
        let [Some(wide), Some(narrow)] = [&corner_wide.bumps, &corner_narrow.bumps] else {
            panic!("{strength}: an array that touches somewhere rests");
        };
        // Deviations change their sign, so that the widest place of one is the narrowest of the other.
        let reach = |a: &ArrayOutcome| [a.stand_off_least - a.stand_off, a.stand_off_most - a.stand_off];
        let ([low, high], [reversed_low, reversed_high]) = (reach(wide), reach(narrow));
        assert!((low + reversed_high).abs() < 1e-9 * high && (high + reversed_low).abs() < 1e-9 * high);
        let margin = |o: &Outcome| o.figure("non_wet_margin").map(|f| f.value);
        assert!(margin(&corner_wide) < margin(&corner_narrow), "the far corners are the widest place");
    }
    for strength in [1.5, 3.0, 100.0, 1e4, -3.0, -1e4] {
        let outcome = bow(strength);
        match &outcome.bumps {
            Some(rest) => {
                assert!(rest.open_joints > 0.0 && rest.stand_off_least > 0.0, "{strength}: {rest:?}")
            }
            None => has_no_shape(&outcome),
        }
    }
}

#[test]
fn every_body_has_a_class_or_is_refused() {
    for (thickness, class) in [(1e-9, 260.0), (1.2e-3, 260.0), (1.0, 245.0)] {
        let mut given = problem(bumps(100, 469_144.5, 1e-5));
        given.body = Some(Body { width: 12e-3, height: 12e-3, thickness });
        assert_eq!(solve(&given).unwrap().figure("classification_temperature").unwrap().value, class);
    }
    let mut given = problem(bumps(100, 469_144.5, 1e-5));
    given.body = Some(Body { width: 12e-3, height: 0.0, thickness: 1e-3 });
    assert!(solve(&given).unwrap_err().to_string().contains("body height"));
}

#[test]
fn nothing_to_solve_is_refused() {
    let refusal = solve(&Problem::default()).unwrap_err().to_string();
    assert!(refusal.contains("neither bumps nor balls"), "{refusal}");
    let refusal = solve(&problem(bumps(0, 469_144.5, 1e-5))).unwrap_err().to_string();
    assert!(refusal.contains("count above zero"), "{refusal}");
}

#[test]
fn the_gap_is_uncertain_by_bump_height_bow_and_tension() {
    let array = |height_shortfall: f64, curvature_x: f64, range: Option<[f64; 2]>| {
        let mut array = bumps(400, 150_000.0, 1e-6);
        array.joints[0].upper_solder = vec![Supply::Reflowed { pad: 80e-6, height: 60e-6 }];
        array.height_shortfall = height_shortfall;
        array.solder.surface_tension_range = range;
        array.gap_map = GapMap::Bow { curvature_x, curvature_y: 0.0, half_width: 2e-3, half_height: 2e-3 };
        let outcome = solve(&Problem { bumps: Some(array), ..Problem::default() }).unwrap();
        outcome.bumps.unwrap()
    };
    let flat = array(0.0, 0.0, None).stand_off_spread;
    assert_eq!(flat.total(), 0.0);
    // A shortfall of 6 um is three deviations: beside it the same bumps lower by one.
    let by_height = array(6e-6, 0.0, None);
    let mut lower = bumps(400, 150_000.0, 1e-6);
    lower.joints[0].upper_solder = vec![Supply::Reflowed { pad: 80e-6, height: 58e-6 }];
    let lower = solve(&Problem { bumps: Some(lower), ..Problem::default() }).unwrap().bumps.unwrap();
    let expected = by_height.stand_off - lower.stand_off;
    assert!(expected > 0.2e-6 && expected < 4e-6, "{expected}");
    assert!((by_height.stand_off_spread.total() / expected - 1.0).abs() < 1e-6, "{by_height:?}");
    // Of the parabola k x^2 / 2 over a width of 2 a: k a^2 / 2 times the root of 4/45. The levels are bins of it.
    let bow = array(0.0, 1.0, None).stand_off_spread;
    let expected = 0.5 * 4e-6 * (4.0 / 45.0_f64).sqrt();
    assert!((bow.total() / expected - 1.0).abs() < 0.02, "{bow:?} {expected}");
    // A heavier part sinks deeper where the tension is lower.
    let tension = array(0.0, 0.0, Some([0.4, 0.6])).stand_off_spread;
    assert!(tension.tension > 0.0 && tension.total() == tension.tension, "{tension:?}");
}
