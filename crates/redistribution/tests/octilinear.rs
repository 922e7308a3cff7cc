//! Octilinear layouts: all nets routed, no rule broken, every piece of every trace in an exact multiple of 45 degrees, and
//! no longer than the octilinear distances ask for by more than the metal in the way explains.

#![allow(clippy::unwrap_used, reason = "test code")]

mod support;

use facedown_layout::{Point, Polygon, ShapeKind};
use facedown_redistribution::octilinear::gauge;
use facedown_redistribution::specimen::ring;
use facedown_redistribution::{KeepOut, Outcome, Problem, SolveError, Style, solve};
use facedown_rulecheck::Rule;
use proptest::prelude::*;
use support::{judge, ring_b, ring_b_folder, rows};

fn octilinear(mut p: Problem) -> (Problem, Outcome) {
    p.style = Style::Octilinear;
    let o = solve(&p, &mut |_| true).unwrap();
    (p, o)
}

/// Sharpest change of direction between neighbouring sides of a trace, degrees, after a check that every side runs in a
/// multiple of 45 degrees. Its four end corners are square cuts, so a straight trace gives 90.
fn directions(o: &Outcome) -> f64 {
    let mut worst = 0.0_f64;
    let mut traces = 0;
    for s in o.drawing.layers.iter().flat_map(|l| &l.shapes).filter(|s| s.kind == ShapeKind::Trace) {
        traces += 1;
        let ring = &s.polygon.outer;
        let n = ring.len();
        let side = |k: usize| {
            let (a, b) = (ring[k % n], ring[(k + 1) % n]);
            (b.x.0 - a.x.0, b.y.0 - a.y.0)
        };
        for k in 0..n {
            let (u, v) = (side(k), side(k + 1));
            assert!(
                u.0 == 0 || u.1 == 0 || u.0.abs() == u.1.abs(),
                "net {:?}: a side of ({}, {}) nm is no multiple of 45 degrees",
                s.net,
                u.0,
                u.1
            );
            let turn = ((u.0 * v.1 - u.1 * v.0) as f64).atan2((u.0 * v.0 + u.1 * v.1) as f64);
            worst = worst.max(turn.abs().to_degrees());
        }
    }
    assert!(traces > 0);
    worst
}

/// Length of the routed two-terminal nets over the sum of their octilinear distances (plane geometry).
fn over_octilinear_distance(p: &Problem, o: &Outcome) -> f64 {
    let (mut length, mut least) = (0.0, 0.0);
    for n in o.nets.iter().filter(|n| n.routed && n.pads.len() == 1 && n.bumps.len() == 1) {
        let a = p.pads.iter().find(|x| x.name == n.pads[0]).unwrap().at;
        let b = p.sites.iter().find(|x| x.name == n.bumps[0]).unwrap().at;
        let d8 = gauge::length([a.x.nm() - b.x.nm(), a.y.nm() - b.y.nm()]);
        assert!(n.length_m * 1e9 >= d8 - 1.0, "net {} is shorter than its octilinear distance", n.net);
        length += n.length_m * 1e9;
        least += d8;
    }
    length / least
}

fn figure(o: &Outcome, name: &str) -> f64 {
    o.figures.iter().find(|f| f.name == name).unwrap().value
}

fn clean(p: &Problem, o: &Outcome) {
    let report = judge(p, o);
    let said: Vec<&str> = report.violations.iter().map(|v| v.sentence.as_str()).take(5).collect();
    assert_eq!(report.total, 0, "{}: {said:#?}", p.name);
}

#[test]
fn generated_rings_are_routed_whole_in_multiples_of_45_degrees() {
    for (pads, cut_use, most) in
        [(60, 0.5, 1.01), (60, 0.8, 1.01), (250, 0.5, 1.02), (250, 0.8, 1.03), (500, 0.7, 1.03)]
    {
        let (p, o) = octilinear(ring(pads, cut_use, 5.0, 1, None));
        assert_eq!(
            figure(&o, "routed_nets"),
            figure(&o, "nets"),
            "{pads} at {cut_use}: {:?}",
            o.certificates
        );
        clean(&p, &o);
        assert!(directions(&o) <= 90.0);
        let over = over_octilinear_distance(&p, &o);
        assert!(over <= most, "{pads} at {cut_use}: {over}");
    }
}

