//! Writes small random drawings (invented) and what the checker measured on them as JSON, for comparison with another
//! geometry library.
//!
//! `cargo run -p facedown-rulecheck --example random_drawings -- 40` prints a list of objects with `drawing` and `report`.

use facedown_layout::{Drawing, Point, Polygon, Role, Shape, ShapeKind};
use facedown_quantity::Nm;
use facedown_rulecheck::{DensityWindow, Rules, check};

/// Numbers from a linear congruential generator (Knuth 1997, The Art of Computer Programming 2, 3.3.4, the multiplier
/// named there for 64 bits): the same on every machine.
struct Numbers(u64);

impl Numbers {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((self.0 >> 11) as f64 / (1u64 << 53) as f64)
    }
}

fn shape(numbers: &mut Numbers) -> Polygon {
    let (x, y) = (numbers.between(60.0, 440.0), numbers.between(60.0, 440.0));
    let turn = numbers.between(0.0, std::f64::consts::TAU);
    // A line or a blob.
    let (a, b, n) = if numbers.between(0.0, 1.0) < 0.5 {
        (numbers.between(30.0, 60.0), numbers.between(3.0, 8.0), 4)
    } else {
        let r = numbers.between(10.0, 40.0);
        (r, r, numbers.between(3.0, 60.0) as usize)
    };
    let start = if n == 4 { std::f64::consts::FRAC_PI_4 } else { 0.0 };
    let at = |i: usize| {
        let t = start + std::f64::consts::TAU * i as f64 / n as f64;
        let (u, v) = (a * t.cos(), b * t.sin());
        Point::um(x + u * turn.cos() - v * turn.sin(), y + u * turn.sin() + v * turn.cos())
    };
    Polygon::new((0..n).map(at).collect())
}

fn main() {
    let count: usize = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(40);
    let mut numbers = Numbers(2_024);
    let window = DensityWindow { size: Nm::from_um(250), step: Nm::from_um(125), low: 0.0, high: 1.0 };
    let rules = Rules {
        density: Some(window),
        corner_angle_deg: None,
        keep: 10_000,
        ..Rules::new(Nm(10), Nm::from_um(10))
    };
    let mut written = Vec::new();
    for number in 0..count {
        let mut drawing = Drawing::new(&format!("random {number}"), Nm::from_um(500), Nm::from_um(500));
        for i in 0..numbers.between(2.0, 40.0) as usize {
            let net = format!("n{}", i % 4);
            let polygon = shape(&mut numbers);
            drawing.layer_mut(Role::Rdl(1)).shapes.push(Shape::new(ShapeKind::Trace, Some(&net), polygon));
        }
        let report = check(&drawing, &rules);
        written.push(serde_json::json!({ "drawing": drawing, "report": report }));
    }
    println!("{}", serde_json::Value::from(written));
}
