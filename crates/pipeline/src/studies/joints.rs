//! The knot of the joint study: bumps of each flip-mounted die, those under an interposer, and the balls, each as one
//! array that carries what stands on it.

use super::placing::bump_count;
use super::properties::{self, ROOM, material};
use super::{JOINTS, REDISTRIBUTION, WARPAGE};
use crate::graph::{Absent, Failure, Inputs, Join, Node, Progress, Reads, Report, Study, Upstream};
use crate::stage::Stage;
use facedown_joints::Outcome;
use facedown_joints::problem::{Array, Body, GapMap, Kind, Layer, Metal, Problem, Reflow, Solder, Supply};
use facedown_material::PropertyName as P;
use facedown_package::{Bumps, Design, Form, Mount, StackLayer, UbmLayer, thickness_m};
use facedown_redistribution::Outcome as Layout;
use facedown_warpage::outcome::GapBow;
use serde::Serialize;

/// The joint study: one part a die, one for the interposer, one for the balls.
#[derive(Debug, Clone, Copy)]
pub struct Joints;

/// Name of the part that holds the bumps under an interposer.
pub const INTERPOSER: &str = "interposer";
/// Name of the part that holds the balls.
pub const BALLS: &str = "balls";

/// What one solve reads, and what was assumed to make it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JointTask {
    /// The study's own input.
    pub problem: Problem,
    /// Assumptions in sentences.
    pub notes: Vec<String>,
}

impl Study<Design> for Joints {
    type Input = JointTask;
    type Output = Outcome;

    fn node(&self) -> Node {
        Node {
            name: JOINTS,
            stage: Stage::PlaceAndReflow,
            version: 4,
            reads: &[
                Reads::Study(REDISTRIBUTION),
                Reads::Study(WARPAGE),
                Reads::Design("die.bumps, die.ubm, interposer, balls, process.reflow"),
                Reads::Design("die, substrate, form (weights)"),
            ],
            reported_under: JOINTS,
        }
    }

    fn inputs(&self, design: &Design, upstream: &Upstream<'_>) -> Inputs<JointTask> {
        let layouts = upstream.parts::<Layout>(REDISTRIBUTION)?;
        // Without a warpage both faces are flat; its own verdict says why there is none.
        let warped = upstream.parts::<facedown_warpage::Outcome>(WARPAGE)?;
        let warped = warped.first().map(|w| w.1);
        let bow = |part: &str| {
            let bows = warped.map_or(&[][..], |w| w.gaps.as_slice());
            gap_map(bows.iter().find(|b| b.name == part))
        };
        let reflow = reflow(design);
        let task = |bumps, balls, body, notes: &[String]| {
            let mut notes = notes.to_vec();
            notes.extend(reflow.as_ref().map(|r| r.1.clone()).filter(|n| !n.is_empty()));
            let reflow = reflow.as_ref().map(|r| r.0);
            JointTask { problem: Problem { bumps, balls, reflow, body, storage: Vec::new() }, notes }
        };
        let mut tasks = Vec::new();
        let interposer_pad = design.interposer.as_ref().map(|i| i.bump_pad.map(|p| p.si()));
        let substrate_pad = design.substrate.as_ref().and_then(|s| s.bump_pad.map(|p| p.si()));
        for die in design.dies.iter().filter(|d| d.mount() == Mount::Flip) {
            let Some(bumps) = &die.bumps else { continue };
            let lower = if die.on() == INTERPOSER { interposer_pad.flatten() } else { substrate_pad };
            let count = bump_count(die, &layouts);
            let mass =
                die.width.si() * die.height.si() * die.thickness.si() * density(design, die.material())?;
            let (array, notes) = array(design, bumps, &die.ubm, lower, count, mass)?;
            let array = Array { gap_map: bow(die.name.as_str()), ..array };
            tasks.push((die.name.to_string(), task(Some(array), None, None, &notes)));
        }
        if let Some(interposer) = &design.interposer
            && let Some(bumps) = &interposer.bumps
        {
            let area = interposer.width.si() * interposer.height.si();
            let count = (area / (bumps.pitch.si() * bumps.row_pitch().m())).floor() as usize;
            let mass = stack_mass(design, &interposer.layers, area)? + dies_mass(design)?;
            let (array, notes) = array(design, bumps, &[], substrate_pad, count, mass)?;
            let array = Array { gap_map: bow(INTERPOSER), ..array };
            tasks.push((INTERPOSER.to_owned(), task(Some(array), None, None, &notes)));
        }
        if let Some((array, body, notes)) = balls(design)? {
            let array = Array { gap_map: gap_map(warped.and_then(|w| w.ball_gap.as_ref())), ..array };
            tasks.push((BALLS.to_owned(), task(None, Some(array), Some(body), &notes)));
        }
        if tasks.is_empty() {
            return Err(Absent::NotInDesign("The design has neither bumps nor balls.".into()));
        }
        Ok(tasks)
    }

    fn solve(&self, task: &JointTask, _: &Progress<'_>) -> Result<Outcome, Failure> {
        facedown_joints::solve(&task.problem).map_err(|e| Failure::Study(e.to_string()))
    }

