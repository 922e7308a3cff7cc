//! Charts: few, large, honest. Axes with units, zero where zero matters, direct labels instead of legends, the
//! requirement as a line with its name.
//!
//! Each chart takes plain numbers and gives one SVG with a title and a description for those who cannot see it. Colours
//! come from classes that the page's style sheet binds to the palette, so that one picture serves light, dark and print.

pub mod axes;
pub mod bars;
pub mod contour;
pub mod contributors;
pub mod curve;
pub mod field_map;
pub mod joint;
pub mod life_line;
pub mod life_test;
pub mod log_curves;
mod map_marks;
pub mod section;
pub mod stages;
pub mod waterfall;
pub mod weibull;
pub mod window_map;

use crate::svg::Svg;

/// Font size of chart text, picture units.
pub const TEXT: f64 = 13.0;

/// Width of a chart that shares a row with another, picture units.
pub const HALF: f64 = 560.0;

/// Width of a chart that has a row to itself, picture units.
pub const FULL: f64 = 1080.0;

/// What a reader who cannot see the picture is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words<'a> {
    /// Identifier, unique in the page; letters, digits and dashes.
    pub id: &'a str,
    /// Short name of the picture.
    pub title: &'a str,
    /// What it shows, in sentences with the deciding numbers.
    pub description: &'a str,
}

/// Opens a chart of that size. It scales with the page and keeps its proportions.
pub fn open(words: &Words<'_>, width: f64, height: f64) -> Svg {
    let mut svg = Svg::new();
    let (title, description) = (format!("{}-title", words.id), format!("{}-desc", words.id));
    svg.start("svg").attr("xmlns", "http://www.w3.org/2000/svg").attr("class", "chart").attr("id", words.id);
    svg.attr(
        "viewBox",
        format!("0 0 {} {}", crate::number::fixed(width, 1), crate::number::fixed(height, 1)),
    );
    svg.num("width", width).num("height", height).attr("role", "img");
    svg.attr("aria-labelledby", format!("{title} {description}"));
    svg.start("title").attr("id", title).text(words.title).end();
    svg.start("desc").attr("id", description).text(words.description).end();
    svg
}
