//! The knot of the warpage study: substrate, interposer, dies, ring or lid as plates, joined in the order of assembly.

use super::joints::INTERPOSER;
use super::placing::{bump_places, centre, extent, footprint, lattice};
use super::plates;
use super::properties::{self, ROOM, material};
use super::{REDISTRIBUTION, WARPAGE};
use crate::graph::{Absent, Depth, Failure, Inputs, Join, Node, Progress, Reads, Report, Study, Upstream};
use crate::stage::Stage;
use facedown_material::PropertyName as P;
use facedown_package::{Bumps, Design, DieStrength, Form, Mount};
use facedown_redistribution::Outcome as Layout;
use facedown_warpage::Outcome;
use facedown_warpage::problem as warp;
use serde::Serialize;

/// Cure of the glue under a ring or lid where the design says nothing, K: 150 degC (common practice, no source).
const COVER_CURE: f64 = 423.15;
/// Coldest temperature where no mission cycle says one, K: -40 degC (common practice, no source).
const COLDEST: f64 = 233.15;
/// Share of what bare joints hold that has crept away when the underfill has cured, where nothing is known: solder at
/// 150 degC relaxes within minutes, pillars stay (common practice, no source).
const CREPT: f64 = 0.5;

/// The warpage study of the whole package.
#[derive(Debug, Clone, Copy)]
pub struct Warpage;

/// What one solve reads, and what was assumed to make it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WarpageTask {
    /// The study's own input.
    pub problem: warp::Problem,
    /// Assumptions in sentences.
    pub notes: Vec<String>,
}

impl Study<Design> for Warpage {
    type Input = WarpageTask;
    type Output = Outcome;

    fn node(&self) -> Node {
        Node {
            name: WARPAGE,
            stage: Stage::BoardReflow,
            version: 5,
            reads: &[
                Reads::Study(REDISTRIBUTION),
                Reads::Design("die, interposer, substrate, balls, form, interface"),
                Reads::Design(
                    "process.reflow, process.underfill, process.cure, mission.cycle, mission.history",
                ),
            ],
            reported_under: WARPAGE,
        }
    }

    fn inputs(&self, design: &Design, upstream: &Upstream<'_>) -> Inputs<WarpageTask> {
        let layouts = upstream.parts::<Layout>(REDISTRIBUTION)?;
        let mut task = task(design, &layouts)?;
        if upstream.depth == Depth::Changes {
            task.problem.resolution = warp::Resolution::COMPANION;
        }
        Ok(vec![(String::new(), task)])
    }

    fn solve(&self, task: &WarpageTask, progress: &Progress<'_>) -> Result<Outcome, Failure> {
        let problem = &task.problem;
        let solved = match progress.left::<facedown_warpage::Trace>() {
            Some(trace) => {
                let sides = progress.sides::<facedown_warpage::Sides>();
                facedown_warpage::solve_near(problem, &trace, sides.as_deref())
            }
            None if progress.shares() => facedown_warpage::solve_traced(problem).map(|(outcome, trace)| {
                progress.leave(trace);
                outcome
            }),
            None => facedown_warpage::solve(problem),
        };
        solved.map_err(|e| Failure::Study(e.to_string()))
    }

    fn report(&self, _: &str, task: &WarpageTask, outcome: &Outcome) -> Report {
        let notes = [task.notes.as_slice(), outcome.notes.as_slice()];
        super::report_of(&outcome.figures, &outcome.limits, &notes, &outcome.advice)
    }

    fn join(&self, _: &str) -> Join {
        Join::Largest
    }
}

