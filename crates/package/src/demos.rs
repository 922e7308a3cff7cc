//! The demonstration designs, built into the program. All of their data are invented, and say so.

/// A demonstration design.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Demo {
    /// Short name, as `facedown new --example` takes it.
    pub name: &'static str,
    /// One line that says what it is.
    pub title: &'static str,
    /// Its files by path; `design.toml` is the design, further TOML files are variants of it.
    pub files: &'static [(&'static str, &'static str)],
    /// Its pictures by path.
    pub pictures: &'static [(&'static str, &'static [u8])],
}

/// The JSON Schema of design files, `design.schema.json`, as editors read it.
pub const SCHEMA: &str = include_str!("../schema/design.schema.json");

/// Name under which the schema stands beside a design.
pub const SCHEMA_FILE: &str = "design.schema.json";

macro_rules! files {
    ($demo:literal: $($path:literal),*) => {
        &[ $( ($path, include_str!(concat!("../demos/", $demo, "/", $path))), )* ("design.schema.json", SCHEMA) ]
    };
}

/// The demonstration designs, the newcomer's first.
pub fn demos() -> &'static [Demo] {
    &[
        Demo {
            name: "tidewatch",
            title: "buoy-telemetry controller, 390 wire-bond pads redistributed to solder bumps, bare die",
            files: files!("tidewatch": "design.toml", "dirty.toml", "pads.csv", "drops.csv", "readings.csv", "water.csv"),
            pictures: &[
                ("drop.png", include_bytes!("../demos/tidewatch/drop.png")),
                ("scan.png", include_bytes!("../demos/tidewatch/scan.png")),
            ],
        },
        Demo {
            name: "harborlight",
            title: "lidar processor, 9,064 copper pillars, stiffener ring with lid and bare variants, 60 W",
            files: files!("harborlight": "design.toml", "pads.csv", "power.csv", "trace.csv", "trace.csv"),
            pictures: &[],
        },
        Demo {
            name: "breakwater",
            title: "two logic dies and two memory stacks on a silicon interposer, lid, 180 W",
            files: files!("breakwater": "design.toml", "stacked.toml", "clock-pads.csv"),
            pictures: &[],
        },
    ]
}

/// The demonstration design of that name.
pub fn demo(name: &str) -> Option<&'static Demo> {
    demos().iter().find(|d| d.name == name)
}

impl Demo {
    /// Its files in memory, ready to be read.
    pub fn memory(&self) -> crate::files::Memory {
        let texts = self.files.iter().map(|(path, text)| (path, text.as_bytes()));
        let pictures = self.pictures.iter().map(|(path, bytes)| (path, *bytes));
        texts
            .chain(pictures)
            .fold(crate::files::Memory::default(), |files, (path, bytes)| files.with(path, bytes))
    }
}
