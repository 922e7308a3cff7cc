//! Writes a small invented drawing in every format, in both views, and the truth about it as JSON.
//!
//! Run: `cargo run -p facedown-exchange --example write_all -- DIR`
//!
//! Expected: `DIR/face_up` and `DIR/face_down`, each with one GDSII file, one DXF file, one Gerber file a layer and
//! four CSV tables, and `DIR/truth.json` with every polygon in nanometres (die face up). The tests under
//! `tests/oracle` read all of it back with general-purpose libraries.

use facedown_exchange::tables::{self, AssignmentRow, BumpRow, NetLengthRow, PadRow};
use facedown_exchange::{View, dxf, gdsii, gerber};
use facedown_layout::{Drawing, Label, Point, Polygon, Role, Shape, ShapeKind};
use facedown_quantity::Nm;
use serde_json::{Value, json};
use std::error::Error;
use std::path::Path;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("name the folder to write to")?;
    let drawing = invented();
    for view in [View::FaceUp, View::FaceDown] {
        write(&drawing, view, &Path::new(&folder).join(view.suffix()))?;
    }
    std::fs::write(Path::new(&folder).join("truth.json"), serde_json::to_vec_pretty(&truth(&drawing)?)?)?;
    println!("wrote {folder}: {} layers in both views", drawing.layers.len());
    Ok(())
}

fn write(drawing: &Drawing, view: View, folder: &Path) -> Result<(), Box<dyn Error>> {
    std::fs::create_dir_all(folder)?;
    std::fs::write(folder.join("layout.gds"), gdsii(drawing, view)?)?;
    std::fs::write(folder.join("layout.dxf"), dxf(drawing, view)?)?;
    for file in gerber(drawing, view)? {
        std::fs::write(folder.join(file.name), file.bytes)?;
    }
    let pads: Vec<PadRow> = (0..4)
        .map(|i| PadRow {
            name: format!("p{i}"),
            net: Some(net(i)),
            x: pad(i).x,
            y: pad(i).y,
            width: Nm::from_um(60),
            height: Nm::from_um(60),
        })
        .collect();
    let bumps: Vec<BumpRow> = (0..4)
        .map(|i| BumpRow {
            name: format!("b{i}"),
            net: Some(net(i)),
            x: bump(i).x,
            y: bump(i).y,
            diameter: Nm::from_um(200),
        })
        .collect();
    let assignment: Vec<AssignmentRow> =
        (0..4).map(|i| AssignmentRow { net: net(i), pad: format!("p{i}"), bump: format!("b{i}") }).collect();
    let lengths: Vec<NetLengthRow> = (0..4)
        .map(|i| NetLengthRow { net: net(i), pads: 1, bumps: 1, length: Nm::from_um(500 + i), bound: None })
        .collect();
    std::fs::write(folder.join("pads.csv"), tables::pads(&pads, drawing.width, view))?;
    std::fs::write(folder.join("bumps.csv"), tables::bumps(&bumps, drawing.width, view))?;
    std::fs::write(folder.join("assignment.csv"), tables::assignment(&assignment, view))?;
    std::fs::write(folder.join("net-lengths.csv"), tables::net_lengths(&lengths, view))?;
    Ok(())
}

/// Nets of the four pads: brackets, characters that Gerber uses itself, and one beyond ASCII.
fn net(i: i64) -> String {
    ["data[0]", "a*b%c,d\\e", "VDD_µ", "clk"][i as usize % 4].into()
}

fn pad(i: i64) -> Point {
    Point::new(Nm::from_um(100), Nm::from_um(200 + 300 * i))
}

fn bump(i: i64) -> Point {
    Point::new(Nm::from_um(700 + 40 * i), Nm::from_um(260 + 300 * i))
}

