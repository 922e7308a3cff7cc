//! Reading a CSV table: columns by heading, units in the heading or in the cells, findings at the cell.

use crate::files::TABLE_LIMIT;
use crate::places::{TablePlaces, cell_range};
use crate::read::node::Reader;
use crate::read::text_of;
use crate::read::values::{name_fault, of_quantity};
use facedown_diagnostic::{Finding, Place, nearest};
use facedown_quantity::{KindTable, Nm, read_as};
use std::sync::Arc;

/// Findings of one table that are shown one by one; the rest is counted.
const SHOWN: usize = 20;

/// A column that a table may have.
pub struct Column {
    /// Its heading, without unit.
    pub name: &'static str,
    /// Other headings for the same thing.
    pub also: &'static [&'static str],
    /// The kind of its quantities; absent for text.
    pub kind: Option<&'static KindTable>,
    /// True when the table is of no use without it.
    pub required: bool,
}

impl Column {
    /// A column of text.
    pub const fn text(name: &'static str, required: bool) -> Column {
        Column { name, also: &[], kind: None, required }
    }

    /// A column of quantities.
    pub const fn quantity(
        name: &'static str,
        also: &'static [&'static str],
        kind: &'static KindTable,
        required: bool,
    ) -> Column {
        Column { name, also, kind: Some(kind), required }
    }
}

/// A table open for reading.
pub struct Table<'r, 'f> {
    reader: &'r mut Reader<'f>,
    file: String,
    text: Arc<str>,
    records: csv::Reader<std::io::Cursor<Vec<u8>>>,
    columns: &'static [Column],
    /// For every cell of the heading, the column that it is and the unit that it gives.
    heading: Vec<Option<(usize, Option<String>)>>,
    places: TablePlaces,
    path: String,
    found: usize,
    unit_told: Vec<bool>,
    /// A heading cell is misspelt, so that a column that seems missing may be there.
    misspelt: bool,
    record: csv::StringRecord,
    start: usize,
}

impl<'r, 'f> Table<'r, 'f> {
    /// Opens the table `file`, named by the value at `path` of the design.
    pub fn open(
        reader: &'r mut Reader<'f>,
        path: &str,
        file: &str,
        columns: &'static [Column],
    ) -> Option<Self> {
        let place = reader.places.value(path);
        let text = text_of(reader, file, TABLE_LIMIT, place.clone())?;
        let mut records = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(std::io::Cursor::new(text.as_bytes().to_vec()));
        let cells: Vec<String> = match records.headers() {
            Ok(heading) => heading.iter().map(str::to_owned).collect(),
            Err(error) => {
                let finding = Finding::error("not-csv", format!("{file} is not a CSV table: {error}"));
                reader.report(Finding { place, ..finding });
                return None;
            }
        };
        let mut table = Table {
            reader,
            file: file.into(),
            records,
            columns,
            heading: Vec::new(),
            places: TablePlaces::new(file, text.clone(), Vec::new()),
            path: path.into(),
            found: 0,
            unit_told: vec![false; columns.len()],
            misspelt: false,
            record: csv::StringRecord::new(),
            start: 0,
            text,
        };
        table.read_heading(&cells).then_some(table)
    }

    fn read_heading(&mut self, cells: &[String]) -> bool {
        let whole = Place::new(&self.file, cell_range(&self.text, 0, None));
        let names: Vec<&str> = self.columns.iter().map(|c| c.name).collect();
        if cells.is_empty() || cells.iter().all(String::is_empty) {
            let finding = Finding::error("empty-table", format!("{} is empty", self.file)).at(whole);
            self.reader.report(finding.allowed(format!("a heading with the columns {}", names.join(", "))));
            return false;
        }
        if cells.len() == 1 && cells[0].contains([';', '\t']) {
            let finding = Finding::error(
                "not-csv",
                format!("the columns of {} are not separated by commas", self.file),
            )
            .at(whole)
            .allowed("cells separated by commas, numbers with a decimal point")
            .mend("save the table as comma-separated values");
            self.reader.report(finding);
            return false;
        }
        let mut ok = true;
        let mut columns = Vec::new();
        for (index, cell) in cells.iter().enumerate() {
            let place = Place::new(&self.file, cell_range(&self.text, 0, Some(index)));
            let found = self.column_of(cell, &place);
            let known = found.as_ref().map(|(i, _)| *i);
            if let Some(i) = known
                && self.heading.iter().flatten().any(|(other, _)| *other == i)
            {
                let finding = Finding::error(
                    "duplicate-column",
                    format!("the column `{}` stands in the heading twice", self.columns[i].name),
                );
                self.reader.report(finding.at(place).mend("remove one of them"));
                ok = false;
            }
            columns.push(known.map_or_else(String::new, |i| self.columns[i].name.to_owned()));
            self.heading.push(found);
        }
        self.places = TablePlaces::new(&self.file, self.text.clone(), columns);
        for (i, column) in self.columns.iter().enumerate() {
            if column.required && !self.heading.iter().flatten().any(|(known, _)| *known == i) {
                ok = false;
                if self.misspelt {
                    self.reader.incomplete = true;
                    continue;
                }
                let finding = Finding::error(
                    "missing-column",
                    format!("{} has no column `{}`", self.file, column.name),
                )
                .at(whole.clone())
                .allowed(format!("the columns {}, a unit after the name as in `x (um)`", names.join(", ")))
                .mend(format!("add the column `{}`", column.name));
                self.reader.report(finding);
            }
        }
        ok
    }

