//! The knot of the heat study: the package as layers, joints and interfaces with their conductivities.

use super::heat_inputs::{Joule, bond_line, joule, power_grid, trace, voids};
use super::placing::{bump_count, bump_places_above, centre, footprint, from_above, host};
use super::plates;
use super::properties::{self, ROOM, material};
use super::{ELECTRICAL, HEAT, JOINTS, REDISTRIBUTION};
use crate::graph::{Absent, Depth, Failure, Inputs, Join, Node, Progress, Reads, Report, Study, Upstream};
use crate::stage::Stage;
use facedown_heat::problem as heat;
use facedown_material::PropertyName as P;
use facedown_package::{
    Balls, Bumps, Design, Die, Form, Interface, Mount, StackLayer, Surroundings, thickness_m,
};
use facedown_redistribution::Outcome as Layout;
use serde::Serialize;

/// Share of a laminate's area that is copper of vias, where the design says nothing.
const VIA_SHARE: f64 = 0.01;
/// Conductivity of air between joints, W/(m K), at 300 K (Incropera and DeWitt, Fundamentals of Heat and Mass Transfer,
/// table A.4).
const AIR: f64 = 0.0263;
/// Heat capacity of its volume, J/(m3 K) (same table).
const AIR_CAPACITY: f64 = 1170.0;
/// Film of the cold plate of a case measurement, W/(m2 K) (common practice, no source).
const COLD_PLATE: f64 = 20_000.0;

/// How finely the solid model is cut.
const FINENESS: f64 = 0.8;

/// The heat study of the whole package.
#[derive(Debug, Clone, Copy)]
pub struct Heat;

/// What one solve reads, and what was assumed to make it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeatTask {
    /// The study's own input.
    pub problem: heat::Problem,
    /// Assumptions in sentences.
    pub notes: Vec<String>,
}

impl Study<Design> for Heat {
    type Input = HeatTask;
    type Output = facedown_heat::Outcome;

    fn node(&self) -> Node {
        Node {
            name: HEAT,
            stage: Stage::Service,
            version: 8,
            reads: &[
                Reads::Study(REDISTRIBUTION),
                Reads::Study(JOINTS),
                Reads::Study(ELECTRICAL),
                Reads::Design("die, interposer, substrate, balls, board, form, interface"),
                Reads::Design("environment, power_trace, process.underfill.material"),
            ],
            reported_under: HEAT,
        }
    }

    fn inputs(&self, design: &Design, upstream: &Upstream<'_>) -> Inputs<HeatTask> {
        let layouts = upstream.parts::<Layout>(REDISTRIBUTION)?;
        let joints = upstream.parts::<facedown_joints::Outcome>(JOINTS)?;
        let currents = upstream.parts::<facedown_electrical::Outcome>(ELECTRICAL)?;
        let mut task = task(design, &layouts, &joints, &currents)?;
        task.problem.fineness = (upstream.depth == Depth::Solvers).then_some(FINENESS);
        if upstream.depth == Depth::Changes {
            task.problem.dies.iter_mut().for_each(forget_places);
        }
        Ok(vec![(String::new(), task)])
    }

    fn solve(&self, task: &HeatTask, _: &Progress<'_>) -> Result<facedown_heat::Outcome, Failure> {
        facedown_heat::solve(&task.problem).map_err(|e| Failure::Study(e.to_string()))
    }

    fn report(&self, _: &str, task: &HeatTask, outcome: &facedown_heat::Outcome) -> Report {
        super::report_of(
            &outcome.figures,
            &outcome.limits,
            &[task.notes.as_slice(), outcome.notes.as_slice()],
            &outcome.advice,
        )
    }

    fn join(&self, _: &str) -> Join {
        Join::Largest
    }
}

