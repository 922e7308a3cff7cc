//! What a good package costs: dies from a wafer, their yield and test, and the steps that turn them into a package.
//!
//! The study is bookkeeping with published yield models. Prices and step yields are the user's own table; where the
//! design gives none, defaults marked invented stand in, and every figure that rests on them says so. Money has no
//! unit here: it is whatever the table is written in.
//!
//! - [`yields`]: defect yield of a die, dies on a wafer, what a test lets through;
//! - [`flow`]: money and yield along the steps, scrap included;
//! - [`solve()`]: the whole study.
//!
//! ```
//! use facedown_cost::yields::{Model, die_yield};
//! assert!((die_yield(Model::Poisson, 1e-4, 1e4) - (-1.0_f64).exp()).abs() < 1e-15);
//! ```

pub mod flow;
pub mod outcome;
pub mod problem;
pub mod published;
pub mod solve;
pub mod yields;

pub use outcome::Outcome;
pub use problem::{Die, Problem, Step};
pub use solve::{Refusal, solve};
