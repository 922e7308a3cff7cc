//! `facedown compare`: a design as bare die, with ring, with lid and in its variants, in one table.

use crate::arguments::Compare;
use crate::command::solve::{compared, runnable, solve};
use crate::exit::{Done, Exit, Failure};
use crate::terminal;
use facedown_pipeline::Depth;
use facedown_pipeline::compare::{Cell, Column};
use facedown_pipeline::verdict::{Verdict, amount};
use facedown_report::verdict::glyph;

/// Solves the forms and shows which requirement is met by which.
pub fn run(arguments: &Compare) -> Done {
    let ready = runnable(&arguments.file)?;
    // The rule check takes longest and no form changes it.
    let names = facedown_pipeline::studies::graph()
        .map_err(|e| Failure { exit: Exit::StudyFailed, message: e.to_string() })?
        .nodes()
        .map(|n| n.name.to_owned())
        .filter(|n| n != facedown_pipeline::studies::RULE_CHECK)
        .filter(|n| n != facedown_pipeline::studies::REDISTRIBUTION)
        .collect::<Vec<_>>();
    let base = solve(&ready.design, &names, Depth::Solvers, false)?;
    let columns = compared(&ready.design, &base)?;
    if arguments.json {
        let text = serde_json::to_string_pretty(&columns).map_err(Failure::input)?;
        terminal::print(&(text + "\n"));
    } else {
        terminal::print(&table(ready.design.heading.name.as_str(), &columns));
    }
    for (column, failure) in columns.iter().flat_map(|c| c.failures.iter().map(move |f| (c, f))) {
        terminal::say(&format!("{} {}: {failure}", terminal::error_word(), column.name));
    }
    let sound = columns.iter().all(|c| c.failures.is_empty());
    let met = columns.first().is_some_and(|c| c.requirements.iter().all(|r| r.verdict != Verdict::Short));
    Ok(match (sound, met) {
        (false, _) => Exit::StudyFailed,
        (true, false) => Exit::Short,
        (true, true) => Exit::Met,
    })
}

/// Requirements down, forms across.
fn table(design: &str, columns: &[Column]) -> String {
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut head = vec!["requirement".to_owned(), "asked".to_owned()];
    head.extend(columns.iter().map(|c| {
        let form = if c.name == c.form { String::new() } else { format!(" ({})", c.form) };
        format!("{}{form}{}", c.name, if c.usual { " *" } else { "" })
    }));
    rows.push(head);
    if let Some(first) = columns.first() {
        for (i, asked) in first.requirements.iter().enumerate() {
            let mut row = vec![
                asked.figure.clone(),
                format!("{} {}", asked.bound.words(), amount(asked.limit, &asked.unit)),
            ];
            row.extend(columns.iter().map(|c| c.requirements.get(i).map_or_else(String::new, shown)));
            rows.push(row);
        }
    }
    let count = |verdict| {
        let of = |c: &Column| c.requirements.iter().filter(|r| r.verdict == verdict).count().to_string();
        columns.iter().map(of).collect::<Vec<_>>()
    };
    for verdict in [Verdict::Meets, Verdict::Short, Verdict::NotJudged] {
        let mut row = vec![String::new(), verdict.words().to_owned()];
        row.extend(count(verdict));
        rows.push(row);
    }
    let widths: Vec<usize> = (0..rows[0].len())
        .map(|k| rows.iter().map(|r| r.get(k).map_or(0, |t| t.chars().count())).max().unwrap_or(0))
        .collect();
    let mut text = format!("{design} in its forms\n\n");
    for row in rows {
        let cells: Vec<String> =
            row.iter().zip(&widths).map(|(cell, width)| format!("{cell:<width$}")).collect();
        text.push_str(cells.join("  ").trim_end());
        text.push('\n');
    }
    if columns.iter().any(|c| c.usual) {
        text.push_str("\n* usual sizes, not the design's own (common practice, no source)\n");
    }
    text
}

fn shown(cell: &Cell) -> String {
    let mark = glyph(cell.verdict, terminal::plain_marks());
    let value = cell.value.map_or_else(|| "none".to_owned(), |v| amount(v, &cell.unit));
    format!("{mark} {value}")
}
