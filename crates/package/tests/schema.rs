//! The JSON Schema: committed as the types give it, and of one mind with the reader.

// Helpers of tests may fail loudly.
#![allow(clippy::unwrap_used)]

use facedown_package::{Folder, Memory, demos, read, schema::schema_text};
use serde_json::Value;
use std::path::{Path, PathBuf};

fn crate_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).to_path_buf()
}

fn validator() -> jsonschema::Validator {
    jsonschema::validator_for(&facedown_package::schema::schema()).unwrap()
}

fn json(text: &str) -> Value {
    serde_json::to_value(toml::from_str::<toml::Table>(text).unwrap()).unwrap()
}

#[test]
fn the_committed_schema_is_what_the_types_give() {
    let path = crate_folder().join("schema/design.schema.json");
    let committed = std::fs::read_to_string(path).unwrap();
    assert!(
        committed == schema_text(),
        "the schema changed; `cargo run -p facedown-package --example write_schema` writes it again"
    );
}

#[test]
fn the_demonstration_designs_fit_the_schema() {
    let validator = validator();
    for demo in demos() {
        for (path, text) in demo.files.iter().filter(|(p, _)| p.ends_with(".toml")) {
            let errors: Vec<String> =
                validator.iter_errors(&json(text)).map(|e| format!("{}: {e}", e.instance_path())).collect();
            assert!(errors.is_empty(), "{}/{path}: {errors:#?}", demo.name);
        }
    }
}

/// Findings that the schema can know of: keys, kinds of value, words, units. It knows nothing of tables, of
/// other files, or of what values mean together.
const SHAPE: &[&str] = &[
    "unknown-key",
    "missing-key",
    "wrong-kind",
    "wrong-count",
    "unknown-word",
    "unit-missing",
    "unit-unknown",
    "unit-wrong-kind",
    "bad-layer",
    "decimal-comma",
    "number-range",
];

#[test]
fn schema_and_reader_agree_on_broken_designs() {
    let validator = validator();
    let mut both = 0;
    for entry in std::fs::read_dir(crate_folder().join("tests/broken")).unwrap() {
        let folder = entry.unwrap().path();
        let text = std::fs::read_to_string(folder.join("design.toml")).unwrap();
        let Ok(table) = toml::from_str::<toml::Table>(&text) else { continue };
        let fits = validator.is_valid(&serde_json::to_value(table).unwrap());
        let reading = read(&Folder::new(&folder), "design.toml");
        let told: Vec<&str> = reading
            .findings
            .iter()
            .filter(|f| f.place.as_ref().is_some_and(|p| p.file == "design.toml"))
            .map(|f| f.code.as_str())
            .filter(|c| SHAPE.contains(c))
            .collect();
        assert_eq!(fits, told.is_empty(), "{}: the reader says {told:?}", folder.display());
        both += usize::from(!fits);
    }
    assert!(both >= 10, "only {both} broken designs are refused by the schema");
}

/// A small design that both take.
const SMALL: &str = r#"
[design]
name = "small"
[[die]]
name = "a"
width = "3 mm"
height = "3 mm"
thickness = "300 um +- 10 um"
at = ["0 mm", "0 mm"]
[die.bumps]
pitch = "400 um"
matrix = [4, 4]
[[die.net]]
name = "VSS"
grow = true
bumps = 3
[form]
kind = "bare"
"#;

