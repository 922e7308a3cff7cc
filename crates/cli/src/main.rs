//! The command `facedown`: one file a command, and beside them what the commands share.
//!
//! Data go to standard output, talk to standard error. A run prints its progress as bars on a terminal and as
//! plain lines elsewhere. The exit status tells the outcome, see [`exit::Exit`].

mod arguments;
mod command;
mod exit;
mod fill_files;
mod heat_files;
mod output_files;
mod progress;
mod report_page;
mod summary;
mod terminal;

use arguments::{Arguments, Command};
use clap::Parser;
use exit::Exit;
use std::process::ExitCode;

/// Runs make and drop millions of small things on all cores, and files of many megabytes: this allocator keeps pages that the
/// system's gives back and asks for again (`docs/benchmarks.md`).
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            // Help and version are data; anything else is talk. A closed pipe is no reason to fail twice.
            let _ = error.print();
            return if error.use_stderr() { Exit::BadInput } else { Exit::Met }.into();
        }
    };
    let done = match &arguments.command {
        Command::New(new) => command::new::run(new),
        Command::Check(check) => command::check::run(check),
        Command::Run(run) => command::run::run(run),
        Command::Compare(compare) => command::compare::run(compare),
        Command::Verify(verify) => command::verify::run(verify),
        Command::Materials(materials) => command::materials::run(materials),
        Command::Export(export) => command::export::run(export),
        Command::Completions(completions) => command::completions::run(completions),
    };
    match done {
        Ok(exit) => exit.into(),
        Err(failure) => {
            terminal::say(&format!("{} {}", terminal::error_word(), failure.message));
            failure.exit.into()
        }
    }
}
