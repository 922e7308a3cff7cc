//! The knot of the life study: bumps of each flip-mounted die with their currents, those under an interposer, and the
//! balls, each through the mission.

mod attachment;
mod currents;
mod service;
mod shadow;

use super::joints::{BALLS, INTERPOSER};
use super::placing::{bump_places, footprint, lattice};
use super::plates::{self, Membrane};
use super::properties::{self, ROOM, material};
use super::{ELECTRICAL, HEAT, JOINTS, LIFE, REDISTRIBUTION};
use crate::graph::{Absent, Depth, Failure, Inputs, Join, Node, Progress, Reads, Report, Study, Upstream};
use crate::stage::Stage;
use attachment::Parts;
use facedown_life::Outcome;
use facedown_life::problem as life;
use facedown_package::{Design, Mount};
use facedown_redistribution::Outcome as Layout;
use serde::Serialize;
use service::Between;

/// The life study: one part a die, one for the interposer, one for the balls.
#[derive(Debug, Clone, Copy)]
pub struct Life;

/// What one solve reads, and what was assumed to make it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LifeTask {
    /// The study's own input.
    pub problem: life::Problem,
    /// Assumptions in sentences.
    pub notes: Vec<String>,
    /// Whether only values count, as for derivatives.
    pub values_only: bool,
}

impl Study<Design> for Life {
    type Input = LifeTask;
    type Output = Outcome;

    fn node(&self) -> Node {
        Node {
            name: LIFE,
            stage: Stage::Service,
            version: 7,
            reads: &[
                Reads::Study(REDISTRIBUTION),
                Reads::Study(JOINTS),
                Reads::Study(ELECTRICAL),
                Reads::Study(HEAT),
                Reads::Design("die, interposer, substrate, balls, board, process.underfill"),
                Reads::Design("environment.ambient, environment.humidity, mission, qualification"),
            ],
            reported_under: LIFE,
        }
    }

    fn inputs(&self, design: &Design, upstream: &Upstream<'_>) -> Inputs<LifeTask> {
        let layouts = upstream.parts::<Layout>(REDISTRIBUTION)?;
        let joints = upstream.parts::<facedown_joints::Outcome>(JOINTS)?;
        let heat = upstream.parts::<facedown_heat::Outcome>(HEAT)?;
        let electrical = upstream.parts::<facedown_electrical::Outcome>(ELECTRICAL)?;
        let known = Known {
            design,
            layouts: &layouts,
            joints: &joints,
            heat: heat.first().map(|h| h.1),
            electrical: &electrical,
            upstream,
        };
        let mut tasks = known.tasks()?;
        tasks.iter_mut().for_each(|(_, task)| task.values_only = upstream.depth == Depth::Changes);
        Ok(tasks)
    }

    fn solve(&self, task: &LifeTask, _: &Progress<'_>) -> Result<Outcome, Failure> {
        let solve = if task.values_only { facedown_life::values } else { facedown_life::solve };
        solve(&task.problem).map_err(|e| Failure::Study(e.to_string()))
    }

    fn report(&self, _: &str, task: &LifeTask, outcome: &Outcome) -> Report {
        let notes = [task.notes.as_slice(), outcome.notes.as_slice()];
        super::report_of(&outcome.figures, &outcome.limits, &notes, &outcome.advice)
    }

    fn join(&self, figure: &str) -> Join {
        match figure {
            "bump_cycles_to_failed"
            | "ball_cycles_to_failed"
            | "life_bumps"
            | "life_balls"
            | "electromigration_life" => Join::Smallest,
            _ => Join::Largest,
        }
    }
}

/// What all parts read.
struct Known<'a> {
    design: &'a Design,
    layouts: &'a [(&'a str, &'a Layout)],
    joints: &'a [(&'a str, &'a facedown_joints::Outcome)],
    heat: Option<&'a facedown_heat::Outcome>,
    electrical: &'a [(&'a str, &'a facedown_electrical::Outcome)],
    upstream: &'a Upstream<'a>,
}