/// Edits of the small design, and whether the result may be written.
const EDITS: &[(&str, &str, bool)] = &[
    ("", "", true),
    ("width = \"3 mm\"", "width = \"3.0mm\"", true),
    ("width = \"3 mm\"", "width = \"118 mil\"", true),
    ("width = \"3 mm\"", "width = \"3000 µm ± 2 %\"", true),
    ("width = \"3 mm\"", "width = 3", false),
    ("width = \"3 mm\"", "width = \"3\"", false),
    ("width = \"3 mm\"", "width = \"3 V\"", false),
    ("width = \"3 mm\"", "breadth = \"3 mm\"", false),
    ("width = \"3 mm\"", "width = [\"3 mm\"]", false),
    ("at = [\"0 mm\", \"0 mm\"]", "at = [\"0 mm\"]", false),
    ("at = [\"0 mm\", \"0 mm\"]", "at = [0, 0]", false),
    ("matrix = [4, 4]", "matrix = [4, 4, 4]", false),
    ("matrix = [4, 4]", "matrix = [4.5, 4]", false),
    ("matrix = [4, 4]", "matrix = [-4, 4]", false),
    ("grow = true", "grow = \"true\"", false),
    ("bumps = 3", "bumps = \"3\"", false),
    ("kind = \"bare\"", "kind = \"box\"", false),
    ("kind = \"bare\"", "kind = \"bare\"\nband = \"1 mm\"", false),
    ("kind = \"bare\"", "kind = \"lid\"", false),
    ("[form]\nkind = \"bare\"", "[[variant]]\nname = \"x\"\nform = { kind = \"bare\" }", true),
    ("[[die]]\nname", "[die]\nname", false),
    ("name = \"a\"\n", "name = \"\"\n", false),
    ("name = \"a\"\n", "name = \"a\"\nmount = \"wire\"\n", true),
    ("name = \"a\"\n", "name = \"a\"\nmount = \"glue\"\n", false),
    ("name = \"a\"\n", "name = \"a\"\npads = \"at bumps\"\n", true),
    ("name = \"a\"\n", "name = \"a\"\npads = { csv = 3 }\n", false),
    ("name = \"a\"\n", "name = \"a\"\npads = { gdsii = \"a.gds\", openings = \"37\" }\n", false),
    ("name = \"a\"\n", "name = \"a\"\npads = { def = \"a.def\", lef = \"a.lef\" }\n", false),
    (
        "name = \"a\"\n",
        "name = \"a\"\nstrength = { back = { characteristic = \"300 MPa +- 30 MPa\", shape = 5.5, area = \"1 cm2\" } }\n",
        true,
    ),
    (
        "name = \"a\"\n",
        "name = \"a\"\nstrength = { back = { characteristic = \"300 MPa\", shape = 5 } }\n",
        false,
    ),
    (
        "[form]\n",
        "[mission]\nlife = \"1 year\"\n[mission.history]\ntable = \"a.csv\"\nrepeats = \"52 cycles\"\ngate = \"2 K\"\n[form]\n",
        true,
    ),
    ("[form]\n", "[mission]\nlife = \"1 year\"\n[mission.history]\nrepeats = \"52 cycles\"\n[form]\n", false),
    (
        "[form]\n",
        "[mission]\nlife = \"1 year\"\n[mission.history]\ntable = \"a.csv\"\ngate = \"2 degC\"\n[form]\n",
        false,
    ),
    (
        "[form]\n",
        "[mission]\nlife = \"1 year\"\n[[mission.cycle]]\nlow = \"0 degC\"\nhigh = \"9 degC\"\ncount = \"1 cycles\"\nboard = [\"0 degC\", \"5 degC\"]\n[form]\n",
        true,
    ),
    ("[form]\n", "[environment]\nambient = \"20 degC\"\nhumidity = \"60 % +- 10 %\"\n[form]\n", true),
    ("pitch = \"400 um\"\n", "pitch = \"400 um\"\ncontact_resistance = \"2e-8 ohm cm2\"\n", true),
    ("pitch = \"400 um\"\n", "pitch = \"400 um\"\ncontact_resistance = \"2 mohm\"\n", false),
    (
        "[form]\n",
        "[substrate]\nwidth = \"9 mm\"\nheight = \"9 mm\"\nreceived_bow = \"-40 um +- 20 um\"\n[form]\n",
        true,
    ),
    (
        "[form]\n",
        "[process.cure]\nstress_free = \"135 degC +- 5 K\"\njoints_crept = \"60 %\"\n[form]\n",
        true,
    ),
    ("[design]\n", "[design]\nspread = \"2 sigma\"\n", true),
    ("[design]\n", "[design]\nspread = \"wide\"\n", false),
];

#[test]
fn schema_and_reader_agree_on_single_edits() {
    let validator = validator();
    for (from, to, right) in EDITS {
        assert!(SMALL.contains(from), "{from}");
        let text = SMALL.replacen(from, to, 1);
        let Ok(table) = toml::from_str::<toml::Table>(&text) else { panic!("{to} is no TOML") };
        assert_eq!(validator.is_valid(&serde_json::to_value(table).unwrap()), *right, "the schema on {to}");
        let reading = read(&Memory::default().with("design.toml", text), "design.toml");
        let shape = reading.findings.iter().filter(|f| !f.code.starts_with("file-"));
        let told: Vec<&str> = shape.map(|f| f.what.as_str()).collect();
        assert_eq!(told.is_empty(), *right, "the reader on {to}: {told:?}");
    }
}
