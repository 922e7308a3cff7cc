//! Planes grown from supplies on generated rings: lawful, joined to their nets, and the same every time.

use facedown_layout::{Drawing, Point, Polygon, Role, ShapeKind};
use facedown_quantity::Nm;
use facedown_redistribution::specimen::ring;
use facedown_redistribution::{KeepOut, NetSpec, Problem, solve};
use facedown_rulecheck::{Rules, check};
use std::collections::BTreeSet;

/// A ring in which every `every`-th net is a supply of `supplies` that grow; the others keep their nets.
fn with_supplies(pads: usize, layers: u8, every: usize, supplies: usize) -> Problem {
    let mut problem = ring(pads, 0.6, 10.0, layers, Some(0));
    // The outer row's landings stand within a micrometre of the die edge.
    problem.rules.edge_clearance = Nm(900);
    for (k, pad) in problem.pads.iter_mut().enumerate().filter(|p| p.0 % every == 0) {
        let supply = format!("V{}", k / every % supplies);
        for site in problem.sites.iter_mut().filter(|s| s.net.as_deref() == Some(pad.net.as_str())) {
            site.net = Some(supply.clone());
        }
        pad.net = supply;
    }
    for k in 0..supplies {
        let name = format!("V{k}");
        let bumps = problem.sites.iter().filter(|s| s.net.as_ref() == Some(&name)).count();
        problem.nets.push(NetSpec { name, supply: true, bumps, width: None, one_piece: false, grow: true });
    }
    problem
}

fn rules(problem: &Problem) -> Rules {
    let mut rules = Rules::new(problem.rules.line, problem.rules.space);
    rules.edge_clearance = Some(problem.rules.edge_clearance);
    rules.joined_elsewhere = problem.nets.iter().map(|n| n.name.clone()).collect();
    rules
}

/// Twice the area of a polygon less its holes, nm2; also holds the directions of its rings.
fn twice_area(polygon: &Polygon) -> i128 {
    let ring = |points: &[Point]| -> i128 {
        let next = points.iter().cycle().skip(1);
        points
            .iter()
            .zip(next)
            .map(|(a, b)| i128::from(a.x.0) * i128::from(b.y.0) - i128::from(b.x.0) * i128::from(a.y.0))
            .sum()
    };
    let outer = ring(&polygon.outer);
    let holes: Vec<i128> = polygon.holes.iter().map(|h| ring(h)).collect();
    assert!(outer > 0 && holes.iter().all(|h| *h < 0), "outer rings run left, holes right");
    outer + holes.iter().sum::<i128>()
}

fn plane_area(drawing: &Drawing, net: &str) -> f64 {
    let shapes = drawing.layers.iter().filter(|l| matches!(l.role, Role::Rdl(_))).flat_map(|l| &l.shapes);
    let mine = shapes.filter(|s| s.kind == ShapeKind::Plane && s.net.as_deref() == Some(net));
    mine.map(|s| twice_area(&s.polygon)).sum::<i128>() as f64 / 2.0
}

fn routed(problem: &Problem) -> Drawing {
    match solve(problem, &mut |_| true) {
        Ok(outcome) => {
            assert!(outcome.certificates.is_empty(), "{:?}", outcome.certificates);
            outcome.drawing
        }
        Err(e) => panic!("{e}"),
    }
}

/// Sentences on all violations that are not there without planes.
fn broken_by_planes(drawing: &Drawing, rules: &Rules) -> Vec<String> {
    let mut plain = drawing.clone();
    plain.layers.iter_mut().for_each(|l| l.shapes.retain(|s| s.kind != ShapeKind::Plane));
    let before: BTreeSet<String> = check(&plain, rules).violations.into_iter().map(|v| v.sentence).collect();
    let after = check(drawing, rules).violations.into_iter().map(|v| v.sentence);
    after.filter(|s| !before.contains(s)).take(8).collect()
}

fn lawful(problem: &Problem, drawing: &Drawing) {
    let broken = broken_by_planes(drawing, &rules(problem));
    assert!(broken.is_empty(), "{broken:#?}");
}

#[test]
fn planes_fill_free_room_and_break_no_rule() {
    for (pads, layers, every, supplies) in [(120, 1, 6, 1), (160, 1, 5, 2), (200, 1, 4, 4), (160, 2, 5, 3)] {
        let problem = with_supplies(pads, layers, every, supplies);
        let drawing = routed(&problem);
        lawful(&problem, &drawing);
        let die = problem.width.nm() * problem.height.nm();
        let mut areas = Vec::new();
        for net in &problem.nets {
            areas.push(plane_area(&drawing, &net.name) / die);
        }
        let all: f64 = areas.iter().sum();
        assert!(all > 0.08, "planes cover {all:.3} of the die: {areas:?}");
        // A fair share: no supply is left with next to nothing.
        assert!(areas.iter().all(|a| *a > 0.2 * all / supplies as f64), "{areas:?}");
    }
}

#[test]
fn without_the_wish_nothing_grows_and_the_rest_of_the_drawing_is_the_same() {
    let grown = with_supplies(120, 1, 6, 2);
    let mut plain = grown.clone();
    plain.nets.iter_mut().for_each(|n| n.grow = false);
    let (mut with, without) = (routed(&grown), routed(&plain));
    let metal = |d: &Drawing| d.layer(Role::Rdl(1)).map_or(0, |l| l.shapes.len());
    assert!(metal(&with) > metal(&without));
    assert_eq!(with, routed(&grown), "the same problem gives the same drawing");
    with.layers.iter_mut().for_each(|l| l.shapes.retain(|s| s.kind != ShapeKind::Plane));
    assert_eq!(with, without);
}

#[test]
fn planes_keep_out_of_keep_outs() {
    let mut problem = with_supplies(120, 1, 6, 1);
    let before = plane_area(&routed(&problem), "V0");
    // A slanted keep-out with a sharp corner in the middle of the array's left margin.
    let (x, y) = (60.0, problem.height.nm() / 2e3);
    let corner = |dx: f64, dy: f64| Point::um(x + dx, y + dy);
    problem.keep_outs.push(KeepOut {
        layer: Some(1),
        polygon: Polygon::new(vec![corner(0.0, 0.0), corner(60.0, -4.0), corner(60.0, 4.0)]),
    });
    let Ok(outcome) = solve(&problem, &mut |_| true) else { panic!("not solved") };
    let mut rules = rules(&problem);
    rules.keep_outs = problem
        .keep_outs
        .iter()
        .map(|k| facedown_rulecheck::KeepOut { layer: k.layer, polygon: k.polygon.clone() })
        .collect();
    let broken = broken_by_planes(&outcome.drawing, &rules);
    assert!(broken.is_empty(), "{broken:#?}");
    assert!(plane_area(&outcome.drawing, "V0") < before);
}

#[test]
fn a_drawing_finer_than_any_line_still_grows_lawfully() {
    let mut problem = with_supplies(160, 1, 5, 2);
    // Planes of finer lines reach into finer gaps.
    let coarse = routed(&problem);
    problem.rules.line = Nm::from_um(3);
    problem.rules.space = Nm::from_um(3);
    let fine = routed(&problem);
    lawful(&problem, &fine);
    let total = |d: &Drawing| problem.nets.iter().map(|n| plane_area(d, &n.name)).sum::<f64>();
    assert!(total(&fine) > total(&coarse));
}
