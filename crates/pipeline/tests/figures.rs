//! All figures of the demonstration designs, end to end, to four digits: a change of any of them is seen and meant.
//!
//! `FACEDOWN_BLESS=1 cargo test -p facedown-pipeline --test figures` writes them again; read what has changed before you
//! keep it.
#![allow(clippy::unwrap_used, reason = "test code")]

use facedown_package::{Memory, demo, read_and_check};
use facedown_pipeline::{Cache, Control, studies};
use std::fmt::Write as _;
use std::path::Path;

/// Four digits hold whatever order a machine adds in; what rounding, or the residual of a solver, leaves of a balance that
/// closes does not.
fn digits(value: f64) -> String {
    if value.abs() < 1e-7 { "0".into() } else { format!("{value:.3e}") }
}

fn figures(name: &str) -> String {
    let demo = demo(name).unwrap();
    let files = demo.files.iter().fold(Memory::default(), |files, (name, text)| files.with(name, *text));
    let reading = read_and_check(&files, "design.toml");
    let run = studies::graph().unwrap().run(
        reading.design.as_ref().unwrap(),
        None,
        &Cache::none(),
        Control::silent(),
    );
    assert!(run.failures().is_empty(), "{name}: {:?}", run.failures());
    let mut text = String::new();
    for study in run.studies().filter(|s| !s.figures.is_empty()) {
        writeln!(text, "[{}]", study.node.name).unwrap();
        for f in &study.figures {
            let unit = if f.unit.is_empty() { String::new() } else { format!(" {}", f.unit) };
            let between = f.between.map(|[a, b]| format!(" between {} and {}", digits(a), digits(b)));
            let outside = if f.outside.is_some() { ", outside" } else { "" };
            let line =
                format!("{} = {}{unit}{}{outside}", f.name, digits(f.value), between.unwrap_or_default());
            writeln!(text, "{line}").unwrap();
        }
    }
    text
}

fn kept(name: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/figures").join(format!("{name}.txt"));
    let now = figures(name);
    if std::env::var_os("FACEDOWN_BLESS").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, now).unwrap();
        return;
    }
    let before = std::fs::read_to_string(&path).unwrap_or_default();
    let changed: Vec<String> = now
        .lines()
        .filter(|line| !before.lines().any(|old| old == *line))
        .map(|line| format!("now  {line}"))
        .chain(before.lines().filter(|l| !now.lines().any(|n| n == *l)).map(|l| format!("kept {l}")))
        .collect();
    assert!(changed.is_empty(), "{name}:\n{}", changed.join("\n"));
}

#[test]
fn figures_of_tidewatch() {
    kept("tidewatch");
}

#[test]
fn figures_of_harborlight() {
    kept("harborlight");
}

#[test]
fn figures_of_breakwater() {
    kept("breakwater");
}
