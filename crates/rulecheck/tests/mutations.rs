//! A clean drawing with one thing spoilt: the checker finds it, by the right rule, at the right place. A checker that
//! were blind to any of these would fail here.

mod sample;

use facedown_layout::{Drawing, Point, Polygon, Role, Shape, ShapeKind};
use facedown_quantity::Nm;
use facedown_rulecheck::{Rule, Rules, check};
use sample::*;

fn moved(polygon: &Polygon, dx: f64, dy: f64) -> Polygon {
    let by = Point::um(dx, dy);
    let shift = |ring: &Vec<Point>| ring.iter().map(|p| Point::new(p.x + by.x, p.y + by.y)).collect();
    Polygon { outer: shift(&polygon.outer), holes: polygon.holes.iter().map(shift).collect() }
}

/// The n-th shape of a kind and net on a layer.
fn find(drawing: &Drawing, role: Role, kind: ShapeKind, net: &str, n: usize) -> usize {
    let of = |s: &Shape| s.kind == kind && s.net.as_deref() == Some(net);
    let shapes = &drawing.layer(role).expect("layer is drawn").shapes;
    shapes.iter().enumerate().filter(|(_, s)| of(s)).nth(n).expect("shape is drawn").0
}

/// Spoils a clean drawing and checks that this rule, with these nets, is broken within `reach` um of a place.
fn spoilt(
    clean: Drawing,
    rules: &Rules,
    spoil: impl Fn(&mut Drawing),
    rule: Rule,
    nets: &[&str],
    at: (f64, f64),
    reach: f64,
) {
    let before = check(&clean, rules);
    assert!(before.clean() && before.warnings.is_empty(), "not clean: {}", sentences(&before));
    let mut drawing = clean;
    spoil(&mut drawing);
    let report = check(&drawing, rules);
    let near = |p: Point| (p.x.um() - at.0).hypot(p.y.um() - at.1) <= reach;
    let hit = report.violations.iter().any(|v| v.rule == rule && v.nets == nets && near(v.at));
    assert!(hit, "{rule:?} of {nets:?} near {at:?} not among:\n{}", sentences(&report));
}

#[test]
fn samples_are_clean() {
    for drawing in [one_layer(), two_layers()] {
        let report = check(&drawing, &rules());
        assert!(report.clean() && report.warnings.is_empty(), "{}", sentences(&report));
        assert!(report.nets.values().all(|n| (n.pieces, n.pads, n.bumps) == (1, 1, 1)));
    }
}

#[test]
fn a_trace_moved_too_near_its_neighbour() {
    let spoil = |d: &mut Drawing| {
        put(d, Role::Rdl(1), ShapeKind::Trace, "a", stroke((420.0, 270.0), (420.0, 745.0), 40.0))
    };
    spoilt(one_layer(), &rules(), spoil, Rule::Space, &["a", "b"], (420.0, 747.5), 60.0);
}

#[test]
fn a_capture_pad_moved_into_another_net() {
    let spoil = |d: &mut Drawing| {
        let n = find(d, Role::Rdl(1), ShapeKind::Capture, "a", 0);
        let shape = &mut d.layer_mut(Role::Rdl(1)).shapes[n];
        shape.polygon = moved(&shape.polygon, 0.0, 300.0);
    };
    spoilt(one_layer(), &rules(), spoil, Rule::Short, &["a", "b"], (1000.0, 800.0), 150.0);
}

#[test]
fn a_trace_removed_opens_the_net() {
    let spoil = |d: &mut Drawing| {
        let n = find(d, Role::Rdl(1), ShapeKind::Trace, "b", 0);
        d.layer_mut(Role::Rdl(1)).shapes.remove(n);
    };
    spoilt(one_layer(), &rules(), spoil, Rule::Open, &["b"], (1135.0, 900.0), 1.0);
    spoilt(one_layer(), &rules(), spoil, Rule::Dangling, &["b"], (100.0, 770.0), 60.0);
}

