//! A complete set of outputs, or none: how a run replaces its output folder.
//!
//! All files are first written into a fresh folder beside the output folder, flushed to disk, and then the two
//! folders are exchanged in one step of the file system. A reader, and a run that was killed at any moment, finds the
//! old set or the new one at the output folder's own path, never a mixture. What the new set replaced is then
//! removed: only files that its own `results.json` lists; anything that the user laid beside them moves over into the
//! new folder.
//!
//! Beside the output folder stands one hidden folder `.facedown`. It holds the lock of each output folder (two runs
//! cannot write the same outputs) and the folders being written.
//!
//! Exchanging two folders in one step needs Linux or macOS and a file system that can do it. Elsewhere the folders
//! are renamed one after the other; a run killed between the two renames leaves the old set in `.facedown`, and the
//! next run, or any command that opens the outputs through [`Outputs::lock`], puts it back.

use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

/// Name of the file that lists a set; it is written last and removed last.
pub const INDEX: &str = "results.json";
/// Name of the hidden folder beside the output folder.
pub const HIDDEN: &str = ".facedown";

/// Why outputs could not be written.
#[derive(Debug, thiserror::Error)]
pub enum PublishError {
    /// Another run holds the lock.
    #[error("another run is writing to {}; wait for it to end or choose another --out", .0.display())]
    Busy(PathBuf),
    /// The folder holds files, and no results file of ours that lists them.
    #[error(
        "{} holds files but no {INDEX} of an earlier run, so nothing there is touched; choose an empty or new folder with --out",
        .0.display()
    )]
    Foreign(PathBuf),
    /// The path is a file.
    #[error("{} is not a folder; choose another --out", .0.display())]
    NotAFolder(PathBuf),
    /// The new set has a file of a name that the user also uses there.
    #[error("{} was not written by an earlier run and would be replaced; move it away or choose another --out", .0.display())]
    Clash(PathBuf),
    /// A file name of the set is not a plain name.
    #[error("\"{0}\" is not a plain file name")]
    Name(String),
    /// The file system refused.
    #[error("cannot write {}: {error}", .path.display())]
    Disk {
        /// What was being written.
        path: PathBuf,
        /// The operating system's word.
        error: io::Error,
    },
}

fn disk(path: &Path) -> impl Fn(io::Error) -> PublishError + '_ {
    |error| PublishError::Disk { path: path.to_owned(), error }
}

/// An output folder, locked for this run until it is dropped.
#[derive(Debug)]
pub struct Outputs {
    folder: PathBuf,
    hidden: PathBuf,
    name: OsString,
    /// Files of the old set, once they are asked for.
    old: OnceLock<BTreeSet<String>>,
    _lock: File,
}

