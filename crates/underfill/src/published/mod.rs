//! The published checks of wetting and flow: what a source or a reference library gives, against what this crate computes.
//!
//! Every row calls the functions that a design runs through. Where a source prints the number the row is published; where the
//! number was computed from a published formula with scipy or mpmath, the row says so.

mod amounts;
mod flow;
mod resistance;
mod wetting;

use facedown_evidence::{Basis, Check};

const STUDY: &str = "underfill";

/// A source with its kind.
#[derive(Clone, Copy)]
struct Source(&'static str, Basis);

/// Collects rows with little noise.
struct Table(Vec<Check>);

impl Table {
    fn within(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::absolute(id, STUDY, source.0, source.1, expected, computed, tolerance));
    }

    fn relative(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::relative(id, STUDY, source.0, source.1, expected, computed, tolerance));
    }
}

/// All rows. Energies in mJ/m2, angles in deg, times in s unless the row says otherwise.
pub fn checks() -> Vec<Check> {
    let mut table = Table(Vec::new());
    wetting::rows(&mut table);
    flow::rows(&mut table);
    resistance::rows(&mut table);
    amounts::rows(&mut table);
    table.0
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_row_passes_and_has_its_own_name() {
        let checks = super::checks();
        let failed: Vec<_> = checks.iter().filter(|c| !c.pass()).collect();
        assert!(failed.is_empty(), "{failed:#?}");
        let mut ids: Vec<&str> = checks.iter().map(|c| c.id.as_str()).collect();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), checks.len());
        // A method that gives nothing leaves its row out.
        assert_eq!(checks.len(), 86);
        assert!(ids.iter().all(|id| id.starts_with("underfill-")));
    }
}
