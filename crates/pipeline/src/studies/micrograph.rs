//! The knot of micrographs: voids that are seen, beside those that the front on the bump map predicts.

use super::placing::footprint;
use super::{MICROGRAPH, UNDERFILL};
use crate::graph::{Absent, Failure, Inputs, Join, Node, Progress, Reads, Report, Study, Upstream};
use crate::stage::Stage;
use facedown_package::{Design, VoidShade};
use facedown_underfill::Outcome;
use facedown_underfill::filling::Filling;
use facedown_underfill::micrograph::judged::{Judged, Scan, judge};
use serde::{Serialize, Serializer};

/// Voids in the micrographs of a design: one part a picture.
#[derive(Debug, Clone, Copy)]
pub struct Micrograph;

/// What one reading needs.
#[derive(Debug, Clone, Serialize)]
pub struct MicrographTask {
    /// File, for messages.
    pub picture: String,
    /// The picture by the hash of its bytes, and all that is known of it.
    #[serde(serialize_with = "told")]
    pub scan: Scan,
}

fn told<S: Serializer>(scan: &Scan, serializer: S) -> Result<S::Ok, S::Error> {
    let hash = blake3::hash(&scan.bytes).to_hex().to_string();
    let sizes = (scan.die_m, &scan.bumps_m, scan.bump_diameter_m, scan.corners);
    (hash, sizes, (scan.edge_m, scan.darker, scan.least_diameter_m), &scan.predicted).serialize(serializer)
}

/// Cells that the front leaves dry.
fn predicted(filling: &Filling) -> (usize, Vec<bool>) {
    let map = &filling.map;
    (map.count[0], map.void.iter().map(|v| *v > 0).collect())
}

impl Study<Design> for Micrograph {
    type Input = MicrographTask;
    type Output = Judged;

    fn node(&self) -> Node {
        Node {
            name: MICROGRAPH,
            stage: Stage::Underfill,
            version: 1,
            reads: &[
                Reads::Study(UNDERFILL),
                Reads::Design("process.underfill.micrograph, die.width, die.height"),
            ],
            reported_under: UNDERFILL,
        }
    }

    fn inputs(&self, design: &Design, upstream: &Upstream<'_>) -> Inputs<MicrographTask> {
        let fill = design.process.as_ref().and_then(|p| p.underfill.as_ref());
        let scans = fill.map_or(&[][..], |f| f.micrographs.as_slice());
        if scans.is_empty() {
            return Err(Absent::NotInDesign("The design names no micrograph.".into()));
        }
        let fills = upstream.parts::<Outcome>(UNDERFILL)?;
        let mut tasks: Vec<(String, MicrographTask)> = Vec::new();
        for scan in scans {
            let die = match &scan.die {
                Some(name) => design.die(name.as_str()).map(|(_, die)| die),
                None => design.dies.first(),
            };
            let Some(die) = die else { continue };
            let name = die.name.as_str();
            let fill = fills.iter().find(|f| f.0 == name).map(|f| f.1);
            let cleaned = scan.plasma.unwrap_or(true);
            let untreated = fill.and_then(|f| f.untreated.as_ref()).filter(|_| !cleaned);
            let Some(filling) = untreated.or(fill.and_then(|f| f.filling.as_ref())) else {
                return Err(Absent::NotInDesign(
                    "Voids in a micrograph are counted against the bump map, which closed forms do not follow.".into(),
                ));
            };
            let (die_m, _) = footprint(die)?;
            let scan_task = Scan {
                bytes: scan.bytes.clone(),
                die_m,
                bumps_m: filling.bumps_m.clone(),
                bump_diameter_m: filling.bump_diameter_m,
                corners: scan.corners,
                edge_m: scan.edge.map_or(0.0, |e| e.si()),
                darker: scan.voids == Some(VoidShade::Darker),
                least_diameter_m: scan.least.map_or(0.0, |l| l.si()),
                predicted: Some(predicted(filling)),
            };
            let picture = scan.picture.to_string();
            let mut part = name.to_owned();
            if tasks.iter().any(|t| t.0 == part) {
                part = format!("{name}, {picture}");
            }
            tasks.push((part, MicrographTask { picture, scan: scan_task }));
        }
        Ok(tasks)
    }

    fn solve(&self, task: &MicrographTask, _: &Progress<'_>) -> Result<Judged, Failure> {
        judge(&task.scan).map_err(|e| Failure::Study(format!("{}: {e}", task.picture)))
    }

    fn report(&self, _: &str, _: &MicrographTask, judged: &Judged) -> Report {
        super::report_of(&judged.figures, &judged.limits, &[judged.notes.as_slice()], &[])
    }

    fn join(&self, figure: &str) -> Join {
        match figure {
            "seen_voids_touching" | "seen_voids_bridging" => Join::Sum,
            "seen_foreseen" => Join::Smallest,
            _ => Join::Largest,
        }
    }
}
