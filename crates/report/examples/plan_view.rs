//! Draws a die with a ring of pads, a bump array and traces between them, all invented, in several views.
//!
//! `cargo run -p facedown-report --example plan_view -- pictures` writes SVG files into the folder `pictures`
//! and prints their names and sizes. Each file stays below 2 MB.

use std::collections::BTreeMap;
use std::f64::consts::{PI, TAU};
use std::path::PathBuf;

use facedown_layout::{Drawing, Label, Point, Polygon, Role, Shape, ShapeKind};
use facedown_quantity::Nm;
use facedown_report::plan_view::Theme;
use facedown_report::{KeyFigure, NetNote, PlanOptions, Verdict, View, Violation, plan_view};

type P = (f64, f64);

const WIDTH: f64 = 7200.0;
const HEIGHT: f64 = 6400.0;
const PITCH: f64 = 320.0;
const LINE: f64 = 18.0;
const SPACE: f64 = 12.0;
const CAPTURE: f64 = 170.0;
const DEEP: usize = 5;

/// A drawing with what is said of its nets.
struct Demo {
    drawing: Drawing,
    notes: BTreeMap<String, NetNote>,
    length: f64,
}

fn main() -> std::io::Result<()> {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "pictures".into()));
    std::fs::create_dir_all(&folder)?;
    let demo = demo();
    let base = PlanOptions {
        design: "tidewatch".into(),
        invented: true,
        figures: figures(&demo),
        nets: demo.notes.clone(),
        ..PlanOptions::default()
    };
    let violations = vec![
        Violation { at: Point::um(2410.0, 1120.0), sentence: "s031 and s032 are 8.2 um apart on RDL 1; at least 10 um is asked.".into() },
        Violation { at: Point::um(5200.0, 4660.0), sentence: "The opening under bump M13 overhangs its capture pad by 1.5 um; at least 5 um enclosure is asked.".into() },
    ];
    let views = [
        ("face-down", base.clone()),
        ("face-up", PlanOptions { view: View::DieFaceUp, ..base.clone() }),
        ("dark", PlanOptions { theme: Theme::Dark, ..base.clone() }),
        ("dark-face-up", PlanOptions { theme: Theme::Dark, view: View::DieFaceUp, ..base.clone() }),
        ("narrow", PlanOptions { width: 420, ..base.clone() }),
        (
            "chosen",
            PlanOptions { highlight: vec!["s031".into(), "s120".into(), "vdd".into()], ..base.clone() },
        ),
        ("violations", PlanOptions { violations, view: View::DieFaceUp, ..base }),
    ];
    for (name, options) in views {
        let picture = plan_view(&demo.drawing, &options);
        let path = folder.join(format!("plan-{name}.svg"));
        println!("{} {} kB", path.display(), picture.len() / 1000);
        std::fs::write(path, picture)?;
    }
    Ok(())
}

fn figures(demo: &Demo) -> Vec<KeyFigure> {
    let nets = demo.notes.len();
    vec![
        KeyFigure::judged("routed nets", &format!("{nets} of {nets}"), Verdict::Meets),
        KeyFigure::judged("rule violations", "0", Verdict::Meets),
        KeyFigure::new("wirelength", &format!("{:.0} mm", demo.length / 1e3)),
        KeyFigure::judged("wirelength ratio", "1.04", Verdict::Meets),
        KeyFigure::new("smallest space", &format!("{SPACE} um")),
        KeyFigure::judged("largest trace resistance", "96 squares", Verdict::NotJudged),
    ]
}

/// One side of the die, so that all four are drawn by the same rule: turned coordinates and its extent.
struct Side {
    turn: fn(P) -> P,
    columns: usize,
    rows: usize,
    along: f64,
    name: char,
}

fn demo() -> Demo {
    let mut demo = Demo {
        drawing: Drawing::new("TW-1", Nm::round_um(WIDTH), Nm::round_um(HEIGHT)),
        notes: BTreeMap::new(),
        length: 0.0,
    };
    let ring =
        |inset: f64| Polygon::rectangle(Point::um(inset, inset), Point::um(WIDTH - inset, HEIGHT - inset));
    let seal = Polygon { holes: vec![reversed(ring(32.0).outer)], ..ring(20.0) };
    demo.drawing.layer_mut(Role::Outline).shapes.push(Shape::new(ShapeKind::Outline, None, seal));
    let (columns, rows) = (20, 17);
    let sides = [
        Side { turn: |(x, y)| (x, y), columns, rows, along: WIDTH, name: 'S' },
        Side { turn: |(x, y)| (WIDTH - y, x), columns: rows, rows: columns, along: HEIGHT, name: 'E' },
        Side { turn: |(x, y)| (WIDTH - x, HEIGHT - y), columns, rows, along: WIDTH, name: 'N' },
        Side { turn: |(x, y)| (y, HEIGHT - x), columns: rows, rows: columns, along: HEIGHT, name: 'W' },
    ];
    let mut number = 0;
    for side in &sides {
        number = route_side(&mut demo, side, number);
    }
    core(&mut demo, columns, rows);
    demo
}

