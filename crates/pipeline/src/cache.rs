//! Results on disk, by key.
//!
//! One file a result, `<folder>/<first two digits>/<key>`: a header line, the BLAKE3 of the payload, the payload
//! (JSON whose floating numbers read back bit by bit). Files are written under a temporary name and renamed, so a
//! killed run leaves no half entry; an entry whose hash does not fit is thrown away and solved again. Entries that
//! were not used for the longest time go first when the folder grows over its limit.

use crate::key::Key;
use serde::{Serialize, de::DeserializeOwned};
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

const HEADER: &str = "facedown result 1";

/// Largest size of the cache folder in bytes before its oldest entries go.
pub const SIZE_LIMIT: u64 = 2 << 30;

/// A folder of results, or nothing at all.
#[derive(Debug, Clone)]
pub struct Cache {
    folder: Option<PathBuf>,
}

/// What the cache knows of a key.
#[derive(Debug)]
pub enum Recall<T> {
    /// The result as it was kept.
    Found(T),
    /// Nothing.
    Unknown,
    /// An entry that does not fit its own hash or its type; it has been removed.
    Damaged,
}

impl Cache {
    /// A cache in a folder, which is made when the first result is kept.
    pub fn in_folder(folder: impl Into<PathBuf>) -> Cache {
        Cache { folder: Some(folder.into()) }
    }

    /// A cache that keeps nothing.
    pub fn none() -> Cache {
        Cache { folder: None }
    }

    /// The user's own cache: the folder that the environment variable `FACEDOWN_CACHE` names, else `facedown` in the
    /// platform's folder for caches (`$XDG_CACHE_HOME` or `~/.cache`, `~/Library/Caches`, `%LOCALAPPDATA%`). A cache
    /// that keeps nothing where none of these is known.
    ///
    /// One folder for all designs and output folders, since a key says everything about its result.
    pub fn of_user() -> Cache {
        let variable = |name| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
        let of_platform = || {
            let home = std::env::home_dir();
            let folder = if cfg!(windows) {
                variable("LOCALAPPDATA")
            } else if cfg!(target_os = "macos") {
                home.map(|h| h.join("Library/Caches"))
            } else {
                // The base directory specification wants relative paths ignored.
                variable("XDG_CACHE_HOME")
                    .filter(|p| p.is_absolute())
                    .or_else(|| home.map(|h| h.join(".cache")))
            };
            folder.map(|f| f.join("facedown"))
        };
        Cache { folder: variable("FACEDOWN_CACHE").or_else(of_platform) }
    }

    /// The folder, where there is one.
    pub fn folder(&self) -> Option<&Path> {
        self.folder.as_deref()
    }

    fn place(&self, key: &Key) -> Option<PathBuf> {
        let hex = key.hex();
        self.folder.as_ref().map(|folder| folder.join(&hex[..2]).join(&hex))
    }

    /// Looks a result up.
    pub fn recall<T: DeserializeOwned>(&self, key: &Key) -> Recall<T> {
        let Some(path) = self.place(key) else { return Recall::Unknown };
        let Ok(bytes) = fs::read(&path) else { return Recall::Unknown };
        match payload(&bytes).and_then(|payload| serde_json::from_slice(payload).ok()) {
            Some(result) => {
                // The time of last use decides what goes first; a read-only cache simply keeps its order.
                let _ = fs::File::options()
                    .append(true)
                    .open(&path)
                    .and_then(|file| file.set_modified(SystemTime::now()));
                Recall::Found(result)
            }
            None => {
                // Left where it is, a damaged entry is overwritten by the new result.
                let _ = fs::remove_file(&path);
                Recall::Damaged
            }
        }
    }

    /// Keeps a result.
    ///
    /// # Errors
    /// When the folder cannot be written; the result itself is not affected.
    pub fn keep<T: Serialize>(&self, key: &Key, result: &T) -> io::Result<()> {
        let Some(path) = self.place(key) else { return Ok(()) };
        let Some(folder) = path.parent() else { return Ok(()) };
        fs::create_dir_all(folder)?;
        let payload = serde_json::to_vec(result)?;
        let mut file = tempfile::Builder::new().prefix(".new-").tempfile_in(folder)?;
        writeln!(file, "{HEADER}\n{}", blake3::hash(&payload).to_hex())?;
        file.write_all(&payload)?;
        file.persist(&path).map_err(|e| e.error)?;
        Ok(())
    }

