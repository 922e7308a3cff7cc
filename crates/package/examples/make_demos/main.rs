//! Writes the tables of the demonstration designs again. All of their data are invented.
//!
//! ```text
//! cargo run -p facedown-package --example make_demos
//! ```
//!
//! A test compares the committed tables with what this program makes.

mod tables;

fn main() -> std::io::Result<()> {
    let demos = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demos");
    for (path, text) in tables::all() {
        std::fs::write(demos.join(path), text)?;
        println!("wrote {path}");
    }
    Ok(())
}
