//! The published checks of wetting and flow: what a source or a reference library gives, against what this crate computes.
//!
//! Every row calls the functions that a design runs through. Where a source prints the number the row is published; where the
//! number was computed from a published formula with scipy or mpmath, the row says so.

mod amounts;
mod chances;
mod contamination;
mod drops;
mod fillet;
mod flow;
mod front;
mod pictures;
mod resistance;
mod wetting;

use facedown_evidence::Check;
use facedown_evidence::published::{Source, Table};

const STUDY: &str = "underfill";

/// All rows. Energies in mJ/m2, angles in deg, times in s unless the row says otherwise.
pub fn checks() -> Vec<Check> {
    let mut table = Table::of(STUDY);
    wetting::rows(&mut table);
    drops::rows(&mut table);
    pictures::rows(&mut table);
    flow::rows(&mut table);
    front::rows(&mut table);
    resistance::rows(&mut table);
    amounts::rows(&mut table);
    fillet::rows(&mut table);
    contamination::rows(&mut table);
    chances::rows(&mut table);
    table.rows()
}

#[cfg(test)]
mod tests {
    #[test]
    fn all_rows_pass_and_have_names_of_their_own() {
        let rows = super::checks();
        let faults = facedown_evidence::published::faults(&rows, "underfill-");
        assert!(faults.is_empty(), "{faults:#?}");
        // A method that gives nothing leaves its row out.
        assert_eq!(rows.len(), 212);
    }
}
