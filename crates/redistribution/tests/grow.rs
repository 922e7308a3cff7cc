//! Planes grown from supplies on generated rings: lawful, joined to their nets, and the same every time.

mod planes;

use facedown_layout::{Drawing, Point, Polygon, Role, ShapeKind};
use facedown_quantity::Nm;
use facedown_redistribution::{KeepOut, solve};
use planes::{broken_by_planes, lawful, plane_area, routed, rules, with_supplies};

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
    plain.nets.iter_mut().for_each(|n| n.plane = None);
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
