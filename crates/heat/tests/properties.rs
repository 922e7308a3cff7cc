//! Whole problems: what must hold for every package, and what is refused.

use facedown_heat::problem::*;
use facedown_heat::{Outcome, Refusal, solve, specimen};
use proptest::prelude::*;

fn figure(outcome: &Outcome, name: &str) -> f64 {
    outcome.figures.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("{name}")).value
}

fn sound(outcome: &Outcome) {
    for f in &outcome.figures {
        assert!(f.value.is_finite(), "{}", f.name);
        if let Some([low, high]) = f.between {
            assert!(low <= f.value && f.value <= high, "{}", f.name);
        }
    }
    assert!(figure(outcome, "energy_balance") < 1e-6);
    for path in [&outcome.up, &outcome.down] {
        let total: f64 = path.iter().map(|s| s.kelvins).sum();
        let hottest = outcome.dies.iter().map(|d| d.max_k).fold(f64::MIN, f64::max) - outcome.ambient_k;
        if !path.is_empty() && outcome.dies.len() == 1 {
            assert!((total - hottest).abs() < 1e-6 * hottest + 1e-9, "{total} {hottest}");
        }
    }
}

#[test]
fn the_specimens_are_sound() {
    for problem in [specimen::bare(), specimen::lidded(), specimen::module()] {
        let outcome = solve(&problem).unwrap();
        sound(&outcome);
        for name in [
            "theta_ja",
            "theta_jb",
            "theta_jc_top",
            "psi_jt",
            "psi_jb",
            "junction_max",
            "bump_max",
            "heat_to_board",
        ] {
            assert!(figure(&outcome, name) > 0.0, "{name}");
        }
        assert!(figure(&outcome, "psi_jt") <= figure(&outcome, "theta_jc_top") * 1.5);
        assert!(figure(&outcome, "theta_jma_3") < figure(&outcome, "theta_jma_1"));
        assert!(figure(&outcome, "theta_jma_1") < figure(&outcome, "theta_ja"));
        assert!(figure(&outcome, "theta_ja_two_planes") < figure(&outcome, "theta_ja_no_planes"));
        assert!(outcome.limits["junction_max"].starts_with("set by "));
    }
}

#[test]
fn no_power_gives_metrics_and_the_ambient() {
    let mut problem = specimen::bare();
    problem.dies[0].power_w = 0.0;
    let outcome = solve(&problem).unwrap();
    assert!((figure(&outcome, "junction_max") - (problem.service.ambient_k - 273.15)).abs() < 1e-9);
    assert!(figure(&outcome, "theta_ja") > 1.0);
    assert!(outcome.notes.iter().any(|n| n.contains("no power")));
}

#[test]
fn too_much_power_is_told_and_not_hidden() {
    let mut problem = specimen::bare();
    problem.dies[0].power_w = 2_000.0;
    match solve(&problem) {
        Ok(outcome) => {
            sound(&outcome);
            let hot = outcome.figures.iter().find(|f| f.name == "junction_max").unwrap();
            assert!(hot.outside.is_some() && outcome.notes.iter().any(|n| n.contains("burn")));
        }
        Err(refusal) => assert!(matches!(refusal, Refusal::Unsettled { .. })),
    }
}

#[test]
fn a_lid_helps_in_still_air_and_a_thin_bond_line_helps_the_case() {
    let lidded = specimen::lidded();
    let mut bare = lidded.clone();
    bare.lid = None;
    bare.dies[0].interface = None;
    assert!(figure(&solve(&lidded).unwrap(), "theta_ja") < figure(&solve(&bare).unwrap(), "theta_ja"));
    let mut thin = lidded.clone();
    thin.dies[0].interface.as_mut().unwrap().bond_line = BondLine::Given(20e-6);
    assert!(
        figure(&solve(&thin).unwrap(), "theta_jc_top") < figure(&solve(&lidded).unwrap(), "theta_jc_top")
    );
}

#[test]
fn two_equal_dies_are_equally_warm() {
    let mut problem = specimen::bare();
    let mut left = problem.dies[0].clone();
    (left.width_m, left.at_m) = (3e-3, [-3e-3, 0.0]);
    let mut right = left.clone();
    right.at_m = [3e-3, 0.0];
    problem.dies = vec![left, right];
    let outcome = solve(&problem).unwrap();
    assert!((outcome.dies[0].max_k - outcome.dies[1].max_k).abs() < 1e-6);
}

#[test]
fn a_die_on_a_die_heats_its_host() {
    let mut problem = specimen::bare();
    let alone = solve(&problem).unwrap();
    let mut top = problem.dies[0].clone();
    top.name = "clock".into();
    (top.width_m, top.height_m, top.power_w) = (2e-3, 2e-3, 0.3);
    top.mount = Mount::OnDie { host: 0, attach: vec![Layer::plain("film", 20e-6, 0.3)] };
    problem.dies.push(top);
    let outcome = solve(&problem).unwrap();
    sound(&outcome);
    assert!(outcome.dies[0].mean_k > alone.dies[0].mean_k);
    assert!(outcome.dies[1].mean_k > outcome.dies[0].mean_k);
}

