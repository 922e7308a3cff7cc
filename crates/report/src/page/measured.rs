//! What was measured on the faces: marked pictures of drops, maps of angles with their uncertainty, charts over lots.

use super::studies::row;
use super::write::{Cell, figure, picture, table};
use super::{PageInput, third};
use crate::chart::Words;
use crate::chart::curve::{Curve, Curves, curves};
use crate::chart::field_map::{FieldMap, field_map};
use crate::number::significant;
use crate::svg::Svg;
use facedown_underfill::measured::{FaceMap, LotChart, Measurements};

/// Pictures of drops that the page shows.
const PICTURES: usize = 6;

/// Drops, maps and charts. Parts of one design share their table of readings: it is shown once, with the first part.
pub fn measured(input: &PageInput<'_>, out: &mut Svg) {
    let Some((_, outcome)) = input.underfill.first() else { return };
    let all = &outcome.measured;
    drops(all, out);
    if !all.maps.is_empty() {
        row(out, |out| {
            for (k, map) in all.maps.iter().enumerate() {
                face_map(map, k, out);
            }
        });
    }
    if !all.charts.is_empty() {
        row(out, |out| {
            for (k, chart) in all.charts.iter().enumerate() {
                lots(chart, k, out);
            }
        });
    }
}

/// What was read off drops that were not told as a plain angle.
fn drops(all: &Measurements, out: &mut Svg) {
    let read: Vec<_> = all.drops.iter().filter(|d| d.from != "stated").collect();
    if read.is_empty() {
        return;
    }
    third(out, "Drops");
    let rows: Vec<Vec<Cell>> = read
        .iter()
        .map(|d| {
            vec![
                Cell::text(format!("{}, {}", d.face.words(), d.liquid)),
                Cell::text(d.from.clone()),
                Cell::number(format!(
                    "{} \u{b1} {}",
                    significant(d.angle_rad.to_degrees(), 3),
                    significant(d.spread_rad.to_degrees(), 2)
                )),
            ]
        })
        .collect();
    table(out, "Angles from sizes and pictures", &["Face and liquid", "from", "angle, deg"], &rows);
    row(out, |out| {
        for d in read.iter().filter(|d| d.marked_png.is_some()).take(PICTURES) {
            let Some(png) = &d.marked_png else { continue };
            let words = format!(
                "Drop of {} on the {}: {} deg.",
                d.liquid,
                d.face.words(),
                significant(d.angle_rad.to_degrees(), 3)
            );
            let caption =
                format!("{words} Outline amber, fitted profile vermilion, base line blue, tangents teal.");
            picture(out, &words, &format!("data:image/png;base64,{png}"), d.marked_size, &words, &caption);
        }
    });
}

fn face_map(map: &FaceMap, index: usize, out: &mut Svg) {
    let mm = |axis: usize| -> Vec<f64> {
        (0..=map.count[axis]).map(|k| 1e3 * map.step_m[axis] * k as f64).collect()
    };
    let (across, up) = (mm(0), mm(1));
    let longer = across.last().copied().unwrap_or(1.0).max(up.last().copied().unwrap_or(1.0));
    let rings: Vec<[f64; 3]> =
        map.places_m.iter().map(|p| [1e3 * p[0], 1e3 * p[1], 0.012 * longer]).collect();
    for (what, values, id) in [("angle", &map.angle_rad, "angle"), ("uncertainty", &map.spread_rad, "spread")]
    {
        let degrees: Vec<f64> = values.iter().map(|v| f64::from(*v).to_degrees()).collect();
        let sheet = FieldMap {
            across: &across,
            up: &up,
            values: &degrees,
            name: what,
            unit: "deg",
            signed: false,
            outlines: Vec::new(),
            stretch: 1.0,
            stepped: false,
            gas: &[],
            rings: rings.clone(),
            seen: "seen from above, through the die",
        };
        let id = format!("chart-read-{id}-{index}");
        let title = match what {
            "angle" => format!("Angle of {} on the {}", map.liquid, map.face.words()),
            _ => format!("Uncertainty of the angle of {} on the {}", map.liquid, map.face.words()),
        };
        let caption = format!(
            "{title}, from {} readings at the rings; it changes over about {} mm.{}",
            map.places_m.len(),
            significant(1e3 * map.length_m, 2),
            if what == "angle" { "" } else { " One standard deviation." }
        );
        let words = Words { id: &id, title: &title, description: &caption };
        figure(out, &title, &field_map(&words, &sheet), &caption);
    }
}

fn lots(chart: &LotChart, index: usize, out: &mut Svg) {
    let points = |value: &dyn Fn(usize) -> f64| -> Vec<(f64, f64)> {
        (0..chart.points.len()).map(|k| (k as f64 + 1.0, value(k).to_degrees())).collect()
    };
    let curve = |name: &str, dashed, points| Curve { name: name.into(), dashed, points };
    let picture = Curves {
        x: "lot, in order".into(),
        y: "contact angle, deg".into(),
        curves: vec![
            curve(
                if chart.means { "mean of the lot" } else { "reading" },
                false,
                points(&|k| chart.points[k].angle_rad),
            ),
            curve("lower limit", true, points(&|k| chart.points[k].limits_rad[0].max(0.0))),
            curve("upper limit", true, points(&|k| chart.points[k].limits_rad[1])),
        ],
        ..Curves::default()
    };
    let asking: Vec<String> = chart
        .points
        .iter()
        .filter(|p| !p.signals.is_empty())
        .map(|p| format!("{} ({})", p.lot, p.signals.join(", ")))
        .collect();
    let state = if chart.treated { "after plasma" } else { "before plasma" };
    let title = format!("Lots of {} on the {}, {state}", chart.liquid, chart.face.words());
    let caption = match asking.len() {
        0 => format!("{title}: under control, middle {} deg.", significant(chart.middle_rad.to_degrees(), 3)),
        _ => format!("{title}: look at {}.", asking.join("; ")),
    };
    let id = format!("chart-lots-{index}");
    let words = Words { id: &id, title: &title, description: &caption };
    figure(out, &title, &curves(&words, &picture), &caption);
}
