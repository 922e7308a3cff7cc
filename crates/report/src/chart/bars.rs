//! Level bars, one a row, each with its name at the left and its number at its end.

use super::axes::Span;
use super::{HALF, Words, open};
use crate::typography::shorten;

/// One bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// Name.
    pub name: String,
    /// Number that sets the length; zero or above.
    pub value: f64,
    /// Where the bar begins; zero but for bars that follow from each other.
    pub from: f64,
    /// What is written at the end.
    pub text: String,
}

/// Bars under each other with an axis from zero.
pub fn bars(words: &Words<'_>, bars: &[Bar], axis: &str) -> String {
    let (row, left, right) = (30.0, 190.0, 96.0);
    let height = 24.0 + row * bars.len().max(1) as f64 + 44.0;
    let mut svg = open(words, HALF, height);
    let frame = super::axes::Frame {
        left,
        top: 14.0,
        width: HALF - left - right,
        height: row * bars.len().max(1) as f64,
        x: Span::from_zero(bars.iter().map(|b| b.from + b.value)),
        y: Span { low: 0.0, high: 1.0, logarithmic: false },
    };
    frame.draw_x(&mut svg, axis);
    for (index, bar) in bars.iter().enumerate() {
        let y = frame.top + row * (index as f64 + 0.5);
        let (a, b) = (frame.at_x(bar.from), frame.at_x(bar.from + bar.value));
        svg.label("text end", left - 10.0, y + 4.5, &shorten(&bar.name, super::TEXT, left - 14.0));
        svg.start("rect").attr("class", "bar").num("x", a.min(b)).num("y", y - 8.0);
        svg.num("width", (b - a).abs().max(1.0)).num("height", 16.0).end();
        svg.label("value", a.max(b) + 7.0, y + 4.5, &bar.text);
    }
    svg.finish()
}
