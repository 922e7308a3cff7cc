//! Meshes and slots on generated rings: lawful, joined, with the metal that their measures promise, and nothing too wide.

mod planes;

use facedown_layout::{Drawing, Point, Role, Shape, ShapeKind};
use facedown_quantity::Nm;
use facedown_redistribution::{Mesh, Plane, Problem, Slots};
use facedown_rulecheck::{Rule, check};
use planes::{lawful, plane_area, routed, rules, with_supplies};
use proptest::prelude::*;

fn meshed(mut problem: Problem, line: f64, opening: f64) -> Problem {
    let mesh = Some(Mesh { line: Nm::round_um(line), opening: Nm::round_um(opening) });
    problem.nets.iter_mut().for_each(|n| n.plane = Some(Plane { layer: None, mesh }));
    problem
}

fn solid(problem: &Problem) -> Problem {
    let mut solid = problem.clone();
    solid.nets.iter_mut().for_each(|n| n.plane = Some(Plane::default()));
    solid
}

fn metal(drawing: &Drawing) -> impl Iterator<Item = &Shape> {
    drawing.layers.iter().filter(|l| matches!(l.role, Role::Rdl(_))).flat_map(|l| &l.shapes)
}

/// Squares with this side among the holes of planes.
fn openings(drawing: &Drawing, side: Nm) -> usize {
    let square = |h: &&Vec<Point>| {
        h.len() == 4
            && h.iter()
                .map(|p| p.x)
                .max()
                .zip(h.iter().map(|p| p.x).min())
                .is_some_and(|(a, b)| a - b == side)
    };
    metal(drawing)
        .filter(|s| s.kind == ShapeKind::Plane)
        .map(|s| s.polygon.holes.iter().filter(square).count())
        .sum()
}

#[test]
fn meshes_are_lawful_and_have_the_area_that_their_openings_leave() {
    for (pads, layers, line, opening) in [(120, 1, 12.0, 12.0), (160, 1, 20.0, 30.0), (160, 2, 10.0, 10.0)] {
        let problem = meshed(with_supplies(pads, layers, 5, 2), line, opening);
        let drawing = routed(&problem);
        lawful(&problem, &drawing);
        let full = routed(&solid(&problem));
        let count = openings(&drawing, Nm::round_um(opening));
        assert!(count > 20, "{count} openings");
        let area = |d: &Drawing| problem.nets.iter().map(|n| plane_area(d, &n.name)).sum::<f64>();
        let taken = count as f64 * (1e3 * opening).powi(2);
        assert!((area(&full) - area(&drawing) - taken).abs() < 1.0);
        // The merged metal, as the checker sees it, loses the same: openings are never covered by other metal.
        let merged = |d: &Drawing| {
            let report = check(d, &rules(&problem));
            report.layers.iter().filter(|l| matches!(l.role, Role::Rdl(_))).map(|l| l.area_nm2).sum::<f64>()
        };
        assert!((merged(&full) - merged(&drawing) - taken).abs() < 1e-6 * taken);
    }
}

#[test]
fn a_plane_may_keep_to_one_layer() {
    let mut problem = with_supplies(160, 2, 5, 2);
    for (net, layer) in problem.nets.iter_mut().zip([1, 2]) {
        net.plane = Some(Plane { layer: Some(layer), mesh: None });
    }
    let drawing = routed(&problem);
    lawful(&problem, &drawing);
    for layer in drawing.layers.iter() {
        let Role::Rdl(number) = layer.role else { continue };
        let planes = layer.shapes.iter().filter(|s| s.kind == ShapeKind::Plane);
        let nets: std::collections::BTreeSet<_> = planes.filter_map(|s| s.net.clone()).collect();
        assert_eq!(nets, [format!("V{}", number - 1)].into());
    }
}

/// Places wider than `widest` um outside pads, as the checker finds them.
fn too_wide(problem: &Problem, drawing: &Drawing, widest: f64) -> Vec<String> {
    let mut rules = rules(problem);
    rules.widest = Some(Nm::round_um(widest));
    let found = check(drawing, &rules).violations.into_iter();
    found.filter(|v| v.rule == Rule::Wide).map(|v| v.sentence).collect()
}

#[test]
fn nothing_too_wide_is_left_and_slots_are_lawful() {
    let widest = 60.0;
    for (pads, layers, mesh) in [(120, 1, None), (160, 2, None), (160, 1, Some((12.0, 40.0)))] {
        let mut problem = with_supplies(pads, layers, 5, 2);
        if let Some((line, opening)) = mesh {
            problem = meshed(problem, line, opening);
        }
        problem.rules.line = Nm::from_um(5);
        problem.rules.space = Nm::from_um(5);
        let unslotted = routed(&problem);
        assert!(!too_wide(&problem, &unslotted, widest).is_empty(), "nothing to slot");
        problem.rules.slots = Some(Slots { widest: Nm::round_um(widest), side: Nm::from_um(6) });
        let drawing = routed(&problem);
        lawful(&problem, &drawing);
        assert_eq!(too_wide(&problem, &drawing, widest), Vec::<String>::new());
        let pads = |d: &Drawing| {
            metal(d)
                .filter(|s| matches!(s.kind, ShapeKind::Landing | ShapeKind::Capture | ShapeKind::Via))
                .cloned()
                .collect::<Vec<_>>()
        };
        assert_eq!(pads(&drawing), pads(&unslotted));
    }
}

#[test]
fn only_wide_metal_is_slotted() {
    let mut problem = with_supplies(120, 1, 6, 1);
    problem.nets.iter_mut().for_each(|n| n.plane = None);
    let plain = routed(&problem);
    problem.rules.slots = Some(Slots { widest: Nm::from_um(60), side: Nm::from_um(6) });
    assert_eq!(routed(&problem), plain);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]
    #[test]
    fn random_rings_with_meshes_keep_every_rule(
        pads in 80usize..160, every in 4usize..7, supplies in 1usize..4,
        line in 10.0f64..30.0, opening in 10.0f64..50.0, slot in prop::option::of(70.0f64..120.0),
    ) {
        let mut problem = meshed(with_supplies(pads, 1, every, supplies), line, opening);
        problem.rules.slots = slot.map(|w| Slots { widest: Nm::round_um(w), side: Nm::from_um(10) });
        let drawing = routed(&problem);
        let broken = planes::broken_by_planes(&drawing, &rules(&problem));
        prop_assert!(broken.is_empty(), "{broken:#?}");
        if let Some(widest) = slot {
            prop_assert_eq!(too_wide(&problem, &drawing, widest), Vec::<String>::new());
        }
    }
}

#[test]
fn a_round_end_with_a_split_corner_is_no_narrow_plane() {
    // One plane ends in a disc whose outline has an edge of a nanometre.
    let problem = meshed(with_supplies(115, 1, 6, 2), 10.0, 10.0);
    let broken = planes::broken_by_planes(&routed(&problem), &rules(&problem));
    assert!(broken.is_empty(), "{broken:#?}");
}
