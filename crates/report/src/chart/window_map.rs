//! A process window: for each point of two settings how likely it comes out well, and what becomes of the point itself.
//!
//! The colour of a cell is the share of the draws that come out well; a mark says what becomes of the cell's own point, so
//! that nothing is said by colour alone. The setting that is in use is ringed.

use super::axes::{Frame, Span};
use super::{HALF, Words, open};
use crate::field_colours::magnitude;
use crate::number::fixed;
use crate::svg::Svg;

/// A kind of end with its mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Comes out well.
    Good,
    /// Voids.
    Void,
    /// Is not drawn in.
    Dry,
    /// Gels before it is full.
    Gel,
    /// Too little liquid.
    Short,
}

impl Mark {
    const ALL: [Mark; 5] = [Mark::Good, Mark::Void, Mark::Dry, Mark::Gel, Mark::Short];

    fn glyph(self) -> &'static str {
        match self {
            Mark::Good => "\u{25cf}",
            Mark::Void => "\u{25cb}",
            Mark::Dry => "\u{d7}",
            Mark::Gel => "\u{25a0}",
            Mark::Short => "\u{2013}",
        }
    }

    fn words(self) -> &'static str {
        match self {
            Mark::Good => "fills",
            Mark::Void => "voids",
            Mark::Dry => "is not drawn in",
            Mark::Gel => "gels first",
            Mark::Short => "runs dry",
        }
    }
}

/// A window.
#[derive(Debug, Clone, PartialEq)]
pub struct WindowMap {
    /// Name of the axis to the right with its unit.
    pub x: String,
    /// Name of the axis upward with its unit.
    pub y: String,
    /// Settings to the right, rising.
    pub across: Vec<f64>,
    /// Settings upward, rising.
    pub up: Vec<f64>,
    /// Share that comes out well (0 to 1) and what becomes of the point, the axis to the right fastest.
    pub cells: Vec<(f64, Mark)>,
    /// The setting in use.
    pub here: (f64, f64),
}

/// Draws it; a window whose sizes do not fit is an empty picture with its title.
pub fn window_map(words: &Words<'_>, map: &WindowMap) -> String {
    let rising = |v: &[f64]| v.len() > 1 && v.windows(2).all(|w| w[0] < w[1]);
    if !rising(&map.across) || !rising(&map.up) || map.cells.len() != map.across.len() * map.up.len() {
        return open(words, 0.0, 0.0).finish();
    }
    let height = 380.0;
    let mut svg = open(words, HALF, height);
    let edges = |v: &[f64]| -> Vec<f64> {
        let n = v.len();
        let mut e: Vec<f64> = v.windows(2).map(|w| 0.5 * (w[0] + w[1])).collect();
        e.insert(0, 1.5 * v[0] - 0.5 * v[1]);
        e.push(1.5 * v[n - 1] - 0.5 * v[n - 2]);
        e
    };
    let (xs, ys) = (edges(&map.across), edges(&map.up));
    let frame = Frame {
        left: 58.0,
        top: 34.0,
        width: HALF - 58.0 - 70.0,
        height: height - 34.0 - 76.0,
        x: Span { low: xs[0], high: xs[xs.len() - 1], logarithmic: false },
        y: Span { low: ys[0], high: ys[ys.len() - 1], logarithmic: false },
    };
    // The cells cover the grid lines of the axes.
    frame.draw_x(&mut svg, &map.x);
    frame.draw_y(&mut svg, &map.y);
    svg.start("g").attr("shape-rendering", "crispEdges");
    for (k, (share, _)) in map.cells.iter().enumerate() {
        let (i, j) = (k % map.across.len(), k / map.across.len());
        let (x0, x1, y0, y1) =
            (frame.at_x(xs[i]), frame.at_x(xs[i + 1]), frame.at_y(ys[j + 1]), frame.at_y(ys[j]));
        svg.start("rect").attr("fill", magnitude(*share)).num("x", x0).num("y", y0);
        svg.num("width", x1 - x0).num("height", y1 - y0).end();
    }
    svg.end();
    for (k, (_, mark)) in map.cells.iter().enumerate() {
        let (i, j) = (k % map.across.len(), k / map.across.len());
        svg.label("map-number mid", frame.at_x(map.across[i]), frame.at_y(map.up[j]) + 4.5, mark.glyph());
    }
    let (x, y) = (frame.at_x(map.here.0), frame.at_y(map.here.1));
    svg.start("circle").attr("class", "map-here").num("cx", x).num("cy", y).num("r", 9.0).end();
    scale(&mut svg, &frame);
    let used: Vec<Mark> = Mark::ALL.into_iter().filter(|m| map.cells.iter().any(|c| c.1 == *m)).collect();
    let told: Vec<String> = used.iter().map(|m| format!("{} {}", m.glyph(), m.words())).collect();
    svg.label("small", frame.left, height - 8.0, &format!("{}; ring: the setting in use", told.join(", ")));
    svg.finish()
}

/// The scale of the colours.
fn scale(svg: &mut Svg, frame: &Frame) {
    let (x, steps) = (frame.right() + 14.0, 32);
    let tall = frame.bottom() - frame.top;
    svg.start("g").attr("shape-rendering", "crispEdges");
    for k in 0..steps {
        let share = (f64::from(k) + 0.5) / f64::from(steps);
        let y = frame.bottom() - tall * (f64::from(k) + 1.0) / f64::from(steps);
        svg.start("rect").attr("fill", magnitude(share)).num("x", x).num("y", y);
        svg.num("width", 12.0).num("height", tall / f64::from(steps) + 0.3).end();
    }
    svg.end();
    svg.label("axis", x - 8.0, frame.top - 9.0, "good, %");
    for share in [0.0, 0.5, 1.0] {
        svg.label("tick", x + 17.0, frame.bottom() - tall * share + 4.5, &fixed(100.0 * share, 0));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: Words<'_> = Words { id: "w", title: "t", description: "d" };

    #[test]
    fn cells_have_marks_and_only_used_marks_are_explained() {
        let map = WindowMap {
            x: "angle, deg".into(),
            y: "temperature, degC".into(),
            across: vec![10.0, 20.0],
            up: vec![80.0, 90.0],
            cells: vec![(1.0, Mark::Good), (0.4, Mark::Void), (0.9, Mark::Good), (0.0, Mark::Void)],
            here: (12.0, 85.0),
        };
        let picture = window_map(&WORDS, &map);
        let tree = roxmltree::Document::parse(&picture).unwrap();
        let texts: Vec<&str> = tree.descendants().filter(|n| n.is_text()).filter_map(|n| n.text()).collect();
        assert!(texts.iter().any(|t| t.contains("fills") && t.contains("voids") && !t.contains("gels")));
        assert_eq!(texts.iter().filter(|t| **t == "\u{25cb}").count(), 2);
        let short = WindowMap { cells: Vec::new(), ..map };
        assert!(!window_map(&WORDS, &short).contains("rect"));
    }
}
