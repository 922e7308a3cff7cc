//! Underfill on the page: isochrones over the bump map with the air that is shut in, as it is dispensed and without the plasma;
//! fill progress and cure.

use super::studies::{asked, limit_words, row};
use super::write::{Cell, figure, paragraph, table};
use super::{PageInput, third};
use crate::chart::Words;
use crate::chart::curve::{Curve, Curves, curves};
use crate::chart::field_map::{FieldMap, field_map};
use crate::number::significant;
use crate::svg::Svg;
use facedown_underfill::Outcome;
use facedown_underfill::filling::Filling;
use facedown_underfill::front::End;

/// Voids that the page lists.
const LISTED: usize = 8;

/// Every underfilled part.
pub fn underfill(input: &PageInput<'_>, out: &mut Svg) {
    for (index, (die, outcome)) in input.underfill.iter().enumerate() {
        if input.underfill.len() > 1 {
            third(out, &format!("Die {die}"));
        }
        let told = told(die, outcome);
        paragraph(out, "", &told);
        row(out, |out| {
            if let Some(filling) = &outcome.untreated {
                fill(filling, &format!("{index}-untreated"), "without the plasma", die, out);
            }
            if let Some(filling) = &outcome.filling {
                let moment = if outcome.untreated.is_some() { "after the plasma" } else { "as dispensed" };
                fill(filling, &index.to_string(), moment, die, out);
            }
        });
        if let Some(filling) = &outcome.filling {
            voids(filling, out);
        }
        row(out, |out| {
            fillets(index, die, outcome, out);
            progress(input, index, die, outcome, &told, out);
            cure(index, die, outcome, out);
        });
    }
}

/// What became of it, in a sentence or two.
fn told(die: &str, outcome: &Outcome) -> String {
    match (outcome.fills, outcome.fill_time_s) {
        (true, Some(time)) => format!(
            "The gap under {die} is full after {} s; {} mm3 are dispensed, and the fillet stands {} um high.{}",
            significant(time, 3),
            significant(outcome.volume_m3 * 1e9, 3),
            significant(outcome.fillet_height_m * 1e6, 3),
            outcome.filling.as_ref().map_or(String::new(), |f| format!(" {}", air(f)))
        ),
        _ => format!(
            "The gap under {die} does not fill: the driving pressure is {} Pa.",
            significant(outcome.driving_pressure_pa, 3)
        ),
    }
}

/// What air is shut in, in a sentence.
fn air(filling: &Filling) -> String {
    match filling.voids.len() {
        0 => "No air is shut in.".into(),
        n => format!(
            "{n} {} of air {} shut in, {} % of the die, touching {} bumps.",
            if n == 1 { "pocket" } else { "pockets" },
            if n == 1 { "is" } else { "are" },
            significant(100.0 * filling.void_area_fraction, 2),
            filling.bumps_touched
        ),
    }
}

/// Isochrones of one fill, with the angle on the substrate beside it where that is not even.
fn fill(filling: &Filling, id: &str, moment: &str, die: &str, out: &mut Svg) {
    let map = &filling.map;
    let mm = |axis: usize| -> Vec<f64> {
        (0..=map.count[axis]).map(|k| 1e3 * map.step_m[axis] * k as f64).collect()
    };
    let (across, up) = (mm(0), mm(1));
    let gas: Vec<bool> = map.void.iter().map(|v| *v > 0).collect();
    let radius = 0.5e3 * filling.bump_diameter_m;
    let rings: Vec<[f64; 3]> = filling.bumps_m.iter().map(|p| [1e3 * p[0], 1e3 * p[1], radius]).collect();
    if !map.angle_substrate_rad.is_empty() {
        let values: Vec<f64> = map.angle_substrate_rad.iter().map(|a| f64::from(*a).to_degrees()).collect();
        let sheet = FieldMap {
            across: &across,
            up: &up,
            values: &values,
            name: "contact angle",
            unit: "deg",
            signed: false,
            outlines: Vec::new(),
            stretch: 1.0,
            stepped: true,
            gas: &[],
            rings: rings.clone(),
            seen: "seen from above, through the die",
        };
        let id = format!("chart-angle-{id}");
        let title = format!("Contact angle on the substrate, {moment}");
        let words = Words {
            id: &id,
            title: &title,
            description: "A map of the underfill's contact angle on the substrate.",
        };
        figure(out, &format!("{title}, under {die}"), &field_map(&words, &sheet), &format!("{title}."));
    }
    let values: Vec<f64> = map.arrival_s.iter().map(|t| t.map_or(f64::NAN, f64::from)).collect();
    let sheet = FieldMap {
        across: &across,
        up: &up,
        values: &values,
        name: "arrival",
        unit: "s",
        signed: false,
        outlines: Vec::new(),
        stretch: 1.0,
        stepped: false,
        gas: &gas,
        rings,
        seen: "seen from above, through the die",
    };
    let end = match (filling.fill_time_s, filling.end) {
        (Some(time), _) => format!("The last place is full after {} s.", significant(time, 3)),
        (None, End::RanDry) => "The lines run dry before the gap is full.".into(),
        (None, End::DoesNotWet) => "Where it is blank the underfill is not drawn in.".into(),
        (None, _) => "It gels before the gap is full.".into(),
    };
    let caption = format!(
        "Isochrones of the front {moment}: lines of equal time, in seconds. {end} {} Paper with crosses: air. Rings: bumps.",
        air(filling)
    );
    let id = format!("chart-isochrones-{id}");
    let title = format!("Isochrones, {moment}");
    let words = Words { id: &id, title: &title, description: &caption };
    figure(out, &format!("{title}, under {die}"), &field_map(&words, &sheet), &caption);
}

