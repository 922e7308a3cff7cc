//! Whole problems: monotone where physics is, honest where the gap does not fill, and never a number that is none.
#![allow(clippy::unwrap_used)]

use facedown_underfill::treatment::FirstOrder;
use facedown_underfill::*;
use proptest::prelude::*;

fn figure(outcome: &Outcome, name: &str) -> Option<f64> {
    outcome.figures.iter().find(|f| f.name == name).map(|f| f.value)
}

fn stated(degrees: f64) -> Option<Angle> {
    Some(Angle { angle_rad: degrees.to_radians(), spread_rad: 0.05 })
}

fn sound(outcome: &Outcome) {
    for f in &outcome.figures {
        assert!(
            f.value.is_finite() && f.error.is_none_or(f64::is_finite) && f.hand.is_none_or(f64::is_finite),
            "{f:?}"
        );
        assert!(f.between.is_none_or(|b| b[0].is_finite() && b[0] <= b[1]), "{f:?}");
        assert!(!f.basis.is_empty());
    }
    for p in outcome.front.windows(2) {
        assert!(p[0].time_s <= p[1].time_s && p[0].filled <= p[1].filled + 1e-12, "{p:?}");
    }
    assert!(outcome.front.iter().all(|p| (0.0..=1.0).contains(&p.filled) && p.time_s.is_finite()));
    assert!((0.0..=1.0).contains(&outcome.cure_degree));
    assert_eq!(outcome.fills, outcome.fill_time_s.is_some());
    assert_eq!(figure(outcome, "fill_time").is_some(), outcome.fills);
    if let Some(end) = outcome.front.last().filter(|_| outcome.fills) {
        assert!((end.filled - 1.0).abs() < 1e-12 && Some(end.time_s) == outcome.fill_time_s);
    }
    for text in outcome.notes.iter().chain(&outcome.advice).chain(outcome.limits.values()) {
        assert!(!text.contains("NaN") && !text.contains("inf ") && !text.contains('!'), "{text}");
    }
}

#[test]
fn a_clean_die_fills_and_every_figure_of_the_list_is_there() {
    let outcome = solve(&specimen::wetting()).unwrap();
    sound(&outcome);
    for name in [
        "contact_angle",
        "driving_pressure",
        "driving_pressure_least",
        "permeability",
        "fill_time",
        "gel_time",
        "gel_margin",
        "void_area_fraction",
        "dispense_volume",
        "fillet_height",
        "fillet_width",
        "dispense_passes",
        "cure_degree",
    ] {
        assert!(figure(&outcome, name).is_some(), "{name}");
    }
    assert!(outcome.limits.contains_key("fill_time") && outcome.sheet.len() > 8);
    let cautions: String = outcome.sheet.iter().map(|l| l.caution.as_str()).collect();
    assert!(
        cautions.contains("Radio-frequency")
            && cautions.contains("Uncured epoxy")
            && cautions.contains("burn")
    );
    let gel = outcome.gel_temperature_k.unwrap();
    assert!(gel > 363.15 && gel <= 423.15);
}

#[test]
fn hand_worked_a_bare_gap_by_one_line_is_washburn() {
    // 6 mu L^2 / (gap tension (cos 20 + cos 30)) with L = 6.4 mm.
    let mut p = specimen::wetting();
    (p.bumps, p.dispense.pattern) = (None, Pattern::Line);
    let outcome = solve(&p).unwrap();
    let by_hand = 6.0 * 0.15 * 6.4e-3 * 6.4e-3
        / (100e-6 * 0.032 * (20f64.to_radians().cos() + 30f64.to_radians().cos()));
    assert!(
        (outcome.fill_time_s.unwrap() / by_hand - 1.0).abs() < 2e-3,
        "{:?} {by_hand}",
        outcome.fill_time_s
    );
    // The gap of 7.2 x 6.4 x 0.1 mm holds 4.608 mm3.
    assert!((outcome.gap_volume_m3 * 1e9 - 4.608).abs() < 1e-9);
    assert_eq!(outcome.void_area_fraction, Some(0.0));
}

