//! What the shop floor needs: the process sheet with its cautions, and the qualification plan.

use super::PageInput;
use super::write::{Cell, capital, list, paragraph, table};
use crate::number::{fixed, significant};
use crate::svg::Svg;

/// The process sheet of each die.
pub fn sheet(input: &PageInput<'_>, out: &mut Svg) {
    let sheets = input.underfill.iter().filter(|(_, o)| !o.sheet.is_empty());
    for (die, outcome) in sheets {
        let rows: Vec<Vec<Cell>> = outcome
            .sheet
            .iter()
            .map(|line| {
                let caution = if line.caution.is_empty() { "none" } else { line.caution.as_str() };
                let texts = [&line.step, &line.setting, &line.limit, &line.inspection];
                let mut row: Vec<Cell> = texts.iter().map(|t| Cell::text(capital(t))).collect();
                row.push(Cell::text(capital(caution)));
                row
            })
            .collect();
        let caption = format!("Underfill of {die}");
        table(out, &caption, &["Step", "Setting", "Limit", "Inspection", "Caution"], &rows);
    }
    if input.underfill.iter().any(|(_, o)| !o.sheet.is_empty()) {
        let caution = "Local codes, safety data sheets and licensed practice come before this sheet.";
        paragraph(out, "caution", caution);
    }
}

/// The qualification plan.
pub fn plan(input: &PageInput<'_>, out: &mut Svg) {
    let Some(life) = input.life.filter(|l| !l.plan.is_empty()) else { return };
    let rows: Vec<Vec<Cell>> = life
        .plan
        .iter()
        .map(|row| {
            vec![
                Cell::text(&row.test),
                Cell::text(&row.standard),
                Cell::text(&row.condition),
                Cell::number(format!("{} {}", significant(row.amount, 3), row.unit)),
                Cell::number(row.sample.to_string()),
                Cell::number(row.accepted.to_string()),
                Cell::text(&row.why),
                Cell::text(&row.basis),
            ]
        })
        .collect();
    let columns =
        ["Test", "Standard", "Condition", "Amount", "Units", "Failures allowed", "Set by", "Source"];
    table(out, "Tests before release", &columns, &rows);
    let equivalents: Vec<String> = life
        .equivalent_cycles
        .iter()
        .map(|e| {
            format!("{}: {} test cycles do the damage of the mission.", e.fit, fixed(e.test_cycles.ceil(), 0))
        })
        .collect();
    list(out, equivalents.iter().map(String::as_str));
}
