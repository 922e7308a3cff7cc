//! Reading a design: TOML and its tables into plain types, with all findings at once.

pub(crate) mod grid;
pub(crate) mod node;
pub(crate) mod record;
pub(crate) mod sources;
pub(crate) mod table;
pub(crate) mod trace;
pub(crate) mod values;

use crate::design::Design;
use crate::files::{DESIGN_LIMIT, FileError, Files};
use facedown_diagnostic::{Finding, Level, Place, Sources};
use node::{FromNode, Node, Reader};
use toml::de::{DeTable, DeValue};

/// What reading gave.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The design, as far as it could be read; absent when nothing usable was there.
    pub design: Option<Design>,
    /// All findings, in the order of the file.
    pub findings: Vec<Finding>,
    /// The texts that the findings point into.
    pub sources: Sources,
}

impl Reading {
    /// True when nothing stands in the way of a run.
    pub fn is_runnable(&self) -> bool {
        self.design.is_some() && self.findings.iter().all(|f| f.level != Level::Error)
    }
}

/// Faults of writing that are told one by one; a file with more of them is hardly a design.
const FAULTS_SHOWN: usize = 8;

/// Reads the design file `name` and the tables beside it.
///
/// Never panics and never stops at the first fault. Time and memory are bounded by the limits in
/// [`crate::files`] and [`crate::limits`].
pub fn read(files: &dyn Files, name: &str) -> Reading {
    let mut reader = Reader::new(files, name);
    let Some(text) = text_of(&mut reader, name, DESIGN_LIMIT, None) else {
        return Reading { design: None, findings: reader.findings, sources: reader.sources };
    };
    let (tree, faults) = DeTable::parse_recoverable(&text);
    for fault in faults.iter().take(FAULTS_SHOWN) {
        let span = fault.span().unwrap_or(0..0);
        let what = format!("this is not TOML: {}", fault.message().trim_end_matches('.'));
        let finding = Finding::error("not-toml", what)
            .at(reader.place(span))
            .mend("see toml.io for how keys, texts and tables are written");
        reader.report(finding);
    }
    if let Some(next) = faults.get(FAULTS_SHOWN) {
        // Whatever else would be found in such a file follows from these.
        let more = faults.len() - FAULTS_SHOWN;
        let what = format!("{more} more {} not TOML", if more == 1 { "place is" } else { "places are" });
        let finding = Finding::error("not-toml", what)
            .at(reader.place(next.span().unwrap_or(0..0)))
            .mend("mend the first ones; or name the design file, which is TOML, and not one of its tables");
        reader.report(finding);
        let mut findings = reader.findings;
        in_order(&mut findings, name);
        return Reading { design: None, findings, sources: reader.sources };
    }
    let span = tree.span();
    let value = DeValue::Table(tree.into_inner());
    let node = Node { value: &value, span };
    let mut design = Design::from_node(&node, &mut reader);
    if let Some(design) = &mut design {
        sources::load(design, &mut reader);
        design.incomplete = reader.incomplete;
        design.places = std::mem::take(&mut reader.places);
    }
    let mut findings = reader.findings;
    without_echoes(&mut findings, &reader.sources);
    in_order(&mut findings, name);
    Reading { design, findings, sources: reader.sources }
}

/// Reads the design and checks it: the findings of both.
pub fn read_and_check(files: &dyn Files, name: &str) -> Reading {
    let mut reading = read(files, name);
    if let Some(design) = &reading.design {
        reading.findings.extend(crate::checks::check(design));
        without_echoes(&mut reading.findings, &reading.sources);
        in_order(&mut reading.findings, name);
    }
    reading
}

/// Errors before warnings before advice is for the faces to choose; here the order is that of the files, the
/// design file first.
fn in_order(findings: &mut [Finding], name: &str) {
    let rank = |place: &Option<Place>| match place {
        Some(p) => (u8::from(p.file != name), p.file.clone(), p.start),
        None => (2, String::new(), 0),
    };
    findings.sort_by_cached_key(|f| rank(&f.place));
}

/// Where a line is no TOML, whatever else is found on it follows from that.
fn without_echoes(findings: &mut Vec<Finding>, sources: &Sources) {
    let line = |f: &Finding| f.place.as_ref().and_then(|p| Some((p.file.clone(), sources.line_column(p)?.0)));
    let faulty: std::collections::BTreeSet<_> =
        findings.iter().filter(|f| f.code == "not-toml").filter_map(line).collect();
    if !faulty.is_empty() {
        findings.retain(|f| f.code == "not-toml" || line(f).is_none_or(|l| !faulty.contains(&l)));
    }
}

/// The text of a file; a finding at `place` where there is none.
pub(crate) fn text_of(
    reader: &mut Reader,
    path: &str,
    limit: u64,
    place: Option<Place>,
) -> Option<std::sync::Arc<str>> {
    let bytes = bytes_of(reader, path, limit, place)?;
    let text = match String::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
            reader.sources.add(path, &text);
            let finding = Finding::error("not-utf8", format!("byte {at} of {path} is not UTF-8 text"))
                .at(Place::new(path, at..at + '\u{fffd}'.len_utf8()))
                .allowed("UTF-8 text")
                .mend("save the file as UTF-8");
            reader.report(finding);
            return None;
        }
    };
    // A byte order mark is white space to the user.
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    Some(reader.sources.add(path, text))
}

/// The bytes of a file; a finding at `place` where there are none.
pub(crate) fn bytes_of(reader: &mut Reader, path: &str, limit: u64, place: Option<Place>) -> Option<Vec<u8>> {
    let error = match reader.files.read(path, limit) {
        Ok(bytes) => return Some(bytes),
        Err(error) => error,
    };
    let finding = match &error {
        FileError::NotFound(_) => Finding::error("file-missing", error.to_string())
            .allowed("a path relative to the design file")
            .mend("check the spelling, or put the file beside the design"),
        FileError::Outside(_) => Finding::error("file-outside", error.to_string())
            .allowed("files in the design's own folder and below")
            .mend("copy the file beside the design"),
        FileError::TooLarge { limit, .. } => Finding::error("file-too-large", error.to_string())
            .allowed(format!("at most {} MB", limit >> 20))
            .mend("split the table, or leave out what the design does not use"),
        FileError::Refused { .. } => Finding::error("file-refused", error.to_string()),
    };
    reader.report(Finding { place, ..finding });
    None
}
