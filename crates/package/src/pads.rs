//! Pads, where they are read from, and the other tables that stand beside a die.

use crate::read::node::{FromNode, Node, Reader};
use crate::read::record::record;
use crate::values::{Length, TablePath};
use facedown_quantity::Nm;
use serde::Serialize;
use toml::de::DeValue;

/// Where a die's pads are read from.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(untagged)]
pub enum PadSource {
    /// `"at bumps"`: a pad under every bump, with the bump's net.
    AtBumps(AtBumps),
    /// A CSV table.
    Table(PadTable),
    /// Openings and labels of a GDSII layout.
    Gdsii(PadGdsii),
    /// Pins of a LEF/DEF design.
    Def(PadDef),
    /// The path of a CSV table that gives every opening's size.
    Path(TablePath),
}

/// The word `at bumps`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
pub enum AtBumps {
    /// A pad under every bump.
    #[serde(rename = "at bumps")]
    AtBumps,
}

record! {
    /// A table with columns name, net, x, y, width, height and optionally class, current: centre and size of
    /// each opening in the die frame.
    pub struct PadTable: "a table of pads" {
        /// Path of the CSV file.
        csv: TablePath,
        /// Opening of every pad, x and y, where the table has no columns width and height.
        opening: Option<[Length; 2]>,
    }
}

record! {
    /// Pads of a GDSII layout: each shape on the layer of the openings is a pad, named by the text inside it.
    pub struct PadGdsii: "a GDSII source of pads" {
        /// Path of the GDSII file.
        gdsii: TablePath,
        /// The cell whose frame is the die's. Left out: the one top cell.
        cell: Option<String>,
        /// Layer and datatype of the passivation openings, `37/0`.
        openings: crate::values::LayerPair,
        /// Layer and text type of the labels, `37/10`. Left out: labels on any text type of the openings' layer.
        labels: Option<crate::values::LayerPair>,
        /// Where the die's lower-left corner lies in the layout, x and y. Left out: at its origin.
        origin: Option<[Length; 2]>,
    }
}

record! {
    /// Pads of a LEF/DEF design: the placed pins of the DEF file, with the pin geometry that it or the LEF
    /// macros give.
    pub struct PadDef: "a LEF/DEF source of pads" {
        /// Path of the DEF file.
        def: TablePath,
        /// Paths of the LEF files with the macros that it uses.
        #[serde(default)]
        lef: Vec<TablePath>,
        /// Take only pin shapes on this layer.
        layer: Option<String>,
    }
}

/// A die pad.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pad {
    /// Unique name.
    pub name: String,
    /// Net; empty for a pad that is not connected.
    pub net: String,
    /// Centre of the opening in x, die frame.
    pub x: Nm,
    /// Centre of the opening in y, die frame.
    pub y: Nm,
    /// Opening in x.
    pub width: Nm,
    /// Opening in y.
    pub height: Nm,
    /// What it is for, where the table says so.
    pub class: Option<crate::nets::NetClass>,
    /// Current through it, A, where the table says so.
    pub current_a: Option<f64>,
}

/// A block of the power map.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PowerBlock {
    /// Name, where the table has one.
    pub name: Option<String>,
    /// Lower-left corner in x, die frame.
    pub x: Nm,
    /// Lower-left corner in y, die frame.
    pub y: Nm,
    /// Size in x.
    pub width: Nm,
    /// Size in y.
    pub height: Nm,
    /// Power, W.
    pub power_w: f64,
}

/// A row of the table of currents.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NetCurrent {
    /// Net.
    pub net: String,
    /// Current, A.
    pub current_a: f64,
}

impl FromNode for PadSource {
    fn expected() -> String {
        "the path of a CSV table, `at bumps`, or a table that names a csv, gdsii or def file".into()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        match node.value {
            DeValue::String(text) if text.as_ref() == "at bumps" => {
                Some(PadSource::AtBumps(AtBumps::AtBumps))
            }
            DeValue::String(_) => TablePath::from_node(node, reader).map(PadSource::Path),
            DeValue::Table(table) => {
                let has = |key: &str| table.keys().any(|k| k.get_ref() == key);
                if has("gdsii") {
                    PadGdsii::from_node(node, reader).map(PadSource::Gdsii)
                } else if has("def") {
                    PadDef::from_node(node, reader).map(PadSource::Def)
                } else {
                    PadTable::from_node(node, reader).map(PadSource::Table)
                }
            }
            _ => {
                reader.wrong_kind(node, &Self::expected());
                None
            }
        }
    }
}
