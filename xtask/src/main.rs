//! The chores of the project: `cargo xtask demo | test | check | gen | cells | bench`.
//!
//! No dependencies, so that the first command on a fresh machine has nothing to wait for but the compiler.

mod bench;
mod check;
mod demo;
mod generate;
mod oracle;
mod page;
mod shell;
mod test;

use shell::Outcome;
use std::process::ExitCode;

const HELP: &str = "\
cargo xtask demo    build, write the demonstration design and run it
cargo xtask test    run all tests: Rust, documentation, examples, the Python oracles and the
                    report pages in a browser where Python and Chromium are
cargo xtask check   formatting, lints, documentation and generated files, with warnings denied
cargo xtask cells   solve the unit cells of bump fields again and write their table (about ten minutes)
cargo xtask gen     write the generated files again: schemas, demonstration designs, docs/cli.md
cargo xtask bench   run the benchmarks
";

fn main() -> ExitCode {
    let mut words = std::env::args().skip(1);
    let outcome: Outcome = match (words.next().as_deref(), words.next()) {
        (Some("demo"), None) => demo::run(),
        (Some("test"), None) => test::run(),
        (Some("check"), None) => check::run(),
        (Some("gen"), None) => generate::run(),
        (Some("cells"), None) => generate::cells(),
        (Some("bench"), None) => bench::run(),
        (Some("help" | "--help" | "-h"), None) => {
            print!("{HELP}");
            Ok(())
        }
        _ => Err(format!("choose one of:\n{HELP}")),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(what) => {
            eprintln!("{}", what.trim_end());
            ExitCode::FAILURE
        }
    }
}
