//! Every rule on both sides of its limit, one nanometre apart.

mod sample;

use facedown_layout::{Drawing, Label, Point, Polygon, Role, Shape, ShapeKind};
use facedown_quantity::Nm;
use facedown_rulecheck::{DensityWindow, KeepOut, Report, Rule, Rules, check};
use sample::*;

/// Width 40 um, space 10 um, nothing forgiven, nothing else asked.
fn plain() -> Rules {
    Rules { flattening: Nm::ZERO, ..Rules::new(Nm::from_um(40), Nm::from_um(10)) }
}

fn metal(shapes: &[(&str, Polygon)]) -> Drawing {
    let mut drawing = die();
    for (net, polygon) in shapes {
        put(&mut drawing, Role::Rdl(1), ShapeKind::Trace, net, polygon.clone());
    }
    drawing
}

/// Checks that a drawing at the limit is clean and one a nanometre beyond breaks exactly this rule; returns the latter.
fn limit(rule: Rule, rules: &Rules, draw: impl Fn(f64) -> Drawing) -> Report {
    let clean = check(&draw(0.0), rules);
    assert!(clean.clean() && clean.warnings.is_empty(), "at the limit: {}", sentences(&clean));
    let report = check(&draw(0.001), rules);
    let mut broken = broken(&report);
    if rule == Rule::Notch {
        assert_eq!(report.total_warnings, 1, "{}", sentences(&report));
        broken.push(Rule::Notch);
    } else {
        assert_eq!(report.total, 1, "{}", sentences(&report));
    }
    assert_eq!(broken, [rule], "{}", sentences(&report));
    report
}

#[test]
fn space_between_parallel_lines() {
    let report = limit(Rule::Space, &plain(), |d| {
        metal(&[("a", block(0.0, 100.0, 500.0, 140.0)), ("b", block(0.0, 150.0 - d, 500.0, 190.0))])
    });
    assert_eq!(report.violations[0].found_nm, 9_999.0);
    assert_eq!(report.violations[0].nets, ["a", "b"]);
}

#[test]
fn space_between_corners_is_diagonal() {
    // 6-8-10.
    let report = limit(Rule::Space, &plain(), |d| {
        metal(&[("a", block(0.0, 100.0, 100.0, 140.0)), ("b", block(106.0 - d, 148.0, 200.0, 190.0))])
    });
    assert!((report.violations[0].found_nm - 9_999.4).abs() < 0.01);
}

#[test]
fn touching_and_contained_nets_are_shorts() {
    let touching =
        check(&metal(&[("a", block(0.0, 0.0, 50.0, 50.0)), ("b", block(50.0, 0.0, 100.0, 50.0))]), &plain());
    assert_eq!(broken(&touching), [Rule::Short]);
    let inside = check(
        &metal(&[("a", block(0.0, 0.0, 500.0, 500.0)), ("b", block(200.0, 200.0, 260.0, 260.0))]),
        &plain(),
    );
    assert_eq!(broken(&inside), [Rule::Short]);
    assert_eq!(inside.min_spacing().map(|m| m.value), Some(0.0));
    let frame = Polygon {
        outer: block(0.0, 0.0, 500.0, 500.0).outer,
        holes: vec![block(100.0, 100.0, 400.0, 400.0).outer.into_iter().rev().collect()],
    };
    let island = check(&metal(&[("a", frame), ("b", block(200.0, 200.0, 260.0, 260.0))]), &plain());
    assert!(island.clean(), "{}", sentences(&island));
    assert_eq!(island.min_spacing().map(|m| m.value), Some(100_000.0));
}

#[test]
fn width_of_a_line() {
    let report = limit(Rule::Width, &plain(), |d| metal(&[("a", block(0.0, 100.0, 500.0, 140.0 - d))]));
    assert_eq!(report.violations[0].found_nm, 39_999.0);
    assert_eq!(report.violations[0].at, Point::new(Nm(250_000), Nm(120_000)));
}

#[test]
fn width_of_two_halves_is_that_of_the_whole() {
    let report = limit(Rule::Width, &plain(), |d| {
        metal(&[("a", block(0.0, 100.0, 500.0, 120.0)), ("a", block(0.0, 120.0, 500.0, 140.0 - d))])
    });
    assert_eq!(report.layers[0].pieces, 1);
}

