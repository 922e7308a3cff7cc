//! No text makes the reader, the checks or the printing of a design file panic or loop.
//!
//! Run: `cargo +nightly fuzz run design crates/package/tests/corpus/design`
#![no_main]

use facedown_package::{Memory, read_and_check};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let reading = read_and_check(&Memory::default().with("design.toml", bytes), "design.toml");
    for finding in &reading.findings {
        facedown_diagnostic::render(finding, &reading.sources, false);
    }
});
