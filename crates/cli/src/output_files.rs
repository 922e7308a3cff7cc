//! The files that leave a run: pictures, layouts and tables of every routed die, as bytes.

use crate::arguments::{Face, Format};
use facedown_exchange::tables::{AssignmentRow, BumpRow, NetLengthRow, PadRow};
use facedown_exchange::{View, dxf, gdsii, gerber, tables};
use facedown_layout::Point;
use facedown_package::{Design, Die};
use facedown_pipeline::results::{PartEntry, Results};
use facedown_pipeline::verdict::amount;
use facedown_pipeline::{Run, studies};
use facedown_quantity::Nm;
use facedown_redistribution::{NetReport, Outcome};
use facedown_report::PlanPicture;
use facedown_report::plan_view::{KeyFigure, NetNote, Plan, PlanOptions, Violation};
use rayon::prelude::*;
use std::collections::{BTreeMap, HashMap};
use std::fmt::Display;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;

/// A file of the set.
pub struct OutputFile {
    /// Name without a folder.
    pub name: String,
    /// What it holds.
    pub holds: &'static str,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// What `run` writes besides pictures.
const LAYOUTS: [Format; 4] = [Format::Gdsii, Format::Dxf, Format::Gerber, Format::Csv];

/// What becomes of a file as soon as it is made: a run writes it at once, so that few are held in memory.
pub type Take<'a, T> = &'a (dyn Fn(OutputFile) -> Result<T, String> + Sync);

/// Every file of a run in the order of their names, pictures die face down and up, layouts and tables die face up; and the plan
/// view of every routed die as it lies in the package, for one page.
pub fn layout_files<T: Send>(
    design: &Design,
    run: &Run,
    results: &Results,
    take: Take<'_, T>,
) -> Result<(Vec<T>, Vec<PlanPicture>), String> {
    let (files, plans) = rayon::join(
        || layout_files_in(design, run, results, (&LAYOUTS, None, None), take),
        || plan_views(design, run, results, take),
    );
    let mut files = files?;
    let mut pictures = Vec::new();
    for (plan, both) in plans? {
        pictures.push(plan);
        files.extend(both);
    }
    files.sort_by(|a, b| a.0.cmp(&b.0));
    Ok((files.into_iter().map(|(_, file)| file).collect(), pictures))
}

/// The files of some formats, of one face or as a run has them, of one die or of all, with their names.
pub fn layout_files_in<T: Send>(
    design: &Design,
    run: &Run,
    results: &Results,
    (formats, face, only): (&[Format], Option<Face>, Option<&str>),
    take: Take<'_, T>,
) -> Result<Vec<(String, T)>, String> {
    let names = file_names(design);
    let dies = design.dies.iter().filter(|d| only.is_none_or(|name| d.name.as_str() == name));
    let pairs: Vec<(&Die, Format)> = dies.flat_map(|d| formats.iter().map(move |f| (d, *f))).collect();
    let write = |(die, format): (&Die, Format)| {
        let mut files = Vec::new();
        let name = die.name.as_str();
        if let Some(outcome) = run.output::<Outcome>(studies::REDISTRIBUTION, name) {
            let part = results.studies.get(studies::REDISTRIBUTION).and_then(|s| s.parts.get(name));
            let default = if format == Format::Svg { Face::Down } else { Face::Up };
            let view = match face.unwrap_or(default) {
                Face::Up => View::FaceUp,
                Face::Down => View::FaceDown,
            };
            OneDie { design, results, die, outcome, part, name: &names[name], view }
                .write(format, &mut files)?;
        }
        files.into_iter().map(|file| Ok((file.name.clone(), take(file)?))).collect()
    };
    let files: Vec<Vec<(String, T)>> = pairs.into_par_iter().map(write).collect::<Result<_, String>>()?;
    Ok(files.into_iter().flatten().collect())
}

/// A plan view for the page, and its files of both faces with their names.
type Both<T> = (PlanPicture, [(String, T); 2]);

/// The plan views of every routed die, for the page and as the files of both faces.
fn plan_views<T: Send>(
    design: &Design,
    run: &Run,
    results: &Results,
    take: Take<'_, T>,
) -> Result<Vec<Both<T>>, String> {
    let names = file_names(design);
    let picture = |die: &Die| -> Result<Option<Both<T>>, String> {
        let name = die.name.as_str();
        let Some(outcome) = run.output::<Outcome>(studies::REDISTRIBUTION, name) else { return Ok(None) };
        let part = results.studies.get(studies::REDISTRIBUTION).and_then(|s| s.parts.get(name));
        let plan = Plan::of(&outcome.drawing, &[]);
        let of = |view| OneDie { design, results, die, outcome, part, name: &names[name], view };
        let taken = |one: OneDie<'_>, svg: String| {
            let file = OutputFile { name: one.plan_name(), holds: PLAN, bytes: svg.into_bytes() };
            Ok::<_, String>((one.plan_name(), take(file)?))
        };
        let up = of(View::FaceUp);
        let up = taken(up, plan.view(&up.plan_options()))?;
        let down = of(View::FaceDown);
        let svg = plan.view(&down.plan_options());
        let picture = PlanPicture {
            svg: svg.clone(),
            caption: format!(
                "Die {name}, face down as it lies in the package: seen from above through the die."
            ),
            file: down.plan_name(),
        };
        Ok(Some((picture, [taken(down, svg)?, up])))
    };
    let pictures: Vec<Option<_>> = design.dies.par_iter().map(picture).collect::<Result<_, String>>()?;
    Ok(pictures.into_iter().flatten().collect())
}

