//! Where the design's files come from: a folder on disk, or texts in memory.
//!
//! A design names its tables by path. The reader asks a [`Files`] for them, so that tests, fuzzers and a
//! workbench can hand over texts without a disk, and so that no design reaches outside its own folder.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Read;
use std::path::{Component, Path, PathBuf};

/// Largest design file that is read, in bytes.
pub const DESIGN_LIMIT: u64 = 4 << 20;

/// Largest table, layout or library file that is read, in bytes.
pub const TABLE_LIMIT: u64 = 64 << 20;

/// Largest picture that is read, in bytes.
pub const PICTURE_LIMIT: u64 = 64 << 20;

/// Why a file could not be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FileError {
    /// There is no such file.
    #[error("there is no file {0}")]
    NotFound(String),
    /// The path is absolute or leaves the design's folder.
    #[error("{0} lies outside the design's folder")]
    Outside(String),
    /// The file is larger than the limit.
    #[error("{path} holds more than {limit} bytes")]
    TooLarge {
        /// Path as the design gives it.
        path: String,
        /// Largest size that is read, in bytes.
        limit: u64,
    },
    /// The system refused.
    #[error("{path}: {reason}")]
    Refused {
        /// Path as the design gives it.
        path: String,
        /// The system's own words.
        reason: String,
    },
}

/// A source of files, by path relative to the design's folder.
pub trait Files {
    /// The bytes of a file of at most `limit` bytes.
    ///
    /// # Errors
    /// A [`FileError`] when there is no such file, it lies outside the design's folder, or it is too large.
    fn read(&self, relative: &str, limit: u64) -> Result<Vec<u8>, FileError>;
}

/// Files of a folder on disk. Paths may go down into it, never out of it, not through a symbolic link either.
#[derive(Debug, Clone)]
pub struct Folder {
    root: PathBuf,
}

impl Folder {
    /// The folder at `root`.
    pub fn new(root: impl Into<PathBuf>) -> Folder {
        Folder { root: root.into() }
    }
}

impl Files for Folder {
    fn read(&self, relative: &str, limit: u64) -> Result<Vec<u8>, FileError> {
        let path = Path::new(relative);
        if !path.components().all(|c| matches!(c, Component::Normal(_) | Component::CurDir)) {
            return Err(FileError::Outside(relative.into()));
        }
        let refused = |e: std::io::Error| match e.kind() {
            std::io::ErrorKind::NotFound => FileError::NotFound(relative.into()),
            _ => FileError::Refused { path: relative.into(), reason: e.to_string() },
        };
        let root = self.root.canonicalize().map_err(refused)?;
        let full = root.join(path).canonicalize().map_err(refused)?;
        if !full.starts_with(&root) {
            return Err(FileError::Outside(relative.into()));
        }
        if !full.is_file() {
            return Err(FileError::Refused { path: relative.into(), reason: "it is not a file".into() });
        }
        let mut bytes = Vec::new();
        // One byte more than allowed tells a file that grew since it was measured.
        File::open(&full).map_err(refused)?.take(limit + 1).read_to_end(&mut bytes).map_err(refused)?;
        if bytes.len() as u64 > limit {
            return Err(FileError::TooLarge { path: relative.into(), limit });
        }
        Ok(bytes)
    }
}

/// Files in memory, by path.
#[derive(Debug, Clone, Default)]
pub struct Memory(pub BTreeMap<String, Vec<u8>>);

impl Memory {
    /// The same files with one more.
    #[must_use]
    pub fn with(mut self, path: &str, bytes: impl Into<Vec<u8>>) -> Memory {
        self.0.insert(path.into(), bytes.into());
        self
    }
}

impl Files for Memory {
    fn read(&self, relative: &str, limit: u64) -> Result<Vec<u8>, FileError> {
        let bytes = self.0.get(relative).ok_or_else(|| FileError::NotFound(relative.into()))?;
        if bytes.len() as u64 > limit {
            return Err(FileError::TooLarge { path: relative.into(), limit });
        }
        Ok(bytes.clone())
    }
}
