//! No table of pads, bumps, power, currents, readings or recorded temperatures makes the reader, the checks or the
//! printing panic or loop.
//!
//! Run: `cargo +nightly fuzz run table crates/package/tests/corpus/table`
#![no_main]

use facedown_package::{Memory, read_and_check};
use libfuzzer_sys::fuzz_target;

const DESIGN: &str = r#"
[design]
name = "tables"
[[die]]
name = "a"
width = "3 mm"
height = "3 mm"
thickness = "300 um"
pads = "table.csv"
power_map = "table.csv"
currents = "table.csv"
[die.bumps]
pitch = "300 um"
table = "table.csv"
[die.rdl]
line = "10 um"
space = "10 um"
[process.clean]
readings = "table.csv"
[mission]
life = "10 year"
[mission.history]
table = "table.csv"
"#;

fuzz_target!(|bytes: &[u8]| {
    let files = Memory::default().with("design.toml", DESIGN).with("table.csv", bytes);
    let reading = read_and_check(&files, "design.toml");
    for finding in &reading.findings {
        facedown_diagnostic::render(finding, &reading.sources, false);
    }
});