#[test]
fn width_of_a_neck_between_two_corners() {
    // Two squares overlapping at a corner: the neck is the diagonal of the overlap, 24-32-40.
    let report = limit(Rule::Width, &Rules { corner_angle_deg: None, ..plain() }, |d| {
        metal(&[("a", block(0.0, 0.0, 200.0, 200.0)), ("a", block(176.0 + d, 168.0, 400.0, 400.0))])
    });
    assert!((report.violations[0].found_nm - 39_999.4).abs() < 0.1);
}

#[test]
fn width_where_a_hole_comes_near_the_edge() {
    limit(Rule::Width, &plain(), |d| {
        let hole = block(100.0, 40.0 - d, 200.0, 140.0).outer.into_iter().rev().collect();
        metal(&[("a", Polygon { outer: block(0.0, 0.0, 400.0, 400.0).outer, holes: vec![hole] })])
    });
}

#[test]
fn width_at_a_point_contact_is_zero() {
    let squares = [("a", block(0.0, 0.0, 100.0, 100.0)), ("a", block(100.0, 100.0, 200.0, 200.0))];
    let report = check(&metal(&squares), &Rules { corner_angle_deg: None, ..plain() });
    assert_eq!(
        (report.total, report.violations[0].rule, report.violations[0].found_nm),
        (1, Rule::Width, 0.0)
    );
    let on_an_edge = [
        ("a", block(0.0, 0.0, 100.0, 100.0)),
        (
            "a",
            Polygon::new(vec![
                Point::um(150.0, 100.0),
                Point::um(200.0, 150.0),
                Point::um(100.0, 250.0),
                Point::um(50.0, 200.0),
            ]),
        ),
        ("a", block(0.0, 0.0, 300.0, 100.0)),
    ];
    let report = check(&metal(&on_an_edge), &Rules { corner_angle_deg: None, ..plain() });
    assert_eq!((report.total, report.violations[0].found_nm), (1, 0.0), "{}", sentences(&report));
}

#[test]
fn round_ends_and_right_angles_are_no_narrow_places() {
    let drawing = metal(&[
        ("a", stroke((100.0, 100.0), (800.0, 433.0), 40.0)),
        ("a", disc(100.0, 100.0, 40.0)),
        ("a", disc(800.0, 433.0, 40.0)),
        ("a", stroke((800.0, 433.0), (800.0, 900.0), 40.0)),
        ("a", disc(800.0, 900.0, 40.0)),
        ("a", disc(800.0, 900.0, 270.0)),
    ]);
    let report = check(&drawing, &Rules::new(Nm::from_um(40), Nm::from_um(10)));
    assert!(report.clean(), "{}", sentences(&report));
    let width = report.min_width().map(|m| m.value).unwrap_or_default();
    assert!((39_992.0..=40_001.0).contains(&width), "{width}");
}

#[test]
fn an_edge_of_a_nanometre_on_a_round_end_is_no_narrow_place() {
    // The end of a strip of 10 um, a corner split by a nanometre: square to that edge a chord of the end would be measured.
    let rules = Rules { line: Nm::from_um(10), flattening: Nm(5), ..plain() };
    let arc = |k: i32| {
        let angle = std::f64::consts::PI * (f64::from(k) / 32.0 - 0.5);
        Point::um(40.0 + 5.0 * angle.cos(), 30.0 + 5.0 * angle.sin())
    };
    for split in 1..32 {
        for (dx, dy) in [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (2, -1)] {
            let mut ring = vec![Point::um(10.0, 25.0)];
            for k in 0..=32 {
                ring.push(arc(k));
                if k == split {
                    ring.push(Point::new(arc(k).x + Nm(dx), arc(k).y + Nm(dy)));
                }
            }
            ring.push(Point::um(10.0, 35.0));
            let drawing = metal(&[("a", Polygon::new(ring))]);
            let report = check(&drawing, &rules);
            assert!(
                report.violations.iter().all(|v| v.rule != Rule::Width),
                "{split} {dx} {dy}: {:?}",
                report.violations
            );
            let least = report.min_width().unwrap().value;
            assert!(least > 9_950.0, "{split} {dx} {dy}: {least}");
        }
    }
}

