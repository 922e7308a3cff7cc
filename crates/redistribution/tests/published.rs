//! Runs the table of published checks that the product ships.
use facedown_redistribution::published::published_checks;

#[test]
fn every_published_check_passes() {
    let checks = published_checks();
    let failed: Vec<String> = checks
        .iter()
        .filter(|c| !c.pass())
        .map(|c| {
            format!("{}: expected {}, computed {}, tolerance {}", c.id, c.expected, c.computed, c.tolerance)
        })
        .collect();
    assert!(failed.is_empty(), "{failed:#?}");
    assert!(checks.len() >= 66, "{} rows", checks.len());
    let mut names: Vec<&str> = checks.iter().map(|c| c.id.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), checks.len(), "every row has a name of its own");
}
