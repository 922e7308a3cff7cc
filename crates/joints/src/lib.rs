//! Solder joints between two parts: volume, shape, force and stiffness, margins, barrier and reflow.
//!
//! The free surface of a joint is a surface of constant mean curvature (gravity acts on the parts and, to first order,
//! on the solder's own weight), so its height, width and force follow from three smooth integrals; an array of joints
//! settles where their forces carry the part. Closed forms throughout; they stay as the hand check of any later solver.
//!
//! In reading order: [`Problem`] in, [`solve`](solve()), [`Outcome`] out; [`volume`] of solder, [`sphere`] without load,
//! [`surface`] of any outline, [`joint`] at a height, [`equilibrium`] of an array over its [`gap`], [`margins`],
//! [`compound`] and [`barrier`], the [`reflow`] and its [`classification`]; [`published`] checks.

pub mod barrier;
mod check;
pub mod classification;
pub mod compound;
pub mod equilibrium;
mod figures;
pub mod gap;
pub mod joint;
pub mod margins;
mod metal;
pub mod outcome;
pub mod problem;
pub mod published;
pub mod reflow;
mod settle;
mod solve;
pub mod sphere;
pub mod surface;
pub mod volume;

pub use check::Refusal;
pub use outcome::Outcome;
pub use problem::Problem;
pub use solve::solve;
