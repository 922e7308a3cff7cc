//! `facedown completions`: a shell's completion script.

use crate::arguments::{Arguments, Completions};
use crate::exit::{Done, Exit};
use crate::terminal;
use clap::CommandFactory;

/// Writes the script.
pub fn run(arguments: &Completions) -> Done {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), "facedown", &mut script);
    terminal::print(&String::from_utf8_lossy(&script));
    Ok(Exit::Met)
}
