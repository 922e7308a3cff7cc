//! The knot of the underfill study: every underfilled die, and an interposer, with the gap that the joints leave and the
//! bumps that stand in it.

use super::joints::INTERPOSER;
use super::placing::{bump_places_above, extent, footprint, lattice};
use super::properties::{self, ROOM, material};
use super::{JOINTS, REDISTRIBUTION, UNDERFILL};
use crate::graph::{Absent, Depth, Failure, Inputs, Join, Node, Progress, Reads, Report, Study, Upstream};
use crate::stage::Stage;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use facedown_joints::outcome::ArrayOutcome;
use facedown_material::{Material, PropertyName as P};
use facedown_package::{
    BumpPattern, Bumps, Clean, Design, DieEdge, DispensePattern, Mount, PlasmaGas, ProbeLiquid, Process,
    ProcessWindows, RecipeSearch, WettedFace, thickness_m,
};
use facedown_redistribution::Outcome as Layout;
use facedown_underfill::Outcome;
use facedown_underfill::front::Shape;
use facedown_underfill::problem as fill;
use facedown_underfill::surface::probe_liquid;
use serde::Serialize;

/// Standard atmosphere, Pa (ISO 2533).
const ATMOSPHERE: f64 = 101_325.0;

/// Standard deviation of a gap over itself where nothing tells it (common practice, no source).
const GAP_SPREAD: f64 = 0.05;

/// Cells of the front in a pitch of the bumps.
const CELLS_A_PITCH: f64 = 2.0;

/// The underfill study: one part a die, one for the interposer.
#[derive(Debug, Clone, Copy)]
pub struct Underfill;

/// What one solve reads, and what was assumed to make it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnderfillTask {
    /// The study's own input.
    pub problem: fill::Problem,
    /// Assumptions in sentences.
    pub notes: Vec<String>,
}

impl Study<Design> for Underfill {
    type Input = UnderfillTask;
    type Output = Outcome;

    fn node(&self) -> Node {
        Node {
            name: UNDERFILL,
            stage: Stage::Underfill,
            version: 6,
            reads: &[
                Reads::Study(REDISTRIBUTION),
                Reads::Study(JOINTS),
                Reads::Design("die.width, die.height, die.thickness, die.bumps, interposer"),
                Reads::Design("process.clean, process.underfill, process.cure"),
            ],
            reported_under: UNDERFILL,
        }
    }

    fn inputs(&self, design: &Design, upstream: &Upstream<'_>) -> Inputs<UnderfillTask> {
        let absent = || Absent::NotInDesign("The design has no table [process.underfill].".into());
        let process = design.process.as_ref().ok_or_else(absent)?;
        let written = process.underfill.as_ref().ok_or_else(absent)?;
        let layouts = upstream.parts::<Layout>(REDISTRIBUTION)?;
        let shapes = upstream.parts::<facedown_joints::Outcome>(JOINTS)?;
        let shape_of = |name: &str| shapes.iter().find(|s| s.0 == name).and_then(|s| s.1.bumps.as_ref());
        let nearest = |part: &str, places: &[[f64; 2]]| {
            *upstream.made_of(&format!("neighbours in {part}"), places, facedown_underfill::median_nearest)
        };
        let mut tasks = Vec::new();
        for die in design.dies.iter().filter(|d| d.mount() == Mount::Flip) {
            let asked = written.dies.is_empty() || written.dies.contains(&die.name);
            let Some(bumps) = die.bumps.as_ref().filter(|_| asked) else { continue };
            let (size, turns) = footprint(die)?;
            let places = bump_places_above(die, turns, &layouts);
            let outline = fill::Die { width_m: size[0], height_m: size[1], thickness_m: die.thickness.si() };
            let gap = Gap {
                name: die.name.as_str(),
                size_m: size,
                bumps,
                shape: shape_of(die.name.as_str()),
                places: &places,
                nearest_m: nearest(die.name.as_str(), &places),
            };
            tasks.push((die.name.to_string(), task(design, process, written, outline, &gap)?));
        }
        if let Some(interposer) = &design.interposer
            && let Some(bumps) = interposer.bumps.as_ref().filter(|_| written.dies.is_empty())
        {
            let (w, h) = (interposer.width.si(), interposer.height.si());
            let mut places = lattice(w, h, bumps.pitch.si(), bumps.row_pitch().m());
            let [across, up] = extent(&places);
            places.iter_mut().for_each(|p| {
                p[0] += 0.5 * (w - across);
                p[1] += 0.5 * (h - up);
            });
            let outline = fill::Die { width_m: w, height_m: h, thickness_m: thickness_m(&interposer.layers) };
            let gap = Gap {
                name: INTERPOSER,
                size_m: [w, h],
                bumps,
                shape: shape_of(INTERPOSER),
                places: &places,
                nearest_m: nearest(INTERPOSER, &places),
            };
            tasks.push((INTERPOSER.to_owned(), task(design, process, written, outline, &gap)?));
        }
        if tasks.is_empty() {
            return Err(Absent::NotInDesign("No die of the design has bumps to be underfilled.".into()));
        }
        if upstream.depth != Depth::Solvers {
            // Closed forms know the field alone: nothing that they do not read.
            for (_, task) in &mut tasks {
                (task.problem.places_m, task.problem.fineness) = (Vec::new(), None);
                task.problem.residues = Vec::new();
                (task.problem.search, task.problem.windows) = (None, None);
            }
        }
        Ok(tasks)
    }

