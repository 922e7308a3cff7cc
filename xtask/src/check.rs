//! `cargo xtask check`: what must hold before a commit, apart from the tests.

use crate::generate;
use crate::shell::{self, Outcome, cargo};

/// Formatting, lints, documentation, generated files; warnings are errors.
pub fn run() -> Outcome {
    shell::run(cargo().args(["fmt", "--all", "--", "--check"]))?;
    shell::run(cargo().args(["clippy", "--workspace", "--all-targets", "--", "-D", "warnings"]))?;
    let doc = ["doc", "--workspace", "--no-deps", "--document-private-items"];
    shell::run(cargo().args(doc).env("RUSTDOCFLAGS", "-D warnings"))?;
    generate::compare()
}
