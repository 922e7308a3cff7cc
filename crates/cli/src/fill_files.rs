//! The numbered frames of a fill, and the index that says when each is.
//!
//! They are cut from what the underfill study keeps ([`facedown_underfill::filling::Filling`]), so that a run that finds its
//! results in the cache writes the same bytes as one that has solved them.

use crate::output_files::{OutputFile, file_names};
use facedown_package::{Design, Mount};
use facedown_pipeline::{Run, studies};
use facedown_report::{FillFrame, FrameWords, fill_frames};
use facedown_underfill::Outcome;
use facedown_underfill::filling::Filling;
use facedown_underfill::front::End;
use serde::Serialize;

/// Name of the index in the output folder.
pub const INDEX: &str = "fill-frames.json";

/// All fills of a run, in the order of the parts.
#[derive(Serialize)]
struct Index<'a> {
    /// Name of the design.
    design: &'a str,
    /// Fills: a part that residue lies under has two, without its plasma and with it.
    fills: Vec<Fill<'a>>,
}

#[derive(Serialize)]
struct Fill<'a> {
    part: &'a str,
    /// `as dispensed`, `after the plasma` or `without the plasma`.
    moment: &'static str,
    /// How it ended: `full`, `air shut in`, `lines ran dry`, `does not wet`, `gelled`.
    end: &'static str,
    /// Width and height of the die, mm.
    size_mm: [f64; 2],
    frames: Vec<Frame>,
}

#[derive(Serialize)]
struct Frame {
    number: usize,
    file: String,
    /// Time since dispensing began, s.
    time_s: f64,
    /// Share of the free volume that is filled, 0 to 1.
    filled: f64,
    /// Pockets of air that the front has closed off.
    pockets: usize,
}

/// `count` frames of every fill that was followed on its bump map, with their index; nothing where none was.
pub fn fill_files(design: &Design, run: &Run, count: usize) -> Result<Vec<OutputFile>, String> {
    let names = file_names(design);
    let dies = design.dies.iter().filter(|d| d.mount() == Mount::Flip).map(|d| d.name.as_str());
    let (mut files, mut fills) = (Vec::new(), Vec::new());
    for part in dies.chain(["interposer"]) {
        let Some(outcome) = run.output::<Outcome>(studies::UNDERFILL, part) else { continue };
        let base = names.get(part).map_or(part, String::as_str);
        let dispensed = if outcome.untreated.is_some() { "after the plasma" } else { "as dispensed" };
        for (filling, moment, kind) in [
            (&outcome.untreated, "without the plasma", "fill-untreated"),
            (&outcome.filling, dispensed, "fill"),
        ] {
            let Some(filling) = filling else { continue };
            let words = FrameWords { design: design.heading.name.as_str(), part, moment };
            let frames = fill_frames(filling, count, &words);
            let listed = frames.iter().enumerate().map(|(k, f)| {
                let number = k + 1;
                Frame {
                    number,
                    file: format!("{base}-{kind}-{number:04}.svg"),
                    time_s: f.time_s,
                    filled: f.filled,
                    pockets: f.pockets,
                }
            });
            let listed: Vec<Frame> = listed.collect();
            files.extend(listed.iter().zip(frames).map(|(f, FillFrame { picture, .. })| OutputFile {
                name: f.file.clone(),
                holds: "frame of the fill, SVG",
                bytes: picture.into_bytes(),
            }));
            let map = &filling.map;
            let size_mm = [0, 1].map(|k| 1e3 * map.step_m[k] * map.count[k] as f64);
            fills.push(Fill { part, moment, end: ended(filling), size_mm, frames: listed });
        }
    }
    if fills.is_empty() {
        return Ok(files);
    }
    let index = Index { design: design.heading.name.as_str(), fills };
    let mut bytes = serde_json::to_vec_pretty(&index).map_err(|e| format!("{INDEX}: {e}"))?;
    bytes.push(b'\n');
    files.push(OutputFile { name: INDEX.into(), holds: "times of the frames of the fill", bytes });
    Ok(files)
}

fn ended(filling: &Filling) -> &'static str {
    match filling.end {
        End::Full => "full",
        End::Voids => "air shut in",
        End::RanDry => "lines ran dry",
        End::DoesNotWet => "does not wet",
        End::Gelled => "gelled",
    }
}
