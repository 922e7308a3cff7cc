//! The published checks of redistribution: what a source or a reference library gives, against what this crate computes.
//!
//! Every row calls the same code that a design runs through. The tests run the same table.

mod gaps;
mod matching;
mod planarity;

use facedown_evidence::{Basis, Check};

const STUDY: &str = "redistribution";

/// A source with its kind.
#[derive(Clone, Copy)]
struct Source(&'static str, Basis);

const GEOMETRY: Source =
    Source("plane geometry, recomputed with scipy 1.17 (reference library)", Basis::ReferenceLibrary);
const NETWORKX_FLOW: Source =
    Source("networkx 3.6 maximum_flow (reference library)", Basis::ReferenceLibrary);
const SKY130: Source = Source("open SkyWater SKY130 design-rule tables (Apache-2.0)", Basis::Published);

/// Collects rows with little noise.
struct Table(Vec<Check>);

impl Table {
    /// A whole number or a yes (1) or no (0).
    fn exact(&mut self, id: &str, source: Source, expected: f64, computed: f64) {
        self.within(id, source, expected, computed, 0.0);
    }

    fn within(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::absolute(id, STUDY, source.0, source.1, expected, computed, tolerance));
    }

    fn relative(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::relative(id, STUDY, source.0, source.1, expected, computed, tolerance));
    }
}

/// All rows. Lengths in um, yes and no as 1 and 0.
pub fn published_checks() -> Vec<Check> {
    let mut table = Table(Vec::new());
    gaps::rows(&mut table);
    matching::rows(&mut table);
    planarity::rows(&mut table);
    table.0
}
