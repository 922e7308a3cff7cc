//! The knot of the electrical study: every flip-mounted die with its traces, its bumps and the bond wires that they
//! replace.

use super::placing::bump_count;
use super::properties::{self, ROOM, material};
use super::{ELECTRICAL, JOINTS, REDISTRIBUTION};
use crate::graph::{Absent, Depth, Failure, Inputs, Join, Node, Progress, Reads, Report, Study, Upstream};
use crate::stage::Stage;
use facedown_electrical::Outcome;
use facedown_electrical::problem as electric;
use facedown_joints::outcome::ArrayOutcome;
use facedown_material::PropertyName as P;
use facedown_package::{Bumps, Design, Die, Mount, NetClass};
use facedown_redistribution::Outcome as Layout;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

/// Temperature at which resistances are taken, K: 85 degC, between ambient and the hottest junction (common practice, no
/// source). The heat study comes later and reads the Joule heat.
const SERVICE: f64 = 358.15;
/// Temperature that tables of resistivity begin at, K.
const REFERENCE: f64 = 293.15;

/// The electrical study: one part a die.
#[derive(Debug, Clone, Copy)]
pub struct Electrical;

/// What one solve reads, and what was assumed to make it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ElectricalTask {
    /// The study's own input.
    pub problem: electric::Problem,
    /// Assumptions in sentences.
    pub notes: Vec<String>,
}

impl Study<Design> for Electrical {
    type Input = ElectricalTask;
    type Output = Outcome;

    fn node(&self) -> Node {
        Node {
            name: ELECTRICAL,
            stage: Stage::Service,
            version: 1,
            reads: &[
                Reads::Study(REDISTRIBUTION),
                Reads::Study(JOINTS),
                Reads::Design("die.pads, die.net, die.currents, die.bumps, die.ubm, die.rdl"),
                Reads::Design("process.underfill.material"),
            ],
            reported_under: ELECTRICAL,
        }
    }

    fn inputs(&self, design: &Design, upstream: &Upstream<'_>) -> Inputs<ElectricalTask> {
        let layouts = upstream.parts::<Layout>(REDISTRIBUTION)?;
        let shapes = upstream.parts::<facedown_joints::Outcome>(JOINTS)?;
        let mut tasks = Vec::new();
        for die in design.dies.iter().filter(|d| d.mount() == Mount::Flip) {
            let Some(bumps) = &die.bumps else { continue };
            let Some((_, layout)) = layouts.iter().find(|l| l.0 == die.name.as_str()) else { continue };
            let shape = shapes.iter().find(|s| s.0 == die.name.as_str()).and_then(|s| s.1.bumps.as_ref());
            if bump_count(die, &layouts) > 0 {
                let nets = nets(upstream, die, layout);
                tasks.push((die.name.to_string(), task(design, die, bumps, nets, shape)?));
            }
        }
        if tasks.is_empty() {
            return Err(Absent::NotInDesign("No die of the design has a layout with bumps.".into()));
        }
        Ok(tasks)
    }

    fn solve(&self, task: &ElectricalTask, _: &Progress<'_>) -> Result<Outcome, Failure> {
        facedown_electrical::solve(&task.problem).map_err(|e| Failure::Study(e.to_string()))
    }

    fn report(&self, _: &str, task: &ElectricalTask, outcome: &Outcome) -> Report {
        let notes = [task.notes.as_slice(), outcome.notes.as_slice()];
        super::report_of(&outcome.figures, &outcome.limits, &notes, &outcome.advice)
    }

    fn join(&self, figure: &str) -> Join {
        match figure {
            "joule_heat" => Join::Sum,
            "inductance_ratio" | "trace_impedance" => Join::Smallest,
            _ => Join::Largest,
        }
    }
}

fn metal(design: &Design, name: &str) -> Result<electric::Metal, Absent> {
    let metal = material(design, name)?;
    Ok(electric::Metal {
        resistivity_ohm_m: properties::value(metal, &[P::Resistivity], REFERENCE)?,
        // Metals of a package gain about 0.4 % a kelvin where nothing is known (common practice, no source).
        coefficient_per_k: properties::optional(metal, P::ResistivityCoefficient, ROOM).unwrap_or(3.9e-3),
        reference_k: REFERENCE,
    })
}

