//! `facedown export`: the routed layout in one format.

use crate::arguments::{Export, Format};
use crate::command::solve::{Runnable, runnable, solve};
use crate::exit::{Done, Exit, Failure};
use crate::output_files::{layout_files_in, write_whole};
use crate::terminal;
use facedown_pipeline::{About, Depth, assemble, studies};
use std::fs;

/// Solves or recalls the layout and writes it.
pub fn run(arguments: &Export) -> Done {
    let Runnable { design, reading, file, .. } = runnable(&arguments.file)?;
    if let Some(name) = &arguments.die
        && design.die(name).is_none()
    {
        let names: Vec<&str> = design.dies.iter().map(|d| d.name.as_str()).collect();
        return Err(Failure::input(format_args!(
            "there is no die \"{name}\"; there are {}",
            names.join(", ")
        )));
    }
    let run = solve(&design, &[studies::REDISTRIBUTION.to_owned()], Depth::Solvers, arguments.no_cache)?;
    if let Some((study, part, what)) = run.failures().into_iter().next() {
        return Err(Failure { exit: Exit::StudyFailed, message: format!("{study} of {part}: {what}") });
    }
    let about = About {
        program: env!("CARGO_PKG_VERSION"),
        file: &file,
        findings: &reading.findings,
        sources: &reading.sources,
        only: None,
    };
    let results = assemble(&design, &run, about);
    let formats: &[Format] = &[arguments.format];
    let which = (formats, arguments.face, arguments.die.as_deref());
    let files = layout_files_in(&design, &run, &results, which, &Ok).map_err(Failure::input)?;
    if files.is_empty() {
        return Err(Failure::input("the design has no layout to export"));
    }
    fs::create_dir_all(&arguments.out).map_err(|e| Failure::file(&arguments.out, "make", &e))?;
    for (_, file) in files {
        let path = arguments.out.join(&file.name);
        write_whole(&path, &file.bytes).map_err(|e| Failure::file(&path, "write", &e))?;
        terminal::print(&format!("{}\n", path.display()));
    }
    Ok(Exit::Met)
}
