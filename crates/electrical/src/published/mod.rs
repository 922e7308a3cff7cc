//! The published checks of the electrical study: what a source or a reference library gives, against what this crate computes.
//!
//! Every row calls the functions that a design runs through. The tests run the same table.

mod conduction;
mod fields;

use facedown_evidence::published::{Source, Table};
use facedown_evidence::{Basis, Check};

/// All rows.
pub fn checks() -> Vec<Check> {
    let mut table = Table::of("electrical");
    conduction::rows(&mut table);
    fields::rows(&mut table);
    table.rows()
}

#[cfg(test)]
mod tests {
    #[test]
    fn all_rows_pass_and_have_names_of_their_own() {
        let rows = super::checks();
        let faults = facedown_evidence::published::faults(&rows, "electrical-");
        assert!(faults.is_empty(), "{faults:#?}");
        assert!(rows.len() >= 25, "{}", rows.len());
    }
}
