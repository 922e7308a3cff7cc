//! A folder of its own, small designs in it, and the program run there.

use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use tempfile::TempDir;

/// A temporary folder to run the program in.
pub struct Scene {
    folder: TempDir,
}

/// What a command gave.
#[derive(Debug, PartialEq, Eq)]
pub struct Said {
    pub code: Option<i32>,
    pub stdout: String,
    pub stderr: String,
}

impl Said {
    /// All of it, for snapshots.
    pub fn all(&self) -> String {
        let code = self.code.map_or("none".to_owned(), |c| c.to_string());
        format!("exit {code}\n--- stdout\n{}--- stderr\n{}", self.stdout, self.stderr)
    }
}

impl Scene {
    pub fn new() -> Scene {
        Scene { folder: tempfile::tempdir().expect("a temporary folder") }
    }

    /// A scene with the small routed design.
    pub fn small() -> Scene {
        let scene = Scene::new();
        scene.write("small/design.toml", SMALL);
        scene.write("small/pads.csv", &small_pads());
        scene
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn write(&self, name: &str, text: &str) {
        let path = self.path(name);
        std::fs::create_dir_all(path.parent().expect("has a parent")).expect("folder");
        std::fs::write(path, text).expect("written");
    }

    pub fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }

    pub fn json(&self, name: &str) -> serde_json::Value {
        serde_json::from_str(&self.read(name)).expect("JSON")
    }

    /// Changes a text of a file, which must be there.
    pub fn change(&self, name: &str, from: &str, to: &str) {
        let text = self.read(name);
        assert!(text.contains(from), "{name} does not say {from}");
        self.write(name, &text.replace(from, to));
    }

    fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_facedown"));
        command.args(words).current_dir(self.folder.path());
        command.env("FACEDOWN_CACHE", self.path("cache")).env("NO_COLOR", "1").env("COLUMNS", "100");
        command.env_remove("TERM").stdin(Stdio::null());
        command
    }

    /// Runs the program to its end.
    pub fn run(&self, words: &[&str]) -> Said {
        let done = self.command(words).output().expect("the program starts");
        Said {
            code: done.status.code(),
            stdout: self.stable(&String::from_utf8(done.stdout).expect("text")),
            stderr: self.stable(&String::from_utf8(done.stderr).expect("text")),
        }
    }

    /// Starts the program and does not wait.
    pub fn start(&self, words: &[&str]) -> Child {
        let mut command = self.command(words);
        command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("the program starts")
    }

    /// Folder and times replaced by words, so that snapshots are the same everywhere.
    fn stable(&self, text: &str) -> String {
        let mut text = text.replace(&*self.folder.path().to_string_lossy(), "[folder]");
        if let Ok(real) = std::fs::canonicalize(self.folder.path()) {
            text = text.replace(&*real.to_string_lossy(), "[folder]");
        }
        let line = |line: &str| match line.split_once(": solved in ") {
            Some((what, _)) => format!("{what}: solved in [time]"),
            None => line.to_owned(),
        };
        let ending = if text.ends_with('\n') { "\n" } else { "" };
        text.lines().map(line).collect::<Vec<_>>().join("\n") + ending
    }
}

/// All files of a folder by name; subfolders must not be there.
pub fn files(folder: &Path) -> std::collections::BTreeMap<String, Vec<u8>> {
    let entry = |entry: std::io::Result<std::fs::DirEntry>| {
        let entry = entry.expect("entry");
        let bytes = std::fs::read(entry.path()).expect("a file");
        (entry.file_name().to_string_lossy().into_owned(), bytes)
    };
    std::fs::read_dir(folder).expect("folder").map(entry).collect()
}

/// A small design, invented: 20 pads around a die of 2.4 by 2.0 mm, an array of 5 by 4 bumps.
pub const SMALL: &str = r#"[design]
name = "small"
title = "a small invented design"
data = "invented"

[[die]]
name = "main"
width = "2.4 mm"
height = "2.0 mm"
thickness = "300 um"
seal_ring = "20 um"
power = "1 W"
pads = "pads.csv"

[die.bumps]
technology = "solder bump"
pitch = "400 um"
matrix = [5, 4]
solder = "sac305"

[[die.ubm]]
role = "adhesion"
material = "titanium"
thickness = "0.1 um"

[[die.ubm]]
role = "barrier"
material = "nickel"
thickness = "3 um"

[[die.ubm]]
role = "wetting"
material = "copper"
thickness = "1 um"

[[die.ubm]]
role = "oxidation barrier"
material = "gold"
thickness = "0.1 um"

[die.rdl]
layers = 1
line = "10 um"
space = "10 um"
thickness = "5 um"

[[die.rdl.dielectric]]
material = "polyimide"
thickness = "7 um"

[[die.rdl.dielectric]]
material = "polyimide"
thickness = "8 um"

[substrate]
width = "6 mm"
height = "6 mm"

[[substrate.layer]]
name = "metal 1"
material = "copper"
thickness = "18 um"
copper = "55 %"

[[substrate.layer]]
name = "core"
material = "bt_core"
thickness = "400 um"

[[substrate.layer]]
name = "metal 2"
material = "copper"
thickness = "18 um"
copper = "55 %"

[[requirement]]
figure = "redistribution.wirelength_ratio"
max = 1.2

[[requirement]]
figure = "redistribution.longest_net"
max = "2 mm"

[[requirement]]
figure = "heat.theta_ja"
max = "40 K/W"
"#;

/// Pads of the small design: five to a side, 60 um openings, 70 um from the die edge.
pub fn small_pads() -> String {
    let mut text = String::from("name,net,x (um),y (um),width (um),height (um)\n");
    for i in 0..5 {
        let (x, y) = (400 + 400 * i, 360 + 320 * i);
        for (side, x, y) in [("S", x, 70), ("N", x, 1930), ("W", 70, y), ("E", 2330, y)] {
            text.push_str(&format!("{side}{i},net_{}{i},{x},{y},60,60\n", side.to_lowercase()));
        }
    }
    text
}