#[test]
fn the_same_problem_gives_the_same_octilinear_drawing() {
    let p = ring(60, 0.8, 5.0, 1, None);
    assert_eq!(octilinear(p.clone()).1, octilinear(p).1);
}

#[test]
fn bends_turn_by_45_degrees() {
    let (_, o) = octilinear(ring(250, 0.8, 5.0, 1, None));
    for s in o.drawing.layers.iter().flat_map(|l| &l.shapes).filter(|s| s.kind == ShapeKind::Trace) {
        let ring = &s.polygon.outer;
        let n = ring.len();
        let square = (0..n)
            .filter(|&k| {
                let [a, b, c] = [0, 1, 2].map(|i| ring[(k + i) % n]);
                (b.x.0 - a.x.0) * (c.x.0 - b.x.0) + (b.y.0 - a.y.0) * (c.y.0 - b.y.0) == 0
            })
            .count();
        assert_eq!(square, 4, "net {:?} has a right-angled bend beside its four end corners", s.net);
    }
}

#[test]
fn two_layers_and_given_nets_stay_clean() {
    for p in [ring(120, 0.7, 5.0, 2, None), ring(120, 0.6, 5.0, 1, Some(7))] {
        let (p, o) = octilinear(p);
        assert_eq!(figure(&o, "routed_nets"), 120.0, "{:?}", o.certificates);
        clean(&p, &o);
        directions(&o);
    }
}

#[test]
fn a_real_ring_is_routed_octilinear() {
    let folder = match ring_b_folder() {
        Ok(folder) => folder,
        Err(reason) => return println!("skipped: {reason}"),
    };
    let (pads, bumps) = (rows(&folder.join("ring-b-pads.csv")), rows(&folder.join("ring-b-bumps.csv")));
    for space in [10.0, 26.0] {
        let (p, o) = octilinear(ring_b(&pads, &bumps, space));
        println!(
            "space {space} um: {} of {} nets, {:.4} of the geodesic bound, {:.4} of the octilinear distances",
            figure(&o, "routed_nets"),
            figure(&o, "nets"),
            figure(&o, "wirelength_ratio"),
            over_octilinear_distance(&p, &o)
        );
        assert_eq!(figure(&o, "routed_nets"), 57.0, "space {space} um: {:?}", o.certificates);
        clean(&p, &o);
        directions(&o);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_drawn_keeps_every_rule_whatever_the_ring_and_the_keep_outs(
        pads in 12usize..80,
        cut_use in 0.4f64..1.1,
        layers in 1u8..3,
        fixed in prop::option::of(0usize..8),
        walls in prop::collection::vec((0.1f64..0.9, 0.1f64..0.9, 0.01f64..0.15, 0.01f64..0.15, any::<bool>()), 0..4),
    ) {
        let mut p = ring(pads, cut_use, 8.0, layers, fixed);
        let (w, h) = (p.width.um(), p.height.um());
        for (x, y, dx, dy, slanted) in walls {
            let (low, high) = (Point::um(x * w, y * h), Point::um((x + dx) * w, (y + dy) * h));
            let corner = Point { x: low.x, y: high.y };
            let polygon = if slanted { Polygon::new(vec![low, high, corner]) } else { Polygon::rectangle(low, high) };
            let room = (p.rules.capture / 2 + p.rules.space * 3).nm();
            let hits = |at: Point| {
                at.x.nm() > low.x.nm() - room && at.x.nm() < high.x.nm() + room
                    && at.y.nm() > low.y.nm() - room && at.y.nm() < high.y.nm() + room
            };
            if !p.pads.iter().any(|q| hits(q.at)) && !p.sites.iter().any(|s| hits(s.at)) {
                p.keep_outs.push(KeepOut { layer: None, polygon });
            }
        }
        p.style = Style::Octilinear;
        let o = match solve(&p, &mut |_| true) {
            Ok(o) => o,
            Err(SolveError::Pairing(_)) => return Ok(()),
            Err(other) => return Err(TestCaseError::fail(other.to_string())),
        };
        let report = judge(&p, &o);
        // Nets left open are named by a certificate; metal that is drawn must be right.
        let wrong: Vec<_> =
            report.violations.iter().filter(|v| !matches!(v.rule, Rule::Open | Rule::Dangling)).collect();
        prop_assert!(wrong.is_empty(), "{:?}", wrong);
        prop_assert!(!o.certificates.is_empty() || report.clean());
    }
}