#[test]
fn a_heat_sink_takes_its_place_in_the_path() {
    let sink = |interface| Some(HeatSink { resistance_k_w: 0.5, interface });
    let tim2 = Interface { name: "TIM2".into(), ..specimen::lidded().dies[0].interface.clone().unwrap() };
    for mut problem in [specimen::lidded(), specimen::module(), specimen::bare()] {
        problem.service.top_film = None;
        problem.service.surroundings = Surroundings::StillAir;
        problem.service.heat_sink = sink(None);
        let dry = solve(&problem).unwrap();
        problem.service.heat_sink = sink(Some(tim2.clone()));
        let outcome = solve(&problem).unwrap();
        sound(&outcome);
        assert!(figure(&outcome, "junction_max") > figure(&dry, "junction_max"));
        let last = outcome.up.last().unwrap();
        assert_eq!(last.name, "heat sink to air");
        let through = outcome.films.iter().find(|f| f.face == "top of the package").unwrap().heat_w;
        assert!((last.kelvins / (0.5 * through) - 1.0).abs() < 1e-6, "{} {through}", last.kelvins);
        assert!(outcome.up.iter().any(|s| s.name == "TIM2" && s.kelvins > 0.0));
    }
}

#[test]
fn a_foot_carries_heat_even_under_an_insulated_top() {
    let mut problem = specimen::lidded();
    let with_foot = figure(&solve(&problem).unwrap(), "theta_jb");
    problem.lid.as_mut().unwrap().foot = None;
    assert!(with_foot < figure(&solve(&problem).unwrap(), "theta_jb"));
}

#[test]
fn a_lid_that_no_die_touches_gives_no_case_resistance() {
    let mut problem = specimen::lidded();
    problem.dies[0].interface = None;
    let outcome = solve(&problem).unwrap();
    sound(&outcome);
    assert!(outcome.figures.iter().all(|f| f.name != "theta_jc_top"));
    assert!(outcome.limits["theta_jc_top"].contains("touches no lid"));
}

#[test]
fn nonsense_is_refused() {
    let spoil: [fn(&mut Problem); 14] = [
        |p| p.dies.clear(),
        |p| p.dies[0].width_m = f64::NAN,
        |p| p.dies[0].width_m = 0.1,
        |p| p.dies[0].body.clear(),
        |p| p.dies[0].body[0].thickness_m = -1e-4,
        |p| p.dies[0].power_w = -1.0,
        |p| p.dies[0].body[0].in_plane = vec![(300.0, -2.0)],
        |p| p.dies[0].body[0].in_plane = vec![(400.0, 2.0), (300.0, 2.0)],
        |p| p.substrate.layers.clear(),
        |p| p.balls.fill.clear(),
        |p| p.balls.count = f64::INFINITY,
        |p| p.service.ambient_k = 0.0,
        |p| p.service.top_film = Some(0.0),
        |p| p.dies[0].mount = Mount::OnDie { host: 0, attach: Vec::new() },
    ];
    for (i, spoil) in spoil.into_iter().enumerate() {
        let mut problem = specimen::bare();
        spoil(&mut problem);
        let refusal = solve(&problem).expect_err(&format!("case {i}"));
        assert!(!refusal.to_string().is_empty());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]
    #[test]
    fn random_packages_give_finite_figures(
        power in 0.01..40.0_f64,
        ambient in 233.0..370.0_f64,
        thickness in 50e-6..800e-6_f64,
        size in 1e-3..14e-3_f64,
        speed in 0.0..5.0_f64,
        kind in 0..4_u8,
        lidded in any::<bool>(),
    ) {
        let mut problem = if lidded { specimen::lidded() } else { specimen::bare() };
        let die = &mut problem.dies[0];
        die.power_w = power;
        die.blocks.clear();
        (die.width_m, die.height_m) = (size, 0.8 * size);
        die.body[0].thickness_m = thickness;
        if let Mount::Bumps(b) = &mut die.mount { b.count = 20.0 * size * size / 1e-6; }
        problem.service.ambient_k = ambient;
        problem.service.top_film = None;
        problem.service.surroundings = match kind {
            0 => Surroundings::StillAir,
            1 => Surroundings::MovingAir { speed_m_s: speed },
            2 => Surroundings::RingColdPlate,
            _ => Surroundings::TopColdPlate,
        };
        let outcome = solve(&problem).unwrap();
        sound(&outcome);
        let mut hotter = problem.clone();
        hotter.dies[0].power_w = power * 1.1;
        prop_assert!(figure(&solve(&hotter).unwrap(), "junction_max") > figure(&outcome, "junction_max"));
    }
}