/// Leaves out where each joint stands and what heats it, which only the solver asks: variations then have thousands of
/// numbers less to tell apart. By closed forms the heat of the joints is even over the die, as that of its traces.
fn forget_places(die: &mut heat::Die) {
    die.even_w += die.joule_w();
    if let heat::Mount::Bumps(joints) = &mut die.mount {
        (joints.places, joints.heats_w) = (Vec::new(), Vec::new());
    }
}

pub(super) type Layouts<'a> = [(&'a str, &'a Layout)];
type Shapes<'a> = [(&'a str, &'a facedown_joints::Outcome)];

fn task(
    design: &Design,
    layouts: &Layouts<'_>,
    shapes: &Shapes<'_>,
    currents: &[(&str, &facedown_electrical::Outcome)],
) -> Result<HeatTask, Absent> {
    let absent =
        |what: &str| Absent::NotInDesign(format!("The design has no table [{what}]; heat needs it."));
    let substrate = design.substrate.as_ref().ok_or_else(|| absent("substrate"))?;
    let balls = design.balls.as_ref().ok_or_else(|| absent("balls"))?;
    let environment = design.environment.as_ref().ok_or_else(|| absent("environment"))?;
    let mut notes = vec![format!(
        "Vias take {:.0} % of the dielectric layers of the substrate (common practice, no source).",
        100.0 * VIA_SHARE
    )];
    let (fill, fill_capacity) = match design.process.as_ref().and_then(|p| p.underfill.as_ref()) {
        Some(underfill) => {
            let resin = material(design, underfill.material.as_str())?;
            (properties::conductivity(resin)?, capacity(resin))
        }
        None => {
            notes.push("No underfill is given: air lies between the bumps.".into());
            (vec![(ROOM, AIR)], Some(AIR_CAPACITY))
        }
    };
    let mut dies = Vec::new();
    // Index among the solved dies of each die of the design.
    let mut solved: Vec<Option<usize>> = Vec::new();
    let mut opening_area = 0.0;
    for die in &design.dies {
        let (size, turns) = footprint(die)?;
        let mut mount = match die.mount() {
            Mount::Flip => {
                if die.on() == "substrate" && design.interposer.is_some() {
                    return Err(Absent::Impossible(format!(
                        "Die {} stands on the substrate beside an interposer; the closed forms know one or the other.",
                        die.name
                    )));
                }
                let Some(bumps) = &die.bumps else { return Err(absent("die.bumps")) };
                let count = bump_count(die, layouts) as f64;
                opening_area += count * circle(bumps.sizes().opening.m());
                let shape = shapes.iter().find(|s| s.0 == die.name.as_str()).and_then(|s| s.1.bumps.as_ref());
                let places = bump_places_above(die, turns, layouts);
                let pieces = pieces(design, bumps, shape)?;
                let area = size[0] * size[1];
                let capacity = joint_capacity(design, bumps.solder(), &pieces, count / area, fill_capacity)?;
                let heats_w = Vec::new();
                heat::Mount::Bumps(heat::Joints {
                    count,
                    pieces,
                    fill: fill.clone(),
                    places,
                    heats_w,
                    capacity,
                })
            }
            Mount::Wire => match host(design, die) {
                Some(host) => heat::Mount::OnDie { host, attach: attach(design, die)? },
                None => {
                    notes.push(format!(
                        "Die {} is wire-bonded on the {}; its heat is left out.",
                        die.name,
                        die.on()
                    ));
                    solved.push(None);
                    continue;
                }
            },
        };
        let power_w = die.power_w().unwrap_or_else(|| {
            notes.push(format!("Die {} has no power: it is taken as 0 W.", die.name));
            0.0
        });
        // Without power of its own a die is tested at a watt, and what its currents heat would be all of it.
        let joule = match currents.iter().find(|c| c.0 == die.name.as_str()).filter(|_| power_w > 0.0) {
            Some((_, currents)) => joule(die, layouts, currents, &mut mount, &mut notes),
            None => Joule::default(),
        };
        let blocks = die.power_blocks.iter().map(|b| {
            let [x_m, y_m, width_m, height_m] =
                from_above(die, turns, [b.x.m(), b.y.m(), b.width.m(), b.height.m()]);
            heat::Block { x_m, y_m, width_m, height_m, power_w: b.power_w }
        });
        let silicon = material(design, die.material())?;
        let body = heat::Layer {
            in_plane: properties::conductivity(silicon)?,
            capacity: capacity(silicon),
            ..heat::Layer::plain(die.material(), die.thickness.si(), 1.0)
        };
        dies.push(heat::Die {
            name: die.name.to_string(),
            width_m: size[0],
            height_m: size[1],
            at_m: centre(die),
            body: vec![body],
            power_w: power_w + joule.bumps_w + joule.face_w,
            blocks: blocks.collect(),
            grid: die.power_cells.as_ref().map(|grid| power_grid(die, turns, grid)),
            even_w: joule.face_w,
            mount,
            interface: interface(design, die.name.as_str(), "lid", Some(size))?,
        });
        solved.push(Some(dies.len() - 1));
    }
    let die_area: f64 = dies.iter().map(|d| d.width_m * d.height_m).sum();
    let solder = vec![(ROOM, 57.0)];
    let mut layers = stack(design, &substrate.layers, VIA_SHARE)?;
    // Solder stands in the openings of both masks; without them a mask over the whole face would insulate.
    let (width, height) = (substrate.width.si(), substrate.height.si());
    // Sites are counted from the middle of the substrate.
    let places: Vec<[f64; 2]> =
        balls.sites(substrate).iter().map(|s| [s.x.m() + width / 2.0, s.y.m() + height / 2.0]).collect();
    let sites = places.len() as f64;
    let land = balls.land.map_or(0.8 * balls.diameter.si(), |l| l.si());
    let mut open = |index: usize, share: f64| {
        if let Some(layer) = layers.get_mut(index).filter(|l| l.metal.is_none()) {
            let share = share.clamp(0.0, 0.9);
            layer.columns = Some(heat::Metal { share, conductivity: solder.clone() });
        }
    };
    let last = substrate.layers.len().saturating_sub(1);
    if design.interposer.is_none() {
        open(0, opening_area / die_area);
    }
    open(last, sites * circle(land) / (width * height));
    let interposer = match &design.interposer {
        Some(interposer) => {
            let bumps = interposer.bumps.as_ref().ok_or_else(|| absent("interposer.bumps"))?;
            let (w, h) = (interposer.width.si(), interposer.height.si());
            let count = (w * h / (bumps.pitch.si() * bumps.row_pitch().m())).floor();
            open(0, count * circle(bumps.sizes().opening.m()) / (w * h));
            let shape = shapes.iter().find(|s| s.0 == "interposer").and_then(|s| s.1.bumps.as_ref());
            let pieces = pieces(design, bumps, shape)?;
            let capacity = joint_capacity(design, bumps.solder(), &pieces, count / (w * h), fill_capacity)?;
            let joints = heat::Joints {
                count,
                pieces,
                fill: fill.clone(),
                places: Vec::new(),
                heats_w: Vec::new(),
                capacity,
            };
            Some(heat::Interposer {
                carrier: heat::Carrier {
                    width_m: w,
                    height_m: h,
                    layers: stack(design, &interposer.layers, 0.0)?,
                },
                at_m: interposer.at.map_or([0.0; 2], |at| at.map(|x| x.si())),
                joints,
            })
        }
        None => None,
    };
    let board = match &design.board {
        Some(board) => Some(heat::Carrier {
            width_m: board.width.si(),
            height_m: board.height.si(),
            layers: stack(design, &board.layers, 0.0)?,
        }),
        None => {
            notes.push("No board is given: the test board of JESD51-9 with two planes stands in.".into());
            None
        }
    };
    let lid = lid(design, [width, height])?;
    let mut emissivity = heat::Emissivity::default();
    let top = match &design.form {
        Some(Form::Lid(lid)) => lid.material.as_str(),
        _ => design.dies.first().map_or("silicon", Die::material),
    };
    if let Some(value) = properties::optional(material(design, top)?, P::Emissivity, ROOM) {
        emissivity.top = value;
    }
    let surroundings = match environment.surroundings.unwrap_or(Surroundings::StillAir) {
        Surroundings::StillAir => heat::Surroundings::StillAir,
        Surroundings::MovingAir => heat::Surroundings::MovingAir {
            speed_m_s: environment.air_speed.map_or_else(
                || {
                    notes.push("Moving air without air_speed: 1 m/s is taken.".into());
                    1.0
                },
                |v| v.si(),
            ),
        },
        Surroundings::RingColdPlate => heat::Surroundings::RingColdPlate,
        Surroundings::TopColdPlate => heat::Surroundings::TopColdPlate,
    };
    let sink = match &environment.heat_sink {
        Some(resistance) => {
            let below = if lid.is_some() { "lid" } else { top_die(design) };
            let given = interface(design, below, "heat sink", None)?;
            if given.as_ref().is_some_and(|t| t.voids > 0.0) {
                notes.push(format!(
                    "Voids of the interface under the heat sink are taken evenly over its area: the heat sink is a film on {below}."
                ));
            }
            let interface = match given {
                Some(given) => given,
                None => {
                    notes.push(format!(
                        "No interface between {below} and heat sink is given: thermal grease of 50 um is taken (common \
                         practice, no source)."
                    ));
                    usual_grease(design)?
                }
            };
            Some(heat::HeatSink { resistance_k_w: resistance.si(), interface: Some(interface) })
        }
        None => None,
    };
    if matches!(design.form, Some(Form::Ring(_))) {
        notes.push("The closed forms leave the ring out: it carries little beside the die.".into());
    }
    let top_film = environment.top_film.map(|f| f.si());
    Ok(HeatTask {
        problem: heat::Problem {
            dies,
            interposer,
            substrate: heat::Carrier { width_m: width, height_m: height, layers },
            balls: ball_joints(design, balls, places, width * height, shapes)?,
            board,
            lid,
            ring: ring(design, [width, height])?,
            trace: trace(design, &solved, &mut notes),
            pair: environment.transient_pair == Some(true),
            fineness: None,
            service: heat::Service {
                ambient_k: environment.ambient.si(),
                surroundings,
                top_film,
                heat_sink: sink,
            },
            emissivity,
            cold_plate_film: match (surroundings, top_film) {
                (heat::Surroundings::TopColdPlate, Some(film)) => film,
                _ => COLD_PLATE,
            },
        },
        notes,
    })
}

