//! All materials known to a design: the built-in ones and those that its file adds or changes.

use crate::built_in;
use crate::material::Material;
use crate::reading::read_material;
use facedown_diagnostic::{Finding, nearest};
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::OnceLock;
use toml::de::DeTable;

/// Materials by name.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Library {
    materials: BTreeMap<String, Material>,
}

/// A name that no material has.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no material `{name}`{}", .nearest.as_ref().map(|n| format!("; the nearest name is `{n}`")).unwrap_or_default())]
pub struct UnknownMaterial {
    /// The name that was asked for.
    pub name: String,
    /// The nearest name, where one is near.
    pub nearest: Option<String>,
}

impl Library {
    /// The materials that come with the program.
    pub fn built_in() -> Library {
        static LIBRARY: OnceLock<Library> = OnceLock::new();
        LIBRARY.get_or_init(|| Library::read_built_in().0).clone()
    }

    /// The built-in materials read anew, with the findings of their files (none, as the tests hold).
    pub(crate) fn read_built_in() -> (Library, Vec<Finding>) {
        let mut library = Library::default();
        let mut findings = Vec::new();
        for (file, text) in built_in::FILES {
            match DeTable::parse(text) {
                Ok(table) => {
                    for (name, node) in table.get_ref() {
                        let material = read_material(name, node, file, text, &library, &mut findings);
                        library.insert(material);
                    }
                }
                Err(e) => findings.push(Finding::error("toml", format!("{file}: {e}"))),
            }
        }
        for material in library.materials.values_mut() {
            material.from_design = false;
        }
        (library, findings)
    }

    fn insert(&mut self, material: Option<Material>) {
        if let Some(material) = material {
            self.materials.insert(material.name.clone(), material);
        }
    }

    /// Adds or changes materials from a table of tables, the `[material]` of a design file: one entry a material.
    ///
    /// `file` and `text` are the file that the table was parsed from, for places. An entry of a known name changes the
    /// properties that it states; one with `like = "NAME"` starts from that material; any other starts from nothing
    /// and says what it is `made_of`. Each entry names its `source` or says `invented`.
    ///
    /// Gives all findings; an entry with errors still adds what could be read.
    pub fn add_from(&mut self, table: &DeTable<'_>, file: &str, text: &str) -> Vec<Finding> {
        let mut findings = Vec::new();
        for (name, node) in table {
            let material = read_material(name, node, file, text, self, &mut findings);
            self.insert(material);
        }
        findings
    }

    /// The material of that name.
    ///
    /// # Errors
    /// [`UnknownMaterial`] with the nearest name.
    pub fn get(&self, name: &str) -> Result<&Material, UnknownMaterial> {
        self.materials.get(name).ok_or_else(|| UnknownMaterial {
            name: name.into(),
            nearest: nearest(name, self.names()).map(str::to_owned),
        })
    }

    /// All names, sorted.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.materials.keys().map(String::as_str)
    }

    /// All materials, sorted by name.
    pub fn materials(&self) -> impl Iterator<Item = &Material> {
        self.materials.values()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn built_in_files_read_without_findings() {
        let (library, findings) = Library::read_built_in();
        let said: Vec<_> =
            findings.iter().map(|f| format!("{:?} {} {:?}", f.place, f.what, f.allowed)).collect();
        assert!(said.is_empty(), "{}", said.join("\n"));
        assert!(library.names().count() > 0);
    }

    #[test]
    fn built_in_files_obey_the_schema_that_editors_get() {
        let schema = jsonschema::validator_for(&crate::material_schema().to_value()).unwrap();
        for (file, text) in built_in::FILES {
            let table: toml::Table = text.parse().unwrap();
            for (name, material) in table {
                let json = serde_json::to_value(material).unwrap();
                let wrong: Vec<_> =
                    schema.iter_errors(&json).map(|e| format!("{}: {e}", e.instance_path())).collect();
                assert!(wrong.is_empty(), "{file}: {name}: {}", wrong.join("; "));
            }
        }
        assert!(!schema.is_valid(&serde_json::json!({"source": "x", "properties": {"modlus": "3 GPa"}})));
        assert!(!schema.is_valid(&serde_json::json!({"source": "x", "properties": {"modulus": 3}})));
    }

    #[test]
    fn every_data_file_is_built_in() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/data");
        let mut on_disk: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect();
        let mut listed: Vec<String> = built_in::FILES.iter().map(|f| f.0.to_string()).collect();
        on_disk.sort();
        listed.sort();
        assert_eq!(on_disk, listed);
    }
}
