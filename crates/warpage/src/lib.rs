//! How a flip-chip package bends between reflow and service, and what that does to die and underfill.
//!
//! [`problem::Problem`] is what the study reads, [`outcome::Outcome`] what it gives, [`Refusal`] what it says to input
//! that cannot be computed.

pub mod outcome;
pub mod problem;
mod valid;

pub use outcome::Outcome;
pub use problem::Problem;
pub use valid::{Refusal, check};
