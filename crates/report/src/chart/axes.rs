//! Axes: how numbers become places, and the lines and labels that let a reader turn places back into numbers.

use super::TEXT;
use crate::number::{fixed, round_step, step_decimals, ticks};
use crate::svg::Svg;

/// The numbers of one axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Least number.
    pub low: f64,
    /// Largest number, above `low`.
    pub high: f64,
    /// True where equal steps are equal ratios.
    pub logarithmic: bool,
}

impl Span {
    /// From zero, or from the least number below it, to the largest, widened to round numbers. Numbers that are not
    /// finite are passed over.
    pub fn from_zero(values: impl IntoIterator<Item = f64>) -> Span {
        Span::around(values.into_iter().chain([0.0]))
    }

    /// From the least to the largest number, widened to round numbers; `0..1` where there is none.
    pub fn around(values: impl IntoIterator<Item = f64>) -> Span {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in values.into_iter().filter(|v| v.is_finite()) {
            (low, high) = (low.min(value), high.max(value));
        }
        if low > high {
            (low, high) = (0.0, 1.0);
        }
        if high - low < 1e-12 * high.abs().max(low.abs()).max(1e-300) {
            let room = if high == 0.0 { 1.0 } else { 0.1 * high.abs() };
            (low, high) = if low == 0.0 { (0.0, room) } else { (low - room, high + room) };
        }
        let step = round_step(high - low, 5.0);
        let span = |low: f64, high: f64| Span { low, high, logarithmic: false };
        span((low / step + 1e-9).floor() * step, (high / step - 1e-9).ceil() * step)
    }

    /// Whole decades around numbers above zero; `1..10` where there is none.
    pub fn decades(values: impl IntoIterator<Item = f64>) -> Span {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in values.into_iter().filter(|v| v.is_finite() && *v > 0.0) {
            (low, high) = (low.min(value), high.max(value));
        }
        if low > high {
            (low, high) = (1.0, 10.0);
        }
        let (a, mut b) = ((low.log10() + 1e-9).floor(), (high.log10() - 1e-9).ceil());
        if b <= a {
            b = a + 1.0;
        }
        Span { low: 10f64.powf(a), high: 10f64.powf(b), logarithmic: true }
    }

    /// Around numbers above zero for equal ratios, widened to 1, 2 or 5 times a power of ten; `1..10` where there is none.
    pub fn ratios(values: impl IntoIterator<Item = f64>) -> Span {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in values.into_iter().filter(|v| v.is_finite() && *v > 0.0) {
            (low, high) = (low.min(value), high.max(value));
        }
        if low > high {
            (low, high) = (1.0, 10.0);
        }
        let rounds = rounds(low / 10.0, high * 10.0);
        let below = rounds.iter().rfind(|r| **r <= low * (1.0 + 1e-9));
        let above = rounds.iter().find(|r| **r >= high * (1.0 - 1e-9) && **r > low * (1.0 + 1e-6));
        Span { low: *below.unwrap_or(&low), high: *above.unwrap_or(&high), logarithmic: true }
    }

    /// Where a number lies, 0 at `low` to 1 at `high`, held to that range.
    pub fn share(&self, value: f64) -> f64 {
        let share = if self.logarithmic {
            (value.max(1e-300) / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        };
        if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 }
    }

    /// Round numbers to be written on the axis, with their text.
    pub fn marks(&self, most: f64) -> Vec<(f64, String)> {
        if !self.logarithmic {
            let step = round_step(self.high - self.low, most);
            let decimals = step_decimals(step);
            return ticks(self.low, self.high, step).into_iter().map(|t| (t, fixed(t, decimals))).collect();
        }
        // Over few decades every round number, else powers of ten.
        let rounds = rounds(self.low, self.high);
        if rounds.len() as f64 <= most + 1.0 {
            return rounds.into_iter().map(|r| (r, fixed(r, step_decimals(r)))).collect();
        }
        let (a, b) = ((self.low.log10() - 1e-9).ceil() as i32, (self.high.log10() + 1e-9).floor() as i32);
        let every = (f64::from(b - a) / most).ceil().max(1.0) as usize;
        (a..=b).step_by(every).map(|e| (10f64.powi(e), power(e))).collect()
    }
}

/// 1, 2 and 5 times the powers of ten from `low` to `high`, both above zero.
fn rounds(low: f64, high: f64) -> Vec<f64> {
    let (from, to) = (low.log10().floor() as i32, high.log10().ceil() as i32);
    let all = (from..=to).flat_map(|e| [1.0, 2.0, 5.0].map(|m| m * 10f64.powi(e)));
    all.filter(|r| *r >= low * (1.0 - 1e-9) && *r <= high * (1.0 + 1e-9)).collect()
}

/// A power of ten as text: plain between a thousandth and a million.
fn power(exponent: i32) -> String {
    match exponent {
        -3..=-1 => fixed(10f64.powi(exponent), 3),
        0..=6 => fixed(10f64.powi(exponent), 0),
        _ => format!("1e{exponent}"),
    }
}

/// The field that a chart is drawn in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Left edge, picture units.
    pub left: f64,
    /// Upper edge.
    pub top: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// Numbers to the right.
    pub x: Span,
    /// Numbers upward.
    pub y: Span,
}

