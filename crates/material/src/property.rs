//! One property: a value or a curve over temperature, with where it holds and where it comes from.

use crate::property_name::{Measure, PropertyName};
use crate::status::Status;
use facedown_quantity::{Temperature, write_as};
use serde::{Deserialize, Serialize};

/// The numbers of a property, in SI.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Values {
    /// One value for the whole range.
    Constant(f64),
    /// Points of temperature in K and value, rising in temperature, at least two; linear between them.
    Curve(Vec<(f64, f64)>),
}

/// A property with its evidence.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Property {
    /// Which property.
    pub name: PropertyName,
    /// Its numbers in SI.
    pub values: Values,
    /// Temperatures in K between which it holds; absent for properties that are no function of temperature, and
    /// for a design's constant that states none.
    pub range: Option<(f64, f64)>,
    /// Lowest and highest value that sources give, in SI.
    pub spread: Option<(f64, f64)>,
    /// How much the value of the design may be higher and lower, in SI, where a tolerance is written.
    pub tolerance: Option<(f64, f64)>,
    /// The published source, or in plain words what the number rests on.
    pub source: String,
    /// What kind of source that is.
    pub status: Status,
    /// A remark on condition or use.
    pub note: Option<String>,
}

/// A temperature outside the range of a property.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error(
    "{name} is known from {} to {}; {} lies outside",
    Temperature::from_si(*.from),
    Temperature::from_si(*.to),
    if .asked.is_finite() { Temperature::from_si(*.asked).to_string() } else { "what was asked".into() }
)]
pub struct OutsideRange {
    /// Which property.
    pub name: PropertyName,
    /// Temperature that was asked for, in K.
    pub asked: f64,
    /// Lowest temperature of the range, in K.
    pub from: f64,
    /// Highest temperature of the range, in K.
    pub to: f64,
}

impl Property {
    /// The value in SI at a temperature in K: linear between the points of a curve, never carried on beyond them.
    ///
    /// # Errors
    /// [`OutsideRange`] when the temperature lies outside the range of the property or is not a number.
    pub fn at(&self, kelvin: f64) -> Result<f64, OutsideRange> {
        if let Some((from, to)) = self.range
            && !(from..=to).contains(&kelvin)
        {
            return Err(OutsideRange { name: self.name, asked: kelvin, from, to });
        }
        match &self.values {
            Values::Constant(value) => Ok(*value),
            Values::Curve(points) => interpolate(points, kelvin).ok_or(OutsideRange {
                name: self.name,
                asked: kelvin,
                from: points.first().map_or(f64::NAN, |p| p.0),
                to: points.last().map_or(f64::NAN, |p| p.0),
            }),
        }
    }

    /// The value in SI of a property that is one value, `None` for a curve.
    pub fn constant(&self) -> Option<f64> {
        match self.values {
            Values::Constant(value) => Some(value),
            Values::Curve(_) => None,
        }
    }

    /// A number of this property as text in a trade unit.
    pub fn text_of(&self, si: f64) -> String {
        match self.name.measure() {
            Measure::Quantity(table) => write_as(si, table),
            Measure::Number => format!("{si}"),
        }
    }
}

fn interpolate(points: &[(f64, f64)], kelvin: f64) -> Option<f64> {
    let above = points.iter().position(|p| p.0 >= kelvin)?;
    let (t1, v1) = *points.get(above)?;
    if t1 == kelvin {
        return Some(v1);
    }
    let (t0, v0) = *points.get(above.checked_sub(1)?)?;
    let share = (kelvin - t0) / (t1 - t0);
    // this form never leaves the interval of its neighbours by rounding
    Some((v0 * (1.0 - share) + v1 * share).clamp(v0.min(v1), v0.max(v1)))
}
