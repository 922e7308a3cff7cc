//! The published checks of the life study: what a source or a reference library gives, against what this crate computes.
//!
//! Every row calls the functions that a design runs through. The tests run the same table.

mod acceleration;
mod currents;
mod fatigue;
mod mission;
mod solder;
mod statistics;

use facedown_evidence::{Basis, Check};

/// A source with its kind.
#[derive(Clone, Copy)]
struct Source(&'static str, Basis);

/// Collects rows with little noise.
struct Table(Vec<Check>);

impl Table {
    /// Tolerance in the unit of the value.
    fn within(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::absolute(id, "life", source.0, source.1, expected, computed, tolerance));
    }

    /// Tolerance as a share of the value.
    fn relative(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::relative(id, "life", source.0, source.1, expected, computed, tolerance));
    }
}

/// All rows.
pub fn checks() -> Vec<Check> {
    let mut table = Table(Vec::new());
    acceleration::rows(&mut table);
    fatigue::rows(&mut table);
    solder::rows(&mut table);
    statistics::rows(&mut table);
    currents::rows(&mut table);
    mission::rows(&mut table);
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
        assert!(rows.len() >= 80, "{}", rows.len());
        for row in rows {
            assert!(row.id.starts_with("life-"));
            assert!(row.pass(), "{}: {} against {}", row.id, row.computed, row.expected);
        }
    }
}
