//! The reader: findings with their places, and the plain values of a table.

use crate::property_name::PropertyName;
use facedown_diagnostic::{Finding, Place, nearest};
use facedown_quantity::{KindTable, Read, Temperature, read_as};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

pub(super) type Node<'a, 'i> = &'a Spanned<DeValue<'i>>;

pub(super) struct Reader<'r> {
    pub(super) file: &'r str,
    pub(super) text: &'r str,
    pub(super) findings: &'r mut Vec<Finding>,
}

impl Reader<'_> {
    pub(super) fn place(&self, span: Range<usize>) -> Place {
        Place::new(self.file, span)
    }

    pub(super) fn push(&mut self, span: Range<usize>, finding: Finding) {
        let place = self.place(span);
        self.findings.push(finding.at(place));
    }

    pub(super) fn wrong_kind(&mut self, node: Node<'_, '_>, wanted: &str) {
        let found = match node.get_ref() {
            DeValue::String(_) => "text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let finding = Finding::error("material-wrong-kind", format!("found {found} where {wanted} belongs"));
        self.push(node.span(), finding.allowed(wanted));
    }

    pub(super) fn table<'a, 'i>(&mut self, node: Node<'a, 'i>, wanted: &str) -> Option<&'a DeTable<'i>> {
        let table = node.get_ref().as_table();
        if table.is_none() {
            self.wrong_kind(node, wanted);
        }
        table
    }

    pub(super) fn string(&mut self, table: &DeTable<'_>, key: &str) -> Option<String> {
        let node = table.get(key)?;
        match node.get_ref().as_str() {
            Some(text) if !text.trim().is_empty() => Some(text.to_string()),
            Some(_) => {
                self.push(node.span(), Finding::error("material-empty", format!("`{key}` is empty")));
                None
            }
            None => {
                self.wrong_kind(node, "text");
                None
            }
        }
    }

    pub(super) fn unknown_keys(&mut self, table: &DeTable<'_>, known: &[&str], code: &str, whose: &str) {
        for (key, _) in table {
            let word = key.get_ref().as_ref();
            if known.contains(&word) {
                continue;
            }
            let mut finding =
                Finding::error(code, format!("`{word}` is not a key of {whose}")).allowed(known.join(", "));
            if let Some(near) = nearest(word, known.iter().copied()) {
                finding = finding.mend(format!("write `{near}`"));
            } else if PropertyName::from_words(word).is_some() {
                finding = finding.mend(format!("write `{word}` under `properties`"));
            }
            self.push(key.span(), finding);
        }
    }

    pub(super) fn unknown_word(
        &mut self,
        table: &DeTable<'_>,
        key: &str,
        word: &str,
        what: &str,
        known: &[&str],
    ) {
        let mut finding = Finding::error("material-unknown-word", format!("`{word}` is not {what}"))
            .allowed(known.join(", "));
        if let Some(near) = nearest(word, known.iter().copied()) {
            finding = finding.mend(format!("write `{near}`"));
        }
        let span = table.get(key).map_or(0..0, Spanned::span);
        self.push(span, finding);
    }

    pub(super) fn pair(
        &mut self,
        node: Node<'_, '_>,
        table: &'static KindTable,
        wanted: &str,
    ) -> Option<(f64, f64)> {
        match node.get_ref().as_array() {
            Some(list) if list.len() == 2 => {
                let low = self.quantity(&list[0], table);
                let high = self.quantity(&list[1], table);
                low.zip(high).map(|(l, h)| (l.si, h.si))
            }
            _ => {
                self.wrong_kind(node, wanted);
                None
            }
        }
    }

    /// A quantity as text; its errors point into the text where the text stands in the file as it is.
    pub(super) fn quantity(&mut self, node: Node<'_, '_>, table: &'static KindTable) -> Option<Read> {
        let Some(text) = node.get_ref().as_str() else {
            let found = self.text.get(node.span()).unwrap_or("");
            let number = matches!(node.get_ref(), DeValue::Integer(_) | DeValue::Float(_));
            if number {
                self.push(
                    node.span(),
                    Finding::error(
                        "unit-missing",
                        format!("`{found}` has no unit; {} belongs here", table.a_name),
                    )
                    .allowed(format!("{} in {}", table.a_name, table.unit_list()))
                    .mend(format!("write `\"{found} {}\"` if {} is meant", table.customary, table.customary)),
                );
            } else {
                self.wrong_kind(node, &format!("{} as text with its unit", table.a_name));
            }
            return None;
        };
        match read_as(text, table) {
            Ok(read) => Some(read),
            Err(error) => {
                let span = inside(self.text, node.span(), text, &error.span);
                let mut finding = Finding::error(error.code(), error.what()).allowed(error.allowed());
                if let Some(mend) = error.mend() {
                    finding = finding.mend(mend);
                }
                self.push(span, finding);
                None
            }
        }
    }

    pub(super) fn number(&mut self, node: Node<'_, '_>) -> Option<Read> {
        let text = match node.get_ref() {
            DeValue::Integer(n) => n.to_string(),
            DeValue::Float(x) => x.to_string(),
            _ => {
                self.wrong_kind(node, "a plain number without a unit");
                return None;
            }
        };
        match text.replace('_', "").parse::<f64>() {
            Ok(si) if si.is_finite() => Some(Read { si, tolerance: None }),
            _ => {
                self.push(
                    node.span(),
                    Finding::error("number-not-finite", format!("`{text}` is not a finite number")),
                );
                None
            }
        }
    }
}

pub(super) fn celsius(kelvin: f64) -> String {
    Temperature::from_si(kelvin).to_string()
}

pub(super) fn round(x: f64) -> f64 {
    (x * 1e4).round() / 1e4
}

/// Bytes of the file that a byte range of a string value covers: exact for strings without escapes, otherwise
/// the whole value.
fn inside(file: &str, value: Range<usize>, text: &str, part: &Range<usize>) -> Range<usize> {
    let written = file.get(value.clone()).unwrap_or("");
    let quote = if written.starts_with("\"\"\"") || written.starts_with("'''") { 3 } else { 1 };
    let start = value.start + quote;
    let same = file.get(start..start + text.len()) == Some(text);
    if same && !part.is_empty() { start + part.start..start + part.end } else { value }
}
