//! Draws the pictures of heat with invented data: maps in plan and section, thermal impedance, structure functions.
//!
//! `cargo run -p facedown-report --example heat_pictures -- heat.html` writes one page and prints its size.

use facedown_heat::stack::{Slab, Stack};
use facedown_heat::transient_path::{Place, differential, transient_path};
use facedown_report::chart::Words;
use facedown_report::chart::curve::Curve;
use facedown_report::chart::field_map::{FieldMap, field_map};
use facedown_report::chart::log_curves::{LogCurves, Panel, log_curves};
use facedown_report::page::style;
use std::error::Error;

fn words<'a>(id: &'a str, title: &'a str) -> Words<'a> {
    Words { id, title, description: "Invented data." }
}

fn main() -> Result<(), Box<dyn Error>> {
    let path = std::env::args().nth(1).unwrap_or_else(|| "heat.html".into());
    let mut pictures = vec![plan(false), plan(true), section()];
    pictures.extend(transients()?);
    let body: String =
        pictures.iter().map(|p| format!("<figure><div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"picture\">{p}</div></figure>")).collect();
    let page = format!(
        "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>Invented pictures of heat</title><style>{}</style>\
         <main><h1>Invented pictures of heat</h1><div class=\"charts\">{body}</div></main></html>",
        style::sheet()
    );
    println!("{path}: {} kB", page.len() / 1000);
    Ok(std::fs::write(path, page)?)
}

/// Lines that are fine around a few edges.
fn graded(edges: &[f64], fine: f64, growth: f64) -> Vec<f64> {
    let mut lines = Vec::new();
    for pair in edges.windows(2) {
        let middle = 0.5 * (pair[0] + pair[1]);
        let (mut left, mut right, mut step) = (vec![pair[0]], vec![pair[1]], fine);
        while left[left.len() - 1] + 2.0 * step < middle {
            left.push(left[left.len() - 1] + step);
            right.push(right[right.len() - 1] - step);
            step *= growth;
        }
        right.reverse();
        lines.extend(left);
        lines.extend(right);
    }
    lines.dedup();
    lines
}

fn plan(signed: bool) -> String {
    let lines = graded(&[0.0, 10.0, 25.0, 35.0], 0.05, 1.25);
    let middle = |k: usize| 0.5 * (lines[k] + lines[k + 1]);
    let count = lines.len() - 1;
    let bell =
        |x: f64, y: f64, cx: f64, cy: f64, r: f64| (-((x - cx).powi(2) + (y - cy).powi(2)) / (r * r)).exp();
    let values: Vec<f64> = (0..count * count)
        .map(|k| {
            let (x, y) = (middle(k % count), middle(k / count));
            let hot = 45.0 + 30.0 * bell(x, y, 17.5, 17.5, 9.0) + 12.0 * bell(x, y, 13.0, 21.0, 2.5);
            match (signed, x < 1.0 && y < 1.0) {
                (_, true) => f64::NAN,
                (true, _) => 60.0 * (bell(x, y, 17.5, 17.5, 9.0) - 1.4 * bell(x, y, 8.0, 8.0, 6.0)),
                (false, _) => hot,
            }
        })
        .collect();
    let map = FieldMap {
        across: &lines,
        up: &lines,
        values: &values,
        name: if signed { "warpage" } else { "temperature" },
        unit: if signed { "um" } else { "degC" },
        signed,
        outlines: vec![("die", [10.0, 25.0, 10.0, 25.0])],
        stretch: 1.0,
        stepped: false,
        gas: &[],
        rings: Vec::new(),
        seen: "package coordinates, seen from above, through the die",
    };
    field_map(&words(if signed { "plan-signed" } else { "plan" }, "Plan"), &map)
}

