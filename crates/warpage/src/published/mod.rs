//! The published checks of the warpage study: what a source or a reference library gives, against what this crate
//! computes.
//!
//! Every row calls the functions that a design runs through. The tests run the same table.

mod assemblies;
mod laminates;
mod mixtures;
mod packages;
mod shapes;
mod statistics;
mod strips;

use facedown_evidence::{Basis, Check};

/// A source with its kind.
#[derive(Clone, Copy)]
struct Source(&'static str, Basis);

/// Collects rows with little noise.
struct Table(Vec<Check>);

impl Table {
    fn within(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::absolute(id, "warpage", source.0, source.1, expected, computed, tolerance));
    }

    fn relative(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::relative(id, "warpage", source.0, source.1, expected, computed, tolerance));
    }
}

/// All rows.
pub fn checks() -> Vec<Check> {
    let mut table = Table(Vec::new());
    strips::rows(&mut table);
    laminates::rows(&mut table);
    mixtures::rows(&mut table);
    assemblies::rows(&mut table);
    packages::rows(&mut table);
    shapes::rows(&mut table);
    statistics::rows(&mut table);
    table.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_rows_pass_and_have_names_of_their_own() {
        let rows = checks();
        let mut ids: Vec<&str> = rows.iter().map(|r| r.id.as_str()).collect();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), rows.len());
        assert!(rows.len() >= 60, "{}", rows.len());
        let failed: Vec<String> = rows
            .iter()
            .filter(|r| !r.pass() || !r.id.starts_with("warpage-"))
            .map(|r| format!("{}: {} against {}", r.id, r.computed, r.expected))
            .collect();
        assert!(failed.is_empty(), "{failed:#?}");
    }
}
