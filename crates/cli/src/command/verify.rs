//! `facedown verify`: the table of published checks.

use crate::arguments::Verify;
use crate::exit::{Done, Exit, Failure};
use crate::terminal;
use facedown_evidence::Check;
use facedown_pipeline::checks::published_checks;
use serde::Serialize;

/// One row as it is written in JSON.
#[derive(Serialize)]
struct Row<'a> {
    id: &'a str,
    study: &'a str,
    source: &'a str,
    basis: &'a str,
    expected: f64,
    computed: f64,
    error: f64,
    measure: facedown_evidence::Measure,
    tolerance: f64,
    pass: bool,
}

/// Computes and shows every row.
pub fn run(arguments: &Verify) -> Done {
    let checks = published_checks();
    let failed = checks.iter().filter(|c| !c.pass()).count();
    if arguments.json {
        let rows: Vec<Row<'_>> = checks.iter().map(row).collect();
        let text = serde_json::to_string_pretty(&rows).map_err(Failure::input)?;
        terminal::print(&(text + "\n"));
    } else {
        terminal::print(&table(&checks));
    }
    terminal::say(&format!("{} checks: {} pass, {failed} fail", checks.len(), checks.len() - failed));
    Ok(if failed == 0 { Exit::Met } else { Exit::Short })
}

fn row(check: &Check) -> Row<'_> {
    Row {
        id: &check.id,
        study: &check.study,
        source: &check.source,
        basis: check.basis.words(),
        expected: check.expected,
        computed: check.computed,
        error: check.error(),
        measure: check.measure,
        tolerance: check.tolerance,
        pass: check.pass(),
    }
}

fn table(checks: &[Check]) -> String {
    use facedown_pipeline::verdict::amount;
    let id = checks.iter().map(|c| c.id.chars().count()).max().unwrap_or(0);
    let mut text = String::new();
    let mut study = "";
    for check in checks {
        if check.study != study {
            study = &check.study;
            text.push_str(&format!("{study}\n"));
        }
        let word = if check.pass() { "pass" } else { "FAIL" };
        text.push_str(&format!(
            "  {word}  {:<id$}  expected {:>12}  computed {:>12}  error {:>9} of {:<9} {}: {}\n",
            check.id,
            amount(check.expected, ""),
            amount(check.computed, ""),
            format!("{:.1e}", check.error()),
            format!("{:.1e}", check.tolerance),
            check.basis.words(),
            check.source
        ));
    }
    text
}
