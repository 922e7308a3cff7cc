//! Discrete optimisation on graphs, matrices and sequences: assignment, flows, matchings, chord diagrams.
//!
//! Knows no packaging: rows, columns, nodes, arcs and chords only, so that every routine can be tested against
//! brute force and against general-purpose libraries. All routines are deterministic: the same input gives the
//! same answer, ties included.
//!
//! - [`assignment`]: cheapest one-to-one pairing, from a dense cost matrix or straight from points in the plane,
//!   with prices that prove the optimum; the bottleneck variant.

pub mod assignment;

pub mod chords;
pub mod flow;
pub mod matching;
pub mod sequence;

mod kd_tree;
