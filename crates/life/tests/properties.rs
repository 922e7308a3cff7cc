//! Whole problems, random and bad: figures stay finite and keep their order, and bad input is refused in words.

use facedown_life::problem::{Attachment, Cycle, History, Place, Problem};
use facedown_life::{Outcome, Refusal, solve, specimen};
use proptest::prelude::*;

fn figure(outcome: &Outcome, name: &str) -> f64 {
    outcome.figures.iter().find(|f| f.name == name).map_or(f64::NAN, |f| f.value)
}

/// Every number of an outcome is finite, every absent figure has its reason, every share is one.
fn sound(outcome: &Outcome) {
    for f in &outcome.figures {
        assert!(f.value.is_finite(), "{} is {}", f.name, f.value);
        if let Some([low, high]) = f.between {
            assert!(low.is_finite() && high.is_finite() && low <= f.value && f.value <= high, "{}", f.name);
        }
        if let Some(sentence) = &f.outside {
            assert!(sentence.ends_with('.') && !sentence.contains("NaN"), "{sentence}");
        }
    }
    for name in [
        "bump_strain_range",
        "bump_cycles_to_failed",
        "life_bumps",
        "ball_strain_range",
        "ball_cycles_to_failed",
        "life_balls",
        "mission_damage",
        "failed_share_at_life",
        "electromigration_life",
        "current_density_max",
        "qualification_cycles",
        "sample_size",
    ] {
        let there = outcome.figures.iter().any(|f| f.name == name);
        assert!(there || outcome.limits.contains_key(name), "{name} is absent without a reason");
    }
    let failed = figure(outcome, "failed_share_at_life");
    assert!(failed.is_nan() || (0.0..=1.0).contains(&failed));
    for attachment in outcome.bumps.iter().chain(&outcome.balls) {
        for pair in attachment.distribution.windows(2) {
            assert!(pair[0].0 < pair[1].0 && pair[0].1 <= pair[1].1);
        }
        for one in &attachment.loops {
            assert!(one.points.iter().all(|p| p.0.is_finite() && p.1.is_finite()), "{}", one.law);
        }
        for pair in attachment.damage.windows(2) {
            assert!(pair[0].damage >= pair[1].damage);
        }
    }
    for row in &outcome.plan {
        assert!(row.amount.is_finite() && row.sample > 0, "{}", row.test);
    }
    for sentence in outcome.limits.values().chain(&outcome.notes).chain(&outcome.advice) {
        assert!(!sentence.contains("NaN") && !sentence.contains("inf "), "{sentence}");
    }
    // What JSON cannot carry comes back as null and does not read as a number.
    let text = serde_json::to_string(outcome).expect("JSON");
    let again: Outcome = serde_json::from_str(&text).expect("the same");
    assert_eq!(again.figures.len(), outcome.figures.len());
}

fn only_balls(change: impl FnOnce(&mut Attachment)) -> Problem {
    let mut problem = specimen::outdoors();
    problem.bumps = None;
    change(problem.balls.as_mut().expect("the specimen has balls"));
    problem
}

