//! The JSON Schema of the design file, from the same types that the reader fills.

use crate::design::Design;
use serde_json::Value;

/// The schema as JSON.
pub fn schema() -> Value {
    let mut value = schemars::schema_for!(Design).to_value();
    if let Some(object) = value.as_object_mut() {
        object.insert("title".into(), "facedown design file".into());
    }
    without_null(&mut value);
    value
}

/// The schema as the committed file holds it.
pub fn schema_text() -> String {
    let mut text = serde_json::to_string_pretty(&schema()).unwrap_or_default();
    text.push('\n');
    text
}

/// TOML knows no null: a key that may be left out is not a key that may be null.
fn without_null(value: &mut Value) {
    match value {
        Value::Object(object) => {
            if let Some(Value::Array(kinds)) = object.get_mut("type") {
                kinds.retain(|k| k != "null");
                if let [one] = kinds.as_slice() {
                    let one = one.clone();
                    object.insert("type".into(), one);
                }
            }
            if let Some(Value::Array(choices)) = object.get_mut("anyOf") {
                choices.retain(|c| c.get("type").is_none_or(|t| t != "null"));
                if choices.len() == 1
                    && let Some(Value::Object(only)) = choices.first().cloned()
                {
                    object.shift_remove("anyOf");
                    for (key, entry) in only {
                        object.entry(key).or_insert(entry);
                    }
                }
            }
            object.values_mut().for_each(without_null);
        }
        Value::Array(list) => list.iter_mut().for_each(without_null),
        _ => {}
    }
}
