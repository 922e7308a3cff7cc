//! Whole problems: what must hold for every package, and what is refused.

use facedown_warpage::problem::*;
use facedown_warpage::{Outcome, Refusal, check, solve, specimen};
use proptest::prelude::*;

fn figure(outcome: &Outcome, name: &str) -> f64 {
    outcome.figures.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("{name}")).value
}

fn sound(outcome: &Outcome) {
    for f in &outcome.figures {
        assert!(f.value.is_finite(), "{}", f.name);
        assert!(f.hand.is_none_or(f64::is_finite), "{}", f.name);
        if let Some([low, high]) = f.between {
            assert!(low <= f.value && f.value <= high, "{}", f.name);
        }
    }
    for stage in &outcome.stages {
        assert!(stage.warpage_body_m.is_finite() && stage.curvature.iter().all(|c| c.is_finite()));
    }
    let text = serde_json::to_string(outcome).expect("plain data");
    // What is not a number would come back as null in these lists.
    let value: serde_json::Value = serde_json::from_str(&text).expect("its own text");
    for list in ["curve", "profiles", "gaps", "edges", "bond_lines", "figures"] {
        let text = value[list].to_string();
        let text = ["error", "hand", "outside", "between"]
            .iter()
            .fold(text, |t, key| t.replace(&format!("\"{key}\":null"), ""));
        assert!(!text.contains("null"), "{list}: {text}");
    }
}

/// Every solid of a problem.
fn for_solids(p: &mut Problem, change: &mut dyn FnMut(&mut Solid)) {
    let plate = |plate: &mut Plate, change: &mut dyn FnMut(&mut Solid)| {
        for layer in &mut plate.layers {
            change(&mut layer.solid);
            layer.metal.iter_mut().for_each(|m| change(&mut m.solid));
        }
    };
    plate(&mut p.substrate.plate, change);
    for die in &mut p.dies {
        plate(&mut die.plate, change);
        change(&mut die.joints.joint);
        die.joints.underfill.iter_mut().for_each(|u| change(&mut u.solid));
        die.interface.iter_mut().for_each(|l| change(&mut l.solid));
    }
    if let Some(c) = &mut p.cover {
        change(&mut c.solid);
        change(&mut c.adhesive.solid);
    }
}

#[test]
fn the_specimens_are_sound() {
    for problem in [specimen::bare(), specimen::ringed(), specimen::lidded(), specimen::module()] {
        let outcome = solve(&problem).unwrap();
        sound(&outcome);
        for name in [
            "warpage_room",
            "warpage_peak",
            "warpage_max_hot",
            "permissible_warpage",
            "ball_coplanarity",
            "die_stress_max",
            "die_failure_probability",
            "underfill_shear_max",
            "underfill_peel_max",
        ] {
            let value = figure(&outcome, name);
            assert!(value >= 0.0 || name.starts_with("warpage_"), "{name} {value}");
        }
        assert_eq!(
            outcome.figures.iter().any(|f| f.name == "bond_line_spread"),
            !outcome.bond_lines.is_empty()
        );
        assert_eq!(outcome.gaps.len(), outcome.edges.len());
        assert!(outcome.curve.windows(2).all(|w| w[0].temperature_k < w[1].temperature_k));
        for f in &outcome.figures {
            assert!(!f.basis.contains('\n') && !f.basis.contains("  "), "{}", f.basis);
        }
    }
}

#[test]
fn a_bare_package_is_convex_cold_and_concave_hot_and_a_ring_flattens_it() {
    let (bare, ringed) = (solve(&specimen::bare()).unwrap(), solve(&specimen::ringed()).unwrap());
    assert!(figure(&bare, "warpage_room") > 0.0 && figure(&bare, "warpage_peak") < 0.0);
    assert!(figure(&ringed, "warpage_room").abs() < 0.6 * figure(&bare, "warpage_room"));
}

#[test]
fn one_expansion_for_all_bends_nothing() {
    let mut p = specimen::lidded();
    for_solids(&mut p, &mut |s| {
        s.expansion = vec![(300.0, 15e-6)];
        s.poisson = 0.3;
    });
    p.dies[0].joints.underfill.as_mut().unwrap().shrinkage_after_gel = 0.0;
    // Glue and interface swell between their faces by more than their own expansion: without that nothing is left.
    for solid in
        [&mut p.cover.as_mut().unwrap().adhesive.solid, &mut p.dies[0].interface.as_mut().unwrap().solid]
    {
        solid.poisson = 0.0;
    }
    p.cover.as_mut().unwrap().foot_m = p.dies[0].joints.gap_m + p.dies[0].plate.thickness_m() + 40e-6 - 75e-6;
    let outcome = solve(&p).unwrap();
    sound(&outcome);
    for c in &outcome.curve {
        assert!(c.warpage_m.abs() < 1e-11, "{} at {}", c.warpage_m, c.temperature_k);
    }
    assert!(figure(&outcome, "die_stress_max") < 1e-3);
    assert!(figure(&outcome, "underfill_shear_max") < 1e-6);
}

