//! The report page of a run: what each study gave, handed to the page by name.

use crate::output_files::OutputFile;
use facedown_package::{Design, Mount};
use facedown_pipeline::results::Results;
use facedown_pipeline::{Run, studies};
use facedown_report::{PageInput, PlanPicture, WarpageCourse, page};
use facedown_warpage::Outcome as Warpage;

/// Name of the page in the output folder.
pub const NAME: &str = "report.html";

/// The page as a file of the set, with the plan views of the dies.
pub fn report_page(design: &Design, run: &Run, results: &Results, plans: Vec<PlanPicture>) -> OutputFile {
    let input = PageInput {
        plans,
        joints: by_part(design, run, studies::JOINTS),
        underfill: by_part(design, run, studies::UNDERFILL),
        micrographs: by_part(design, run, studies::MICROGRAPH),
        electrical: by_part(design, run, studies::ELECTRICAL),
        heat: run.output(studies::HEAT, ""),
        warpage: run.output(studies::WARPAGE, "").map(course),
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

/// Warpage in the units of the page. The closed forms are elastic, so that cooling goes the way of heating.
fn course(warpage: &Warpage) -> WarpageCourse {
    let degc = |kelvin: f64| kelvin - 273.15;
    let stages = warpage
        .stages
        .iter()
        .map(|s| (format!("{}, {:.0} degC", s.name, degc(s.temperature_k)), 1e6 * s.warpage_body_m));
    WarpageCourse {
        stages: stages.collect(),
        heating: warpage.curve.iter().map(|p| (degc(p.temperature_k), 1e6 * p.warpage_m)).collect(),
        cooling: Vec::new(),
        permissible: warpage.permissible_m.map(|p| 1e6 * p),
    }
}
