//! `cargo xtask gen`: files that are made from the code and committed, and the comparison that finds stale ones.
//!
//! | file | from |
//! |---|---|
//! | `docs/results.schema.json` | `cargo run -p facedown-pipeline --example results_schema` |
//! | `crates/package/schema/design.schema.json` | `cargo run -p facedown-package --example write_schema` |
//! | the tables in `crates/package/demos` | `cargo run -p facedown-package --example make_demos` |
//! | `docs/cli.md` | the `--help` of every command |

use crate::shell::{self, Outcome, cargo, output, root};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Folders and files that this chore writes.
const GENERATED: [&str; 4] =
    ["docs/results.schema.json", "docs/cli.md", "crates/package/schema", "crates/package/demos"];

/// Writes all generated files.
pub fn run() -> Outcome {
    let example = |package: &str, name: &str| {
        let mut command = cargo();
        command.args(["run", "--quiet", "--package", package, "--example", name]);
        command
    };
    shell::run(&mut example("facedown-package", "write_schema"))?;
    shell::run(&mut example("facedown-package", "make_demos"))?;
    write("docs/results.schema.json", &output(&mut example("facedown-pipeline", "results_schema"))?)?;
    write("docs/cli.md", &command_line()?)
}

/// Solves the unit cells of bump fields and writes their table; too long for `gen`, and needed only when their method changes.
pub fn cells() -> Outcome {
    let mut program = cargo();
    program.args([
        "run",
        "--quiet",
        "--release",
        "--package",
        "facedown-underfill",
        "--example",
        "unit_cells",
    ]);
    write("crates/underfill/data/unit-cells.csv", &output(&mut program)?)
}

/// Generates again and wants nothing to change; what did change is put back, so that the check alters nothing.
pub fn compare() -> Outcome {
    let before = contents()?;
    run()?;
    let after = contents()?;
    let names: std::collections::BTreeSet<&PathBuf> = before.keys().chain(after.keys()).collect();
    let stale: Vec<String> = names
        .into_iter()
        .filter(|name| before.get(*name) != after.get(*name))
        .map(|name| name.display().to_string())
        .collect();
    for name in &stale {
        let path = root().join(name);
        let restored = match before.get(Path::new(name)) {
            Some(bytes) => fs::write(&path, bytes),
            None => fs::remove_file(&path),
        };
        restored.map_err(|e| format!("cannot restore {}: {e}", path.display()))?;
    }
    if stale.is_empty() { Ok(()) } else { Err(format!("run `cargo xtask gen`; stale: {}", stale.join(", "))) }
}

fn contents() -> Outcome<BTreeMap<PathBuf, Vec<u8>>> {
    let mut files = BTreeMap::new();
    let mut open: Vec<PathBuf> = GENERATED.iter().map(PathBuf::from).collect();
    while let Some(name) = open.pop() {
        let path = root().join(&name);
        if path.is_dir() {
            let entries = fs::read_dir(&path).map_err(|e| format!("cannot read {}: {e}", path.display()))?;
            open.extend(entries.flatten().map(|entry| name.join(entry.file_name())));
        } else if path.exists() {
            let bytes = fs::read(&path).map_err(|e| format!("cannot read {}: {e}", path.display()))?;
            files.insert(name, bytes);
        }
    }
    Ok(files)
}

fn write(name: &str, text: &str) -> Outcome {
    let path = root().join(name);
    fs::write(&path, text).map_err(|e| format!("cannot write {}: {e}", path.display()))
}

/// The reference of the command line, from the help of the program itself.
fn command_line() -> Outcome<String> {
    let help = |words: &[&str]| -> Outcome<String> {
        let mut command = cargo();
        command.args(["run", "--quiet", "--package", "facedown", "--"]).args(words).arg("--help");
        // Help is wrapped at the width of the terminal; the committed file must not depend on it.
        command.env("COLUMNS", "100").env("NO_COLOR", "1");
        output(&mut command)
    };
    let main = help(&[])?;
    let commands: Vec<&str> = main
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.trim().is_empty())
        .filter_map(|line| line.strip_prefix("  ").filter(|rest| !rest.starts_with(' ')))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    if commands.is_empty() {
        return Err("the help of facedown lists no commands".into());
    }
    let mut text =
        String::from("# The command line\n\nWritten by `cargo xtask gen` from the program's own help.\n");
    let mut section = |title: &str, help: &str| {
        text.push_str(&format!("\n## {title}\n\n```text\n{}\n```\n", help.trim_end()));
    };
    section("facedown", &main);
    for name in &commands {
        section(&format!("facedown {name}"), &help(&[name])?);
    }
    Ok(text)
}