/// A number from very small to very large, sometimes not a number at all.
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => (-9.0..5.0_f64).prop_map(|e| 10.0_f64.powf(e)),
        1 => Just(0.0),
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(-1e-3),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn wild_numbers_are_solved_or_refused(which in 0..16_u8, value in wild(), kind in 0..3_u8) {
        let mut problem = match kind {
            0 => specimen::bare(),
            1 => specimen::lidded(),
            _ => specimen::module(),
        };
        let die = &mut problem.dies[0];
        match which {
            0 => die.width_m = value,
            1 => { die.power_w = value; die.blocks.clear(); }
            2 => die.body[0].thickness_m = value,
            3 => die.body[0].in_plane = vec![(300.0, value)],
            4 => if let Mount::Bumps(b) = &mut die.mount { b.count = value },
            5 => if let Mount::Bumps(b) = &mut die.mount { b.pieces[0].height_m = value },
            6 => if let Some(t) = &mut die.interface { t.conductivity = vec![(300.0, value)] },
            7 => if let Some(t) = &mut die.interface { t.bond_line = BondLine::Pressed { yield_stress_pa: 100.0, pressure_pa: value } },
            8 => problem.substrate.layers[2].thickness_m = value,
            9 => problem.substrate.layers[2].in_plane = vec![(300.0, value)],
            10 => problem.balls.pieces[0].diameter_m = value,
            11 => problem.board.iter_mut().for_each(|b| b.width_m = value),
            12 => problem.lid.iter_mut().for_each(|l| l.thickness_m = value),
            13 => problem.service.top_film = Some(value),
            14 => problem.cold_plate_film = value,
            _ => problem.emissivity.board = value,
        }
        match solve(&problem) {
            Ok(outcome) => sound(&outcome),
            Err(refusal) => prop_assert!(!refusal.to_string().contains("NaN K")),
        }
    }
}