    fn solve(&self, task: &UnderfillTask, progress: &Progress<'_>) -> Result<Outcome, Failure> {
        facedown_underfill::solve_while(&task.problem, &|| !progress.cancelled()).map_err(|e| match e {
            facedown_underfill::Refusal::Stopped => Failure::Cancelled,
            other => Failure::Study(other.to_string()),
        })
    }

    fn report(&self, _: &str, task: &UnderfillTask, outcome: &Outcome) -> Report {
        let notes = [task.notes.as_slice(), outcome.notes.as_slice()];
        super::report_of(&outcome.figures, &outcome.limits, &notes, &outcome.advice)
    }

    fn join(&self, figure: &str) -> Join {
        match figure {
            "dispense_volume" | "voids_touching_bumps" => Join::Sum,
            "gel_margin"
            | "gel_time"
            | "driving_pressure"
            | "driving_pressure_least"
            | "permeability"
            | "cure_degree"
            | "queue_limit"
            | "surface_energy"
            | "fillet_height" => Join::Smallest,
            _ => Join::Largest,
        }
    }
}

/// The gap under one part.
struct Gap<'a> {
    name: &'a str,
    size_m: [f64; 2],
    bumps: &'a Bumps,
    shape: Option<&'a ArrayOutcome>,
    places: &'a [[f64; 2]],
    /// Median distance to the nearest bump, m.
    nearest_m: f64,
}

