//! One node of the TOML tree with its place, and the walk over tables and lists that collects all findings.

use crate::files::Files;
use crate::places::Places;
use facedown_diagnostic::{Finding, Place, Sources, nearest};
use std::collections::BTreeMap;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// Findings kept at most; a file with more is told so once.
const FINDINGS_LIMIT: usize = 500;

/// A value of the file.
pub struct Node<'n> {
    pub value: &'n DeValue<'n>,
    pub span: Range<usize>,
}

/// What the walk carries along.
pub struct Reader<'f> {
    pub files: &'f dyn Files,
    pub sources: Sources,
    pub findings: Vec<Finding>,
    pub places: Places,
    /// True once something that the user wrote could not be taken over.
    pub incomplete: bool,
    pub file: String,
    path: String,
}

/// A type that can be read from a node.
pub trait FromNode: Sized {
    /// What is expected, with its article: `a length with its unit`.
    fn expected() -> String;

    /// Reads the node; findings go to the reader, and `None` says that there is nothing usable.
    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self>;

    /// The value of a key that is not written, where it may be left out.
    fn absent() -> Option<Self> {
        None
    }
}

impl<'f> Reader<'f> {
    pub fn new(files: &'f dyn Files, file: &str) -> Reader<'f> {
        Reader {
            files,
            sources: Sources::default(),
            findings: Vec::new(),
            places: Places::new(file),
            incomplete: false,
            file: file.into(),
            path: String::new(),
        }
    }

    /// Path of the node that is being read.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// A place in the design file.
    pub fn place(&self, span: Range<usize>) -> Place {
        Place::new(&self.file, span)
    }

    /// Keeps a finding.
    pub fn report(&mut self, finding: Finding) {
        self.incomplete |= finding.level == facedown_diagnostic::Level::Error;
        if self.findings.len() < FINDINGS_LIMIT {
            self.findings.push(finding);
        } else if self.findings.len() == FINDINGS_LIMIT {
            let what = format!("there are more than {FINDINGS_LIMIT} findings; the rest is left out");
            self.findings
                .push(Finding::error("too-many-findings", what).mend("mend the first ones and check again"));
        }
    }

    /// A value of the wrong kind.
    pub fn wrong_kind(&mut self, node: &Node, expected: &str) {
        let what = format!("{} does not belong here", kind(node.value));
        let finding = Finding::error("wrong-kind", what).at(self.place(node.span.clone())).allowed(expected);
        self.report(finding);
    }

    /// Reads a node one step further down the path.
    pub fn step<T>(&mut self, step: &str, read: impl FnOnce(&mut Self) -> T) -> T {
        let length = self.path.len();
        if !step.starts_with('[') && !self.path.is_empty() {
            self.path.push('.');
        }
        self.path.push_str(step);
        let result = read(self);
        self.path.truncate(length);
        result
    }
}

/// The keys of one table, taken one by one.
pub struct Keys<'n> {
    table: &'n DeTable<'n>,
    span: Range<usize>,
    kind: &'static str,
    known: Vec<&'static str>,
}

impl<'n> Keys<'n> {
    /// The keys of a node that should be a table.
    pub fn of(node: &Node<'n>, kind: &'static str, reader: &mut Reader) -> Option<Keys<'n>> {
        match node.value {
            DeValue::Table(table) => Some(Keys { table, span: node.span.clone(), kind, known: Vec::new() }),
            _ => {
                reader.wrong_kind(node, kind);
                None
            }
        }
    }

    /// Reads one key.
    pub fn take<T: FromNode>(&mut self, key: &'static str, reader: &mut Reader) -> Option<T> {
        self.known.push(key);
        let Some((written, value)) = self.table.iter().find(|(k, _)| k.get_ref() == key) else {
            let absent = T::absent();
            if absent.is_none() {
                // A misspelt key is reported once, as such.
                let misspelt =
                    self.table.keys().any(|k| nearest(k.get_ref(), [key]).is_some() && k.get_ref() != key);
                if misspelt {
                    reader.incomplete = true;
                } else {
                    let what = format!("`{key}` is missing from {}", plain(self.kind));
                    let finding = Finding::error("missing-key", what)
                        .at(reader.place(self.span.clone()))
                        .mend(format!("add `{key} = ...`, {}", T::expected()));
                    reader.report(finding);
                }
            }
            return absent;
        };
        let node = Node { value: value.get_ref(), span: value.span() };
        reader.step(key, |reader| {
            let path = reader.path().to_owned();
            reader.places.insert(path, written.span(), value.span());
            T::from_node(&node, reader)
        })
    }

    /// Reports every key that was not taken.
    pub fn finish(self, reader: &mut Reader) {
        for (key, _) in self.table.iter() {
            let word: &str = key.get_ref();
            if self.known.contains(&word) {
                continue;
            }
            let finding = Finding::error("unknown-key", format!("{} has no key `{word}`", plain(self.kind)))
                .at(reader.place(key.span()));
            let mut sorted = self.known.clone();
            sorted.sort_unstable();
            let finding = match nearest(word, sorted.iter().copied()) {
                Some(right) => finding.allowed(sorted.join(", ")).mend(format!("write `{right}`")),
                None => finding.allowed(sorted.join(", ")).mend("remove it, or use one of the keys above"),
            };
            reader.report(finding);
        }
    }
}

