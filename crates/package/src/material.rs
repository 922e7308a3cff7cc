//! Materials of a design: the built-in ones, and those that the design adds or overrides.

use crate::read::node::{FromNode, Node, Reader};
use facedown_material::Library;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Serialize, Serializer};
use std::borrow::Cow;
use toml::de::DeValue;

/// All materials that the design can name. The tables `[material.NAME]` add to the built-in ones or change them,
/// and name their source or say `invented`.
#[derive(Debug, Clone, PartialEq)]
pub struct Materials {
    /// The library with the design's own entries in it.
    pub library: Library,
}

impl Default for Materials {
    fn default() -> Self {
        Materials { library: Library::built_in() }
    }
}

impl FromNode for Materials {
    fn expected() -> String {
        "a table of materials".into()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        let mut materials = Materials::default();
        match node.value {
            DeValue::Table(table) => {
                let file = reader.file.clone();
                let text = reader.sources.0.get(&file).map(|s| s.text.clone()).unwrap_or_else(|| "".into());
                for finding in materials.library.add_from(table, &file, &text) {
                    reader.report(finding);
                }
            }
            _ => reader.wrong_kind(node, &Self::expected()),
        }
        Some(materials)
    }

    fn absent() -> Option<Self> {
        Some(Materials::default())
    }
}

/// Only the design's own materials: the built-in ones are the same everywhere.
impl Serialize for Materials {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let own = self.library.materials().filter(|m| m.from_design);
        serializer.collect_map(own.map(|m| (m.name.clone(), m)))
    }
}

impl JsonSchema for Materials {
    fn schema_name() -> Cow<'static, str> {
        "Materials".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let entry = facedown_material::material_schema().to_value();
        json_schema!({
            "type": "object",
            "description": "Materials that this design adds or overrides, by name.",
            "additionalProperties": entry,
        })
    }
}