#[test]
fn a_chopped_tip_is_too_narrow() {
    let tip = Polygon::new(vec![
        Point::um(0.0, 0.0),
        Point::um(300.0, 40.0),
        Point::um(300.0, 50.0),
        Point::um(0.0, 90.0),
    ]);
    let rules = Rules { corner_angle_deg: None, ..plain() };
    assert_eq!(broken(&check(&metal(&[("a", tip)]), &rules)), [Rule::Width]);
}

#[test]
fn notch_inside_one_net_is_a_warning() {
    let rules = Rules { notch: Some(Nm::from_um(10)), ..plain() };
    let report = limit(Rule::Notch, &rules, |d| {
        metal(&[
            ("a", block(0.0, 0.0, 500.0, 40.0)),
            ("a", block(0.0, 50.0 - d, 500.0, 90.0)),
            ("a", block(0.0, 0.0, 40.0, 90.0)),
        ])
    });
    assert_eq!(report.total, 0);
}

#[test]
fn corners_of_less_than_ninety_degrees_inside_and_outside() {
    // A parallelogram that leans by 1 nm in 1 um has a corner just below 90 degrees.
    let lean = |d: f64| {
        Polygon::new(vec![
            Point::um(0.0, 0.0),
            Point::um(100.0, 0.0),
            Point::um(100.0 + 100.0 * d, 100.0),
            Point::um(100.0 * d, 100.0),
        ])
    };
    let inside = check(&metal(&[("a", lean(0.001))]), &plain());
    assert_eq!((broken(&inside), inside.total), (vec![Rule::Corner], 2), "{}", sentences(&inside));
    assert!((inside.violations[0].found_nm - 89.9427).abs() < 1e-3);
    assert!(check(&metal(&[("a", lean(0.0))]), &plain()).clean());
    // A branch that leaves a line at 60 degrees has an acute outer corner; at 90 it has not.
    let branch = |x: f64| {
        metal(&[("a", block(0.0, 0.0, 800.0, 40.0)), ("a", stroke((400.0, 20.0), (400.0 + x, 300.0), 40.0))])
    };
    assert!(check(&branch(0.0), &plain()).clean());
    let slanted = check(&branch(160.0), &Rules { flattening: Nm(2), ..plain() });
    assert_eq!((broken(&slanted), slanted.total), (vec![Rule::Corner], 1), "{}", sentences(&slanted));
}

#[test]
fn edge_clearance_and_metal_outside() {
    let rules = Rules { edge_clearance: Some(Nm::from_um(20)), ..plain() };
    limit(Rule::EdgeClearance, &rules, |d| metal(&[("a", block(20.0 - d, 100.0, 500.0, 140.0))]));
    limit(Rule::EdgeClearance, &rules, |d| metal(&[("a", block(100.0, 100.0, 500.0, 1980.0 + d))]));
    let outside = check(&metal(&[("a", block(-500.0, 100.0, -100.0, 140.0))]), &rules);
    assert_eq!(broken(&outside), [Rule::EdgeClearance]);
    let touching = Rules { edge_clearance: Some(Nm::ZERO), ..plain() };
    limit(Rule::EdgeClearance, &touching, |d| metal(&[("a", block(-d, 100.0, 500.0, 140.0))]));
    let mut ring = metal(&[("a", block(60.0, 100.0, 500.0, 140.0))]);
    ring.layer_mut(Role::Outline).shapes.push(Shape::new(
        ShapeKind::Outline,
        None,
        block(50.0, 50.0, 1950.0, 1950.0),
    ));
    assert_eq!(broken(&check(&ring, &rules)), [Rule::EdgeClearance]);
}

