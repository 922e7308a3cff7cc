//! Where the heat of a flip-chip package goes, by closed forms.
//!
//! The package on its board is a small network: each carrier (board, substrate, interposer, lid) is a compound plate
//! that knows how warm every patch of its face becomes for heat in any other ([`plate`]); joints, thermal interfaces
//! and films join the plates ([`mixing`], [`interface`], [`film`]), and a small dense system shares the heat out
//! ([`network`]). Films and conductivities follow the temperatures until both agree ([`surroundings`]). The standard
//! surroundings of JESD51 are solved one by one for the thermal metrics ([`solve()`]).
//!
//! [`problem::Problem`] is what it reads, [`outcome::Outcome`] what it gives. A solve takes some tens of milliseconds.
//! Sides of plates are adiabatic, and heat enters a plate evenly over each patch, which puts means a few percent high
//! where a die is a good conductor on a poor one.
//!
//! ```
//! let outcome = facedown_heat::solve(&facedown_heat::specimen::bare()).unwrap();
//! let theta_ja = outcome.figures.iter().find(|f| f.name == "theta_ja").unwrap();
//! assert!(theta_ja.value > 5.0 && theta_ja.value < 40.0);
//! ```

pub mod case_resistance;
mod described;
pub mod film;
pub mod fin;
mod following;
mod hot_spot;
pub mod interface;
mod judge;
mod metrics;
pub mod mixing;
pub mod network;
pub mod outcome;
mod pair;
mod paths;
#[cfg(test)]
mod plain_packages;
pub mod plate;
pub mod problem;
pub mod published;
pub mod pulses;
pub mod separation;
pub mod sheet;
pub mod solid;
mod solve;
mod solved;
pub mod specimen;
pub mod spreading;
pub mod stack;
pub mod standards;
pub mod surroundings;
pub mod transient_path;
mod valid;
pub mod wall;

pub use outcome::Outcome;
pub use problem::Problem;
pub use solve::{service, solve};
pub use valid::Refusal;
