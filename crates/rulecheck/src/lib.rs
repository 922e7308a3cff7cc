//! An independent design-rule checker for redistribution drawings.
//!
//! [`check()`] holds a [`facedown_layout::Drawing`] against [`Rules`] and answers with a [`Report`]: every broken rule with
//! its place, the nets and a sentence, and the measures behind it (smallest space and width by layer, share of metal,
//! pieces of every net). It shares the plain drawing type with the router and nothing else: no geometry, no grid, no
//! notion of what the router meant.
//!
//! What is exact: spaces and clearances are decided in whole numbers on the drawn vertices. Widths, corners,
//! enclosures and shares of metal are taken on the merged outlines, on a grid of 1/16 nm. Arcs that are drawn as chords
//! make widths and enclosures read low by the sagitta; [`Rules::flattening`] says how much is forgiven.
//!
//! Limits: coordinates to 268 mm from the origin; what lies on an RDL layer is metal whatever its kind (except keep-outs);
//! two shapes of one net that touch in a point are one piece with a width of zero there.

mod bound;
mod boundary;
mod boxes;
mod check;
mod cluster;
mod connect;
mod corners;
mod density;
mod enclosure;
mod exact;
mod index;
mod joints;
mod merge;
mod naming;
mod plane;
mod published;
mod report;
mod rules;
mod sets;
mod spacing;
mod strip;
mod touching;
mod wide;
mod width;
mod words;

pub use check::check;
pub use published::published_checks;
pub use report::{LayerReport, Measured, NetPieces, Report, Rule, Violation};
pub use rules::{DensityWindow, KeepOut, Rules};