fn task(
    design: &Design,
    process: &Process,
    written: &facedown_package::Underfill,
    die: fill::Die,
    gap: &Gap<'_>,
) -> Result<UnderfillTask, Absent> {
    let mut notes = Vec::new();
    let sizes = gap.bumps.sizes();
    let kind = gap.shape.and_then(|s| s.kinds.first());
    let (gap_m, gap_known) = match (written.gap, gap.shape) {
        (Some(gap), _) => (gap.si(), Some(gap.standard_deviation(design.spread()))),
        (None, Some(shape)) => (shape.stand_off, Some(shape.stand_off_spread.total())),
        (None, None) => {
            notes.push("The joint study gives no stand-off: the bump height is taken as the gap.".into());
            (sizes.height.m(), None)
        }
    };
    // A gap without any tolerance is one that nobody has looked at.
    let gap_spread = gap_known.filter(|s| *s > 0.0).map(|s| s / gap_m);
    if let Some(asked) = &written.windows {
        notes.extend(gap_words(asked, gap, gap_m, gap_spread, written.gap.is_some()));
    }
    let pillar = sizes.pillar.m() > 0.0;
    let diameter = if pillar { sizes.ubm.m() } else { kind.map_or(sizes.bump.m(), |k| k.width) };
    let field_bumps = fill::Bumps {
        places: gap.places,
        diameter_m: diameter,
        shape: if pillar { fill::BumpShape::Cylinder } else { fill::BumpShape::TruncatedSphere },
        lattice: match gap.bumps.pattern {
            Some(BumpPattern::Staggered) => fill::Lattice::Hexagonal,
            _ => fill::Lattice::Square,
        },
    };
    let field = fill::BumpField::of_neighbours(field_bumps, gap.nearest_m);
    let clean = process.clean.as_ref();
    let (readings, drops) = clean.map_or(Ok((Vec::new(), Vec::new())), |c| readings(c, gap))?;
    let angle = |a: Option<facedown_package::values::Angle>| {
        a.map(|a| fill::Angle { angle_rad: a.si(), spread_rad: a.standard_deviation(design.spread()) })
    };
    let cure = process.cure.as_ref().map_or(&[][..], |c| c.steps.as_slice());
    if cure.iter().any(|s| s.ramp.is_none()) {
        notes.push("Cure steps without a ramp are reached in 20 min (common practice, no source).".into());
    }
    for (face, stated) in [
        (fill::Face::Die, written.angle_die.is_some()),
        (fill::Face::Substrate, written.angle_substrate.is_some()),
        (fill::Face::Bump, written.angle_bump.is_some()),
    ] {
        if stated && readings.iter().any(|r| r.face == face) {
            notes.push(format!(
                "On the {} the flow uses the angle that the design states; the readings there give the surface energy and are \
                 compared with it.",
                face.words()
            ));
        }
    }
    let problem = fill::Problem {
        die,
        gap_m,
        bumps: field,
        liquid: liquid(design, written)?,
        angle_die: angle(written.angle_die),
        angle_substrate: angle(written.angle_substrate),
        angle_bump: angle(written.angle_bump),
        readings,
        drops,
        plasma: clean.and_then(|c| {
            Some(fill::Plasma {
                gas: gas(c.plasma?),
                power_w: c.power?.si(),
                pressure_pa: c.pressure.map(|p| p.si()),
                time_s: c.time?.si(),
            })
        }),
        queue_s: clean.and_then(|c| c.queue_time).map_or(0.0, |t| t.si()),
        bake: clean.and_then(|c| Some((c.bake_temperature?.si(), c.bake_time?.si()))),
        dispense: fill::Dispense {
            temperature_k: written.temperature.si(),
            heating: None,
            pattern: written.pattern.map_or(fill::Pattern::Line, pattern),
            edge: written.edge.map(|edge| match edge {
                DieEdge::Left => fill::Edge::Left,
                DieEdge::Right => fill::Edge::Right,
                DieEdge::Bottom => fill::Edge::Bottom,
                DieEdge::Top => fill::Edge::Top,
            }),
            passes: written.passes.unwrap_or(1),
            wait_s: written.wait.map_or(0.0, |t| t.si()),
            offset_m: written.offset.map(|o| o.si()),
            volume_m3: written.volume.map(|v| v.si()),
        },
        fillet: None,
        cure: cure
            .iter()
            .map(|step| fill::CureStep {
                temperature_k: step.temperature.si(),
                hold_s: step.time.si(),
                ramp_s: step.ramp.map_or(1200.0, |r| r.si()),
            })
            .collect(),
        ambient_pa: ATMOSPHERE,
        places_m: gap.places.to_vec(),
        residues: clean.map_or_else(Vec::new, |c| residues(c, gap)),
        residue_left: clean.and_then(|c| c.residue_left).map(|l| l.si()),
        keep_clear_m: written.keep_clear.map(|k| k.si()),
        search: written.search.as_ref().map(|s| search(s, written)),
        windows: written.windows.as_ref().map(|w| windows(w, written, (gap_m, gap_spread))),
        fineness: Some(CELLS_A_PITCH),
    };
    Ok(UnderfillTask { problem, notes })
}

fn pattern(pattern: DispensePattern) -> fill::Pattern {
    match pattern {
        DispensePattern::Line => fill::Pattern::Line,
        DispensePattern::TwoLines => fill::Pattern::TwoLines,
        DispensePattern::L => fill::Pattern::L,
        DispensePattern::U => fill::Pattern::U,
    }
}

/// What recipes are tried.
fn search(search: &RecipeSearch, written: &facedown_package::Underfill) -> fill::Search {
    fill::Search {
        patterns: search.patterns.iter().map(|p| pattern(*p)).collect(),
        passes: search.passes.clone(),
        waits_s: search.waits.iter().map(|w| w.si()).collect(),
        offsets_m: search.offsets.iter().map(|o| o.si()).collect(),
        void_area_fraction: search.void_area.map_or(0.01, |v| v.si()),
        gel_margin: search.gel_margin.unwrap_or(2.0),
        room_m: search.room.or(written.keep_clear).map_or(2e-3, |r| r.si()),
    }
}

