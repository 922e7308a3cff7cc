//! The published checks of the heat study: what a source or a reference library gives, against what this crate computes.
//!
//! Every row calls the functions that a design runs through. The tests run the same table.

mod boxes;
mod conduction;
mod convection;
mod mixtures;
mod series;
mod solid;
mod transient;

use facedown_evidence::{Basis, Check};

/// A source with its kind.
#[derive(Clone, Copy)]
struct Source(&'static str, Basis);

/// Collects rows with little noise.
struct Table(Vec<Check>);

impl Table {
    fn within(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::absolute(id, "heat", source.0, source.1, expected, computed, tolerance));
    }

    fn relative(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::relative(id, "heat", source.0, source.1, expected, computed, tolerance));
    }
}

/// All rows.
pub fn checks() -> Vec<Check> {
    let mut table = Table(Vec::new());
    conduction::rows(&mut table);
    series::rows(&mut table);
    mixtures::rows(&mut table);
    convection::rows(&mut table);
    transient::rows(&mut table);
    solid::rows(&mut table);
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
        assert!(rows.len() >= 100, "{}", rows.len());
        for row in rows {
            assert!(row.id.starts_with("heat-"));
            assert!(row.pass(), "{}: {} against {}", row.id, row.computed, row.expected);
        }
    }
}