impl Outputs {
    /// Locks the output folder `folder` (which need not exist yet), finishes what a killed run left, and checks that
    /// the folder may be replaced.
    ///
    /// # Errors
    /// [`PublishError`] when another run holds it, or when it holds files of somebody else.
    pub fn lock(folder: &Path) -> Result<Outputs, PublishError> {
        let folder = absolute(folder)?;
        let (Some(parent), Some(name)) = (folder.parent(), folder.file_name()) else {
            return Err(PublishError::NotAFolder(folder));
        };
        let hidden = parent.join(HIDDEN);
        fs::create_dir_all(&hidden).map_err(disk(&hidden))?;
        let path = hidden.join(with(name, ".lock"));
        let lock = File::options().create(true).append(true).open(&path).map_err(disk(&path))?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(fs::TryLockError::WouldBlock) => return Err(PublishError::Busy(folder)),
            Err(fs::TryLockError::Error(error)) => return Err(disk(&path)(error)),
        }
        let outputs = Outputs { name: name.to_owned(), hidden, folder, old: OnceLock::new(), _lock: lock };
        outputs.recover()?;
        outputs.check()?;
        Ok(outputs)
    }

    /// The output folder as an absolute path.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Replaces the folder's set by `files` (name to bytes). `index` is the text of [`INDEX`], which lists them.
    ///
    /// # Errors
    /// [`PublishError`]; the old set then still stands, complete.
    pub fn publish(&self, files: &BTreeMap<String, Vec<u8>>, index: &[u8]) -> Result<(), PublishError> {
        self.publish_in_steps(files, index, &mut |_| true)
    }

    /// Writes a file of the next set aside, of which [`Outputs::publish`] then adds the rest: for files that are ready while others
    /// are still worked on. What is never published is cleared by the next run.
    ///
    /// # Errors
    /// [`PublishError`]; the old set then still stands, complete.
    pub fn set_aside(&self, name: &str, bytes: &[u8]) -> Result<(), PublishError> {
        self.check_name(name)?;
        let next = self.next();
        fs::create_dir_all(&next).map_err(disk(&next))?;
        write_synced(&next.join(name), bytes)
    }

    /// Whether a file may take its place: a plain name, that of no file that is not of the old set.
    fn check_name(&self, name: &str) -> Result<(), PublishError> {
        let plain = Path::new(name).components().count() == 1 && !name.starts_with('.') && name != INDEX;
        if !plain || name.contains(['/', '\\', ':', '\0']) {
            return Err(PublishError::Name(name.to_owned()));
        }
        let path = self.folder.join(name);
        let old = self.old.get_or_init(|| listed(&self.folder).unwrap_or_default());
        if !old.contains(name) && path.exists() { Err(PublishError::Clash(path)) } else { Ok(()) }
    }

    /// [`Outputs::publish`] that asks `go_on` before each step, so that tests can stop it where a kill could.
    fn publish_in_steps(
        &self,
        files: &BTreeMap<String, Vec<u8>>,
        index: &[u8],
        go_on: &mut dyn FnMut(&str) -> bool,
    ) -> Result<(), PublishError> {
        files.keys().try_for_each(|name| self.check_name(name))?;
        let next = self.next();
        fs::create_dir_all(&next).map_err(disk(&next))?;
        let all = files.iter().map(|(n, b)| (n.as_str(), b.as_slice())).chain([(INDEX, index)]);
        for (name, bytes) in all {
            if !go_on(name) {
                return Ok(());
            }
            write_synced(&next.join(name), bytes)?;
        }
        sync_folder(&next);
        if !go_on("swap") {
            return Ok(());
        }
        self.swap(go_on)?;
        if !go_on("clear") {
            return Ok(());
        }
        self.clear(&next, go_on)
    }

    fn next(&self) -> PathBuf {
        self.hidden.join(with(&self.name, ".next"))
    }

    fn previous(&self) -> PathBuf {
        self.hidden.join(with(&self.name, ".previous"))
    }

    /// Puts the next folder in the place of the output folder, which afterwards stands in the place of the next one.
    fn swap(&self, go_on: &mut dyn FnMut(&str) -> bool) -> Result<(), PublishError> {
        let next = self.next();
        if !self.folder.exists() {
            fs::rename(&next, &self.folder).map_err(disk(&self.folder))?;
        } else if !exchange(&next, &self.folder) {
            self.swap_in_two(go_on)?;
        }
        if let Some(parent) = self.folder.parent() {
            sync_folder(parent);
        }
        Ok(())
    }

    /// Two renames, for file systems without an exchange; [`Outputs::recover`] mends a kill between them.
    fn swap_in_two(&self, go_on: &mut dyn FnMut(&str) -> bool) -> Result<(), PublishError> {
        let (next, previous) = (self.next(), self.previous());
        fs::rename(&self.folder, &previous).map_err(disk(&previous))?;
        if !go_on("between") {
            return Ok(());
        }
        fs::rename(&next, &self.folder).map_err(|error| {
            // The old set goes back; should even that fail, the next run's recovery does it.
            let _ = fs::rename(&previous, &self.folder);
            disk(&self.folder)(error)
        })?;
        fs::rename(&previous, &next).map_err(disk(&next))
    }

    /// Clears what a killed run left behind, and puts an old set back whose replacement was cut short.
    fn recover(&self) -> Result<(), PublishError> {
        let (next, previous) = (self.next(), self.previous());
        if previous.exists() {
            if self.folder.exists() {
                self.clear(&previous, &mut |_| true)?;
            } else {
                fs::rename(&previous, &self.folder).map_err(disk(&self.folder))?;
            }
        }
        self.clear(&next, &mut |_| true)
    }

    /// Removes a replaced or half-written set: exactly the files that it lists (a half-written set lists nothing and
    /// holds nothing of the user's). What is left was laid there by the user and moves into the output folder.
    fn clear(&self, set: &Path, go_on: &mut dyn FnMut(&str) -> bool) -> Result<(), PublishError> {
        if !set.exists() {
            return Ok(());
        }
        let Some(names) = listed(set) else {
            let empty = fs::read_dir(set).map_err(disk(set))?.next().is_none();
            let remove = if empty { fs::remove_dir(set) } else { fs::remove_dir_all(set) };
            return remove.map_err(disk(set));
        };
        for entry in fs::read_dir(set).map_err(disk(set))? {
            let entry = entry.map_err(disk(set))?;
            let name = entry.file_name();
            if name == INDEX || name.to_str().is_some_and(|n| names.contains(n)) {
                continue;
            }
            if !go_on("move") {
                return Ok(());
            }
            let place = self.folder.join(&name);
            if place.exists() {
                return Err(PublishError::Clash(entry.path()));
            }
            fs::rename(entry.path(), &place).map_err(disk(&place))?;
        }
        for name in &names {
            if !go_on("remove") {
                return Ok(());
            }
            let path = set.join(name);
            match fs::remove_file(&path) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(disk(&path)(error)),
                _ => {}
            }
        }
        if !go_on("last") {
            return Ok(());
        }
        fs::remove_file(set.join(INDEX)).map_err(disk(set))?;
        fs::remove_dir(set).map_err(disk(set))
    }

    fn check(&self) -> Result<(), PublishError> {
        if !self.folder.exists() {
            return Ok(());
        }
        if !self.folder.is_dir() {
            return Err(PublishError::NotAFolder(self.folder.clone()));
        }
        let empty = fs::read_dir(&self.folder).map_err(disk(&self.folder))?.next().is_none();
        if empty || listed(&self.folder).is_some() {
            Ok(())
        } else {
            Err(PublishError::Foreign(self.folder.clone()))
        }
    }
}

