//! Marks of requirements: shape and word first, colour second, so that they read without colour.
//!
//! A filled disc meets, an open triangle is short, a dash is not judged. A margin bar sets a value against its
//! limit: a tick for the requirement, a bar to the value, a whisker for its spread.

use crate::number::fixed;
use crate::palette::Palette;
use crate::svg::Svg;

pub use facedown_pipeline::verdict::{Bound, Verdict};

/// The mark of a verdict as one character for a terminal. `plain` keeps to ASCII.
pub fn glyph(verdict: Verdict, plain: bool) -> char {
    match (verdict, plain) {
        (Verdict::Meets, false) => '●',
        (Verdict::Short, false) => '△',
        (Verdict::NotJudged, false) => '–',
        (Verdict::Meets, true) => '*',
        (Verdict::Short, true) => '^',
        (Verdict::NotJudged, true) => '-',
    }
}

/// Style class of a mark, see [`style`].
fn class(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Meets => "v-meets",
        Verdict::Short => "v-short",
        Verdict::NotJudged => "v-none",
    }
}

/// Style rules of marks and margin bars, each selector led by `scope` (for instance `#plan `).
pub fn style(scope: &str, palette: &Palette) -> String {
    let Palette { meets, short, not_judged, grid, ink, paper, .. } = palette;
    format!(
        "{scope}.v-meets{{fill:{meets};stroke:none}}{scope}.v-short{{fill:{paper};stroke:{short};stroke-width:1.8}}\
         {scope}.v-none{{fill:none;stroke:{not_judged};stroke-width:2}}\
         {scope}.m-track{{fill:{grid}}}{scope}.m-meets{{fill:{meets}}}{scope}.m-short{{fill:{short}}}\
         {scope}.m-tick{{fill:none;stroke:{ink};stroke-width:1.6}}{scope}.m-whisker{{fill:none;stroke:{ink};stroke-width:1}}"
    )
}

/// Draws a mark centred at a place; `size` is the diameter of the disc, in picture units.
pub fn mark(svg: &mut Svg, verdict: Verdict, x: f64, y: f64, size: f64) {
    let r = size / 2.0;
    match verdict {
        Verdict::Meets => {
            svg.start("circle").attr("class", class(verdict)).num("cx", x).num("cy", y).num("r", r).end();
        }
        Verdict::Short => {
            svg.start("path").attr("class", class(verdict)).attr("d", triangle(x, y, r)).end();
        }
        Verdict::NotJudged => svg_dash(svg, verdict, x, y, r),
    }
}

fn svg_dash(svg: &mut Svg, verdict: Verdict, x: f64, y: f64, r: f64) {
    svg.line(class(verdict), (x - r, y), (x + r, y));
}

/// An upright triangle about a point, as path text; its middle (not its centroid) sits on the point.
pub(crate) fn triangle(x: f64, y: f64, r: f64) -> String {
    let half = r * 1.12;
    format!(
        "M{} {}L{} {}H{}Z",
        fixed(x, 2),
        fixed(y - r, 2),
        fixed(x + half, 2),
        fixed(y + r * 0.92, 2),
        fixed(x - half, 2)
    )
}

/// A value set against its limit. All in one unit; the bar starts at zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarginBar {
    /// The value reached.
    pub value: f64,
    /// The requirement.
    pub limit: f64,
    /// Which side is right.
    pub sense: Bound,
    /// Half width of the spread or numerical error about the value.
    pub spread: Option<f64>,
}

impl MarginBar {
    /// Whether the value itself is on the right side; [`Verdict::NotJudged`] when a number is missing.
    pub fn verdict(&self) -> Verdict {
        if !(self.value.is_finite() && self.limit.is_finite()) {
            return Verdict::NotJudged;
        }
        let meets = match self.sense {
            Bound::AtMost => self.value <= self.limit,
            Bound::AtLeast => self.value >= self.limit,
            Bound::Within => self.value.abs() <= self.limit,
        };
        if meets { Verdict::Meets } else { Verdict::Short }
    }

    /// Draws the bar with its left end at `x`, centred on `y`, in picture units; nothing but the track when not
    /// judged. Values below zero grow to the left of the zero line.
    pub fn draw(&self, svg: &mut Svg, x: f64, y: f64, width: f64) {
        let thick = 6.0;
        svg.start("rect")
            .attr("class", "m-track")
            .num("x", x)
            .num("y", y - 0.5)
            .num("width", width)
            .num("height", 1.0);
        svg.end();
        let verdict = self.verdict();
        if verdict == Verdict::NotJudged {
            mark(svg, verdict, x + width / 2.0, y, 8.0);
            return;
        }
        let spread = self.spread.filter(|s| s.is_finite()).unwrap_or(0.0).abs();
        let value = if self.sense == Bound::Within { self.value.abs() } else { self.value };
        let low = (value - spread).min(self.limit).min(0.0);
        let high = (value + spread).max(self.limit).max(0.0);
        let room = if high > low { (high - low) * 1.08 } else { 1.0 };
        let at = |v: f64| x + (v - low) / room * width;
        let (left, right) = (at(value.min(0.0)), at(value.max(0.0)));
        let class = if verdict == Verdict::Meets { "m-meets" } else { "m-short" };
        svg.start("rect").attr("class", class).num("x", left).num("y", y - thick / 2.0);
        svg.num("width", right - left).num("height", thick).end();
        if spread > 0.0 {
            let (a, b) = (at(value - spread), at(value + spread));
            let d = format!("M{} {}v4m0-2H{}m0-2v4", fixed(a, 2), fixed(y - 2.0, 2), fixed(b, 2));
            svg.start("path").attr("class", "m-whisker").attr("d", d).end();
        }
        svg.line("m-tick", (at(self.limit), y - thick), (at(self.limit), y + thick));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use expect_test::expect;

    #[test]
    fn verdict_follows_the_side_of_the_limit() {
        let bar = |value, sense| MarginBar { value, limit: 1.06, sense, spread: None }.verdict();
        assert_eq!(bar(1.06, Bound::AtMost), Verdict::Meets);
        assert_eq!(bar(1.07, Bound::AtMost), Verdict::Short);
        assert_eq!(bar(1.05, Bound::AtLeast), Verdict::Short);
        assert_eq!(bar(f64::NAN, Bound::AtLeast), Verdict::NotJudged);
    }

    #[test]
    fn marks_differ_in_shape_not_only_in_colour() {
        let mut svg = Svg::new();
        for (i, v) in [Verdict::Meets, Verdict::Short, Verdict::NotJudged].into_iter().enumerate() {
            mark(&mut svg, v, 10.0 + 20.0 * i as f64, 10.0, 10.0);
        }
        expect![[r#"
            <circle class="v-meets" cx="10" cy="10" r="5"/>
            <path class="v-short" d="M30 5L35.6 14.6H24.4Z"/>
            <path class="v-none" d="M45 10L55 10"/>
        "#]]
        .assert_eq(&svg.finish());
    }

    #[test]
    fn a_margin_bar_has_tick_bar_and_whisker() {
        let mut svg = Svg::new();
        MarginBar { value: 0.5, limit: 1.0, sense: Bound::AtMost, spread: Some(0.1) }
            .draw(&mut svg, 0.0, 10.0, 108.0);
        expect![[r#"
            <rect class="m-track" x="0" y="9.5" width="108" height="1"/>
            <rect class="m-meets" x="0" y="7" width="50" height="6"/>
            <path class="m-whisker" d="M40 8v4m0-2H60m0-2v4"/>
            <path class="m-tick" d="M100 4L100 16"/>
        "#]]
        .assert_eq(&svg.finish());
    }
}
