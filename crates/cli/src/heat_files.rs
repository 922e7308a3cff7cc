//! The files of the heat study: the solved field for viewers, and the two-resistor model as text.
//!
//! The field is written from what the study keeps ([`facedown_heat::solid::Volume`]), so that a run that finds its results
//! in the cache writes the same bytes as one that has solved them.

use crate::output_files::OutputFile;
use facedown_evidence::Figure;
use facedown_exchange::two_resistor::{TwoResistor, two_resistor};
use facedown_exchange::vtk::{Field, On, RectilinearGrid, Values, vtk};
use facedown_heat::Outcome;
use facedown_package::Design;
use facedown_pipeline::{Run, studies};

const ZERO_CELSIUS: f64 = 273.15;

/// Name of the field in the output folder.
pub const FIELD: &str = "heat-service.vtk";
/// Name of the two-resistor model in the output folder.
pub const MODEL: &str = "heat-two-resistor.toml";

/// What the heat study of a run leaves: the field where it has been solved in space, the model where both of its resistances
/// are known.
pub fn heat_files(design: &Design, run: &Run) -> Result<Vec<OutputFile>, String> {
    let Some(outcome) = run.output::<Outcome>(studies::HEAT, "") else { return Ok(Vec::new()) };
    let mut files = Vec::new();
    if let Some(bytes) = field(design, outcome)? {
        files.push(OutputFile { name: FIELD.into(), holds: "solved temperatures in service, VTK", bytes });
    }
    if let Some(text) = model(design, outcome) {
        files.push(OutputFile {
            name: MODEL.into(),
            holds: "two-resistor thermal model",
            bytes: text.into_bytes(),
        });
    }
    Ok(files)
}

/// Where nothing is, the field has the ambient temperature and the part 0: a viewer's threshold on the part shows the
/// package alone.
fn field(design: &Design, outcome: &Outcome) -> Result<Option<Vec<u8>>, String> {
    let Some(solid) = &outcome.solid else { return Ok(None) };
    let ambient = outcome.ambient_k - ZERO_CELSIUS;
    let mut celsius = solid.volume.filled(0.0);
    celsius.iter_mut().for_each(|t| *t = (f64::from(*t) + ambient) as f32);
    // The title is a line of at most 255 bytes.
    let name: String = design.heading.name.as_str().chars().filter(|c| !c.is_control()).take(40).collect();
    let title = format!("{name}: temperatures in service, degC; lengths in m; part 0 is empty");
    let [x, y, z] = &solid.volume.lines;
    let grid = RectilinearGrid {
        title: &title,
        lines: [x, y, z],
        fields: vec![
            Field { name: "temperature_degC", on: On::Cells, components: 1, values: Values::Float(&celsius) },
            Field { name: "part", on: On::Cells, components: 1, values: Values::Byte(&solid.volume.parts) },
        ],
    };
    vtk(&grid).map(Some).map_err(|e| format!("{FIELD}: {e}"))
}

/// The model has one junction, so that a package of several dies has none.
fn model(design: &Design, outcome: &Outcome) -> Option<String> {
    let [_] = outcome.dies.as_slice() else { return None };
    let figure = |name: &str| outcome.figures.iter().find(|f| f.name == name);
    let (top, board) = (figure("theta_jc_top")?, figure("theta_jb")?);
    two_resistor(&TwoResistor {
        name: design.heading.name.as_str(),
        theta_jc_top_k_w: top.value,
        theta_jc_top_basis: &told(top),
        theta_jb_k_w: board.value,
        theta_jb_basis: &told(board),
    })
    .ok()
}

/// How a resistance was found, without its hand check.
fn told(figure: &Figure) -> String {
    let (how, what) = figure.basis.split_once("; hand check: ").unwrap_or(("by closed forms", &figure.basis));
    format!("{what}; {how}")
}