/// Heat capacity of a material's volume at room temperature, J/(m3 K), where it has a density and a heat capacity.
fn capacity(material: &facedown_material::Material) -> Option<f64> {
    let density = properties::optional(material, P::Density, ROOM)?;
    Some(density * properties::optional(material, P::HeatCapacity, ROOM)?)
}

/// Of what is made of two materials, by share of the volume.
fn mixed(share: f64, inside: Option<f64>, outside: Option<f64>) -> Option<f64> {
    Some(share * inside? + (1.0 - share) * outside?)
}

pub(super) fn circle(diameter: f64) -> f64 {
    std::f64::consts::FRAC_PI_4 * diameter * diameter
}

fn top_die(design: &Design) -> &str {
    design.dies.first().map_or("", |d| d.name.as_str())
}

/// Pillar and solder of a bump, from the joint study where it has run.
fn pieces(
    design: &Design,
    bumps: &Bumps,
    shape: Option<&facedown_joints::outcome::ArrayOutcome>,
) -> Result<Vec<heat::Piece>, Absent> {
    let sizes = bumps.sizes();
    let solder = properties::conductivity(material(design, bumps.solder())?)?;
    let copper = properties::conductivity(material(design, "copper")?)?;
    let mut pieces = Vec::new();
    if sizes.pillar.m() > 0.0 {
        pieces.push(heat::Piece {
            height_m: sizes.pillar.m(),
            diameter_m: sizes.ubm.m(),
            barrel: false,
            conductivity: copper,
        });
    }
    let kind = shape.and_then(|s| s.kinds.iter().max_by_key(|k| k.count));
    let (height_m, diameter_m) = match kind {
        Some(kind) => (kind.height, kind.width),
        None => ((sizes.height - sizes.pillar).m().max(1e-6), sizes.bump.m()),
    };
    pieces.push(heat::Piece { height_m, diameter_m, barrel: sizes.pillar.m() == 0.0, conductivity: solder });
    Ok(pieces)
}