/// `a table [[die]]` as the subject of a sentence: `[[die]]`.
fn plain(kind: &'static str) -> &'static str {
    match kind.find('[') {
        Some(at) if kind.ends_with(']') => &kind[at..],
        _ => kind,
    }
}

/// The kind of a value in words.
pub fn kind(value: &DeValue) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a decimal number",
        DeValue::Boolean(_) => "the word true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

impl<T: FromNode> FromNode for Option<T> {
    fn expected() -> String {
        T::expected()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        Some(T::from_node(node, reader))
    }

    fn absent() -> Option<Self> {
        Some(None)
    }
}

impl<T: FromNode> FromNode for Box<T> {
    fn expected() -> String {
        T::expected()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        T::from_node(node, reader).map(Box::new)
    }
}

impl<T: FromNode> FromNode for Vec<T> {
    fn expected() -> String {
        format!("a list, each entry {}", T::expected())
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        let DeValue::Array(list) = node.value else {
            if matches!(node.value, DeValue::Table(_)) {
                let name = reader.path().to_owned();
                let name: String = strip_indices(&name);
                let finding = Finding::error(
                    "wrong-kind",
                    format!("`{name}` is one table where a list of tables is expected"),
                )
                .at(reader.place(node.span.clone()))
                .allowed("any number of tables")
                .mend(format!("write [[{name}]] with two brackets on each side"));
                reader.report(finding);
            } else {
                reader.wrong_kind(node, &Self::expected());
            }
            return Some(Vec::new());
        };
        let mut out = Vec::new();
        for (index, entry) in list.iter().enumerate() {
            let node = Node { value: entry.get_ref(), span: entry.span() };
            let read = reader.step(&format!("[{}]", out.len()), |reader| {
                let path = reader.path().to_owned();
                reader.places.insert(path, entry.span(), entry.span());
                T::from_node(&node, reader)
            });
            debug_assert!(index < list.len());
            out.extend(read);
        }
        Some(out)
    }

    fn absent() -> Option<Self> {
        Some(Vec::new())
    }
}

impl<T: FromNode, const N: usize> FromNode for [T; N] {
    fn expected() -> String {
        format!("a list of {N}, each {}", T::expected())
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        let list = match node.value {
            DeValue::Array(list) if list.len() == N => list,
            DeValue::Array(list) => {
                let finding = Finding::error(
                    "wrong-count",
                    format!("the list has {} entries where {N} are expected", list.len()),
                )
                .at(reader.place(node.span.clone()))
                .allowed(Self::expected());
                reader.report(finding);
                return None;
            }
            _ => {
                reader.wrong_kind(node, &Self::expected());
                return None;
            }
        };
        let mut read = Vec::with_capacity(N);
        for (index, entry) in list.iter().enumerate() {
            let node = Node { value: entry.get_ref(), span: entry.span() };
            let value = reader.step(&format!("[{index}]"), |reader| {
                let path = reader.path().to_owned();
                reader.places.insert(path, entry.span(), entry.span());
                T::from_node(&node, reader)
            });
            read.extend(value);
        }
        read.try_into().ok()
    }
}

impl<T: FromNode> FromNode for BTreeMap<String, T> {
    fn expected() -> String {
        format!("a table, each entry {}", T::expected())
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        let DeValue::Table(table) = node.value else {
            reader.wrong_kind(node, &Self::expected());
            return Some(BTreeMap::new());
        };
        let mut out = BTreeMap::new();
        for (key, value) in table.iter() {
            let node = Node { value: value.get_ref(), span: value.span() };
            let read = reader.step(key.get_ref(), |reader| {
                let path = reader.path().to_owned();
                reader.places.insert(path, key.span(), value.span());
                T::from_node(&node, reader)
            });
            if let Some(read) = read {
                out.insert(key.get_ref().to_string(), read);
            }
        }
        Some(out)
    }

    fn absent() -> Option<Self> {
        Some(BTreeMap::new())
    }
}

/// `die[0].net` as it stands in a table heading: `die.net`.
fn strip_indices(path: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for c in path.chars() {
        match c {
            '[' => inside = true,
            ']' => inside = false,
            _ if !inside => out.push(c),
            _ => {}
        }
    }
    out
}
