//! The report pages in a browser: an accessibility checker looks at the page of each demonstration and at the one that
//! the tests of the report write.
//!
//! The checker comes from the pinned `tests/page/package-lock.json` into a folder of its own under the target folder.

use crate::shell::{Outcome, cargo, command, output, root, run, target};
use std::fs;
use std::path::{Path, PathBuf};

/// Oldest Node.js that the pinned libraries run on.
const OLDEST: u32 = 18;

/// What the checker needs, copied beside its libraries.
const FILES: [&str; 3] = ["package.json", "package-lock.json", "check.mjs"];

/// Runs the checker; `Ok(Some(reason))` when it cannot run here.
pub fn run_tests() -> Outcome<Option<String>> {
    let Some(browser) = browser() else {
        return Ok(Some("no Chromium was found; Debian's package is chromium".into()));
    };
    let version = output(command("node").arg("--version")).unwrap_or_default();
    let major = version.trim().trim_start_matches('v').split('.').next().and_then(|v| v.parse::<u32>().ok());
    if major.is_none_or(|v| v < OLDEST) {
        return Ok(Some(format!("no Node.js of version {OLDEST} or newer was found")));
    }
    let folder = target().join("page-check");
    fs::create_dir_all(&folder).map_err(|e| format!("cannot make {}: {e}", folder.display()))?;
    for name in FILES {
        let (from, to) = (root().join("tests/page").join(name), folder.join(name));
        fs::copy(&from, &to).map_err(|e| format!("cannot copy {}: {e}", from.display()))?;
    }
    let install = ["ci", "--no-audit", "--no-fund", "--ignore-scripts"];
    if let Err(what) = run(command("npm").args(install).current_dir(&folder)) {
        return Ok(Some(format!("the pinned libraries cannot be installed ({what})")));
    }
    let mut pages = vec![target().join("tmp/whole-page.html")];
    // The module's page by closed forms: what its solvers draw is drawn on the other pages too.
    let demonstrations: [(&str, &str, &[&str]); 4] = [
        ("tidewatch", "design", &[]),
        ("tidewatch", "dirty", &[]),
        ("harborlight", "design", &[]),
        ("breakwater", "design", &["--closed-forms"]),
    ];
    for (example, design, options) in demonstrations {
        pages.push(demonstration(&folder, example, design, options)?);
    }
    run(command("node").arg(folder.join("check.mjs")).arg(browser).args(&pages).current_dir(&folder))?;
    Ok(None)
}

/// Runs a demonstration and gives its page.
fn demonstration(folder: &Path, name: &str, file: &str, options: &[&str]) -> Outcome<PathBuf> {
    let (design, out) = (folder.join(name), folder.join(format!("{name}-{file}-results")));
    if design.exists() {
        fs::remove_dir_all(&design).map_err(|e| format!("cannot remove {}: {e}", design.display()))?;
    }
    let facedown = || {
        let mut command = cargo();
        command.args(["run", "--quiet", "--package", "facedown", "--"]);
        command
    };
    run(facedown().arg("new").arg(&design).args(["--example", name]))?;
    let mut job = facedown();
    job.arg("run")
        .arg(design.join(format!("{file}.toml")))
        .arg("--out")
        .arg(&out)
        .arg("--no-cache")
        .args(options);
    // A requirement that is short is no fault of the page; only the page is asked for here.
    let _ = run(&mut job);
    let page = out.join("report.html");
    if page.is_file() { Ok(page) } else { Err(format!("{name} wrote no {}", page.display())) }
}

/// The browser: as named in `CHROMIUM`, or by the names that systems give it.
fn browser() -> Option<PathBuf> {
    let named = std::env::var_os("CHROMIUM").map(PathBuf::from);
    let folders: Vec<PathBuf> = std::env::split_paths(&std::env::var_os("PATH")?).collect();
    let found = ["chromium", "chromium-browser"]
        .iter()
        .flat_map(|name| folders.iter().map(move |folder| folder.join(name)))
        .find(|path| path.is_file());
    named.filter(|path| path.is_file()).or(found)
}
