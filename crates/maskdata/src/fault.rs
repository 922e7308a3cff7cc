//! What a reader or writer says when it cannot go on: one plain structure for all formats.

use facedown_diagnostic::{Finding, Place};
use std::fmt;
use std::ops::Range;

/// Where in a file something is wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Where {
    /// The file as a whole, or data that has no place in a file.
    Whole,
    /// A byte of a binary file, counted from 0.
    Byte(usize),
    /// A place in a text file.
    Text {
        /// Line, from 1.
        line: u32,
        /// Column in characters, from 1.
        column: u32,
        /// Bytes of the offending text.
        span: Range<usize>,
    },
}

/// Why data cannot be read or written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Stable code, for instance `gdsii-truncated`.
    pub code: &'static str,
    /// Where it is.
    pub at: Where,
    /// What is wrong, with the value found.
    pub what: String,
    /// What is allowed.
    pub allowed: Option<String>,
    /// How to mend it.
    pub mend: Option<String>,
}

impl Fault {
    /// A fault of the data as a whole.
    pub fn new(code: &'static str, what: impl Into<String>) -> Fault {
        Fault { code, at: Where::Whole, what: what.into(), allowed: None, mend: None }
    }

    /// The same fault at a byte of a binary file.
    #[must_use]
    pub fn at_byte(mut self, offset: usize) -> Fault {
        self.at = Where::Byte(offset);
        self
    }

    /// The same fault at a range of bytes of `text`.
    #[must_use]
    pub fn at_text(mut self, text: &str, span: Range<usize>) -> Fault {
        let before = text.get(..span.start.min(text.len())).unwrap_or("");
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().map_or(0, |l| l.chars().count()) + 1;
        self.at = Where::Text { line: line as u32, column: column as u32, span };
        self
    }

    /// The same fault with what is allowed.
    #[must_use]
    pub fn allowed(mut self, allowed: impl Into<String>) -> Fault {
        self.allowed = Some(allowed.into());
        self
    }

    /// The same fault with how to mend it.
    #[must_use]
    pub fn mend(mut self, mend: impl Into<String>) -> Fault {
        self.mend = Some(mend.into());
        self
    }

    /// The fault as a finding about `file`. A text place is underlined by the faces; a byte offset and the
    /// name of a binary file go into the sentence.
    pub fn finding(&self, file: &str) -> Finding {
        let mut finding = match &self.at {
            Where::Text { span, .. } => {
                Finding::error(self.code, self.what.clone()).at(Place::new(file, span.clone()))
            }
            Where::Byte(offset) => Finding::error(self.code, format!("{file}, byte {offset}: {}", self.what)),
            Where::Whole => Finding::error(self.code, format!("{file}: {}", self.what)),
        };
        finding.allowed.clone_from(&self.allowed);
        finding.mend.clone_from(&self.mend);
        finding
    }
}

/// A count with its noun, for instance `1 point` or `3 points`.
pub(crate) fn counted(count: usize, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.at {
            Where::Whole => {}
            Where::Byte(offset) => write!(f, "byte {offset}: ")?,
            Where::Text { line, column, .. } => write!(f, "line {line}, column {column}: ")?,
        }
        write!(f, "{}", self.what)?;
        if let Some(allowed) = &self.allowed {
            write!(f, "; allowed: {allowed}")?;
        }
        if let Some(mend) = &self.mend {
            write!(f, "; {mend}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Fault {}
