//! The finding itself: plain data, sortable, printable.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// How grave a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// The design cannot be run.
    Error,
    /// It can be run; the engineer should know.
    Warning,
    /// Advice from common practice.
    Advice,
}

/// A place in one of the user's files: a byte range of its text.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Place {
    /// Path as the user wrote it, relative to the design file.
    pub file: String,
    /// First byte of the offending text.
    pub start: usize,
    /// One past its last byte.
    pub end: usize,
}

impl Place {
    /// A place from a file and a byte range.
    pub fn new(file: &str, span: Range<usize>) -> Place {
        Place { file: file.into(), start: span.start, end: span.end }
    }
}

/// One finding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Finding {
    /// Stable code, for instance `pad-outside`.
    pub code: String,
    /// How grave.
    pub level: Level,
    /// What is wrong, with the value found.
    pub what: String,
    /// Where; absent for findings about the design as a whole.
    pub place: Option<Place>,
    /// What is allowed.
    pub allowed: Option<String>,
    /// How to mend it.
    pub mend: Option<String>,
    /// Further places that belong to it, each with a word of its own (`first here`).
    pub also: Vec<(Place, String)>,
}

impl Finding {
    /// An error with a code and a sentence.
    pub fn error(code: &str, what: impl Into<String>) -> Finding {
        Finding {
            code: code.into(),
            level: Level::Error,
            what: what.into(),
            place: None,
            allowed: None,
            mend: None,
            also: Vec::new(),
        }
    }

    /// A warning.
    pub fn warning(code: &str, what: impl Into<String>) -> Finding {
        Finding { level: Level::Warning, ..Finding::error(code, what) }
    }

    /// Advice.
    pub fn advice(code: &str, what: impl Into<String>) -> Finding {
        Finding { level: Level::Advice, ..Finding::error(code, what) }
    }

    /// The same finding at a place.
    #[must_use]
    pub fn at(mut self, place: Place) -> Finding {
        self.place = Some(place);
        self
    }

    /// The same finding with what is allowed.
    #[must_use]
    pub fn allowed(mut self, allowed: impl Into<String>) -> Finding {
        self.allowed = Some(allowed.into());
        self
    }

    /// The same finding with how to mend it.
    #[must_use]
    pub fn mend(mut self, mend: impl Into<String>) -> Finding {
        self.mend = Some(mend.into());
        self
    }

    /// The same finding with a further place.
    #[must_use]
    pub fn also(mut self, place: Place, word: impl Into<String>) -> Finding {
        self.also.push((place, word.into()));
        self
    }
}

/// The text of one of the user's files.
#[derive(Debug, Clone)]
pub struct Source {
    /// Whole text.
    pub text: Arc<str>,
}

/// All texts that findings may point into, by path as the user wrote it.
#[derive(Debug, Clone, Default)]
pub struct Sources(pub BTreeMap<String, Source>);

impl Sources {
    /// Adds a text and returns a shared handle to it.
    pub fn add(&mut self, file: &str, text: &str) -> Arc<str> {
        let text: Arc<str> = text.into();
        self.0.insert(file.into(), Source { text: text.clone() });
        text
    }

    /// Line and column (both from 1, column in characters) of a place, when its file is known.
    pub fn line_column(&self, place: &Place) -> Option<(usize, usize)> {
        let text = &self.0.get(&place.file)?.text;
        let before = text.get(..place.start.min(text.len()))?;
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().map_or(0, |l| l.chars().count()) + 1;
        Some((line, column))
    }
}
