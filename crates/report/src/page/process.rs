//! What the shop floor needs: the process sheet with its cautions, and the qualification plan.

use super::PageInput;
use super::write::{Cell, capital, list, paragraph, table};
use crate::number::{fixed, significant};
use crate::svg::Svg;
use facedown_life::outcome::PlanRow;

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

/// The qualification plan: the tests of all parts, one row a test, the longest amount and the largest sample of any.
pub fn plan(input: &PageInput<'_>, out: &mut Svg) {
    let mut tests: Vec<PlanRow> = Vec::new();
    for row in input.life.iter().flat_map(|(_, life)| &life.plan) {
        match tests.iter_mut().find(|t| t.test == row.test && t.condition == row.condition) {
            Some(seen) if seen.amount < row.amount => {
                *seen = PlanRow { sample: seen.sample.max(row.sample), ..row.clone() };
            }
            Some(seen) => seen.sample = seen.sample.max(row.sample),
            None => tests.push(row.clone()),
        }
    }
    if tests.is_empty() {
        return;
    }
    let rows: Vec<Vec<Cell>> = tests
        .iter()
        .map(|row| {
            vec![
                Cell::text(capital(&row.test)),
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
    let mut equivalents: Vec<(String, f64)> = Vec::new();
    for e in input.life.iter().flat_map(|(_, life)| &life.equivalent_cycles) {
        match equivalents.iter_mut().find(|seen| seen.0 == e.fit) {
            Some(seen) => seen.1 = seen.1.max(e.test_cycles),
            None => equivalents.push((e.fit.clone(), e.test_cycles)),
        }
    }
    let told: Vec<String> = equivalents
        .iter()
        .map(|(fit, cycles)| {
            format!("{}: {} test cycles do the damage of the mission.", capital(fit), fixed(cycles.ceil(), 0))
        })
        .collect();
    list(out, told.iter().map(String::as_str));
}
