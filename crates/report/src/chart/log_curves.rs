//! Curves over axes of which either may be logarithmic: thermal impedance over time, pulses by duty, structure functions.
//!
//! One panel or two, one above the other, over a common axis to the right. Names stand at the right ends, moved apart
//! where curves end together.

use super::axes::{Frame, Span};
use super::curve::Curve;
use super::{HALF, TEXT, Words, open};

/// One panel.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Panel {
    /// Name and unit of the axis upward.
    pub y: String,
    /// True where equal steps upward are equal ratios; else the axis has zero.
    pub y_logarithmic: bool,
    /// True where zero means nothing, of temperatures for one: the axis holds what is drawn and no more.
    pub y_around: bool,
    /// Curves, five at most.
    pub curves: Vec<Curve>,
    /// Measured or sampled points.
    pub points: Vec<(f64, f64)>,
    /// Requirements: number and name.
    pub limits: Vec<(f64, String)>,
}

/// Panels over one axis.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LogCurves {
    /// Name and unit of the axis to the right.
    pub x: String,
    /// True where equal steps to the right are equal ratios; else the axis begins at zero.
    pub x_logarithmic: bool,
    /// Places in x with their names, in every panel; the names in the first.
    pub marks: Vec<(f64, String)>,
    /// Panels from above.
    pub panels: Vec<Panel>,
}

/// Height of a panel's field, picture units: alone, or one of several.
const ALONE: f64 = 270.0;
const STACKED: f64 = 190.0;
/// Room above a field for the name of its axis, and below the last one.
const ABOVE: f64 = 34.0;
const BELOW: f64 = 52.0;

/// Draws them.
pub fn log_curves(words: &Words<'_>, chart: &LogCurves) -> String {
    let field = if chart.panels.len() < 2 { ALONE } else { STACKED };
    let height = chart.panels.len() as f64 * (field + ABOVE) + BELOW;
    let mut svg = open(words, HALF, height);
    let xs = chart.panels.iter().flat_map(|p| p.curves.iter().flat_map(|c| &c.points).chain(&p.points));
    let xs = xs.map(|p| p.0).chain(chart.marks.iter().map(|m| m.0));
    let x = if chart.x_logarithmic { Span::decades(xs) } else { Span::from_zero(xs) };
    for (row, panel) in chart.panels.iter().enumerate() {
        let ys = panel.curves.iter().flat_map(|c| &c.points).chain(&panel.points).map(|p| p.1);
        let ys = ys.chain(panel.limits.iter().map(|l| l.0));
        let frame = Frame {
            left: 62.0,
            top: ABOVE + row as f64 * (field + ABOVE),
            width: HALF - 62.0 - 18.0,
            height: field,
            x,
            y: match (panel.y_logarithmic, panel.y_around) {
                (true, _) => Span::decades(ys),
                (_, true) => Span::around(ys),
                _ => Span::from_zero(ys),
            },
        };
        if row + 1 == chart.panels.len() {
            frame.draw_x(&mut svg, &chart.x);
        } else {
            for (value, _) in x.marks((frame.width / 70.0).max(2.0)) {
                let at = frame.at_x(value);
                svg.line("grid", (at, frame.top), (at, frame.bottom()));
            }
        }
        frame.draw_y(&mut svg, &panel.y);
        for (value, name) in &panel.limits {
            frame.limit_y(&mut svg, *value, name);
        }
        for (k, (value, name)) in chart.marks.iter().enumerate() {
            frame.mark_x(&mut svg, *value, if row == 0 { name } else { "" }, k);
        }
        for (px, py) in panel.points.iter().filter(|p| p.0.is_finite() && p.1.is_finite()) {
            svg.start("circle").attr("class", "open").num("cx", frame.at_x(*px)).num("cy", frame.at_y(*py));
            svg.num("r", 2.6).end();
        }
        for curve in &panel.curves {
            frame.curve(&mut svg, if curve.dashed { "line second" } else { "line" }, &curve.points);
        }
        names(&mut svg, &frame, &panel.curves);
    }
    svg.finish()
}

/// Names of curves at their right ends: the highest end above its curve, each next one below the one before.
fn names(svg: &mut crate::svg::Svg, frame: &Frame, curves: &[Curve]) {
    let mut ends: Vec<(f64, f64, &str)> = curves
        .iter()
        .filter(|c| !c.name.is_empty())
        .filter_map(|c| c.points.iter().rev().find(|p| p.0.is_finite() && p.1.is_finite()).map(|p| (c, p)))
        .map(|(c, p)| (frame.at_x(p.0), frame.at_y(p.1), c.name.as_str()))
        .collect();
    ends.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut free = frame.top + TEXT;
    for (k, (x, y, name)) in ends.into_iter().enumerate() {
        // Above its end, where there is room; the others go below theirs.
        let wanted = if k == 0 && y - 8.0 > free { y - 8.0 } else { y + 18.0 };
        let at = wanted.max(free).min(frame.bottom() - 5.0);
        svg.label("value end", x.min(frame.right()) - 3.0, at, name);
        free = at + TEXT + 4.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(name: &str, end: f64) -> Curve {
        let points =
            (0..40).map(|i| (10f64.powf(f64::from(i) / 5.0 - 6.0), end * f64::from(i) / 39.0)).collect();
        Curve { name: name.into(), dashed: false, points }
    }

    #[test]
    fn names_of_curves_that_end_together_stand_apart() {
        let panel = Panel {
            y: "Zth, K/W".into(),
            curves: vec![curve("dry", 1.0), curve("greased", 0.99), curve("third", 0.98)],
            ..Panel::default()
        };
        let chart = LogCurves {
            x: "time, s".into(),
            x_logarithmic: true,
            panels: vec![panel],
            ..LogCurves::default()
        };
        let words = Words { id: "zth", title: "t", description: "d" };
        let picture = log_curves(&words, &chart);
        let tree = roxmltree::Document::parse(&picture).unwrap();
        let named = |name: &str| -> f64 {
            let node = tree.descendants().find(|n| n.is_text() && n.text() == Some(name)).unwrap();
            node.parent().unwrap().attribute("y").unwrap().parse().unwrap()
        };
        assert!((named("dry") - named("greased")).abs() >= TEXT);
        assert!((named("greased") - named("third")).abs() >= TEXT);
        assert!(picture.contains("1e-6") && picture.contains("time, s"));
    }

    #[test]
    fn nothing_to_draw_is_drawn_as_nothing() {
        let words = Words { id: "none", title: "t", description: "d" };
        assert!(roxmltree::Document::parse(&log_curves(&words, &LogCurves::default())).is_ok());
        let wild = Panel {
            curves: vec![Curve { points: vec![(f64::NAN, 1.0), (0.0, f64::INFINITY)], ..curve("x", 1.0) }],
            y_logarithmic: true,
            ..Panel::default()
        };
        let chart = LogCurves { x_logarithmic: true, panels: vec![wild], ..LogCurves::default() };
        assert!(!log_curves(&words, &chart).contains("NaN"));
    }
}
