//! What the terminals behind standard output and standard error can show.

use std::io::{IsTerminal, Write, stderr, stdout};

/// True when colour may be used on a stream: a terminal, no `NO_COLOR`, not a dumb one.
fn color_on(terminal: bool) -> bool {
    terminal && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty()) && !dumb()
}

fn dumb() -> bool {
    std::env::var_os("TERM").is_some_and(|term| term == "dumb")
}

/// Colour on standard output.
pub fn color_on_stdout() -> bool {
    color_on(stdout().is_terminal())
}

/// Colour on standard error.
pub fn color_on_stderr() -> bool {
    color_on(stderr().is_terminal())
}

/// True when progress may be drawn over itself on standard error.
pub fn bars_on_stderr() -> bool {
    stderr().is_terminal() && !dumb()
}

/// True when only ASCII marks are safe.
pub fn plain_marks() -> bool {
    dumb()
}

/// `error:`, red where colour is on.
pub fn error_word() -> &'static str {
    if color_on_stderr() { "\u{1b}[1;31merror:\u{1b}[0m" } else { "error:" }
}

/// Talk: a line on standard error. A closed pipe is ignored.
pub fn say(line: &str) {
    let _ = writeln!(stderr(), "{line}");
}

/// Data: text on standard output. A closed pipe (`| head`) is ignored.
pub fn print(text: &str) {
    let mut out = stdout().lock();
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}
