//! Routing of one RDL layer: mesh, topological sketch, search, negotiation, taut courses.

pub mod buckets;
pub mod clearance;
pub mod mesh;
pub mod negotiate;
pub mod plane;
pub mod search;
pub mod sketch;
pub mod taut;
