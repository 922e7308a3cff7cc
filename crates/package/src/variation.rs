//! The design with one toleranced quantity moved: what robustness work differentiates.
//!
//! Every quantity of the design file that carries a tolerance is found by its place, moved by some of its standard
//! deviations in the text, and the text is read again. So anything that can be written with a tolerance takes part,
//! without a list of names that would have to be kept.

use crate::design::Design;
use crate::files::{FileError, Files};
use crate::read::{Reading, read};
use facedown_quantity::{KindTable, all_kinds, read_as, write_as};

/// A toleranced quantity of the design file.
#[derive(Debug, Clone, PartialEq)]
pub struct Tolerated {
    /// Its path in the design (`die[0].bumps.height`).
    pub path: String,
    /// As written (`75 um +- 5 um`).
    pub text: String,
    /// Nominal value, SI.
    pub nominal: f64,
    /// One standard deviation, SI.
    pub deviation: f64,
    kind: &'static KindTable,
    start: usize,
    end: usize,
}

/// The toleranced quantities of a design file in the order of their paths. Materials are left out: their tolerances
/// stand in the library's own form.
pub fn tolerated(reading: &Reading, name: &str) -> Vec<Tolerated> {
    let (Some(design), Some(source)) = (&reading.design, reading.sources.0.get(name)) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for (path, start, end) in design.places.values() {
        let Some(raw) = source.text.get(start..end) else { continue };
        let text = raw.trim_matches(['"', '\'']);
        if text.len() + 2 != raw.len() || !(text.contains("+-") || text.contains('±')) {
            continue;
        }
        // Kinds that share a unit are told apart by no text. From behind, kelvins are a difference first, which is written in
        // kelvins again and so is read both as a difference and as a temperature.
        let read = all_kinds().iter().rev().find_map(|k| read_as(text, k).ok().map(|r| (*k, r)));
        if let Some((kind, read)) = read
            && let Some(tolerance) = read.tolerance
            && !path.starts_with("material")
        {
            let deviation = design.spread().standard_deviation(tolerance);
            if deviation > 0.0 {
                let (path, text) = (path.to_owned(), text.to_owned());
                found.push(Tolerated { path, text, nominal: read.si, deviation, kind, start, end });
            }
        }
    }
    found
}

/// The design with one quantity moved by `deviations` of its standard deviations; nothing when the moved text cannot be
/// read. What it reads may still be nonsense (a length below zero), which the studies refuse.
pub fn varied(
    files: &dyn Files,
    reading: &Reading,
    name: &str,
    quantity: &Tolerated,
    deviations: f64,
) -> Option<Design> {
    let source = reading.sources.0.get(name)?;
    let moved = write_as(quantity.nominal + deviations * quantity.deviation, quantity.kind);
    let mut text = source.text.to_string();
    text.replace_range(quantity.start..quantity.end, &format!("\"{moved}\""));
    let moved = read(&Moved { files, name, text: &text }, name);
    moved.is_runnable().then_some(moved.design)?
}

/// The files of a design with another text of its design file.
struct Moved<'a> {
    files: &'a dyn Files,
    name: &'a str,
    text: &'a str,
}

impl Files for Moved<'_> {
    fn read(&self, relative: &str, limit: u64) -> Result<Vec<u8>, FileError> {
        if relative == self.name {
            Ok(self.text.as_bytes().to_vec())
        } else {
            self.files.read(relative, limit)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Memory, demo, read_and_check};

    #[test]
    fn a_toleranced_height_is_found_and_moved() {
        let demo = demo("tidewatch").unwrap();
        let files = demo.files.iter().fold(Memory::default(), |files, (name, text)| files.with(name, *text));
        let reading = read_and_check(&files, "design.toml");
        let found = tolerated(&reading, "design.toml");
        let height = found.iter().find(|q| q.path == "die[0].bumps.height").unwrap();
        assert!((height.deviation - 8e-6 / 3.0).abs() < 1e-12 && (height.nominal - 120e-6).abs() < 1e-12);
        let design = varied(&files, &reading, "design.toml", height, 3.0).unwrap();
        let moved = design.dies[0].bumps.as_ref().unwrap().height.unwrap();
        assert!((moved.si() - 128e-6).abs() < 1e-12);
        let gate = "gate = \"3 K\"";
        let text = demo.files.iter().find(|f| f.0 == "design.toml").unwrap().1;
        assert!(text.contains(gate));
        let files = files.with("design.toml", text.replace(gate, "gate = \"3 K +- 1 K\""));
        let with_gate = read_and_check(&files, "design.toml");
        let difference = tolerated(&with_gate, "design.toml");
        let difference = difference.iter().find(|q| q.path == "mission.history.gate").unwrap();
        let design = varied(&files, &with_gate, "design.toml", difference, 3.0).unwrap();
        let history = design.mission.as_ref().and_then(|m| m.history.as_ref()).unwrap();
        assert!((history.gate_k() - 4.0).abs() < 1e-12 && history.points.len() == 169);
        let peak = found.iter().find(|q| q.path == "process.reflow.peak").unwrap();
        assert!((peak.deviation - 1.0).abs() < 1e-9 && (peak.nominal - 518.15).abs() < 1e-9);
    }
}
