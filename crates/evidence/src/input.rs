//! What every study refuses alike before it solves: a number outside what is physical, and an input that is not there.
//!
//! A study says in its own refusal what else it cannot solve, and takes these two over as they are.

/// A number outside what is physical; what is not a number lies outside of everything.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what} is {value}; it must be {allowed}")]
pub struct OutOfRange {
    /// What, in words.
    pub what: String,
    /// Its value in SI units.
    pub value: f64,
    /// What is allowed, with unit.
    pub allowed: &'static str,
}

impl OutOfRange {
    /// A number that was found outside.
    pub fn new(what: impl Into<String>, value: f64, allowed: &'static str) -> OutOfRange {
        OutOfRange { what: what.into(), value, allowed }
    }
}

/// An input that is not there.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what} is missing: {mend}")]
pub struct Missing {
    /// What, in words.
    pub what: String,
    /// What to do.
    pub mend: &'static str,
}

impl Missing {
    /// An input that was not found.
    pub fn new(what: impl Into<String>, mend: &'static str) -> Missing {
        Missing { what: what.into(), mend }
    }
}

/// Refuses a number below `least`, above `most`, or not a number; `allowed` says the range in words with its unit.
///
/// # Errors
/// [`OutOfRange`].
///
/// ```
/// use facedown_evidence::input::within;
/// let refused = within("the gap", f64::NAN, 1e-9, 1.0, "a length from 1 nm to 1 m").unwrap_err();
/// assert_eq!(refused.to_string(), "the gap is NaN; it must be a length from 1 nm to 1 m");
/// ```
pub fn within(
    what: impl Into<String>,
    value: f64,
    least: f64,
    most: f64,
    allowed: &'static str,
) -> Result<(), OutOfRange> {
    if (least..=most).contains(&value) { Ok(()) } else { Err(OutOfRange::new(what, value, allowed)) }
}

/// Refuses a property over temperature that is empty, has a temperature outside 1 K to 10000 K or not above the one before,
/// or a value outside `range`, which `allowed` says in words; `mend` is what to do about an empty one. Pairs of K and
/// value.
///
/// # Errors
/// [`Missing`] or [`OutOfRange`], as the refusal of the study.
pub fn table<E: From<OutOfRange> + From<Missing>>(
    what: &str,
    table: &[(f64, f64)],
    range: std::ops::RangeInclusive<f64>,
    allowed: &'static str,
    mend: &'static str,
) -> Result<(), E> {
    if table.is_empty() {
        return Err(Missing::new(what, mend).into());
    }
    for &(t, value) in table {
        within(format!("a temperature of {what}"), t, 1.0, 1e4, "from 1 K to 10000 K")?;
        within(what, value, *range.start(), *range.end(), allowed)?;
    }
    match table.windows(2).find(|w| w[1].0 <= w[0].0) {
        Some(w) => {
            Err(OutOfRange::new(format!("a temperature of {what}"), w[1].0, "above the one before it").into())
        }
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Debug, thiserror::Error)]
    enum Refusal {
        #[error(transparent)]
        OutOfRange(#[from] OutOfRange),
        #[error(transparent)]
        Missing(#[from] Missing),
    }

    #[test]
    fn ends_belong_to_a_range_and_nothing_else_does() {
        for (value, sound) in [(0.0, true), (1.0, true), (-1e-300, false), (1.0 + 1e-15, false)] {
            assert_eq!(within("x", value, 0.0, 1.0, "a share").is_ok(), sound, "{value}");
        }
        for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(within("x", value, 0.0, 1.0, "a share").is_err());
        }
    }

    #[test]
    fn a_table_is_refused_at_its_first_fault() {
        let check = |rows: &[(f64, f64)]| {
            table::<Refusal>("the modulus", rows, 1.0..=2.0, "from 1 to 2 Pa", "give one value")
                .map_err(|e| e.to_string())
        };
        assert_eq!(check(&[(300.0, 1.0), (400.0, 2.0)]), Ok(()));
        for (rows, words) in [
            (vec![], "the modulus is missing: give one value"),
            (vec![(0.0, 1.0)], "a temperature of the modulus is 0; it must be from 1 K to 10000 K"),
            (vec![(300.0, f64::NAN)], "the modulus is NaN; it must be from 1 to 2 Pa"),
            (
                vec![(300.0, 1.0), (300.0, 1.0)],
                "a temperature of the modulus is 300; it must be above the one before it",
            ),
        ] {
            assert_eq!(check(&rows), Err(words.to_owned()));
        }
    }
}