#[test]
fn readings_give_the_energy_and_plasma_helps() {
    let with = solve(&specimen::with_readings()).unwrap();
    sound(&with);
    assert!(figure(&with, "surface_energy").unwrap() > 40.0 && figure(&with, "queue_limit").unwrap() > 0.0);
    assert!(with.angles.iter().any(|a| a.face == Face::Substrate && a.from.contains("readings")));
    let mut without = specimen::with_readings();
    without.plasma = None;
    let without = solve(&without).unwrap();
    assert!(figure(&without, "surface_energy").unwrap() < figure(&with, "surface_energy").unwrap());
    let mut fresh = specimen::with_readings();
    fresh.queue_s = 0.0;
    assert!(figure(&solve(&fresh).unwrap(), "water_angle").unwrap() < figure(&with, "water_angle").unwrap());
}

#[test]
fn ageing_is_read_from_one_dose_and_not_from_another() {
    // Readings of exact laws: two fresh doses, of which the second was read at three ages.
    let dose = FirstOrder { start_rad: 1.3, end_rad: 0.2, rate: 6e-5 };
    let aged = FirstOrder { start_rad: dose.after(27_000.0), end_rad: 1.3, rate: 1.0 / 80_000.0 };
    let mut p = specimen::with_readings();
    let like = p.readings[0].clone();
    let read = |dose_j: f64, age_s: f64, angle_rad: f64| Reading { dose_j, age_s, angle_rad, ..like.clone() };
    p.readings = vec![read(0.0, 0.0, dose.start_rad), read(9_000.0, 0.0, dose.after(9_000.0))];
    p.readings.extend([0.0, 20_000.0, 90_000.0].map(|age| read(27_000.0, age, aged.after(age))));
    p.angle_substrate = stated(30.0);
    let outcome = solve(&p).unwrap();
    let water = figure(&outcome, "water_angle").unwrap().to_radians();
    assert!((water - aged.after(7200.0)).abs() < 1e-4, "{water} for {}", aged.after(7200.0));
    let hours = aged.dose_for(30_f64.to_radians()).unwrap() / 3600.0;
    assert!((figure(&outcome, "queue_limit").unwrap() / hours - 1.0).abs() < 1e-3);
}

#[test]
fn where_nothing_draws_it_in_it_does_not_fill_and_says_so() {
    let mut p = specimen::wetting();
    (p.angle_die, p.angle_substrate, p.angle_bump) = (stated(120.0), stated(120.0), stated(120.0));
    let outcome = solve(&p).unwrap();
    sound(&outcome);
    assert!(!outcome.fills && outcome.notes.iter().any(|n| n.starts_with("Does not fill")));
    assert!(
        outcome.limits["fill_time"].contains("driving pressure")
            && figure(&outcome, "void_area_fraction").is_none()
    );
    // Faces that wet and bumps that repel strongly stop the front at the first row.
    let mut p = specimen::wetting();
    (p.angle_die, p.angle_substrate, p.angle_bump) = (stated(85.0), stated(85.0), stated(150.0));
    let outcome = solve(&p).unwrap();
    assert!(!outcome.fills && outcome.limits["fill_time"].contains("between the bumps"));
}

#[test]
fn too_little_underfill_and_gel_before_fill_are_verdicts() {
    let mut p = specimen::wetting();
    p.dispense.volume_m3 = Some(2e-9);
    let outcome = solve(&p).unwrap();
    sound(&outcome);
    assert!(!outcome.fills && outcome.limits["fill_time"].contains("mm3"));
    assert!((outcome.front.last().unwrap().filled - 2e-9 / outcome.gap_volume_m3).abs() < 1e-9);
    let mut p = specimen::wetting();
    p.liquid.kinetics = Some(cure::Kinetics {
        a1_per_s: 0.5,
        e1_j_mol: 0.0,
        a2_per_s: 0.0,
        e2_j_mol: 0.0,
        m: 1.0,
        n: 1.0,
        start: 0.0,
        gel: 0.6,
    });
    let outcome = solve(&p).unwrap();
    sound(&outcome);
    assert!(!outcome.fills && outcome.limits["gel_margin"].contains("gels"));
}

