//! Properties of the electrical study: signs, limits, scaling, and no nonsense for any input.

use facedown_electrical::line::{Strip, strip};
use facedown_electrical::{Outcome, Problem, Refusal, inductance, sharing, solve, specimen, spreading};
use proptest::prelude::*;

fn figure(outcome: &Outcome, name: &str) -> f64 {
    outcome.figures.iter().find(|f| f.name == name).map_or(f64::NAN, |f| f.value)
}

fn all_finite(outcome: &Outcome) -> bool {
    outcome.figures.iter().all(|f| {
        f.value.is_finite()
            && f.value >= 0.0
            && f.hand.is_none_or(f64::is_finite)
            && f.between.is_none_or(|b| b[0] <= b[1] && b.iter().all(|x| x.is_finite()))
    }) && outcome.comparison.iter().all(|r| [r.wire, r.bump, r.bump_and_trace].iter().all(|x| x.is_finite()))
}

#[test]
fn the_unit_of_every_figure_is_one_of_the_house() {
    let known = ["mohm", "ohm", "pH", "nH", "pF", "ps", "mA", "A/cm2", "mV", "mW", ""];
    for f in solve(&specimen::small()).unwrap().figures {
        assert!(known.contains(&f.unit.as_str()), "{} in {}", f.name, f.unit);
    }
}

#[test]
fn nonsense_is_refused_in_a_sentence() {
    let changes: [fn(&mut Problem); 14] = [
        |p| p.temperature_k = f64::NAN,
        |p| p.rdl.thickness_m = 0.0,
        |p| p.rdl.permittivity = 0.9,
        |p| p.rdl.metal.resistivity_ohm_m = -1.0,
        |p| p.rdl.metal.coefficient_per_k = -0.05,
        |p| p.bump.pieces.clear(),
        |p| p.bump.pitch_m = 100e-6,
        |p| p.wire.spacing_m = p.wire.diameter_m,
        |p| p.switching.edge_time_s = 0.0,
        |p| p.nets.clear(),
        |p| p.nets[0].bumps = 0,
        |p| p.nets[0].crowding = 0.5,
        |p| p.nets[1].name = "vdd".into(),
        |p| p.nets[2].longest_path_m = 1.0,
    ];
    for (i, change) in changes.into_iter().enumerate() {
        let mut problem = specimen::small();
        change(&mut problem);
        let refusal: Refusal = solve(&problem).expect_err(&format!("change {i}"));
        assert!(refusal.to_string().len() > 20);
    }
}

#[test]
fn what_is_not_there_is_not_judged() {
    let mut problem = specimen::small();
    problem.nets.truncate(2);
    let outcome = solve(&problem).unwrap();
    assert!(figure(&outcome, "trace_impedance").is_nan());
    assert!(outcome.limits["trace_impedance"].contains("not judged"));
    let mut signals = specimen::small();
    signals.nets.remove(0);
    signals.nets.remove(0);
    let outcome = solve(&signals).unwrap();
    assert!(figure(&outcome, "supply_drop_max").is_nan());
    assert!(outcome.limits["supply_drop_max"].contains("not judged"));
    for net in &mut signals.nets {
        net.current_a = 0.0;
    }
    assert_eq!(figure(&solve(&signals).unwrap(), "joule_heat"), 0.0);
}