fn ball_joints(
    design: &Design,
    balls: &Balls,
    places: Vec<[f64; 2]>,
    area: f64,
    shapes: &Shapes<'_>,
) -> Result<heat::Joints, Absent> {
    let shape = shapes.iter().find_map(|s| s.1.balls.as_ref()).and_then(|a| a.kinds.first());
    let (height_m, diameter_m) = match (balls.stand_off, shape) {
        (Some(height), Some(kind)) => (height.si(), kind.width),
        (None, Some(kind)) => (kind.height, kind.width),
        // A ball sinks to about three quarters of its diameter (common practice, no source).
        (height, None) => (height.map_or(0.75 * balls.diameter.si(), |h| h.si()), balls.diameter.si()),
    };
    let conductivity = properties::conductivity(material(design, balls.solder.as_str())?)?;
    let density = places.len() as f64 / area;
    let pieces = vec![heat::Piece { height_m, diameter_m, barrel: true, conductivity }];
    Ok(heat::Joints {
        count: places.len() as f64,
        fill: vec![(ROOM, AIR)],
        capacity: joint_capacity(design, balls.solder.as_str(), &pieces, density, Some(AIR_CAPACITY))?,
        places,
        heats_w: Vec::new(),
        pieces,
    })
}

/// Heat capacity of a layer of joints, so many on each square metre, with what is between them, J/(m3 K).
fn joint_capacity(
    design: &Design,
    solder: &str,
    pieces: &[heat::Piece],
    density: f64,
    fill: Option<f64>,
) -> Result<Option<f64>, Absent> {
    let height: f64 = pieces.iter().map(|p| p.height_m).sum();
    let last = pieces.len().saturating_sub(1);
    let (mut metal, mut volume) = (Some(0.0), 0.0);
    for (index, piece) in pieces.iter().enumerate() {
        // The last piece is solder, what stands on it copper.
        let own = capacity(material(design, if index == last { solder } else { "copper" })?);
        let share = density * circle(piece.diameter_m) * piece.height_m / height;
        metal = metal.zip(own).map(|(m, c)| m + share * c);
        volume += share;
    }
    Ok(metal.zip(fill).map(|(m, f)| m + (1.0 - volume).max(0.0) * f))
}