#[test]
fn a_landing_removed_leaves_the_pad_open() {
    let spoil = |d: &mut Drawing| {
        for kind in [ShapeKind::Landing, ShapeKind::Trace] {
            let n = find(d, Role::Rdl(1), kind, "c", 0);
            d.layer_mut(Role::Rdl(1)).shapes.remove(n);
        }
    };
    spoilt(one_layer(), &rules(), spoil, Rule::Open, &["c"], (100.0, 1270.0), 1.0);
    spoilt(one_layer(), &rules(), spoil, Rule::Enclosure, &["c"], (100.0, 1270.0), 40.0);
}

#[test]
fn a_via_opening_removed_opens_the_net() {
    let spoil = |d: &mut Drawing| {
        let n = find(d, Role::Opening(2), ShapeKind::Via, "a", 0);
        d.layer_mut(Role::Opening(2)).shapes.remove(n);
    };
    spoilt(two_layers(), &rules(), spoil, Rule::Dangling, &["a"], (500.0, 450.0), 700.0);
    spoilt(two_layers(), &rules(), spoil, Rule::Open, &["a"], (500.0, 450.0), 700.0);
}

#[test]
fn a_via_between_two_nets_is_a_short() {
    let spoil = |d: &mut Drawing| {
        put(d, Role::Rdl(1), ShapeKind::Trace, "a", stroke((500.0, 450.0), (750.0, 450.0), 40.0));
        put(d, Role::Rdl(1), ShapeKind::Trace, "a", stroke((750.0, 430.0), (750.0, 925.0), 40.0));
        put(d, Role::Opening(2), ShapeKind::Via, "a", disc(750.0, 915.0, 30.0));
    };
    spoilt(two_layers(), &rules(), spoil, Rule::Short, &["a", "b"], (750.0, 915.0), 30.0);
}

#[test]
fn two_nets_merged_or_swapped_by_name() {
    let swap = |d: &mut Drawing| {
        let n = find(d, Role::Rdl(1), ShapeKind::Trace, "a", 1);
        d.layer_mut(Role::Rdl(1)).shapes[n].net = Some("b".into());
    };
    spoilt(one_layer(), &rules(), swap, Rule::Short, &["a", "b"], (515.0, 316.0), 140.0);
    spoilt(one_layer(), &rules(), swap, Rule::Open, &["b"], (515.0, 316.0), 900.0);
    let pad = |d: &mut Drawing| {
        let n = find(d, Role::Pad, ShapeKind::Pad, "a", 0);
        d.layer_mut(Role::Pad).shapes[n].net = Some("c".into());
    };
    spoilt(one_layer(), &rules(), pad, Rule::Short, &["a", "c"], (100.0, 270.0), 1.0);
    let bump = |d: &mut Drawing| d.layer_mut(Role::Bump).shapes[2].net = Some("a".into());
    spoilt(one_layer(), &rules(), bump, Rule::Short, &["a", "c"], (1000.0, 1400.0), 1.0);
}

#[test]
fn a_trace_drawn_too_thin() {
    let spoil = |d: &mut Drawing| {
        let n = find(d, Role::Rdl(1), ShapeKind::Trace, "a", 2);
        d.layer_mut(Role::Rdl(1)).shapes[n].polygon = stroke((610.0, 363.0), (1000.0, 400.0), 39.0);
    };
    spoilt(one_layer(), &rules(), spoil, Rule::Width, &["a"], (740.0, 375.0), 150.0);
}

#[test]
fn a_sharp_bend() {
    let spoil = |d: &mut Drawing| {
        put(d, Role::Rdl(1), ShapeKind::Trace, "c", stroke((300.0, 1270.0), (420.0, 1560.0), 40.0));
    };
    spoilt(one_layer(), &rules(), spoil, Rule::Corner, &["c"], (290.0, 1290.0), 60.0);
}

