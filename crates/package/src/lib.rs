//! The design of a flip-chip package: parts, stack, process, mission and requirements; reading and checking it.
//!
//! A design is one TOML file with CSV tables beside it. [`read`](read()) turns it into a [`Design`] of plain types
//! and collects every finding on the way; [`check()`] judges what was read; [`read_and_check`] does both. Sizes that
//! a design leaves open follow from stated rules ([`bump_rules`], [`rdl_rules`]). The JSON Schema of the file comes
//! from the same types ([`schema`]).
//!
//! ```
//! use facedown_package::{Memory, read_and_check};
//! let files = Memory::default().with("design.toml", "[design]\nname = \"demo\"\n[[die]]\nname = \"a\"\nwidth = 7");
//! let reading = read_and_check(&files, "design.toml");
//! assert!(reading.findings.iter().any(|f| f.code == "unit-missing"));
//! ```

mod bumps;
pub mod demos;
mod design;
mod die;
mod form;
mod grid;
mod material;
mod mission;
mod nets;
mod pads;
mod power_trace;
pub mod prices;
mod process;
mod qualification;
mod rdl;
mod readings;
mod requirement;
pub mod schema;
mod stack;
mod ubm;

pub mod ball_escape;
pub mod ball_sites;
pub mod bump_rules;
pub mod bump_sites;
pub mod fan_in_rules;
pub mod rdl_rules;

mod checks;
pub mod figures;
pub mod files;
pub mod limits;
mod mask;
mod near;
mod places;
mod published;
mod read;
pub mod usual_forms;
pub mod values;
pub mod variation;

pub use bumps::{BumpPattern, BumpSite, BumpTechnology, Bumps};
pub use checks::check;
pub use demos::{Demo, demo, demos};
pub use design::{Design, Heading};
pub use die::{Attach, BackStrength, Die, DieStrength, EdgeStrength, Mount, Wires};
pub use files::{FileError, Files, Folder, Memory};
pub use form::{Form, Interface, InterfaceVoid, Lid, Ring, Variant};
pub use grid::{CellGrid, PlacedGrid, PowerGrid, PowerGridSource};
pub use material::Materials;
pub use mission::{Cycle, Environment, Mission, RecordedTemperature, Surroundings, TemperatureHistory};
pub use nets::{Assignment, AssignmentMode, Net, NetClass, PlaneKind};
pub use pads::{AtBumps, NetCurrent, Pad, PadDef, PadGdsii, PadSource, PadTable, PowerBlock};
pub use places::{Places, TablePlaces};
pub use power_trace::{PowerCourse, PowerTrace};
pub use process::{
    Atmosphere, Clean, Cure, CureStep, DieEdge, DispensePattern, Flux, Micrograph, PlasmaGas, Process,
    ProcessWindows, RecipeSearch, Reflow, Residue, Underfill, VoidShade,
};
pub use published::published_checks;
pub use qualification::{CurrentTest, CyclingCondition, FinishedTest, MoistureLevel, Qualification};
pub use rdl::{Dielectric, KeepOut, MetalShare, Rdl, TraceStyle};
pub use read::{Reading, read, read_and_check};
pub use readings::{AngleReading, ProbeLiquid, WettedFace};
pub use requirement::{Limit, Requirement};
pub use stack::{Balls, Board, Interposer, StackLayer, Substrate, thickness_m};
pub use ubm::{UbmLayer, UbmRole};