fn task(
    design: &Design,
    die: &Die,
    bumps: &Bumps,
    nets: Vec<electric::Net>,
    shape: Option<&ArrayOutcome>,
) -> Result<ElectricalTask, Absent> {
    let permittivity = match design.process.as_ref().and_then(|p| p.underfill.as_ref()) {
        Some(u) => {
            properties::optional(material(design, u.material.as_str())?, P::Permittivity, ROOM).unwrap_or(3.6)
        }
        None => 1.0,
    };
    let mut notes = vec![
        "The fullest bump of a net with several carries 1.5 times the mean (common practice, no source).".to_owned(),
        "Resistances are taken at 85 degC (common practice, no source).".to_owned(),
        "The wire that a bump replaces is a gold wire of 25 um, 2.5 mm long with a loop of 0.2 mm, 100 um from its \
         neighbour (common practice, no source)."
            .to_owned(),
        "Eight outputs switch 8 mA in 1 ns each into 2 pF over two pairs of supply connections (invented); put your \
         own beside the bounce before you use it."
            .to_owned(),
    ];
    let rdl = rdl(design, die, &mut notes)?;
    let problem = electric::Problem {
        temperature_k: SERVICE,
        rdl,
        bump: electric::Bump {
            pieces: pieces(design, die, bumps, shape)?,
            pitch_m: bumps.neighbour_distance_nm() * 1e-9,
            permittivity,
        },
        wire: electric::Wire {
            diameter_m: 25e-6,
            length_m: 2.5e-3,
            loop_height_m: 200e-6,
            spacing_m: 100e-6,
            permittivity: 3.8,
            metal: metal(design, "gold")?,
        },
        switching: electric::Switching {
            drivers: 8,
            driver_current_a: 8e-3,
            edge_time_s: 1e-9,
            load_f: 2e-12,
            supply_pairs: 2,
        },
        nets,
    };
    Ok(ElectricalTask { problem, notes })
}

/// The redistribution layer; a die without one gets the usual polymer and copper, which no trace uses.
fn rdl(design: &Design, die: &Die, notes: &mut Vec<String>) -> Result<electric::Rdl, Absent> {
    let Some(rdl) = &die.rdl else {
        return Ok(electric::Rdl {
            thickness_m: 5e-6,
            metal: metal(design, "copper")?,
            permittivity: 3.3,
            height_to_reference_m: 10e-6,
            cover_permittivity: 3.3,
            via: None,
        });
    };
    let dielectric = rdl.dielectrics.first();
    let (height, permittivity) = match dielectric {
        Some(layer) => (
            layer.thickness.si(),
            properties::optional(material(design, layer.material.as_str())?, P::Permittivity, ROOM)
                .unwrap_or(3.3),
        ),
        None => (5e-6, 3.3),
    };
    notes.push(
        "Traces return over the top metal of the die, one dielectric below them (common practice, no source).".into(),
    );
    Ok(electric::Rdl {
        thickness_m: rdl.thickness.map_or(5e-6, |t| t.si()),
        metal: metal(design, rdl.material.as_ref().map_or("copper", |m| m.as_str()))?,
        permittivity,
        height_to_reference_m: height,
        cover_permittivity: permittivity,
        via: None,
    })
}

fn pieces(
    design: &Design,
    die: &Die,
    bumps: &Bumps,
    shape: Option<&ArrayOutcome>,
) -> Result<Vec<electric::Piece>, Absent> {
    let sizes = bumps.sizes();
    let mut pieces = Vec::new();
    for layer in &die.ubm {
        pieces.push(electric::Piece {
            name: layer.material.to_string(),
            height_m: layer.thickness.si(),
            diameter_m: sizes.ubm.m(),
            waist_m: None,
            metal: metal(design, layer.material.as_str())?,
        });
    }
    if sizes.pillar.m() > 0.0 {
        pieces.push(electric::Piece {
            name: "pillar".into(),
            height_m: sizes.pillar.m(),
            diameter_m: sizes.ubm.m(),
            waist_m: None,
            metal: metal(design, "copper")?,
        });
    }
    let kind = shape.and_then(|s| s.kinds.first());
    pieces.push(electric::Piece {
        name: "solder".into(),
        height_m: kind.map_or((sizes.height - sizes.pillar).m().max(1e-6), |k| k.height),
        diameter_m: sizes.ubm.m(),
        waist_m: Some(kind.map_or(sizes.bump.m(), |k| k.width)),
        metal: metal(design, bumps.solder())?,
    });
    Ok(pieces)
}

/// What the layout has of one net.
#[derive(Default)]
struct Laid {
    bumps: u32,
    pads: u32,
    length: f64,
    longest: f64,
    width: f64,
    squares: f64,
}

impl Laid {
    /// Bumps, pads and bits of the lengths, for nets that are laid alike.
    fn kind(&self) -> [u64; 6] {
        let [length, longest, width, squares] =
            [self.length, self.longest, self.width, self.squares].map(f64::to_bits);
        [u64::from(self.bumps), u64::from(self.pads), length, longest, width, squares]
    }
}

/// What the layout has of every net with bumps, by name.
fn laid(layout: &Layout) -> Vec<(String, Laid)> {
    let mut laid: HashMap<&str, Laid> = HashMap::new();
    for net in layout.bumps.iter().filter_map(|bump| bump.net.as_deref()) {
        laid.entry(net).or_default().bumps += 1;
    }
    for report in layout.nets.iter().filter(|n| n.routed) {
        let net = laid.entry(&report.net).or_default();
        net.pads += report.pads.len() as u32;
        net.length += report.length_m;
        net.longest = net.longest.max(report.length_m);
        net.width = if net.width > 0.0 { net.width.min(report.width_m) } else { report.width_m };
        net.squares = net.squares.max(report.squares);
    }
    let mut nets: Vec<(String, Laid)> =
        laid.into_iter().filter(|(_, l)| l.bumps > 0).map(|(name, l)| (name.to_owned(), l)).collect();
    nets.sort_unstable_by(|a, b| a.0.cmp(&b.0));
    nets
}

