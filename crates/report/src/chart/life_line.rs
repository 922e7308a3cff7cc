//! The life line: the package's thermal history as one curve through its stages, with a knot at each and under it the
//! one figure that the stage decides.

use super::axes::{Frame, Span};
use super::{FULL, Words, open};
use crate::number::fixed;
use crate::typography::{width, wrap};
use crate::verdict::{self, Verdict};

/// A stage.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Knot {
    /// Name of the stage.
    pub stage: String,
    /// Temperatures through it: share of the stage's time (0 to 1) and degrees Celsius.
    pub course: Vec<(f64, f64)>,
    /// False where the design gives no temperature for it and room temperature is drawn.
    pub given: bool,
    /// The figure that it decides: name, value, verdict.
    pub figure: Option<(String, String, Option<Verdict>)>,
}

/// The temperature farthest from room, and the middle of the time that it is held; the middle of the stage where nothing
/// departs from room.
fn extreme(course: &[(f64, f64)]) -> (f64, f64) {
    let apart = |t: f64| (t - 25.0).abs();
    let farthest = course.iter().map(|c| c.1).max_by(|a, b| apart(*a).total_cmp(&apart(*b))).unwrap_or(25.0);
    let at: Vec<f64> = course.iter().filter(|c| (c.1 - farthest).abs() < 0.5).map(|c| c.0).collect();
    match (at.first(), at.last()) {
        (Some(first), Some(last)) if apart(farthest) > 0.5 => {
            // Held between neighbours in the course, or reached again later: then the first time counts.
            let mut between = course.iter().filter(|c| c.0 > *first && c.0 < *last);
            let held = between.all(|c| (c.1 - farthest).abs() < 0.5);
            (if held { (first + last) / 2.0 } else { *first }, farthest)
        }
        _ => (0.5, farthest),
    }
}

/// Draws it. Stages have equal widths: the line is not to scale in time.
pub fn life_line(words: &Words<'_>, knots: &[Knot]) -> String {
    let height = 430.0;
    let mut svg = open(words, FULL, height);
    let count = knots.len().max(1) as f64;
    let frame = Frame {
        left: 50.0,
        top: 34.0,
        width: FULL - 50.0 - 8.0,
        height: 230.0,
        x: Span { low: 0.0, high: count, logarithmic: false },
        y: Span::from_zero(knots.iter().flat_map(|k| k.course.iter().map(|c| c.1))),
    };
    frame.draw_y(&mut svg, "temperature, degC");
    frame.zero_line(&mut svg);
    let slot = frame.width / count;
    let mut points = Vec::new();
    for (index, knot) in knots.iter().enumerate() {
        points.extend(knot.course.iter().map(|(share, t)| (index as f64 + share.clamp(0.0, 1.0), *t)));
        if index > 0 {
            let x = frame.at_x(index as f64);
            svg.line("grid", (x, frame.top), (x, frame.bottom()));
        }
    }
    frame.curve(&mut svg, "line thick", &points);
    for (index, knot) in knots.iter().enumerate() {
        let (share, degrees) = extreme(&knot.course);
        let (x, y) = (frame.at_x(index as f64 + share), frame.at_y(degrees));
        let class = if knot.given { "knot" } else { "knot open" };
        svg.start("circle").attr("class", class).num("cx", x).num("cy", y).num("r", 6.0).end();
        if knot.given {
            let text = format!("{} degC", fixed(degrees, 0));
            let room = width(&text, 13.0) / 2.0;
            let (from, to) = (frame.at_x(index as f64), frame.at_x(index as f64 + 1.0));
            let at = x.min(to - room).max(from + room);
            svg.label("value mid", at, if degrees < 0.0 { y + 21.0 } else { y - 11.0 }, &text);
        }
        let middle = frame.at_x(index as f64 + 0.5);
        let mut y = frame.bottom() + 24.0;
        for line in wrap(&knot.stage, 13.0, slot - 4.0).iter().take(2) {
            svg.label("head mid", middle, y, line);
            y += 16.0;
        }
        let mut y = frame.bottom() + 62.0;
        svg.line("rule", (middle - slot * 0.36, y - 14.0), (middle + slot * 0.36, y - 14.0));
        let Some((name, value, judged)) = &knot.figure else {
            svg.label("small mid", middle, y + 4.0, "no figure");
            continue;
        };
        for line in wrap(name, 11.5, slot - 6.0).iter().take(2) {
            svg.label("small mid", middle, y + 2.0, line);
            y += 14.0;
        }
        svg.label("value mid", middle, y + 8.0, value);
        if let Some(judged) = judged {
            let room = width(judged.words(), 11.5) + 14.0;
            verdict::mark(&mut svg, *judged, middle - room / 2.0 + 5.0, y + 24.0, 9.0);
            svg.label("small", middle - room / 2.0 + 14.0, y + 28.0, judged.words());
        }
    }
    let note = "Stages have equal widths; the line is not to scale in time. An open knot: the design gives no temperature, room is drawn.";
    svg.label("small", 4.0, height - 8.0, note);
    svg.finish()
}