    /// Removes the temporary files of killed runs, and the entries that were not used for the longest time until
    /// the folder is no larger than `limit` bytes. Call it only while no other run uses the folder; removing an
    /// entry that another run wants costs that run a solve and nothing else.
    pub fn tidy(&self, limit: u64) {
        let Some(folder) = &self.folder else { return };
        let mut entries = Vec::new();
        for shelf in fs::read_dir(folder).into_iter().flatten().flatten() {
            for entry in fs::read_dir(shelf.path()).into_iter().flatten().flatten() {
                let Ok(about) = entry.metadata() else { continue };
                if entry.file_name().to_string_lossy().starts_with(".new-") {
                    let _ = fs::remove_file(entry.path());
                } else {
                    entries.push((
                        about.modified().unwrap_or(SystemTime::UNIX_EPOCH),
                        about.len(),
                        entry.path(),
                    ));
                }
            }
        }
        entries.sort();
        let mut size: u64 = entries.iter().map(|(_, length, _)| length).sum();
        for (_, length, path) in entries {
            if size <= limit {
                break;
            }
            if fs::remove_file(path).is_ok() {
                size -= length;
            }
        }
    }
}

fn payload(bytes: &[u8]) -> Option<&[u8]> {
    let rest = bytes.strip_prefix(HEADER.as_bytes())?.strip_prefix(b"\n")?;
    let (hash, payload) = rest.split_at_checked(64)?;
    let payload = payload.strip_prefix(b"\n")?;
    (blake3::hash(payload).to_hex().as_bytes() == hash).then_some(payload)
}

#[cfg(test)]
mod tests {
    use super::{Cache, Recall};
    use crate::key::Key;

    fn key(n: u32) -> Key {
        Key::of("study", 1, &n).expect("has a key")
    }

    #[test]
    fn numbers_come_back_bit_by_bit() {
        let folder = tempfile::tempdir().expect("folder");
        let cache = Cache::in_folder(folder.path());
        let values: Vec<f64> = (1..2000).map(|i| f64::from(i).sqrt() * 1.1e-7 / f64::from(i * i)).collect();
        cache.keep(&key(1), &values).expect("kept");
        match cache.recall::<Vec<f64>>(&key(1)) {
            Recall::Found(back) => assert!(values.iter().zip(&back).all(|(a, b)| a.to_bits() == b.to_bits())),
            other => panic!("{other:?}"),
        }
        assert!(matches!(cache.recall::<Vec<f64>>(&key(2)), Recall::Unknown));
    }

    #[test]
    fn any_damaged_byte_is_noticed() {
        let folder = tempfile::tempdir().expect("folder");
        let cache = Cache::in_folder(folder.path());
        cache.keep(&key(1), &vec![12.5, 0.25]).expect("kept");
        let path = cache.place(&key(1)).expect("has a place");
        let whole = std::fs::read(&path).expect("entry");
        for i in 0..whole.len() {
            let mut bytes = whole.clone();
            bytes[i] ^= 1;
            std::fs::write(&path, &bytes).expect("written");
            assert!(matches!(cache.recall::<Vec<f64>>(&key(1)), Recall::Damaged), "byte {i}");
        }
        std::fs::write(&path, &whole[..whole.len() - 1]).expect("written");
        assert!(matches!(cache.recall::<Vec<f64>>(&key(1)), Recall::Damaged));
        assert!(!path.exists(), "a damaged entry is removed");
    }

    #[test]
    fn tidying_drops_leftovers_and_the_oldest() {
        let folder = tempfile::tempdir().expect("folder");
        let cache = Cache::in_folder(folder.path());
        for n in 0..4 {
            cache.keep(&key(n), &"x".repeat(100)).expect("kept");
            let path = cache.place(&key(n)).expect("has a place");
            let file = std::fs::File::options().append(true).open(path).expect("entry");
            let age = std::time::Duration::from_secs(u64::from(1000 - n));
            file.set_modified(std::time::SystemTime::now() - age).expect("time set");
        }
        let left = folder.path().join("ab");
        std::fs::create_dir_all(&left).expect("folder");
        std::fs::write(left.join(".new-1"), "half").expect("written");
        cache.tidy(400);
        assert!(!left.join(".new-1").exists());
        assert!(matches!(cache.recall::<String>(&key(0)), Recall::Unknown));
        assert!(matches!(cache.recall::<String>(&key(3)), Recall::Found(_)));
    }
}