/// The file names that the index of a set lists; nothing when there is no index of ours.
fn listed(set: &Path) -> Option<BTreeSet<String>> {
    #[derive(Deserialize)]
    struct Index {
        format: String,
        files: Vec<Entry>,
    }
    #[derive(Deserialize)]
    struct Entry {
        name: String,
    }
    let bytes = fs::read(set.join(INDEX)).ok()?;
    let index: Index = serde_json::from_slice(&bytes).ok()?;
    let plain = |name: &String| Path::new(name).file_name().is_some_and(|n| n == name.as_str());
    (index.format == crate::results::FORMAT)
        .then(|| index.files.into_iter().map(|e| e.name).filter(plain).collect())
}

fn with(name: &std::ffi::OsStr, ending: &str) -> OsString {
    let mut name = name.to_owned();
    name.push(ending);
    name
}

/// The folder's absolute path, with links followed as far as it exists and its parent made.
fn absolute(folder: &Path) -> Result<PathBuf, PublishError> {
    if folder.exists() {
        return fs::canonicalize(folder).map_err(disk(folder));
    }
    let folder = std::path::absolute(folder).map_err(disk(folder))?;
    let (Some(parent), Some(name)) = (folder.parent(), folder.file_name()) else {
        return Err(PublishError::NotAFolder(folder));
    };
    fs::create_dir_all(parent).map_err(disk(parent))?;
    Ok(fs::canonicalize(parent).map_err(disk(parent))?.join(name))
}

/// Exchanges two folders in one step; false where the system cannot.
#[cfg(any(target_os = "linux", target_os = "android", target_vendor = "apple"))]
fn exchange(a: &Path, b: &Path) -> bool {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    renameat_with(CWD, a, CWD, b, RenameFlags::EXCHANGE).is_ok()
}

#[cfg(not(any(target_os = "linux", target_os = "android", target_vendor = "apple")))]
fn exchange(_: &Path, _: &Path) -> bool {
    false
}

fn write_synced(path: &Path, bytes: &[u8]) -> Result<(), PublishError> {
    let mut file = File::create_new(path).map_err(disk(path))?;
    file.write_all(bytes).and_then(|()| file.sync_all()).map_err(disk(path))
}

