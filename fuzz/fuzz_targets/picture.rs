//! No bytes make the reader of pictures panic, loop or outgrow its bounds.
//!
//! Run: `cargo +nightly fuzz run picture`
#![no_main]

use facedown_raster::{MOST_PIXELS, read};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(picture) = read(bytes) else { return };
    assert!(picture.values().len() <= MOST_PIXELS);
    assert!(picture.values().iter().all(|v| v.is_finite()));
});