#[test]
fn keep_outs_on_the_drawing_and_in_the_rules() {
    let wall = |x: f64| block(x, 0.0, x + 100.0, 400.0);
    let line = || metal(&[("a", block(100.0, 100.0, 500.0, 140.0))]);
    limit(Rule::KeepOut, &plain(), |d| {
        let mut drawing = line();
        drawing.layer_mut(Role::KeepOut).shapes.push(Shape::new(ShapeKind::KeepOut, None, wall(500.0 - d)));
        drawing
    });
    limit(Rule::KeepOut, &plain(), |d| {
        let mut drawing = line();
        drawing.layer_mut(Role::Rdl(1)).shapes.push(Shape::new(ShapeKind::KeepOut, None, wall(500.0 - d)));
        drawing
    });
    let apart = Rules {
        keep_outs: vec![KeepOut { layer: Some(1), polygon: wall(505.0) }],
        keep_out_clearance: Nm::from_um(5),
        ..plain()
    };
    limit(Rule::KeepOut, &apart, |d| metal(&[("a", block(100.0, 100.0, 500.0 + d, 140.0))]));
    let other_layer = Rules { keep_outs: vec![KeepOut { layer: Some(2), polygon: wall(300.0) }], ..plain() };
    assert!(check(&line(), &other_layer).clean());
    let covering =
        Rules { keep_outs: vec![KeepOut { layer: None, polygon: block(0.0, 0.0, 900.0, 900.0) }], ..plain() };
    assert_eq!(broken(&check(&line(), &covering)), [Rule::KeepOut]);
}

#[test]
fn enclosures() {
    let um = |x| Some(Nm::from_um(x));
    let nested = |inner: Role, outer: Role, d: f64, by: f64| {
        let mut drawing = die();
        put(&mut drawing, inner, ShapeKind::Opening, "a", block(500.0, 500.0, 600.0, 600.0));
        put(
            &mut drawing,
            outer,
            ShapeKind::Via,
            "a",
            block(500.0 - by, 500.0 - by, 600.0 + by, 600.0 + by - d),
        );
        drawing
    };
    let cases = [
        (Role::Opening(1), Role::Rdl(1), Rules { landing_enclosure: um(10), ..plain() }),
        (Role::Opening(1), Role::Pad, Rules { pad_encloses_opening: um(10), ..plain() }),
        (Role::Ubm, Role::Rdl(1), Rules { capture_encloses_ubm: um(10), ..plain() }),
        (Role::BumpOpening, Role::Ubm, Rules { ubm_encloses_bump_opening: um(10), ..plain() }),
    ];
    for (inner, outer, rules) in cases {
        let report = limit(Rule::Enclosure, &rules, |d| nested(inner, outer, d, 10.0));
        assert_eq!(report.violations[0].found_nm, 9_999.0);
        let mut bare = nested(inner, outer, 0.0, 10.0);
        bare.layer_mut(outer).shapes.clear();
        let report = check(&bare, &rules);
        assert_eq!((report.total, report.violations[0].found_nm), (1, 0.0), "{}", sentences(&report));
    }
    let via = Rules { via_enclosure: um(10), ..plain() };
    for layer in [1, 2] {
        limit(Rule::Enclosure, &via, |d| {
            let mut drawing = nested(Role::Opening(2), Role::Rdl(layer), d, 10.0);
            put(&mut drawing, Role::Rdl(3 - layer), ShapeKind::Via, "a", block(480.0, 480.0, 620.0, 620.0));
            drawing
        });
    }
}

#[test]
fn enclosure_counts_metal_of_several_shapes_and_sees_holes() {
    let rules = Rules { landing_enclosure: Some(Nm::from_um(10)), ..plain() };
    let mut drawing =
        metal(&[("a", block(480.0, 480.0, 550.0, 620.0)), ("a", block(550.0, 480.0, 620.0, 620.0))]);
    put(&mut drawing, Role::Opening(1), ShapeKind::Opening, "a", block(500.0, 500.0, 600.0, 600.0));
    assert!(check(&drawing, &rules).clean());
    let hole = block(540.0, 540.0, 550.0, 550.0).outer.into_iter().rev().collect();
    let mut holed =
        metal(&[("a", Polygon { outer: block(400.0, 400.0, 700.0, 700.0).outer, holes: vec![hole] })]);
    put(&mut holed, Role::Opening(1), ShapeKind::Opening, "a", block(500.0, 500.0, 600.0, 600.0));
    assert_eq!(broken(&check(&holed, &rules)), [Rule::Enclosure]);
}