fn task(design: &Design, layouts: &[(&str, &Layout)]) -> Result<WarpageTask, Absent> {
    let absent =
        |what: &str| Absent::NotInDesign(format!("The design has no table [{what}]; warpage needs it."));
    let substrate = design.substrate.as_ref().ok_or_else(|| absent("substrate"))?;
    let size = [substrate.width.si(), substrate.height.si()];
    let mut notes = vec!["The metal layers of the dies are left out.".to_owned()];
    let mut dies = Vec::new();
    for die in &design.dies {
        if die.mount() == Mount::Wire {
            notes.push(format!("Die {} is wire-bonded; its stiffness is left out.", die.name));
            continue;
        }
        if die.on() == "substrate" && design.interposer.is_some() {
            return Err(Absent::Impossible(format!(
                "Die {} stands on the substrate beside an interposer; the closed forms know one or the other.",
                die.name
            )));
        }
        let bumps = die.bumps.as_ref().ok_or_else(|| absent("die.bumps"))?;
        let (die_size, _) = footprint(die)?;
        let places = bump_places(die, layouts)?;
        let filled = plates::filled(design, Some(die.name.as_str()));
        dies.push(warp::Die {
            name: die.name.to_string(),
            plate: plates::die(design, die, die_size)?,
            at_m: centre(die),
            joints: joints(design, bumps, &places, die_size, filled)?,
            interface: interface(design, die.name.as_str())?,
            strength: Some(strength(die.strength.as_ref())),
        });
    }
    if dies.is_empty() {
        return Err(Absent::NotInDesign("No die of the design stands on bumps.".into()));
    }
    notes.extend(strength_notes(design));
    let interposer = match &design.interposer {
        Some(interposer) => {
            notes.push(
                "Dies are joined to the interposer while its carrier holds it flat, and stiffen it before it meets the \
                 substrate (common practice, no source)."
                    .to_owned(),
            );
            let bumps = interposer.bumps.as_ref().ok_or_else(|| absent("interposer.bumps"))?;
            let size = [interposer.width.si(), interposer.height.si()];
            let places = lattice(size[0], size[1], bumps.pitch.si(), bumps.row_pitch().m());
            Some(warp::Interposer {
                plate: plates::stack(design, &interposer.layers, size, INTERPOSER)?,
                at_m: interposer.at.map_or([0.0; 2], |at| at.map(|x| x.si())),
                joints: joints(design, bumps, &places, size, plates::filled(design, None))?,
            })
        }
        None => None,
    };
    let balls = design.balls.as_ref().map(|balls| {
        let (x, y) = balls.footprint(substrate);
        warp::Balls { pitch_m: balls.pitch.si(), diameter_m: balls.diameter.si(), extent_m: [x.m(), y.m()] }
    });
    Ok(WarpageTask {
        problem: warp::Problem {
            substrate: warp::Substrate {
                plate: plates::stack(design, &substrate.layers, size, "substrate")?,
                received_bow_m: substrate.received_bow.map(|b| b.si()),
            },
            interposer,
            dies,
            cover: cover(design, size, &mut notes)?,
            balls,
            process: process(design, &mut notes)?,
            resolution: warp::Resolution::default(),
        },
        notes,
    })
}

/// Strength of a die as the design gives it; a back that it does not give is a fine-ground one from memory, as the notes
/// say.
fn strength(written: Option<&DieStrength>) -> warp::Strength {
    let source = |s: &Option<String>| s.clone().unwrap_or_else(|| "the design".into());
    let back = match written.and_then(|w| w.back.as_ref()) {
        Some(back) => warp::Weibull {
            characteristic_pa: back.characteristic.si(),
            shape: back.shape,
            reference: back.area.si(),
            source: source(&back.source),
        },
        None => warp::Weibull {
            characteristic_pa: 300e6,
            shape: 5.0,
            reference: 1e-4,
            source: "fine-ground back, from memory".into(),
        },
    };
    let edge = written.and_then(|w| w.edge.as_ref()).map(|edge| warp::Weibull {
        characteristic_pa: edge.characteristic.si(),
        shape: edge.shape,
        reference: edge.length.si(),
        source: source(&edge.source),
    });
    warp::Strength { back: Some(back), edge }
}

