//! Quantities with units: text to SI and back, tolerances, and the integer layout coordinate.
//!
//! A design file writes every quantity with its unit and, where it matters, its tolerance
//! (`"75 um +- 5 um"`, `"4.5 W +- 3 %"`). [`Quantity`] is one number of one [`Kind`], in SI inside;
//! [`Toleranced`] is a quantity with its tolerance; [`Spread`] says what the tolerance means. Reading is exact:
//! decimal text times a decimal unit is rounded once, to the nearest `f64`. Writing gives the fewest digits
//! that read back to the same number. [`Nm`] is the layout coordinate in whole nanometres.
//!
//! ```
//! use facedown_quantity::{Length, Nm, Temperature, Toleranced, kind};
//! let height: Toleranced<kind::Length> = Toleranced::parse("75 um +- 5 um").unwrap();
//! assert_eq!(height.value().si(), 75e-6);
//! assert_eq!(Length::parse("0.1 um").unwrap().exact_nm(), Some(Nm(100)));
//! assert_eq!(Temperature::parse("260 degC").unwrap().si(), 533.15);
//! assert!(Length::parse("75").is_err());
//! ```
//!
//! # What is accepted
//! A decimal number (`75`, `0.075`, `.5`, `1e-3`), then the unit, with or without a space. Typographic
//! variants are read (`µm`, `°C`, `Ω`, `W/(m·K)`, `mm²`, `±`) and never written. Thousands separators,
//! decimal commas, infinities, not-a-number, and numbers too large or too small for an `f64` are refused with a
//! hint. Each number carries its own unit: `75 +- 5 um` is refused with the mend `75 um +- 5 um`.

pub mod constants;
mod error;
mod kinds;
mod nm;
mod number;
mod quantity;
mod reading;
mod schema;
mod spread;
mod table;
mod toleranced;
mod writing;

pub use error::{Problem, QuantityError};
pub use kinds::*;
pub use nm::Nm;
pub use quantity::Quantity;
pub use reading::{Read, read_as};
pub use schema::{pattern, schema_of};
pub use spread::Spread;
pub use table::{Kind, KindTable, Linear, Scale, Unit};
pub use toleranced::{Tolerance, Toleranced};
pub use writing::{write_as, write_in};