/// What must hold for every outcome of the solver in space.
fn sound_in_space(outcome: &Outcome) {
    for f in &outcome.figures {
        assert!(f.value.is_finite() && f.error.is_none_or(f64::is_finite), "{}", f.name);
    }
    let Some(solid) = &outcome.solid else {
        // Nothing was solved in space: every figure says so.
        assert!(outcome.figures.iter().all(|f| f.outside.is_some()));
        return;
    };
    assert!(figure(outcome, "energy_balance") <= 1e-6);
    for die in &outcome.dies {
        assert!(die.max_k >= die.mean_k - 1e-9 && die.mean_k >= outcome.ambient_k - 1e-6, "{}", die.name);
        assert!([die.mean_k, die.max_k, die.back_k, die.up_w, die.down_w].iter().all(|v| v.is_finite()));
        if die.power_w > 0.0
            && let Some(bump) = die.bump_k
        {
            assert!(die.max_k >= bump - 0.05 * (die.max_k - outcome.ambient_k), "{} {bump}", die.max_k);
        }
    }
    if outcome.dies.len() == 1 {
        assert!(figure(outcome, "junction_max") >= figure(outcome, "bump_max") - 1e-6);
    }
    let hottest = outcome.dies.iter().map(|d| d.max_k).fold(f64::MIN, f64::max);
    for t in solid.blocks.iter().flatten().flatten() {
        assert!(t.is_finite() && *t <= hottest * (1.0 + 1e-12), "{t} {hottest}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(6))]
    #[test]
    fn random_packages_are_sound_in_space(
        power in 0.01..40.0_f64,
        ambient in 233.0..370.0_f64,
        thickness in 50e-6..800e-6_f64,
        size in 1e-3..14e-3_f64,
        place in -0.4..0.4_f64,
        speed in 0.0..5.0_f64,
        kind in 0..4_u8,
        shape in 0..3_u8,
    ) {
        let mut problem = match shape {
            0 => specimen::bare(),
            1 => specimen::lidded(),
            _ => specimen::module(),
        };
        problem.fineness = Some(0.3);
        problem.service.ambient_k = ambient;
        if shape < 2 {
            let on = problem.substrate.width_m;
            let die = &mut problem.dies[0];
            die.power_w = power;
            die.blocks.clear();
            (die.width_m, die.height_m) = (size, 0.8 * size);
            die.at_m = [place * (on - size) * 0.8, 0.0];
            die.body[0].thickness_m = thickness;
            if let Mount::Bumps(b) = &mut die.mount { b.count = 20.0 * size * size / 1e-6; }
            problem.service.top_film = None;
        }
        problem.service.surroundings = match kind {
            0 => Surroundings::StillAir,
            1 => Surroundings::MovingAir { speed_m_s: speed },
            2 => Surroundings::RingColdPlate,
            _ => Surroundings::TopColdPlate,
        };
        let outcome = solve(&problem).unwrap();
        sound_in_space(&outcome);
        prop_assert!(outcome.solid.is_some());
    }
}

/// What is spoilt, in words, and how.
type Spoil = (&'static str, fn(&mut Problem));

#[test]
fn extremes_are_solved_in_space_or_refused() {
    let spoil: [Spoil; 10] = [
        ("no power", |p| p.dies[0].power_w = 0.0),
        ("a die as large as the substrate", |p| {
            (p.dies[0].width_m, p.dies[0].height_m) = (p.substrate.width_m, p.substrate.height_m);
        }),
        ("a film of 1e9", |p| p.service.top_film = Some(1e9)),
        ("a film of 0.001", |p| p.service.top_film = Some(1e-3)),
        ("a die of a micrometre", |p| {
            let die = &mut p.dies[0];
            (die.width_m, die.height_m, die.power_w) = (1e-6, 1e-6, 1e-6);
            if let Mount::Bumps(b) = &mut die.mount {
                b.count = 0.0;
            }
        }),
        ("a die of a micrometre beside a large one", |p| {
            let mut small = p.dies[0].clone();
            (small.width_m, small.height_m, small.power_w, small.at_m) = (1e-6, 1e-6, 1e-6, [5e-3, 0.0]);
            if let Mount::Bumps(b) = &mut small.mount {
                b.count = 0.0;
            }
            p.dies.push(small);
        }),
        ("a block of a nanometre", |p| {
            let block = Block { x_m: 1e-3, y_m: 2e-3, width_m: 1e-9, height_m: 1e-9, power_w: 0.01 };
            p.dies[0].blocks = vec![block];
            p.dies[0].power_w = 0.01;
        }),
        ("blocks without heat", |p| {
            p.dies[0].blocks =
                vec![Block { x_m: 0.0, y_m: 0.0, width_m: 1e-3, height_m: 1e-3, power_w: 0.0 }];
        }),
        ("layers of a nanometre", |p| p.substrate.layers.iter_mut().for_each(|l| l.thickness_m = 1e-9)),
        ("a board no larger than the package", |p| {
            let size = [p.substrate.width_m, p.substrate.height_m];
            p.board.iter_mut().for_each(|b| (b.width_m, b.height_m) = (size[0], size[1]));
        }),
    ];
    for (name, spoil) in spoil {
        let mut problem = specimen::bare();
        problem.fineness = Some(0.3);
        spoil(&mut problem);
        match solve(&problem) {
            Ok(outcome) => {
                sound_in_space(&outcome);
                println!("{name}: {:?}", outcome.solid.as_ref().map(|s| s.cells));
            }
            Err(refusal) => {
                println!("{name}: {refusal}");
                assert!(!refusal.to_string().contains("NaN"), "{name}");
            }
        }
    }
}

#[test]
fn a_ring_beside_a_heat_sink_shares_the_heat() {
    let mut problem = specimen::lidded();
    problem.fineness = Some(0.3);
    problem.service.surroundings = Surroundings::RingColdPlate;
    let cooled = solve(&problem).unwrap();
    problem.service.top_film = None;
    let alone = solve(&problem).unwrap();
    assert!(cooled.solid.is_some() && alone.solid.is_some());
    let to_board = |o: &Outcome| figure(o, "heat_to_board");
    assert!((to_board(&alone) - 100.0).abs() < 1e-3 && to_board(&cooled) < 90.0, "{}", to_board(&cooled));
}

#[test]
fn a_pair_of_transients_is_told_where_it_is_asked_for() {
    let mut problem = specimen::with_capacities(specimen::lidded());
    problem.fineness = Some(0.3);
    let plain = solve(&problem).unwrap();
    assert!(plain.figures.iter().all(|f| f.name != "theta_jc_pair"));
    problem.pair = true;
    let asked = solve(&problem).unwrap();
    let read = figure(&asked, "theta_jc_pair");
    let pair = asked.solid.as_ref().and_then(|s| s.heating.as_ref()).and_then(|h| h.pair.clone()).unwrap();
    let [[greased, dry], [greased_end, dry_end]] =
        [0, pair[0].len() - 1].map(|k| [pair[0][k][1], pair[1][k][1]]);
    // One curve at first, two in the end, parted in between.
    assert!((greased - dry).abs() < 2e-3 * greased_end, "{greased} {dry}");
    assert!(
        dry_end > 1.02 * greased_end && read > greased && read < greased_end,
        "{read} {greased_end} {dry_end}"
    );
    // Nothing else moves.
    for f in &plain.figures {
        assert_eq!(figure(&asked, &f.name), f.value, "{}", f.name);
    }
}
