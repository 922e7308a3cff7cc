//! JSON Schema of a material table in a design file.

use crate::made_of::{MadeOf, Role};
use crate::property_name::{Measure, PropertyName};
use crate::status::Status;
use facedown_quantity::{Kind, kind, schema_of};
use schemars::{Schema, json_schema};
use serde_json::{Map, Value, json};

/// Schema of one `[material.NAME]` table, as [`crate::Library::add_from`] reads it.
pub fn material_schema() -> Schema {
    let words = |list: Vec<&str>| json!({"type": "string", "enum": list});
    let temperature = schema_of(<kind::Temperature as Kind>::TABLE, false).to_value();
    let two = |of: &Value| json!({"type": "array", "items": of, "minItems": 2, "maxItems": 2});
    let mut properties = Map::new();
    for &name in PropertyName::ALL {
        let value = match name.measure() {
            Measure::Quantity(table) => schema_of(table, true).to_value(),
            Measure::Number => {
                let (least, most) = name.sane_bounds();
                json!({"type": "number", "minimum": least, "maximum": most})
            }
        };
        let mut forms = vec![value.clone()];
        let mut table = Map::new();
        table.insert("value".into(), value.clone());
        if name.is_over_temperature() {
            let point =
                json!({"type": "array", "prefixItems": [temperature, value], "minItems": 2, "maxItems": 2});
            let curve = json!({"type": "array", "items": point, "minItems": 2});
            forms.push(curve.clone());
            table.insert("curve".into(), curve);
            table.insert("valid".into(), two(&temperature));
        }
        table.insert("spread".into(), two(&value));
        table.insert("source".into(), json!({"type": "string"}));
        table.insert("status".into(), words(Status::ALL.iter().map(|s| s.words()).collect()));
        table.insert("note".into(), json!({"type": "string"}));
        forms.push(json!({"type": "object", "properties": table, "additionalProperties": false}));
        properties.insert(name.words().into(), json!({"description": name.meaning(), "anyOf": forms}));
    }
    let mut roles = Map::new();
    for role in Role::ALL {
        roles.insert(role.words().into(), json!({"type": "string"}));
    }
    json_schema!({
        "type": "object",
        "description": "A material that the design adds, or properties of a known one that it changes.",
        "properties": {
            "title": {"type": "string", "description": "Name in words."},
            "made_of": {
                "description": "What it counts as in pictures; not needed for a known material or with `like`.",
                "type": "string",
                "enum": MadeOf::ALL.iter().map(|m| m.words()).collect::<Vec<_>>(),
            },
            "like": {"type": "string", "description": "The material to start from."},
            "source": {
                "type": "string",
                "description": "Where the numbers come from: a source in words, or `invented`.",
            },
            "status": {
                "type": "string",
                "enum": Status::ALL.iter().map(|s| s.words()).collect::<Vec<_>>(),
                "description": "How well the numbers are known, where the source does not say it.",
            },
            "valid": {
                "description": "Temperatures between which the properties hold, the lower first.",
                "type": "array",
                "items": temperature,
                "minItems": 2,
                "maxItems": 2,
            },
            "roles": {
                "type": "object",
                "description": "What it can do in the stack under a bump, each with its source.",
                "properties": roles,
                "additionalProperties": false,
            },
            "composition": {
                "type": "object",
                "description": "Mass fractions of an alloy by chemical symbol.",
                "additionalProperties": schema_of(<kind::Fraction as Kind>::TABLE, false).to_value(),
            },
            "note": {"type": "string", "description": "A remark on use."},
            "caution": {"type": "string", "description": "A caution for those who handle it."},
            "properties": {
                "type": "object",
                "description": "Properties by name: one value, a curve over temperature, or a table with its source.",
                "properties": properties,
                "additionalProperties": false,
            },
        },
        "additionalProperties": false,
    })
}
