//! No file makes the reader, the checks or the printing of their findings panic, loop, or fill the memory.

// Helpers of tests may fail loudly.
#![allow(clippy::unwrap_used)]

use facedown_package::{Memory, Reading, demo, read_and_check};
use proptest::prelude::*;
use std::path::Path;
use std::time::{Duration, Instant};

/// What any odd file may take, test build and a busy machine included.
const PATIENCE: Duration = Duration::from_secs(60);

/// A design whose die has its pads, bumps, power and currents in tables, with tables of contact-angle readings and of a
/// recorded temperature.
const WITH_TABLES: &str = r#"
[design]
name = "tables"
[[die]]
name = "a"
width = "3 mm"
height = "3 mm"
thickness = "300 um"
pads = "table.csv"
power_map = "table.csv"
currents = "table.csv"
[die.bumps]
pitch = "300 um"
table = "table.csv"
[die.rdl]
line = "10 um"
space = "10 um"
[process.clean]
readings = "table.csv"
[mission]
life = "10 year"
[mission.history]
table = "table.csv"
"#;

fn all(files: &Memory) -> Reading {
    let start = Instant::now();
    let reading = read_and_check(files, "design.toml");
    for finding in &reading.findings {
        let text = facedown_diagnostic::render(finding, &reading.sources, false);
        assert!(!finding.what.is_empty() && !finding.code.is_empty() && !text.is_empty());
    }
    assert!(start.elapsed() < PATIENCE, "took {:?}", start.elapsed());
    reading
}

fn design(bytes: &[u8]) -> Reading {
    all(&Memory::default().with("design.toml", bytes))
}

fn table(bytes: &[u8]) -> Reading {
    all(&Memory::default().with("design.toml", WITH_TABLES).with("table.csv", bytes))
}

fn corpus(kind: &str) -> Vec<(String, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus").join(kind);
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .map(|p| (p.display().to_string(), std::fs::read(&p).unwrap()))
        .collect();
    files.sort();
    assert!(files.len() >= 20);
    files
}

#[test]
fn the_corpus_of_odd_designs_gives_findings_only() {
    for (path, bytes) in corpus("design") {
        let reading = design(&bytes);
        assert!(!reading.findings.is_empty(), "{path} passed");
        assert!(reading.findings.len() < 1200, "{path} gave {} findings", reading.findings.len());
    }
}

#[test]
fn the_corpus_of_odd_tables_gives_findings_only() {
    for (path, bytes) in corpus("table") {
        let reading = table(&bytes);
        assert!(!reading.findings.is_empty(), "{path} passed");
        assert!(reading.findings.len() < 1200, "{path} gave {} findings", reading.findings.len());
    }
}

#[test]
fn files_over_the_limit_are_refused() {
    let reading = design(&vec![b'#'; (4 << 20) + 1]);
    assert_eq!(reading.findings[0].code, "file-too-large");
    let reading = table(&vec![b'#'; (64 << 20) + 1]);
    assert!(reading.findings.iter().any(|f| f.code == "file-too-large"));
}

#[test]
fn tables_with_too_many_rows_are_cut_with_a_finding() {
    let mut text = String::from("net,current (mA)\n");
    for i in 0..200_001 {
        text.push_str(&format!("n{i},1\n"));
    }
    let design = WITH_TABLES
        .replace("table = \"table.csv\"", "")
        .replace("pads = \"table.csv\"\npower_map = \"table.csv\"", "");
    let reading = all(&Memory::default().with("design.toml", design).with("table.csv", text));
    assert!(reading.findings.iter().any(|f| f.code == "too-many-rows"));
}

#[test]
fn a_record_with_too_many_rows_is_cut_with_a_finding() {
    let mut text = String::from("time (min),temperature (degC)\n");
    for i in 0..200_001 {
        text.push_str(&format!("{i},{}\n", 20 + i % 17));
    }
    let design = "[design]\nname = \"long\"\n[mission]\nlife = \"10 year\"\n[mission.history]\ntable = \"table.csv\"\n";
    let reading = all(&Memory::default().with("design.toml", design).with("table.csv", text));
    assert!(reading.findings.iter().any(|f| f.code == "too-many-rows"));
    assert!(!reading.is_runnable());
}