/// Flushes a folder's entries where the system lets a folder be opened; elsewhere the rename itself must do.
fn sync_folder(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(word: &str, count: usize) -> (BTreeMap<String, Vec<u8>>, Vec<u8>) {
        let files: BTreeMap<String, Vec<u8>> =
            (0..count).map(|i| (format!("file-{i}.txt"), format!("{word} {i}").into_bytes())).collect();
        let names: Vec<_> = files.keys().map(|name| serde_json::json!({ "name": name })).collect();
        let index = serde_json::json!({ "format": crate::results::FORMAT, "word": word, "files": names });
        (files, index.to_string().into_bytes())
    }

    /// The word of the complete set at `out`, or nothing; panics on a mixture.
    fn word(out: &Path) -> Option<String> {
        let index: serde_json::Value =
            serde_json::from_slice(&fs::read(out.join(INDEX)).ok()?).expect("index");
        let word = index["word"].as_str().expect("word").to_owned();
        let mut names = BTreeSet::from([INDEX.to_owned()]);
        for file in index["files"].as_array().expect("files") {
            let name = file["name"].as_str().expect("name");
            let text = fs::read_to_string(out.join(name)).expect("a listed file is there");
            assert!(text.starts_with(&word), "{text} in the set {word}");
            names.insert(name.to_owned());
        }
        let found = fs::read_dir(out).expect("folder").map(|e| e.expect("entry").file_name());
        let found: BTreeSet<String> = found.map(|n| n.to_string_lossy().into_owned()).collect();
        let extra: Vec<_> = found.difference(&names).filter(|n| *n != "notes.txt").collect();
        assert!(extra.is_empty(), "{extra:?} stand beside the set");
        Some(word)
    }

    /// Stops a publication before every one of its steps, looks, and publishes again.
    fn stopped_everywhere(publish: impl Fn(&Outputs, &mut dyn FnMut(&str) -> bool)) {
        for stop in 0.. {
            let root = tempfile::tempdir().expect("folder");
            let out = root.path().join("results");
            let (files, index) = set("old", 3);
            Outputs::lock(&out).expect("locked").publish(&files, &index).expect("published");
            fs::write(out.join("notes.txt"), "mine").expect("written");
            let mut step = 0;
            let mut reached = String::new();
            publish(&Outputs::lock(&out).expect("locked"), &mut |name| {
                reached = name.to_owned();
                step += 1;
                step <= stop
            });
            if reached != "between" {
                let found = word(&out).expect("a complete set");
                assert!(found == "old" || found == "new");
            }
            // Merely opening the outputs again clears what was left, and the user's own file is still there.
            drop(Outputs::lock(&out).expect("locked again"));
            assert!(word(&out).is_some());
            assert_eq!(fs::read_to_string(out.join("notes.txt")).expect("kept"), "mine");
            let hidden = fs::read_dir(root.path().join(HIDDEN)).expect("folder").count();
            assert_eq!(hidden, 1, "only the lock is left after a stop at {reached}");
            if step <= stop {
                assert_eq!(word(&out).as_deref(), Some("new"));
                assert!(stop > 8, "all steps were tried");
                break;
            }
        }
    }

    #[test]
    fn a_stop_at_any_step_leaves_the_old_or_the_new_set() {
        let (files, index) = set("new", 2);
        stopped_everywhere(|outputs, go_on| {
            outputs.publish_in_steps(&files, &index, go_on).expect("published");
        });
    }

    #[test]
    fn without_an_exchange_the_next_run_mends_a_stop_between_the_renames() {
        let (files, index) = set("new", 2);
        stopped_everywhere(|outputs, go_on| {
            let next = outputs.next();
            fs::create_dir(&next).expect("folder");
            for (name, bytes) in files.iter().map(|(n, b)| (n.as_str(), b)).chain([(INDEX, &index)]) {
                if !go_on(name) {
                    return;
                }
                fs::write(next.join(name), bytes).expect("written");
            }
            let mut stopped = false;
            outputs
                .swap_in_two(&mut |name| {
                    stopped = !go_on(name);
                    !stopped
                })
                .expect("swapped");
            if !stopped && go_on("clear") {
                outputs.clear(&next, go_on).expect("cleared");
            }
        });
    }

    #[test]
    fn two_runs_cannot_share_a_folder() {
        let root = tempfile::tempdir().expect("folder");
        let out = root.path().join("results");
        let first = Outputs::lock(&out).expect("locked");
        let second = Outputs::lock(&out).expect_err("refused").to_string();
        assert!(second.starts_with("another run is writing to "), "{second}");
        drop(first);
        Outputs::lock(&out).expect("locked");
        Outputs::lock(&root.path().join("other")).expect("another folder is free");
    }

    #[test]
    fn a_folder_of_somebody_else_is_never_touched() {
        let root = tempfile::tempdir().expect("folder");
        fs::write(root.path().join("thesis.txt"), "mine").expect("written");
        let refused = Outputs::lock(root.path()).expect_err("refused");
        assert!(matches!(refused, PublishError::Foreign(_)), "{refused}");
        fs::write(root.path().join(INDEX), r#"{"format":"something else","files":[]}"#).expect("written");
        assert!(matches!(Outputs::lock(root.path()), Err(PublishError::Foreign(_))));
        let file = root.path().join("thesis.txt");
        assert!(matches!(Outputs::lock(&file), Err(PublishError::NotAFolder(_))));
    }

    #[test]
    fn a_user_file_of_the_same_name_is_not_replaced() {
        let root = tempfile::tempdir().expect("folder");
        let out = root.path().join("results");
        let (files, index) = set("old", 1);
        Outputs::lock(&out).expect("locked").publish(&files, &index).expect("published");
        fs::write(out.join("file-1.txt"), "mine").expect("written");
        let (files, index) = set("new", 2);
        let refused = Outputs::lock(&out).expect("locked").publish(&files, &index).expect_err("refused");
        assert!(matches!(refused, PublishError::Clash(_)), "{refused}");
        assert_eq!(fs::read_to_string(out.join("file-1.txt")).expect("kept"), "mine");
    }

    #[test]
    fn file_names_cannot_leave_the_folder() {
        let root = tempfile::tempdir().expect("folder");
        let outputs = Outputs::lock(&root.path().join("results")).expect("locked");
        for name in ["../x", "a/b", ".hidden", "results.json", "..", ""] {
            let files = BTreeMap::from([(name.to_owned(), Vec::new())]);
            assert!(matches!(outputs.publish(&files, b"{}"), Err(PublishError::Name(_))), "{name}");
        }
    }
}