/// The name of a net that stands for others, before its number.
const OTHERS: &str = "nets without current that are laid alike";

/// One net for all that the design says nothing of and that are laid alike: they carry no current, no value tells them
/// apart, and an array of micro bumps has thousands of them.
fn few(all: Vec<(String, Laid)>, stated: impl Fn(&str) -> bool) -> Vec<(String, Laid)> {
    let mut seen = BTreeSet::new();
    let one = |(name, laid): (String, Laid)| {
        if stated(&name) {
            return Some((name, laid));
        }
        seen.insert(laid.kind()).then(|| (format!("{OTHERS} {}", seen.len()), laid))
    };
    all.into_iter().filter_map(one).collect()
}

/// The nets of a die in the order of their names; for changes only as many as values tell apart.
fn nets(upstream: &Upstream<'_>, die: &Die, layout: &Layout) -> Vec<electric::Net> {
    if upstream.depth != Depth::Changes {
        return described(die, &laid(layout));
    }
    let currents = die.current_by_net();
    let stated: Vec<String> =
        die.nets.iter().map(|n| n.name.to_string()).chain(currents.keys().map(ToString::to_string)).collect();
    let make = |stated: &[String]| {
        let stated: BTreeSet<&str> = stated.iter().map(String::as_str).collect();
        few(laid(layout), |name| stated.contains(name))
    };
    let few = if upstream.holds(REDISTRIBUTION) {
        upstream.made_of(&format!("nets of {}", die.name), &stated, make)
    } else {
        Arc::new(make(&stated))
    };
    described(die, &few)
}

fn described(die: &Die, laid: &[(String, Laid)]) -> Vec<electric::Net> {
    let currents = die.current_by_net();
    let class: BTreeMap<&str, NetClass> = die.nets.iter().map(|n| (n.name.as_str(), n.class())).collect();
    laid.iter()
        .map(|(name, l)| {
            let traced = l.length > 0.0 && l.width > 0.0;
            electric::Net {
                name: name.clone(),
                kind: match class.get(name.as_str()) {
                    Some(NetClass::Supply) => electric::Kind::Supply,
                    Some(NetClass::Ground) => electric::Kind::Ground,
                    _ => electric::Kind::Signal,
                },
                current_a: currents.get(name.as_str()).copied().unwrap_or(0.0),
                pads: l.pads.max(1),
                bumps: l.bumps,
                crowding: if l.bumps > 1 { 1.5_f64.min(f64::from(l.bumps)) } else { 1.0 },
                trace_length_m: if traced { l.length } else { 0.0 },
                longest_path_m: if traced { l.longest.min(l.length) } else { 0.0 },
                trace_width_m: if traced { l.width } else { 10e-6 },
                squares: (traced && l.squares > 0.0).then_some(l.squares),
                bends: 0,
                vias: 0,
                plane: None,
            }
        })
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "test code")]
mod tests {
    use super::*;
    use crate::studies::graph;
    use crate::{Cache, Control};
    use facedown_package::{Memory, demo, read_and_check};

    #[test]
    fn few_nets_have_the_values_of_all() {
        let demo = demo("tidewatch").unwrap();
        let files = demo.files.iter().fold(Memory::default(), |files, (name, text)| files.with(name, *text));
        let design = read_and_check(&files, "design.toml").design.unwrap();
        let graph = graph().unwrap();
        let selected = graph.select(&[REDISTRIBUTION.to_owned()]).unwrap();
        let run = graph.run(&design, Some(&selected), &Cache::none(), Control::silent());
        let die = &design.dies[0];
        let layout: &Layout = run.output(REDISTRIBUTION, die.name.as_str()).unwrap();
        // As if no trace lay between pads and bumps: signals differ by their names alone.
        let plain = || {
            let all = laid(layout).into_iter();
            all.map(|(name, l)| (name, Laid { bumps: l.bumps, pads: l.pads, ..Laid::default() }))
                .collect::<Vec<_>>()
        };
        let currents = die.current_by_net();
        let stated =
            |name: &str| currents.contains_key(name) || die.nets.iter().any(|n| n.name.as_str() == name);
        let solved = |laid: &[(String, Laid)]| {
            let bumps = die.bumps.as_ref().unwrap();
            let task = task(&design, die, bumps, described(die, laid), None).unwrap();
            facedown_electrical::solve(&task.problem).unwrap()
        };
        let (all, few) = (plain(), few(plain(), stated));
        assert!(few.len() < all.len(), "{} of {}", few.len(), all.len());
        let (all, few) = (solved(&all), solved(&few));
        assert_eq!(all.figures, few.figures);
        assert_eq!(all.joule, few.joule);
    }
}