/// One change of a text: cut, double or overwrite a stretch of bytes.
#[derive(Debug, Clone)]
enum Change {
    Cut { at: usize, length: usize },
    Double { at: usize, length: usize },
    Overwrite { at: usize, bytes: Vec<u8> },
}

fn changes() -> impl Strategy<Value = Vec<Change>> {
    let byte =
        prop_oneof![any::<u8>(), Just(b'"'), Just(b'['), Just(b'\n'), Just(b','), Just(b'='), Just(b'{')];
    let change = prop_oneof![
        (any::<usize>(), 1usize..60).prop_map(|(at, length)| Change::Cut { at, length }),
        (any::<usize>(), 1usize..400).prop_map(|(at, length)| Change::Double { at, length }),
        (any::<usize>(), proptest::collection::vec(byte, 1..6))
            .prop_map(|(at, bytes)| Change::Overwrite { at, bytes }),
    ];
    proptest::collection::vec(change, 1..5)
}

fn changed(text: &str, changes: &[Change]) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for change in changes {
        let end = |at: usize, length: usize, bytes: &Vec<u8>| (at + length).min(bytes.len());
        match change {
            Change::Cut { at, length } => {
                let at = at % bytes.len().max(1);
                let end = end(at, *length, &bytes);
                bytes.drain(at.min(end)..end);
            }
            Change::Double { at, length } => {
                let at = at % bytes.len().max(1);
                let end = end(at, *length, &bytes);
                let piece = bytes[at.min(end)..end].to_vec();
                bytes.splice(at.min(end)..at.min(end), piece);
            }
            Change::Overwrite { at, bytes: new } => {
                let at = at % bytes.len().max(1);
                let end = end(at, new.len(), &bytes);
                bytes.splice(at.min(end)..end, new.iter().copied());
            }
        }
    }
    bytes
}

fn file(demo_name: &str, path: &str) -> &'static str {
    demo(demo_name).unwrap().files.iter().find(|(p, _)| *p == path).unwrap().1
}

/// Few enough for every run; `PROPTEST_CASES` asks for more.
fn cases() -> u32 {
    std::env::var("PROPTEST_CASES").ok().and_then(|v| v.parse().ok()).unwrap_or(48)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), ..ProptestConfig::default() })]

    #[test]
    fn changed_designs_never_panic(changes in changes()) {
        let text = changed(file("tidewatch", "design.toml"), &changes);
        all(&demo("tidewatch").unwrap().memory().with("design.toml", text));
    }

    #[test]
    fn changed_stacked_designs_never_panic(changes in changes()) {
        // Only the stack with its wire-bonded die, without the large arrays.
        let text = file("breakwater", "stacked.toml").replace("\"9.6 mm\"", "\"1.6 mm\"").replace("\"7.2 mm\"", "\"1.2 mm\"");
        all(&demo("breakwater").unwrap().memory().with("design.toml", changed(&text, &changes)));
    }

    #[test]
    fn changed_tables_never_panic(changes in changes()) {
        let text = changed(file("tidewatch", "pads.csv"), &changes);
        all(&demo("tidewatch").unwrap().memory().with("pads.csv", text));
    }

    #[test]
    fn changed_readings_never_panic(changes in changes()) {
        let text = changed(file("tidewatch", "readings.csv"), &changes);
        table(&text);
    }

    #[test]
    fn changed_records_never_panic(changes in changes()) {
        let text = changed(file("tidewatch", "water.csv"), &changes);
        all(&demo("tidewatch").unwrap().memory().with("water.csv", text.clone()));
        table(&text);
    }

    #[test]
    fn any_bytes_never_panic(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        design(&bytes);
        table(&bytes);
    }
}
