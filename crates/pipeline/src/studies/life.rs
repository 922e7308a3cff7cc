//! The knot of the life study: bumps of each flip-mounted die with their currents, those under an interposer, and the
//! balls, each through the mission.

use super::joints::{BALLS, INTERPOSER};
use super::placing::{bump_places, centre, extent, footprint, lattice};
use super::plates::{self, Membrane};
use super::properties::{self, ROOM, material};
use super::{ELECTRICAL, HEAT, JOINTS, LIFE, REDISTRIBUTION};
use crate::graph::{Absent, Failure, Inputs, Join, Node, Progress, Reads, Report, Study, Upstream};
use crate::stage::Stage;
use facedown_joints::outcome::ArrayOutcome;
use facedown_life::Outcome;
use facedown_life::cell::{disc_on_layer_normal_stiffness, disc_on_layer_stiffness};
use facedown_life::electromigration::{Kinetics, crowding};
use facedown_life::problem as life;
use facedown_material::PropertyName as P;
use facedown_package::values::Temperature;
use facedown_package::{
    Bumps, Cycle, CyclingCondition, Design, Die, MoistureLevel, Mount, StackLayer, thickness_m,
};
use facedown_redistribution::Outcome as Layout;
use facedown_warpage::problem::{Layer, Plate};
use serde::Serialize;

/// Weibull shape of the fatigue life of one joint: that of stiff joints without leads (IPC-D-279, from memory).
const SHAPE: f64 = 4.0;
/// Diffusivity of moisture in a laminate at 30 degC, m2/s, and its activation energy, eV; both from memory.
const MOISTURE: (f64, f64) = (6e-13, 0.45);
/// Thickness of a redistribution layer where the design gives none, m (common practice, no source).
const USUAL_RDL: f64 = 5e-6;
/// Kinds of distances that the joints of an array are sorted into.
const RINGS: usize = 24;

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
}

impl Study<Design> for Life {
    type Input = LifeTask;
    type Output = Outcome;

    fn node(&self) -> Node {
        Node {
            name: LIFE,
            stage: Stage::Service,
            version: 5,
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
        };
        known.tasks()
    }

    fn solve(&self, task: &LifeTask, _: &Progress<'_>) -> Result<Outcome, Failure> {
        facedown_life::solve(&task.problem).map_err(|e| Failure::Study(e.to_string()))
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
}

/// Which parts some joints hold together, as power cycles see them.
#[derive(Clone, Copy)]
enum Between {
    /// A die and the interposer under it.
    DieAndInterposer,
    /// A die or an interposer and the substrate.
    AndSubstrate,
    /// Substrate and board.
    SubstrateAndBoard,
}

impl Between {
    /// A cycle of the design: the upper part and the joints, and the lower part where it has temperatures of its own.
    fn cycle(self, index: usize, written: &Cycle) -> life::Cycle {
        let pair = |p: [Temperature; 2]| (p[0].si(), p[1].si());
        let dies = (written.low.si(), written.high.si());
        let substrate = written.substrate.map(pair);
        let ((low, high), lower_part) = match self {
            Between::DieAndInterposer => (dies, None),
            Between::AndSubstrate => (dies, substrate),
            Between::SubstrateAndBoard => (substrate.unwrap_or(dies), written.board.map(pair)),
        };
        life::Cycle {
            name: written.name.as_ref().map_or_else(|| format!("cycle {}", index + 1), |n| n.to_string()),
            low,
            high,
            lower_part,
            count: written.count.si(),
            dwell: written.dwell.map(|d| d.si()),
            ramp: written.ramp.map(|r| r.si()),
        }
    }

    /// What is taken where a lower part has temperatures of its own.
    fn note(self) -> Option<&'static str> {
        match self {
            Between::DieAndInterposer => {
                Some("In power cycles the interposer is as warm as its dies (common practice, no source).")
            }
            Between::AndSubstrate => None,
            Between::SubstrateAndBoard => Some(
                "In power cycles balls and die above them are as warm as the substrate (common practice, no source).",
            ),
        }
    }
}