impl Frame {
    /// The place of a number in x.
    pub fn at_x(&self, value: f64) -> f64 {
        self.left + self.width * self.x.share(value)
    }

    /// The place of a number in y.
    pub fn at_y(&self, value: f64) -> f64 {
        self.top + self.height * (1.0 - self.y.share(value))
    }

    /// Lower edge.
    pub fn bottom(&self) -> f64 {
        self.top + self.height
    }

    /// Right edge.
    pub fn right(&self) -> f64 {
        self.left + self.width
    }

    /// Grid, numbers and the name of the axis in x, below.
    pub fn draw_x(&self, svg: &mut Svg, name: &str) {
        for (value, text) in self.x.marks((self.width / 70.0).max(2.0)) {
            let x = self.at_x(value);
            svg.line("grid", (x, self.top), (x, self.bottom()));
            svg.label("tick mid", x, self.bottom() + 17.0, &text);
        }
        svg.label("axis mid", self.left + self.width / 2.0, self.bottom() + 36.0, name);
    }

    /// Grid, numbers and the name of the axis in y; the name stands above, level, at the left edge.
    pub fn draw_y(&self, svg: &mut Svg, name: &str) {
        for (value, text) in self.y.marks((self.height / 40.0).max(2.0)) {
            let y = self.at_y(value);
            svg.line("grid", (self.left, y), (self.right(), y));
            svg.label("tick end", self.left - 7.0, y + 4.5, &text);
        }
        svg.label("axis", (self.left - 44.0).max(2.0), self.top - TEXT, name);
    }

    /// The line of zero, where zero is inside.
    pub fn zero_line(&self, svg: &mut Svg) {
        if !self.y.logarithmic && self.y.low < 0.0 && self.y.high > 0.0 {
            let y = self.at_y(0.0);
            svg.line("zero", (self.left, y), (self.right(), y));
        }
    }

    /// A line through points.
    pub fn curve(&self, svg: &mut Svg, class: &str, points: &[(f64, f64)]) {
        let d = self.path(points);
        if !d.is_empty() {
            svg.start("path").attr("class", class).attr("d", d).end();
        }
    }

    /// The path data of points; points that are not finite are passed over.
    pub fn path(&self, points: &[(f64, f64)]) -> String {
        let mut d = String::new();
        for (x, y) in points.iter().filter(|p| p.0.is_finite() && p.1.is_finite()) {
            d.push_str(if d.is_empty() { "M" } else { "L" });
            d.push_str(&format!("{} {}", fixed(self.at_x(*x), 1), fixed(self.at_y(*y), 1)));
        }
        d
    }

    /// A requirement across the whole width, named at its right end above the line, or below it near the upper edge.
    pub fn limit_y(&self, svg: &mut Svg, value: f64, name: &str) {
        let y = self.at_y(value);
        svg.line("limit", (self.left, y), (self.right(), y));
        let at = if y - self.top < 18.0 { y + 15.0 } else { y - 5.0 };
        svg.label("limit-name end", self.right() - 3.0, at, name);
    }

    /// A moment or place marked from top to bottom with its name beside it, `row` lines below the upper edge.
    pub fn mark_x(&self, svg: &mut Svg, value: f64, name: &str, row: usize) {
        let x = self.at_x(value);
        svg.line("limit", (x, self.top), (x, self.bottom()));
        let y = self.top + 14.0 + 16.0 * row as f64;
        let room = crate::typography::width(name, TEXT);
        if x + 6.0 + room < self.right() {
            svg.label("limit-name", x + 5.0, y, name);
        } else {
            svg.label("limit-name end", x - 5.0, y, name);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_are_round_and_hold_their_numbers() {
        let span = Span::from_zero([3.2, 17.4, f64::NAN]);
        assert_eq!((span.low, span.high), (0.0, 20.0));
        let span = Span::around([-132.0, 88.0]);
        assert_eq!((span.low, span.high), (-150.0, 100.0));
        let span = Span::decades([0.02, 300.0]);
        assert!((span.low - 0.01).abs() < 1e-12 && (span.high - 1000.0).abs() < 1e-9);
        assert_eq!(span.marks(10.0).len(), 6);
        let span = Span::ratios([3200.0, 4640.0]);
        assert_eq!((span.low, span.high), (2000.0, 5000.0));
        let marks: Vec<String> = span.marks(6.0).into_iter().map(|m| m.1).collect();
        assert_eq!(marks, ["2000", "5000"]);
        assert_eq!(Span::ratios([]).marks(6.0).len(), 4);
        // One number alone has room to its right.
        let span = Span::ratios([500.0]);
        assert!(span.low == 500.0 && span.high == 1000.0);
    }

    #[test]
    fn wild_numbers_make_no_wild_places() {
        for span in [
            Span::around([]),
            Span::around([f64::NAN]),
            Span::from_zero([0.0]),
            Span::decades([-1.0]),
            Span::ratios([0.0]),
        ] {
            for value in [f64::NAN, f64::INFINITY, -1e300, 0.0, 1e300] {
                assert!((0.0..=1.0).contains(&span.share(value)), "{span:?} {value}");
            }
            assert!(!span.marks(5.0).is_empty() && span.marks(5.0).len() < 20);
        }
    }
}
