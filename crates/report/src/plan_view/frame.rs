//! The frame around the plan: where it lies on the page, axes in millimetres, scale bar, corner words.

use facedown_layout::{Drawing, Point};

use super::options::{PlanOptions, View};
use crate::number::{fixed, round_step, step_decimals, ticks};
use crate::svg::Svg;
use crate::typography::wrap;

/// Height of the strip of axis figures under the plan, in pixels.
const AXIS: f64 = 40.0;

/// Place and scale of the plan on the page.
#[derive(Debug, Clone)]
pub(super) struct Frame {
    /// Left, top, width, height of the plan with its margins, in pixels.
    pub left: f64,
    pub top: f64,
    pub width: f64,
    pub height: f64,
    /// Pixels for a micrometre.
    pub scale: f64,
    /// Margins about the die in pixels, as seen: left, right, bottom, top.
    pub margin: [f64; 4],
    view: View,
    /// Die size, micrometres.
    die: (f64, f64),
    /// Where the axes read zero, as seen, micrometres.
    zero: (f64, f64),
}

impl Frame {
    /// Fits the die with `margins` (left, right, bottom, top in die coordinates, pixels) into a width and a
    /// greatest height.
    pub fn fit(
        drawing: &Drawing,
        options: &PlanOptions,
        margins: [f64; 4],
        corner: (f64, f64),
        width: f64,
        tallest: f64,
    ) -> Frame {
        let [l, r, b, t] = margins;
        let mirrored = options.view == View::DieFaceDown;
        let margin = if mirrored { [r, l, b, t] } else { margins };
        // A die without extent is drawn as a speck rather than dividing by zero.
        let die = (drawing.width.um().max(1e-3), drawing.height.um().max(1e-3));
        let scale = ((width - l - r).max(40.0) / die.0).min((tallest - b - t).max(40.0) / die.1);
        let corner_seen =
            Point::new(if mirrored { drawing.width } else { Default::default() }, Default::default());
        let zero = options.origin.unwrap_or(corner_seen);
        let mut frame = Frame {
            left: corner.0,
            top: corner.1,
            width,
            height: die.1 * scale + b + t,
            scale,
            margin,
            view: options.view,
            die,
            zero: (0.0, 0.0),
        };
        frame.zero = frame.seen(zero.x.um(), zero.y.um());
        // A tall die leaves room at its sides; it is shared so that the die stands in the middle.
        let spare = (width - l - r - die.0 * scale).max(0.0) / 2.0;
        frame.margin[0] += spare;
        frame.margin[1] += spare;
        frame
    }

    /// Die coordinates as seen: x to the right, y down, micrometres.
    pub fn seen(&self, x: f64, y: f64) -> (f64, f64) {
        (if self.view == View::DieFaceDown { -x } else { x }, -y)
    }

    /// The die as seen, micrometres: left, right, top, bottom.
    pub fn die_edges(&self) -> [f64; 4] {
        let left = if self.view == View::DieFaceDown { -self.die.0 } else { 0.0 };
        [left, left + self.die.0, -self.die.1, 0.0]
    }

