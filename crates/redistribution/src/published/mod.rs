//! The published checks of redistribution: what a source or a reference library gives, against what this crate computes.
//!
//! Every row calls the same code that a design runs through. The tests run the same table.

mod gaps;
mod matching;
mod planarity;

use facedown_evidence::published::{Source, Table};
use facedown_evidence::{Basis, Check};

const STUDY: &str = "redistribution";

const GEOMETRY: Source =
    Source("plane geometry, recomputed with scipy 1.17 (reference library)", Basis::ReferenceLibrary);
const NETWORKX_FLOW: Source =
    Source("networkx 3.6 maximum_flow (reference library)", Basis::ReferenceLibrary);
const SKY130: Source = Source("open SkyWater SKY130 design-rule tables (Apache-2.0)", Basis::Published);

/// All rows. Lengths in um, yes and no as 1 and 0.
pub fn published_checks() -> Vec<Check> {
    let mut table = Table::of(STUDY);
    gaps::rows(&mut table);
    matching::rows(&mut table);
    planarity::rows(&mut table);
    table.rows()
}