    fn report(&self, _: &str, task: &JointTask, outcome: &Outcome) -> Report {
        let notes = [task.notes.as_slice(), outcome.notes.as_slice()];
        super::report_of(&outcome.figures, &outcome.limits, &notes, &outcome.advice)
    }

    /// Sizes and margins are worst where they are smallest, all else where it is largest.
    fn join(&self, figure: &str) -> Join {
        const SMALLEST: [&str; 9] = [
            "margin",
            "height",
            "stand_off",
            "neck",
            "_left",
            "limit",
            "free_share",
            "frequency",
            "stiffness",
        ];
        if SMALLEST.iter().any(|end| figure.ends_with(end)) { Join::Smallest } else { Join::Largest }
    }
}

/// The gap as it is while all solder is liquid.
fn gap_map(bow: Option<&GapBow>) -> GapMap {
    bow.map_or(GapMap::Flat, |bow| GapMap::Bow {
        curvature_x: bow.gap_at_liquidus[0],
        curvature_y: bow.gap_at_liquidus[1],
        half_width: bow.half_extent_m[0],
        half_height: bow.half_extent_m[1],
    })
}

fn density(design: &Design, name: &str) -> Result<f64, Absent> {
    properties::value(material(design, name)?, &[P::Density], ROOM)
}

/// Mass of a stack of that area, kg; metal layers weigh by their share, the rest of them is left out.
fn stack_mass(design: &Design, layers: &[StackLayer], area: f64) -> Result<f64, Absent> {
    layers.iter().try_fold(0.0, |sum, layer| {
        let share = layer.copper.map_or(1.0, |c| c.si());
        Ok(sum + area * layer.thickness.si() * share * density(design, layer.material.as_str())?)
    })
}

fn dies_mass(design: &Design) -> Result<f64, Absent> {
    design.dies.iter().try_fold(0.0, |sum, die| {
        Ok(sum + die.width.si() * die.height.si() * die.thickness.si() * density(design, die.material())?)
    })
}

fn solder(design: &Design, name: &str, peak: Option<f64>) -> Result<Solder, Absent> {
    let alloy = material(design, name)?;
    let value = |p| properties::value(alloy, &[p], peak.unwrap_or(ROOM));
    let tension = value(P::SurfaceTension)?;
    Ok(Solder {
        name: alloy.title.clone(),
        surface_tension: tension,
        surface_tension_range: alloy
            .properties
            .get(&P::SurfaceTension)
            .and_then(|p| p.spread)
            .map(|s| [s.0, s.1]),
        density_liquid: value(P::DensityLiquid).or_else(|_| value(P::Density))?,
        solidus: value(P::Solidus).or_else(|_| value(P::Liquidus))?,
        liquidus: value(P::Liquidus)?,
        leaded: alloy.contains_lead(),
    })
}

fn metal(name: &str) -> Metal {
    match name {
        n if n.contains("nickel") && (n.contains("phos") || n.contains("electroless")) => {
            Metal::NickelPhosphorus
        }
        n if n.contains("nickel") => Metal::Nickel,
        n if n.contains("copper") => Metal::Copper,
        n if n.contains("palladium") => Metal::Palladium,
        n if n.contains("gold") => Metal::Gold,
        _ => Metal::Inert,
    }
}

fn array(
    design: &Design,
    bumps: &Bumps,
    ubm: &[UbmLayer],
    lower_pad: Option<f64>,
    count: usize,
    carried_mass: f64,
) -> Result<(Array, Vec<String>), Absent> {
    let sizes = bumps.sizes();
    let mut notes = Vec::new();
    let cap = (sizes.height - sizes.pillar).m();
    let supply = match (bumps.volume, sizes.pillar.m() > 0.0) {
        (Some(volume), _) => Supply::Volume(volume.si()),
        (None, _) => Supply::Reflowed { pad: sizes.ubm.m(), height: cap.max(1e-9) },
    };
    let lower = lower_pad.unwrap_or_else(|| {
        notes.push("The pads below the bumps are taken as wide as the UBM.".into());
        sizes.ubm.m()
    });
    let ubm_height: f64 = ubm.iter().map(|l| l.thickness.si()).sum();
    let spread = design.spread();
    Ok((
        Array {
            solder: solder(design, bumps.solder(), peak(design))?,
            joints: vec![Kind {
                name: "bump".into(),
                count: u32::try_from(count).unwrap_or(u32::MAX),
                upper_diameter: sizes.ubm.m(),
                lower_diameter: lower,
                upper_solder: vec![supply],
                lower_solder: Vec::new(),
                upper_metal: sizes.pillar.m() + ubm_height,
                lower_metal: 0.0,
            }],
            pitch: bumps.neighbour_distance_nm() * 1e-9,
            carried_mass,
            extra_force: 0.0,
            gap_map: GapMap::Flat,
            misplacement: 0.0,
            height_shortfall: bumps.height.map_or(0.0, |h| 3.0 * h.standard_deviation(spread)),
            metallisation: metallisation(ubm, sizes.pillar.m()),
            lower_metallisation: Vec::new(),
            consumed_per_reflow: None,
        },
        notes,
    ))
}

