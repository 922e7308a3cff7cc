//! What a kind of quantity is: its name, its units and how it is written.

use std::fmt::Debug;

/// How a number in a unit becomes SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scale {
    /// SI value = number x `mantissa` x 10^`exponent`, exact in decimal.
    Decimal {
        /// Whole-number part of the factor.
        mantissa: u64,
        /// Power of ten of the factor.
        exponent: i32,
    },
    /// SI value = number x factor, for factors that no decimal gives exactly (degrees, per mole).
    Factor(f64),
    /// SI value = number + 273.15, exact in decimal: the Celsius scale.
    Celsius,
}

impl Scale {
    /// SI size of a difference of one unit.
    pub fn factor(self) -> f64 {
        match self {
            Scale::Decimal { mantissa, exponent } => {
                format!("{mantissa}e{exponent}").parse().unwrap_or(f64::NAN)
            }
            Scale::Factor(factor) => factor,
            Scale::Celsius => 1.0,
        }
    }
}

/// One unit of a kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// The unit as it is written, in ASCII (`um`, `W/mK`).
    pub name: &'static str,
    /// Other spellings that are read.
    pub also: &'static [&'static str],
    /// Its size in SI.
    pub scale: Scale,
    /// True when writing may choose it.
    pub written: bool,
}

/// Everything that reading, writing and the JSON Schema need to know of one kind.
#[derive(Debug, PartialEq)]
pub struct KindTable {
    /// Name with its article for sentences (`a length`).
    pub a_name: &'static str,
    /// The plain name (`length`).
    pub name: &'static str,
    /// Its units, smallest first among those that are written.
    pub units: &'static [Unit],
    /// Its customary unit, proposed where a number has none.
    pub customary: &'static str,
    /// Texts that are right, for help and schema.
    pub examples: &'static [&'static str],
    /// Smallest SI value that makes sense by definition (absolute zero).
    pub least: Option<f64>,
    /// Kind of the tolerance; a tolerance of an absolute temperature is a difference.
    pub tolerance: Option<&'static KindTable>,
}

impl KindTable {
    /// The table in which tolerances of this kind are read.
    pub fn of_tolerance(&'static self) -> &'static KindTable {
        self.tolerance.unwrap_or(self)
    }

    /// The units of this kind as a list for messages: `nm, um, mm`.
    pub fn unit_list(&self) -> String {
        self.units.iter().map(|u| u.name).collect::<Vec<_>>().join(", ")
    }

    /// The unit with this spelling, typographic variants included.
    pub fn unit(&self, text: &str) -> Option<&'static Unit> {
        let units: &'static [Unit] = self.units;
        // nearly every text is written as the table writes it; only others pay for the comparison without signs
        if let Some(unit) = units.iter().find(|u| u.name == text) {
            return Some(unit);
        }
        let wanted = plain_unit(text);
        units.iter().find(|u| plain_unit(u.name) == wanted || u.also.iter().any(|a| plain_unit(a) == wanted))
    }
}

/// A kind of quantity, as a type: [`crate::kind::Length`] and its neighbours.
pub trait Kind: Debug + Clone + Copy + PartialEq + Send + Sync + 'static {
    /// Its table.
    const TABLE: &'static KindTable;
}

/// Kinds whose values add and scale; an absolute temperature does not.
pub trait Linear: Kind {}

/// A unit without spaces, products, brackets and typographic signs, so that spellings compare equal.
pub(crate) fn plain_unit(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '·' | '⋅' | '*' | '(' | ')' | '^' | '\t' => {}
            'µ' | 'μ' => plain.push('u'),
            'Ω' | '\u{2126}' => plain.push_str("ohm"),
            '°' | 'º' => plain.push_str("deg"),
            '℃' => plain.push_str("degC"),
            '²' => plain.push('2'),
            '³' => plain.push('3'),
            '√' => plain.push_str("sqrt"),
            '□' => plain.push_str("sq"),
            '⁻' | '−' => plain.push('-'),
            '¹' => plain.push('1'),
            c => plain.push(c),
        }
    }
    plain
}
