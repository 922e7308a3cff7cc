//! Reading single values: quantities, words, names, numbers.

use crate::read::node::{FromNode, Node, Reader};
use crate::values::{LayerPair, MaterialName, Name, TablePath};
use facedown_diagnostic::{Finding, nearest};
use facedown_quantity::{Kind, KindTable, QuantityError, Spread, Toleranced};
use std::ops::Range;
use toml::de::DeValue;

/// Longest name, in characters.
pub const NAME_LIMIT: usize = 200;

impl<K: Kind> FromNode for Toleranced<K> {
    fn expected() -> String {
        let table = K::TABLE;
        format!("{} with its unit, `\"{}\"`", table.a_name, table.examples.first().unwrap_or(&""))
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        let table = K::TABLE;
        match node.value {
            DeValue::String(text) => match Toleranced::parse(text) {
                Ok(value) => Some(value),
                Err(error) => {
                    let inside = inside(node, text, error.span.clone(), reader);
                    let finding = of_quantity(&error).at(reader.place(inside));
                    reader.report(finding);
                    None
                }
            },
            DeValue::Integer(_) | DeValue::Float(_) => {
                let finding =
                    without_unit(&number_text(node.value), table, "\"").at(reader.place(node.span.clone()));
                reader.report(finding);
                None
            }
            _ => {
                reader.wrong_kind(node, &Self::expected());
                None
            }
        }
    }
}

/// The finding for a number where a quantity belongs.
pub fn without_unit(number: &str, table: &KindTable, quote: &str) -> Finding {
    Finding::error("unit-missing", format!("`{number}` has no unit; {} belongs here", table.a_name))
        .allowed(format!("{} in {}", table.a_name, table.unit_list()))
        .mend(format!("write {quote}{number} {}{quote} or the unit that is meant", table.customary))
}

/// A quantity's error as a finding, still without its place.
pub fn of_quantity(error: &QuantityError) -> Finding {
    let finding = Finding::error(error.code(), error.what()).allowed(error.allowed());
    match error.mend() {
        Some(mend) => finding.mend(mend),
        None => finding,
    }
}

/// A byte range inside a text as a range of the file; the whole value where escapes make the two differ.
pub fn inside(node: &Node, text: &str, range: Range<usize>, reader: &Reader) -> Range<usize> {
    let whole = node.span.clone();
    let source = reader.sources.0.get(&reader.file).map(|s| s.text.clone());
    let Some(raw) = source.as_deref().and_then(|s| s.get(whole.clone())) else { return whole };
    let quote = if raw.starts_with("\"\"\"") || raw.starts_with("'''") { 3 } else { 1 };
    if raw.get(quote..quote + text.len()) != Some(text) || range.end > text.len() || range.is_empty() {
        return whole;
    }
    whole.start + quote + range.start..whole.start + quote + range.end
}

/// `a, b or c`.
pub fn either(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).into(),
        [rest @ .., last] => format!("{} or {last}", rest.join(", ")),
    }
}

/// One of a set of words.
pub fn word<'w>(node: &Node, reader: &mut Reader, kind: &str, words: &[&'w str]) -> Option<&'w str> {
    let DeValue::String(text) = node.value else {
        reader.wrong_kind(node, &format!("{kind} ({})", either(words)));
        return None;
    };
    if let Some(found) = words.iter().find(|w| **w == text.as_ref()) {
        return Some(found);
    }
    let lower = text.to_lowercase();
    let finding = Finding::error("unknown-word", format!("`{text}` is not {kind}"))
        .at(reader.place(node.span.clone()))
        .allowed(either(words));
    let finding = match nearest(&lower, words.iter().copied()) {
        Some(right) => finding.mend(format!("write \"{right}\"")),
        None => finding,
    };
    reader.report(finding);
    None
}

/// The number as it is written.
pub fn number_text(value: &DeValue) -> String {
    match value {
        DeValue::Integer(i) => i.to_string(),
        DeValue::Float(f) => f.to_string(),
        _ => String::new(),
    }
}

/// A finite number.
pub fn number(node: &Node, reader: &mut Reader) -> Option<f64> {
    let value = match node.value {
        DeValue::Integer(i) => i64::from_str_radix(i.as_str(), i.radix()).ok().map(|i| i as f64),
        DeValue::Float(f) => f.as_str().parse::<f64>().ok(),
        _ => {
            reader.wrong_kind(node, "a number");
            return None;
        }
    };
    let finite = value.filter(|v| v.is_finite());
    if finite.is_none() {
        let finding = Finding::error(
            "number-not-finite",
            format!("`{}` is not a finite number", number_text(node.value)),
        )
        .at(reader.place(node.span.clone()))
        .allowed("a finite number");
        reader.report(finding);
    }
    finite
}

