//! Reading a CSV grid: one heading cell that says what a cell holds and in which unit, then rows of numbers.

use crate::files::TABLE_LIMIT;
use crate::grid::CellGrid;
use crate::limits;
use crate::places::cell_range;
use crate::read::node::Reader;
use crate::read::text_of;
use crate::read::values::of_quantity;
use facedown_diagnostic::{Finding, Place, nearest};
use facedown_quantity::{KindTable, read_as};

/// Findings of one grid that are shown one by one.
const SHOWN: usize = 10;

/// What the cells of a grid may hold.
pub struct Held {
    /// The word of the heading.
    pub name: &'static str,
    /// Kind of the numbers.
    pub kind: &'static KindTable,
    /// True where numbers may stand without a unit, as shares of one.
    pub bare: bool,
    /// Largest value, SI, with its words.
    pub most: Option<(f64, &'static str)>,
}

/// Reads the grid `file`, named by the value at `path` of the design; with the index of what its cells hold. No value is
/// below zero.
pub fn grid(reader: &mut Reader, path: &str, file: &str, known: &[Held]) -> Option<(usize, CellGrid)> {
    let named_at = reader.places.value(path);
    let text = text_of(reader, file, TABLE_LIMIT, named_at.clone())?;
    let mut records = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .flexible(true)
        .has_headers(false)
        .trim(csv::Trim::All)
        .from_reader(std::io::Cursor::new(text.as_bytes().to_vec()));
    let forms: Vec<String> = known
        .iter()
        .map(
            |k| if k.bare { format!("`{}`", k.name) } else { format!("`{} ({})`", k.name, k.kind.customary) },
        )
        .collect();
    let forms = forms.join(" or ");
    let mut held: Option<(usize, Option<String>)> = None;
    let mut rows: Vec<Vec<f64>> = Vec::new();
    let mut found = 0;
    let mut record = csv::StringRecord::new();
    let mut first_row = None;
    let mut cells = 0;
    loop {
        let start = usize::try_from(records.position().byte()).unwrap_or(usize::MAX);
        let at = |index: Option<usize>| Place::new(file, cell_range(&text, start, index));
        match records.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(error) => {
                let finding = Finding::error("not-csv", format!("{file} cannot be read further: {error}"));
                reader.report(finding.at(at(None)));
                return None;
            }
        }
        let Some((what, unit)) = &held else {
            held = Some(heading(reader, &record, &at, known, &forms)?);
            continue;
        };
        let held = &known[*what];
        // A spreadsheet leaves commas at the end of shorter lines.
        let width = record.iter().enumerate().filter(|c| !c.1.is_empty()).last().map_or(0, |c| c.0 + 1);
        if width == 0 {
            continue;
        }
        cells += width;
        if cells > limits::GRID_CELLS {
            let finding = Finding::error(
                "too-many-cells",
                format!("{file} has more than {} cells", limits::GRID_CELLS),
            );
            reader.report(finding.at(at(None)).allowed(format!("at most {} cells", limits::GRID_CELLS)));
            return None;
        }
        if let Some((columns, place)) = &first_row
            && width != *columns
        {
            let what = format!("the row has {width} cells, the first row {columns}");
            let finding =
                Finding::error("ragged-grid", what).at(at(None)).also(Place::clone(place), "the first row");
            reader.report(finding.mend("write as many cells in every row"));
            return None;
        }
        let mut row = Vec::with_capacity(width);
        for (index, cell) in record.iter().take(width).enumerate() {
            let bare = cell.parse::<f64>().is_ok();
            let read = match unit {
                Some(unit) if bare => read_as(&format!("{cell} {unit}"), held.kind).map(|r| r.si),
                None if bare && held.bare => Ok(cell.parse::<f64>().unwrap_or(f64::NAN)),
                _ => read_as(cell, held.kind).map(|r| r.si),
            };
            let finding = match read {
                Ok(value) if value < 0.0 => {
                    Finding::error("negative", format!("`{cell}` is below zero")).allowed("zero or more")
                }
                Ok(value) if !value.is_finite() => {
                    Finding::error("not-a-number", format!("`{cell}` is no number that can be computed with"))
                }
                Ok(value) if held.most.is_some_and(|(most, _)| value > most) => {
                    let words = held.most.map_or("", |m| m.1);
                    Finding::error("share-range", format!("`{cell}` is above {words}"))
                        .allowed(format!("0 to {words}"))
                }
                Ok(value) => {
                    row.push(value);
                    continue;
                }
                Err(_) if cell.is_empty() => {
                    Finding::error("empty-cell", "the cell is empty; a number belongs here")
                        .mend("write 0 where there is nothing")
                }
                Err(error) => of_quantity(&error),
            };
            found += 1;
            if found <= SHOWN {
                reader.report(finding.at(at(Some(index))));
            }
            reader.incomplete = true;
        }
        first_row.get_or_insert((width, at(None)));
        rows.push(row);
    }
    if found > 0 {
        if found > SHOWN {
            let what = format!("{file} has {} further faults", found - SHOWN);
            reader.report(Finding::error("more-faults", what).mend("mend the first ones and check again"));
        }
        return None;
    }
    let Some(((what, _), (columns, _))) = held.zip(first_row) else {
        let finding = Finding::error("empty-table", format!("{file} has no rows of numbers"));
        reader.report(Finding {
            place: named_at,
            ..finding.allowed(format!("a heading, {forms}, and rows of numbers"))
        });
        return None;
    };
    let values = rows.iter().rev().flatten().copied().collect();
    Some((what, CellGrid { columns, rows: rows.len(), values }))
}