    /// The group transform from die coordinates to those seen.
    pub fn transform(&self) -> &'static str {
        match self.view {
            View::DieFaceUp => "scale(1,-1)",
            View::DieFaceDown => "scale(-1,-1)",
        }
    }

    /// The `viewBox` of the plan, micrometres as seen.
    pub fn view_box(&self) -> String {
        let [left, _, top, _] = self.die_edges();
        let x = left - self.margin[0] / self.scale;
        let y = top - self.margin[3] / self.scale;
        format!(
            "{} {} {} {}",
            fixed(x, 3),
            fixed(y, 3),
            fixed(self.width / self.scale, 3),
            fixed(self.height / self.scale, 3)
        )
    }

    /// Page position of a point as seen.
    fn page(&self, x: f64, y: f64) -> (f64, f64) {
        let [left, _, top, _] = self.die_edges();
        (
            self.left + self.margin[0] + (x - left) * self.scale,
            self.top + self.margin[3] + (y - top) * self.scale,
        )
    }

    /// Page position of the die's left edge, pixels.
    pub fn die_left(&self) -> f64 {
        self.left + self.margin[0]
    }

    /// Draws axes, corner words and scale bar; returns the height used below the plan, in pixels.
    pub fn draw(&self, svg: &mut Svg) -> f64 {
        let bottom = self.top + self.height;
        let [left, right, top, low] = self.die_edges();
        let (zero_x, zero_y) = self.zero;
        // What the script needs to draw the same axes after a zoom.
        svg.start("g").attr("class", "axes");
        svg.attr("data-die", [left, right, top, low].map(|v| fixed(v, 3)).join(" "));
        svg.attr("data-zero", format!("{} {}", fixed(zero_x, 3), fixed(zero_y, 3)));
        let step = round_step(
            self.die.0.max(self.die.1) / 1e3,
            (self.die.0.max(self.die.1) * self.scale / 64.0).max(2.0),
        );
        let decimals = step_decimals(step);
        svg.start("g").attr("class", "tx");
        let line_y = bottom + 6.0;
        svg.line("ax", (self.page(left, 0.0).0, line_y), (self.page(right, 0.0).0, line_y));
        for value in ticks((left - zero_x) / 1e3, (right - zero_x) / 1e3, step) {
            let x = self.page(zero_x + value * 1e3, 0.0).0;
            svg.line("ax", (x, line_y), (x, line_y + 4.0));
            svg.label("tk mid", x, line_y + 16.0, &format!("{:.decimals$}", value + 0.0));
        }
        svg.end();
        svg.start("g").attr("class", "ty");
        let line_x = self.left - 6.0;
        svg.line("ax", (line_x, self.page(0.0, low).1), (line_x, self.page(0.0, top).1));
        for value in ticks((zero_y - low) / 1e3, (zero_y - top) / 1e3, step) {
            let y = self.page(0.0, zero_y - value * 1e3).1;
            svg.line("ax", (line_x, y), (line_x - 4.0, y));
            svg.label("tk end", line_x - 7.0, y + 3.5, &format!("{:.decimals$}", value + 0.0));
        }
        svg.end();
        svg.label("tk end", self.page(right, 0.0).0, line_y + 30.0, "x, mm");
        svg.label("tk end", line_x + 2.0, self.top - 5.0, "y, mm");
        svg.end();
        let stacked = self.width < 500.0;
        let words_y = bottom + AXIS + 22.0;
        let words_end = self.corner_words(svg, words_y, stacked);
        let bar_y = if stacked { words_end + 32.0 } else { words_y };
        self.scale_bar(svg, bar_y, stacked);
        bar_y.max(words_end) + 12.0 - bottom
    }

    /// A small die from the side with its bumps up or down, and the words; returns the y of their last line.
    fn corner_words(&self, svg: &mut Svg, y: f64, stacked: bool) -> f64 {
        let x = if stacked { self.left } else { self.die_left() };
        let up = self.view == View::DieFaceUp;
        let (die_y, bump_y) = if up { (y - 4.0, y - 6.0) } else { (y - 10.0, y - 2.0) };
        svg.start("g").attr("class", "face");
        for i in 0..4 {
            svg.start("circle")
                .attr("class", "k-b")
                .num("cx", x + 4.0 + 6.0 * f64::from(i))
                .num("cy", bump_y);
            svg.num("r", 2.0).end();
        }
        svg.start("rect")
            .attr("class", "k-si")
            .num("x", x)
            .num("y", die_y)
            .num("width", 26.0)
            .num("height", 6.0)
            .end();
        svg.end();
        let room = self.left + self.width - x - 36.0;
        let mut below = y;
        for words in [Some(self.view.words()), self.view.frame_words()].into_iter().flatten() {
            for line in wrap(words, 12.0, room) {
                svg.label("words", x + 36.0, below, &line);
                below += 16.0;
            }
        }
        below - 16.0
    }

    /// A bar of a round length, at most 150 pixels.
    fn scale_bar(&self, svg: &mut Svg, y: f64, at_left: bool) {
        let most_mm = 150.0 / self.scale / 1e3;
        let step = round_step(most_mm, 1.0);
        // The step is the least round length not below; one size down always fits.
        let length_mm = if step > most_mm { round_down(step) } else { step };
        let pixels = length_mm * 1e3 * self.scale;
        let right = if at_left { self.left + pixels } else { self.page(self.die_edges()[1], 0.0).0 };
        svg.start("g").attr("class", "bar").num("data-right", right).num("data-y", y);
        let words = if length_mm < 0.1 {
            format!("{} um", fixed(length_mm * 1e3, 3))
        } else {
            format!("{} mm", fixed(length_mm, 3))
        };
        let d = format!("M{} {}v5H{}v-5", fixed(right - pixels, 2), fixed(y - 5.0, 2), fixed(right, 2));
        svg.start("path").attr("class", "sb").attr("d", d).end();
        svg.label("words mid", right - pixels / 2.0, y - 5.0, &words);
        svg.end();
    }
}

/// The next smaller round length: 1, 2, 5 times a power of ten.
fn round_down(step: f64) -> f64 {
    let decade = 10f64.powi((step.log10() + 1e-9).floor() as i32);
    match (step / decade).round() as i32 {
        5 => 2.0 * decade,
        2 => decade,
        _ => 0.5 * decade,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_lengths_step_down() {
        for (from, to) in [(1.0, 0.5), (0.5, 0.2), (0.2, 0.1), (10.0, 5.0)] {
            assert!((round_down(from) - to).abs() < 1e-12);
        }
    }
}