/// Where the strengths of the dies come from.
fn strength_notes(design: &Design) -> Vec<String> {
    let mut notes = Vec::new();
    let mut from_memory = Vec::new();
    for die in design.dies.iter().filter(|d| d.mount() == Mount::Flip) {
        let strength = die.strength.as_ref();
        if let Some(back) = strength.and_then(|s| s.back.as_ref()) {
            notes.push(format!(
                "Strength of the back of die {}: 63 % of pieces with {} under stress break by {}, shape {} ({}).",
                die.name,
                back.area,
                back.characteristic,
                back.shape,
                back.source.as_deref().unwrap_or("no source given")
            ));
        } else {
            from_memory.push(die.name.as_str());
        }
        if let Some(edge) = strength.and_then(|s| s.edge.as_ref()) {
            notes.push(format!(
                "Strength of the edges of die {}: 63 % of pieces with {} of edge under stress break by {}, shape {} ({}).",
                die.name,
                edge.length,
                edge.characteristic,
                edge.shape,
                edge.source.as_deref().unwrap_or("no source given")
            ));
        }
    }
    if !from_memory.is_empty() {
        notes.push(format!(
            "The design does not give the strength of die {}: that of a fine-ground back is taken, of which 63 % of pieces \
             of 1 cm2 break by 300 MPa, shape 5 (from memory); give [die.strength.back] of your own thinning before you \
             use its probability of failure.",
            from_memory.join(", ")
        ));
    }
    notes
}

fn joints(
    design: &Design,
    bumps: &Bumps,
    places: &[[f64; 2]],
    size: [f64; 2],
    filled: bool,
) -> Result<warp::JointLayer, Absent> {
    let process = design.process.as_ref();
    let written = process.and_then(|p| p.underfill.as_ref()).filter(|_| filled);
    let underfill = match written {
        Some(written) => {
            // Shrinkage is written as a share of volume, from the whole cure.
            let shrinkage = process.and_then(|p| p.cure.as_ref()).and_then(|c| c.shrinkage);
            Some(warp::Underfill {
                solid: plates::solid(design, written.material.as_str())?,
                shrinkage_after_gel: shrinkage.map_or(0.0, |s| s.si()),
            })
        }
        None => None,
    };
    let sizes = bumps.sizes();
    let circle = std::f64::consts::FRAC_PI_4 * sizes.ubm.m().powi(2);
    Ok(warp::JointLayer {
        gap_m: written.and_then(|w| w.gap).map_or(sizes.height.m(), |g| g.si()),
        share: (places.len() as f64 * circle / (size[0] * size[1])).min(0.9),
        joint: plates::joint(design, bumps)?,
        extent_m: extent(places),
        underfill,
    })
}

/// The interface between the back of a die and the lid.
fn interface(design: &Design, die: &str) -> Result<Option<warp::Layer>, Absent> {
    let joins =
        |i: &&facedown_package::Interface| i.between[0].as_str() == die && i.between[1].as_str() == "lid";
    let lid = matches!(design.form, Some(Form::Lid(_)));
    let Some(found) = design.interfaces.iter().find(joins).filter(|_| lid) else { return Ok(None) };
    // Greases and gels have no modulus: they follow the lid.
    let Ok(solid) = plates::solid(design, found.material.as_str()) else { return Ok(None) };
    Ok(Some(warp::Layer::plain(
        found.name.as_str(),
        super::heat_inputs::bond_line(found)?.thickness_m(),
        solid,
    )))
}

fn cover(design: &Design, size: [f64; 2], notes: &mut Vec<String>) -> Result<Option<warp::Cover>, Absent> {
    let (kind, made_of, thickness, band, foot, setback, glue, bond, cure) = match design.form() {
        Form::Bare => return Ok(None),
        Form::Ring(r) => (
            warp::CoverKind::Ring,
            r.material,
            r.thickness,
            r.band,
            0.0,
            r.setback,
            r.adhesive,
            r.adhesive_thickness,
            r.adhesive_cure,
        ),
        Form::Lid(l) => (
            warp::CoverKind::Lid,
            l.material,
            l.thickness,
            l.band,
            l.foot_height.si(),
            l.setback,
            l.adhesive,
            l.adhesive_thickness,
            l.adhesive_cure,
        ),
    };
    if cure.is_none() {
        notes.push("The glue under ring or lid cures at 150 degC (common practice, no source).".to_owned());
    }
    let setback = setback.map_or(0.0, |s| s.si());
    Ok(Some(warp::Cover {
        kind,
        width_m: size[0] - 2.0 * setback,
        height_m: size[1] - 2.0 * setback,
        thickness_m: thickness.si(),
        band_m: band.si(),
        foot_m: foot,
        solid: plates::solid(design, made_of.as_str())?,
        adhesive: warp::Layer::plain(glue.as_str(), bond.si(), plates::solid(design, glue.as_str())?),
    }))
}

