//! One or a few curves over a common axis, with requirements, moments and a permitted band.

use super::axes::{Frame, Span};
use super::{HALF, Words, open};

/// A curve with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Written at its end; empty for a single curve that the chart's title names.
    pub name: String,
    /// True for a second rank, drawn with dashes.
    pub dashed: bool,
    /// Points.
    pub points: Vec<(f64, f64)>,
}

/// A chart of curves.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Curves {
    /// Name and unit of the axis to the right.
    pub x: String,
    /// Name and unit of the axis upward.
    pub y: String,
    /// Curves, five at most.
    pub curves: Vec<Curve>,
    /// What the first curve is uncertain by: x, lower and upper y along it.
    pub spread: Vec<[f64; 3]>,
    /// Measured data: points.
    pub measured: Vec<(f64, f64)>,
    /// Requirements: number and name.
    pub limits: Vec<(f64, String)>,
    /// Moments or places in x: number and name.
    pub marks: Vec<(f64, String)>,
    /// Permitted band in y with its name.
    pub band: Option<([f64; 2], String)>,
    /// True where the axis to the right begins at zero.
    pub x_from_zero: bool,
    /// True where the axis upward has zero.
    pub y_from_zero: bool,
}

/// Draws them.
pub fn curves(words: &Words<'_>, chart: &Curves) -> String {
    let height = 350.0;
    let mut svg = open(words, HALF, height);
    let xs = chart.curves.iter().flat_map(|c| c.points.iter().map(|p| p.0));
    let xs = xs.chain(chart.marks.iter().map(|m| m.0)).chain(chart.measured.iter().map(|p| p.0));
    let ys = chart.curves.iter().flat_map(|c| c.points.iter().map(|p| p.1));
    let ys = ys.chain(chart.limits.iter().map(|l| l.0)).chain(chart.band.iter().flat_map(|b| b.0));
    let ys = ys.chain(chart.spread.iter().flat_map(|s| [s[1], s[2]]));
    let ys = ys.chain(chart.measured.iter().map(|p| p.1));
    let frame = Frame {
        left: 58.0,
        top: 34.0,
        width: HALF - 58.0 - 18.0,
        height: height - 34.0 - 52.0,
        x: if chart.x_from_zero { Span::from_zero(xs) } else { Span::around(xs) },
        y: if chart.y_from_zero { Span::from_zero(ys) } else { Span::around(ys) },
    };
    if let Some(([low, high], name)) = &chart.band {
        let (a, b) = (frame.at_y(*high), frame.at_y(*low));
        svg.start("rect").attr("class", "band").num("x", frame.left).num("y", a).num("width", frame.width);
        svg.num("height", b - a).end();
        svg.label("band-name", frame.left + 6.0, a + 15.0, name);
    }
    frame.draw_x(&mut svg, &chart.x);
    frame.draw_y(&mut svg, &chart.y);
    frame.zero_line(&mut svg);
    for (value, name) in &chart.limits {
        frame.limit_y(&mut svg, *value, name);
    }
    for (row, (value, name)) in chart.marks.iter().enumerate() {
        frame.mark_x(&mut svg, *value, name, row);
    }
    let around: Vec<(f64, f64)> = chart.spread.iter().map(|s| (s[0], s[2])).collect();
    let back = chart.spread.iter().rev().map(|s| (s[0], s[1]));
    let around = frame.path(&around.into_iter().chain(back).collect::<Vec<_>>());
    if !around.is_empty() {
        svg.start("path").attr("class", "spread").attr("d", format!("{around}Z")).end();
    }
    for curve in &chart.curves {
        frame.curve(&mut svg, if curve.dashed { "line second" } else { "line" }, &curve.points);
        if let Some((x, y)) = curve.points.last().filter(|_| !curve.name.is_empty()) {
            let (x, y) = (frame.at_x(*x), frame.at_y(*y));
            let y = if y < frame.top + 20.0 { y + 18.0 } else { y - 8.0 };
            svg.label("value end", x - 2.0, y, &curve.name);
        }
    }
    for (x, y) in chart.measured.iter().filter(|p| p.0.is_finite() && p.1.is_finite()) {
        svg.start("circle").attr("class", "knot");
        svg.num("cx", frame.at_x(*x)).num("cy", frame.at_y(*y)).num("r", 4.5).end();
    }
    svg.finish()
}