/// What a plan view's file holds.
const PLAN: &str = "plan view, SVG";

/// A file name for each die: its own name in plain letters, with a number where two would be the same.
pub fn file_names(design: &Design) -> BTreeMap<&str, String> {
    let mut names: BTreeMap<&str, String> = BTreeMap::new();
    for die in &design.dies {
        let base = plain(die.name.as_str());
        let mut name = base.clone();
        let mut number = 2;
        while names.values().any(|other| *other == name) {
            name = format!("{base}-{number}");
            number += 1;
        }
        names.insert(die.name.as_str(), name);
    }
    names
}

/// A name with letters, digits, `-` and `_` only.
pub fn plain(name: &str) -> String {
    let kept = |c: char| if c.is_ascii_alphanumeric() || c == '_' { c.to_ascii_lowercase() } else { '-' };
    let text: String = name.chars().map(kept).collect();
    let text = text.trim_matches('-').to_owned();
    if text.is_empty() { "design".into() } else { text }
}

#[derive(Clone, Copy)]
struct OneDie<'a> {
    design: &'a Design,
    results: &'a Results,
    die: &'a Die,
    outcome: &'a Outcome,
    part: Option<&'a PartEntry>,
    name: &'a str,
    view: View,
}

impl OneDie<'_> {
    fn write(&self, format: Format, files: &mut Vec<OutputFile>) -> Result<(), String> {
        let base = format!("{}-{}", self.name, self.view.suffix());
        let drawing = &self.outcome.drawing;
        let wrong = |what: &dyn Display| format!("die {}: {what}", self.die.name);
        let mut push = |ending: &str, holds, bytes| {
            files.push(OutputFile { name: format!("{base}{ending}"), holds, bytes });
        };
        match format {
            Format::Gdsii => push(".gds", "layout, GDSII", gdsii(drawing, self.view).map_err(|e| wrong(&e))?),
            Format::Dxf => push(".dxf", "layout, DXF", dxf(drawing, self.view).map_err(|e| wrong(&e))?),
            Format::Svg => files.push(OutputFile {
                name: self.plan_name(),
                holds: PLAN,
                bytes: Plan::of(drawing, &[]).view(&self.plan_options()).into_bytes(),
            }),
            Format::Gerber => {
                for file in gerber(drawing, self.view).map_err(|e| wrong(&e))? {
                    files.push(OutputFile {
                        name: file.name,
                        holds: "one layer, Gerber X2",
                        bytes: file.bytes,
                    });
                }
            }
            Format::Csv => {
                let width = drawing.width;
                push("-pads.csv", "die pads", tables::pads(&self.pads(), width, self.view));
                push("-bumps.csv", "bumps", tables::bumps(&self.bumps(), width, self.view));
                push(
                    "-assignment.csv",
                    "pads and their bumps",
                    tables::assignment(&self.assignment(), self.view),
                );
                push(
                    "-nets.csv",
                    "net lengths",
                    tables::net_lengths(&net_lengths(&self.outcome.nets), self.view),
                );
            }
        }
        Ok(())
    }

    fn plan_name(&self) -> String {
        format!("{}-{}-plan.svg", self.name, self.view.suffix())
    }

    /// How the plan view is drawn: with an identifier of its own, so that several stand on one page.
    fn plan_options(&self) -> PlanOptions {
        let judged = self.results.studies.get(studies::REDISTRIBUTION);
        let figures = self.part.map(|part| {
            let line = |(name, figure): (&String, &facedown_pipeline::results::FigureEntry)| {
                // With one die the study's figures are this die's, so its verdicts are too.
                let verdict = judged
                    .filter(|s| s.parts.len() == 1)
                    .and_then(|s| s.figures.get(name))
                    .and_then(|f| f.verdict);
                let label = name.replace('_', " ");
                KeyFigure { verdict, ..KeyFigure::new(&label, &amount(figure.value, &figure.unit)) }
            };
            part.figures.iter().map(line).collect()
        });
        let violations = self.part.map(|part| {
            let one = |v: &facedown_pipeline::results::ViolationEntry| Violation {
                at: Point::um(v.x_um, v.y_um),
                sentence: v.sentence.clone(),
            };
            part.violations.iter().map(one).collect()
        });
        let mut nets: BTreeMap<String, NetNote> = BTreeMap::new();
        for net in &self.outcome.nets {
            let note = nets.entry(net.net.clone()).or_default();
            note.pads.extend(net.pads.iter().cloned());
            note.bumps.extend(net.bumps.iter().cloned());
            let length = Nm::round_m(if net.length_m.is_finite() { net.length_m } else { 0.0 });
            note.length = Some(note.length.unwrap_or(Nm::ZERO) + length);
        }
        PlanOptions {
            id: format!("plan-{}", self.name),
            design: self.design.heading.name.to_string(),
            invented: self.design.heading.data.as_deref() == Some("invented"),
            view: match self.view {
                View::FaceUp => facedown_report::View::DieFaceUp,
                View::FaceDown => facedown_report::View::DieFaceDown,
            },
            figures: figures.unwrap_or_default(),
            nets,
            violations: violations.unwrap_or_default(),
            ..PlanOptions::default()
        }
    }

    fn pads(&self) -> Vec<PadRow> {
        let row = |p: facedown_package::Pad| PadRow {
            name: p.name,
            net: (!p.net.is_empty()).then_some(p.net),
            x: p.x,
            y: p.y,
            width: p.width,
            height: p.height,
        };
        self.die.pads().into_iter().map(row).collect()
    }

    /// The bumps that are there; sites left empty are not listed.
    fn bumps(&self) -> Vec<BumpRow> {
        let diameter = self.die.bumps.as_ref().map_or(Nm::ZERO, |b| b.sizes().bump);
        let direct = self.die.rdl.is_none();
        let there = self.outcome.bumps.iter().filter(|b| direct || b.net.is_some());
        there
            .map(|b| BumpRow { name: b.name.clone(), net: b.net.clone(), x: b.at.x, y: b.at.y, diameter })
            .collect()
    }

    /// Every pad with the nearest bump of its own tree, and every further bump of the tree with its nearest pad.
    fn assignment(&self) -> Vec<AssignmentRow> {
        let pads: BTreeMap<String, Point> =
            self.die.pads().into_iter().map(|p| (p.name, Point::new(p.x, p.y))).collect();
        let bumps: BTreeMap<&str, Point> =
            self.outcome.bumps.iter().map(|b| (b.name.as_str(), b.at)).collect();
        let mut rows = Vec::new();
        for net in &self.outcome.nets {
            let pads: Vec<(&str, Point)> =
                net.pads.iter().filter_map(|p| Some((p.as_str(), *pads.get(p)?))).collect();
            let bumps: Vec<(&str, Point)> =
                net.bumps.iter().filter_map(|b| Some((b.as_str(), *bumps.get(b.as_str())?))).collect();
            let mut row = |pad: &str, bump: &str| {
                rows.push(AssignmentRow { net: net.net.clone(), pad: pad.into(), bump: bump.into() })
            };
            let mut used = vec![false; bumps.len()];
            let (near_bump, near_pad) = (Nearest::new(&bumps), Nearest::new(&pads));
            for (pad, at) in &pads {
                if let Some(nearest) = near_bump.to(*at) {
                    used[nearest] = true;
                    row(pad, bumps[nearest].0);
                }
            }
            for ((bump, at), _) in bumps.iter().zip(&used).filter(|(_, used)| !**used) {
                if let Some(nearest) = near_pad.to(*at) {
                    row(pads[nearest].0, bump);
                }
            }
        }
        rows
    }
}