fn attach(design: &Design, die: &Die) -> Result<Vec<heat::Layer>, Absent> {
    let Some(attach) = &die.attach else { return Ok(Vec::new()) };
    let glue = material(design, attach.material.as_str())?;
    Ok(vec![heat::Layer {
        in_plane: properties::conductivity(glue)?,
        capacity: capacity(glue),
        ..heat::Layer::plain(&glue.name, attach.thickness.si(), 1.0)
    }])
}

/// The interface between two parts, where the design has one; with the places of its voids where it lies on a footprint of
/// that size.
fn interface(
    design: &Design,
    below: &str,
    above: &str,
    size: Option<[f64; 2]>,
) -> Result<Option<heat::Interface>, Absent> {
    let joins = |i: &&Interface| i.between[0].as_str() == below && i.between[1].as_str() == above;
    let Some(found) = design.interfaces.iter().find(joins) else { return Ok(None) };
    let filler = material(design, found.material.as_str())?;
    let area = size.or_else(|| footprint_of(design, below)).unwrap_or([1.0; 2]);
    let (voids, places) = voids(found, area);
    Ok(Some(heat::Interface {
        name: found.name.to_string(),
        bond_line: bond_line(found)?,
        conductivity: properties::conductivity(filler)?,
        contact_m2_k_w: found.contact.map_or(0.0, |c| c.si()),
        voids,
        void_places: places.filter(|_| size.is_some()),
        capacity: capacity(filler),
    }))
}