    /// The column that a heading cell names, and its unit.
    fn column_of(&mut self, cell: &str, place: &Place) -> Option<(usize, Option<String>)> {
        let cell = cell.trim();
        let find = |name: &str| {
            let name = name.trim().to_lowercase();
            self.columns.iter().position(|c| c.name == name || c.also.contains(&name.as_str()))
        };
        if let Some(index) = find(cell) {
            return Some((index, None));
        }
        let bracket = cell.find(['(', '[']).filter(|_| cell.ends_with([')', ']']));
        let split =
            bracket.map(|at| (&cell[..at], &cell[at + 1..cell.len() - 1])).or_else(|| cell.rsplit_once('_'));
        if let Some((name, unit)) = split
            && let Some(index) = find(name)
        {
            let unit = unit.trim();
            let Some(kind) = self.columns[index].kind else {
                return Some((index, None));
            };
            if kind.unit(unit).is_some() {
                return Some((index, Some(unit.to_owned())));
            }
            let finding =
                Finding::error("unit-unknown", format!("`{unit}` is not a unit of {}", kind.a_name))
                    .at(place.clone())
                    .allowed(kind.unit_list())
                    .mend(format!("write `{} ({})`", self.columns[index].name, kind.customary));
            self.reader.report(finding);
            self.unit_told[index] = true;
            return Some((index, None));
        }
        let names: Vec<&str> = self.columns.iter().map(|c| c.name).collect();
        let base = split.map_or(cell, |(name, _)| name).trim().to_lowercase();
        let what = format!("the column `{cell}` is not used");
        let allowed = format!("the columns {}", names.join(", "));
        let right = nearest(&base, names.iter().copied());
        self.misspelt |= right.is_some();
        let finding = match right {
            Some(right) => {
                Finding::error("unknown-column", format!("there is no column `{cell}` in this table"))
                    .mend(format!("write `{right}`"))
                    .allowed(allowed)
            }
            None => Finding::warning("unknown-column", what).allowed(allowed),
        };
        self.reader.report(finding.at(place.clone()));
        None
    }

    /// Goes to the next row; false at the end, or after `limit` rows with a finding.
    pub fn next(&mut self, index: usize, limit: usize) -> bool {
        self.start = usize::try_from(self.records.position().byte()).unwrap_or(usize::MAX);
        match self.records.read_record(&mut self.record) {
            Ok(false) => return false,
            Ok(true) => {}
            Err(error) => {
                let finding =
                    Finding::error("not-csv", format!("{} cannot be read further: {error}", self.file));
                let place = Place::new(&self.file, cell_range(&self.text, self.start, None));
                self.reader.report(finding.at(place));
                return false;
            }
        }
        let place = Place::new(&self.file, cell_range(&self.text, self.start, None));
        if index >= limit {
            let finding =
                Finding::error("too-many-rows", format!("{} has more than {limit} rows", self.file));
            self.reader.report(finding.at(place).allowed(format!("at most {limit} rows")));
            return false;
        }
        if self.is_short() {
            let (have, want) = (self.record.len(), self.heading.len());
            let finding =
                Finding::error("short-row", format!("the row has {have} cells, the heading {want}"));
            self.fault(finding.at(place).mend("add the missing cells, or the comma that separates them"));
        }
        true
    }

    /// Keeps the row just read as row `index` of the list that the caller builds.
    pub fn keep(&mut self) {
        self.places.push_row(self.start);
    }

