//! The few pieces that every part of the page is put together from: headings, paragraphs, figures, tables.

use crate::svg::Svg;
use crate::verdict::{self, Verdict};

/// A heading.
pub fn heading(out: &mut Svg, rank: &'static str, text: &str) {
    out.start(rank).text(text).end();
}

/// A paragraph with a style class, or none.
pub fn paragraph(out: &mut Svg, class: &str, text: &str) {
    out.start("p");
    if !class.is_empty() {
        out.attr("class", class);
    }
    out.text(text).end();
}

/// Sentences as a list; nothing where there are none. A sentence that comes again is written once.
pub fn list<'a>(out: &mut Svg, sentences: impl IntoIterator<Item = &'a str>) {
    let mut told: Vec<&str> = Vec::new();
    for sentence in sentences {
        if !told.contains(&sentence) {
            told.push(sentence);
        }
    }
    if told.is_empty() {
        return;
    }
    out.start("ul").attr("class", "notes");
    for sentence in told {
        out.start("li").text(sentence).end();
    }
    out.end();
}

/// A picture with its caption. Where the page is too narrow it is scrolled sideways, with the keyboard too.
pub fn figure(out: &mut Svg, name: &str, svg: &str, caption: &str) {
    out.start("figure");
    scroll(out, name);
    out.raw("\n").raw(svg.trim_end());
    out.end();
    out.start("figcaption").text(caption).end();
    out.end();
}

/// A picture made of pixels, with words for who cannot see it.
pub fn picture(
    out: &mut Svg,
    name: &str,
    source: &str,
    [wide, high]: [usize; 2],
    words: &str,
    caption: &str,
) {
    out.start("figure");
    scroll(out, name);
    out.start("img").attr("src", source).attr("width", wide).attr("height", high).attr("alt", words).end();
    out.end();
    out.start("figcaption").text(caption).end();
    out.end();
}

/// Opens a box that scrolls sideways; the caller ends it.
fn scroll(out: &mut Svg, name: &str) {
    out.start("div").attr("class", "scroll").attr("tabindex", 0).attr("role", "group");
    out.attr("aria-label", name);
}

/// A cell of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// Words.
    Text(String),
    /// A number with its unit, set to the right.
    Number(String),
    /// A verdict with its mark.
    Verdict(Verdict),
    /// Markup, for pictures.
    Markup(String),
}

impl Cell {
    /// Words.
    pub fn text(text: impl Into<String>) -> Cell {
        Cell::Text(text.into())
    }

    /// A number.
    pub fn number(text: impl Into<String>) -> Cell {
        Cell::Number(text.into())
    }
}

/// A table: the first cell of a row is its header.
pub fn table(out: &mut Svg, caption: &str, columns: &[&str], rows: &[Vec<Cell>]) {
    scroll(out, caption);
    out.start("table").start("caption").text(caption).end();
    out.start("thead").start("tr");
    for (index, column) in columns.iter().enumerate() {
        out.start("th").attr("scope", "col");
        if rows.iter().any(|row| matches!(row.get(index), Some(Cell::Number(_)))) {
            out.attr("class", "num");
        }
        out.text(column).end();
    }
    out.end().end().start("tbody");
    for row in rows {
        out.start("tr");
        for (index, cell) in row.iter().enumerate() {
            if index == 0 {
                out.start("th").attr("scope", "row");
            } else {
                out.start("td");
            }
            match cell {
                Cell::Text(text) => out.text(text),
                Cell::Number(text) => out.attr("class", "num").text(text),
                Cell::Verdict(verdict) => word(out, *verdict),
                Cell::Markup(markup) => out.raw(markup),
            };
            out.end();
        }
        out.end();
    }
    out.end().end().end();
}

/// Mark and word of a verdict.
pub fn word(out: &mut Svg, verdict: Verdict) -> &mut Svg {
    let class = match verdict {
        Verdict::Meets => "verdict meets",
        Verdict::Short => "verdict short",
        Verdict::NotJudged => "verdict none",
    };
    out.start("span").attr("class", class);
    out.start("svg")
        .attr("class", "mark")
        .attr("viewBox", "0 0 14 14")
        .num("width", 14.0)
        .num("height", 14.0);
    out.attr("aria-hidden", "true").attr("focusable", "false");
    verdict::mark(out, verdict, 7.0, 7.0, 10.0);
    out.end();
    out.text(&format!(" {}", verdict.words())).end()
}

/// A figure's name in words (`fill time`).
pub fn in_words(name: &str) -> String {
    name.replace('_', " ")
}

/// The same as the beginning of a sentence.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
