//! What a figure carries and what a published check is.
//!
//! Every study reports [`Figure`]s (value, unit, numerical error, hand check, basis) and offers its
//! published [`Check`]s; nothing here knows any physics. The types are plain data so that the pipeline can
//! cache them and the faces can print them.
//!
//! ```
//! use facedown_evidence::{Basis, Check};
//! let row = Check::relative("gap-1", "redistribution", "plane geometry", Basis::Published, 500.0, 500.0, 1e-9);
//! assert!(row.pass());
//! ```

pub mod input;
pub mod published;

use serde::{Deserialize, Serialize};

/// Where an expected value or a rule comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Basis {
    /// A published standard, paper, handbook table or data sheet, named in the source.
    #[serde(rename = "published")]
    Published,
    /// A fact of the trade for which no source was found.
    #[serde(rename = "common practice")]
    CommonPractice,
    /// Recalled by the authors and not read again.
    #[serde(rename = "from memory")]
    FromMemory,
    /// Computed with a general-purpose reference library, named in the source.
    #[serde(rename = "reference library")]
    ReferenceLibrary,
}

impl Basis {
    /// The words that tables and JSON use.
    pub fn words(self) -> &'static str {
        match self {
            Basis::Published => "published",
            Basis::CommonPractice => "common practice",
            Basis::FromMemory => "from memory",
            Basis::ReferenceLibrary => "reference library",
        }
    }
}

/// How the error of a [`Check`] is measured against its tolerance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Measure {
    /// `|computed - expected|`, in the unit of the values.
    Absolute,
    /// `|computed - expected| / |expected|`, dimensionless.
    Relative,
}

/// One row of the table of published checks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Check {
    /// Short stable name, unique in the table.
    pub id: String,
    /// The study or room that computes the value.
    pub study: String,
    /// The published source, or in plain words what the value rests on.
    pub source: String,
    /// What kind of source that is.
    pub basis: Basis,
    /// The value that the source gives.
    pub expected: f64,
    /// The value that this program computes.
    pub computed: f64,
    /// How the error is measured.
    pub measure: Measure,
    /// The largest error that the source allows.
    pub tolerance: f64,
}

impl Check {
    /// A row whose error is `|computed - expected|`.
    pub fn absolute(
        id: &str,
        study: &str,
        source: &str,
        basis: Basis,
        expected: f64,
        computed: f64,
        tolerance: f64,
    ) -> Self {
        Check {
            id: id.into(),
            study: study.into(),
            source: source.into(),
            basis,
            expected,
            computed,
            measure: Measure::Absolute,
            tolerance,
        }
    }

    /// A row whose error is `|computed - expected| / |expected|`; `expected` must not be zero.
    pub fn relative(
        id: &str,
        study: &str,
        source: &str,
        basis: Basis,
        expected: f64,
        computed: f64,
        tolerance: f64,
    ) -> Self {
        Check {
            measure: Measure::Relative,
            ..Check::absolute(id, study, source, basis, expected, computed, tolerance)
        }
    }

    /// The error in the row's own measure; NaN when the computed value is not a number.
    pub fn error(&self) -> f64 {
        let difference = (self.computed - self.expected).abs();
        match self.measure {
            Measure::Absolute => difference,
            Measure::Relative => difference / self.expected.abs(),
        }
    }

    /// True when the error is a number not above the tolerance.
    pub fn pass(&self) -> bool {
        self.error() <= self.tolerance
    }
}

/// How a figure was obtained.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// Found by a solver or an exact algorithm, checked as its basis says.
    Solved,
    /// A closed form.
    Hand,
}

/// A reported number with its evidence.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// Name inside its study, for instance `wirelength_ratio`.
    pub name: String,
    /// The value in `unit`; always finite.
    pub value: f64,
    /// Unit in the writing of the design file (`um`, `K/W`); empty for a count or a ratio.
    pub unit: String,
    /// Numerical error in `unit`; zero for an exact count, absent where none is known.
    pub error: Option<f64>,
    /// The closed-form hand check in `unit`.
    pub hand: Option<f64>,
    /// How the number was obtained and from what source, in one line.
    pub basis: String,
    /// Solver or closed form.
    pub status: Status,
    /// A sentence that says which validity range of the method the input leaves, where it does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outside: Option<String>,
    /// Lowest and highest value in `unit` where published constants disagree and several sets were run, or where what the
    /// value rests on is known between limits only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub between: Option<[f64; 2]>,
}

impl Figure {
    /// A figure by a closed form, without a numerical error of its own.
    pub fn hand(name: &str, value: f64, unit: &str, basis: &str) -> Figure {
        Figure {
            name: name.into(),
            value,
            unit: unit.into(),
            error: None,
            hand: None,
            basis: basis.into(),
            status: Status::Hand,
            outside: None,
            between: None,
        }
    }

    /// A figure by a solver or an exact algorithm.
    pub fn solved(name: &str, value: f64, unit: &str, basis: &str) -> Figure {
        Figure { status: Status::Solved, ..Figure::hand(name, value, unit, basis) }
    }

    /// The same figure with what it leaves of its validity range; a second sentence is joined to the first.
    pub fn outside(mut self, sentence: &str) -> Figure {
        self.outside = Some(match self.outside {
            Some(first) => format!("{first} {sentence}"),
            None => sentence.into(),
        });
        self
    }

    /// The same figure with the lowest and highest value of several published sets of constants or limits, its own among
    /// them.
    pub fn between(mut self, low: f64, high: f64) -> Figure {
        self.between = Some([low.min(high).min(self.value), low.max(high).max(self.value)]);
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(expected: f64, computed: f64) -> Check {
        Check::relative("x", "y", "z", Basis::Published, expected, computed, 0.01)
    }

    #[test]
    fn a_check_passes_up_to_its_tolerance_and_never_on_nonsense() {
        assert!(row(100.0, 101.0).pass() && row(100.0, 99.0).pass() && !row(100.0, 101.1).pass());
        assert!(row(-100.0, -101.0).pass() && !row(-100.0, 101.0).pass());
        assert!(!row(100.0, f64::NAN).pass() && !row(f64::NAN, 100.0).pass() && !row(0.0, 0.0).pass());
        assert!(Check { measure: Measure::Absolute, ..row(0.0, 0.005) }.pass());
        assert!(!row(100.0, f64::INFINITY).pass());
    }

    #[test]
    fn a_span_of_sets_holds_the_value() {
        let figure = Figure::hand("x", 3.0, "um", "y").between(2.0, 1.0).outside("A.").outside("B.");
        assert_eq!(figure.between, Some([1.0, 3.0]));
        assert_eq!(figure.outside.as_deref(), Some("A. B."));
    }

    #[test]
    fn every_basis_has_the_words_of_the_tables() {
        for (basis, words) in [
            (Basis::Published, "published"),
            (Basis::CommonPractice, "common practice"),
            (Basis::FromMemory, "from memory"),
            (Basis::ReferenceLibrary, "reference library"),
        ] {
            assert_eq!(basis.words(), words);
        }
    }
}
