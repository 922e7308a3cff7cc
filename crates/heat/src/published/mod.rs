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
mod voids;

use facedown_evidence::Check;
use facedown_evidence::published::{Source, Table};

/// All rows.
pub fn checks() -> Vec<Check> {
    let mut table = Table::of("heat");
    conduction::rows(&mut table);
    series::rows(&mut table);
    mixtures::rows(&mut table);
    convection::rows(&mut table);
    transient::rows(&mut table);
    solid::rows(&mut table);
    voids::rows(&mut table);
    table.rows()
}

#[cfg(test)]
mod tests {
    #[test]
    fn all_rows_pass_and_have_names_of_their_own() {
        let rows = super::checks();
        let faults = facedown_evidence::published::faults(&rows, "heat-");
        assert!(faults.is_empty(), "{faults:#?}");
        assert!(rows.len() >= 100, "{}", rows.len());
    }
}
