//! Drawings that the tests share: shapes from micrometres, a clean one-layer and a clean two-layer die.
#![allow(dead_code)] // each test file uses its own part

use facedown_layout::{Drawing, Point, Polygon, Role, Shape, ShapeKind};
use facedown_quantity::Nm;
use facedown_rulecheck::{Report, Rule, Rules};

/// A circle drawn with chords of at most 2 nm sagitta.
pub fn disc(x: f64, y: f64, diameter: f64) -> Polygon {
    let r = diameter / 2.0;
    let n = (std::f64::consts::PI / (1.0 - 0.002 / r).acos()).ceil().max(16.0) as usize;
    let n = n.div_ceil(4) * 4;
    let at = |i: usize| {
        let a = std::f64::consts::TAU * i as f64 / n as f64;
        Point::um(x + r * a.cos(), y + r * a.sin())
    };
    Polygon::new((0..n).map(at).collect())
}

/// A straight line of given width between two points, cut square.
pub fn stroke(from: (f64, f64), to: (f64, f64), width: f64) -> Polygon {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let l = dx.hypot(dy);
    let (nx, ny) = (-dy / l * width / 2.0, dx / l * width / 2.0);
    Polygon::new(vec![
        Point::um(from.0 - nx, from.1 - ny),
        Point::um(to.0 - nx, to.1 - ny),
        Point::um(to.0 + nx, to.1 + ny),
        Point::um(from.0 + nx, from.1 + ny),
    ])
}

/// A rectangle by its lower left and upper right, in um.
pub fn block(x0: f64, y0: f64, x1: f64, y1: f64) -> Polygon {
    Polygon::rectangle(Point::um(x0, y0), Point::um(x1, y1))
}

/// An empty die of 2 mm.
pub fn die() -> Drawing {
    Drawing::new("sample", Nm::from_um(2000), Nm::from_um(2000))
}

pub fn put(drawing: &mut Drawing, role: Role, kind: ShapeKind, net: &str, polygon: Polygon) {
    drawing.layer_mut(role).shapes.push(Shape::new(kind, Some(net), polygon));
}

/// Pad, opening, landing.
pub fn pad(drawing: &mut Drawing, net: &str, x: f64, y: f64) {
    put(drawing, Role::Pad, ShapeKind::Pad, net, block(x - 30.0, y - 30.0, x + 30.0, y + 30.0));
    put(drawing, Role::Opening(1), ShapeKind::Opening, net, block(x - 20.0, y - 20.0, x + 20.0, y + 20.0));
    put(drawing, Role::Rdl(1), ShapeKind::Landing, net, block(x - 30.0, y - 30.0, x + 30.0, y + 30.0));
}

/// Capture pad on a layer, bump opening, UBM, bump.
pub fn bump(drawing: &mut Drawing, net: &str, layer: u8, x: f64, y: f64) {
    put(drawing, Role::Rdl(layer), ShapeKind::Capture, net, disc(x, y, 270.0));
    put(drawing, Role::BumpOpening, ShapeKind::Opening, net, disc(x, y, 220.0));
    put(drawing, Role::Ubm, ShapeKind::Ubm, net, disc(x, y, 250.0));
    put(drawing, Role::Bump, ShapeKind::Bump, net, disc(x, y, 310.0));
}

/// A trace of 40 um through points, round at its bends, as separate shapes.
pub fn trace(drawing: &mut Drawing, net: &str, layer: u8, points: &[(f64, f64)]) {
    for pair in points.windows(2) {
        put(drawing, Role::Rdl(layer), ShapeKind::Trace, net, stroke(pair[0], pair[1], 40.0));
    }
    for (x, y) in &points[1..points.len() - 1] {
        put(drawing, Role::Rdl(layer), ShapeKind::Trace, net, disc(*x, *y, 40.0));
    }
}

/// All rules on.
pub fn rules() -> Rules {
    let um = |x| Some(Nm::from_um(x));
    Rules {
        edge_clearance: um(20),
        landing_enclosure: um(10),
        capture_encloses_ubm: um(10),
        ubm_encloses_bump_opening: um(15),
        pad_encloses_opening: um(10),
        via_enclosure: um(10),
        pad_opening_width: um(35),
        pad_opening_space: um(20),
        pad_opening_to_bump_opening: um(25),
        pad_opening_to_ubm: um(10),
        via_width: um(30),
        bump_opening_width: um(220),
        ubm_width: um(250),
        bump_width: um(310),
        bump_space: um(190),
        bump_centre_to_seal_ring: um(195),
        bump_edge_to_seal_ring: um(25),
        notch: um(10),
        ..Rules::new(Nm::from_um(40), Nm::from_um(10))
    }
}

/// Three nets on one layer, slanted traces and bends, clean by [`rules`].
pub fn one_layer() -> Drawing {
    let mut drawing = die();
    for (net, y) in [("a", 400.0), ("b", 900.0), ("c", 1400.0)] {
        pad(&mut drawing, net, 100.0, y - 130.0);
        bump(&mut drawing, net, 1, 1000.0, y);
        trace(
            &mut drawing,
            net,
            1,
            &[(100.0, y - 130.0), (420.0, y - 130.0), (610.0, y - 37.0), (1000.0, y)],
        );
    }
    drawing
}

/// Two nets, the pad's trace on RDL 1, a via, the bump's trace on RDL 2, clean by [`rules`].
pub fn two_layers() -> Drawing {
    let mut drawing = die();
    for (net, y) in [("a", 400.0), ("b", 900.0)] {
        pad(&mut drawing, net, 100.0, y);
        trace(&mut drawing, net, 1, &[(100.0, y), (400.0, y), (500.0, y + 50.0)]);
        put(&mut drawing, Role::Rdl(1), ShapeKind::Via, net, disc(500.0, y + 50.0, 60.0));
        put(&mut drawing, Role::Opening(2), ShapeKind::Via, net, disc(500.0, y + 50.0, 40.0));
        put(&mut drawing, Role::Rdl(2), ShapeKind::Via, net, disc(500.0, y + 50.0, 60.0));
        trace(&mut drawing, net, 2, &[(500.0, y + 50.0), (1000.0, y)]);
        bump(&mut drawing, net, 2, 1000.0, y);
    }
    drawing
}

/// The rules of all violations, each once.
pub fn broken(report: &Report) -> Vec<Rule> {
    report.counts.keys().copied().collect()
}

/// All sentences, for failing assertions.
pub fn sentences(report: &Report) -> String {
    report
        .violations
        .iter()
        .chain(&report.warnings)
        .map(|v| format!("{:?} {}\n", v.rule, v.sentence))
        .collect()
}
