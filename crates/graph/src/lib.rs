//! Discrete optimisation on graphs, matrices and sequences: assignment, flows, matchings, chord diagrams.
//!
//! Knows no packaging: rows, columns, nodes, arcs and chords only, so that every routine can be tested against
//! brute force and against general-purpose libraries. All routines are deterministic: the same input gives the
//! same answer, ties included.
//!
//! - [`assignment`]: cheapest one-to-one pairing, from a dense cost matrix or straight from points in the plane,
//!   with prices that prove the optimum; the bottleneck variant.
//! - [`flow`]: maximum flow with its cut, min-cost flow with its potentials.
//! - [`matching`]: largest matching of a bipartite graph.
//! - [`sequence`]: longest increasing subsequences and the fewest that cover a sequence.
//! - [`chords`]: planar subsets, two pages and crossings of chords of a circle.

pub mod assignment;

pub mod chords;
pub mod flow;
pub mod matching;
pub mod sequence;

mod kd_tree;
