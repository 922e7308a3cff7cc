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

/// Columns of the table at most.
const WIDTH: usize = 120;

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
    let id = checks.iter().map(|c| c.id.chars().count()).max().unwrap_or(0);
    let mut text = String::new();
    let mut study = "";
    for check in checks {
        if check.study != study {
            study = &check.study;
            text.push_str(&format!("{study}\n"));
        }
        let word = if check.pass() { "pass" } else { "FAIL" };
        let numbers = format!(
            "  {word}  {:<id$}  expected {:>14}  computed {:>14}  error {:>7} of {:.1e}",
            check.id,
            digits(check, check.expected),
            digits(check, check.computed),
            format!("{:.1e}", check.error()),
            check.tolerance,
        );
        text.push_str(&numbers);
        text.push('\n');
        // The source has lines of its own, so that the numbers stand below each other on a narrow terminal too.
        let mut line = String::from("       ");
        for word in format!("{}: {}", check.basis.words(), check.source).split_whitespace() {
            if line.chars().count() + 1 + word.chars().count() > WIDTH {
                text.push_str(&line);
                text.push('\n');
                line = String::from("        ");
            }
            line.push(' ');
            line.push_str(word);
        }
        text.push_str(&line);
        text.push('\n');
    }
    text
}

/// A value with one digit more than the tolerance decides on; all digits where the row is exact.
fn digits(check: &Check, value: f64) -> String {
    let allowed = match check.measure {
        facedown_evidence::Measure::Absolute => check.tolerance,
        facedown_evidence::Measure::Relative => check.tolerance * check.expected.abs(),
    };
    let size = value.abs();
    if value != 0.0 && !(1e-4..1e9).contains(&size) {
        return format!("{value:.7e}");
    }
    if allowed <= 0.0 {
        let text = value.to_string();
        return if text.len() > 14 { format!("{value:.12}") } else { text };
    }
    let decimals = (1.0 - allowed.log10().floor()).clamp(0.0, 9.0) as usize;
    format!("{value:.decimals$}")
}
