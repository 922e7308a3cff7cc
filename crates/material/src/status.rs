//! How well a number is known: published, common practice, from memory, or invented.

use serde::{Deserialize, Serialize};
use std::fmt;

/// Standing of a property's value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Status {
    /// Read in the published source that is named.
    #[serde(rename = "published")]
    Published,
    /// A fact of the trade for which no source was found.
    #[serde(rename = "common practice")]
    CommonPractice,
    /// Recalled, from the named source where one is named, and not read again.
    #[serde(rename = "from memory")]
    FromMemory,
    /// Made up for a demonstration or a trial.
    #[serde(rename = "invented")]
    Invented,
}

impl Status {
    /// All of them, best known first.
    pub const ALL: [Status; 4] =
        [Status::Published, Status::CommonPractice, Status::FromMemory, Status::Invented];

    /// The words that files and tables use.
    pub fn words(self) -> &'static str {
        match self {
            Status::Published => "published",
            Status::CommonPractice => "common practice",
            Status::FromMemory => "from memory",
            Status::Invented => "invented",
        }
    }

    /// The status with these words.
    pub fn from_words(words: &str) -> Option<Status> {
        Status::ALL.into_iter().find(|s| s.words() == words)
    }

    /// The status that a source text says by itself: `invented`, `from memory` and `common practice` mean
    /// themselves, any other text names a source.
    pub fn of_source(source: &str) -> Status {
        let plain = source.trim().to_lowercase();
        [Status::Invented, Status::FromMemory, Status::CommonPractice]
            .into_iter()
            .find(|s| plain.starts_with(s.words()))
            .unwrap_or(Status::Published)
    }
}

impl fmt::Display for Status {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.words())
    }
}
