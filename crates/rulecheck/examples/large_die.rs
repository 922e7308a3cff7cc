//! Checks an invented die with many nets and prints what was measured and how long it took.
//!
//! `cargo run --release -p facedown-rulecheck --example large_die -- 5000` ends with `0 violations`.

use facedown_layout::{Drawing, Point, Polygon, Role, Shape, ShapeKind};
use facedown_quantity::Nm;
use facedown_rulecheck::{Rules, check};
use std::time::Instant;

/// Radius in um, chords of at most 2 nm sagitta.
fn arc(x: f64, y: f64, r: f64, from: f64, to: f64) -> Vec<Point> {
    let n = ((to - from) / (2.0 * (1.0 - 0.002 / r).acos())).ceil().max(4.0) as usize;
    (0..=n)
        .map(|i| from + (to - from) * i as f64 / n as f64)
        .map(|a| Point::um(x + r * a.cos(), y + r * a.sin()))
        .collect()
}

fn disc(x: f64, y: f64, diameter: f64) -> Polygon {
    let mut ring = arc(x, y, diameter / 2.0, 0.0, std::f64::consts::TAU);
    ring.pop();
    Polygon::new(ring)
}

/// A line of 20 um that runs up, swings to the right and back by arcs, and runs up again.
fn line(x: f64, y: f64) -> Polygon {
    let (quarter, r, w) = (std::f64::consts::FRAC_PI_4, 30.0, 10.0);
    let shift = 2.0 * r * (1.0 - quarter.cos());
    let rise = 2.0 * r * quarter.sin();
    let mut ring = vec![Point::um(x + w, y)];
    ring.extend(arc(x + r, y + 60.0, r - w, 4.0 * quarter, 3.0 * quarter));
    ring.extend(arc(x + shift - r, y + 60.0 + rise, r + w, -quarter, 0.0));
    ring.push(Point::um(x + shift + w, y + 200.0));
    ring.push(Point::um(x + shift - w, y + 200.0));
    ring.extend(arc(x + shift - r, y + 60.0 + rise, r - w, 0.0, -quarter));
    ring.extend(arc(x + r, y + 60.0, r + w, 3.0 * quarter, 4.0 * quarter));
    ring.push(Point::um(x - w, y));
    Polygon::new(ring)
}

fn main() {
    let nets: usize = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(500);
    let columns = (nets as f64).sqrt().ceil() as usize;
    let side = Nm::from_um(columns as i64 * 300 + 200);
    let mut drawing = Drawing::new("large", side, side);
    for n in 0..nets {
        let name = format!("n{n}");
        let (x, y) = ((n % columns) as f64 * 300.0 + 200.0, (n / columns) as f64 * 300.0 + 150.0);
        let shift = 2.0 * 30.0 * (1.0 - std::f64::consts::FRAC_PI_4.cos());
        let mut put = |role, kind, polygon| {
            drawing.layer_mut(role).shapes.push(Shape::new(kind, Some(&name), polygon));
        };
        put(Role::Pad, ShapeKind::Pad, disc(x, y, 50.0));
        put(Role::Opening(1), ShapeKind::Opening, disc(x, y, 40.0));
        put(Role::Rdl(1), ShapeKind::Landing, disc(x, y, 60.0));
        put(Role::Rdl(1), ShapeKind::Trace, line(x, y));
        put(Role::Rdl(1), ShapeKind::Capture, disc(x + shift, y + 200.0, 100.0));
        put(Role::BumpOpening, ShapeKind::Opening, disc(x + shift, y + 200.0, 60.0));
        put(Role::Ubm, ShapeKind::Ubm, disc(x + shift, y + 200.0, 80.0));
        put(Role::Bump, ShapeKind::Bump, disc(x + shift, y + 200.0, 90.0));
    }
    let um = |x| Some(Nm::from_um(x));
    let rules = Rules {
        edge_clearance: um(20),
        landing_enclosure: um(10),
        capture_encloses_ubm: um(10),
        ubm_encloses_bump_opening: um(10),
        pad_encloses_opening: um(5),
        bump_space: um(100),
        ubm_width: um(80),
        ..Rules::new(Nm::from_um(20), Nm::from_um(10))
    };
    let start = Instant::now();
    let report = check(&drawing, &rules);
    let vertices: usize = report.layers.iter().map(|l| l.vertices).sum();
    println!("{nets} nets, {vertices} vertices, {:.2} s", start.elapsed().as_secs_f64());
    for violation in report.violations.iter().take(10) {
        println!("{}", violation.sentence);
    }
    for layer in &report.layers {
        let um = |m: &Option<facedown_rulecheck::Measured>| {
            m.as_ref().map_or("-".into(), |m| format!("{:.3} um at ({}, {})", m.value / 1e3, m.at.x, m.at.y))
        };
        println!(
            "{:?}: {} pieces, space {}, width {}",
            layer.role,
            layer.pieces,
            um(&layer.min_spacing),
            um(&layer.min_width)
        );
    }
    println!("{} violations", report.total);
}
