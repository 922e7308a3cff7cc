//! A finished life test as a Weibull plot: failures at their median ranks, the fitted line with the band of its bounds,
//! units that still ran along the axis, and what the mission asks for.

use super::axes::{Frame, Span};
use super::weibull::{draw_shares, place};
use super::{HALF, TEXT, Words, open};
use crate::number::{fixed, significant};
use crate::svg::Svg;
use crate::typography;

/// The plot. Lives are in cycles of the test, shares from 0 to 1.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LifeTest {
    /// Name of the axis to the right.
    pub axis: String,
    /// Failures: life and share failed.
    pub failures: Vec<(f64, f64)>,
    /// Lives of units that still ran.
    pub running: Vec<f64>,
    /// Shape and characteristic life of the line.
    pub line: Option<(f64, f64)>,
    /// True where the line is fitted, false where it only bounds the life from below.
    pub fitted: bool,
    /// Name of the line.
    pub name: String,
    /// Share failed, and the bounds of the life at it.
    pub band: Vec<(f64, (f64, f64))>,
    /// The share that may fail, and its name.
    pub asked: Option<(f64, String)>,
    /// Bounds of the life at the asked share.
    pub life_between: Option<(f64, f64)>,
    /// Least and most test cycles that stand for the mission.
    pub mission: Option<(f64, f64)>,
}

/// Share at the upper edge.
const MOST: f64 = 0.99;

/// Draws it.
pub fn life_test(words: &Words<'_>, plot: &LifeTest) -> String {
    let height = 400.0;
    let mut svg = open(words, HALF, height);
    let least = plot.failures.first().map_or(0.1, |f| f.1).min(plot.asked.as_ref().map_or(1.0, |a| a.0));
    let low = (0.5 * least).clamp(1e-6, 0.05);
    let frame = Frame {
        left: 66.0,
        top: 34.0,
        width: HALF - 66.0 - 18.0,
        height: height - 34.0 - 52.0,
        x: Span::ratios(lives(plot, low)),
        y: Span { low: place(low), high: place(MOST), logarithmic: false },
    };
    if let Some((from, to)) = plot.mission {
        let (a, b) = (frame.at_x(from), frame.at_x(to).max(frame.at_x(from) + 1.5));
        svg.start("rect").attr("class", "asked").num("x", a).num("y", frame.top).num("width", b - a);
        svg.num("height", frame.height).end();
    }
    band(&mut svg, &frame, plot);
    frame.draw_x(&mut svg, &plot.axis);
    draw_shares(&mut svg, &frame, low);
    if let Some((share, name)) = &plot.asked {
        frame.limit_y(&mut svg, place(*share), name);
    }
    line(&mut svg, &frame, plot);
    if let (Some((share, _)), Some((from, to))) = (&plot.asked, plot.life_between) {
        let y = frame.at_y(place(*share));
        let (a, b) = (frame.at_x(from), frame.at_x(to));
        svg.line("whisker", (a, y), (b, y));
        for x in [a, b] {
            svg.line("whisker", (x, y - 6.0), (x, y + 6.0));
        }
    }
    for (life, share) in &plot.failures {
        svg.start("circle").attr("class", "knot").num("cx", frame.at_x(*life));
        svg.num("cy", frame.at_y(place(*share))).num("r", 5.0).end();
    }
    running(&mut svg, &frame, &plot.running);
    names(&mut svg, &frame, plot);
    svg.finish()
}

/// All lives that must find room: what was seen, what is asked, and the line within what is drawn.
fn lives(plot: &LifeTest, low: f64) -> Vec<f64> {
    let seen = plot.failures.iter().map(|f| f.0).chain(plot.running.iter().copied());
    let asked = plot.mission.iter().chain(&plot.life_between).flat_map(|&(a, b)| [a, b]);
    let shares = [plot.asked.as_ref().map_or(low, |a| a.0), 0.632];
    let on_line = plot.line.iter().flat_map(|&(shape, scale)| shares.map(|s| quantile(shape, scale, s)));
    seen.chain(asked).chain(on_line).collect()
}

