//! `facedown check`: all findings on a design at once.

use crate::arguments::Check;
use crate::exit::{Done, Exit};
use crate::{command, terminal};
use facedown_diagnostic::{Level, render};
use facedown_package::Reading;
use facedown_pipeline::assemble::finding;

/// Reads, checks and reports.
pub fn run(arguments: &Check) -> Done {
    let (reading, _, _) = command::read_design(&arguments.file)?;
    if arguments.json {
        let rows: Vec<_> = reading.findings.iter().map(|f| finding(f, &reading.sources)).collect();
        let text = serde_json::to_string_pretty(&rows).map_err(crate::exit::Failure::input)?;
        terminal::print(&(text + "\n"));
    } else {
        for finding in &reading.findings {
            terminal::print(&(render(finding, &reading.sources, terminal::color_on_stdout()) + "\n\n"));
        }
        terminal::print(&format!("{}\n", counted(&reading, &arguments.file.display().to_string())));
    }
    Ok(if reading.is_runnable() { Exit::Met } else { Exit::BadInput })
}

/// `design.toml: 2 errors, 1 warning, 0 advice`.
pub(crate) fn counted(reading: &Reading, file: &str) -> String {
    let count = |level| reading.findings.iter().filter(|f| f.level == level).count();
    let plural = |n: usize, one: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") };
    let (errors, warnings, advice) = (count(Level::Error), count(Level::Warning), count(Level::Advice));
    if errors + warnings + advice == 0 {
        return format!("{file}: no findings");
    }
    format!(
        "{file}: {}, {}, {}",
        plural(errors, "error"),
        plural(warnings, "warning"),
        if advice == 1 { "1 piece of advice".to_owned() } else { format!("{advice} pieces of advice") }
    )
}
