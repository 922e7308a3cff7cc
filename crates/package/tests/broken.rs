//! Broken designs, each with the messages that it gets.
//!
//! `FACEDOWN_BLESS=1 cargo test -p facedown-package --test broken` writes the messages again; read them as an
//! engineer would before committing them.

// Helpers of tests may fail loudly.
#![allow(clippy::unwrap_used)]

use facedown_package::{Folder, read_and_check};
use std::path::{Path, PathBuf};

fn folders() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/broken");
    let mut folders: Vec<PathBuf> = std::fs::read_dir(root).unwrap().map(|e| e.unwrap().path()).collect();
    folders.sort();
    folders
}

fn messages(folder: &Path) -> String {
    let reading = read_and_check(&Folder::new(folder), "design.toml");
    let mut text = String::new();
    for finding in &reading.findings {
        text.push_str(&facedown_diagnostic::render(finding, &reading.sources, false));
        text.push_str("\n\n");
    }
    assert!(!reading.findings.is_empty(), "{} is not broken", folder.display());
    text
}

#[test]
fn broken_designs_get_the_messages_that_are_committed() {
    let bless = std::env::var_os("FACEDOWN_BLESS").is_some();
    let folders = folders();
    assert!(folders.len() >= 40);
    let mut wrong = Vec::new();
    for folder in folders {
        let messages = messages(&folder);
        let path = folder.join("messages.txt");
        if bless {
            std::fs::write(&path, &messages).unwrap();
        } else if std::fs::read_to_string(&path).ok().as_deref() != Some(messages.as_str()) {
            wrong.push(format!("== {}\n{messages}", folder.display()));
        }
    }
    assert!(wrong.is_empty(), "messages changed; FACEDOWN_BLESS=1 writes them again\n{}", wrong.join("\n"));
}

#[test]
fn reading_twice_gives_the_same_findings() {
    for folder in folders() {
        assert_eq!(messages(&folder), messages(&folder));
    }
}