/// The axes of the process windows.
fn windows(
    windows: &ProcessWindows,
    written: &facedown_package::Underfill,
    (gap_m, gap_spread): (f64, Option<f64>),
) -> fill::Windows {
    let at = written.temperature.si();
    fill::Windows {
        angles_rad: windows.angles.map_or([5_f64, 165.0].map(f64::to_radians), |a| a.map(|v| v.si())),
        temperatures_k: windows.temperatures.map_or([at - 20.0, at + 20.0], |t| t.map(|v| v.si())),
        gaps_m: windows.gaps.map_or([0.75 * gap_m, 1.25 * gap_m], |g| g.map(|v| v.si())),
        queue_s: windows.queue.map_or(86_400.0, |q| q.si()),
        gap_spread: windows.gap_spread.map(|g| g.si()).or(gap_spread).unwrap_or(GAP_SPREAD),
        viscosity_spread: windows.viscosity_spread.map_or(0.1, |v| v.si()),
        void_area_fraction: windows.void_area.map_or(0.01, |v| v.si()),
    }
}

/// Where the deviation of the gap in the windows comes from.
fn gap_words(
    asked: &ProcessWindows,
    gap: &Gap<'_>,
    gap_m: f64,
    spread: Option<f64>,
    stated: bool,
) -> Option<String> {
    let percent = |share: f64| format!("{:.1} %", 100.0 * share);
    if asked.gap_spread.is_some() {
        return None;
    }
    Some(match (spread, gap.shape.filter(|_| !stated)) {
        (Some(share), Some(shape)) => {
            let parts = shape.stand_off_spread;
            let um = |m: f64| format!("{:.2} um", 1e6 * m);
            format!(
                "The windows take the gap of {:.1} um to deviate by {}, as the joints find it: {} by the height of the bumps, {} over the die by \
                 its bow while the solder is liquid, {} by the surface tension of the solder (one standard deviation each).",
                1e6 * gap_m,
                percent(share),
                um(parts.height),
                um(parts.bow),
                um(parts.tension)
            )
        }
        (Some(share), None) => {
            format!(
                "The windows take the gap to deviate by {}, the tolerance that the design states.",
                percent(share)
            )
        }
        (None, _) => format!(
            "No tolerance of the gap is known: the windows take a deviation of {} (common practice, no source).",
            percent(GAP_SPREAD)
        ),
    })
}

/// The residue under one part.
fn residues(clean: &Clean, gap: &Gap<'_>) -> Vec<fill::ResiduePatch> {
    let here = clean.residues.iter().filter(|r| r.die.as_ref().is_none_or(|d| d.as_str() == gap.name));
    here.filter_map(|r| {
        // Places are told from the middle of the die.
        let middle = r.at.map(|at| [0, 1].map(|k| at[k].si() + 0.5 * gap.size_m[k]));
        let extent = match (middle, r.size, r.diameter, &r.cells) {
            (Some(at), Some(size), ..) => {
                let half = size.map(|s| 0.5 * s.si());
                let corner = |sign: f64| [0, 1].map(|k| at[k] + sign * half[k]);
                fill::Extent::Shape(Shape::Rectangle { low_m: corner(-1.0), high_m: corner(1.0) })
            }
            (Some(centre_m), None, Some(d), _) => {
                fill::Extent::Shape(Shape::Disc { centre_m, radius_m: 0.5 * d.si() })
            }
            (_, _, _, Some(cells)) => {
                fill::Extent::Grid { count: [cells.columns, cells.rows], shares: cells.values.clone() }
            }
            _ => return None,
        };
        Some(fill::ResiduePatch {
            face: face(r.face.unwrap_or(WettedFace::Substrate)),
            extent,
            cover: r.cover.map_or(1.0, |c| c.si()),
            angle_rad: r.angle.si(),
        })
    })
    .collect()
}

fn face(face: WettedFace) -> fill::Face {
    match face {
        WettedFace::Die => fill::Face::Die,
        WettedFace::Substrate => fill::Face::Substrate,
        WettedFace::Bump => fill::Face::Bump,
    }
}

