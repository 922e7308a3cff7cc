//! Which angles the underfill meets: stated, predicted from readings, or from the material's sheet.
//!
//! Readings are brought to the moment of dispensing first: the dose of the plasma and the queue time after it, both by laws
//! fitted to the readings themselves. What the readings do not show is not invented: a note says what is missing.

use crate::outcome::{FaceAngle, FaceEnergy};
use crate::problem::{Angle, Face, Problem, Reading};
use crate::solve::Refusal;
use crate::surface::{Parts, ProbeLiquid, acid_base, owens_wendt, predicted_angle};
use crate::treatment::{self, FirstOrder};

/// Standard deviation of a reading without one, rad (2 degrees: usual for sessile drops, common practice).
const READING_SPREAD: f64 = 2.0 * std::f64::consts::PI / 180.0;
/// Dispersive share of an epoxy resin's surface tension where none is given (from memory).
pub const DISPERSIVE_SHARE: f64 = 0.85;

/// Where an angle comes from that was read with the underfill itself.
pub const READ: &str = "read with the underfill itself";

/// Angles, energies and what is to be said of them.
pub struct Faces {
    /// Angles of die, substrate and (with bumps) bump.
    pub angles: Vec<FaceAngle>,
    /// Energies of the faces with readings.
    pub energies: Vec<FaceEnergy>,
    /// Water angle on the substrate at dispense and its ageing, where readings show them.
    pub water: Option<(f64, Option<FirstOrder>)>,
    /// Sentences.
    pub notes: Vec<String>,
}

impl Faces {
    /// Angle on a face, rad; a right angle for a face that is not asked for.
    pub fn angle(&self, face: Face) -> f64 {
        self.angles.iter().find(|a| a.face == face).map_or(std::f64::consts::FRAC_PI_2, |a| a.angle_rad)
    }
}

/// The mean reading of a liquid on a face at one moment.
struct Drop {
    liquid: ProbeLiquid,
    angle_rad: f64,
    spread_rad: f64,
}

/// Finds the angles.
///
/// # Errors
/// [`Refusal::NoAngle`] for a face about which nothing is known.
pub fn judge(problem: &Problem, own: &[(Face, Angle)]) -> Result<Faces, Refusal> {
    let mut faces = Faces { angles: Vec::new(), energies: Vec::new(), water: None, notes: Vec::new() };
    let dispersive = problem.liquid.dispersive_share.unwrap_or(DISPERSIVE_SHARE);
    let liquid = Parts {
        dispersive: dispersive * problem.liquid.surface_tension_n_m,
        polar: (1.0 - dispersive) * problem.liquid.surface_tension_n_m,
    };
    if !problem.readings.is_empty() && problem.liquid.dispersive_share.is_none() {
        faces.notes.push(format!(
            "The underfill's own split of surface tension is not given; angles are predicted with a dispersive share of {:.0} %, a \
             starting value from memory.",
            100.0 * DISPERSIVE_SHARE
        ));
    }
    if problem.plasma.is_some() && !problem.readings.iter().any(|r| r.dose_j > 0.0) {
        faces.notes.push(
            "Without readings before and after, what the plasma does is not judged. A published starting value: on polyimide \
             film, oxygen and argon at 200, 400 and 600 W took water from 73 deg to 26, 20 and 17 deg (Cho et al., plasma \
             treatment of polyimide film for copper metallization)."
                .into(),
        );
    }
    for face in [Face::Die, Face::Substrate, Face::Bump] {
        if face == Face::Bump && problem.bumps.is_none() {
            continue;
        }
        let readings: Vec<&Reading> = problem.readings.iter().filter(|r| r.face == face).collect();
        let mut predicted = None;
        if !readings.is_empty() {
            let untreated = drops(&readings, face, None, &mut faces);
            let treated = problem.plasma.map(|p| (p.power_w * p.time_s, problem.queue_s));
            let before = energy(face, "untreated", &untreated, liquid, &mut faces.notes);
            let now = if treated.is_some() && readings.iter().any(|r| r.dose_j > 0.0) {
                let drops = drops(&readings, face, treated, &mut faces);
                energy(face, "at dispense", &drops, liquid, &mut faces.notes)
            } else {
                None
            };
            predicted =
                now.clone().or(before.clone()).map(|e| (e.predicted_angle_rad, e.predicted_spread_rad));
            faces.energies.extend(before);
            faces.energies.extend(now);
        }
        let stated = match face {
            Face::Die => problem.angle_die,
            Face::Substrate => problem.angle_substrate,
            Face::Bump => problem.angle_bump,
        };
        let own = own.iter().find(|o| o.0 == face).map(|o| o.1);
        let (angle_rad, spread_rad, from) =
            match (stated.or(own), predicted, problem.liquid.contact_angle_rad) {
                (Some(a), _, _) => {
                    (a.angle_rad, a.spread_rad, if stated.is_some() { "stated" } else { READ })
                }
                (None, Some((angle, spread)), _) => (angle, spread, "predicted from readings"),
                (None, None, Some(angle)) => (angle, 0.0, "the material's angle on solder mask"),
                (None, None, None) => return Err(Refusal::NoAngle { face: face.words() }),
            };
        if let (Some(a), Some((angle, spread))) = (stated, predicted)
            && (a.angle_rad - angle).abs() > 2.0 * a.spread_rad.hypot(spread)
        {
            let predicted = match angle {
                0.0 => "that the underfill spreads, 0 deg at rest".to_owned(),
                _ => format!("{:.0} deg", angle.to_degrees()),
            };
            faces.notes.push(format!(
                "On the {} the stated angle is {:.0} deg and the readings predict {predicted}: the stated one is used; measure the \
                 underfill's own angle.",
                face.words(),
                a.angle_rad.to_degrees(),
            ));
        }
        faces.angles.push(FaceAngle { face, angle_rad, spread_rad, from: from.into() });
    }
    Ok(faces)
}