/// Size of a die as it lies, m.
fn footprint_of(design: &Design, die: &str) -> Option<[f64; 2]> {
    footprint(design.die(die)?.1).ok().map(|f| f.0)
}

/// Thermal grease of 50 um.
fn usual_grease(design: &Design) -> Result<heat::Interface, Absent> {
    Ok(heat::Interface {
        name: "grease under the heat sink".into(),
        bond_line: heat::BondLine::Given(50e-6),
        conductivity: properties::conductivity(material(design, "tim_grease")?)?,
        contact_m2_k_w: 0.0,
        voids: 0.0,
        void_places: None,
        capacity: None,
    })
}

/// The ring over a substrate of that size.
fn ring(design: &Design, size: [f64; 2]) -> Result<Option<heat::Ring>, Absent> {
    let Some(Form::Ring(ring)) = &design.form else { return Ok(None) };
    let setback = ring.setback.map_or(0.0, |s| s.si());
    let glue = material(design, ring.adhesive.as_str())?;
    Ok(Some(heat::Ring {
        width_m: size[0] - 2.0 * setback,
        height_m: size[1] - 2.0 * setback,
        band_m: ring.band.si(),
        thickness_m: ring.thickness.si(),
        conductivity: properties::conductivity(material(design, ring.material.as_str())?)?,
        adhesive: heat::Layer {
            in_plane: properties::conductivity(glue)?,
            capacity: capacity(glue),
            ..heat::Layer::plain(&glue.name, ring.adhesive_thickness.si(), 1.0)
        },
        capacity: capacity(material(design, ring.material.as_str())?),
    }))
}

/// The lid over a substrate of that size.
fn lid(design: &Design, size: [f64; 2]) -> Result<Option<heat::Lid>, Absent> {
    let Some(Form::Lid(lid)) = &design.form else { return Ok(None) };
    let setback = lid.setback.map_or(0.0, |s| s.si());
    let glue = material(design, lid.adhesive.as_str())?;
    Ok(Some(heat::Lid {
        width_m: size[0] - 2.0 * setback,
        height_m: size[1] - 2.0 * setback,
        thickness_m: lid.thickness.si(),
        conductivity: properties::conductivity(material(design, lid.material.as_str())?)?,
        foot: Some(heat::Foot {
            band_m: lid.band.si(),
            height_m: lid.foot_height.si(),
            adhesive: heat::Layer {
                in_plane: properties::conductivity(glue)?,
                capacity: capacity(glue),
                ..heat::Layer::plain(&glue.name, lid.adhesive_thickness.si(), 1.0)
            },
        }),
        capacity: capacity(material(design, lid.material.as_str())?),
    }))
}