fn process(design: &Design, notes: &mut Vec<String>) -> Result<warp::Process, Absent> {
    let written = design.process.as_ref();
    let melts = |name: &str| -> Result<(f64, f64), Absent> {
        let solder = material(design, name)?;
        let liquidus = properties::value(solder, &[P::Liquidus], ROOM)?;
        Ok((properties::optional(solder, P::Solidus, ROOM).unwrap_or(liquidus), liquidus))
    };
    let first = design.dies.iter().find_map(|d| d.bumps.as_ref());
    let bump = first.ok_or_else(|| Absent::NotInDesign("No die of the design stands on bumps.".into()))?;
    let (bump_solidus_k, bump_liquidus_k) = melts(bump.solder())?;
    let (ball_solidus_k, ball_liquidus_k) = match &design.balls {
        Some(balls) => melts(balls.solder.as_str())?,
        None => (bump_solidus_k, bump_liquidus_k),
    };
    let cure = written.and_then(|p| p.cure.as_ref());
    let steps = cure.map_or(&[][..], |c| c.steps.as_slice());
    let underfilled = written.is_some_and(|p| p.underfill.is_some());
    let underfill_cure_k = match (cure.and_then(|c| c.stress_free), steps.last()) {
        (Some(free), _) => free.si(),
        (None, Some(step)) => step.temperature.si(),
        (None, None) => {
            if underfilled {
                notes.push(
                    "No cure is given: the underfill cures at 150 degC (common practice, no source).".into(),
                );
            }
            COVER_CURE
        }
    };
    let reflow_peak_k = match written.and_then(|p| p.reflow.as_ref()) {
        Some(reflow) => reflow.peak.si(),
        None => {
            notes.push(
                "No reflow is given: its peak lies 25 K above the liquidus of the balls (common practice, no source)."
                    .into(),
            );
            ball_liquidus_k + 25.0
        }
    };
    let mission = design.mission.as_ref();
    let recorded = mission.and_then(|m| m.history.as_ref()).and_then(|h| h.ends_k()).map(|e| e.0);
    let cycles = mission.map_or(&[][..], |m| m.cycles.as_slice());
    let coldest = cycles.iter().map(|c| c.low.si()).chain(recorded).fold(f64::INFINITY, f64::min);
    // The package comes down to room temperature in any case.
    let coldest_k = if coldest.is_finite() {
        coldest.min(ROOM)
    } else {
        notes.push("No mission cycle is given: -40 degC is the coldest (common practice, no source).".into());
        COLDEST
    };
    let crept = cure.and_then(|c| c.joints_crept);
    if underfilled && crept.is_none() {
        notes.push(
            "Half of what the bare joints hold has crept away when the underfill has cured (common practice, no source)."
                .to_owned(),
        );
    }
    let glued = match design.form() {
        Form::Bare => None,
        Form::Ring(ring) => ring.adhesive_cure,
        Form::Lid(lid) => lid.adhesive_cure,
    };
    Ok(warp::Process {
        room_k: ROOM,
        bump_solidus_k,
        bump_liquidus_k,
        underfill_cure_k,
        cover_cure_k: glued.map_or(COVER_CURE, |c| c.si()),
        ball_solidus_k,
        ball_liquidus_k,
        reflow_peak_k,
        coldest_k,
        crept_in_cure: crept.map_or(CREPT, |c| c.si()),
    })
}
