//! Clean, wet and fill, by the closed forms that an engineer does on paper.
//!
//! From contact angles comes the surface energy of die and substrate ([`surface`]); plasma and waiting change the
//! angles ([`treatment`]); from the angles and the bumps come the driving pressure and the permeability ([`flow`]);
//! with the viscosity over temperature and cure ([`cure`]) come the fill time and its margin to the gel; from the
//! geometry come volume, fillet and passes ([`volume`]). [`solve()`] takes a [`Problem`] and gives an [`Outcome`] with
//! figures, what limits them, and a process sheet. Entry cost: a few milliseconds.
//!
//! Readings come from tables ([`readings`]: a map of the face and a control chart), from the size or the picture of a drop
//! ([`mod@drop`]); voids are counted in an acoustic micrograph ([`micrograph`]).
//!
//! Known limits: fronts are averages over a bump cell; patterns other than lines use one uniform medium; voids by the
//! race of the bump-free rim are an estimate with its range. A patchy substrate and real reservoirs need the solver in
//! [`front`], which follows the liquid on a grid over the bump map.
//!
//! ```
//! use facedown_underfill::{solve, specimen};
//! let outcome = solve(&specimen::wetting()).unwrap();
//! assert!(outcome.fill_time_s.unwrap() > 0.0);
//! ```

pub mod cleaning;
pub mod contamination;
pub mod cure;
pub mod drop;
mod faces;
pub mod fillet;
pub mod filling;
pub mod flow;
pub mod front;
mod limits;
pub mod measured;
pub mod micrograph;
mod nearest;
mod outcome;
pub mod planning;
pub mod problem;
pub mod published;
pub mod readings;
mod recipe;
mod report;
pub mod search;
mod shear;
mod solve;
pub mod specimen;
pub mod surface;
pub mod treatment;
pub mod volume;
pub mod window;

pub use nearest::median_nearest;
pub use outcome::{CurePoint, FaceAngle, FaceEnergy, FrontPoint, Outcome, SheetLine};
pub use problem::{
    Angle, BumpField, BumpShape, Bumps, CureStep, Die, Dispense, Drop, Edge, Extent, Face, Fillet, Lattice,
    Liquid, Measured, Pattern, Plasma, PlasmaGas, Problem, Reading, ResiduePatch, Search, Thinning, Windows,
};
pub use solve::{Refusal, solve, solve_while};
