//! Random rings, arrays and keep-outs: a clean layout, or what is missing by name; never a short, never a panic.

mod support;

use facedown_layout::{Point, Polygon};
use facedown_redistribution::{KeepOut, SolveError, solve, specimen::ring};
use facedown_rulecheck::Rule;
use proptest::prelude::*;
use support::judge;

proptest! {
    #![proptest_config(ProptestConfig { cases: std::env::var("FACEDOWN_CASES").ok().and_then(|c| c.parse().ok()).unwrap_or(24), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_ring_gives_a_clean_layout_or_names_what_is_missing(
        pads in 12usize..90,
        cut_use in 0.4f64..1.3,
        line in 4.0f64..25.0,
        layers in 1u8..3,
        fixed in prop::option::of(0usize..8),
        walls in prop::collection::vec((0.1f64..0.9, 0.1f64..0.9, 0.01f64..0.15, 0.01f64..0.15), 0..4),
    ) {
        let mut problem = ring(pads, cut_use, line.round(), layers, fixed);
        let (w, h) = (problem.width.um(), problem.height.um());
        for (x, y, dx, dy) in walls {
            let low = Point::um(x * w, y * h);
            let high = Point::um((x + dx) * w, (y + dy) * h);
            let wall = KeepOut { layer: None, polygon: Polygon::rectangle(low, high) };
            // A keep-out over a pad or a bump is a fault of the design that its check reports; here it stays clear.
            let room = (problem.rules.capture / 2 + problem.rules.space * 3).nm();
            let hits = |at: Point| {
                at.x.nm() > low.x.nm() - room && at.x.nm() < high.x.nm() + room
                    && at.y.nm() > low.y.nm() - room && at.y.nm() < high.y.nm() + room
            };
            if !problem.pads.iter().any(|p| hits(p.at)) && !problem.sites.iter().any(|s| hits(s.at)) {
                problem.keep_outs.push(wall);
            }
        }
        let outcome = match solve(&problem, &mut |_| true) {
            Ok(outcome) => outcome,
            Err(SolveError::Pairing(_)) => return Ok(()),
            Err(other) => return Err(TestCaseError::fail(other.to_string())),
        };
        let report = judge(&problem, &outcome);
        let sentences = || report.violations.iter().map(|v| v.sentence.clone()).take(5).collect::<Vec<_>>();
        if outcome.certificates.is_empty() {
            prop_assert!(report.clean(), "{:?}", sentences());
            prop_assert!(outcome.nets.iter().all(|n| n.routed && n.length_m >= n.bound_m * (1.0 - 1e-9)));
        } else {
            // Left open is allowed, as named; metal that is drawn must still be right.
            let wrong: Vec<_> =
                report.violations.iter().filter(|v| !matches!(v.rule, Rule::Open | Rule::Dangling)).collect();
            prop_assert!(wrong.is_empty(), "{:?} {:?}", outcome.certificates, wrong);
        }
    }
}
