//! The published checks of the warpage study: what a source or a reference library gives, against what this crate
//! computes.
//!
//! Most rows call the functions that a design runs through. Some call closed forms that stand beside it and are part of
//! the library alone: the two layers of [`strip`](crate::strip) (which other rows hold the laminate against), filled resins
//! ([`mixture::filled`](crate::mixture::filled)), and what belongs to a test bench of dies, bending by three and four points
//! and the size effect ([`strength`](crate::strength)). The tests run the same table.

mod assemblies;
mod laminates;
mod mixtures;
mod packages;
mod shapes;
mod statistics;
mod strips;

use facedown_evidence::Check;
use facedown_evidence::published::{Source, Table};

/// All rows.
pub fn checks() -> Vec<Check> {
    let mut table = Table::of("warpage");
    strips::rows(&mut table);
    laminates::rows(&mut table);
    mixtures::rows(&mut table);
    assemblies::rows(&mut table);
    packages::rows(&mut table);
    shapes::rows(&mut table);
    statistics::rows(&mut table);
    table.rows()
}

#[cfg(test)]
mod tests {
    #[test]
    fn all_rows_pass_and_have_names_of_their_own() {
        let rows = super::checks();
        let faults = facedown_evidence::published::faults(&rows, "warpage-");
        assert!(faults.is_empty(), "{faults:#?}");
        assert!(rows.len() >= 60, "{}", rows.len());
    }
}
