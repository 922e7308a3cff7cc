//! No bytes make the GDSII reader panic, loop or outgrow its bounds.
//!
//! Run: `cargo +nightly fuzz run gdsii crates/maskdata/tests/corpus/gdsii`
#![no_main]

use facedown_maskdata::gdsii::{Limits, read, write};
use libfuzzer_sys::fuzz_target;

const LIMITS: Limits = Limits { elements: 100_000, points: 1_000_000, depth: 32 };

fuzz_target!(|bytes: &[u8]| {
    let Ok(library) = read(bytes) else { return };
    for cell in library.cells.iter().take(64) {
        if let Ok(flat) = library.flatten(&cell.name, &LIMITS) {
            assert!((flat.polygons.len() + flat.texts.len()) as u64 <= LIMITS.elements);
        }
    }
    // What can be written again reads back the same.
    if let Ok(again) = write(&library) {
        let back = read(&again).expect("a written library reads");
        assert_eq!(back.cells.len(), library.cells.len());
    }
});
