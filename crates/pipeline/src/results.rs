//! `results.json`: the types of the file, which are also its schema.
//!
//! A reader finds every figure under `studies.<study>.figures.<name>` as one object with its evidence and, where a
//! requirement asks something of it, the verdict. Requirements that no study can judge stand in `requirements` all
//! the same. The same design and program give the same bytes: no time stamps, no machine names, sorted maps.

use crate::stage::Stage;
use crate::verdict::{Bound, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The value of [`Results::format`].
pub const FORMAT: &str = "facedown-results";
/// The value of [`Results::schema_version`]; raised when a reader of the former version would be misled.
pub const SCHEMA_VERSION: u32 = 1;

/// The whole file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "facedown results")]
pub struct Results {
    /// Always `facedown-results`.
    #[schemars(regex(pattern = "^facedown-results$"))]
    pub format: String,
    /// Version of this layout of the file.
    pub schema_version: u32,
    /// Version of the program that wrote it.
    pub program: String,
    /// The design that was run.
    pub design: DesignEntry,
    /// How many requirements ended how.
    pub verdicts: VerdictCount,
    /// The stages of the package's life in order, with the studies of this run that decide something there.
    pub life_line: Vec<StageEntry>,
    /// Studies by name.
    pub studies: BTreeMap<String, StudyEntry>,
    /// Every requirement with its verdict, those of the design file in its order, then the built-in ones.
    pub requirements: Vec<RequirementEntry>,
    /// Warnings and advice on the design.
    pub findings: Vec<FindingEntry>,
    /// The other files of this set.
    pub files: Vec<FileEntry>,
}

/// Which design it was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DesignEntry {
    /// Name.
    pub name: String,
    /// Name of the design file, without its folder.
    pub file: String,
    /// BLAKE3 over the design file and all tables that it names.
    pub blake3: String,
    /// Where its data come from (`invented`, a source, or `not stated`).
    pub provenance: String,
    /// Names of the studies that were asked for with `--only`; absent when all were.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub only: Option<Vec<String>>,
}

/// Counts of verdicts.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VerdictCount {
    /// Requirements that are met.
    pub meets: usize,
    /// Requirements that are short.
    pub short: usize,
    /// Requirements that could not be judged.
    pub not_judged: usize,
}

/// One stage of the life line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StageEntry {
    /// Which stage.
    pub stage: Stage,
    /// Studies of this run at the stage.
    pub studies: Vec<String>,
}

/// How a study ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum StudyState {
    /// All parts have results.
    Done,
    /// At least one part has none; the study's figures are not given.
    Failed,
    /// The design has nothing for it.
    Absent,
}

/// One study.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StudyEntry {
    /// Its stage.
    pub stage: Stage,
    /// How it ended.
    pub state: StudyState,
    /// Sentences that a reader must see: why it is absent or failed, what it assumed.
    pub notes: Vec<String>,
    /// Figures of the whole package by name. Over several parts (dies) counts and total lengths are sums, all others
    /// are those of the worst part.
    pub figures: BTreeMap<String, FigureEntry>,
    /// The same by part (die), where the study has parts.
    pub parts: BTreeMap<String, PartEntry>,
}

/// One part of a study.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartEntry {
    /// Why it gave no result.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub failure: Option<String>,
    /// Sentences on this part.
    pub notes: Vec<String>,
    /// Its figures by name, without requirements.
    pub figures: BTreeMap<String, FigureEntry>,
    /// What cannot be built, in sentences: nets that cut each other off, cuts over capacity, nets left open.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub obstacles: Vec<String>,
    /// Places where the layout breaks a rule.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub violations: Vec<ViolationEntry>,
}

