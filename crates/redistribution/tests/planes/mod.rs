//! Rings with supplies that grow, and what is asked of their planes.
#![allow(dead_code, reason = "each test uses a part")]

use facedown_layout::{Drawing, Point, Polygon, Role, ShapeKind};
use facedown_quantity::Nm;
use facedown_redistribution::specimen::ring;
use facedown_redistribution::{NetSpec, Plane, Problem, solve};
use facedown_rulecheck::{Rules, check};
use std::collections::BTreeSet;

/// A ring in which every `every`-th net is a supply of `supplies` that grow; the others keep their nets.
pub fn with_supplies(pads: usize, layers: u8, every: usize, supplies: usize) -> Problem {
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
        problem.nets.push(NetSpec {
            name,
            supply: true,
            bumps,
            width: None,
            one_piece: false,
            plane: Some(Plane::default()),
        });
    }
    problem
}

/// The checker's rules for a problem.
pub fn rules(problem: &Problem) -> Rules {
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

/// Area of a net's planes, nm2.
pub fn plane_area(drawing: &Drawing, net: &str) -> f64 {
    let shapes = drawing.layers.iter().filter(|l| matches!(l.role, Role::Rdl(_))).flat_map(|l| &l.shapes);
    let mine = shapes.filter(|s| s.kind == ShapeKind::Plane && s.net.as_deref() == Some(net));
    mine.map(|s| twice_area(&s.polygon)).sum::<i128>() as f64 / 2.0
}

/// The drawing of a problem that can be routed.
pub fn routed(problem: &Problem) -> Drawing {
    match solve(problem, &mut |_| true) {
        Ok(outcome) => {
            assert!(outcome.certificates.is_empty(), "{:?}", outcome.certificates);
            outcome.drawing
        }
        Err(e) => panic!("{e}"),
    }
}

/// Sentences on all violations that are not there without planes.
pub fn broken_by_planes(drawing: &Drawing, rules: &Rules) -> Vec<String> {
    let mut plain = drawing.clone();
    plain.layers.iter_mut().for_each(|l| l.shapes.retain(|s| s.kind != ShapeKind::Plane));
    let before: BTreeSet<String> = check(&plain, rules).violations.into_iter().map(|v| v.sentence).collect();
    let after = check(drawing, rules).violations.into_iter().map(|v| v.sentence);
    after.filter(|s| !before.contains(s)).take(8).collect()
}

/// Fails where planes break a rule.
pub fn lawful(problem: &Problem, drawing: &Drawing) {
    let broken = broken_by_planes(drawing, &rules(problem));
    assert!(broken.is_empty(), "{broken:#?}");
}
