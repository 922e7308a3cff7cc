//! Cleaning on the page: the angle over the dose of the plasma and over the wait after it, with the readings that tell them.

use super::PageInput;
use super::studies::row;
use super::write::{figure, paragraph};
use crate::chart::Words;
use crate::chart::curve::{Curve, Curves, curves};
use crate::number::significant;
use crate::svg::Svg;
use facedown_underfill::cleaning::Cleaning;
use facedown_underfill::contamination::{Ageing, Read};

/// Points of a curve.
const POINTS: usize = 81;

/// Every face whose readings show its step. Parts of one design share their table of readings: it is shown once, with the first
/// part.
pub fn cleaning(input: &PageInput<'_>, out: &mut Svg) {
    let Some((_, outcome)) = input.underfill.first() else { return };
    for (index, face) in outcome.cleaning.iter().enumerate() {
        paragraph(out, "", &told(face));
        row(out, |out| {
            dose(face, index, out);
            wait(face, index, out);
        });
    }
    if !outcome.cleaning.is_empty() {
        let caution = "Plasma and radio-frequency power need trained staff, interlocks and drawn-off exhaust: local codes, the maker's \
                       instructions and licensed practice come before these numbers.";
        paragraph(out, "caution", caution);
    }
}

/// The laws in sentences.
fn told(face: &Cleaning) -> String {
    let law = &face.law;
    let deviation = |k: usize| law.covariance[k][k].max(0.0).sqrt();
    let with =
        |value: f64, spread: f64| format!("{} \u{b1} {}", significant(value, 3), significant(spread, 2));
    let degrees = |value: f64, spread: f64| with(value.to_degrees(), spread.to_degrees());
    let end = if law.end_fitted { "" } else { " (assumed)" };
    let dose = 1e-3 / law.law.rate;
    let mut text = format!(
        "{} on the {} goes from {} deg towards {} deg{end} and falls to 1/e of the way with every {} kJ, by {} readings.",
        super::write::capital(&face.liquid),
        face.face.words(),
        degrees(law.law.start_rad, deviation(0)),
        degrees(law.law.end_rad, deviation(1)),
        with(dose, dose * deviation(2) / law.law.rate),
        face.fresh.len()
    );
    if law.scatter > 1.0 {
        text.push_str(&format!(
            " They scatter {} times as much as their spreads say, and all uncertainties are raised by that.",
            significant(law.scatter, 2)
        ));
    }
    let (left, spread) = face.left();
    text.push_str(&format!(
        " The step of {} kJ leaves {} % of residue, {}.",
        significant(1e-3 * face.dose_j(), 3),
        with(100.0 * left, 100.0 * spread),
        if face.seen_on_residue {
            "by drops that lie on residue"
        } else {
            "if residue goes as quickly as the angle beside it falls"
        }
    ));
    if let Some(sheet) = &face.sheet {
        let limit = significant(sheet.limit_rad.to_degrees(), 2);
        text.push_str(&match sheet.time_s {
            Some(time) => format!(
                " With 95 % the worst place is at most {limit} deg when dispensing after {} s under this plasma; planned are {} s.",
                significant(time, 3),
                significant(face.plasma.time_s, 3)
            ),
            None => format!(
                " With 95 % no time under this plasma keeps the worst place at {limit} deg after a wait of {} h.",
                significant(face.queue_s / 3600.0, 2)
            ),
        });
    }
    text
}

fn points(reads: &[Read], scale: f64) -> Vec<(f64, f64)> {
    reads.iter().map(|r| (r.dose * scale, r.angle_rad.to_degrees())).collect()
}

