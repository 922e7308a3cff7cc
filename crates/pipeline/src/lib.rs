//! Who feeds whom: stages, studies as an explicit graph, cached results, verdicts, and the results file.
//!
//! A study never knows another study. This crate does: it reads a design, prepares for each study exactly what that
//! study reads, keys the result by a hash of those bytes, takes it from the cache when the key is known and solves
//! otherwise, judges the requirements, and writes the outputs as one complete set or not at all.
//!
//! The spine ([`graph`], [`key`], [`cache`], [`watch`], [`verdict`], [`publish`], [`results`]) knows no physics and no
//! package; [`studies`] holds the knots that map a design to each study. Nothing here prints: progress leaves as
//! [`watch::Event`]s, and a run is cancelled by an atomic flag, so a terminal and a browser can drive it alike.

pub mod assemble;
pub mod cache;
pub mod checks;
pub mod compare;
pub mod graph;
pub mod key;
pub mod publish;
pub mod requirements;
pub mod results;
pub mod spread;
pub mod stage;
pub mod studies;
pub mod verdict;
pub mod watch;

pub use assemble::{About, assemble, listed};
pub use cache::Cache;
pub use graph::{Depth, Failure, Graph, Node, Part, Progress, Reads, Report, Run, Study, Upstream};
pub use key::Key;
pub use publish::{Outputs, PublishError};
pub use results::Results;
pub use stage::Stage;
pub use watch::{Control, Event};
