//! Starting other programs from the root of the workspace.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// How a chore ends; an error is a sentence.
pub type Outcome<T = ()> = Result<T, String>;

/// The root of the workspace.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap_or(Path::new(".")).to_owned()
}

/// The folder that cargo builds into.
pub fn target() -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root().join("target"), |dir| root().join(dir))
}

/// True on the project's build server, where nothing may be skipped.
pub fn on_ci() -> bool {
    std::env::var_os("CI").is_some_and(|v| v == "true")
}

/// The cargo that runs this chore.
pub fn cargo() -> Command {
    command(std::env::var_os("CARGO").map_or_else(|| PathBuf::from("cargo"), PathBuf::from))
}

/// A program, to be started in the root of the workspace.
pub fn command(program: impl AsRef<std::ffi::OsStr>) -> Command {
    let mut command = Command::new(program);
    command.current_dir(root());
    command
}

/// Shows a command, runs it, and wants it to succeed.
pub fn run(command: &mut Command) -> Outcome {
    eprintln!("$ {}", words(command));
    match command.status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("{} ended with {status}", words(command))),
        Err(error) => Err(format!("{} cannot be started: {error}", words(command))),
    }
}

/// What a command writes to standard output; it must succeed.
pub fn output(command: &mut Command) -> Outcome<String> {
    let done = command
        .stderr(Stdio::inherit())
        .output()
        .map_err(|error| format!("{} cannot be started: {error}", words(command)))?;
    if !done.status.success() {
        return Err(format!("{} ended with {}", words(command), done.status));
    }
    String::from_utf8(done.stdout).map_err(|_| format!("{} wrote no text", words(command)))
}

fn words(command: &Command) -> String {
    let program = Path::new(command.get_program()).file_name().unwrap_or(command.get_program());
    let mut text = program.to_string_lossy().into_owned();
    for word in command.get_args() {
        text.push(' ');
        text.push_str(&word.to_string_lossy());
    }
    text
}
