//! `cargo xtask demo`: the first thing a newcomer runs.

use crate::shell::{self, Outcome, cargo, command, root, target};
use std::fs;

/// Builds the release program, writes tidewatch into the target folder, runs it, and tells where the report is.
pub fn run() -> Outcome {
    shell::run(cargo().args(["build", "--release", "--package", "facedown"]))?;
    let program = target().join("release").join(format!("facedown{}", std::env::consts::EXE_SUFFIX));
    let folder = target().join("demo");
    let (design, out) = (folder.join("tidewatch"), folder.join("results"));
    if design.exists() {
        // The example is written anew, so that the demonstration is that of this program and not of an older one.
        fs::remove_dir_all(&design).map_err(|e| format!("cannot remove {}: {e}", design.display()))?;
    }
    shell::run(command(&program).arg("new").arg(&design).args(["--example", "tidewatch"]))?;
    let mut job = command(&program);
    // Without the cache: the demonstration shows the work itself.
    job.arg("run").arg(design.join("design.toml")).arg("--out").arg(&out).arg("--no-cache");
    shell::run(&mut job)?;
    let mut pictures: Vec<_> = fs::read_dir(&out)
        .map_err(|e| format!("cannot read {}: {e}", out.display()))?
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|e| e == "html" || e == "svg"))
        .collect();
    pictures.sort();
    if pictures.is_empty() {
        return Err(format!("there is no report in {}", out.display()));
    }
    eprintln!("\nThe report and the pictures, to be opened in a browser:");
    for picture in pictures {
        eprintln!("  {}", picture.strip_prefix(root()).unwrap_or(&picture).display());
    }
    Ok(())
}