#[test]
fn ubm_bump_and_opening_out_of_place() {
    let shift = |role: Role, dx: f64| {
        move |d: &mut Drawing| {
            let shape = &mut d.layer_mut(role).shapes[1];
            shape.polygon = moved(&shape.polygon, dx, 0.0);
        }
    };
    spoilt(one_layer(), &rules(), shift(Role::Ubm, 1.0), Rule::Enclosure, &["b"], (1130.0, 900.0), 20.0);
    spoilt(
        one_layer(),
        &rules(),
        shift(Role::BumpOpening, 1.0),
        Rule::Enclosure,
        &["b"],
        (1117.0, 900.0),
        20.0,
    );
    spoilt(one_layer(), &rules(), shift(Role::Bump, 500.0), Rule::BumpSeat, &["b"], (1500.0, 900.0), 1.0);
    spoilt(
        one_layer(),
        &rules(),
        shift(Role::Opening(1), 1.0),
        Rule::Enclosure,
        &["b"],
        (125.0, 770.0),
        40.0,
    );
    let seal = |d: &mut Drawing| {
        for role in [Role::Bump, Role::Ubm, Role::BumpOpening] {
            let shape = &mut d.layer_mut(role).shapes[1];
            shape.polygon = moved(&shape.polygon, 850.0, 0.0);
        }
    };
    spoilt(one_layer(), &rules(), seal, Rule::SealRing, &["b"], (1850.0, 900.0), 160.0);
    let removed = |d: &mut Drawing| {
        d.layer_mut(Role::Bump).shapes.remove(0);
    };
    spoilt(one_layer(), &rules(), removed, Rule::BumpSeat, &["a"], (1000.0, 400.0), 1.0);
}

#[test]
fn nets_joined_elsewhere_may_be_in_pieces_but_each_needs_pad_and_bump() {
    let mut drawing = one_layer();
    for layer in &mut drawing.layers {
        for shape in layer.shapes.iter_mut().filter(|s| s.net.as_deref() == Some("c")) {
            shape.net = Some("a".into());
        }
    }
    let apart = check(&drawing, &rules());
    assert_eq!((broken(&apart), apart.nets["a"].pieces), (vec![Rule::Open], 2), "{}", sentences(&apart));
    let elsewhere = Rules { joined_elsewhere: ["a".into()].into(), ..rules() };
    let joined = check(&drawing, &elsewhere);
    assert!(joined.clean(), "{}", sentences(&joined));
    let cut = |d: &mut Drawing| {
        let n = find(d, Role::Rdl(1), ShapeKind::Trace, "a", 0);
        d.layer_mut(Role::Rdl(1)).shapes.remove(n);
    };
    spoilt(drawing, &elsewhere, cut, Rule::Dangling, &["a"], (100.0, 270.0), 60.0);
}

#[test]
fn every_shift_of_a_trace_across_its_neighbour_is_found() {
    // The trace of net a slides towards the straight part of net b in steps of 11 um; from a gap of less than 10 um on
    // it must be a space or a short, before that neither.
    for step in 12..34 {
        let y = 500.0 + 11.0 * step as f64;
        let mut drawing = one_layer();
        put(&mut drawing, Role::Rdl(1), ShapeKind::Trace, "a", block(200.0, y, 380.0, y + 40.0));
        let report = check(&drawing, &rules());
        let gap = (750.0 - (y + 40.0)).max(y - 790.0);
        let found = [Rule::Space, Rule::Short].map(|r| report.counts.get(&r).copied().unwrap_or(0));
        let expected = if gap <= 0.0 {
            [0, 1]
        } else if gap < 10.0 {
            [1, 0]
        } else {
            [0, 0]
        };
        assert_eq!(found, expected, "gap {gap}: {}", sentences(&report));
    }
}

#[test]
fn the_same_drawing_gives_the_same_report() {
    let mut drawing = one_layer();
    put(&mut drawing, Role::Rdl(1), ShapeKind::Trace, "a", stroke((1000.0, 400.0), (1000.0, 900.0), 30.0));
    let first = check(&drawing, &Rules { line: Nm::from_um(45), ..rules() });
    assert!(first.total > 3);
    for _ in 0..3 {
        assert_eq!(first, check(&drawing, &Rules { line: Nm::from_um(45), ..rules() }));
    }
}