/// Four signals on RDL 1 (one trace each, in steep and flat slants), and a supply plane on RDL 2 with a hole around
/// each foreign capture pad, a hole that holds a smaller plane with a hole of its own, and vias.
fn invented() -> Drawing {
    let mut drawing = Drawing::new("invented demo", Nm::from_um(2500), Nm::from_um(1500));
    for i in 0..4 {
        let net = net(i);
        let (p, b) = (pad(i), bump(i));
        let mut add = |role: Role, kind: ShapeKind, polygon: Polygon| {
            drawing.layer_mut(role).shapes.push(Shape::new(kind, Some(&net), polygon));
        };
        add(Role::Pad, ShapeKind::Pad, square(p, 60));
        add(Role::Opening(1), ShapeKind::Opening, square(p, 40));
        add(Role::Rdl(1), ShapeKind::Landing, square(p, 70));
        add(Role::Rdl(1), ShapeKind::Trace, line(p, b, 40.0));
        add(Role::Rdl(1), ShapeKind::Via, circle(b, 40.0, 32));
        add(Role::Opening(2), ShapeKind::Opening, circle(b, 30.0, 32));
        add(Role::Rdl(2), ShapeKind::Capture, circle(b, 110.0, 64));
        add(Role::BumpOpening, ShapeKind::Opening, circle(b, 80.0, 48));
        add(Role::Ubm, ShapeKind::Ubm, circle(b, 90.0, 64));
        add(Role::Bump, ShapeKind::Bump, circle(b, 100.0, 64));
        drawing.labels.push(Label { role: Role::Bump, at: b, text: format!("b{i}") });
    }
    let mut plane = Polygon::rectangle(Point::um(300.0, 50.0), Point::um(2400.0, 1450.0));
    // Each hole keeps 15 um from the capture pad inside it.
    plane.holes = (0..4).map(|i| clockwise(circle(bump(i), 125.0, 64))).collect();
    plane.holes.push(clockwise(circle(Point::um(1800.0, 700.0), 400.0, 90)));
    let mut island = circle(Point::um(1800.0, 700.0), 380.0, 90);
    island.holes.push(clockwise(square(Point::um(1800.0, 700.0), 150)));
    let metal = drawing.layer_mut(Role::Rdl(2));
    metal.shapes.push(Shape::new(ShapeKind::Plane, Some("GND"), plane));
    metal.shapes.push(Shape::new(ShapeKind::Plane, Some("VDD_core"), island));
    metal.shapes.push(Shape::new(ShapeKind::Plane, None, square(Point::um(1800.0, 700.0), 100)));
    drawing
}

fn clockwise(mut polygon: Polygon) -> Vec<Point> {
    polygon.outer.reverse();
    polygon.outer
}

fn square(centre: Point, side_um: i64) -> Polygon {
    let half = Nm::from_um(side_um) / 2;
    Polygon::rectangle(
        Point::new(centre.x - half, centre.y - half),
        Point::new(centre.x + half, centre.y + half),
    )
}

fn circle(centre: Point, radius_um: f64, corners: usize) -> Polygon {
    let corner = |i: usize| {
        let (s, c) = (i as f64 / corners as f64 * std::f64::consts::TAU).sin_cos();
        Point::um(centre.x.um() + radius_um * c, centre.y.um() + radius_um * s)
    };
    Polygon::new((0..corners).map(corner).collect())
}

fn line(a: Point, b: Point, width_um: f64) -> Polygon {
    let (dx, dy) = (b.x.um() - a.x.um(), b.y.um() - a.y.um());
    let scale = width_um / 2.0 / dx.hypot(dy);
    let (nx, ny) = (-dy * scale, dx * scale);
    let corner = |p: Point, s: f64| Point::um(p.x.um() + s * nx, p.y.um() + s * ny);
    Polygon::new(vec![corner(a, -1.0), corner(b, -1.0), corner(b, 1.0), corner(a, 1.0)])
}

fn truth(drawing: &Drawing) -> Result<Value, Box<dyn Error>> {
    let ring = |ring: &[Point]| ring.iter().map(|p| json!([p.x.0, p.y.0])).collect::<Vec<_>>();
    let mut layers = Vec::new();
    for layer in &drawing.layers {
        let names = facedown_exchange::layer_map::names(layer.role)?;
        let shapes: Vec<Value> = layer
            .shapes
            .iter()
            .map(|s| {
                json!({
                    "net": s.net,
                    "datatype": facedown_exchange::layer_map::datatype(s.kind),
                    "outer": ring(&s.polygon.outer),
                    "holes": s.polygon.holes.iter().map(|h| ring(h)).collect::<Vec<_>>(),
                })
            })
            .collect();
        layers.push(json!({
            "gdsii": names.gdsii, "dxf": names.dxf, "gerber": names.gerber, "shapes": shapes,
        }));
    }
    let labels: Vec<Value> =
        drawing.labels.iter().map(|l| json!({"text": l.text, "at": [l.at.x.0, l.at.y.0]})).collect();
    Ok(json!({
        "name": drawing.name,
        "width": drawing.width.0,
        "height": drawing.height.0,
        "layers": layers,
        "labels": labels,
    }))
}
