//! What a flip-chip connection is electrically, beside the bond wire that it replaces, by closed forms.
//!
//! A net leaves the pad through a via, runs along a redistribution trace (or a plane) and goes down through a bump.
//! [`conductor`] holds resistances, [`inductance`] partial and loop inductances, [`mod@line`] the trace as a line over its
//! reference, [`capacitance`] wires and bumps, [`spreading`] the drop of a supply plane between its bumps,
//! [`sharing`] how bumps share a current. [`solve()`] puts them together for a whole die.
//!
//! [`problem::Problem`] is what it reads, [`outcome::Outcome`] what it gives. All is direct current or low frequency
//! unless a function says otherwise; SI units, temperatures in K.
//!
//! ```
//! let outcome = facedown_electrical::solve(&facedown_electrical::specimen::small()).unwrap();
//! let ratio = outcome.figures.iter().find(|f| f.name == "inductance_ratio").unwrap();
//! assert!(ratio.value > 10.0);
//! ```

mod bumped;
pub mod capacitance;
pub mod compare;
pub mod conductor;
mod figures;
pub mod inductance;
pub mod line;
mod nets;
pub mod outcome;
pub mod problem;
pub mod published;
pub mod sharing;
mod solve;
pub mod specimen;
pub mod spreading;
mod valid;

pub use outcome::Outcome;
pub use problem::Problem;
pub use solve::solve;
pub use valid::Refusal;