/// The largest voids in numbers.
fn voids(filling: &Filling, out: &mut Svg) {
    if filling.voids.is_empty() {
        return;
    }
    let rows: Vec<Vec<Cell>> = filling
        .voids
        .iter()
        .take(LISTED)
        .enumerate()
        .map(|(k, v)| {
            vec![
                Cell::text(format!("{}", k + 1)),
                Cell::number(significant(1e3 * v.place_m[0], 3)),
                Cell::number(significant(1e3 * v.place_m[1], 3)),
                Cell::number(significant(1e6 * v.area_m2, 3)),
                Cell::number(significant(1e-3 * v.pressure_pa, 4)),
                Cell::number(v.bumps.len().to_string()),
            ]
        })
        .collect();
    let caption = match filling.voids.len() {
        n if n > LISTED => format!("Air shut in: the {LISTED} largest of {n} voids"),
        _ => "Air shut in".into(),
    };
    table(out, &caption, &["Void", "x, mm", "y, mm", "area, mm2", "pressure, kPa", "bumps touched"], &rows);
}

/// The faces of the fillets, each shape once.
fn fillets(index: usize, die: &str, outcome: &Outcome, out: &mut Svg) {
    let Some(fillets) = &outcome.fillets else { return };
    let mut shapes: Vec<(String, Vec<(f64, f64)>)> = Vec::new();
    for side in &fillets.sides {
        let points: Vec<(f64, f64)> = side.profile_m.iter().map(|p| (1e3 * p[0], 1e6 * p[1])).collect();
        let name = format!("{:?}", side.edge).to_lowercase();
        let alike = |o: &Vec<(f64, f64)>| {
            o.len() == points.len()
                && o.iter().zip(&points).all(|(a, b)| (a.0 - b.0).abs() < 1e-4 && (a.1 - b.1).abs() < 0.1)
        };
        match shapes.iter_mut().find(|s| alike(&s.1)) {
            Some(shape) => shape.0 = format!("{}, {name}", shape.0),
            None => shapes.push((name, points)),
        }
    }
    let one = shapes.len() == 1;
    let chart = Curves {
        x: "distance from the die's wall, mm".into(),
        y: "height above the substrate, um".into(),
        curves: shapes
            .into_iter()
            .enumerate()
            .map(|(k, (name, points))| Curve {
                name: if one { String::new() } else { name },
                dashed: k > 0,
                points,
            })
            .collect(),
        x_from_zero: true,
        y_from_zero: true,
        ..Curves::default()
    };
    let (height, width) = (1e6 * outcome.fillet_height_m, 1e3 * outcome.fillet_width_m);
    let caption = format!(
        "{} of the fillet at rest: {} um high at the lowest side, {} mm wide at the widest; all sides stand under one pressure.",
        if one { "The face" } else { "The faces" },
        significant(height, 3),
        significant(width, 3)
    );
    let id = format!("chart-fillet-{index}");
    let words = Words { id: &id, title: "Fillets", description: &caption };
    figure(out, &format!("Fillets of {die}"), &curves(&words, &chart), &caption);
}

/// Share that is filled over time.
fn progress(input: &PageInput<'_>, index: usize, die: &str, outcome: &Outcome, told: &str, out: &mut Svg) {
    let front: Vec<(f64, f64)> = outcome.front.iter().map(|p| (p.time_s, 100.0 * p.filled)).collect();
    if front.len() < 2 {
        return;
    }
    let mut marks = Vec::new();
    if let Some(limit) = asked(input, "underfill", "fill_time").filter(|r| r.requirement.unit == "s") {
        marks.push((limit.requirement.limit, limit_words(limit)));
    }
    let end = front.last().map_or(0.0, |p| p.0);
    marks.extend(outcome.gel_time_s.filter(|g| *g < 8.0 * end.max(1e-9)).map(|g| (g, "gel".into())));
    let of_gap = outcome.filling.is_some();
    let chart = Curves {
        x: "time since dispensing, s".into(),
        y: if of_gap { "gap filled, %" } else { "area filled, %" }.into(),
        curves: vec![Curve { name: String::new(), dashed: false, points: front }],
        marks,
        x_from_zero: true,
        y_from_zero: true,
        ..Curves::default()
    };
    let id = format!("chart-fill-{index}");
    let words = Words { id: &id, title: "Fill progress", description: told };
    let caption = if of_gap {
        "Share of the gap's free volume that is filled."
    } else {
        "Share of the die's area that is filled."
    };
    figure(out, &format!("Fill progress under {die}"), &curves(&words, &chart), caption);
}

/// Degree of cure over time.
fn cure(index: usize, die: &str, outcome: &Outcome, out: &mut Svg) {
    let cure: Vec<(f64, f64)> = outcome.cure.iter().map(|p| (p.time_s / 60.0, 100.0 * p.degree)).collect();
    if cure.len() < 2 {
        return;
    }
    let told = format!("Degree of cure at the end: {} %.", significant(100.0 * outcome.cure_degree, 3));
    let chart = Curves {
        x: "time in the oven, min".into(),
        y: "degree of cure, %".into(),
        curves: vec![Curve { name: String::new(), dashed: false, points: cure }],
        x_from_zero: true,
        y_from_zero: true,
        ..Curves::default()
    };
    let id = format!("chart-cure-{index}");
    let words = Words { id: &id, title: "Cure", description: &told };
    figure(out, &format!("Cure under {die}"), &curves(&words, &chart), &told);
}
