//! What `run` and `export` share: reading the design, running its studies with progress, and Ctrl-C.

use crate::command::read_design;
use crate::exit::{Exit, Failure};
use crate::progress::Progress;
use crate::terminal;
use facedown_diagnostic::{Level, render};
use facedown_package::{Design, Folder, Reading};
use facedown_pipeline::{Cache, Control, Depth, Run, studies};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

/// Spreads by study and figure.
pub type Spreads = std::collections::BTreeMap<(String, String), facedown_pipeline::results::SpreadEntry>;

static CANCEL: AtomicBool = AtomicBool::new(false);

/// A design that can be run.
pub struct Runnable {
    /// The design.
    pub design: Design,
    /// What reading it gave, with findings and texts.
    pub reading: Reading,
    /// The folder that its files come from.
    pub folder: Folder,
    /// The design file's name without its folder.
    pub file: String,
}

/// Reads and checks a design and tells its errors and warnings on standard error; advice is only counted.
pub fn runnable(file: &Path) -> Result<Runnable, Failure> {
    let (reading, folder, name) = read_design(file)?;
    for finding in reading.findings.iter().filter(|f| f.level != Level::Advice) {
        terminal::say(&(render(finding, &reading.sources, terminal::color_on_stderr()) + "\n"));
    }
    let advice = reading.findings.iter().filter(|f| f.level == Level::Advice).count();
    if advice > 0 {
        let pieces = if advice == 1 { "piece" } else { "pieces" };
        terminal::say(&format!("{advice} {pieces} of advice: facedown check {}", file.display()));
    }
    match &reading.design {
        Some(design) if reading.is_runnable() => {
            Ok(Runnable { design: design.clone(), reading, folder, file: name })
        }
        _ => {
            let counted = super::check::counted(&reading, &file.display().to_string());
            Err(Failure::input(format_args!("{counted}; nothing was run")))
        }
    }
}

/// Runs the studies. The first Ctrl-C cancels, the second ends the program at once; outputs and cache are whole
/// either way.
pub fn solve(design: &Design, only: &[String], depth: Depth, no_cache: bool) -> Result<Run, Failure> {
    let graph = studies::graph().map_err(|e| Failure { exit: Exit::StudyFailed, message: e.to_string() })?;
    let graph = graph.at_depth(depth);
    let selected = if only.is_empty() {
        None
    } else {
        let known: Vec<&str> = graph.nodes().map(|n| n.name).collect();
        Some(
            graph
                .select(only)
                .map_err(|e| Failure::input(format_args!("{e}; there are {}", known.join(", "))))?,
        )
    };
    let cache = if no_cache { Cache::none() } else { Cache::of_user() };
    // Without a handler Ctrl-C simply ends the program, which leaves nothing half either.
    let _ = ctrlc::set_handler(|| {
        if CANCEL.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
        terminal::say("stopping; press Ctrl-C again to stop at once");
    });
    let progress = Progress::new();
    let hear = |event: facedown_pipeline::Event<'_>| progress.hear(event);
    let run = graph.run(design, selected.as_ref(), &cache, Control::new(&CANCEL, &hear));
    progress.end();
    if run.cancelled {
        return Err(Failure {
            exit: Exit::Interrupted,
            message: "interrupted; no output was changed".into(),
        });
    }
    cache.tidy(facedown_pipeline::cache::SIZE_LIMIT);
    Ok(run)
}

/// How the figures of a run follow the tolerances of its design.
pub fn spread(runnable: &Runnable, run: &Run) -> Result<Spreads, Failure> {
    let graph = studies::graph().map_err(|e| Failure { exit: Exit::StudyFailed, message: e.to_string() })?;
    let hear = |_: facedown_pipeline::Event<'_>| {};
    let control = Control::new(&CANCEL, &hear);
    let Runnable { reading, folder, file, .. } = runnable;
    Ok(facedown_pipeline::spread::spreads(&graph, folder, reading, file, run, control))
}

/// A design in its other forms, on the layout of its run.
pub fn compared(design: &Design, base: &Run) -> Result<Vec<facedown_pipeline::compare::Column>, Failure> {
    let graph = studies::graph().map_err(|e| Failure { exit: Exit::StudyFailed, message: e.to_string() })?;
    let variants = facedown_pipeline::compare::variants(design);
    let hear = |_: facedown_pipeline::Event<'_>| {};
    Ok(facedown_pipeline::compare::compare(&graph, &variants, base, Control::new(&CANCEL, &hear)))
}
