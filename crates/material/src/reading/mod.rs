//! Reading a material table, the same for the built-in files and for a design.
//!
//! ```toml
//! [NAME]
//! title = "..."                    # name in words
//! made_of = "underfill"            # class in pictures
//! like = "OTHER"                   # start from another material
//! source = "..."                   # of all properties that name none; or `invented`
//! status = "from memory"           # where the source text alone does not say it
//! valid = ["-55 degC", "150 degC"] # of all properties over temperature that state none
//! roles = { wetting = "source" }   # in the stack under a bump
//! composition = { Sn = "63 %", Pb = "37 %" }
//! [NAME.properties]
//! poisson = 0.33                   # a plain number
//! density = "1800 kg/m3"           # one value
//! modulus = [["25 degC", "9 GPa"], ["100 degC", "8 GPa"]]  # a curve
//! expansion = { value = "28 ppm/K", spread = ["25 ppm/K", "32 ppm/K"], valid = [..], source = "..", status = "..", note = ".." }
//! ```

mod heading;
mod property;
mod reader;

use crate::library::Library;
use crate::material::Material;
use crate::property_name::PropertyName;
use facedown_diagnostic::Finding;
use heading::Defaults;
use reader::{Node, Reader};
use std::borrow::Cow;
use toml::Spanned;

pub(crate) const MATERIAL_KEYS: [&str; 11] = [
    "title",
    "made_of",
    "like",
    "source",
    "status",
    "valid",
    "roles",
    "composition",
    "note",
    "caution",
    "properties",
];
pub(crate) const PROPERTY_KEYS: [&str; 7] = ["value", "curve", "spread", "valid", "source", "status", "note"];

/// Reads one material; `None` when it cannot be told what it is at all.
pub(crate) fn read_material(
    name: &Spanned<Cow<'_, str>>,
    node: Node<'_, '_>,
    file: &str,
    text: &str,
    library: &Library,
    findings: &mut Vec<Finding>,
) -> Option<Material> {
    let mut reader = Reader { file, text, findings };
    let table = reader.table(node, "a table [material.NAME]")?;
    reader.unknown_keys(table, &MATERIAL_KEYS, "material-unknown-key", "a material");
    let mut material = reader.base(name, table, library)?;
    material.from_design = true;
    let defaults = reader.defaults(name, table);
    if let Some(title) = reader.string(table, "title") {
        material.title = title;
    }
    if let Some(note) = reader.string(table, "note") {
        material.note = Some(note);
    }
    if let Some(caution) = reader.string(table, "caution") {
        material.caution = Some(caution);
    }
    reader.roles(table, &mut material);
    reader.composition(table, &mut material);
    if let Some(node) = table.get("properties")
        && let Some(properties) = reader.table(node, "a table of properties")
    {
        for (key, node) in properties {
            let word = PropertyName::from_words(key.get_ref());
            let before = word.and_then(|w| material.properties.get(&w)).and_then(|p| p.range);
            if let Some(property) =
                reader.property(key, node, &Defaults { valid: defaults.valid.or(before), ..defaults.clone() })
            {
                material.properties.insert(property.name, property);
            }
        }
    }
    reader.melting_order(name, &material);
    Some(material)
}