/// Layers of a stack; a metal layer lies in its dielectric, the others have vias in them.
fn stack(design: &Design, layers: &[StackLayer], vias: f64) -> Result<Vec<heat::Layer>, Absent> {
    let copper = properties::conductivity(material(design, "copper")?)?;
    let copper_capacity = capacity(material(design, "copper")?);
    let mut out = Vec::new();
    for (index, layer) in layers.iter().enumerate() {
        let own = material(design, layer.material.as_str())?;
        let name = layer.name.clone().unwrap_or_else(|| own.name.clone());
        let thickness = layer.thickness.si();
        if let Some(share) = layer.copper {
            let fill = plates::fill(layers, index);
            let in_plane = match fill {
                Some(fill) => properties::conductivity(material(design, fill)?)?,
                None => vec![(ROOM, AIR)],
            };
            let between = match fill {
                Some(fill) => capacity(material(design, fill)?),
                None => Some(AIR_CAPACITY),
            };
            let metal = heat::Metal { share: share.si(), conductivity: properties::conductivity(own)? };
            out.push(heat::Layer {
                in_plane,
                metal: Some(metal),
                capacity: mixed(share.si(), capacity(own), between),
                ..heat::Layer::plain(&name, thickness, 1.0)
            });
        } else {
            let columns = (vias > 0.0).then(|| heat::Metal { share: vias, conductivity: copper.clone() });
            out.push(heat::Layer {
                in_plane: properties::conductivity(own)?,
                through: properties::conductivity_through(own),
                columns,
                capacity: mixed(vias, copper_capacity, capacity(own))
                    .filter(|_| vias > 0.0)
                    .or(capacity(own)),
                ..heat::Layer::plain(&name, thickness, 1.0)
            });
        }
    }
    if thickness_m(layers) <= 0.0 {
        return Err(Absent::NotInDesign("A stack has no layers; heat needs them.".into()));
    }
    Ok(out)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "test code")]
mod tests {
    use super::super::placing::standing;
    use super::*;
    use crate::{Cache, Control, studies};
    use facedown_package::{Memory, demo, read};
    use facedown_redistribution::PlacedBump;

    /// A demonstration with a die turned by a quarter or not, and the layout of its first die.
    fn first_die(name: &str, turned: bool) -> (Die, Layout) {
        let demo = demo(name).unwrap();
        let files = demo.files.iter().fold(Memory::default(), |files, (name, text)| files.with(name, *text));
        let mut design = read(&files, "design.toml").design.unwrap();
        let graph = studies::graph().unwrap();
        let selected = [REDISTRIBUTION].into();
        let run = graph.run(&design, Some(&selected), &Cache::none(), Control::silent());
        let mut die = design.dies.swap_remove(0);
        die.rotation = turned.then(|| {
            facedown_quantity::Toleranced::exact(facedown_quantity::Quantity::from_si(
                std::f64::consts::FRAC_PI_2,
            ))
        });
        let layout = run.output::<Layout>(REDISTRIBUTION, die.name.as_str()).unwrap().clone();
        (die, layout)
    }

    #[test]
    fn joints_stand_on_the_placed_die_as_the_layout_places_them_on_its_face() {
        for name in ["tidewatch", "harborlight"] {
            let (die, layout) = first_die(name, false);
            let layouts = [(die.name.as_str(), &layout)];
            let above = bump_places_above(&die, 0, &layouts);
            let made: Vec<&PlacedBump> = standing(&die, &layout).collect();
            assert_eq!(above.len(), bump_count(&die, &layouts), "{name}");
            let [width, height] = footprint(&die).unwrap().0;
            for ([x, y], bump) in above.iter().zip(&made) {
                // Seen through the die: mirrored in x, whole within the outline.
                assert!((x + bump.at.x.m() - width).abs() < 1e-12 && (y - bump.at.y.m()).abs() < 1e-12);
                assert!(*x > 0.0 && *x < width && *y > 0.0 && *y < height, "{name}: {x} {y}");
            }
        }
    }

    #[test]
    fn a_turned_die_turns_its_joints_like_its_blocks() {
        let (die, layout) = first_die("tidewatch", true);
        let (size, turns) = footprint(&die).unwrap();
        assert_eq!(turns, 1);
        let above = bump_places_above(&die, turns, &[(die.name.as_str(), &layout)]);
        for (place, bump) in above.iter().zip(standing(&die, &layout)) {
            let (x, y) = (bump.at.x.m(), bump.at.y.m());
            let [left, low, w, h] = from_above(&die, turns, [x - 1e-5, y - 2e-5, 2e-5, 4e-5]);
            assert!((left + w / 2.0 - place[0]).abs() < 1e-12 && (low + h / 2.0 - place[1]).abs() < 1e-12);
            assert!(place[0] > 0.0 && place[0] < size[0] && place[1] > 0.0 && place[1] < size[1]);
        }
    }
}