#[test]
fn bumps_may_freeze_above_the_reflow_or_below_the_cure() {
    let mut p = specimen::ringed();
    (p.process.bump_solidus_k, p.process.bump_liquidus_k) = (581.15, 585.15);
    let high = solve(&p).unwrap();
    sound(&high);
    let last = high.curve.last().unwrap();
    assert!((last.temperature_k - p.process.reflow_peak_k).abs() < 1e-9);
    (p.process.bump_solidus_k, p.process.bump_liquidus_k) = (411.15, 411.15);
    let low = solve(&p).unwrap();
    sound(&low);
    // What such joints held before the cure is lost, whatever share is said to creep.
    p.process.crept_in_cure = 0.0;
    assert_eq!(solve(&p).unwrap().curve, low.curve);
    assert!(low.notes.iter().any(|n| n.contains("not solid at the cure")));
}

#[test]
fn bare_joints_below_an_interposer_hold_its_dies_too() {
    let mut p = specimen::module();
    p.interposer.as_mut().unwrap().joints.underfill = None;
    let below = solve(&p).unwrap();
    sound(&below);
    for d in &mut p.dies {
        d.joints.underfill = None;
    }
    let bare = solve(&p).unwrap();
    sound(&bare);
    for outcome in [&below, &bare] {
        // The dies shear their joints however the interposer stands on its own.
        assert!(
            outcome.edges.iter().all(|e| e.shear_max_pa > 1e5 && e.decay_length_m < 10e-3),
            "{:?}",
            outcome.edges
        );
    }
    assert!(bare.notes.iter().any(|n| n.starts_with("Stress-free") && !n.contains("underfill")));
    assert!(
        bare.stages.iter().all(|s| s.name != "underfill")
            && below.stages.iter().any(|s| s.name == "underfill")
    );
}

#[test]
fn a_received_bow_is_carried() {
    let mut p = specimen::bare();
    let flat = solve(&p).unwrap();
    p.substrate.received_bow_m = Some(60e-6);
    let bowed = solve(&p).unwrap();
    let body = |o: &Outcome, k: usize| o.stages[k].warpage_body_m;
    assert!((body(&bowed, 0) - 60e-6).abs() < 1e-9);
    let last = flat.stages.len() - 1;
    assert!((body(&bowed, last) - body(&flat, last) - 60e-6).abs() < 1e-6);
    assert!(bowed.notes.iter().all(|n| !n.starts_with("No bow")));
}

#[test]
fn the_number_of_threads_changes_no_bit() {
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| serde_json::to_string(&solve(&specimen::lidded()).unwrap()).unwrap())
    };
    let one = on(1);
    assert!([2, 3, 7].into_iter().all(|n| on(n) == one));
}

#[test]
fn a_turned_package_gives_the_same_turned() {
    let mut p = specimen::module();
    let there = solve(&p).unwrap();
    let swap = |plate: &mut Plate| std::mem::swap(&mut plate.width_m, &mut plate.height_m);
    swap(&mut p.substrate.plate);
    let i = p.interposer.as_mut().unwrap();
    swap(&mut i.plate);
    i.at_m.swap(0, 1);
    i.joints.extent_m.swap(0, 1);
    for d in &mut p.dies {
        swap(&mut d.plate);
        d.at_m.swap(0, 1);
        d.joints.extent_m.swap(0, 1);
    }
    p.balls.as_mut().unwrap().extent_m.swap(0, 1);
    let here = solve(&p).unwrap();
    for name in ["warpage_room", "warpage_peak", "die_stress_max", "underfill_shear_max"] {
        let (a, b) = (figure(&there, name), figure(&here, name));
        assert!((a / b - 1.0).abs() < 1e-6, "{name} {a} {b}");
    }
    let (a, b) = (&there.stages[2].curvature, &here.stages[2].curvature);
    assert!((a[0] / b[1] - 1.0).abs() < 1e-6 && (a[1] / b[0] - 1.0).abs() < 1e-6);
}

