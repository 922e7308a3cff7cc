//! How a flip-chip package bends between reflow and service, and what that does to die and underfill.
//!
//! Substrate, dies and what lies between them are one laminated plate whose section changes from place to place; a
//! ring or lid is a second plate on springs of glue and thermal interface ([`plates`]). Every part strains from the
//! temperature of its birth, stage by stage. The ends of a die that slip on its joints, and the shear and peel there,
//! come from [`shear_lag`]; [`section`], [`strip`] and [`annular`] are the closed forms beside it.
//!
//! [`problem::Problem`] is what the study reads, [`outcome::Outcome`] what it gives. A solve takes some tenths of a
//! second, a few seconds for packages without symmetry. Thin plates do not shear through their thickness and
//! deflections are small; against solid models of 27-node bricks a bare package and one with an
//! interposer came out within 2 %, one with a ring within 4 % and one with a lid within a tenth of the die's bow.
//!
//! ```
//! let outcome = facedown_warpage::solve(&facedown_warpage::specimen::bare()).unwrap();
//! let room = outcome.figures.iter().find(|f| f.name == "warpage_room").unwrap();
//! assert!(room.value > 0.0, "convex at room temperature");
//! ```

pub mod annular;
pub mod face;
pub mod grid;
mod hand;
mod history;
mod judge;
pub mod limits;
pub mod mixture;
mod neighbour;
pub mod outcome;
pub mod plates;
pub mod problem;
pub mod property;
pub mod published;
pub mod section;
pub mod shape;
pub mod shear_lag;
mod solve;
pub mod specimen;
mod stack;
pub mod strength;
pub mod strip;
mod valid;

pub use neighbour::{Sides, Trace};
pub use outcome::Outcome;
pub use problem::Problem;
pub use solve::{solve, solve_near, solve_traced};
pub use valid::{Refusal, check};