#[test]
fn openings_and_bumps_against_each_other() {
    let um = |x| Some(Nm::from_um(x));
    let pair = |first: Role, second: Role, gap: f64| {
        let mut drawing = die();
        put(&mut drawing, first, ShapeKind::Opening, "a", block(400.0, 400.0, 500.0, 500.0));
        put(&mut drawing, second, ShapeKind::Opening, "b", block(500.0 + gap, 400.0, 600.0 + gap, 500.0));
        drawing
    };
    let opening = Role::Opening(1);
    limit(Rule::Space, &Rules { pad_opening_space: um(20), ..plain() }, |d| pair(opening, opening, 20.0 - d));
    let rules = Rules { pad_opening_to_bump_opening: um(25), ..plain() };
    limit(Rule::Space, &rules, |d| pair(opening, Role::BumpOpening, 25.0 - d));
    limit(Rule::Space, &Rules { pad_opening_to_ubm: um(10), ..plain() }, |d| {
        pair(opening, Role::Ubm, 10.0 - d)
    });
    let bumps = |d: f64| {
        let mut drawing = pair(Role::Bump, Role::Bump, 190.0 - d);
        for (net, x) in [("a", 400.0), ("b", 690.0)] {
            put(&mut drawing, Role::Rdl(1), ShapeKind::Capture, net, block(x, 400.0, x + 100.0, 500.0));
        }
        drawing
    };
    limit(Rule::Space, &Rules { bump_space: um(190), ..plain() }, bumps);
    let touching = check(&pair(opening, opening, -10.0), &Rules { pad_opening_space: um(20), ..plain() });
    assert_eq!((broken(&touching), touching.violations[0].found_nm), (vec![Rule::Space], 0.0));
}

#[test]
fn widths_of_openings_ubm_and_bumps() {
    let um = |x| Some(Nm::from_um(x));
    let cases = [
        (Role::Opening(1), Rules { pad_opening_width: um(35), ..plain() }),
        (Role::Opening(2), Rules { via_width: um(35), ..plain() }),
        (Role::BumpOpening, Rules { bump_opening_width: um(35), ..plain() }),
        (Role::Ubm, Rules { ubm_width: um(35), ..plain() }),
    ];
    for (role, rules) in cases {
        limit(Rule::Width, &rules, |d| {
            let mut drawing = die();
            put(&mut drawing, role, ShapeKind::Opening, "a", block(400.0, 400.0, 500.0, 435.0 - d));
            drawing
        });
    }
    limit(Rule::Width, &Rules { bump_width: um(60), ..plain() }, |d| {
        let mut drawing = metal(&[("a", block(300.0, 300.0, 600.0, 600.0))]);
        put(&mut drawing, Role::Bump, ShapeKind::Bump, "a", block(400.0, 400.0, 500.0, 460.0 - d));
        drawing
    });
}

#[test]
fn bumps_near_the_seal_ring() {
    let um = |x| Some(Nm::from_um(x));
    let seat = |x: f64| {
        let mut drawing = metal(&[("a", block(x - 60.0, 900.0, x + 60.0, 1100.0))]);
        put(&mut drawing, Role::Bump, ShapeKind::Bump, "a", block(x - 50.0, 950.0, x + 50.0, 1050.0));
        drawing
    };
    limit(Rule::SealRing, &Rules { bump_centre_to_seal_ring: um(155), ..plain() }, |d| seat(155.0 - d));
    limit(Rule::SealRing, &Rules { bump_edge_to_seal_ring: um(25), ..plain() }, |d| seat(75.0 - d));
    limit(Rule::SealRing, &Rules { bump_edge_to_seal_ring: um(25), ..plain() }, |d| seat(1925.0 + d));
}

#[test]
fn density_windows() {
    let window =
        |low: f64, high: f64| DensityWindow { size: Nm::from_um(500), step: Nm::from_um(500), low, high };
    let draw = || {
        metal(&[
            ("a", block(0.0, 0.0, 2000.0, 250.0)),
            ("b", block(0.0, 500.0, 2000.0, 750.0)),
            ("c", block(0.0, 1000.0, 2000.0, 1250.0)),
            ("d", block(0.0, 1500.0, 2000.0, 1750.0)),
        ])
    };
    let report = check(&draw(), &Rules { density: Some(window(0.5, 0.5)), ..plain() });
    assert!(report.clean(), "{}", sentences(&report));
    assert_eq!(report.layers[0].density_low.as_ref().map(|m| m.value), Some(0.5));
    let report = check(&draw(), &Rules { density: Some(window(0.51, 0.9)), ..plain() });
    assert_eq!(report.counts[&Rule::Density], 16);
    assert_eq!(report.violations[0].at, Point::um(250.0, 250.0));
    let report = check(&draw(), &Rules { density: Some(window(0.1, 0.49)), ..plain() });
    assert_eq!(report.counts[&Rule::Density], 16);
}

