//! Why a text is not a quantity, where in the text, and how to mend it.

use crate::table::KindTable;
use std::fmt;
use std::ops::Range;

/// What is wrong with the text.
#[derive(Debug, Clone, PartialEq)]
pub enum Problem {
    /// Nothing but spaces where a quantity or the size of a tolerance belongs.
    Empty,
    /// No number where one belongs.
    NoNumber,
    /// A number without a unit.
    NoUnit,
    /// A unit that no kind knows.
    UnknownUnit,
    /// A unit of another kind, named.
    UnitOf(&'static str),
    /// A temperature difference written in degC.
    DifferenceInCelsius,
    /// A decimal comma.
    DecimalComma,
    /// A thousands separator.
    ThousandsSeparator,
    /// Infinity or not-a-number.
    NotFinite,
    /// Too large for a floating number.
    TooLarge,
    /// Not zero, but too small for a floating number.
    TooSmall,
    /// More significant digits than are read.
    TooManyDigits,
    /// Below absolute zero.
    BelowAbsoluteZero,
    /// A tolerance that is negative or has both signs the same way.
    ToleranceSign,
    /// A tolerance in per cent of an absolute temperature.
    PercentOfTemperature,
    /// A tolerance where none is taken.
    ToleranceNotTaken,
    /// Text after the end of the quantity.
    Trailing,
}

/// A text that is not a quantity of the wanted kind.
///
/// The parts map one to one on a finding: [`code`](Self::code), [`what`](Self::what),
/// [`allowed`](Self::allowed), [`mend`](Self::mend) and the byte range [`span`](Self::span) inside the text.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub struct QuantityError {
    /// What is wrong.
    pub problem: Problem,
    /// Bytes of the text that are wrong.
    pub span: Range<usize>,
    /// Those bytes as text.
    pub found: String,
    /// The wanted kind.
    pub table: &'static KindTable,
    /// How to mend it.
    pub mend: Option<String>,
}

impl QuantityError {
    /// Stable code for a finding.
    pub fn code(&self) -> &'static str {
        match self.problem {
            Problem::Empty | Problem::NoNumber => "number-missing",
            Problem::NoUnit => "unit-missing",
            Problem::UnknownUnit => "unit-unknown",
            Problem::UnitOf(_) => "unit-wrong-kind",
            Problem::DifferenceInCelsius => "difference-in-degc",
            Problem::DecimalComma => "decimal-comma",
            Problem::ThousandsSeparator => "thousands-separator",
            Problem::NotFinite | Problem::TooLarge | Problem::TooSmall => "number-not-finite",
            Problem::TooManyDigits => "number-too-long",
            Problem::BelowAbsoluteZero => "below-absolute-zero",
            Problem::ToleranceSign | Problem::PercentOfTemperature => "tolerance-wrong",
            Problem::ToleranceNotTaken => "tolerance-not-taken",
            Problem::Trailing => "quantity-trailing",
        }
    }

    /// What is wrong, as a sentence without a full stop.
    pub fn what(&self) -> String {
        let (found, kind) = (&self.found, self.table.a_name);
        match &self.problem {
            Problem::Empty => format!("{kind} is missing here"),
            Problem::NoNumber => format!("`{found}` does not start with a number; {kind} belongs here"),
            Problem::NoUnit => format!("`{found}` has no unit; {kind} belongs here"),
            Problem::UnknownUnit => format!("`{found}` is not a unit of {kind}"),
            Problem::UnitOf(other) => format!("`{found}` is a unit of {other}; {kind} belongs here"),
            Problem::DifferenceInCelsius => {
                format!("`{found}` is the scale of absolute temperatures; a difference is written in K")
            }
            Problem::DecimalComma => format!("`{found}` has a decimal comma"),
            Problem::ThousandsSeparator => format!("`{found}` has a thousands separator"),
            Problem::NotFinite => format!("`{found}` is not a finite number"),
            Problem::TooLarge => format!("`{found}` is too large to be computed with"),
            Problem::TooSmall => format!("`{found}` is not zero but too small to be computed with"),
            Problem::TooManyDigits => {
                format!("`{found}` has more than {} significant digits", crate::number::MOST_DIGITS)
            }
            Problem::BelowAbsoluteZero => format!("`{found}` is below absolute zero"),
            Problem::ToleranceSign => {
                format!("`{found}` is not a tolerance: `+` then a size, or `-` then a size")
            }
            Problem::PercentOfTemperature => {
                format!("`{found}`: a per cent of an absolute temperature has no clear meaning")
            }
            Problem::ToleranceNotTaken => format!("`{found}`: no tolerance is taken here"),
            Problem::Trailing => format!("`{found}` does not belong to the quantity"),
        }
    }

    /// What is allowed.
    pub fn allowed(&self) -> String {
        format!(
            "{} in {}, for instance `{}`",
            self.table.a_name,
            self.table.unit_list(),
            self.table.examples.first().copied().unwrap_or("")
        )
    }

    /// How to mend it, where a mend is known.
    pub fn mend(&self) -> Option<&str> {
        self.mend.as_deref()
    }
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; allowed: {}", self.what(), self.allowed())?;
        if let Some(mend) = &self.mend {
            write!(f, "; {mend}")?;
        }
        Ok(())
    }
}
