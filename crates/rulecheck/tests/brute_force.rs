//! Small random drawings against a slow reference: all pairs of shapes and edges, no grid, no union, floating-point
//! distances.

mod sample;

use facedown_layout::{Drawing, Point, Polygon, Role, Shape, ShapeKind};
use facedown_quantity::Nm;
use facedown_rulecheck::{Rule, Rules, check};
use proptest::prelude::*;

type Spot = [f64; 2];

fn points(polygon: &Polygon) -> Vec<Spot> {
    polygon.outer.iter().map(|p| [p.x.nm(), p.y.nm()]).collect()
}

fn edges(polygon: &Polygon) -> Vec<(Spot, Spot)> {
    let p = points(polygon);
    (0..p.len()).map(|i| (p[i], p[(i + 1) % p.len()])).collect()
}

fn to_segment(p: Spot, (a, b): (Spot, Spot)) -> f64 {
    let (ux, uy) = (b[0] - a[0], b[1] - a[1]);
    let t = (((p[0] - a[0]) * ux + (p[1] - a[1]) * uy) / (ux * ux + uy * uy)).clamp(0.0, 1.0);
    (p[0] - a[0] - t * ux).hypot(p[1] - a[1] - t * uy)
}

fn side(a: Spot, b: Spot, p: Spot) -> f64 {
    (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
}

fn crossing((a, b): (Spot, Spot), (c, d): (Spot, Spot)) -> bool {
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

fn inside(p: Spot, polygon: &Polygon) -> bool {
    edges(polygon)
        .iter()
        .filter(|(a, b)| {
            (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
        })
        .count()
        % 2
        == 1
}

fn distance(first: &Polygon, second: &Polygon) -> f64 {
    if inside(points(first)[0], second) || inside(points(second)[0], first) {
        return 0.0;
    }
    let mut least = f64::INFINITY;
    for e in edges(first) {
        for f in edges(second) {
            if crossing(e, f) {
                return 0.0;
            }
            for d in [to_segment(e.0, f), to_segment(e.1, f), to_segment(f.0, e), to_segment(f.1, e)] {
                least = least.min(d);
            }
        }
    }
    least
}

/// Convex shapes: points on an ellipse, turned, in whole nanometres.
fn blob() -> impl Strategy<Value = Polygon> {
    (0..400i32, 0..400i32, 5..90i32, 5..90i32, 3..12usize, 0.0..6.25f64).prop_map(|(x, y, a, b, n, turn)| {
        let at = |i: usize| {
            let t = std::f64::consts::TAU * i as f64 / n as f64;
            let (u, v) = (a as f64 * t.cos(), b as f64 * t.sin());
            Point::um(x as f64 + u * turn.cos() - v * turn.sin(), y as f64 + u * turn.sin() + v * turn.cos())
        };
        Polygon::new((0..n).map(at).collect())
    })
}

fn drawing() -> impl Strategy<Value = Drawing> {
    prop::collection::vec((0..4u8, blob()), 1..9).prop_map(|shapes| {
        let mut drawing = Drawing::new("random", Nm::from_um(500), Nm::from_um(500));
        for (net, polygon) in shapes {
            let name = ["a", "b", "c", "d"][net as usize];
            drawing.layer_mut(Role::Rdl(1)).shapes.push(Shape::new(ShapeKind::Trace, Some(name), polygon));
        }
        drawing
    })
}

fn shapes(drawing: &Drawing) -> &[Shape] {
    &drawing.layers[0].shapes
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn least_space_and_the_nets_that_break_it(drawing in drawing()) {
        let space = 30_000.0;
        let report = check(&drawing, &Rules { keep: 10_000, ..Rules::new(Nm(1), Nm(space as i64)) });
        let mut least = f64::INFINITY;
        let mut too_near = std::collections::BTreeSet::new();
        for (i, first) in shapes(&drawing).iter().enumerate() {
            for second in &shapes(&drawing)[i + 1..] {
                if first.net != second.net {
                    let d = distance(&first.polygon, &second.polygon);
                    least = least.min(d);
                    // Within a thousandth of a nanometre of the limit the floating reference cannot judge.
                    if (d - space).abs() > 1e-3 && d < space {
                        let mut nets = [first.net.clone(), second.net.clone()];
                        nets.sort();
                        too_near.insert(nets.map(Option::unwrap_or_default));
                    }
                }
            }
        }
        match report.min_spacing() {
            Some(found) => prop_assert!((found.value - least).abs() < 1e-3, "{} and {least}", found.value),
            None => prop_assert!(least.is_infinite()),
        }
        let found: std::collections::BTreeSet<[String; 2]> = report
            .violations
            .iter()
            .filter(|v| matches!(v.rule, Rule::Space | Rule::Short))
            .filter_map(|v| v.nets.clone().try_into().ok())
            .collect();
        prop_assert_eq!(found, too_near);
    }

    #[test]
    fn pieces_of_each_net(drawing in drawing()) {
        let report = check(&drawing, &Rules::new(Nm(1), Nm(1)));
        for (name, net) in &report.nets {
            let own: Vec<&Polygon> = shapes(&drawing).iter().filter(|s| s.net.as_ref() == Some(name)).map(|s| &s.polygon).collect();
            let mut piece: Vec<usize> = (0..own.len()).collect();
            for i in 0..own.len() {
                for j in 0..i {
                    if distance(own[i], own[j]) == 0.0 {
                        let (from, to) = (piece[i], piece[j]);
                        piece.iter_mut().filter(|p| **p == from).for_each(|p| *p = to);
                    }
                }
            }
            piece.sort_unstable();
            piece.dedup();
            prop_assert_eq!(net.pieces, piece.len(), "{}", name);
        }
    }

    #[test]
    fn width_of_a_slanted_line_is_its_width(x in 0..300i32, y in 0..300i32, angle in 0.0..6.25f64, width in 5..60i32) {
        let (from, to) = ((x as f64, y as f64), (x as f64 + 150.0 * angle.cos(), y as f64 + 150.0 * angle.sin()));
        let mut drawing = Drawing::new("line", Nm::from_um(500), Nm::from_um(500));
        let line = sample::stroke(from, to, width as f64);
        // The same line again in two overlapping halves: merging must not change its width.
        let middle = ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
        for polygon in [line, sample::stroke(from, middle, width as f64), sample::disc(middle.0, middle.1, width as f64)] {
            drawing.layer_mut(Role::Rdl(1)).shapes.push(Shape::new(ShapeKind::Trace, Some("a"), polygon));
        }
        let report = check(&drawing, &Rules::new(Nm::from_um(width as i64), Nm(1)));
        prop_assert!(!report.counts.contains_key(&Rule::Width), "{}", sample::sentences(&report));
        let found = report.min_width().map(|m| m.value).unwrap_or_default();
        // Each side is off by at most 0.71 nm of rounding.
        prop_assert!((found - 1e3 * width as f64).abs() < 8.0, "{found}");
        let wider = check(&drawing, &Rules::new(Nm(width as i64 * 1000 + 10), Nm(1)));
        prop_assert!(wider.counts.contains_key(&Rule::Width));
    }

    #[test]
    fn moving_or_turning_a_drawing_by_right_angles_changes_no_measure(drawing in drawing(), dx in -999i64..999, dy in -999i64..999) {
        let rules = Rules { keep: 10_000, notch: Some(Nm(3000)), ..Rules::new(Nm::from_um(12), Nm::from_um(9)) };
        let first = check(&drawing, &rules);
        let mut turned = drawing.clone();
        for shape in &mut turned.layers[0].shapes {
            for p in &mut shape.polygon.outer {
                *p = Point::new(Nm(dx - p.y.0), Nm(dy + p.x.0));
            }
        }
        let second = check(&turned, &rules);
        // How many places a short and the space around it make depends on the grid; the nets that take part do not.
        for rules in [&[Rule::Space, Rule::Short][..], &[Rule::Open]] {
            let nets = |r: &facedown_rulecheck::Report| {
                let all = r.violations.iter().filter(|v| rules.contains(&v.rule)).map(|v| v.nets.clone());
                all.collect::<std::collections::BTreeSet<Vec<String>>>()
            };
            prop_assert_eq!(nets(&first), nets(&second));
        }
        let value = |m: Option<&facedown_rulecheck::Measured>| m.map_or(0.0, |m| m.value);
        prop_assert!((value(first.min_spacing()) - value(second.min_spacing())).abs() < 1e-3);
        // Merging puts crossings on a grid of 1/16 nm.
        prop_assert!((value(first.min_width()) - value(second.min_width())).abs() < 2.0,
            "{} and {}", value(first.min_width()), value(second.min_width()));
        prop_assert!((first.layers[0].area_nm2 - second.layers[0].area_nm2).abs() < 1e-6 * first.layers[0].area_nm2);
    }
}