/// The two parts that joints hold together.
struct Parts<'a> {
    upper: life::Plate,
    lower: life::Plate,
    /// Size of the upper part, m.
    size: [f64; 2],
    /// Layers of the lower part from the top down.
    below: &'a [StackLayer],
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
            tasks.push((name.to_owned(), LifeTask { problem, notes }));
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
            tasks.push((INTERPOSER.to_owned(), LifeTask { problem, notes }));
        }
        if let Some(task) = self.balls(&substrate)? {
            tasks.push((BALLS.to_owned(), task));
        }
        if tasks.is_empty() {
            return Err(Absent::NotInDesign("The design has neither bumps nor balls.".into()));
        }
        Ok(tasks)
    }

    fn shape(&self, part: &str) -> Option<&ArrayOutcome> {
        let (_, outcome) = self.joints.iter().find(|j| j.0 == part)?;
        outcome.bumps.as_ref().or(outcome.balls.as_ref())
    }

    /// Temperature of the bumps of a die with power on, K.
    fn temperature(&self, die: &str) -> Option<f64> {
        let found = self.heat?.dies.iter().find(|d| d.name == die)?;
        Some(found.bump_k.unwrap_or(found.max_k))
    }

    fn attachment(
        &self,
        part: &str,
        bumps: &Bumps,
        places: &[[f64; 2]],
        parts: Parts<'_>,
        filled: bool,
        notes: &mut Vec<String>,
    ) -> Result<life::Attachment, Absent> {
        let design = self.design;
        let sizes = bumps.sizes();
        let shape = self.shape(part);
        let kind = shape.and_then(|s| s.kinds.iter().max_by_key(|k| k.count));
        if shape.is_none() {
            notes.push("The joint study gives no height: the bump's own is taken.".into());
        }
        notes.push(shape_note());
        let underfill = match design.process.as_ref().and_then(|p| p.underfill.as_ref()).filter(|_| filled) {
            Some(written) => {
                let fill = material(design, written.material.as_str())?;
                let solid = plates::solid(design, written.material.as_str())?;
                Some(life::Underfill {
                    modulus: solid.modulus,
                    poisson: solid.poisson,
                    expansion: solid.expansion,
                    glass_transition: properties::optional(fill, P::GlassTransition, ROOM),
                })
            }
            None => None,
        };
        let diameter = sizes.ubm.m();
        let cell = bumps.pitch.si() * bumps.row_pitch().m();
        let reach = extent(places);
        let margin = (0.5 * (parts.size[0] - reach[0])).min(0.5 * (parts.size[1] - reach[1]));
        let [stiffness, normal_stiffness] = match (&underfill, pad_layer(parts.below)) {
            (Some(_), Some(layer)) => {
                let solid = plates::solid(design, layer.material.as_str())?;
                let modulus = properties::at(&solid.modulus, ROOM).unwrap_or(f64::NAN);
                let shear = modulus / (2.0 * (1.0 + solid.poisson));
                notes.push(format!(
                    "Each joint rests on {} of {:.0} um over a stiff base, by its modulus at room temperature; the part \
                     above does not give way.",
                    layer.material,
                    layer.thickness.si() * 1e6
                ));
                let depth = layer.thickness.si();
                let radius = 0.5 * sizes.opening.m();
                [disc_on_layer_stiffness, disc_on_layer_normal_stiffness]
                    .map(|stiff| Some(stiff(shear, solid.poisson, radius, depth)))
            }
            _ => [None; 2],
        };
        let solder_height = kind.map_or((sizes.height - sizes.pillar).m().max(1e-6), |k| k.height);
        Ok(life::Attachment {
            alloy: alloy(design, bumps.solder())?,
            places: rings(places),
            gap: shape.map_or(sizes.height.m(), |s| s.stand_off).max(solder_height),
            solder_height,
            interface_diameter: diameter,
            solder_expansion: expansion(design, bumps.solder())?,
            pillar_expansion: expansion(design, "copper")?,
            upper: parts.upper,
            lower: parts.lower,
            shadow: None,
            underfill,
            strain_factor: 1.0,
            stiffness,
            normal_stiffness,
            edge_margin: margin.max(0.0),
            joint_share: (0.25 * std::f64::consts::PI * diameter * diameter / cell).min(1.0),
            pillar_modulus: copper_modulus(design)?,
            weibull_shape: SHAPE,
        })
    }

    fn balls(&self, substrate: &Membrane) -> Result<Option<LifeTask>, Absent> {
        let design = self.design;
        let (Some(balls), Some(written)) = (&design.balls, &design.substrate) else { return Ok(None) };
        let mut notes = vec![shape_note()];
        let board = match &design.board {
            Some(board) if !board.layers.is_empty() => {
                membrane(design, &board.layers, [board.width.si(), board.height.si()], "board")?
            }
            _ => {
                notes.push("No board is given: 1.6 mm of FR-4 is taken (common practice, no source).".into());
                let fr4 = plates::solid(design, "fr4")?;
                Membrane {
                    modulus: fr4.modulus,
                    poisson: fr4.poisson,
                    expansion: fr4.expansion,
                    thickness: 1.6e-3,
                }
            }
        };
        let shape = self.shape(BALLS);
        let kind = shape.and_then(|s| s.kinds.first());
        let land = balls.land.map_or(0.8 * balls.diameter.si(), |l| l.si());
        // A ball sinks to about three quarters of its diameter (common practice, no source).
        let height =
            balls.stand_off.map(|h| h.si()).or(kind.map(|k| k.height)).unwrap_or(0.75 * balls.diameter.si());
        let places: Vec<[f64; 2]> = balls.sites(written).iter().map(|s| [s.x.m(), s.y.m()]).collect();
        let attachment = life::Attachment {
            alloy: alloy(design, balls.solder.as_str())?,
            places: rings(&places),
            gap: height,
            solder_height: height,
            interface_diameter: land,
            solder_expansion: expansion(design, balls.solder.as_str())?,
            pillar_expansion: expansion(design, "copper")?,
            upper: plate(substrate),
            lower: plate(&board),
            shadow: self.shadow(&mut notes)?,
            underfill: None,
            strain_factor: 1.0,
            stiffness: None,
            normal_stiffness: None,
            edge_margin: 0.0,
            joint_share: 0.0,
            pillar_modulus: copper_modulus(design)?,
            weibull_shape: SHAPE,
        };
        notes.push(format!(
            "Moisture: diffusivity {:e} m2/s at 30 degC and {} eV for the laminate, both from memory; it enters from the \
             ball side alone.",
            MOISTURE.0, MOISTURE.1
        ));
        let written_level = design.qualification.as_ref().and_then(|q| q.moisture_level);
        let level = written_level.unwrap_or_else(|| {
            notes.push("The package is to keep moisture level 3 (common practice, no source).".into());
            MoistureLevel::Level3
        });
        let moisture = life::Moisture {
            level: match level {
                MoistureLevel::Level1 => life::Level::L1,
                MoistureLevel::Level2 => life::Level::L2,
                MoistureLevel::Level2a => life::Level::L2a,
                MoistureLevel::Level3 => life::Level::L3,
                MoistureLevel::Level4 => life::Level::L4,
                MoistureLevel::Level5 => life::Level::L5,
                MoistureLevel::Level5a => life::Level::L5a,
                MoistureLevel::Level6 => life::Level::L6,
            },
            thickness: thickness_m(&written.layers),
            both_faces: false,
            diffusivity: MOISTURE.0,
            diffusivity_temperature: 303.15,
            activation_energy: MOISTURE.1,
            floor_temperature: 303.15,
            bake_temperature: 398.15,
        };
        let problem = life::Problem {
            bumps: None,
            balls: Some(attachment),
            mission: self.mission(self.heat.map(|h| h.substrate_k), Between::SubstrateAndBoard, &mut notes),
            currents: None,
            moisture: Some(moisture),
            qualification: self.qualification(),
            test: None,
        };
        Ok(Some(LifeTask { problem, notes }))
    }

    /// The largest die (or the interposer) above the balls, with the expansion of the ball side below it.
    fn shadow(&self, notes: &mut Vec<String>) -> Result<Option<life::Shadow>, Absent> {
        let design = self.design;
        let Some(substrate) = &design.substrate else { return Ok(None) };
        let size = [substrate.width.si(), substrate.height.si()];
        let below = plates::stack(design, &substrate.layers, size, "substrate")?.layers;
        let corner =
            |size: [f64; 2], at: [f64; 2]| (0.5 * size[0] + at[0].abs()).hypot(0.5 * size[1] + at[1].abs());
        let mut widest: Option<(f64, Vec<Layer>)> = None;
        if let Some(part) = &design.interposer {
            let size = [part.width.si(), part.height.si()];
            let at = part.at.map_or([0.0; 2], |at| at.map(|x| x.si()));
            let above = plates::stack(design, &part.layers, size, INTERPOSER)?.layers;
            widest = Some((corner(size, at), above));
        } else {
            for die in design.dies.iter().filter(|d| d.mount() == Mount::Flip) {
                let (size, _) = footprint(die)?;
                let reach = corner(size, centre(die));
                if widest.as_ref().is_none_or(|w| w.0 < reach) {
                    widest = Some((reach, plates::die(design, die, size)?.layers));
                }
            }
        }
        let Some((reach, above)) = widest else { return Ok(None) };
        let layers: Vec<Layer> = below.into_iter().chain(above).collect();
        let flat = plates::membrane(&Plate { width_m: size[0], height_m: size[1], layers: layers.clone() });
        let bent = plates::expansion_below(&layers)?;
        let at = |table: &properties::Table, k| properties::at(table, k).unwrap_or(f64::NAN);
        notes.push(format!(
            "Above the balls, die and substrate expand by {:.1} ppm/K held flat and by {:.1} ppm/K where they bend as they \
             like, at 25 degC on the ball side; ring, lid and board hold them in between, and the mean is taken (common \
             practice, no source); both limits are run beside it.",
            1e6 * at(&flat.expansion, ROOM),
            1e6 * at(&bent, ROOM)
        ));
        let mean = bent.iter().map(|&(k, free)| (k, 0.5 * (free + at(&flat.expansion, k)))).collect();
        let limits = [("held flat", flat.expansion), ("bent as they like", bent)]
            .map(|(name, expansion)| life::ShadowLimit { name: name.into(), expansion });
        Ok(Some(life::Shadow { reach, expansion: mean, limits: limits.into() }))
    }

    /// The mission as the joints between two parts see it.
    fn mission(
        &self,
        powered_temperature: Option<f64>,
        between: Between,
        notes: &mut Vec<String>,
    ) -> life::Mission {
        let mission = self.design.mission.as_ref();
        let life = mission.map_or(0.0, |m| m.life.si());
        let written = mission.map_or(&[][..], |m| m.cycles.as_slice());
        if written.iter().any(|c| c.substrate.is_some() || c.board.is_some()) {
            notes.extend(between.note().map(str::to_owned));
        }
        let environment = self.design.environment.as_ref();
        life::Mission {
            life,
            powered: mission.and_then(|m| m.powered).map_or(1.0, |p| p.si()),
            failed: mission.and_then(|m| m.failed).map_or(0.01, |f| f.si()),
            cycles: written.iter().enumerate().map(|(i, c)| between.cycle(i, c)).collect(),
            history: mission.and_then(|m| m.history.as_ref()).map(|h| life::History {
                name: h.name().to_owned(),
                points: h.points.iter().map(|p| (p.time_s, p.temperature_k)).collect(),
                repeats: h.repeats(life),
                gate: h.gate_k(),
            }),
            powered_temperature,
            ambient_temperature: environment.map(|e| e.ambient.si()),
            ambient_humidity: environment.and_then(|e| e.humidity).map(|h| h.si()),
        }
    }

    fn qualification(&self) -> life::Qualification {
        let mut plan = life::Qualification::default();
        if let Some(written) = &self.design.qualification {
            if let Some(condition) = written.condition {
                plan.condition = letter(condition).to_owned();
            }
            plan.cycles_per_day = written.cycles_per_day.map_or(plan.cycles_per_day, |c| c.si());
            plan.confidence = written.confidence.map_or(plan.confidence, |c| c.si());
            plan.accepted = written.accepted.unwrap_or(plan.accepted);
            plan.storage_temperature =
                written.storage_temperature.map_or(plan.storage_temperature, |t| t.si());
        }
        plan
    }

    /// The finished test, which is of the bumps.
    fn test(&self, solder: &str) -> Result<Option<life::LifeTest>, Absent> {
        let Some(test) = self.design.qualification.as_ref().and_then(|q| q.test.as_ref()) else {
            return Ok(None);
        };
        Ok(Some(life::LifeTest {
            low: test.low.si(),
            high: test.high.si(),
            cycles_per_day: test.cycles_per_day.si(),
            alloy: alloy(self.design, solder)?,
            failures: test.failures.iter().map(|c| c.si()).collect(),
            running: test.running.iter().map(|c| c.si()).collect(),
        }))
    }

    fn currents(
        &self,
        die: &Die,
        bumps: &Bumps,
        notes: &mut Vec<String>,
    ) -> Result<Option<life::Currents>, Absent> {
        let name = die.name.as_str();
        let Some((_, electrical)) = self.electrical.iter().find(|e| e.0 == name) else { return Ok(None) };
        let Some(temperature) = self.temperature(name) else {
            notes.push("Without temperatures from the heat study, electromigration is not judged.".into());
            return Ok(None);
        };
        let mut carriers = Vec::new();
        for net in electrical.nets.iter().filter(|n| n.bump_current_max_a > 0.0) {
            carriers.push(life::Carrier {
                name: format!("fullest bump of {}", net.name),
                current: net.bump_current_max_a,
                temperature,
                count: 1,
            });
            if net.bumps > 1 {
                carriers.push(life::Carrier {
                    name: format!("bumps of {}", net.name),
                    current: net.bump_current_mean_a,
                    temperature,
                    count: u64::from(net.bumps) - 1,
                });
            }
        }
        if carriers.is_empty() {
            notes.push(format!("No net of die {name} has a current: electromigration is not judged."));
            return Ok(None);
        }
        let opening = bumps.sizes().opening.m();
        let silicon = properties::conductivity(material(self.design, die.material())?)?;
        let conductivity = properties::at(&silicon, temperature).unwrap_or(f64::NAN);
        Ok(Some(life::Currents {
            carriers,
            opening,
            resistance: electrical.bump.resistance_ohm,
            // A disc on a half space: 1 / (4 k a) (Carslaw and Jaeger, Conduction of Heat in Solids, 1959, section 8.2).
            thermal_resistance: 1.0 / (2.0 * conductivity * opening),
            feed: self.feed(die, bumps, opening, notes)?,
            kinetics: self.kinetics(),
            alloy: alloy(self.design, bumps.solder())?,
        }))
    }

    /// Constants of the design's own tests under current.
    fn kinetics(&self) -> Vec<Kinetics> {
        let tests = self.design.qualification.as_ref().map_or(&[][..], |q| q.current_tests.as_slice());
        tests
            .iter()
            .enumerate()
            .map(|(i, test)| Kinetics {
                name: test.name.as_ref().map_or_else(|| format!("test {}", i + 1), |n| n.to_string()),
                exponent: test.exponent,
                activation_ev: test.activation.value().ev(),
                reference_density: test.density.si(),
                reference_temperature: test.temperature.si(),
                reference_life: test.life.si(),
                log_deviation: test.log_deviation.unwrap_or(0.5),
                reference_crowding: test.crowding,
            })
            .collect()
    }

    /// What spreads the current of a bump over its opening: the redistribution with the UBM (and a pillar) over the opening
    /// along it, the UBM (and the pillar) and the contacts through it.
    fn feed(
        &self,
        die: &Die,
        bumps: &Bumps,
        opening: f64,
        notes: &mut Vec<String>,
    ) -> Result<Option<life::Feed>, Absent> {
        let Some(rdl) = &die.rdl else {
            notes.push(format!(
                "Die {} has no redistribution: what feeds its bumps is not known, and their current crowds as in the test \
                 that the constants come from.",
                die.name
            ));
            return Ok(None);
        };
        let resistivity =
            |name: &str| properties::value(material(self.design, name)?, &[P::Resistivity], ROOM);
        let thickness = rdl.thickness.map_or(USUAL_RDL, |t| t.si());
        let mut along = thickness / resistivity(rdl.material.as_ref().map_or("copper", |m| m.as_str()))?;
        let mut through = bumps.contact_resistance.map_or(0.0, |c| c.si());
        let pillar = bumps.sizes().pillar.m();
        let layers = die.ubm.iter().map(|l| (l.material.as_str(), l.thickness.si()));
        for (name, thickness) in layers.chain((pillar > 0.0).then_some(("copper", pillar))) {
            let own = resistivity(name)?;
            along += thickness / own;
            through += thickness * own;
        }
        if through <= 0.0 {
            notes.push(format!(
                "Die {} has neither UBM layers nor a contact resistance: how its current crowds is not known, and it is \
                 taken as in the test that the constants come from.",
                die.name
            ));
            return Ok(None);
        }
        let feed = life::Feed { sheet_resistance: 1.0 / along, vertical_resistance: through };
        notes.push(format!(
            "Where the redistribution of die {} enters a bump, the current crowds to {:.1} times its mean over {:.0} um of \
             opening ({:.2} mohm/sq with the UBM, {:.1e} ohm cm2 through it{}; H. H. Berger 1972). The solder is taken as one \
             potential, so that real crowding is less: the life under current spans from this to the crowding of the test.",
            die.name,
            crowding(&feed, opening),
            opening * 1e6,
            feed.sheet_resistance * 1e3,
            feed.vertical_resistance * 1e4,
            if bumps.contact_resistance.is_some() { ", contacts included" } else { ", contacts taken as none" }
        ));
        Ok(Some(feed))
    }
}

