//! Every figure with its evidence, what the tolerances do to those that are judged, and the sources.

use super::write::{Cell, capital, in_words, list, paragraph, table};
use super::{PageInput, third};
use crate::chart;
use crate::chart::contributors::{Moved, contributors};
use crate::number::significant;
use crate::svg::Svg;
use facedown_pipeline::results::{FigureEntry, StudyEntry};
use facedown_pipeline::verdict::amount;
use std::collections::BTreeMap;

/// The contributors to the spread of each figure with a requirement.
pub fn tolerances(input: &PageInput<'_>, out: &mut Svg) {
    let mut moved = Vec::new();
    for (study, entry) in &input.results.studies {
        for (name, figure) in entry.figures.iter().filter(|(_, f)| f.requirement.is_some()) {
            let Some(spread) = &figure.spread else { continue };
            let by = spread.contributors.iter().take(3).map(|c| {
                let sign = if c.change < 0.0 { "" } else { "+" };
                let change = format!("{sign}{} {}", significant(c.change, 2), figure.unit);
                (format!("{} = {}", c.quantity, c.text), c.share, change.trim_end().to_owned())
            });
            moved.push(Moved {
                figure: format!(
                    "{study}, {}: {}, one standard deviation {}",
                    in_words(name),
                    amount(figure.value, &figure.unit),
                    amount(rounded(spread.deviation), &figure.unit)
                ),
                by: by.collect(),
            });
        }
    }
    if moved.is_empty() {
        return;
    }
    let told: Vec<String> = moved
        .iter()
        .map(|m| {
            let first = m.by.first().map(|b| format!("; most from {}", b.0)).unwrap_or_default();
            format!("{}{first}", m.figure)
        })
        .collect();
    let words = chart::Words {
        id: "chart-tolerances",
        title: "Largest contributors to the spread of the judged figures",
        description: &format!("{}.", told.join(". ")),
    };
    let caption = "Share of each figure's variance by toleranced quantity, up to three; in brackets the change for one standard \
                   deviation of the quantity. First order, by derivatives through all studies.";
    super::figure(out, "Tolerance contributors", &contributors(&words, &moved), caption);
}

/// Two digits are enough for a spread.
fn rounded(value: f64) -> f64 {
    significant(value, 2).parse().unwrap_or(value)
}

/// All figures, a table a study.
pub fn all(input: &PageInput<'_>, out: &mut Svg) {
    for (name, study) in &input.results.studies {
        third(out, &capital(&in_words(name)));
        study_table(out, name, study);
        list(out, study.notes.iter().map(String::as_str));
        for (part, entry) in study.parts.iter().filter(|_| study.parts.len() > 1) {
            let told: Vec<String> = entry
                .figures
                .iter()
                .map(|(name, f)| format!("{} {}", in_words(name), amount(f.value, &f.unit)))
                .collect();
            paragraph(out, "small", &format!("{part}: {}", told.join(", ")));
        }
        let parts = study.parts.values();
        list(out, parts.flat_map(|p| p.notes.iter().chain(&p.obstacles)).map(String::as_str));
    }
}

fn study_table(out: &mut Svg, name: &str, study: &StudyEntry) {
    if study.figures.is_empty() {
        paragraph(out, "", "No figures.");
        return;
    }
    let rows: Vec<Vec<Cell>> = study.figures.iter().map(|(name, figure)| row(name, figure)).collect();
    let columns =
        ["Figure", "Verdict", "Value", "Error or spread", "By hand", "Status", "Set by, and range", "Basis"];
    table(out, &format!("Figures of {}", in_words(name)), &columns, &rows);
}

fn row(name: &str, figure: &FigureEntry) -> Vec<Cell> {
    let mut error = Vec::new();
    error.extend(figure.error.map(|e| format!("error {}", amount(rounded(e), &figure.unit))));
    error.extend(
        figure.spread.as_ref().map(|s| format!("s.d. {}", amount(rounded(s.deviation), &figure.unit))),
    );
    let mut range = Vec::new();
    range.extend(figure.limited_by.clone());
    if let Some([low, high]) = figure.between {
        range.push(format!(
            "between {} and {} over what is not known better",
            amount(low, &figure.unit),
            amount(high, &figure.unit)
        ));
    }
    range.extend(figure.outside.as_ref().map(|o| format!("outside the method's range: {o}")));
    vec![
        Cell::text(in_words(name)),
        figure.verdict.map_or_else(|| Cell::text(""), Cell::Verdict),
        Cell::number(amount(figure.value, &figure.unit)),
        Cell::number(error.join(", ")),
        Cell::number(figure.hand.map(|h| amount(h, &figure.unit)).unwrap_or_default()),
        Cell::text(&figure.status),
        Cell::text(capital(&range.join("; "))),
        Cell::text(&figure.basis),
    ]
}

/// Every basis once, with the figures that stand on it.
pub fn sources(input: &PageInput<'_>, out: &mut Svg) {
    out.start("section").attr("id", "sources").attr("aria-labelledby", "sources-head");
    out.start("h2").attr("id", "sources-head").text("Sources").end();
    let mut by: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for (study, entry) in &input.results.studies {
        for (name, figure) in &entry.figures {
            by.entry(&figure.basis).or_default().push(format!("{study}: {}", in_words(name)));
        }
    }
    let rows: Vec<Vec<Cell>> = by
        .into_iter()
        .map(|(basis, figures)| vec![Cell::text(basis), Cell::text(figures.join(", "))])
        .collect();
    if rows.is_empty() {
        paragraph(out, "", "No figure was computed.");
    } else {
        table(out, "What the figures stand on", &["Basis", "Figures"], &rows);
    }
    let findings: Vec<String> = input
        .results
        .findings
        .iter()
        .map(|f| {
            let allowed = f.allowed.as_ref().map(|a| format!(" Allowed: {a}.")).unwrap_or_default();
            format!("{}: {}.{allowed}", capital(&f.level), f.what)
        })
        .collect();
    if !findings.is_empty() {
        third(out, "Warnings and advice on the design");
        list(out, findings.iter().map(String::as_str));
    }
    out.end();
}