/// A curve with its band from angle and deviation at places along an axis.
fn banded(
    most: f64,
    scale: f64,
    at: impl Fn(f64) -> facedown_underfill::Angle,
) -> (Vec<(f64, f64)>, Vec<[f64; 3]>) {
    (0..POINTS)
        .map(|k| {
            let x = most * k as f64 / (POINTS - 1) as f64;
            let read = at(x);
            let (angle, spread) = (read.angle_rad.to_degrees(), read.spread_rad.to_degrees());
            ((scale * x, angle), [scale * x, (angle - spread).max(0.0), (angle + spread).min(180.0)])
        })
        .unzip()
}

fn limit(face: &Cleaning) -> Vec<(f64, String)> {
    let limit = face.sheet.as_ref().map(|s| s.limit_rad.to_degrees());
    limit.map(|l| (l, format!("at most {} deg, common practice", significant(l, 2)))).into_iter().collect()
}

fn dose(face: &Cleaning, index: usize, out: &mut Svg) {
    let read = face.fresh.iter().map(|r| r.dose).fold(0.0, f64::max);
    let needed = face.sheet.as_ref().and_then(|s| s.dose_j);
    let most = 1.1 * read.max(face.dose_j()).max(needed.unwrap_or(0.0).min(3.0 * face.dose_j()));
    let (line, spread) = banded(most, 1e-3, |dose| face.law.after(dose));
    let mut marks = vec![(1e-3 * face.dose_j(), "this step".to_owned())];
    marks.extend(needed.filter(|n| *n <= most).map(|n| (1e-3 * n, "needed, with the wait".to_owned())));
    let chart = Curves {
        x: format!("dose of {}, kJ", face.plasma.gas.words()),
        y: "contact angle, deg".into(),
        curves: vec![Curve { name: String::new(), dashed: false, points: line }],
        spread,
        measured: points(&face.fresh, 1e-3),
        limits: limit(face),
        marks,
        x_from_zero: true,
        y_from_zero: true,
        ..Curves::default()
    };
    let title = format!("{} on the {} over the dose", super::write::capital(&face.liquid), face.face.words());
    let caption = format!(
        "{title}, right after the plasma: readings, the first-order law through them, and one standard deviation of the law."
    );
    let id = format!("chart-dose-{index}");
    let words = Words { id: &id, title: &title, description: &caption };
    figure(out, &title, &curves(&words, &chart), &caption);
}

fn wait(face: &Cleaning, index: usize, out: &mut Svg) {
    let Ageing { source, .. } = &face.ageing;
    let read = face.aged.iter().map(|r| r.dose).fold(0.0, f64::max);
    let longest = face.sheet.as_ref().and_then(|s| s.longest_queue_s).filter(|t| *t > 0.0);
    let most = 1.1 * read.max(2.0 * face.queue_s).max(longest.unwrap_or(0.0).min(1e6)).max(3600.0);
    let (line, spread) = banded(most, 1.0 / 3600.0, |time| face.ageing.after(face.at_once, time));
    let mut marks = vec![(face.queue_s / 3600.0, "this wait".to_owned())];
    marks.extend(longest.filter(|t| *t <= most).map(|t| (t / 3600.0, "longest, with 95 %".to_owned())));
    let chart = Curves {
        x: "time after the plasma, h".into(),
        y: "contact angle, deg".into(),
        curves: vec![Curve { name: String::new(), dashed: false, points: line }],
        spread,
        measured: points(&face.aged, 1.0 / 3600.0),
        limits: limit(face),
        marks,
        x_from_zero: true,
        y_from_zero: true,
        ..Curves::default()
    };
    let title = format!("{} on the {} as it waits", super::write::capital(&face.liquid), face.face.words());
    let caption = format!(
        "{title}, {source}; one standard deviation. At dispensing {} \u{b1} {} deg.",
        significant(face.at_dispense.angle_rad.to_degrees(), 3),
        significant(face.at_dispense.spread_rad.to_degrees(), 2)
    );
    let id = format!("chart-wait-{index}");
    let words = Words { id: &id, title: &title, description: &caption };
    figure(out, &title, &curves(&words, &chart), &caption);
}