fn shape_note() -> String {
    "The fatigue life of a joint has a Weibull shape of 4 (IPC-D-279, from memory); measured arrays show 5 to 12.".into()
}

fn letter(condition: CyclingCondition) -> &'static str {
    match condition {
        CyclingCondition::A => "A",
        CyclingCondition::B => "B",
        CyclingCondition::C => "C",
        CyclingCondition::G => "G",
        CyclingCondition::H => "H",
        CyclingCondition::J => "J",
        CyclingCondition::K => "K",
        CyclingCondition::L => "L",
        CyclingCondition::M => "M",
        CyclingCondition::N => "N",
        CyclingCondition::R => "R",
        CyclingCondition::T => "T",
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

fn alloy(design: &Design, solder: &str) -> Result<life::Alloy, Absent> {
    let lead = material(design, solder)?.contains_lead();
    Ok(if lead { life::Alloy::TinLead } else { life::Alloy::TinSilverCopper })
}

fn copper_modulus(design: &Design) -> Result<f64, Absent> {
    Ok(properties::at(&properties::modulus(material(design, "copper")?)?, ROOM).unwrap_or(f64::NAN))
}

/// The dielectric that carries the pads of the uppermost metal: the first below it, else the first of all.
fn pad_layer(layers: &[StackLayer]) -> Option<&StackLayer> {
    let metal = layers.iter().position(|l| l.copper.is_some()).map_or(0, |i| i + 1);
    let plain = |l: &&StackLayer| l.copper.is_none();
    layers.iter().skip(metal).find(plain).or_else(|| layers.iter().find(plain))
}

fn expansion(design: &Design, name: &str) -> Result<f64, Absent> {
    let table = properties::expansion(material(design, name)?)?;
    Ok(properties::at(&table, ROOM).unwrap_or(f64::NAN))
}

/// Joints sorted by their distance from the middle of the array, each kind at its farthest; the farthest kind holds
/// only the joints at the very corners.
fn rings(places: &[[f64; 2]]) -> Vec<life::Place> {
    let count = places.len().max(1) as f64;
    let middle = places.iter().fold([0.0; 2], |m, p| [m[0] + p[0] / count, m[1] + p[1] / count]);
    let mut distances: Vec<f64> = places.iter().map(|p| (p[0] - middle[0]).hypot(p[1] - middle[1])).collect();
    distances.sort_by(|a, b| b.total_cmp(a));
    let Some(&far) = distances.first() else { return Vec::new() };
    // Joints at one distance differ by rounding to a nanometre.
    let same = 2e-9;
    let corners = distances.iter().take_while(|d| **d >= far - same).count();
    let mut rings =
        vec![life::Place { name: "joints at the corners".into(), distance: far, count: corners as u64 }];
    let width = far / RINGS as f64;
    for distance in &distances[corners..] {
        match rings.last_mut().filter(|r| r.name != "joints at the corners" && r.distance - distance < width)
        {
            Some(ring) => ring.count += 1,
            None => rings.push(life::Place {
                name: format!("joints up to {:.2} mm from the middle", distance * 1e3),
                distance: *distance,
                count: 1,
            }),
        }
    }
    rings
}
