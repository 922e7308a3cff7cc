//! Collecting the published checks of one room: a source is named once, and each row says only what is its own.

use crate::{Basis, Check};
use std::collections::BTreeSet;

/// What an expected value rests on, with its kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source(pub &'static str, pub Basis);

/// The rows of one study or room.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    study: &'static str,
    rows: Vec<Check>,
}

impl Table {
    /// No rows yet of the study or room of that name.
    pub fn of(study: &'static str) -> Table {
        Table { study, rows: Vec::new() }
    }

    /// Adds a whole number or a yes (1) or no (0), with no tolerance.
    pub fn exact(&mut self, id: &str, source: Source, expected: f64, computed: f64) {
        self.within(id, source, expected, computed, 0.0);
    }

    /// Adds a row with a tolerance in the unit of its values.
    pub fn within(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.rows.push(Check::absolute(id, self.study, source.0, source.1, expected, computed, tolerance));
    }

    /// Adds a row with a tolerance as a share of the expected value, which must not be zero.
    pub fn relative(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.rows.push(Check::relative(id, self.study, source.0, source.1, expected, computed, tolerance));
    }

    /// The rows in the order in which they came.
    pub fn rows(self) -> Vec<Check> {
        self.rows
    }
}

/// What is wrong with the rows of a room whose names all begin with `prefix`: rows that fail, names that stand twice, names
/// that begin otherwise. Nothing where all is well.
pub fn faults(rows: &[Check], prefix: &str) -> Vec<String> {
    let mut seen = BTreeSet::new();
    let mut faults = Vec::new();
    for row in rows {
        if !row.pass() {
            faults.push(format!("{}: expected {}, computed {}", row.id, row.expected, row.computed));
        }
        if !row.id.starts_with(prefix) {
            faults.push(format!("{} does not begin with {prefix}", row.id));
        }
        if !seen.insert(row.id.as_str()) {
            faults.push(format!("{} stands twice", row.id));
        }
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_keep_study_source_and_order_and_faults_are_told() {
        let source = Source("plane geometry", Basis::Published);
        let mut table = Table::of("heat");
        table.exact("heat-a", source, 2.0, 2.0);
        table.within("heat-b", source, 2.0, 2.1, 0.2);
        table.relative("heat-c", source, 2.0, 2.1, 0.04);
        table.exact("joint-a", source, 1.0, 1.0);
        table.exact("heat-a", source, 1.0, 1.0);
        let rows = table.rows();
        assert!(rows.iter().all(|r| r.study == "heat" && r.source == "plane geometry"));
        let ids: Vec<&str> = rows.iter().map(|r| r.id.as_str()).collect();
        assert_eq!(ids, ["heat-a", "heat-b", "heat-c", "joint-a", "heat-a"]);
        assert!(faults(&rows[..2], "heat-").is_empty());
        let told = faults(&rows, "heat-");
        assert_eq!(
            told,
            ["heat-c: expected 2, computed 2.1", "joint-a does not begin with heat-", "heat-a stands twice",]
        );
    }
}