#[test]
fn outside_its_range_a_figure_says_so() {
    let mut problem = specimen::small();
    problem.temperature_k = 600.0;
    problem.nets[2].trace_width_m = 2e-3;
    problem.rdl.height_to_reference_m = 10e-6;
    let outcome = solve(&problem).unwrap();
    for name in ["bump_resistance", "trace_impedance", "joule_heat"] {
        assert!(outcome.figures.iter().any(|f| f.name == name && f.outside.is_some()), "{name}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn any_input_gives_numbers_or_a_sentence(
        exponents in prop::collection::vec(-9.5..0.5_f64, 12),
        t in 10.0..1200.0_f64, er in 0.5..200.0_f64, current in -1.0..1e4_f64, counts in [0_u32..40, 0..4000, 0..5],
    ) {
        let mut p = specimen::small();
        let x: Vec<f64> = exponents.iter().map(|e| 10f64.powf(*e)).collect();
        p.temperature_k = t;
        p.rdl.permittivity = er;
        p.rdl.thickness_m = x[0];
        p.rdl.height_to_reference_m = x[1];
        p.bump.pitch_m = x[2].max(130e-6);
        p.bump.pieces[0].height_m = x[3];
        p.bump.pieces[1].diameter_m = x[4].min(129e-6);
        p.wire.length_m = x[5].max(26e-6);
        p.wire.loop_height_m = x[6].max(26e-6);
        p.nets[2].trace_width_m = x[7];
        p.nets[2].trace_length_m = x[8];
        p.nets[2].longest_path_m = x[8] * x[9].min(1.0);
        p.nets[0].current_a = current;
        p.nets[0].pads = counts[0];
        p.nets[0].bumps = counts[1];
        p.nets[0].crowding = f64::from(counts[2]);
        if let Ok(outcome) = solve(&p) {
            prop_assert!(all_finite(&outcome));
        }
    }

    #[test]
    fn drop_follows_current_and_heat_its_square(factor in 0.1..20.0_f64) {
        let (mut p, before) = (specimen::small(), solve(&specimen::small()).unwrap());
        for net in &mut p.nets {
            net.current_a *= factor;
        }
        let after = solve(&p).unwrap();
        let near = |a: f64, b: f64| (a / b - 1.0).abs() < 1e-9;
        prop_assert!(near(figure(&after, "supply_drop_max"), factor * figure(&before, "supply_drop_max")));
        prop_assert!(near(figure(&after, "joule_heat"), factor * factor * figure(&before, "joule_heat")));
    }

    #[test]
    fn more_bumps_never_drop_more(bumps in 4_u32..100) {
        let mut p = specimen::small();
        p.nets[0].bumps = bumps;
        let few = solve(&p).unwrap().nets[0].drop_v();
        p.nets[0].bumps = bumps + 20;
        prop_assert!(solve(&p).unwrap().nets[0].drop_v() < few);
    }

    #[test]
    fn inductance_scales_with_size_and_couples_less_than_itself(l in 0.05..200.0_f64, gap in 1.05..30.0_f64) {
        let own = inductance::round_bar(l * 1e-6, 1e-6).unwrap();
        let large = inductance::round_bar(l * 1e-3, 1e-3).unwrap();
        prop_assert!((large / own / 1e3 - 1.0).abs() < 1e-9);
        let mutual = inductance::round_bars(l * 1e-6, 1e-6, 2e-6 * gap);
        prop_assert!(mutual > 0.0 && mutual < own);
        // Far apart the cross-section no longer matters.
        let far = inductance::round_bars(l * 1e-6, 1e-6, 1e-3) / inductance::filaments(l * 1e-6, 1e-3);
        prop_assert!((far - 1.0).abs() < 1e-5);
    }

    #[test]
    fn a_line_slows_as_its_surroundings_polarise(u in 0.05..50.0_f64, t in 0.0..0.5_f64, er in 1.0..12.0_f64, cover in 1.0..12.0_f64) {
        let like = |permittivity, cover| strip(&Strip { width_m: u, thickness_m: t.min(u), height_m: 1.0, permittivity, cover });
        let line = like(er, cover);
        prop_assert!(line.effective >= er.min(cover) * 0.93 && line.effective <= er.max(cover) * 1.07);
        prop_assert!((like(er, er).effective / er - 1.0).abs() < 1e-9);
        prop_assert!(like(er + 1.0, cover).impedance_ohm < line.impedance_ohm);
    }

    #[test]
    fn shares_add_to_one_and_fall(count in 1_u32..200, segment in 0.0..1e4_f64) {
        let shares = sharing::ladder(count, segment, 1.0);
        prop_assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        prop_assert!(shares.windows(2).all(|w| w[0] >= w[1] - 1e-12));
        prop_assert!(spreading::edge_fed_mean(1.0 + segment) <= spreading::edge_fed_max(1.0 + segment));
    }
}