#[test]
fn every_refusal_says_where() {
    type Change = fn(&mut Problem);
    let cases: [(Change, &str); 12] = [
        (|p| p.dies.clear(), "the die is missing"),
        (|p| p.dies[0].plate.layers.clear(), "the layers of die main"),
        (|p| p.dies[0].at_m = [20e-3, 0.0], "die main reaches over the edge of the substrate"),
        (|p| p.dies[0].plate.layers[0].solid.modulus = vec![(300.0, 0.0)], "the modulus of silicon"),
        (|p| p.dies[0].plate.layers[0].solid.expansion.clear(), "the expansion of silicon"),
        (|p| p.dies[0].plate.layers[0].solid.poisson = 0.5, "Poisson's ratio of silicon"),
        (|p| p.dies[0].joints.gap_m = f64::NAN, "the gap under die main is NaN"),
        (|p| p.substrate.received_bow_m = Some(f64::INFINITY), "the received bow"),
        (|p| p.process.room_k = 25.0, "the room temperature is 25"),
        (|p| p.process.reflow_peak_k = 400.0, "the peak of the reflow"),
        (|p| p.cover.as_mut().unwrap().band_m = 11e-3, "overlap"),
        (|p| p.balls.as_mut().unwrap().extent_m[0] = 1.5, "the extent of the ball field"),
    ];
    for (change, words) in cases {
        let mut p = specimen::ringed();
        change(&mut p);
        let refusal = solve(&p).unwrap_err();
        assert_eq!(check(&p).unwrap_err().to_string(), refusal.to_string());
        assert!(refusal.to_string().contains(words), "{refusal} / {words}");
    }
    let mut p = specimen::module();
    p.dies[1].at_m = [0.0; 2];
    assert!(matches!(solve(&p), Err(Refusal::Overlap { .. })));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    /// Whatever passes the door gives finite numbers or a clear refusal.
    #[test]
    fn far_fetched_packages_give_numbers_or_a_refusal(
        kind in 0..3usize,
        die in 0.3..25.0_f64,
        thick in -2.3..0.5_f64,
        core in -2.0..0.7_f64,
        soft in -5.0..1.0_f64,
        share in 1e-6..1.0_f64,
        gap in -6.5..-3.5_f64,
        filled in any::<bool>(),
        crept in 0.0..=1.0_f64,
    ) {
        let mut p = match kind {
            0 => specimen::bare(),
            1 => specimen::ringed(),
            _ => specimen::lidded(),
        };
        let d = &mut p.dies[0];
        d.plate.width_m = die * 1e-3;
        d.plate.height_m = die * 0.8e-3;
        d.plate.layers[0].thickness_m = 10f64.powf(thick) * 1e-3;
        d.joints.extent_m = [die * 0.7e-3, die * 0.7e-3];
        d.joints.share = share;
        d.joints.gap_m = 10f64.powf(gap);
        if filled {
            let u = d.joints.underfill.as_mut().unwrap();
            u.solid.modulus.iter_mut().for_each(|m| m.1 = (m.1 * 10f64.powf(soft)).max(1e3));
        } else {
            d.joints.underfill = None;
        }
        p.substrate.plate.layers[3].thickness_m = 10f64.powf(core) * 1e-3;
        p.process.crept_in_cure = crept;
        match solve(&p) {
            Ok(outcome) => sound(&outcome),
            Err(refusal) => prop_assert!(!refusal.to_string().is_empty()),
        }
    }

    /// Twice every length gives twice the warpage and the same stress.
    #[test]
    fn lengths_scale(factor in 0.3..3.0_f64) {
        let small = specimen::ringed();
        let mut large = small.clone();
        let scale = |v: &mut f64| *v *= factor;
        for plate in [&mut large.substrate.plate, &mut large.dies[0].plate] {
            scale(&mut plate.width_m);
            scale(&mut plate.height_m);
            plate.layers.iter_mut().for_each(|l| scale(&mut l.thickness_m));
        }
        let d = &mut large.dies[0];
        scale(&mut d.joints.gap_m);
        d.joints.extent_m.iter_mut().for_each(scale);
        let c = large.cover.as_mut().unwrap();
        for v in [&mut c.width_m, &mut c.height_m, &mut c.thickness_m, &mut c.band_m, &mut c.adhesive.thickness_m] {
            scale(v);
        }
        large.balls.as_mut().unwrap().extent_m.iter_mut().for_each(scale);
        let (a, b) = (solve(&small).unwrap(), solve(&large).unwrap());
        for name in ["warpage_room", "warpage_peak"] {
            prop_assert!((figure(&b, name) / figure(&a, name) / factor - 1.0).abs() < 1e-6);
        }
        for name in ["die_stress_max", "underfill_shear_max"] {
            prop_assert!((figure(&b, name) / figure(&a, name) - 1.0).abs() < 1e-6);
        }
    }
}