#[test]
fn passes_with_long_waits_set_the_fill_time() {
    let mut p = specimen::wetting();
    (p.dispense.passes, p.dispense.wait_s) = (3, 60.0);
    p.fillet = Some(Fillet { height_m: 1e-6, width_m: 1e-6 });
    let outcome = solve(&p).unwrap();
    sound(&outcome);
    assert!(outcome.fill_time_s.unwrap() > 120.0 && outcome.limits["fill_time"].contains("wait"));
    // Quick passes change nothing.
    p.dispense.wait_s = 1e-3;
    let quick = solve(&p).unwrap().fill_time_s.unwrap();
    p.dispense.passes = 1;
    assert!((solve(&p).unwrap().fill_time_s.unwrap() / quick - 1.0).abs() < 1e-6);
}

#[test]
fn input_that_cannot_be_is_refused_in_words() {
    let refused = |change: &dyn Fn(&mut Problem)| {
        let mut p = specimen::wetting();
        change(&mut p);
        solve(&p).unwrap_err()
    };
    assert!(matches!(refused(&|p| p.gap_m = f64::NAN), Refusal::NotPhysical { .. }));
    assert!(matches!(refused(&|p| p.die.width_m = -1.0), Refusal::NotPhysical { .. }));
    assert!(matches!(refused(&|p| p.liquid.viscosity.clear()), Refusal::NotPhysical { .. }));
    assert!(matches!(refused(&|p| p.angle_die = stated(200.0)), Refusal::NotPhysical { .. }));
    assert!(matches!(refused(&|p| p.dispense.passes = 0), Refusal::NotPhysical { .. }));
    assert!(matches!(refused(&|p| p.dispense.volume_m3 = Some(0.0)), Refusal::NotPhysical { .. }));
    let touch = refused(&|p| {
        if let Some(b) = &mut p.bumps {
            b.diameter_m = b.pitch_m;
        }
    });
    assert_eq!(
        touch.to_string(),
        "bumps of 300.0 um at a pitch of 300.0 um touch; allowed are bumps below their pitch"
    );
    assert!(matches!(refused(&|p| p.gap_m = 200e-6), Refusal::LowSphere { .. }));
    assert!(matches!(refused(&|p| p.bumps.as_mut().unwrap().count = 100_000), Refusal::TooManyBumps { .. }));
    let nothing = refused(&|p| (p.angle_die, p.liquid.contact_angle_rad) = (None, None));
    assert_eq!(nothing, Refusal::NoAngle { face: "die" });
}

