//! A drawing as a GDSII stream.

use crate::inside::point_in;
use crate::layer_map::{LABEL_TEXT, NET_TEXT, NOTE_LAYER, datatype, names};
use crate::view::View;
use facedown_layout::{Drawing, Point, Polygon, Role};
use facedown_maskdata::Fault;
use facedown_maskdata::gdsii::{Cell, Element, Library, boundaries, write};

/// The drawing as a GDSII stream of one cell, user unit 1 um, database unit 1 nm.
///
/// Layers and data types follow [`crate::layer_map`]. Every shape with a net carries the net's name as a text inside
/// it; where the drawing has no outline, the die's rectangle is added, so that the file fixes its own frame. A text
/// on the note layer and the ending of the cell name say which way the die faces.
///
/// # Errors
/// A [`Fault`] where a coordinate does not fit, a polygon with holes crosses itself, a layer has no number, or a name is
/// empty or longer than 512 bytes.
pub fn gdsii(drawing: &Drawing, view: View) -> Result<Vec<u8>, Fault> {
    let seen = view.of(drawing);
    let mut elements = Vec::new();
    let origin = Point::default();
    let note = format!("{}; {} x {}; {}", escaped(&seen.name), seen.width, seen.height, view.sentence());
    elements.push(text(NOTE_LAYER, LABEL_TEXT, origin, note)?);
    if seen.layer(Role::Outline).is_none() {
        let die = Polygon::rectangle(origin, Point::new(seen.width, seen.height));
        let layer = names(Role::Outline)?.gdsii;
        elements.extend(boundaries(&die, layer, datatype(facedown_layout::ShapeKind::Outline))?);
    }
    for layer in &seen.layers {
        let number = names(layer.role)?.gdsii;
        for shape in &layer.shapes {
            let parts = boundaries(&shape.polygon, number, datatype(shape.kind))?;
            let Some(net) = &shape.net else {
                elements.extend(parts);
                continue;
            };
            // A polygon that was split gets its name on every part.
            let places: Vec<Option<Point>> = if parts.len() == 1 {
                vec![point_in(&shape.polygon)]
            } else {
                parts.iter().map(|part| point_in(&Polygon::new(corners(part)))).collect()
            };
            for (part, place) in parts.into_iter().zip(places) {
                elements.push(part);
                if let Some(place) = place {
                    elements.push(text(number, NET_TEXT, place, escaped(net))?);
                }
            }
        }
    }
    for label in &seen.labels {
        elements.push(text(names(label.role)?.gdsii, LABEL_TEXT, label.at, escaped(&label.text))?);
    }
    let mut library = Library::nanometres("FACEDOWN");
    library.cells.push(Cell { name: cell_name(&seen.name, view), elements });
    write(&library)
}

fn corners(part: &Element) -> Vec<Point> {
    match part {
        Element::Boundary { points, .. } => points
            .iter()
            .map(|&[x, y]| Point::new(facedown_quantity::Nm(x.into()), facedown_quantity::Nm(y.into())))
            .collect(),
        _ => Vec::new(),
    }
}

fn text(layer: i16, texttype: i16, at: Point, string: String) -> Result<Element, Fault> {
    let coordinate = |nm: i64| {
        i32::try_from(nm).map_err(|_| {
            Fault::new("gdsii-coordinate", format!("the text `{string}` lies at ({}, {})", at.x, at.y))
                .allowed("-2.147 m to 2.147 m")
        })
    };
    let at = [coordinate(at.x.0)?, coordinate(at.y.0)?];
    Ok(Element::Text { layer, texttype, at, string })
}

/// At most 32 characters out of letters, digits, `_`, `?` and `$` (S. M. Rubin, Computer Aids for VLSI Design, 1987,
/// appendix C), with the view at the end.
fn cell_name(die: &str, view: View) -> String {
    let suffix = view.suffix().to_ascii_uppercase();
    let kept: String = die
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || "_?$".contains(c) { c } else { '_' })
        .take(31 - suffix.len())
        .collect();
    format!("{kept}_{suffix}")
}

/// Text in printable ASCII: any other character as `\u{hex}`, and the backslash of what looks like one too.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for (i, c) in text.char_indices() {
        let looks_escaped = c == '\\' && text[i..].starts_with("\\u{");
        if looks_escaped || !(' '..='~').contains(&c) {
            out.push_str(&format!("\\u{{{:x}}}", u32::from(c)));
        } else {
            out.push(c);
        }
    }
    out
}

/// The text that [`escaped`] came from. What is no whole escape stays as it is.
pub(crate) fn unescaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find("\\u{") {
        out.push_str(&rest[..at]);
        let digits = &rest[at + 3..];
        let character = digits.find('}').filter(|&end| end <= 6).and_then(|end| {
            u32::from_str_radix(&digits[..end], 16).ok().and_then(char::from_u32).map(|c| (c, end))
        });
        match character {
            Some((c, end)) => {
                out.push(c);
                rest = &digits[end + 1..];
            }
            None => {
                out.push_str("\\u{");
                rest = digits;
            }
        }
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::{cell_name, escaped, unescaped};
    use crate::view::View;
    use proptest::prelude::*;

    #[test]
    fn cell_names_keep_to_the_format() {
        assert_eq!(cell_name("tide watch/2", View::FaceUp), "tide_watch_2_FACE_UP");
        assert!(cell_name(&"x".repeat(99), View::FaceDown).len() <= 32);
    }

    proptest! {
        #[test]
        fn escapes_come_back(text in "(\\PC|\\\\u\\{|[a-f0-9}\\[\\]µ\n])*") {
            let written = escaped(&text);
            prop_assert!(written.bytes().all(|b| (0x20..0x7f).contains(&b)));
            prop_assert_eq!(unescaped(&written), text);
        }
    }
}