/// Bumps of a side stand in columns that are as deep as the corner allows; their traces run up beside them.
fn route_side(demo: &mut Demo, side: &Side, first: usize) -> usize {
    let start = (side.along - (side.columns - 1) as f64 * PITCH) / 2.0;
    let depth_of_rows = if side.along == WIDTH { HEIGHT } else { WIDTH };
    let first_row = (depth_of_rows - (side.rows - 1) as f64 * PITCH) / 2.0;
    let mut ends: Vec<(Vec<P>, P)> = Vec::new();
    for column in 0..side.columns {
        let from_corner = column.min(side.columns - 1 - column);
        // The two sides that meet at a corner share it: one takes the diagonal.
        let turn = usize::from(side.along == WIDTH);
        let deep = (from_corner + turn).min(DEEP);
        let x = start + column as f64 * PITCH;
        // Lanes lie on the side away from the middle, so that no gap serves two columns.
        let at_right = column >= side.columns / 2;
        let mut of_column: Vec<(Vec<P>, P)> = Vec::new();
        for row in 0..deep {
            let bump = (x, first_row + row as f64 * PITCH);
            if row == 0 {
                of_column.push((vec![(x, first_row - 150.0), bump], bump));
                continue;
            }
            // Lanes in the gap beside the column; deeper rows use the outer lanes.
            let lane = x
                + (CAPTURE / 2.0 + 18.0 + (row - 1) as f64 * (LINE + SPACE))
                    * if at_right { 1.0 } else { -1.0 };
            of_column
                .push((vec![(lane, first_row - 150.0), (lane, bump.1 - (lane - x).abs() * 0.8), bump], bump));
        }
        if !at_right {
            of_column.reverse();
        }
        ends.extend(of_column);
    }
    let count = ends.len();
    let pad_pitch = (side.along - 900.0) / count as f64;
    for (i, (mut way, bump)) in ends.into_iter().enumerate() {
        let along = 450.0 + (i as f64 + 0.5) * pad_pitch;
        let pad = (along, if i % 2 == 0 { 95.0 } else { 205.0 });
        let spare = i % 23 == 11;
        let supply = i % 12 == 5;
        let net = match (i / 12) % 2 {
            _ if !supply => format!("s{:03}", first + i),
            0 => "vdd".into(),
            _ => "vss".into(),
        };
        let pad_name = format!("{}{}", side.name, i + 1);
        let turn = side.turn;
        let square = [(-26.0, -34.0), (26.0, -34.0), (26.0, 34.0), (-26.0, 34.0)];
        let pad_ring = polygon(square.map(|(dx, dy)| turn((pad.0 + dx, pad.1 + dy))).to_vec());
        let carried = (!spare).then_some(net.as_str());
        push(demo, Role::Pad, ShapeKind::Pad, carried, pad_ring);
        let at = turn(pad);
        demo.drawing.labels.push(Label {
            role: Role::Pad,
            at: Point::um(at.0, at.1),
            text: pad_name.clone(),
        });
        let bump_name = place_bump(demo, carried, turn(bump), 88.0);
        if spare {
            continue;
        }
        let landing = [(-32.0, -40.0), (32.0, -40.0), (32.0, 40.0), (-32.0, 40.0)];
        push(
            demo,
            Role::Rdl(1),
            ShapeKind::Landing,
            carried,
            polygon(landing.map(|(dx, dy)| turn((pad.0 + dx, pad.1 + dy))).to_vec()),
        );
        way.insert(0, pad);
        way.insert(1, (pad.0, 262.0));
        let way: Vec<P> = rounded(&way, 60.0).into_iter().map(turn).collect();
        let length: f64 = way.windows(2).map(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1)).sum();
        demo.length += length;
        push(
            demo,
            Role::Rdl(1),
            ShapeKind::Trace,
            carried,
            ribbon(&way, if supply { LINE * 1.6 } else { LINE }),
        );
        let note = demo.notes.entry(net).or_default();
        note.pads.push(pad_name);
        note.bumps.push(bump_name);
        note.length = Some(Nm::round_um(note.length.map_or(0.0, Nm::um) + length));
    }
    first + count
}

/// Supply bumps in the middle: two planes on the first layer, straps across them on the second.
fn core(demo: &mut Demo, columns: usize, rows: usize) {
    let x0 = (WIDTH - (columns - 1) as f64 * PITCH) / 2.0;
    let y0 = (HEIGHT - (rows - 1) as f64 * PITCH) / 2.0;
    let edge = |c: usize, from: f64| from + (c as f64 - 0.5) * PITCH + 20.0;
    let (low, high) = ((edge(DEEP, x0), edge(DEEP, y0)), (WIDTH - edge(DEEP, x0), HEIGHT - edge(DEEP, y0)));
    let middle = WIDTH / 2.0;
    for (net, left, right) in [("vdd", low.0, middle - 20.0), ("vss", middle + 20.0, high.0)] {
        let plane = Polygon::rectangle(Point::um(left, low.1), Point::um(right, high.1));
        push(demo, Role::Rdl(1), ShapeKind::Plane, Some(net), plane);
    }
    for column in DEEP..columns - DEEP {
        for row in DEEP..rows - DEEP {
            let at = (x0 + column as f64 * PITCH, y0 + row as f64 * PITCH);
            let net = if at.0 < middle { "vdd" } else { "vss" };
            let used = (column + row) % 9 != 4;
            let name = place_bump(demo, used.then_some(net), at, 88.0);
            if used {
                demo.notes.entry(net.into()).or_default().bumps.push(name);
            }
        }
    }
    for row in [DEEP + 1, DEEP + 3, DEEP + 5] {
        let y = y0 + row as f64 * PITCH + PITCH / 2.0;
        let net = if row == DEEP + 3 { "vss" } else { "vdd" };
        let strap = Polygon::rectangle(Point::um(low.0 + 60.0, y - 45.0), Point::um(high.0 - 60.0, y + 45.0));
        push(demo, Role::Rdl(2), ShapeKind::Trace, Some(net), strap);
    }
}

