//! One number of one kind, in SI inside.

use crate::error::{Problem, QuantityError};
use crate::kinds::kind;
use crate::nm::Nm;
use crate::reading::read_as;
use crate::table::{Kind, Linear, Scale};
use crate::writing::{write_as, write_in};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::cmp::Ordering;
use std::fmt;
use std::marker::PhantomData;
use std::ops::{Add, Div, Mul, Neg, Sub};
use std::str::FromStr;

/// A quantity of kind `K`: a finite SI value. Serialises as text with its unit.
#[derive(Clone, Copy, PartialEq)]
pub struct Quantity<K: Kind> {
    si: f64,
    kind: PhantomData<K>,
}

impl<K: Kind> Quantity<K> {
    /// From a value in the SI unit of its kind.
    pub const fn from_si(si: f64) -> Self {
        Quantity { si, kind: PhantomData }
    }

    /// The value in the SI unit of its kind.
    pub const fn si(self) -> f64 {
        self.si
    }

    /// Reads text such as `75 um`; a tolerance is refused here ([`crate::Toleranced::parse`] takes one).
    ///
    /// # Errors
    /// [`QuantityError`] with the byte range of the wrong part.
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let read = read_as(text, K::TABLE)?;
        if read.tolerance.is_some() {
            let value = Self::from_si(read.si).to_string();
            return Err(QuantityError {
                problem: Problem::ToleranceNotTaken,
                span: 0..text.len(),
                found: text.to_string(),
                table: K::TABLE,
                mend: Some(format!("write `{value}`")),
            });
        }
        Ok(Self::from_si(read.si))
    }

    /// Text in a given unit (`um`), or `None` when the kind has no such unit or no exact text is short.
    pub fn text_in(self, unit: &str) -> Option<String> {
        write_in(self.si, K::TABLE, unit)
    }

    pub(crate) fn from_unit(number: f64, unit: &str) -> Self {
        let si = match K::TABLE.unit(unit).map(|u| u.scale) {
            Some(Scale::Celsius) => number + 273.15,
            // dividing by a whole power of ten is correctly rounded, multiplying by its inverse is not
            Some(Scale::Decimal { mantissa, exponent }) if (-22..0).contains(&exponent) => {
                number * mantissa as f64 / 10f64.powi(-exponent)
            }
            Some(scale) => number * scale.factor(),
            None => f64::NAN,
        };
        Self::from_si(si)
    }

    pub(crate) fn in_unit(self, unit: &str) -> f64 {
        match K::TABLE.unit(unit).map(|u| u.scale) {
            Some(Scale::Celsius) => self.si - 273.15,
            Some(Scale::Decimal { mantissa, exponent }) if (-22..0).contains(&exponent) => {
                self.si * 10f64.powi(-exponent) / mantissa as f64
            }
            Some(scale) => self.si / scale.factor(),
            None => f64::NAN,
        }
    }
}

impl Quantity<kind::Length> {
    /// The nearest whole nanometre, or `None` beyond what a layout can hold (1000 km).
    pub fn to_nm(self) -> Option<Nm> {
        let count = (self.m() * 1e9).round();
        (count.abs() < 1e15).then_some(Nm(count as i64))
    }

    /// The length as whole nanometres, or `None` when it is not a whole number of them.
    ///
    /// A length read from text counts as whole exactly when its text does (`0.1 um` is 100 nm), up to the
    /// resolution of an `f64`.
    pub fn exact_nm(self) -> Option<Nm> {
        let nearest = self.to_nm()?;
        (nearest.m() == self.m()).then_some(nearest)
    }
}

impl From<Nm> for Quantity<kind::Length> {
    fn from(nm: Nm) -> Self {
        Quantity::from_si(nm.m())
    }
}

impl<K: Kind> PartialOrd for Quantity<K> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        self.si.partial_cmp(&other.si)
    }
}

impl<K: Kind> fmt::Debug for Quantity<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self}")
    }
}

impl<K: Kind> fmt::Display for Quantity<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&write_as(self.si, K::TABLE))
    }
}

impl<K: Kind> FromStr for Quantity<K> {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        Self::parse(text)
    }
}

impl<K: Kind> Serialize for Quantity<K> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de, K: Kind> Deserialize<'de> for Quantity<K> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(&text).map_err(serde::de::Error::custom)
    }
}

impl<K: Linear> Add for Quantity<K> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::from_si(self.si + other.si)
    }
}
impl<K: Linear> Sub for Quantity<K> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::from_si(self.si - other.si)
    }
}
impl<K: Linear> Neg for Quantity<K> {
    type Output = Self;
    fn neg(self) -> Self {
        Self::from_si(-self.si)
    }
}
impl<K: Linear> Mul<f64> for Quantity<K> {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::from_si(self.si * factor)
    }
}
impl<K: Linear> Div<f64> for Quantity<K> {
    type Output = Self;
    fn div(self, divisor: f64) -> Self {
        Self::from_si(self.si / divisor)
    }
}
/// The ratio of two quantities of one kind.
impl<K: Linear> Div for Quantity<K> {
    type Output = f64;
    fn div(self, other: Self) -> f64 {
        self.si / other.si
    }
}

impl Sub for Quantity<kind::Temperature> {
    type Output = Quantity<kind::TemperatureDifference>;
    fn sub(self, other: Self) -> Self::Output {
        Quantity::from_si(self.si - other.si)
    }
}
impl Add<Quantity<kind::TemperatureDifference>> for Quantity<kind::Temperature> {
    type Output = Self;
    fn add(self, difference: Quantity<kind::TemperatureDifference>) -> Self {
        Self::from_si(self.si + difference.si)
    }
}
impl Sub<Quantity<kind::TemperatureDifference>> for Quantity<kind::Temperature> {
    type Output = Self;
    fn sub(self, difference: Quantity<kind::TemperatureDifference>) -> Self {
        Self::from_si(self.si - difference.si)
    }
}
