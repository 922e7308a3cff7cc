//! The published checks of the life study: what a source or a reference library gives, against what this crate computes.
//!
//! Every row calls the functions that a design runs through. The tests run the same table.

mod acceleration;
mod currents;
mod fatigue;
mod mission;
mod solder;
mod statistics;

use facedown_evidence::Check;
use facedown_evidence::published::{Source, Table};

/// All rows.
pub fn checks() -> Vec<Check> {
    let mut table = Table::of("life");
    acceleration::rows(&mut table);
    fatigue::rows(&mut table);
    solder::rows(&mut table);
    statistics::rows(&mut table);
    currents::rows(&mut table);
    mission::rows(&mut table);
    table.rows()
}

#[cfg(test)]
mod tests {
    #[test]
    fn all_rows_pass_and_have_names_of_their_own() {
        let rows = super::checks();
        let faults = facedown_evidence::published::faults(&rows, "life-");
        assert!(faults.is_empty(), "{faults:#?}");
        assert!(rows.len() >= 80, "{}", rows.len());
    }
}