/// A bump with all that lies under it; returns its name by row letter and column number.
fn place_bump(demo: &mut Demo, net: Option<&str>, at: P, radius: f64) -> String {
    push(demo, Role::Rdl(1), ShapeKind::Capture, net, circle(at, CAPTURE / 2.0));
    push(demo, Role::BumpOpening, ShapeKind::Opening, net, circle(at, 50.0));
    push(demo, Role::Ubm, ShapeKind::Ubm, net, circle(at, 66.0));
    push(demo, Role::Bump, ShapeKind::Bump, net, circle(at, radius));
    let column = ((at.0 - 560.0) / PITCH).round() as usize + 1;
    let row = ((HEIGHT - 640.0 - at.1) / PITCH).round() as usize;
    let letters = "ABCDEFGHJKLMNPRTUVWY".as_bytes();
    let letter = char::from(letters[row.min(letters.len() - 1)]);
    let name = format!("{letter}{column}");
    demo.drawing.labels.push(Label { role: Role::Bump, at: Point::um(at.0, at.1), text: name.clone() });
    name
}

fn push(demo: &mut Demo, role: Role, kind: ShapeKind, net: Option<&str>, polygon: Polygon) {
    demo.drawing.layer_mut(role).shapes.push(Shape::new(kind, net, polygon));
}

fn polygon(ring: Vec<P>) -> Polygon {
    let area: f64 = ring.iter().zip(ring.iter().cycle().skip(1)).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum();
    let points: Vec<Point> = ring.iter().map(|p| Point::um(p.0, p.1)).collect();
    Polygon::new(if area < 0.0 { reversed(points) } else { points })
}

fn reversed(mut ring: Vec<Point>) -> Vec<Point> {
    ring.reverse();
    ring
}

fn circle(at: P, radius: f64) -> Polygon {
    polygon(
        (0..64)
            .map(|i| TAU * i as f64 / 64.0)
            .map(|a| (at.0 + radius * a.cos(), at.1 + radius * a.sin()))
            .collect(),
    )
}

/// A polyline with its corners rounded.
fn rounded(way: &[P], radius: f64) -> Vec<P> {
    let mut out = vec![way[0]];
    for w in way.windows(3) {
        let (a, b, c) = (w[0], w[1], w[2]);
        let unit = |p: P, q: P| {
            let d = (q.0 - p.0).hypot(q.1 - p.1).max(1e-9);
            ((q.0 - p.0) / d, (q.1 - p.1) / d, d)
        };
        let (u, v) = (unit(b, a), unit(b, c));
        let cut = radius.min(u.2 * 0.45).min(v.2 * 0.45);
        let (from, to) = ((b.0 + u.0 * cut, b.1 + u.1 * cut), (b.0 + v.0 * cut, b.1 + v.1 * cut));
        for i in 0..=8 {
            let t = f64::from(i) / 8.0;
            let (p, q, r) = ((1.0 - t).powi(2), 2.0 * t * (1.0 - t), t * t);
            out.push((p * from.0 + q * b.0 + r * to.0, p * from.1 + q * b.1 + r * to.1));
        }
    }
    out.push(way[way.len() - 1]);
    out
}

/// A line of a width about a path, with round ends.
fn ribbon(way: &[P], width: f64) -> Polygon {
    let half = width / 2.0;
    let heading = |i: usize| {
        let (a, b) = (way[i.saturating_sub(1)], way[(i + 1).min(way.len() - 1)]);
        (b.1 - a.1).atan2(b.0 - a.0)
    };
    let beside = |i: usize, turn: f64| {
        let angle = heading(i) + turn;
        (way[i].0 + half * angle.cos(), way[i].1 + half * angle.sin())
    };
    let cap = |i: usize, from: f64| {
        (1..12)
            .map(move |k| (i, from + PI * f64::from(k) / 12.0))
            .map(|(i, turn)| beside(i, turn))
            .collect::<Vec<P>>()
    };
    let last = way.len() - 1;
    let mut ring: Vec<P> = (0..=last).map(|i| beside(i, -PI / 2.0)).collect();
    ring.extend(cap(last, -PI / 2.0));
    ring.extend((0..=last).rev().map(|i| beside(i, PI / 2.0)));
    ring.extend(cap(0, PI / 2.0));
    polygon(ring)
}
