//! A number at each stage of the life line: warpage through the process, smile and frown about zero.

use super::axes::{Frame, Span};
use super::{HALF, Words, open};
use crate::number::{fixed, significant};
use crate::typography::wrap;

/// The number at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// Name of the stage with its temperature.
    pub name: String,
    /// The number.
    pub value: f64,
}

/// Draws a stem for each moment, joined by a line, with the permitted band where one is given.
pub fn stages(words: &Words<'_>, axis: &str, moments: &[Moment], band: Option<[f64; 2]>) -> String {
    let height = 350.0;
    let mut svg = open(words, HALF, height);
    let values = moments.iter().map(|m| m.value).chain(band.into_iter().flatten());
    let count = moments.len().max(1) as f64;
    let frame = Frame {
        left: 58.0,
        top: 34.0,
        width: HALF - 58.0 - 12.0,
        height: height - 34.0 - 84.0,
        x: Span { low: 0.0, high: count, logarithmic: false },
        y: Span::from_zero(values),
    };
    if let Some([low, high]) = band {
        let (a, b) = (frame.at_y(high), frame.at_y(low));
        svg.start("rect").attr("class", "band").num("x", frame.left).num("y", a).num("width", frame.width);
        svg.num("height", b - a).end();
    }
    frame.draw_y(&mut svg, axis);
    frame.zero_line(&mut svg);
    let slot = frame.width / count;
    let points: Vec<(f64, f64)> =
        moments.iter().enumerate().map(|(i, m)| (i as f64 + 0.5, m.value)).collect();
    frame.curve(&mut svg, "line thin", &points);
    for ((x, value), moment) in points.iter().zip(moments) {
        let (px, py) = (frame.at_x(*x), frame.at_y(*value));
        svg.line("stem", (px, frame.at_y(0.0)), (px, py));
        svg.start("circle").attr("class", "knot").num("cx", px).num("cy", py).num("r", 4.5).end();
        if slot > 34.0 {
            let above = *value >= 0.0;
            let y = if above { py - 9.0 } else { py + 18.0 };
            svg.label("value mid", px, y, &significant(*value, 3));
        }
        for (line, text) in wrap(&moment.name, 11.0, slot - 3.0).iter().take(5).enumerate() {
            let y = frame.bottom() + 16.0 + 13.0 * line as f64;
            svg.start("text").attr("class", "small mid").attr("x", fixed(px, 1)).num("y", y).text(text).end();
        }
    }
    svg.finish()
}
