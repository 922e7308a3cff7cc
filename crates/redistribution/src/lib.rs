//! Redistribution: from wire-bond pads to a routed bump array.
//!
//! A [`Problem`] (plain data in whole nanometres) goes in, an [`Outcome`] comes out: bumps with their nets, the
//! routed drawing, per-net lengths with their geodesic bounds, figures, and for what cannot be routed the named
//! cut or separating net. The study reads no files, prints nothing and knows no other study; the rule checker is a
//! crate of its own that shares no geometry with it.

pub mod assignment;
pub mod boundary;
pub mod capacity;
pub mod certificate;
mod draw;
mod figures;
pub mod geodesic;
mod grow;
mod layer;
mod layers;
pub mod metal;
pub mod octilinear;
mod openings;
pub mod outcome;
pub mod problem;
pub mod published;
pub mod route;
pub mod solve;
pub mod specimen;

pub use outcome::{Certificate, NetReport, Outcome, PlacedBump};
pub use problem::{AssignmentMode, KeepOut, Mesh, NetSpec, Pad, Plane, Problem, Rules, Site, Slots, Style};
pub use solve::{SolveError, solve};
