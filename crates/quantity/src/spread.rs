//! What a written tolerance means: so many standard deviations, or hard limits.

use crate::toleranced::Tolerance;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// The meaning of every tolerance in a design file; three standard deviations unless the file says otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// The tolerance is this many standard deviations of a normal spread.
    Sigma(f64),
    /// Hard limits: anywhere inside is equally likely.
    Limits,
}

impl Default for Spread {
    fn default() -> Self {
        Spread::Sigma(3.0)
    }
}

impl Spread {
    /// Standard deviation in SI that the tolerance stands for.
    ///
    /// For limits `(plus + minus) / 2 / sqrt(3)`, the rectangular spread of JCGM 100:2008 (Guide to the expression
    /// of uncertainty in measurement), sections 4.3.7 and 4.3.8. An unequal tolerance counts by its half width.
    pub fn standard_deviation(self, tolerance: Tolerance) -> f64 {
        match self {
            Spread::Sigma(count) => tolerance.half_width() / count,
            Spread::Limits => tolerance.half_width() / 3f64.sqrt(),
        }
    }

    /// Right texts, for help and schema.
    pub const EXAMPLES: [&'static str; 4] = ["3 sigma", "2 sigma", "1 sigma", "limits"];
}

/// A text that is not a meaning of tolerances.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a meaning of tolerances; allowed: `3 sigma`, `2 sigma`, `1 sigma` or `limits`")]
pub struct SpreadError(pub String);

impl FromStr for Spread {
    type Err = SpreadError;
    fn from_str(text: &str) -> Result<Self, SpreadError> {
        let plain = text.trim().to_lowercase().replace('σ', "sigma");
        if plain == "limits" {
            return Ok(Spread::Limits);
        }
        plain
            .strip_suffix("sigma")
            .and_then(|count| count.trim().parse::<f64>().ok())
            .filter(|count| count.is_finite() && *count > 0.0)
            .map(Spread::Sigma)
            .ok_or_else(|| SpreadError(text.into()))
    }
}

impl fmt::Display for Spread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Spread::Sigma(count) => write!(f, "{count} sigma"),
            Spread::Limits => write!(f, "limits"),
        }
    }
}

impl Serialize for Spread {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Spread {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}