/// What the heading says: index of what the cells hold, and its unit.
fn heading(
    reader: &mut Reader,
    record: &csv::StringRecord,
    at: &dyn Fn(Option<usize>) -> Place,
    known: &[Held],
    forms: &str,
) -> Option<(usize, Option<String>)> {
    let written: Vec<&str> = record.iter().filter(|c| !c.is_empty()).collect();
    let [cell] = written.as_slice() else {
        let finding = Finding::error("grid-heading", "the grid does not begin with its heading");
        reader.report(
            finding
                .at(at(None))
                .allowed(format!("one cell, {forms}, alone on the first line"))
                .mend("write a first line that says what a cell holds and in which unit"),
        );
        return None;
    };
    let bracket = cell.find(['(', '[']).filter(|_| cell.ends_with([')', ']']));
    let (name, unit) = match bracket {
        Some(from) => (cell[..from].trim(), Some(cell[from + 1..cell.len() - 1].trim())),
        None => (*cell, None),
    };
    let name = name.to_lowercase();
    let Some(what) = known.iter().position(|k| k.name == name) else {
        let finding = Finding::error("grid-heading", format!("`{cell}` does not say what a cell holds"))
            .at(at(None))
            .allowed(forms.to_owned());
        let finding = match nearest(&name, known.iter().map(|k| k.name)) {
            Some(right) => finding.mend(format!("write `{right}` and the unit")),
            None => finding,
        };
        reader.report(finding);
        return None;
    };
    let held = &known[what];
    let finding = match unit {
        Some(unit) if held.kind.unit(unit).is_some() => return Some((what, Some(unit.to_owned()))),
        Some(unit) => {
            Finding::error("unit-unknown", format!("`{unit}` is not a unit of {}", held.kind.a_name))
                .allowed(held.kind.unit_list())
        }
        None if held.bare => return Some((what, None)),
        None => Finding::error(
            "unit-missing",
            format!("the heading names no unit; {} belongs here", held.kind.a_name),
        )
        .allowed(held.kind.unit_list()),
    };
    reader.report(finding.at(at(None)).mend(format!("write `{} ({})`", held.name, held.kind.customary)));
    None
}
