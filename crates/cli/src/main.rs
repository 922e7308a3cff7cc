//! The `facedown` command.
fn main() {}
