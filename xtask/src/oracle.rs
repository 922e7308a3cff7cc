//! The oracle tests: Python's general-purpose libraries read back and recompute what the program writes.
//!
//! They run in an environment of their own in the target folder, made from the pinned `tests/oracle/requirements.txt`
//! and made again when that file changes.

use crate::shell::{Outcome, command, output, root, run, target};
use std::fs;
use std::path::PathBuf;

/// Oldest Python that the pinned libraries run on.
const OLDEST: (u32, u32) = (3, 11);

/// Runs the oracle tests; `Ok(Some(reason))` when they cannot run here.
pub fn run_tests() -> Outcome<Option<String>> {
    let Some(python) = python() else {
        return Ok(Some(format!("no Python of version {}.{} or newer was found", OLDEST.0, OLDEST.1)));
    };
    let environment = target().join("oracle-venv");
    let inside = if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" };
    let own = environment.join(inside);
    let requirements = root().join("tests/oracle/requirements.txt");
    let wanted = fs::read_to_string(&requirements)
        .map_err(|e| format!("cannot read {}: {e}", requirements.display()))?;
    // Written last, so that a half-made environment is made again.
    let stamp = environment.join("made-from.txt");
    if fs::read_to_string(&stamp).ok().as_deref() != Some(wanted.as_str()) {
        if let Err(what) = run(command(&python).args(["-m", "venv", "--clear"]).arg(&environment)) {
            return Ok(Some(format!(
                "Python cannot make an environment ({what}); Debian needs the package python3-venv"
            )));
        }
        let install = ["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--requirement"];
        if let Err(what) = run(command(&own).args(install).arg(&requirements)) {
            return Ok(Some(format!("the pinned libraries cannot be installed ({what})")));
        }
        fs::write(&stamp, &wanted).map_err(|e| format!("cannot write {}: {e}", stamp.display()))?;
    }
    run(command(&own).args(["-m", "pytest", "-q", "-p", "no:cacheprovider", "tests/oracle"]))?;
    Ok(None)
}

/// The first Python that is new enough.
fn python() -> Option<PathBuf> {
    let names: &[&str] = if cfg!(windows) { &["python", "py"] } else { &["python3", "python"] };
    names.iter().map(PathBuf::from).find(|name| {
        let ask = ["-c", "import sys; print(sys.version_info[0], sys.version_info[1])"];
        let answer = output(command(name).args(ask)).unwrap_or_default();
        let numbers: Vec<u32> = answer.split_whitespace().filter_map(|n| n.parse().ok()).collect();
        matches!(numbers.as_slice(), [major, minor] if (*major, *minor) >= OLDEST)
    })
}
