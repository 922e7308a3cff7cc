//! `facedown new`: a worked example in a folder of its own.

use crate::arguments::New;
use crate::exit::{Done, Exit, Failure};
use crate::output_files::write_whole;
use crate::terminal;
use facedown_package::{demo, demos};
use std::fs;

/// Writes the example. The files appear one by one under their final names, each whole.
pub fn run(arguments: &New) -> Done {
    let Some(example) = demo(&arguments.example) else {
        let names: Vec<&str> = demos().iter().map(|d| d.name).collect();
        let hint = facedown_diagnostic::nearest(&arguments.example, names.iter().copied());
        let hint = hint.map(|h| format!("; did you mean \"{h}\"?")).unwrap_or_default();
        return Err(Failure::input(format_args!(
            "there is no example \"{}\"; there are {}{hint}",
            arguments.example,
            names.join(", ")
        )));
    };
    let dir = &arguments.dir;
    let taken = match fs::read_dir(dir) {
        Ok(mut entries) => entries.next().is_some(),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => false,
        Err(error) => return Err(Failure::file(dir, "use", &error)),
    };
    if taken {
        return Err(Failure::input(format_args!("{} is not empty; choose a new folder", dir.display())));
    }
    let texts = example.files.iter().map(|(name, text)| (name, text.as_bytes()));
    for (name, bytes) in texts.chain(example.pictures.iter().map(|(name, bytes)| (name, *bytes))) {
        let path = dir.join(name);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(|e| Failure::file(folder, "make", &e))?;
        }
        write_whole(&path, bytes).map_err(|e| Failure::file(&path, "write", &e))?;
        terminal::print(&format!("{}\n", path.display()));
    }
    terminal::say(&format!("{}: {}. Its data are invented.", example.name, example.title));
    terminal::say(&format!("Next: facedown run {}", dir.join("design.toml").display()));
    Ok(Exit::Met)
}
