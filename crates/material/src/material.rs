//! One material.

use crate::made_of::{MadeOf, Role};
use crate::property::{OutsideRange, Property};
use crate::property_name::PropertyName;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A material with its properties.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Material {
    /// Name in design files, for instance `sac305`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// What it counts as in pictures.
    pub made_of: MadeOf,
    /// What it can do in the stack under a bump, each with its source.
    pub roles: BTreeMap<Role, String>,
    /// Mass fractions of an alloy by chemical symbol, as plain ratios that add up to 1; empty where not stated.
    pub composition: BTreeMap<String, f64>,
    /// A remark on use.
    pub note: Option<String>,
    /// A caution for those who handle it.
    pub caution: Option<String>,
    /// Its properties.
    pub properties: BTreeMap<PropertyName, Property>,
    /// True when a design file added it or changed a property of it.
    pub from_design: bool,
}

/// Why a material gives no value.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MaterialError {
    /// It has no such property.
    #[error("`{material}` has no {name}")]
    Missing {
        /// The material.
        material: String,
        /// The property.
        name: PropertyName,
    },
    /// The property does not reach that temperature.
    #[error("`{material}`: {outside}")]
    Outside {
        /// The material.
        material: String,
        /// Property, temperature and range.
        outside: OutsideRange,
    },
}

impl Material {
    /// The value in SI of a property at a temperature in K.
    ///
    /// # Errors
    /// [`MaterialError`] when the material lacks the property or the property does not reach that temperature.
    pub fn value(&self, name: PropertyName, kelvin: f64) -> Result<f64, MaterialError> {
        let property = self
            .properties
            .get(&name)
            .ok_or_else(|| MaterialError::Missing { material: self.name.clone(), name })?;
        property.at(kelvin).map_err(|outside| MaterialError::Outside { material: self.name.clone(), outside })
    }

    /// Mass fraction of an element, as a plain ratio; zero where it is not named.
    pub fn mass_fraction(&self, symbol: &str) -> f64 {
        self.composition.get(symbol).copied().unwrap_or(0.0)
    }

    /// True for an alloy with more than 0.1 % lead by mass, the limit of Directive 2011/65/EU, annex II.
    pub fn contains_lead(&self) -> bool {
        self.mass_fraction("Pb") > 0.001
    }

    /// True for a solder with at least 85 % lead by mass, the high melting kind of Directive 2011/65/EU, annex III,
    /// item 7(a).
    pub fn is_high_lead(&self) -> bool {
        self.mass_fraction("Pb") >= 0.85
    }

    /// True for a solder with at least 90 % tin by mass, which takes up thin copper quickly (common practice, no
    /// source for the limit).
    pub fn is_high_tin(&self) -> bool {
        self.mass_fraction("Sn") >= 0.90
    }

    /// True when it can do this in the stack under a bump.
    pub fn can_be(&self, role: Role) -> bool {
        self.roles.contains_key(&role)
    }
}