#[test]
fn malformed_input_is_reported_and_harmless() {
    let mut drawing = metal(&[("a", Polygon::new(vec![Point::um(0.0, 0.0), Point::um(1.0, 1.0)]))]);
    put(&mut drawing, Role::Rdl(1), ShapeKind::Trace, "b", Polygon::default());
    let far = Polygon::new(vec![
        Point::um(0.0, 0.0),
        Point::new(Nm(i64::MAX), Nm(0)),
        Point::new(Nm(0), Nm(i64::MIN)),
    ]);
    put(&mut drawing, Role::Rdl(1), ShapeKind::Trace, "c", far);
    let bow = Polygon::new(vec![
        Point::um(0.0, 0.0),
        Point::um(100.0, 100.0),
        Point::um(100.0, 0.0),
        Point::um(0.0, 150.0),
    ]);
    put(&mut drawing, Role::Rdl(1), ShapeKind::Trace, "d", bow);
    let report = check(&drawing, &plain());
    assert_eq!(report.counts[&Rule::Malformed], 4, "{}", sentences(&report));
    let no_rules = Rules {
        density: Some(DensityWindow { size: Nm(0), step: Nm(0), low: 0.0, high: 1.0 }),
        ..Rules::new(Nm(0), Nm(-5))
    };
    assert_eq!(check(&one_layer(), &no_rules).counts[&Rule::Malformed], 3);
    assert!(check(&Drawing::new("empty", Nm(0), Nm(0)), &rules()).clean());
}

#[test]
fn the_report_keeps_the_first_and_counts_all() {
    let lines: Vec<(String, Polygon)> = (0..20)
        .map(|i| (format!("n{i:02}"), block(0.0, 45.0 * i as f64, 500.0, 45.0 * i as f64 + 40.0)))
        .collect();
    let shapes: Vec<(&str, Polygon)> = lines.iter().map(|(n, p)| (n.as_str(), p.clone())).collect();
    let report = check(&metal(&shapes), &Rules { keep: 5, ..plain() });
    assert_eq!((report.total, report.violations.len(), report.counts[&Rule::Space]), (19, 5, 19));
}

#[test]
fn labels_and_contacts_name_metal_without_a_net() {
    let mut drawing = one_layer();
    for layer in &mut drawing.layers {
        layer.shapes.iter_mut().for_each(|s| s.net = None);
    }
    for (net, y) in [("a", 400.0), ("b", 900.0), ("c", 1400.0)] {
        drawing.labels.push(Label { role: Role::Pad, at: Point::um(100.0, y - 130.0), text: net.into() });
    }
    let labelled = Rules { net_labels: [Role::Pad].into(), ..rules() };
    let report = check(&drawing, &labelled);
    assert!(report.clean(), "{}", sentences(&report));
    assert_eq!(report.nets.keys().map(String::as_str).collect::<Vec<_>>(), ["a", "b", "c"]);
    assert!(report.nets.values().all(|n| (n.pieces, n.pads, n.bumps) == (1, 1, 1)));
    // Without labels the pieces are told apart all the same.
    let unnamed = check(&drawing, &rules());
    assert!(unnamed.clean(), "{}", sentences(&unnamed));
    assert_eq!(unnamed.nets.len(), 3);
    // A bridge between two pieces with different labels is a short.
    let bridge = Shape::new(ShapeKind::Trace, None, stroke((1000.0, 400.0), (1000.0, 900.0), 40.0));
    drawing.layer_mut(Role::Rdl(1)).shapes.push(bridge);
    let report = check(&drawing, &labelled);
    assert!(broken(&report).contains(&Rule::Short), "{}", sentences(&report));
    assert_eq!(
        report.violations.iter().find(|v| v.rule == Rule::Short).map(|v| v.nets.clone()),
        Some(vec!["a".into(), "b".into()])
    );
}