fn section() -> String {
    let across = graded(&[0.0, 10.0, 25.0, 35.0], 0.05, 1.25);
    let up = graded(&[0.0, 1.0, 1.08, 1.83, 1.88, 3.88], 0.01, 1.3);
    let (columns, rows) = (across.len() - 1, up.len() - 1);
    let values: Vec<f64> = (0..columns * rows)
        .map(|k| {
            let x = 0.5 * (across[k % columns] + across[k % columns + 1]);
            let z = 0.5 * (up[k / columns] + up[k / columns + 1]);
            let beside = (1.0..1.88).contains(&z) && !(10.0..25.0).contains(&x);
            let fall = if z > 1.08 { (z - 1.08) * 6.0 } else { (1.08 - z) * 9.0 };
            if beside { f64::NAN } else { 50.0 + 28.0 * (-((x - 17.5) / 9.0).powi(2)).exp() - fall }
        })
        .collect();
    let map = FieldMap {
        across: &across,
        up: &up,
        values: &values,
        name: "temperature",
        unit: "degC",
        signed: false,
        outlines: vec![
            ("substrate", [0.0, 35.0, 0.0, 1.0]),
            ("die", [10.0, 25.0, 1.08, 1.83]),
            ("lid", [0.0, 35.0, 1.88, 3.88]),
        ],
        stretch: 4.0,
        stepped: false,
        gas: &[],
        rings: Vec::new(),
        seen: "cut along x through the middle of the die",
    };
    field_map(&words("section", "Section"), &map)
}

fn transients() -> Result<Vec<String>, Box<dyn Error>> {
    let slab = |thickness_m: f64, conductivity: f64, capacity_j_m3_k: f64, contact_m2_k_w: f64| Slab {
        thickness_m,
        conductivity,
        capacity_j_m3_k,
        contact_m2_k_w,
    };
    let area = 2.25e-4;
    let times: Vec<f64> = (0..=450).map(|i| 10f64.powf(-6.0 + f64::from(i) / 50.0)).collect();
    let (mut zth, mut cumulative, mut differential) = (Vec::new(), Vec::new(), Vec::new());
    for (name, contact) in [("dry", 60e-6), ("greased", 10e-6)] {
        let layers = vec![
            slab(0.75e-3, 120.0, 1.66e6, 0.0),
            slab(50e-6, 3.0, 2e6, 0.0),
            slab(2e-3, 390.0, 3.45e6, contact),
            slab(10e-3, 390.0, 3.45e6, 0.0),
        ];
        let stack = Stack { layers, film: 2e4 };
        let rises: Result<Vec<f64>, _> =
            times.iter().map(|t| stack.step_response(*t).map(|z| z / area)).collect();
        let path = transient_path(&times, &rises?, Default::default(), &Default::default())?;
        let curve = |points: Vec<(f64, f64)>| Curve { name: name.into(), dashed: name == "greased", points };
        zth.push(curve(
            path.response.times().into_iter().zip(path.response.values.iter().copied()).collect(),
        ));
        let total = path.structure.last().map_or(0.0, |p| p.resistance);
        let inside = |r: f64| r < 0.995 * total;
        let steps = slopes(&path.structure, total);
        let cut = |points: &[(f64, f64)]| points.iter().copied().filter(|p| inside(p.0)).collect::<Vec<_>>();
        let along: Vec<(f64, f64)> = path.structure.iter().map(|p| (p.resistance, p.capacity)).collect();
        cumulative.push(curve(cut(&along)));
        differential.push(curve(cut(&steps)));
    }
    let panel = |y: &str, y_logarithmic: bool, curves: Vec<Curve>| Panel {
        y: y.into(),
        y_logarithmic,
        curves,
        ..Panel::default()
    };
    let impedance = LogCurves {
        x: "time after switching on, s".into(),
        x_logarithmic: true,
        marks: vec![(0.12, "curves part: 0.12 K/W".into())],
        panels: vec![panel("Zth, K/W", false, zth)],
    };
    let structure = LogCurves {
        x: "resistance from the junction, K/W".into(),
        x_logarithmic: false,
        marks: vec![(0.12, "case".into())],
        panels: vec![
            panel("heat capacity passed, J/K", true, cumulative),
            panel("its slope, W2 s/K2", true, differential),
        ],
    };
    Ok(vec![
        log_curves(&words("zth", "Thermal impedance"), &impedance),
        log_curves(&words("structure", "Structure functions"), &structure),
    ])
}

fn slopes(path: &[Place], total: f64) -> Vec<(f64, f64)> {
    differential(path, 0.01 * total).iter().map(|p| (p.resistance, p.capacity)).collect()
}
