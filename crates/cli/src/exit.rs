//! Exit statuses, and failures that end a command.

use std::fmt::Display;
use std::process::ExitCode;

/// What the exit status says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// 0: everything was done, all requirements that could be judged are met.
    Met,
    /// 1: a requirement is short, or a published check fails.
    Short,
    /// 2: the command line, the design, or an output folder is no good.
    BadInput,
    /// 3: a study failed.
    StudyFailed,
    /// 130: interrupted, as shells count it (128 + signal 2).
    Interrupted,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(match exit {
            Exit::Met => 0,
            Exit::Short => 1,
            Exit::BadInput => 2,
            Exit::StudyFailed => 3,
            Exit::Interrupted => 130,
        })
    }
}

/// Why a command ended early.
#[derive(Debug)]
pub struct Failure {
    /// Exit status.
    pub exit: Exit,
    /// One or more lines for standard error.
    pub message: String,
}

impl Failure {
    /// The user's input is no good.
    pub fn input(message: impl Display) -> Failure {
        Failure { exit: Exit::BadInput, message: message.to_string() }
    }

    /// A file cannot be read or written.
    pub fn file(path: &std::path::Path, doing: &str, error: &std::io::Error) -> Failure {
        Failure::input(format_args!("cannot {doing} {}: {error}", path.display()))
    }
}

/// How a command ends.
pub type Done = Result<Exit, Failure>;