/// A figure with its evidence.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FigureEntry {
    /// The value in `unit`.
    pub value: f64,
    /// Unit as written in a design file; empty for a count or a ratio.
    pub unit: String,
    /// Numerical error in `unit`; null where none is known.
    pub error: Option<f64>,
    /// The closed-form hand check in `unit`; null where there is none.
    pub hand: Option<f64>,
    /// How the number was obtained and from what source.
    pub basis: String,
    /// `solved` by an algorithm or `hand`, a closed form.
    #[schemars(regex(pattern = "^(solved|hand)$"))]
    pub status: String,
    /// What limits it, where that is known.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub limited_by: Option<String>,
    /// A sentence that says which validity range of the method the input leaves, where it does.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub outside: Option<String>,
    /// Lowest and highest value in `unit` where published constants disagree and several sets were run.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub between: Option<[f64; 2]>,
    /// How it follows the tolerances of the design; absent where none of them moves it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub spread: Option<SpreadEntry>,
    /// What is asked of it; null when nothing is.
    pub requirement: Option<LimitEntry>,
    /// Verdict on that; null when nothing is asked.
    pub verdict: Option<Verdict>,
    /// Room to the limit as a share of the limit, positive on the right side; null without a limit or when it is zero.
    pub margin: Option<f64>,
}

/// How a figure follows the tolerances of the design, to first order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SpreadEntry {
    /// One standard deviation, in the figure's unit.
    pub deviation: f64,
    /// The quantities that move it most, up to three.
    pub contributors: Vec<ContributorEntry>,
}

/// A toleranced quantity that moves a figure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ContributorEntry {
    /// Path in the design (`die[0].bumps.height`).
    pub quantity: String,
    /// As written (`120 um +- 8 um`).
    pub text: String,
    /// Change of the figure for one standard deviation of the quantity, in the figure's unit.
    pub change: f64,
    /// Share of the figure's variance, 0 to 1.
    pub share: f64,
}

/// The limit of a requirement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LimitEntry {
    /// Side on which the figure must lie.
    pub bound: Bound,
    /// Limit in `unit`.
    pub limit: f64,
    /// Unit.
    pub unit: String,
    /// True when every design has this requirement, false when the design file states it.
    pub built_in: bool,
}

/// One requirement with its verdict.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RequirementEntry {
    /// Study that judges it, or would.
    pub study: String,
    /// Figure.
    pub figure: String,
    /// What is asked.
    pub requirement: LimitEntry,
    /// The figure's value; null when not judged for want of a figure.
    pub value: Option<f64>,
    /// Verdict.
    pub verdict: Verdict,
    /// Room to the limit as a share of the limit, positive on the right side; null without a value or for a limit of
    /// zero.
    pub margin: Option<f64>,
    /// The verdict in a sentence.
    pub sentence: String,
}

/// A place where a layout breaks a rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ViolationEntry {
    /// Which rule.
    pub rule: String,
    /// Layer.
    pub layer: String,
    /// Centre of the place in the die frame, x in um.
    pub x_um: f64,
    /// y in um.
    pub y_um: f64,
    /// Nets of the shapes.
    pub nets: Vec<String>,
    /// What was found and what is allowed, in a sentence.
    pub sentence: String,
}

/// A finding on the design.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FindingEntry {
    /// Stable code.
    pub code: String,
    /// `error`, `warning` or `advice`.
    #[schemars(regex(pattern = "^(error|warning|advice)$"))]
    pub level: String,
    /// What is wrong.
    pub what: String,
    /// File, as written in the design.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub file: Option<String>,
    /// Line, from 1.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub line: Option<usize>,
    /// Column in characters, from 1.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub column: Option<usize>,
    /// What is allowed.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub allowed: Option<String>,
    /// How to mend it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub mend: Option<String>,
}

/// Another file of the set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FileEntry {
    /// Name inside the output folder.
    pub name: String,
    /// What it holds.
    pub holds: String,
    /// Length in bytes.
    pub bytes: u64,
    /// BLAKE3 of its bytes.
    pub blake3: String,
}

impl Results {
    /// The text of the file: indented JSON with a line feed at the end.
    ///
    /// # Errors
    /// Never for results made by this crate; a value that JSON cannot hold would be one.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string_pretty(self).map(|text| text + "\n")
    }
}

/// The JSON Schema of `results.json`, as committed in `docs/results.schema.json`.
///
/// # Errors
/// Never; kept because writing JSON may fail in principle.
pub fn schema() -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(&schemars::schema_for!(Results)).map(|text| text + "\n")
}
