//! Rows for printing: all materials, or one material with its properties and sources.

use crate::library::Library;
use crate::material::Material;
use crate::property::Values;
use facedown_quantity::Temperature;
use serde::Serialize;

/// One line of the table of all materials.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MaterialRow {
    /// Name in design files.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// What it counts as in pictures.
    pub made_of: &'static str,
    /// How many properties it has.
    pub properties: usize,
}

/// One line of the table of one material: a value, or one point of a curve.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PropertyRow {
    /// Name of the property.
    pub property: &'static str,
    /// Temperature of a point of a curve; empty for one value.
    pub at: String,
    /// The value with its unit.
    pub value: String,
    /// Lowest and highest value that sources give; empty where none is stated.
    pub spread: String,
    /// Temperatures between which the property holds; empty where it is no function of temperature.
    pub range: String,
    /// Published, common practice, from memory, or invented.
    pub status: &'static str,
    /// The source.
    pub source: String,
    /// A remark; empty where none is stated.
    pub note: String,
}

/// All materials of a library, sorted by name.
pub fn material_rows(library: &Library) -> Vec<MaterialRow> {
    library
        .materials()
        .map(|m| MaterialRow {
            name: m.name.clone(),
            title: m.title.clone(),
            made_of: m.made_of.words(),
            properties: m.properties.len(),
        })
        .collect()
}

/// The properties of one material, in the order of [`crate::PropertyName::ALL`]; a curve gives one row a point.
pub fn property_rows(material: &Material) -> Vec<PropertyRow> {
    let mut rows = Vec::new();
    for property in material.properties.values() {
        let range = property.range.map_or(String::new(), |(from, to)| {
            format!("{} to {}", Temperature::from_si(from), Temperature::from_si(to))
        });
        let spread = property.spread.map_or(String::new(), |(low, high)| {
            format!("{} to {}", property.text_of(low), property.text_of(high))
        });
        let mut push = |at: String, value: f64| {
            rows.push(PropertyRow {
                property: property.name.words(),
                at,
                value: property.text_of(value),
                spread: spread.clone(),
                range: range.clone(),
                status: property.status.words(),
                source: property.source.clone(),
                note: property.note.clone().unwrap_or_default(),
            });
        };
        match &property.values {
            Values::Constant(value) => push(String::new(), *value),
            Values::Curve(points) => {
                for &(kelvin, value) in points {
                    push(Temperature::from_si(kelvin).to_string(), value);
                }
            }
        }
    }
    rows
}
