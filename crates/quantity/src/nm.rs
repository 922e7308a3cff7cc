//! The layout coordinate: whole nanometres in an `i64`, a type of its own.
//!
//! Layout geometry must be exact and byte-stable, so it never passes through `f64` except by the named
//! conversions below, which hold what they give within plus/minus 1,000 km. `i64` holds 9,200 times that, so sums of
//! lengths from a file cannot overflow before the checks have refused such a design.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// A length or coordinate in whole nanometres.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Nm(pub i64);

impl Nm {
    /// Zero length.
    pub const ZERO: Nm = Nm(0);
    /// The largest length that a conversion from a floating number gives.
    pub const MOST: Nm = Nm(1_000_000_000_000_000);

    /// Whole micrometres.
    pub const fn from_um(um: i64) -> Nm {
        Nm(um * 1000)
    }

    /// The nearest whole nanometre to a length in micrometres, held within [`Nm::MOST`].
    pub fn round_um(um: f64) -> Nm {
        Nm::round(um * 1e3)
    }

    /// The nearest whole nanometre to a length in metres, held within [`Nm::MOST`].
    pub fn round_m(metres: f64) -> Nm {
        Nm::round(metres * 1e9)
    }

    fn round(nanometres: f64) -> Nm {
        Nm((nanometres.round() as i64).clamp(-Nm::MOST.0, Nm::MOST.0))
    }

    /// The length in micrometres.
    pub fn um(self) -> f64 {
        self.0 as f64 / 1e3
    }

    /// The length in metres.
    pub fn m(self) -> f64 {
        self.0 as f64 / 1e9
    }

    /// The length in nanometres as a floating number, for geometry kernels.
    pub fn nm(self) -> f64 {
        self.0 as f64
    }

    /// Absolute value.
    pub fn abs(self) -> Nm {
        Nm(self.0.abs())
    }
}

impl fmt::Display for Nm {
    /// Writes micrometres without trailing zeros, for instance `12.5 um`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let a = self.0.unsigned_abs();
        let (whole, rest) = (a / 1000, a % 1000);
        if rest == 0 {
            write!(f, "{sign}{whole} um")
        } else {
            let digits = format!("{rest:03}");
            write!(f, "{sign}{whole}.{} um", digits.trim_end_matches('0'))
        }
    }
}

impl Add for Nm {
    type Output = Nm;
    fn add(self, other: Nm) -> Nm {
        Nm(self.0 + other.0)
    }
}
impl Sub for Nm {
    type Output = Nm;
    fn sub(self, other: Nm) -> Nm {
        Nm(self.0 - other.0)
    }
}
impl Neg for Nm {
    type Output = Nm;
    fn neg(self) -> Nm {
        Nm(-self.0)
    }
}
impl Mul<i64> for Nm {
    type Output = Nm;
    fn mul(self, factor: i64) -> Nm {
        Nm(self.0 * factor)
    }
}
impl Div<i64> for Nm {
    type Output = Nm;
    fn div(self, divisor: i64) -> Nm {
        Nm(self.0 / divisor)
    }
}
impl AddAssign for Nm {
    fn add_assign(&mut self, other: Nm) {
        self.0 += other.0;
    }
}
impl SubAssign for Nm {
    fn sub_assign(&mut self, other: Nm) {
        self.0 -= other.0;
    }
}
impl Sum for Nm {
    fn sum<I: Iterator<Item = Nm>>(iter: I) -> Nm {
        Nm(iter.map(|n| n.0).sum())
    }
}

#[cfg(test)]
mod tests {
    use super::Nm;

    #[test]
    fn display_trims_zeros_and_keeps_sign() {
        assert_eq!(Nm(12_500).to_string(), "12.5 um");
        assert_eq!(Nm(-40).to_string(), "-0.04 um");
        assert_eq!(Nm::from_um(270).to_string(), "270 um");
    }

    #[test]
    fn lengths_beyond_all_reason_can_still_be_added() {
        let far = Nm::round_m(1e300);
        assert_eq!(far, Nm::MOST);
        assert_eq!(far + far + Nm::round_um(-1e300), Nm::MOST);
        assert_eq!(Nm::round_m(f64::NAN), Nm::ZERO);
    }
}
