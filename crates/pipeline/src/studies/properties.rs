//! Properties of the design's materials as the plain tables that studies read.
//!
//! Studies know no material names: what they read are pairs of temperature (K) and value (SI), and the key of a result
//! is a hash of exactly these. A property that a material lacks is named with the material, so that the study that
//! needs it says what to add to the design. Polymers have one value below and one above their glass transition; their
//! table steps from one to the other over 20 K around it (common practice, no source).

use crate::graph::Absent;
use facedown_material::{Material, MaterialError, PropertyName, Values};
use facedown_package::Design;

/// Room temperature, K, at which constants are anchored in tables.
pub const ROOM: f64 = 298.15;
/// Half the width of the glass transition in tables, K.
const HALF_TRANSITION: f64 = 10.0;

/// Pairs of K and value.
pub type Table = Vec<(f64, f64)>;

/// The material of that name.
///
/// # Errors
/// [`Absent::Impossible`] with the nearest name; `check` finds this before a run.
pub fn material<'a>(design: &'a Design, name: &str) -> Result<&'a Material, Absent> {
    design.materials.library.get(name).map_err(|e| Absent::Impossible(format!("{e}.")))
}

/// The first of some properties that the material has, as a table over temperature; a constant is one point.
///
/// # Errors
/// [`Absent::Impossible`] that names the material and the first of the properties.
pub fn table(material: &Material, names: &[PropertyName]) -> Result<Table, Absent> {
    for name in names {
        if let Some(property) = material.properties.get(name) {
            return Ok(match &property.values {
                Values::Constant(value) => vec![(ROOM, *value)],
                Values::Curve(points) => points.clone(),
            });
        }
    }
    Err(missing(material, names))
}

/// The first of some properties that the material has, at a temperature; the nearest end of its range where that lies
/// outside (the study's own range check says so).
///
/// # Errors
/// As [`table`].
pub fn value(material: &Material, names: &[PropertyName], kelvin: f64) -> Result<f64, Absent> {
    at(&table(material, names)?, kelvin).ok_or_else(|| missing(material, names))
}

/// A table at a temperature: straight lines between its points, its ends beyond them; none for an empty table.
pub fn at(table: &Table, kelvin: f64) -> Option<f64> {
    let below = table.iter().rev().find(|p| p.0 <= kelvin);
    let above = table.iter().find(|p| p.0 > kelvin);
    match (below, above) {
        (Some(a), Some(b)) => Some(a.1 + (b.1 - a.1) * (kelvin - a.0) / (b.0 - a.0)),
        (Some(p), None) | (None, Some(p)) => Some(p.1),
        (None, None) => None,
    }
}

/// A property that the design need not have.
pub fn optional(material: &Material, name: PropertyName, kelvin: f64) -> Option<f64> {
    value(material, &[name], kelvin).ok()
}

/// A property below the glass transition joined to the one above it, where the material has both and a transition.
///
/// # Errors
/// As [`table`] for the one below.
pub fn through_glass(
    material: &Material,
    below: &[PropertyName],
    above: PropertyName,
) -> Result<Table, Absent> {
    let glassy = table(material, below)?;
    let transition = optional(material, PropertyName::GlassTransition, ROOM);
    let (Some(tg), Ok(rubbery)) = (transition, table(material, &[above])) else { return Ok(glassy) };
    let at = |kelvin: f64, points: &Table| {
        let inside: Vec<_> = points.iter().copied().filter(|p| p.0 <= kelvin).collect();
        inside.last().or(points.first()).map_or(f64::NAN, |p| p.1)
    };
    let (low, high) = (tg - HALF_TRANSITION, tg + HALF_TRANSITION);
    let mut joined: Table = glassy.iter().copied().filter(|p| p.0 < low).collect();
    joined.push((low, at(low, &glassy)));
    joined.push((high, at(high, &rubbery)));
    joined.extend(rubbery.iter().copied().filter(|p| p.0 > high));
    Ok(joined)
}

/// Young's modulus of a solid over temperature, Pa.
///
/// # Errors
/// As [`table`].
pub fn modulus(material: &Material) -> Result<Table, Absent> {
    through_glass(material, &[PropertyName::Modulus], PropertyName::ModulusAboveGlass)
}

/// In-plane expansion over temperature, 1/K.
///
/// # Errors
/// As [`table`].
pub fn expansion(material: &Material) -> Result<Table, Absent> {
    if material.properties.contains_key(&PropertyName::ExpansionInPlane) {
        return through_glass(
            material,
            &[PropertyName::ExpansionInPlane],
            PropertyName::ExpansionInPlaneAboveGlass,
        );
    }
    through_glass(material, &[PropertyName::Expansion], PropertyName::ExpansionAboveGlass)
}

/// Conductivity in the plane over temperature, W/(m K).
///
/// # Errors
/// As [`table`].
pub fn conductivity(material: &Material) -> Result<Table, Absent> {
    table(material, &[PropertyName::ConductivityInPlane, PropertyName::Conductivity])
}

/// Conductivity through the plane where it differs, W/(m K).
pub fn conductivity_through(material: &Material) -> Option<Table> {
    table(material, &[PropertyName::ConductivityThrough]).ok()
}

fn missing(material: &Material, names: &[PropertyName]) -> Absent {
    let name = names.first().copied().unwrap_or(PropertyName::Density);
    let what = MaterialError::Missing { material: material.name.clone(), name };
    Absent::Impossible(format!(
        "{what}; give it in the design: [material.{}.properties] {} with its source.",
        material.name,
        name.words()
    ))
}