impl Known<'_> {
    fn tasks(&self) -> Inputs<LifeTask> {
        let design = self.design;
        if design.mission.is_none() {
            return Err(Absent::NotInDesign("The design has no table [mission]; life needs it.".into()));
        }
        let substrate = match &design.substrate {
            Some(s) => membrane(design, &s.layers, [s.width.si(), s.height.si()], "substrate")?,
            None => {
                return Err(Absent::NotInDesign(
                    "The design has no table [substrate]; life needs it.".into(),
                ));
            }
        };
        let interposer = match &design.interposer {
            Some(i) => Some(membrane(design, &i.layers, [i.width.si(), i.height.si()], INTERPOSER)?),
            None => None,
        };
        let mut tasks = Vec::new();
        for die in design.dies.iter().filter(|d| d.mount() == Mount::Flip) {
            let Some(bumps) = &die.bumps else { continue };
            let name = die.name.as_str();
            let held = interposer.as_ref().zip(design.interposer.as_ref()).filter(|_| die.on() == INTERPOSER);
            let (lower, below) = match (held, &design.substrate) {
                (Some((body, part)), _) => (body, part.layers.as_slice()),
                (None, written) => (&substrate, written.as_ref().map_or(&[][..], |s| &s.layers)),
            };
            let (size, _) = footprint(die)?;
            let body = plates::membrane(&plates::die(design, die, size)?);
            let parts = Parts { upper: plate(&body), lower: plate(lower), size, below };
            let places = bump_places(die, self.layouts)?;
            let mut notes = Vec::new();
            let bumps_of =
                self.attachment(name, bumps, &places, parts, plates::filled(design, Some(name)), &mut notes)?;
            let problem = life::Problem {
                bumps: Some(bumps_of),
                balls: None,
                mission: self.mission(
                    self.temperature(name),
                    if held.is_some() { Between::DieAndInterposer } else { Between::AndSubstrate },
                    &mut notes,
                ),
                currents: self.currents(die, bumps, &mut notes)?,
                moisture: None,
                qualification: self.qualification(),
                test: self.test(bumps.solder())?,
            };
            tasks.push((name.to_owned(), LifeTask { problem, notes, values_only: false }));
        }
        if let (Some(part), Some(body)) = (&design.interposer, &interposer)
            && let Some(bumps) = &part.bumps
        {
            let places = lattice(part.width.si(), part.height.si(), bumps.pitch.si(), bumps.row_pitch().m());
            let size = [part.width.si(), part.height.si()];
            let below = design.substrate.as_ref().map_or(&[][..], |s| &s.layers);
            let parts = Parts { upper: plate(body), lower: plate(&substrate), size, below };
            let mut notes = Vec::new();
            let bumps_of =
                self.attachment(INTERPOSER, bumps, &places, parts, plates::filled(design, None), &mut notes)?;
            let problem = life::Problem {
                bumps: Some(bumps_of),
                balls: None,
                mission: self.mission(
                    self.heat.and_then(|h| h.interposer_k),
                    Between::AndSubstrate,
                    &mut notes,
                ),
                currents: None,
                moisture: None,
                qualification: self.qualification(),
                test: None,
            };
            tasks.push((INTERPOSER.to_owned(), LifeTask { problem, notes, values_only: false }));
        }
        if let Some(task) = self.balls(&substrate)? {
            tasks.push((BALLS.to_owned(), task));
        }
        if tasks.is_empty() {
            return Err(Absent::NotInDesign("The design has neither bumps nor balls.".into()));
        }
        Ok(tasks)
    }

    fn balls(&self, substrate: &Membrane) -> Result<Option<LifeTask>, Absent> {
        let mut notes = Vec::new();
        let Some(attachment) = self.ball_attachment(substrate, &mut notes)? else { return Ok(None) };
        let Some(written) = &self.design.substrate else { return Ok(None) };
        let problem = life::Problem {
            bumps: None,
            balls: Some(attachment),
            moisture: Some(self.moisture(written, &mut notes)),
            mission: self.mission(self.heat.map(|h| h.substrate_k), Between::SubstrateAndBoard, &mut notes),
            currents: None,
            qualification: self.qualification(),
            test: None,
        };
        Ok(Some(LifeTask { problem, notes, values_only: false }))
    }

    /// Temperature of the bumps of a die with power on, K.
    fn temperature(&self, die: &str) -> Option<f64> {
        let found = self.heat?.dies.iter().find(|d| d.name == die)?;
        Some(found.bump_k.unwrap_or(found.max_k))
    }
}

fn membrane(
    design: &Design,
    layers: &[facedown_package::StackLayer],
    size: [f64; 2],
    what: &str,
) -> Result<Membrane, Absent> {
    Ok(plates::membrane(&plates::stack(design, layers, size, what)?))
}

fn plate(body: &Membrane) -> life::Plate {
    life::Plate {
        expansion: body.expansion.clone(),
        modulus: body.modulus.clone(),
        poisson: body.poisson,
        thickness: body.thickness,
    }
}

fn expansion(design: &Design, name: &str) -> Result<f64, Absent> {
    let table = properties::expansion(material(design, name)?)?;
    Ok(properties::at(&table, ROOM).unwrap_or(f64::NAN))
}