fn quantile(shape: f64, scale: f64, share: f64) -> f64 {
    scale * (place(share) / shape).exp()
}

/// Part of a course from share to life that lies inside the frame; places between are straight on these axes.
fn inside(frame: &Frame, course: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let (low, high) = (frame.x.low, frame.x.high);
    let all: Vec<(f64, f64)> = course.map(|(share, life)| (place(share), life.ln())).collect();
    let mut kept: Vec<(f64, f64)> = Vec::new();
    let holds =
        |p: &(f64, f64)| (low.ln()..=high.ln()).contains(&p.1) && (frame.y.low..=frame.y.high).contains(&p.0);
    for w in all.windows(2) {
        // Fine enough that an end at the edge is seen there.
        for k in 0..=40 {
            let t = f64::from(k) / 40.0;
            let at = (w[0].0 + t * (w[1].0 - w[0].0), w[0].1 + t * (w[1].1 - w[0].1));
            let corner = k == 0 || k == 40;
            let leaves = kept.last().is_some_and(|last: &(f64, f64)| holds(last)) != holds(&at);
            if holds(&at) && (corner || leaves || kept.is_empty()) {
                kept.push(at);
            } else if holds(&at) {
                // The last place inside so far.
                let next =
                    (w[0].0 + (t + 0.025) * (w[1].0 - w[0].0), w[0].1 + (t + 0.025) * (w[1].1 - w[0].1));
                if !holds(&next) {
                    kept.push(at);
                }
            }
        }
    }
    kept.into_iter().map(|(y, x)| (x.exp(), y)).collect()
}

fn band(svg: &mut Svg, frame: &Frame, plot: &LifeTest) {
    let mut edge = inside(frame, plot.band.iter().map(|(share, (low, _))| (*share, *low)));
    let mut back = inside(frame, plot.band.iter().map(|(share, (_, high))| (*share, *high)));
    if edge.len() < 2 || back.len() < 2 {
        return;
    }
    // Where one edge leaves at the side and the other above or below, the corner of the frame belongs to the band.
    let corner = |one: (f64, f64), other: (f64, f64)| {
        let low = (one.1.min(other.1) - frame.y.low).abs() < (one.1.max(other.1) - frame.y.high).abs();
        (if low { frame.x.low } else { frame.x.high }, if low { frame.y.low } else { frame.y.high })
    };
    let apart = |a: f64, b: f64| (a - b).abs() > 0.02 * (frame.y.high - frame.y.low);
    let (first, last) = (edge[0], edge[edge.len() - 1]);
    let (below, above) = (back[0], back[back.len() - 1]);
    if apart(last.1, above.1) {
        edge.push(corner(last, above));
    }
    back.reverse();
    if apart(first.1, below.1) {
        back.push(corner(first, below));
    }
    edge.extend(back);
    let d = frame.path(&edge);
    svg.start("path").attr("class", "spread").attr("d", format!("{d}Z")).end();
}

fn line(svg: &mut Svg, frame: &Frame, plot: &LifeTest) {
    let Some((shape, scale)) = plot.line else { return };
    let (low, high) = (frame.y.low, frame.y.high);
    let shares = (0..=64).map(|k| {
        let at = low + (high - low) * f64::from(k) / 64.0;
        -(-at.exp()).exp_m1()
    });
    let course = inside(frame, shares.map(|s| (s, quantile(shape, scale, s))));
    frame.curve(svg, if plot.fitted { "line" } else { "line second" }, &course);
}

