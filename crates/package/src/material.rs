//! Materials that a design adds or overrides.

use crate::read::node::{FromNode, Node, Reader};
use crate::read::record::record;
use crate::values::Temperature;
use serde::Serialize;
use std::collections::BTreeMap;
use toml::de::DeValue;

record! {
    /// A material of the design's own, or changed properties of one of the tool's.
    pub struct MaterialEntry: "a table [material.NAME]" {
        /// Where the numbers come from: a source in words, or `invented`.
        source: String,
        /// The material whose other properties it takes over. Left out: none, or the tool's own of the same name.
        like: Option<String>,
        /// Properties by name: text with unit, or a list of points `["25 degC", "7.5 GPa"]` over temperature.
        #[serde(default)]
        properties: BTreeMap<String, PropertyText>,
    }
}

/// A property as written: one value, or a curve over temperature.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(untagged)]
pub enum PropertyText {
    /// One value.
    Value(String),
    /// Points of temperature and value.
    Curve(Vec<(Temperature, String)>),
}

impl FromNode for PropertyText {
    fn expected() -> String {
        "text with its unit, or a list of points over temperature".into()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        match node.value {
            DeValue::String(text) => Some(PropertyText::Value(text.to_string())),
            DeValue::Array(list) => {
                let mut points = Vec::new();
                for entry in list.iter() {
                    let point = match entry.get_ref() {
                        DeValue::Array(pair) if pair.len() == 2 => {
                            let temperature = Node { value: pair[0].get_ref(), span: pair[0].span() };
                            let temperature = Temperature::from_node(&temperature, reader);
                            temperature.zip(pair[1].get_ref().as_str().map(str::to_owned))
                        }
                        _ => None,
                    };
                    match point {
                        Some(point) => points.push(point),
                        None => {
                            let node = Node { value: entry.get_ref(), span: entry.span() };
                            reader.wrong_kind(&node, "a point of temperature and value, both with units");
                        }
                    }
                }
                Some(PropertyText::Curve(points))
            }
            _ => {
                reader.wrong_kind(node, &Self::expected());
                None
            }
        }
    }
}
