//! Where each value of a design stands in its files.
//!
//! The design's types are plain values, so that a change of white space or of a comment changes nothing that a
//! study reads. Their places live beside them, by path (`die[0].bumps.pitch`).

use facedown_diagnostic::Place;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Byte ranges of keys and values, by path, and of the rows of the tables.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Places {
    file: String,
    spans: BTreeMap<String, Spans>,
    tables: BTreeMap<String, TablePlaces>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Spans {
    key: (usize, usize),
    value: (usize, usize),
}

/// The rows of one CSV table.
#[derive(Debug, Clone, PartialEq)]
pub struct TablePlaces {
    /// Path of the table as the design gives it.
    pub file: String,
    text: Arc<str>,
    columns: Vec<String>,
    rows: Vec<usize>,
}

impl Places {
    pub(crate) fn new(file: &str) -> Places {
        Places { file: file.into(), ..Places::default() }
    }

    pub(crate) fn insert(
        &mut self,
        path: String,
        key: std::ops::Range<usize>,
        value: std::ops::Range<usize>,
    ) {
        self.spans.insert(path, Spans { key: (key.start, key.end), value: (value.start, value.end) });
    }

    pub(crate) fn insert_table(&mut self, path: String, table: TablePlaces) {
        self.tables.insert(path, table);
    }

    /// The place of the value at `path`; where it was not written, the place of the nearest table around it.
    pub fn value(&self, path: &str) -> Option<Place> {
        self.nearest(path).map(|s| Place::new(&self.file, s.value.0..s.value.1))
    }

    /// The place of the key at `path`; where it was not written, of the nearest table around it.
    pub fn key(&self, path: &str) -> Option<Place> {
        self.nearest(path).map(|s| Place::new(&self.file, s.key.0..s.key.1))
    }

    /// Path and byte range in the design file of every value that was written, in the order of the paths.
    pub fn values(&self) -> impl Iterator<Item = (&str, usize, usize)> {
        self.spans.iter().map(|(path, s)| (path.as_str(), s.value.0, s.value.1))
    }

    /// True when something was written at `path`.
    pub fn written(&self, path: &str) -> bool {
        self.spans.contains_key(path)
    }

    /// The cell of row `row` (from 0, without the heading) in the column of that name, of the table that the
    /// value at `path` names; the whole row when there is no such column.
    pub fn cell(&self, path: &str, row: usize, column: &str) -> Option<Place> {
        match self.tables.get(path) {
            Some(table) => table.cell(row, column),
            None => self.value(path),
        }
    }

    fn nearest(&self, path: &str) -> Option<&Spans> {
        let mut path = path;
        loop {
            if let Some(spans) = self.spans.get(path) {
                return Some(spans);
            }
            path = &path[..path.rfind(['.', '['])?];
        }
    }
}

impl TablePlaces {
    pub(crate) fn new(file: &str, text: Arc<str>, columns: Vec<String>) -> TablePlaces {
        TablePlaces { file: file.into(), text, columns, rows: Vec::new() }
    }

    pub(crate) fn push_row(&mut self, start: usize) {
        self.rows.push(start);
    }

    /// The place of a cell; of the whole row when there is no such column.
    pub fn cell(&self, row: usize, column: &str) -> Option<Place> {
        let start = *self.rows.get(row)?;
        let index = self.columns.iter().position(|c| c == column);
        Some(Place::new(&self.file, cell_range(&self.text, start, index)))
    }
}

/// Byte range of cell `index` of the CSV row that starts at `start`; of the whole row without an index.
pub(crate) fn cell_range(text: &str, start: usize, index: Option<usize>) -> std::ops::Range<usize> {
    let bytes = text.as_bytes();
    let mut start = start.min(bytes.len());
    // A record's position lies before the blank and comment lines that precede it.
    loop {
        match bytes.get(start) {
            Some(b'\n' | b'\r') => start += 1,
            Some(b'#') => start += bytes[start..].iter().take_while(|b| **b != b'\n').count(),
            _ => break,
        }
    }
    let (mut begin, mut cell, mut quoted) = (start, 0, false);
    let mut at = start;
    while let Some(&b) = bytes.get(at) {
        match b {
            b'"' => quoted = !quoted,
            b',' if !quoted => {
                if index == Some(cell) {
                    break;
                }
                cell += 1;
                begin = at + 1;
            }
            b'\n' if !quoted => break,
            _ => {}
        }
        at += 1;
    }
    let whole = index.is_none_or(|i| i != cell);
    let mut range = if whole { start..at } else { begin..at };
    while range.end > range.start && bytes[range.end - 1].is_ascii_whitespace() {
        range.end -= 1;
    }
    while range.start < range.end && bytes[range.start].is_ascii_whitespace() {
        range.start += 1;
    }
    range
}