/// The contact-angle readings of the design: plain ones, and drops whose angle, place or lot is yet to be looked at.
fn readings(clean: &Clean, gap: &Gap<'_>) -> Result<(Vec<fill::Reading>, Vec<fill::Drop>), Absent> {
    let impossible = |sentence: String| Absent::Impossible(sentence);
    let (mut plain, mut drops) = (Vec::new(), Vec::new());
    for r in &clean.reading_list {
        let liquid = match r.liquid {
            ProbeLiquid::Underfill => None,
            known => Some(probe_liquid(known.word()).ok_or_else(|| {
                impossible(format!("The surface tension of {} is not known.", known.word()))
            })?),
        };
        let dose_j = r.dose_j(clean).ok_or_else(|| {
            impossible("The power of the plasma before a contact-angle reading is not known.".into())
        })?;
        let how = match (r.angle_rad, r.volume_m3.zip(r.diameter_m), &r.picture) {
            (Some(angle), ..) => fill::Measured::Angle(angle),
            (None, Some((volume_m3, diameter_m)), _) => fill::Measured::Size { volume_m3, diameter_m },
            (None, None, Some((name, bytes))) => fill::Measured::Picture {
                name: name.clone(),
                base64: STANDARD.encode(bytes),
                pixel_m: r.pixel_m,
            },
            (None, None, None) => continue,
        };
        let face = face(r.face);
        match (liquid, how) {
            (Some(liquid), fill::Measured::Angle(angle_rad)) if r.place_m.is_none() && r.lot.is_none() => {
                let (spread_rad, age_s) = (r.spread_rad, r.age_s);
                plain.push(fill::Reading { face, liquid, angle_rad, spread_rad, dose_j, age_s });
            }
            (liquid, how) => drops.push(fill::Drop {
                face,
                liquid,
                how,
                spread_rad: r.spread_rad,
                dose_j,
                age_s: r.age_s,
                place_m: r.place_m.map(|p| [0, 1].map(|k| p[k] + 0.5 * gap.size_m[k])),
                lot: r.lot.clone(),
            }),
        }
    }
    Ok((plain, drops))
}

fn liquid(design: &Design, written: &facedown_package::Underfill) -> Result<fill::Liquid, Absent> {
    let name = written.material.as_str();
    let resin = material(design, name)?;
    let at = written.temperature.si();
    let viscosity = match written.viscosity {
        Some(viscosity) => viscosity.si(),
        None => properties::value(resin, &[P::Viscosity], at)?,
    };
    Ok(fill::Liquid {
        surface_tension_n_m: match written.surface_tension {
            Some(tension) => tension.si(),
            None => properties::value(resin, &[P::SurfaceTension], at)?,
        },
        dispersive_share: written.dispersive_share.map(|s| s.si()),
        contact_angle_rad: properties::optional(resin, P::ContactAngle, ROOM),
        viscosity: vec![(at, viscosity)],
        viscosity_valid: resin.properties.get(&P::Viscosity).and_then(|p| p.range),
        activation_j_mol: None,
        thinning: thinning(resin)?,
        chemoviscosity: None,
        kinetics: None,
        glass_transition_k: properties::optional(resin, P::GlassTransition, ROOM),
        filler_largest_m: None,
    })
}

/// The power law of a material that thins or thickens under shear.
fn thinning(resin: &Material) -> Result<Option<fill::Thinning>, Absent> {
    let Some(index) = properties::optional(resin, P::ShearIndex, ROOM) else { return Ok(None) };
    let rate_per_s = properties::optional(resin, P::ShearRate, ROOM).ok_or_else(|| {
        Absent::Impossible(format!(
            "{} has a shear_index and no shear_rate: the rate at which its viscosity was read is needed.",
            resin.title
        ))
    })?;
    Ok(Some(fill::Thinning { index, rate_per_s }))
}

fn gas(gas: PlasmaGas) -> fill::PlasmaGas {
    match gas {
        PlasmaGas::Argon => fill::PlasmaGas::Argon,
        PlasmaGas::Oxygen => fill::PlasmaGas::Oxygen,
        PlasmaGas::ArgonOxygen => fill::PlasmaGas::ArgonOxygen,
        PlasmaGas::ArgonHydrogen => fill::PlasmaGas::ArgonHydrogen,
        PlasmaGas::NitrogenHydrogen => fill::PlasmaGas::NitrogenHydrogen,
    }
}

#[cfg(test)]
mod tests {
    use facedown_package::ProbeLiquid;
    use facedown_underfill::surface::probe_liquid_names;

    #[test]
    fn the_design_takes_the_probe_liquids_that_the_study_knows() {
        let taken: Vec<&str> = ProbeLiquid::WORDS.iter().map(|(word, _)| *word).collect();
        let own = facedown_underfill::measured::UNDERFILL;
        assert_eq!(taken, probe_liquid_names().chain([own]).collect::<Vec<_>>());
    }
}