    fn position(&self, name: &str) -> Option<(usize, usize)> {
        let column = self.columns.iter().position(|c| c.name == name)?;
        let cell = self.heading.iter().position(|h| h.as_ref().is_some_and(|(i, _)| *i == column))?;
        Some((column, cell))
    }

    /// The text of a cell; `None` when the table has no such column or the cell is empty.
    pub fn text(&self, name: &str) -> Option<&str> {
        let (_, cell) = self.position(name)?;
        self.record.get(cell).filter(|t| !t.is_empty())
    }

    /// Place of a cell of this row.
    pub fn place(&self, name: &str) -> Place {
        let cell = self.position(name).map(|(_, cell)| cell);
        Place::new(&self.file, cell_range(&self.text, self.start, cell))
    }

    /// A name; a finding when it is missing or no name.
    pub fn name(&mut self, name: &'static str) -> Option<String> {
        let text = self.text(name).unwrap_or("").to_owned();
        match name_fault(&text) {
            None => Some(text),
            Some(fault) => {
                let finding = Finding::error("bad-name", format!("the {name} {fault}")).at(self.place(name));
                self.fault(finding.allowed("1 to 200 characters without control characters"));
                None
            }
        }
    }

    /// True when the heading has a misspelt cell, so that an absent column may only be misspelt.
    pub fn is_misspelt(&self) -> bool {
        self.misspelt
    }

    /// True when this row has fewer cells than the heading.
    pub fn is_short(&self) -> bool {
        self.record.len() < self.heading.len()
    }

    /// True when the table has that column.
    pub fn has(&self, name: &str) -> bool {
        self.position(name).is_some()
    }

    /// A quantity in SI; a finding when a required one is missing or any is wrong.
    pub fn quantity(&mut self, name: &'static str) -> Option<f64> {
        let (column, cell) = self.position(name)?;
        let kind = self.columns[column].kind?;
        let text = self.record.get(cell).unwrap_or("").to_owned();
        if text.is_empty() {
            if self.columns[column].required && !self.is_short() {
                let finding = Finding::error(
                    "empty-cell",
                    format!("the cell `{name}` is empty; {} belongs here", kind.a_name),
                );
                let place = self.place(name);
                self.fault(finding.at(place).allowed(format!("{} in {}", kind.a_name, kind.unit_list())));
            }
            return None;
        }
        let unit = self.heading[cell].as_ref().and_then(|(_, unit)| unit.clone());
        let bare = text.parse::<f64>().is_ok();
        let read = match &unit {
            Some(unit) if bare => read_as(&format!("{text} {unit}"), kind),
            _ => read_as(&text, kind),
        };
        let error = match read {
            Ok(read) => return Some(read.si),
            Err(error) => error,
        };
        if unit.is_none() && bare {
            // One word a column: the heading is what is wrong, not its 390 rows.
            if !std::mem::replace(&mut self.unit_told[column], true) {
                let finding = Finding::error(
                    "unit-missing",
                    format!("`{text}` has no unit; {} belongs here", kind.a_name),
                )
                .at(self.place(name))
                .allowed(format!("{} in {}, in the heading or in each cell", kind.a_name, kind.unit_list()))
                .mend(format!(
                    "write `{name} ({})` in the heading, or the unit that is meant",
                    kind.customary
                ));
                self.reader.report(finding);
            }
            self.reader.incomplete = true;
            return None;
        }
        let finding = of_quantity(&error).at(self.place(name));
        self.fault(finding);
        None
    }

    /// A length in whole nanometres.
    pub fn length(&mut self, name: &'static str) -> Option<Nm> {
        let m = self.quantity(name)?;
        if m.abs() > crate::limits::LENGTH_M {
            let finding = Finding::error("too-large", format!("{name} is {m} m")).at(self.place(name));
            self.fault(finding.allowed("lengths up to 1 m"));
            return None;
        }
        Some(Nm::round_m(m))
    }

    /// Keeps a finding of this table, up to a number; the rest is counted.
    pub fn fault(&mut self, finding: Finding) {
        self.found += 1;
        if self.found <= SHOWN {
            self.reader.report(finding);
        }
        self.reader.incomplete = true;
    }

    /// Ends reading: counts what was not shown, and leaves the places of the kept rows.
    pub fn close(self) {
        if self.found > SHOWN {
            let what = format!("{} has {} further faults", self.file, self.found - SHOWN);
            self.reader
                .report(Finding::error("more-faults", what).mend("mend the first ones and check again"));
        }
        self.reader.places.insert_table(self.path, self.places);
    }
}
