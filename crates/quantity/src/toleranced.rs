//! A quantity with its tolerance.

use crate::error::QuantityError;
use crate::quantity::Quantity;
use crate::reading::read_as;
use crate::spread::Spread;
use crate::table::Kind;
use crate::writing::write_as;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// A tolerance as two sizes, in SI, both at least zero: the value may be `plus` higher and `minus` lower.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// How much higher.
    pub plus: f64,
    /// How much lower.
    pub minus: f64,
}

impl Tolerance {
    /// Half the width of the whole band, in SI.
    pub fn half_width(self) -> f64 {
        f64::midpoint(self.plus, self.minus)
    }
}

/// A quantity of kind `K` with an optional tolerance: `75 um +- 5 um`, `75 um +- 3 %`, `75 um +5 um -3 um`.
///
/// A per cent means of the value, except on a fraction, where it means percentage points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Toleranced<K: Kind> {
    value: Quantity<K>,
    tolerance: Option<Tolerance>,
}

impl<K: Kind> Toleranced<K> {
    /// A value without a tolerance.
    pub const fn exact(value: Quantity<K>) -> Self {
        Toleranced { value, tolerance: None }
    }

    /// A value with a tolerance; sizes are taken without their sign.
    pub fn new(value: Quantity<K>, tolerance: Option<Tolerance>) -> Self {
        let tolerance = tolerance.map(|t| Tolerance { plus: t.plus.abs(), minus: t.minus.abs() });
        Toleranced { value, tolerance }
    }

    /// Reads text such as `75 um +- 5 um`.
    ///
    /// # Errors
    /// [`QuantityError`] with the byte range of the wrong part.
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let read = read_as(text, K::TABLE)?;
        Ok(Toleranced { value: Quantity::from_si(read.si), tolerance: read.tolerance })
    }

    /// The value itself.
    pub const fn value(self) -> Quantity<K> {
        self.value
    }

    /// The value in SI.
    pub const fn si(self) -> f64 {
        self.value.si()
    }

    /// The tolerance, where one is written.
    pub const fn tolerance(self) -> Option<Tolerance> {
        self.tolerance
    }

    /// Standard deviation in SI under a meaning of the tolerance; zero without one.
    pub fn standard_deviation(self, spread: Spread) -> f64 {
        self.tolerance.map_or(0.0, |t| spread.standard_deviation(t))
    }

    /// Lowest and highest value of the tolerance band, in SI.
    pub fn band(self) -> (f64, f64) {
        let t = self.tolerance.unwrap_or(Tolerance { plus: 0.0, minus: 0.0 });
        (self.si() - t.minus, self.si() + t.plus)
    }
}

impl<K: Kind> From<Quantity<K>> for Toleranced<K> {
    fn from(value: Quantity<K>) -> Self {
        Toleranced::exact(value)
    }
}

impl<K: Kind> fmt::Display for Toleranced<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let table = K::TABLE.of_tolerance();
        match self.tolerance {
            None => write!(f, "{}", self.value),
            Some(t) if t.plus == t.minus => write!(f, "{} +- {}", self.value, write_as(t.plus, table)),
            Some(t) => {
                write!(f, "{} +{} -{}", self.value, write_as(t.plus, table), write_as(t.minus, table))
            }
        }
    }
}

impl<K: Kind> FromStr for Toleranced<K> {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        Self::parse(text)
    }
}

impl<K: Kind> Serialize for Toleranced<K> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de, K: Kind> Deserialize<'de> for Toleranced<K> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(&text).map_err(serde::de::Error::custom)
    }
}