/// Named points to find the nearest of.
struct Nearest<'a> {
    points: &'a [(&'a str, Point)],
    /// The first point at each place: pads drawn for bumps lie exactly under them, thousands of one net.
    here: HashMap<Point, usize>,
}

impl<'a> Nearest<'a> {
    fn new(points: &'a [(&'a str, Point)]) -> Nearest<'a> {
        let mut here = HashMap::new();
        for (index, (_, at)) in points.iter().enumerate() {
            here.entry(*at).or_insert(index);
        }
        Nearest { points, here }
    }

    /// The index of the nearest point; the first of several.
    fn to(&self, from: Point) -> Option<usize> {
        let apart = |index: &usize| {
            let to = self.points[*index].1;
            let [x, y] = [from.x - to.x, from.y - to.y].map(|d| i128::from(d.0));
            x * x + y * y
        };
        self.here.get(&from).copied().or_else(|| (0..self.points.len()).min_by_key(apart))
    }
}

fn net_lengths(nets: &[NetReport]) -> Vec<NetLengthRow> {
    let length = |metres: f64| metres.is_finite().then(|| Nm::round_m(metres));
    let row = |n: &NetReport| NetLengthRow {
        net: n.net.clone(),
        pads: n.pads.len(),
        bumps: n.bumps.len(),
        length: length(n.length_m).unwrap_or(Nm::ZERO),
        bound: length(n.bound_m),
    };
    nets.iter().map(row).collect()
}

/// Writes one file whole or not at all: under a temporary name beside it, then renamed.
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let temporary = path.with_file_name(format!(".{name}.{}.part", std::process::id()));
    let written = File::create(&temporary)
        .and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()
        })
        .and_then(|()| fs::rename(&temporary, path));
    if written.is_err() {
        // What could not be finished is not left behind; should this fail too, the first error is the one to tell.
        let _ = fs::remove_file(&temporary);
    }
    written
}