/// The mean reading per liquid, in the order of the names: untreated, or brought to a dose (J) and a time after it (s).
fn drops(readings: &[&Reading], face: Face, moment: Option<(f64, f64)>, faces: &mut Faces) -> Vec<Drop> {
    let mut names: Vec<&str> = readings.iter().map(|r| r.liquid.name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    let mut found = Vec::new();
    for name in names {
        let of: Vec<&Reading> = readings.iter().copied().filter(|r| r.liquid.name == name).collect();
        let (before, after): (Vec<&Reading>, Vec<&Reading>) =
            of.iter().copied().partition(|r| r.dose_j == 0.0);
        let used = if moment.is_none() { &before } else { &after };
        let Some(first) = used.first() else { continue };
        let spread_rad = spread(used);
        let mut angle_rad = mean(used);
        if let Some((dose, queue)) = moment {
            let mut ageing = None;
            let youngest = after.iter().map(|r| r.age_s).fold(f64::INFINITY, f64::min);
            let fresh: Vec<&Reading> = after.iter().copied().filter(|r| r.age_s == youngest).collect();
            angle_rad = mean(&fresh);
            let doses: Vec<(f64, f64)> =
                before.iter().chain(&fresh).map(|r| (r.dose_j, r.angle_rad)).collect();
            match treatment::fit(&doses, 0.0) {
                Ok(law) => angle_rad = law.after(dose),
                Err(reason) => faces.notes.push(format!(
                    "On the {} with {name}, the plasma's rate is not found ({reason}); the mean reading after it stands for it.",
                    face.words()
                )),
            }
            // Age and dose both change an angle: ageing is read from the aged surface whose dose is nearest, and from no other.
            let aged = after.iter().filter(|r| r.age_s > youngest);
            let off = |r: &Reading| (r.dose_j - dose).abs();
            let nearest = aged.min_by(|a, b| off(a).total_cmp(&off(b))).map(|r| r.dose_j);
            let ages: Vec<(f64, f64)> = after
                .iter()
                .filter(|r| Some(r.dose_j) == nearest)
                .map(|r| (r.age_s - youngest, r.angle_rad))
                .collect();
            let untreated = if before.is_empty() { std::f64::consts::FRAC_PI_2 } else { mean(&before) };
            if ages.iter().any(|a| a.0 > 0.0)
                && let Ok(law) = treatment::fit(&ages, untreated)
            {
                let law = FirstOrder { start_rad: angle_rad, ..law };
                angle_rad = law.after((queue - youngest).max(0.0));
                ageing = Some(law);
            } else {
                faces.notes.push(format!(
                    "On the {} no readings with {name} show how the surface ages; the queue time of {:.1} h is not in the angle.",
                    face.words(),
                    queue / 3600.0
                ));
            }
            if name == "water" && face == Face::Substrate {
                faces.water = Some((angle_rad, ageing));
            }
        } else if name == "water" && face == Face::Substrate && faces.water.is_none() {
            faces.water = Some((angle_rad, None));
        }
        found.push(Drop {
            liquid: first.liquid.clone(),
            angle_rad: angle_rad.clamp(0.0, std::f64::consts::PI),
            spread_rad,
        });
    }
    found
}

fn mean(readings: &[&Reading]) -> f64 {
    readings.iter().map(|r| r.angle_rad).sum::<f64>() / readings.len() as f64
}

/// Standard deviation of the mean of the readings, from that of each.
fn spread(readings: &[&Reading]) -> f64 {
    let each = |r: &&Reading| if r.spread_rad > 0.0 { r.spread_rad } else { READING_SPREAD };
    readings.iter().map(|r| each(r).powi(2)).sum::<f64>().sqrt() / readings.len() as f64
}

/// The energy from drops; nothing (and a note) where they do not give one.
fn energy(
    face: Face,
    state: &str,
    drops: &[Drop],
    liquid: Parts,
    notes: &mut Vec<String>,
) -> Option<FaceEnergy> {
    if drops.is_empty() {
        return None;
    }
    let reads: Vec<owens_wendt::Read> = drops
        .iter()
        .map(|d| owens_wendt::Read {
            liquid: Parts { dispersive: d.liquid.dispersive_n_m, polar: d.liquid.polar_n_m },
            angle_rad: d.angle_rad,
            spread_rad: d.spread_rad,
        })
        .collect();
    let fit = match owens_wendt::fit(&reads) {
        Ok(fit) => fit,
        Err(reason) => {
            notes.push(format!(
                "The readings on the {} ({state}) give no surface energy: {reason}.",
                face.words()
            ));
            return None;
        }
    };
    if fit.clamped {
        notes.push(format!(
            "The readings on the {} ({state}) would ask for a negative part of the surface energy; it is set to zero.",
            face.words()
        ));
    }
    // The spread of the predicted angle: one angle of the readings at a time.
    let predicted = predicted_angle(fit.parts, liquid);
    let mut variance = 0.0;
    for i in 0..reads.len() {
        let mut shifted = reads.clone();
        let up = shifted[i].angle_rad + shifted[i].spread_rad;
        shifted[i].angle_rad = up.min(std::f64::consts::PI);
        if let Ok(moved) = owens_wendt::fit(&shifted) {
            variance += (predicted_angle(moved.parts, liquid) - predicted).powi(2);
        }
    }
    let with_angles: Vec<(&ProbeLiquid, f64)> = drops.iter().map(|d| (&d.liquid, d.angle_rad)).collect();
    let acid_base = acid_base::solve(&with_angles).ok().filter(|a| !a.negative_root);
    Some(FaceEnergy {
        face,
        state: state.into(),
        total_j_m2: fit.parts.total(),
        dispersive_j_m2: fit.parts.dispersive,
        polar_j_m2: fit.parts.polar,
        spread_j_m2: fit.spread[2],
        acid_base_total_j_m2: acid_base.map(|a| a.total()),
        predicted_angle_rad: predicted,
        predicted_spread_rad: variance.sqrt(),
    })
}
