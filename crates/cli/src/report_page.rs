//! The report page of a run: what each study gave, handed to the page by name.

use crate::output_files::{OutputFile, plan_pictures};
use facedown_package::{Design, Mount};
use facedown_pipeline::results::Results;
use facedown_pipeline::{Run, studies};
use facedown_report::{PageInput, page};

/// Name of the page in the output folder.
pub const NAME: &str = "report.html";

/// The page as a file of the set.
pub fn report_page(design: &Design, run: &Run, results: &Results) -> OutputFile {
    let input = PageInput {
        plans: plan_pictures(design, run, results),
        joints: by_part(design, run, studies::JOINTS),
        underfill: by_part(design, run, studies::UNDERFILL),
        electrical: by_part(design, run, studies::ELECTRICAL),
        heat: run.output(studies::HEAT, ""),
        life: by_part(design, run, studies::LIFE),
        cost: run.output(studies::COST, ""),
        ..PageInput::new(results, design)
    };
    OutputFile { name: NAME.into(), holds: "report", bytes: page(&input).into_bytes() }
}

/// What a study gave for each die, the interposer, and the whole package, whichever of them it has.
fn by_part<'a, T: 'static>(design: &'a Design, run: &'a Run, study: &str) -> Vec<(&'a str, &'a T)> {
    let dies = design.dies.iter().filter(|d| d.mount() == Mount::Flip).map(|d| d.name.as_str());
    let mut parts: Vec<(&str, &T)> = dies
        .chain(["interposer", "balls"])
        .filter_map(|part| Some((part, run.output::<T>(study, part)?)))
        .collect();
    parts.extend(run.output::<T>(study, "").map(|outcome| ("package", outcome)));
    parts
}
