//! Reads and checks a design file and prints its findings.
//!
//! ```text
//! cargo run -p facedown-package --example check_design -- crates/package/demos/tidewatch/design.toml
//! ```

use facedown_package::{Folder, read_and_check};
use std::path::Path;

fn main() {
    let path = std::env::args().nth(1).unwrap_or_else(|| "crates/package/demos/tidewatch/design.toml".into());
    let path = Path::new(&path);
    let folder = path.parent().unwrap_or(Path::new("."));
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let reading = read_and_check(&Folder::new(folder), &name);
    for finding in &reading.findings {
        println!("{}\n", facedown_diagnostic::render(finding, &reading.sources, false));
    }
    println!("{} findings; can be run: {}", reading.findings.len(), reading.is_runnable());
}
