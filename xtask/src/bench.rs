//! `cargo xtask bench`: the benchmarks, one crate after the other.

use crate::shell::{self, Outcome, cargo};

/// Runs `cargo bench`; `docs/benchmarks.md` says what they measure and on what machine.
pub fn run() -> Outcome {
    shell::run(cargo().args(["bench", "--workspace", "--benches"]))
}
