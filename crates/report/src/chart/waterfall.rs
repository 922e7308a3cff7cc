//! Where the kelvins go: from the hottest junction down to the ambient, each step beginning where the last one ended.

use super::axes::{Frame, Span};
use super::{HALF, Words, open};
use crate::number::significant;
use crate::typography::{shorten, width};

/// One path of the heat.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatPath {
    /// Name of the path with the heat that takes it.
    pub name: String,
    /// Steps from the junction on: name and drop in K.
    pub steps: Vec<(String, f64)>,
}

/// Draws the paths under each other over one axis of temperature. Temperatures in degrees Celsius.
pub fn waterfall(words: &Words<'_>, junction: f64, ambient: f64, paths: &[HeatPath]) -> String {
    let (row, head, left, right) = (26.0, 32.0, 196.0, 26.0);
    let rows: usize = paths.iter().map(|p| p.steps.len()).sum();
    let field = row * rows.max(1) as f64 + head * paths.len() as f64;
    let mut svg = open(words, HALF, field + 70.0);
    let ends = paths.iter().map(|p| junction - p.steps.iter().map(|s| s.1).sum::<f64>());
    let x = Span::around(ends.chain([junction, ambient]));
    let y = Span { low: 0.0, high: 1.0, logarithmic: false };
    let frame = Frame { left, top: 16.0, width: HALF - left - right, height: field, x, y };
    frame.draw_x(&mut svg, "temperature, degC");
    let mut top = frame.top;
    for path in paths {
        svg.label("head", 4.0, top + 20.0, &path.name);
        top += head;
        let mut from = junction;
        for (name, kelvins) in &path.steps {
            let to = from - kelvins;
            let (a, b) = (frame.at_x(from.min(to)), frame.at_x(from.max(to)));
            let y = top + row / 2.0;
            svg.label("text end", left - 10.0, y + 4.5, &shorten(name, super::TEXT, left - 14.0));
            svg.start("rect").attr("class", if *kelvins < 0.0 { "bar rise" } else { "bar warm" });
            svg.num("x", a).num("y", y - 8.0).num("width", (b - a).max(1.0)).num("height", 16.0).end();
            svg.line("link", (frame.at_x(to), y - 8.0), (frame.at_x(to), y + row));
            let text = format!("{} K", significant(*kelvins, 3));
            // At the side of the bar with more room, but neither over the name nor over the rim.
            let wanted = width(&text, super::TEXT) + 10.0;
            let (before, after) = (a - frame.left, frame.right() - b);
            if before.max(after) < wanted {
                svg.label("value mid", 0.5 * (a + b), y + 4.5, &text);
            } else if before > after {
                svg.label("value end", a - 6.0, y + 4.5, &text);
            } else {
                svg.label("value", b + 6.0, y + 4.5, &text);
            }
            from = to;
            top += row;
        }
    }
    svg.finish()
}
