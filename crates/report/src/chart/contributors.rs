//! What a figure's spread comes from: for each figure the tolerances that move it most, as shares of its variance.

use super::{FULL, Words, open};
use crate::number::significant;
use crate::typography::shorten;

/// A figure with its contributors.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// Figure with value and one standard deviation, in words.
    pub figure: String,
    /// Quantity as written, share of the variance (0 to 1), and change for one standard deviation in words.
    pub by: Vec<(String, f64, String)>,
}

/// Draws up to three bars a figure.
pub fn contributors(words: &Words<'_>, figures: &[Moved]) -> String {
    let (row, head, left) = (24.0, 32.0, 430.0);
    let rows: usize = figures.iter().map(|f| f.by.len().min(3)).sum();
    let height = 12.0 + head * figures.len() as f64 + row * rows as f64;
    let mut svg = open(words, FULL, height);
    let mut y = 6.0;
    let full = 360.0;
    for figure in figures {
        svg.label("head", 4.0, y + 21.0, &figure.figure);
        y += head;
        for (quantity, share, change) in figure.by.iter().take(3) {
            let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 };
            svg.label("text end", left - 10.0, y + 16.5, &shorten(quantity, super::TEXT, left - 16.0));
            svg.start("rect").attr("class", "track").num("x", left).num("y", y + 5.0).num("width", full);
            svg.num("height", 14.0).end();
            svg.start("rect")
                .attr("class", "bar")
                .num("x", left)
                .num("y", y + 5.0)
                .num("width", full * share);
            svg.num("height", 14.0).end();
            let text = format!("{} %  ({change})", significant(100.0 * share, 2));
            svg.label("value", left + full + 9.0, y + 16.5, &text);
            y += row;
        }
    }
    svg.finish()
}
