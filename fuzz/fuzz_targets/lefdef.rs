//! No text makes the LEF and DEF readers panic or loop. Each input is read as both.
//!
//! Run: `cargo +nightly fuzz run lefdef crates/maskdata/tests/corpus/lef crates/maskdata/tests/corpus/def`
#![no_main]

use facedown_maskdata::lefdef::{macro_pins, pins, read_def, read_lef};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let text = String::from_utf8_lossy(bytes);
    let lef = read_lef(&text).unwrap_or_default();
    lef.macros.values().for_each(|m| drop(macro_pins(m, None)));
    if let Ok(def) = read_def(&text) {
        let _ = pins(&lef, &def, None);
    }
});