#[test]
fn a_bump_map_gives_its_regular_field() {
    let places: Vec<[f64; 2]> =
        (0..22 * 19).map(|i| [f64::from(i % 22) * 3e-4, f64::from(i / 22) * 3e-4]).collect();
    let bumps =
        |places| Bumps { places, diameter_m: 1.6e-4, shape: BumpShape::Cylinder, lattice: Lattice::Square };
    let field = BumpField::of_places(bumps(&places)).unwrap();
    assert!(
        (field.pitch_m - 3e-4).abs() < 1e-12 && (field.regularity - 1.0).abs() < 1e-9 && field.count == 418
    );
    assert!(
        (field.covered_width_m - 6.6e-3).abs() < 1e-12 && (field.covered_height_m - 5.7e-3).abs() < 1e-12
    );
    assert!(BumpField::of_places(bumps(&places[..1])).is_none());
    assert!(BumpField::of_places(bumps(&[[0.0, 0.0]; 5])).is_none());
    // A ring is bunched against its mean.
    let ring: Vec<[f64; 2]> =
        places.iter().copied().filter(|p| p[0] < 2e-4 || p[1] < 2e-4 || p[0] > 6.2e-3).collect();
    assert!(BumpField::of_places(bumps(&ring)).unwrap().regularity < 0.8);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn fill_time_follows_viscosity_gap_and_angle(
        viscosity in 0.02..1.0_f64, gap in 30e-6..120e-6_f64, angle in 0.0..70.0_f64, pattern in 0..4_usize,
    ) {
        let mut p = specimen::wetting();
        p.dispense.pattern = [Pattern::Line, Pattern::TwoLines, Pattern::L, Pattern::U][pattern];
        p.liquid.viscosity = vec![(363.15, viscosity)];
        p.gap_m = gap;
        p.angle_die = stated(angle);
        let base = solve(&p).unwrap();
        sound(&base);
        let time = base.fill_time_s.unwrap();
        let mut thick = p.clone();
        thick.liquid.viscosity = vec![(363.15, 1.1 * viscosity)];
        let ratio = solve(&thick).unwrap().fill_time_s.unwrap() / time;
        // Cure adds a little to the plain proportion.
        prop_assert!((1.1 - 1e-9..1.2).contains(&ratio), "{}", ratio);
        let mut dirty = p.clone();
        dirty.angle_die = stated(angle + 5.0);
        prop_assert!(solve(&dirty).unwrap().fill_time_s.unwrap() > time);
        let mut quick = p.clone();
        quick.dispense.temperature_k += 10.0;
        prop_assert!(solve(&quick).unwrap().fill_time_s.unwrap() < time);
    }

    #[test]
    fn extreme_problems_end_in_an_outcome_or_a_refusal(
        numbers in prop::collection::vec(-7.0..2.0_f64, 8), angles in prop::collection::vec(0.0..180.0_f64, 3),
        pattern in 0..4_usize, passes in 1..6_u32, count in 1..100_000_usize, steps in 0..4_usize, spoil in 0..14_usize,
    ) {
        let mut p = specimen::with_readings();
        let ten = |i: usize| 10_f64.powf(numbers[i]);
        p.die = Die { width_m: ten(0), height_m: ten(1), thickness_m: ten(2) };
        p.gap_m = ten(3);
        p.liquid.viscosity = vec![(363.15, ten(4))];
        if let Some(b) = &mut p.bumps {
            (b.pitch_m, b.diameter_m, b.count) = (ten(5), ten(5) * 0.6, count);
            (b.covered_width_m, b.covered_height_m) = (ten(0) * 0.9, ten(1));
            b.shape = if count % 2 == 0 { BumpShape::Cylinder } else { BumpShape::TruncatedSphere };
            b.lattice = if count % 3 == 0 { Lattice::Hexagonal } else { Lattice::Square };
        }
        (p.angle_die, p.angle_substrate, p.angle_bump) = (stated(angles[0]), stated(angles[1]), stated(angles[2]));
        p.dispense.pattern = [Pattern::Line, Pattern::TwoLines, Pattern::L, Pattern::U][pattern];
        (p.dispense.passes, p.dispense.wait_s) = (passes, ten(6).min(1e3));
        p.cure.resize(steps, p.cure[0]);
        match spoil {
            0 => p.bumps = None,
            1 => p.dispense.volume_m3 = Some(ten(7)),
            2 => p.ambient_pa = 0.0,
            3 => p.queue_s = f64::INFINITY,
            4 => p.die.thickness_m = f64::NAN,
            5 => p.dispense.heating = Some((290.0, ten(7))),
            6 => p.readings.iter_mut().for_each(|r| r.angle_rad = 1.0),
            7 => p.angle_substrate = None,
            _ => {}
        }
        if let Ok(outcome) = solve(&p) {
            sound(&outcome);
        }
    }
}
