//! Checks a drawing that comes without net names, as mask data from elsewhere does: the nets come from what touches
//! what and from the labels on the pads.
//!
//! `cargo run -p facedown-rulecheck --example foreign_drawing` finds two nets by their labels, one piece of metal
//! without a label, and the one short that was drawn in.

use facedown_layout::{Drawing, Label, Point, Polygon, Role, Shape, ShapeKind};
use facedown_quantity::Nm;
use facedown_rulecheck::{Rules, check};

fn main() {
    let mut drawing = Drawing::new("foreign", Nm::from_um(1000), Nm::from_um(1000));
    let mut rectangle = |role, low: (f64, f64), high: (f64, f64)| {
        let polygon = Polygon::rectangle(Point::um(low.0, low.1), Point::um(high.0, high.1));
        drawing.layer_mut(role).shapes.push(Shape::new(ShapeKind::Trace, None, polygon));
    };
    for y in [100.0, 400.0, 700.0] {
        rectangle(Role::Pad, (50.0, y), (110.0, y + 60.0));
        rectangle(Role::Opening(1), (60.0, y + 10.0), (100.0, y + 50.0));
        rectangle(Role::Rdl(1), (50.0, y), (110.0, y + 60.0));
        rectangle(Role::Rdl(1), (110.0, y + 10.0), (600.0, y + 50.0));
        rectangle(Role::Rdl(1), (600.0, y - 40.0), (800.0, y + 160.0));
        rectangle(Role::Bump, (650.0, y + 10.0), (750.0, y + 110.0));
    }
    // A sliver of metal between the first two lines.
    rectangle(Role::Rdl(1), (300.0, 150.0), (340.0, 410.0));
    for (text, y) in [("clock", 130.0), ("reset", 430.0)] {
        drawing.labels.push(Label { role: Role::Pad, at: Point::um(80.0, y), text: text.into() });
    }

    let rules = Rules {
        net_labels: [Role::Pad].into(),
        landing_enclosure: Some(Nm::from_um(10)),
        ..Rules::new(Nm::from_um(40), Nm::from_um(10))
    };
    let report = check(&drawing, &rules);
    for (name, net) in &report.nets {
        println!("{name}: {} piece, {} pad, {} bump", net.pieces, net.pads, net.bumps);
    }
    for violation in &report.violations {
        println!("{}: {}", violation.rule.name(), violation.sentence);
    }
}