prop_compose! {
    fn cycles()(
        kinds in prop::collection::vec(
            (220.0..380.0_f64, 0.0..70.0_f64, 0.0..1e5_f64, prop::option::of(0.0..1e5_f64), prop::option::of(0.0..4000.0_f64)),
            0..4,
        ),
    ) -> Vec<Cycle> {
        kinds
            .into_iter()
            .enumerate()
            .map(|(i, (low, swing, count, dwell, ramp))| Cycle {
                name: format!("cycle {i}"),
                low,
                high: low + swing,
                lower_part: (i % 2 == 1).then_some((low, low + 0.6 * swing)),
                count,
                dwell,
                ramp,
            })
            .collect()
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn any_sensible_package_gives_sound_numbers(
        cycles in cycles(),
        (gap, share, upper, lower) in (20e-6..600e-6_f64, 0.2..1.0_f64, 1e-6..30e-6_f64, 1e-6..30e-6_f64),
        (underfill, shape, failed) in (1e7..2e10_f64, 0.8..12.0_f64, 1e-6..0.9_f64),
        (distance, stiffness) in (0.0..30e-3_f64, prop::option::of(1e3..1e8_f64)),
    ) {
        let mut problem = specimen::outdoors();
        problem.mission.cycles = cycles;
        problem.mission.failed = failed;
        for a in problem.bumps.iter_mut().chain(&mut problem.balls) {
            a.gap = gap;
            a.solder_height = gap * share;
            a.upper.expansion = vec![(300.0, upper)];
            a.lower.expansion = vec![(250.0, lower), (380.0, lower), (380.0, 2.0 * lower)];
            a.weibull_shape = shape;
            a.places.push(Place { name: "one more".into(), distance, count: 3 });
            a.stiffness = stiffness;
            if let Some(u) = &mut a.underfill {
                u.modulus = vec![(370.0, underfill), (380.0, 0.02 * underfill)];
            }
        }
        sound(&solve(&problem).unwrap());
    }

    #[test]
    fn more_of_what_hurts_never_lengthens_life(
        swing in 10.0..120.0_f64,
        factor in 1.01..2.0_f64,
        dwell in 60.0..40_000.0_f64,
    ) {
        let run = |swing: f64, height: f64, distance: f64, count: f64, joints: u64| {
            let mut problem = only_balls(|a| {
                a.gap = height;
                a.solder_height = height;
                a.shadow = None;
                a.places = vec![Place { name: "corner".into(), distance, count: joints }];
            });
            let mut cycle = specimen::cycle("one", 0.0, swing, count);
            cycle.dwell = Some(dwell);
            problem.mission.cycles = vec![cycle];
            let outcome = solve(&problem).unwrap();
            (figure(&outcome, "life_balls"), figure(&outcome, "ball_strain_range"), outcome)
        };
        let (life, strain, outcome) = run(swing, 300e-6, 10e-3, 1000.0, 4);
        sound(&outcome);
        let (shallow, less, _) = run(swing / factor, 300e-6, 10e-3, 1000.0, 4);
        prop_assert!(shallow > life && (less * factor / strain - 1.0).abs() < 1e-9);
        prop_assert!(run(swing, 300e-6 * factor, 10e-3, 1000.0, 4).0 > life);
        prop_assert!(run(swing, 300e-6, 10e-3 * factor, 1000.0, 4).0 < life);
        prop_assert!(run(swing, 300e-6, 10e-3, 1000.0, 400).0 < life);
        // Twice as many cycles in the same time, half the life.
        let twice = run(swing, 300e-6, 10e-3, 2000.0, 4).0;
        prop_assert!((twice * 2.0 / life - 1.0).abs() < 1e-9);
    }

    #[test]
    fn energy_models_follow_the_strain(distance in 2e-3..12e-3_f64) {
        let run = |distance: f64| {
            let mut problem = only_balls(|a| {
                a.shadow = None;
                a.places = vec![Place { name: "corner".into(), distance, count: 4 }];
            });
            problem.mission.cycles.truncate(1);
            solve(&problem).unwrap().balls.unwrap()
        };
        let (near, far) = (run(distance), run(1.5 * distance));
        for (a, b) in near.loops.iter().zip(&far.loops) {
            prop_assert!(b.work_density > a.work_density && b.inelastic_strain > a.inelastic_strain, "{}", a.law);
            // Creep without memory settles at once; slow hardening at small strains does not within the cycles allowed.
            prop_assert!((a.settled && b.settled) || a.law.starts_with("Anand"), "{}", a.law);
        }
        for (a, b) in near.models.iter().zip(&far.models) {
            prop_assert!(b.cycles < a.cycles, "{}", a.model);
        }
    }
}

#[test]
fn a_recorded_course_is_counted_as_its_cycles() {
    let mut listed = only_balls(|_| {});
    listed.mission.cycles = vec![Cycle { dwell: Some(1800.0), ..specimen::cycle("day", 10.0, 70.0, 3650.0) }];
    let mut recorded = listed.clone();
    recorded.mission.cycles.clear();
    let at = |t: f64, celsius: f64| (t * 3600.0, celsius + 273.15);
    recorded.mission.history = Some(History {
        name: "day".into(),
        points: vec![
            at(0.0, 10.0),
            at(1.0, 10.0),
            at(2.0, 70.0),
            at(2.5, 70.0),
            at(3.5, 10.0),
            at(24.0, 10.0),
        ],
        repeats: 3650.0,
        gate: 5.0,
    });
    let (a, b) = (solve(&listed).unwrap(), solve(&recorded).unwrap());
    sound(&a);
    sound(&b);
    let strain = "ball_strain_range";
    assert!((figure(&a, strain) / figure(&b, strain) - 1.0).abs() < 1e-9);
    let row = &b.balls.as_ref().unwrap().damage;
    assert!((row.iter().map(|d| d.count).sum::<f64>() - 3650.0).abs() < 1e-6);
}

#[test]
fn what_is_not_there_leaves_its_figures_out_with_a_reason() {
    let mut problem = specimen::outdoors();
    problem.bumps = None;
    let outcome = solve(&problem).unwrap();
    sound(&outcome);
    assert!(figure(&outcome, "life_bumps").is_nan() && figure(&outcome, "life_balls") > 0.0);
    problem.balls = None;
    sound(&solve(&problem).unwrap());
    let mut idle = specimen::outdoors();
    idle.mission.cycles.clear();
    let outcome = solve(&idle).unwrap();
    sound(&outcome);
    assert_eq!(outcome.limits["life_balls"], "the mission has no temperature cycles");
    let mut flat = specimen::outdoors();
    flat.mission.cycles = vec![specimen::cycle("still", 40.0, 40.0, 100.0)];
    let outcome = solve(&flat).unwrap();
    sound(&outcome);
    assert_eq!(outcome.limits["life_bumps"], "no cycle of the mission has a swing");
    let matched = only_balls(|a| {
        a.upper.expansion = vec![(300.0, 17.5e-6)];
        a.shadow = None;
    });
    let mut matched = matched;
    matched.mission.cycles.iter_mut().for_each(|c| c.lower_part = None);
    let outcome = solve(&matched).unwrap();
    sound(&outcome);
    assert!(outcome.limits["life_balls"].contains("models can count"));
}

#[test]
fn no_dwell_is_said_to_leave_the_model() {
    let mut problem = only_balls(|_| {});
    problem.mission.cycles.iter_mut().for_each(|c| c.dwell = Some(0.0));
    problem.mission.cycles.iter_mut().for_each(|c| c.ramp = Some(0.0));
    let outcome = solve(&problem).unwrap();
    sound(&outcome);
    let life = outcome.figures.iter().find(|f| f.name == "life_balls").unwrap();
    assert!(life.outside.as_deref().unwrap().contains("too short for the stress to relax"));
}

#[test]
fn a_mission_longer_than_its_life_is_told() {
    let mut problem = only_balls(|_| {});
    let says =
        |p: &Problem| solve(p).unwrap().notes.iter().any(|n| n.contains("with their dwells and ramps take"));
    problem.mission.cycles =
        vec![Cycle { dwell: Some(36_000.0), ..specimen::cycle("day", 10.0, 60.0, 3650.0) }];
    assert!(!says(&problem));
    problem.mission.cycles[0].count = 5000.0;
    assert!(says(&problem));
}

#[test]
fn a_cycle_above_the_glass_transition_is_told() {
    let mut problem = specimen::outdoors();
    problem.mission.cycles.push(specimen::cycle("hot", 20.0, 150.0, 10.0));
    let outcome = solve(&problem).unwrap();
    let life = outcome.figures.iter().find(|f| f.name == "life_bumps").unwrap();
    assert!(life.outside.as_deref().unwrap().contains("glass transition"));
}

#[test]
fn bad_input_is_refused_in_words() {
    let change = |f: &dyn Fn(&mut Problem)| {
        let mut problem = specimen::outdoors();
        f(&mut problem);
        solve(&problem).map(|_| ()).unwrap_err()
    };
    let says = |refusal: Refusal, words: &str| {
        let text = refusal.to_string();
        assert!(text.contains(words), "{text}");
    };
    fn balls(p: &mut Problem) -> &mut Attachment {
        p.balls.as_mut().expect("balls")
    }
    fn bumps(p: &mut Problem) -> &mut Attachment {
        p.bumps.as_mut().expect("bumps")
    }
    says(change(&|p| balls(p).upper.expansion.clear()), "expansion of the part above the balls is missing");
    says(change(&|p| bumps(p).lower.modulus.clear()), "modulus of the part below the bumps is missing");
    says(change(&|p| balls(p).upper.expansion = vec![(300.0, f64::NAN)]), "NaN");
    says(change(&|p| bumps(p).underfill.as_mut().unwrap().poisson = 0.5), "Poisson");
    says(change(&|p| balls(p).places.clear()), "places of the balls is missing");
    says(change(&|p| balls(p).places[0].count = 0), "number of balls at package corner is 0");
    says(change(&|p| balls(p).solder_height = 1e-3), "no more than the gap");
    says(change(&|p| balls(p).gap = 0.0), "gap of the balls is 0");
    says(change(&|p| balls(p).weibull_shape = f64::NAN), "Weibull shape");
    says(change(&|p| p.mission.life = 0.0), "service life is 0");
    says(change(&|p| p.mission.failed = 1.0), "both excluded");
    says(change(&|p| p.mission.failed = 0.0), "both excluded");
    says(change(&|p| p.mission.cycles[0].high = 200.0), "no lower than the lowest");
    says(change(&|p| p.mission.cycles[0].count = -1.0), "count of cycle day");
    says(change(&|p| p.mission.cycles[0].dwell = Some(f64::INFINITY)), "dwell of cycle day");
    says(change(&|p| p.mission.cycles[1].high = 500.0), "melts at 490.1");
    let melting = change(&|p| p.mission.cycles[1].high = 500.0);
    assert!(matches!(melting, Refusal::Melts { joints: "bumps", .. }));
    says(change(&|p| p.qualification.confidence = 1.5), "confidence");
    let history = |points: Vec<(f64, f64)>| History { name: "h".into(), points, repeats: 1.0, gate: 1.0 };
    says(change(&|p| p.mission.history = Some(history(vec![(0.0, 300.0)]))), "two points");
    says(change(&|p| p.mission.history = Some(history(vec![(1.0, 300.0), (0.0, 310.0)]))), "no earlier");
    says(change(&|p| p.mission.history = Some(history(vec![(0.0, 300.0), (1.0, 600.0)]))), "melts");
}

#[test]
fn no_power_and_runaway_leave_the_life_under_current_out() {
    let change = |f: &dyn Fn(&mut Problem)| {
        let mut problem = specimen::outdoors();
        f(&mut problem);
        let outcome = solve(&problem).unwrap();
        sound(&outcome);
        outcome
    };
    let name = "electromigration_life";
    assert!(figure(&change(&|_| {}), name) > 0.0);
    let says = |outcome: &Outcome, words: &str| {
        assert!(figure(outcome, name).is_nan());
        assert!(outcome.limits[name].contains(words), "{}", outcome.limits[name]);
    };
    says(&change(&|p| p.mission.powered = 0.0), "never powered");
    says(&change(&|p| p.currents = None), "what current");
    let off =
        |p: &mut Problem| p.currents.as_mut().unwrap().carriers.iter_mut().for_each(|c| c.current = 0.0);
    let off = change(&off);
    says(&off, "no joint carries current");
    assert!(figure(&off, "current_density_max").is_nan());
    let hot = change(&|p| p.currents.as_mut().unwrap().carriers[0].current = 40.0);
    says(&hot, "runs away");
    assert!(figure(&hot, "current_density_max") > 1e5);
}

#[test]
fn a_current_beyond_the_law_is_told() {
    let of = |amperes: f64| {
        let mut problem = specimen::outdoors();
        problem.currents.as_mut().unwrap().carriers[0].current = amperes;
        let outcome = solve(&problem).unwrap();
        sound(&outcome);
        outcome.figures.into_iter().find(|f| f.name == "electromigration_life").unwrap().outside
    };
    // 20000 A/cm2 over an opening of 60 um are 0.565 A.
    assert!(of(0.5).is_none_or(|s| !s.contains("fall faster")));
    assert!(
        of(0.6).is_some_and(|s| s.contains("supply bump carries 21221 A/cm2") && s.contains("fall faster"))
    );
}

#[test]
fn a_test_without_failures_bounds_the_life_and_one_with_them_is_fitted() {
    let mut problem = specimen::outdoors();
    let outcome = solve(&problem).unwrap();
    let fitted = outcome.test.unwrap();
    let (low, high) = fitted.shape_bounds.unwrap();
    assert!(low < fitted.shape.unwrap() && fitted.shape.unwrap() < high);
    let test = problem.test.as_mut().unwrap();
    test.failures.clear();
    let outcome = solve(&problem).unwrap();
    sound(&outcome);
    assert_eq!(outcome.test.as_ref().unwrap().shape, None);
    assert!(outcome.notes.iter().any(|n| n.contains("No package failed") && n.contains("confidence")));
    // All at one life: no shape, said in words.
    let test = problem.test.as_mut().unwrap();
    test.failures = vec![1000.0; 4];
    test.running.clear();
    let outcome = solve(&problem).unwrap();
    sound(&outcome);
    assert!(outcome.notes.iter().any(|n| n.contains("not fitted")));
    problem.test.as_mut().unwrap().failures.clear();
    assert!(solve(&problem).unwrap_err().to_string().contains("finished test is missing"));
}

#[test]
fn a_condition_that_the_standard_does_not_have_is_refused() {
    let mut problem = specimen::outdoors();
    problem.qualification.condition = "Q".into();
    let text = solve(&problem).unwrap_err().to_string();
    assert!(text.contains("no condition") && text.contains("J"), "{text}");
}

#[test]
fn the_spread_is_that_of_the_models() {
    use facedown_life::weibull::Weibull;
    for alloy in [facedown_life::problem::Alloy::TinLead, facedown_life::problem::Alloy::TinSilverCopper] {
        let mut problem = only_balls(|a| {
            a.alloy = alloy;
            a.shadow = None;
            a.places = vec![Place { name: "corner".into(), distance: 12e-3, count: 4 }];
        });
        problem.mission.cycles =
            vec![Cycle { dwell: Some(900.0), ..specimen::cycle("test", 0.0, 100.0, 1e4) }];
        let outcome = solve(&problem).unwrap();
        let balls = outcome.balls.as_ref().unwrap();
        let shape = balls.weibull_shape;
        let to_failed: Vec<f64> = balls
            .models
            .iter()
            .map(|m| {
                let mean = Weibull { shape, scale: 1.0 }.mean();
                let one = match m.kind.as_str() {
                    "median life" => Weibull::of_median(m.cycles, shape),
                    "mean life" => Weibull { shape, scale: m.cycles / mean },
                    "characteristic life" => Weibull { shape, scale: m.cycles },
                    other => panic!("{other}"),
                };
                one.first_of(4.0).quantile(problem.mission.failed)
            })
            .collect();
        let low = to_failed.iter().copied().fold(f64::INFINITY, f64::min);
        let high = to_failed.iter().copied().fold(0.0, f64::max);
        let count = outcome.figures.iter().find(|f| f.name == "ball_cycles_to_failed").unwrap();
        assert!((count.value / to_failed[0] - 1.0).abs() < 1e-9);
        let [from, to] = count.between.unwrap();
        assert!(
            (from / low - 1.0).abs() < 1e-9 && (to / high - 1.0).abs() < 1e-9,
            "{from} {low} {to} {high}"
        );
        // One kind of cycle: damage and life spread by the same factors.
        let damage = outcome.figures.iter().find(|f| f.name == "mission_damage").unwrap();
        let [least, most] = damage.between.unwrap();
        assert!((most / damage.value - count.value / from).abs() < 1e-9 * most / damage.value);
        assert!((least / damage.value - count.value / to).abs() < 1e-9);
        let life = outcome.figures.iter().find(|f| f.name == "life_balls").unwrap();
        let [short, long] = life.between.unwrap();
        assert!((short / life.value - from / count.value).abs() < 1e-9);
        assert!((long / life.value - to / count.value).abs() < 1e-9 * long / life.value);
    }
}

/// Board-level lives of two flip-chip packages, 0 to 100 degC: characteristic life 4121 cycles with a die of 22 x 20 mm,
/// 8260 with one of 16.3 x 11.4 mm (AMD, Device Reliability Report UG116). Expansions and height are not in the report
/// and taken as alike, so that only the order and the size of the ratio, a factor of two about right, are compared.
#[test]
fn measured_board_lives_keep_their_order() {
    let run = |half_die: f64, half_body: f64, dwell: f64| {
        let mut problem = only_balls(|a| {
            a.gap = 0.45e-3;
            a.solder_height = 0.45e-3;
            // Outside of the die the substrate expands a little more than the board.
            a.upper.expansion = vec![(300.0, 18e-6)];
            let shadow = a.shadow.as_mut().expect("the specimen has a die above its balls");
            shadow.reach = half_die;
            a.places = vec![
                Place { name: "die corner".into(), distance: half_die, count: 4 },
                Place { name: "package corner".into(), distance: half_body, count: 4 },
            ];
        });
        problem.mission.failed = 0.632;
        problem.mission.cycles =
            vec![Cycle { dwell: Some(dwell), ..specimen::cycle("test", 0.0, 100.0, 1e4) }];
        let outcome = solve(&problem).unwrap();
        assert_eq!(outcome.balls.as_ref().unwrap().worst_place, "die corner");
        figure(&outcome, "ball_cycles_to_failed")
    };
    let large = run(0.5 * 22e-3_f64.hypot(20e-3), 33e-3 * 0.5_f64.sqrt(), 600.0);
    let small = run(0.5 * 16.3e-3_f64.hypot(11.36e-3), 29e-3 * 0.5_f64.sqrt(), 600.0);
    let ratio = (small / large) / (8260.0 / 4121.0);
    assert!(small > large && (0.5..2.0).contains(&ratio), "{small} and {large}");
}

#[test]
fn tin_lead_runs_its_own_laws() {
    let mut problem = specimen::outdoors();
    for a in problem.bumps.iter_mut().chain(&mut problem.balls) {
        a.alloy = facedown_life::problem::Alloy::TinLead;
    }
    let outcome = solve(&problem).unwrap();
    sound(&outcome);
    let balls = outcome.balls.unwrap();
    assert_eq!(balls.loops.len(), 2);
    assert!(balls.models.iter().any(|m| m.model.starts_with("Darveaux")));
    assert!(balls.models.iter().all(|m| !m.model.starts_with("Syed") && !m.model.starts_with("Schubert")));
}
