//! `cargo xtask test`: everything that must pass, and by name what could not run here.

use crate::oracle;
use crate::page;
use crate::shell::{self, Outcome, cargo, on_ci, root};

/// Runs the groups in turn. Elsewhere than on CI a group that cannot run is skipped by name; on CI that is a failure.
pub fn run() -> Outcome {
    // Unit tests, tests of whole commands, documentation tests; examples are built on the way.
    shell::run(cargo().args(["test", "--workspace"]))?;
    let mut skipped = Vec::new();
    if let Some(reason) = oracle::run_tests()? {
        skipped.push(format!("oracle tests (tests/oracle): {reason}"));
    }
    if let Some(reason) = page::run_tests()? {
        skipped.push(format!("report pages in a browser (tests/page): {reason}"));
    }
    if ring_data().is_none() {
        skipped.push(
            "real ring (ring-b-pads.csv, ring-b-bumps.csv): no such files; name their folder in FACEDOWN_RING_B".into(),
        );
    }
    for group in &skipped {
        eprintln!("skipped: {group}");
    }
    if !skipped.is_empty() && on_ci() {
        return Err("a group of tests was skipped, which CI=true does not allow".into());
    }
    eprintln!("all tests that ran have passed; {} groups skipped", skipped.len());
    Ok(())
}

/// The folder with the data of the real ring, which are not part of the project.
fn ring_data() -> Option<std::path::PathBuf> {
    let folder = match std::env::var_os("FACEDOWN_RING_B") {
        Some(folder) => folder.into(),
        None => root().parent()?.join("shared").join("data"),
    };
    ["ring-b-pads.csv", "ring-b-bumps.csv"].iter().all(|f| folder.join(f).is_file()).then_some(folder)
}