impl FromNode for bool {
    fn expected() -> String {
        "true or false".into()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        match node.value {
            DeValue::Boolean(b) => Some(*b),
            DeValue::String(text) if matches!(text.as_ref(), "true" | "false" | "yes" | "no") => {
                let word = if matches!(text.as_ref(), "true" | "yes") { "true" } else { "false" };
                let finding = Finding::error(
                    "wrong-kind",
                    format!("\"{text}\" is text where true or false is expected"),
                )
                .at(reader.place(node.span.clone()))
                .allowed("true or false, without quotes")
                .mend(format!("write {word} without quotes"));
                reader.report(finding);
                None
            }
            _ => {
                reader.wrong_kind(node, "true or false");
                None
            }
        }
    }
}

impl FromNode for f64 {
    fn expected() -> String {
        "a number".into()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        number(node, reader)
    }
}

impl FromNode for u32 {
    fn expected() -> String {
        "a whole number".into()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        match node.value {
            DeValue::Integer(i) => match u32::from_str_radix(i.as_str(), i.radix()) {
                Ok(count) => Some(count),
                Err(_) => {
                    let finding = Finding::error("number-range", format!("`{i}` is not a count"))
                        .at(reader.place(node.span.clone()))
                        .allowed(format!("a whole number from 0 to {}", u32::MAX));
                    reader.report(finding);
                    None
                }
            },
            DeValue::String(text) if text.trim().parse::<u32>().is_ok() => {
                let finding = Finding::error(
                    "wrong-kind",
                    format!("\"{text}\" is text where a whole number is expected"),
                )
                .at(reader.place(node.span.clone()))
                .allowed("a whole number, without quotes")
                .mend(format!("write {} without quotes", text.trim()));
                reader.report(finding);
                None
            }
            _ => {
                reader.wrong_kind(node, "a whole number");
                None
            }
        }
    }
}

impl FromNode for String {
    fn expected() -> String {
        "text".into()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        match node.value {
            DeValue::String(text) => Some(text.to_string()),
            _ => {
                reader.wrong_kind(node, "text");
                None
            }
        }
    }
}

/// What is wrong with a text as a name, if anything.
pub fn name_fault(text: &str) -> Option<&'static str> {
    if text.trim().is_empty() {
        Some("is empty")
    } else if text.chars().count() > NAME_LIMIT {
        Some("is longer than 200 characters")
    } else if text.chars().any(char::is_control) {
        Some("holds a control character")
    } else if text.trim() != text {
        Some("begins or ends with a space")
    } else {
        None
    }
}

fn plain_text(node: &Node, reader: &mut Reader, kind: &str) -> Option<String> {
    let DeValue::String(text) = node.value else {
        reader.wrong_kind(node, kind);
        return None;
    };
    if let Some(fault) = name_fault(text) {
        let finding = Finding::error("bad-name", format!("{kind} {fault}"))
            .at(reader.place(node.span.clone()))
            .allowed("1 to 200 characters without control characters, no space at either end");
        reader.report(finding);
        return None;
    }
    Some(text.to_string())
}

macro_rules! names {
    ($($type:ident $kind:literal)*) => { $(
        impl FromNode for $type {
            fn expected() -> String {
                $kind.into()
            }

            fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
                plain_text(node, reader, $kind).map($type)
            }
        }
    )* };
}

names! { Name "a name" MaterialName "the name of a material" TablePath "the path of a file beside the design" }

impl FromNode for LayerPair {
    fn expected() -> String {
        "a layer and datatype, `\"37/0\"`".into()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        let DeValue::String(text) = node.value else {
            reader.wrong_kind(node, &Self::expected());
            return None;
        };
        let pair = text.split_once('/').and_then(|(layer, datatype)| {
            let number =
                |t: &str| t.parse::<i16>().ok().filter(|n| *n >= 0 && t.bytes().all(|b| b.is_ascii_digit()));
            Some(LayerPair { layer: number(layer)?, datatype: number(datatype)? })
        });
        if pair.is_none() {
            let finding = Finding::error("bad-layer", format!("`{text}` is not a layer and datatype"))
                .at(reader.place(node.span.clone()))
                .allowed("two whole numbers from 0 to 32767 with a slash between, `37/0`");
            reader.report(finding);
        }
        pair
    }
}

impl FromNode for Spread {
    fn expected() -> String {
        "a meaning of tolerances, `\"3 sigma\"`".into()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        let DeValue::String(text) = node.value else {
            reader.wrong_kind(node, &Self::expected());
            return None;
        };
        match text.parse() {
            Ok(spread) => Some(spread),
            Err(_) => {
                let finding =
                    Finding::error("unknown-word", format!("`{text}` is not a meaning of tolerances"))
                        .at(reader.place(node.span.clone()))
                        .allowed("a number of standard deviations such as `3 sigma`, or `limits`")
                        .mend("write \"3 sigma\", or \"limits\" where nothing lies outside");
                reader.report(finding);
                None
            }
        }
    }
}
