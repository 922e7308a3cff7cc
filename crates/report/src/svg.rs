//! Writing SVG: elements that always close and text that is always escaped.
//!
//! A picture is text appended in one pass; there is no tree. [`Svg`] keeps the stack of open elements, so what
//! it writes is well formed whatever the caller passes as text.

use std::fmt::Display;
use std::fmt::Write;

use crate::number::fixed;

/// An SVG document in the making.
#[derive(Debug, Default)]
pub struct Svg {
    text: String,
    open: Vec<&'static str>,
    /// True while the last start tag still takes attributes.
    in_tag: bool,
    /// True while the open element holds text, where a line break would be seen.
    inline: bool,
}

impl Svg {
    /// An empty document.
    pub fn new() -> Svg {
        Svg::default()
    }

    /// Bytes written so far.
    pub fn len(&self) -> usize {
        self.text.len()
    }

    /// True before anything is written.
    pub fn is_empty(&self) -> bool {
        self.text.is_empty()
    }

    /// Opens an element on a new line.
    pub fn start(&mut self, tag: &'static str) -> &mut Svg {
        self.close_tag();
        if !self.inline && !self.text.is_empty() {
            self.text.push('\n');
        }
        self.text.push('<');
        self.text.push_str(tag);
        self.open.push(tag);
        self.in_tag = true;
        self
    }

    /// Adds an attribute to the element just opened; the value is escaped.
    pub fn attr(&mut self, name: &str, value: impl Display) -> &mut Svg {
        debug_assert!(self.in_tag, "attribute {name} outside a start tag");
        if self.in_tag {
            let value = value.to_string();
            let _ = write!(self.text, " {name}=\"");
            escape_into(&mut self.text, &value);
            self.text.push('"');
        }
        self
    }

    /// Adds a numeric attribute with at most two decimals.
    pub fn num(&mut self, name: &str, value: f64) -> &mut Svg {
        self.attr(name, fixed(value, 2))
    }

    /// Adds escaped text inside the open element.
    pub fn text(&mut self, text: &str) -> &mut Svg {
        self.close_tag();
        self.inline = true;
        escape_into(&mut self.text, text);
        self
    }

    /// Adds text that is already markup, for instance a style sheet. The caller answers for its form.
    pub fn raw(&mut self, markup: &str) -> &mut Svg {
        self.close_tag();
        self.text.push_str(markup);
        self
    }

    /// Closes the innermost element.
    pub fn end(&mut self) -> &mut Svg {
        if let Some(tag) = self.open.pop() {
            if self.in_tag {
                self.text.push_str("/>");
            } else {
                let _ = write!(self.text, "</{tag}>");
            }
        }
        self.in_tag = false;
        self.inline = false;
        self
    }

    /// A whole element with text and class at a place, in picture coordinates.
    pub fn label(&mut self, class: &str, x: f64, y: f64, text: &str) -> &mut Svg {
        self.start("text").attr("class", class).num("x", x).num("y", y).text(text).end()
    }

    /// A straight line, in picture coordinates.
    pub fn line(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) -> &mut Svg {
        self.start("path").attr("class", class);
        let d = format!("M{} {}L{} {}", fixed(from.0, 2), fixed(from.1, 2), fixed(to.0, 2), fixed(to.1, 2));
        self.attr("d", d).end()
    }

    /// Closes whatever is open and hands out the text, ended by a line break.
    pub fn finish(mut self) -> String {
        while !self.open.is_empty() {
            self.end();
        }
        self.text.push('\n');
        self.text
    }

    fn close_tag(&mut self) {
        if self.in_tag {
            self.text.push('>');
            self.in_tag = false;
        }
    }
}

/// Appends text with the characters that XML reserves escaped, and those that XML 1.0 (fifth edition, 2008,
/// section 2.2) forbids replaced by U+FFFD.
pub fn escape_into(out: &mut String, text: &str) {
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' => out.push(c),
            // A bare carriage return would be read back as a line feed.
            '\r' => out.push_str("&#13;"),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            _ => out.push(c),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn elements_close_and_text_is_escaped() {
        let mut svg = Svg::new();
        svg.start("svg").start("text").attr("a", "\"<\u{1}").text("a<b & c");
        assert_eq!(svg.finish(), "<svg>\n<text a=\"&quot;&lt;\u{fffd}\">a&lt;b &amp; c</text></svg>\n");
    }
}
