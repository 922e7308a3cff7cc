//! JSON Schema of the quantity texts, so that editors complete and check a design file.

use crate::quantity::Quantity;
use crate::spread::Spread;
use crate::table::{Kind, KindTable};
use crate::toleranced::Toleranced;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use std::borrow::Cow;

/// A regular expression (ECMA 262) that right texts of this kind match: number, unit as it is written, and, where
/// `tolerance` is set, anything after a tolerance sign.
///
/// It is a guide for editors; reading accepts further spellings of the units than the pattern lists.
pub fn pattern(table: &KindTable, tolerance: bool) -> String {
    let spellings = table.units.iter().flat_map(|u| std::iter::once(u.name).chain(u.also.iter().copied()));
    let mut units: Vec<String> = Vec::new();
    for spelling in spellings {
        let plain = escaped(spelling).replace(' ', "[ ·*]?").replace("ohm", "(ohm|Ω)");
        units.push(plain.clone());
        if spelling.starts_with("um") || spelling.starts_with("uohm") {
            units.push(format!("[µμ]{}", &plain[1..]));
        }
        if spelling.contains("deg") {
            units.push(plain.replace("deg", "°"));
        }
    }
    let tail = if tolerance { "(\\s*(\\+-|±|\\+|-).*)?" } else { "" };
    format!("^\\s*[+-]?(\\d+\\.?\\d*|\\.\\d+)([eE][+-]?\\d+)?\\s*({}){tail}\\s*$", units.join("|"))
}

fn escaped(unit: &str) -> String {
    let mut out = String::new();
    for c in unit.chars() {
        if matches!(
            c,
            '^' | '.' | '(' | ')' | '/' | '$' | '*' | '+' | '?' | '[' | ']' | '{' | '}' | '|' | '\\'
        ) {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

/// The schema of one kind: a string with pattern, description and examples.
pub fn schema_of(table: &KindTable, tolerance: bool) -> Schema {
    let mut name = table.a_name.to_string();
    if let Some(first) = name.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    let with = if tolerance { ", with an optional tolerance" } else { "" };
    let examples: Vec<&str> =
        table.examples.iter().copied().filter(|e| tolerance || !e.contains("+-")).collect();
    json_schema!({
        "type": "string",
        "description": format!("{name} in {}{with}.", table.unit_list()),
        "pattern": pattern(table, tolerance),
        "examples": examples,
    })
}

fn type_name(table: &KindTable) -> String {
    table.name.split(' ').map(|w| w[..1].to_uppercase() + &w[1..]).collect()
}

impl<K: Kind> JsonSchema for Quantity<K> {
    fn schema_name() -> Cow<'static, str> {
        type_name(K::TABLE).into()
    }
    fn schema_id() -> Cow<'static, str> {
        format!("{}::{}", module_path!(), type_name(K::TABLE)).into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        schema_of(K::TABLE, false)
    }
}

impl<K: Kind> JsonSchema for Toleranced<K> {
    fn schema_name() -> Cow<'static, str> {
        format!("Toleranced{}", type_name(K::TABLE)).into()
    }
    fn schema_id() -> Cow<'static, str> {
        format!("{}::Toleranced{}", module_path!(), type_name(K::TABLE)).into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        schema_of(K::TABLE, true)
    }
}

impl JsonSchema for Spread {
    fn schema_name() -> Cow<'static, str> {
        "Spread".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "What the tolerances mean: so many standard deviations, or hard limits.",
            "pattern": "^(\\d+\\.?\\d* sigma|limits)$",
            "examples": Spread::EXAMPLES,
        })
    }
}
