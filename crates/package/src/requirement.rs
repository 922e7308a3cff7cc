//! Requirements: a figure of a study, and the limit that it must keep.

use crate::read::node::{FromNode, Node, Reader};
use crate::read::record::record;
use serde::Serialize;
use toml::de::DeValue;

record! {
    /// A figure that must be met.
    pub struct Requirement: "a table [[requirement]]" {
        /// Study and figure, `heat.theta_jc_top`.
        figure: String,
        /// Largest value allowed.
        max: Option<Limit>,
        /// Smallest value allowed.
        min: Option<Limit>,
        /// Why it is asked.
        why: Option<String>,
    }
}

/// A limit: text with its unit, or a bare number for counts and ratios.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(untagged)]
pub enum Limit {
    /// A count or ratio.
    Number(f64),
    /// A quantity with its unit.
    Text(String),
}

impl FromNode for Limit {
    fn expected() -> String {
        "a quantity with its unit, or a number for counts and ratios".into()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        match node.value {
            DeValue::String(text) => Some(Limit::Text(text.to_string())),
            DeValue::Integer(_) | DeValue::Float(_) => {
                crate::read::values::number(node, reader).map(Limit::Number)
            }
            _ => {
                reader.wrong_kind(node, &Self::expected());
                None
            }
        }
    }
}