/// The metal under the solder from the pad outward. A pillar stands on the copper that it is plated on; what the stack
/// has beyond that copper (nickel) caps the pillar.
fn metallisation(ubm: &[UbmLayer], pillar: f64) -> Vec<Layer> {
    let mut layers: Vec<Layer> = ubm
        .iter()
        .map(|l| Layer { metal: metal(l.material.as_str()), thickness: l.thickness.si() })
        .collect();
    if pillar > 0.0 {
        let seed = layers.iter().rposition(|l| l.metal == Metal::Copper).map_or(layers.len(), |i| i + 1);
        layers.insert(seed, Layer { metal: Metal::Copper, thickness: pillar });
    }
    layers
}

fn balls(design: &Design) -> Result<Option<(Array, Body, Vec<String>)>, Absent> {
    let (Some(balls), Some(substrate)) = (&design.balls, &design.substrate) else { return Ok(None) };
    let (width, height) = (substrate.width.si(), substrate.height.si());
    let area = width * height;
    let land = balls.land.map_or(0.8 * balls.diameter.si(), |l| l.si());
    let mut mass = stack_mass(design, &substrate.layers, area)? + dies_mass(design)?;
    let mut thickness = thickness_m(&substrate.layers);
    if let Some(interposer) = &design.interposer {
        mass += stack_mass(design, &interposer.layers, interposer.width.si() * interposer.height.si())?;
        let gap = interposer.bumps.as_ref().map_or(0.0, |b| b.sizes().height.m());
        thickness += thickness_m(&interposer.layers) + gap;
    }
    let tallest = design
        .dies
        .iter()
        .map(|die| die.thickness.si() + die.bumps.as_ref().map_or(0.0, |b| b.sizes().height.m()));
    let mut above = tallest.fold(0.0, f64::max);
    match design.form() {
        Form::Bare => {}
        Form::Ring(ring) => {
            let inner = (width - 2.0 * ring.band.si()).max(0.0) * (height - 2.0 * ring.band.si()).max(0.0);
            mass += (area - inner) * ring.thickness.si() * density(design, ring.material.as_str())?;
            above = above.max(ring.thickness.si() + ring.adhesive_thickness.si());
        }
        Form::Lid(lid) => {
            mass += area * lid.thickness.si() * density(design, lid.material.as_str())?;
            above = lid.thickness.si() + lid.foot_height.si() + lid.adhesive_thickness.si();
        }
    }
    let array = Array {
        solder: solder(design, balls.solder.as_str(), peak(design))?,
        joints: vec![Kind {
            name: "ball".into(),
            count: u32::try_from(balls.sites(substrate).len()).unwrap_or(u32::MAX),
            upper_diameter: land,
            lower_diameter: land,
            upper_solder: vec![Supply::Ball { diameter: balls.diameter.si() }],
            lower_solder: Vec::new(),
            upper_metal: 0.0,
            lower_metal: 0.0,
        }],
        pitch: balls.pitch.si(),
        carried_mass: mass,
        extra_force: 0.0,
        gap_map: GapMap::Flat,
        misplacement: 0.0,
        height_shortfall: 3.0 * balls.diameter.standard_deviation(design.spread()),
        metallisation: Vec::new(),
        lower_metallisation: Vec::new(),
        consumed_per_reflow: None,
    };
    let notes = vec!["The lands of the board are taken as wide as those of the package.".into()];
    Ok(Some((array, Body { width, height, thickness: thickness + above }, notes)))
}

fn peak(design: &Design) -> Option<f64> {
    design.process.as_ref()?.reflow.as_ref().map(|r| r.peak.si())
}

/// The reflow, and what was assumed of it; empty where nothing was.
fn reflow(design: &Design) -> Option<(Reflow, String)> {
    let written = design.process.as_ref()?.reflow.as_ref()?;
    let mut assumed = Vec::new();
    let mut or = |value: Option<f64>, usual: f64, what: &str| {
        value.unwrap_or_else(|| {
            assumed.push(what.to_owned());
            usual
        })
    };
    let reflow = Reflow {
        preheat_from: or(written.preheat_from.map(|v| v.si()), 423.15, "preheat from 150 degC"),
        preheat_to: or(written.preheat_to.map(|v| v.si()), 473.15, "preheat to 200 degC"),
        preheat_time: or(written.preheat_time.map(|v| v.si()), 90.0, "90 s of preheat"),
        ramp_up: or(written.ramp_up.map(|v| v.si()), 1.5, "heating at 1.5 K/s"),
        peak: written.peak.si(),
        time_above_liquidus: written.time_above_liquidus.map(|v| v.si()),
        hold: 20.0,
        ramp_down: or(written.ramp_down.map(|v| v.si()), 3.0, "cooling at 3 K/s"),
        count: written.count.unwrap_or(3),
        lead_free: None,
    };
    let assumed = if assumed.is_empty() {
        String::new()
    } else {
        format!(
            "The reflow does not say everything; taken are {} (common practice, no source).",
            assumed.join(", ")
        )
    };
    Some((reflow, assumed))
}
