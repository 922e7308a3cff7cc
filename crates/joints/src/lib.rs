//! Solder joints between two parts: volume, shape, force and stiffness, margins, barrier and reflow.
//!
//! The free surface of a joint is a surface of constant mean curvature (gravity acts on the parts and, to first order,
//! on the solder's own weight), so its height, width and force follow from three smooth integrals; an array of joints
//! settles where their forces carry the part. Closed forms throughout; they stay as the hand check of any later solver.
//!
//! In reading order: [`Problem`] in, `solve`, [`Outcome`] out; [`volume`] of solder, [`sphere`] without load,
//! `surface` of any profile, `joint` under a load, the array, margins, `compound` and `barrier`, the reflow
//! and its `classification`.

pub mod equilibrium;
pub mod gap;
pub mod joint;
pub mod margins;
pub mod outcome;
pub mod problem;
pub mod sphere;
pub mod surface;
pub mod volume;

pub use outcome::Outcome;
pub use problem::Problem;