/// Units that still ran: a mark on the lower edge that points to longer lives, with the number of units over it.
fn running(svg: &mut Svg, frame: &Frame, lives: &[f64]) {
    let y = frame.bottom() - 9.0;
    let mut after = f64::NEG_INFINITY;
    for group in lives.chunk_by(|a, b| frame.at_x(*b) - frame.at_x(*a) < 0.5) {
        let x = frame.at_x(group[0]);
        let d = format!("M{0} {1}l10 5l-10 5Z", fixed(x, 1), fixed(y - 5.0, 1));
        svg.start("path").attr("class", "knot open").attr("d", d).end();
        let text = group.len().to_string();
        let half = typography::width(&text, 12.0) / 2.0;
        // Where marks crowd, the numbers that would lie on each other are left out.
        if x - half > after {
            svg.label("tick mid name", x, y - 9.0, &text);
            after = x + half + 3.0;
        }
    }
}

/// The names of line and mission, where there is room for them: above to the left, away from a line that rises to the
/// right.
fn names(svg: &mut Svg, frame: &Frame, plot: &LifeTest) {
    let mut y = frame.top + 17.0;
    let x = frame.left + 8.0;
    let mut tell = |svg: &mut Svg, class: &str, text: &str| {
        svg.label(class, x, y, text);
        y += TEXT + 5.0;
    };
    if !plot.name.is_empty() {
        tell(svg, "value", &plot.name);
    }
    if let Some((from, to)) = plot.mission {
        let (from, to) = (significant(from, 3), significant(to, 3));
        let span = if from == to { from } else { format!("{from} to {to}") };
        tell(svg, "limit-name", &format!("shaded: the mission, {span} cycles"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plot() -> LifeTest {
        LifeTest {
            axis: "cycles".into(),
            failures: vec![(3200.0, 0.1), (4100.0, 0.25), (4600.0, 0.4)],
            running: vec![4640.0; 4],
            line: Some((6.0, 5200.0)),
            fitted: true,
            name: "fit".into(),
            band: vec![(0.001, (400.0, 2400.0)), (0.1, (2300.0, 4000.0)), (0.995, (5200.0, 13e3))],
            asked: Some((0.01, "asked".into())),
            life_between: Some((1100.0, 3000.0)),
            mission: Some((800.0, 1200.0)),
        }
    }

    #[test]
    fn everything_lies_inside_the_frame() {
        let words = Words { id: "x", title: "t", description: "d" };
        let text = life_test(&words, &plot());
        assert_eq!(text.matches("class=\"knot\"").count(), 3);
        assert_eq!(text.matches("class=\"knot open\"").count(), 1);
        assert!(text.contains(">4</text>") && text.contains("class=\"spread\""), "{text}");
        assert!(text.contains("class=\"line\""));
        for path in text.split(" d=\"").skip(1).filter_map(|p| p.split('"').next()) {
            for number in path.split(['M', 'L', 'l', 'Z', ' ']).filter_map(|n| n.parse::<f64>().ok()) {
                assert!((-10.0..=HALF).contains(&number), "{path}");
            }
        }
    }

    #[test]
    fn a_line_leaves_the_frame_at_its_edge() {
        let frame = Frame {
            left: 0.0,
            top: 0.0,
            width: 100.0,
            height: 100.0,
            x: Span { low: 10.0, high: 1000.0, logarithmic: true },
            y: Span { low: place(0.01), high: place(0.99), logarithmic: false },
        };
        // From far left to far right of the frame.
        let kept = inside(&frame, [(0.02, 1.0), (0.98, 1e5)].into_iter());
        let (first, last) = (kept[0], kept[kept.len() - 1]);
        assert!((10.0..14.0).contains(&first.0) && (750.0..=1000.0).contains(&last.0), "{kept:?}");
        assert!(inside(&frame, [(0.02, 1.0), (0.98, 2.0)].into_iter()).is_empty());
    }

    #[test]
    fn nothing_seen_makes_a_picture_all_the_same() {
        let words = Words { id: "x", title: "t", description: "d" };
        let text = life_test(&words, &LifeTest { running: vec![500.0; 3], ..LifeTest::default() });
        assert!(text.contains(">3</text>") && !text.contains("NaN"));
    }
}
