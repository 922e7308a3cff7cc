//! `facedown run`: the studies of a design, its results, pictures and layout files.

use crate::arguments::Run;
use crate::command::solve::{Runnable, runnable, solve, spread};
use crate::exit::{Done, Exit, Failure};
use crate::fill_files::fill_files;
use crate::heat_files::heat_files;
use crate::output_files::{OutputFile, layout_files};
use crate::report_page::report_page;
use crate::{summary, terminal};
use facedown_pipeline::results::{FileEntry, Results};
use facedown_pipeline::{About, Depth, Outputs, assemble, listed};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Runs, writes and sums up.
pub fn run(arguments: &Run) -> Done {
    let ready = runnable(&arguments.file)?;
    let Runnable { design, reading, file, .. } = &ready;
    let out = arguments.out.clone().unwrap_or_else(|| default_out(design.heading.name.as_str()));
    // Locked before the work, so that a second run is refused at once and not after minutes.
    let outputs = Outputs::lock(&out).map_err(Failure::input)?;
    let depth = if arguments.closed_forms { Depth::ClosedForms } else { Depth::Solvers };
    let run = solve(design, &arguments.only, depth, arguments.no_cache)?;
    let about = About {
        program: env!("CARGO_PKG_VERSION"),
        file,
        findings: &reading.findings,
        sources: &reading.sources,
        only: (!arguments.only.is_empty()).then_some(arguments.only.as_slice()),
    };
    let mut results = assemble(design, &run, about);
    // Tolerances move no bump: layouts are written meanwhile.
    let drawn = || {
        let kept = |file: OutputFile| {
            outputs.set_aside(&file.name, &file.bytes).map_err(|e| e.to_string())?;
            Ok(entry(&file))
        };
        let (mut entries, plans) = layout_files(design, &run, &results, &kept).map_err(Failure::input)?;
        let mut more = heat_files(design, &run).map_err(Failure::input)?;
        if let Some(count) = arguments.fill_frames {
            let frames = fill_files(design, &run, usize::from(count)).map_err(Failure::input)?;
            if frames.is_empty() {
                terminal::say("no frames of a fill: no underfill was followed on a bump map in this run");
            }
            more.extend(frames);
        }
        for file in more {
            entries.push(kept(file).map_err(Failure::input)?);
        }
        Ok((entries, plans))
    };
    let (spreads, drawn) = rayon::join(|| spread(&ready, &run), drawn);
    let (entries, plans) = drawn?;
    facedown_pipeline::spread::add_to(&mut results, &spreads?);
    let page = report_page(design, &run, &results, plans);
    results.files = entries.into_iter().chain([entry(&page)]).collect();
    let index = results.to_json().map_err(Failure::input)?;
    let page = BTreeMap::from([(page.name, page.bytes)]);
    outputs.publish(&page, index.as_bytes()).map_err(Failure::input)?;
    if arguments.json {
        terminal::print(&index);
    } else {
        terminal::print(&summary::text(&results, &shown(&out)));
    }
    let same = if run.same > 0 { format!(", {} as another part", run.same) } else { String::new() };
    terminal::say(&format!("{} solved, {} from the cache{same}", run.solved, run.recalled));
    for (study, part, what) in run.failures() {
        let of = if part.is_empty() { String::new() } else { format!(" of {part}") };
        terminal::say(&format!("{} {study}{of}: {what}", terminal::error_word()));
    }
    let exit = exit(&results, run.failures().is_empty());
    // A run holds millions of corners, and the process ends here: the system takes all its memory back at once.
    std::mem::forget(run);
    Ok(exit)
}

fn entry(file: &OutputFile) -> FileEntry {
    listed(&file.name, file.holds, &file.bytes)
}

fn exit(results: &Results, sound: bool) -> Exit {
    if !sound {
        Exit::StudyFailed
    } else if results.verdicts.short > 0 {
        Exit::Short
    } else {
        Exit::Met
    }
}

fn default_out(design: &str) -> PathBuf {
    Path::new("out").join(crate::output_files::plain(design))
}

fn shown(out: &Path) -> String {
    out.display().to_string()
}
