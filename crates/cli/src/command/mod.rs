//! The commands, one a file.

pub mod check;
pub mod compare;
pub mod completions;
pub mod export;
pub mod materials;
pub mod new;
pub mod run;
pub mod solve;
pub mod verify;

use crate::exit::Failure;
use facedown_package::{Folder, Reading, read_and_check};
use std::path::Path;

/// A design as read from its file, and the file's name without its folder.
pub(crate) fn read_design(file: &Path) -> Result<(Reading, Folder, String), Failure> {
    let name = file.file_name().and_then(|n| n.to_str());
    let Some(name) = name.filter(|_| !file.is_dir()) else {
        return Err(Failure::input(format_args!("{} is not a design file", file.display())));
    };
    if !file.exists() {
        return Err(Failure::input(format_args!("there is no file {}", file.display())));
    }
    let folder = match file.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let folder = Folder::new(folder);
    Ok((read_and_check(&folder, name), folder, name.to_owned()))
}
