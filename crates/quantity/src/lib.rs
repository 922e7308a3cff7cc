//! Quantities with units: text to SI and back, tolerances, and the integer layout coordinate.

mod nm;

pub use nm::Nm;
