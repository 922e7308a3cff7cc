//! Life as a Weibull plot: `ln(-ln(1 - F))` over the logarithm of time, on which a Weibull distribution is a straight line
//! (Weibull, J. Appl. Mech. 18 (1951) 293).

use super::axes::{Frame, Span};
use super::{HALF, TEXT, Words, open};
use crate::number::fixed;
use crate::svg::Svg;

/// The plot.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Weibull {
    /// Distributions: name, and points of time in years and share failed.
    pub lines: Vec<(String, Vec<(f64, f64)>)>,
    /// The mission: years and the share that may fail.
    pub asked: Option<(f64, f64)>,
}

/// Shares written on the upward axis, percent.
const SHARES: [f64; 10] = [1e-4, 1e-3, 0.01, 0.1, 1.0, 5.0, 20.0, 50.0, 90.0, 99.0];

/// Place of a share failed on the axis.
pub(super) fn place(share: f64) -> f64 {
    (-(-share).ln_1p()).ln()
}

/// Grid, numbers and name of the axis of shares failed, from the share `low` upward.
pub(super) fn draw_shares(svg: &mut Svg, frame: &Frame, low: f64) {
    for share in SHARES.iter().filter(|s| **s / 100.0 >= low * 0.999) {
        let y = frame.at_y(place(share / 100.0));
        svg.line("grid", (frame.left, y), (frame.right(), y));
        svg.label("tick end", frame.left - 7.0, y + 4.5, &fixed(*share, 4));
    }
    svg.label("axis", 4.0, frame.top - TEXT, "packages failed, %");
}

/// Draws it.
pub fn weibull(words: &Words<'_>, plot: &Weibull) -> String {
    let height = 380.0;
    let mut svg = open(words, HALF, height);
    let fits = |p: &&(f64, f64)| p.0 > 0.0 && p.1 > 1e-7 && p.1 < 0.9999;
    let all: Vec<(f64, f64)> =
        plot.lines.iter().flat_map(|l| l.1.iter().filter(fits).copied()).chain(plot.asked).collect();
    let low = all.iter().map(|p| p.1).fold(0.01, f64::min).max(1e-6);
    let frame = Frame {
        left: 66.0,
        top: 34.0,
        width: HALF - 66.0 - 18.0,
        height: height - 34.0 - 52.0,
        x: Span::decades(all.iter().map(|p| p.0)),
        y: Span { low: place(low), high: place(0.99), logarithmic: false },
    };
    frame.draw_x(&mut svg, "time in service, years");
    draw_shares(&mut svg, &frame, low);
    if let Some((years, share)) = plot.asked {
        let name = format!("asked: {} % after {} years", fixed(100.0 * share, 4), fixed(years, 2));
        frame.limit_y(&mut svg, place(share), &name);
        let x = frame.at_x(years);
        svg.line("limit", (x, frame.top), (x, frame.bottom()));
    }
    for (index, (name, points)) in plot.lines.iter().enumerate() {
        let line: Vec<(f64, f64)> = points.iter().filter(fits).map(|p| (p.0, place(p.1))).collect();
        frame.curve(&mut svg, if index == 0 { "line" } else { "line second" }, &line);
        if let Some(last) = line.last() {
            let (x, y) = (frame.at_x(last.0), frame.at_y(last.1));
            svg.label("value end", x - 6.0, (y + 4.0).max(frame.top + 14.0 + 17.0 * index as f64), name);
        }
    }
    svg.finish()
}
