//! What the cleaning step does to each face, from the readings of the design: dose law, ageing, residue, and the recipe's sheet.
//!
//! The room [`crate::contamination`] knows one face with its laws. Here the study's readings become those laws, each with what
//! it is uncertain by: fresh readings over the dose that of the bare face, later ones its ageing, and drops that lie on a patch
//! of residue how quickly residue goes. Water judges the cleaning; what the underfill itself does is another matter
//! (the angles of the faces).

use crate::contamination::residue::share_of;
use crate::contamination::sheet as sheet_of;
use crate::contamination::{
    Ageing, CleanTask, CleaningSheet, FittedLaw, GasLaw, Limit, Read, Removal, Residue,
};
use crate::filling::residue::cover;
use crate::front::Map;
use crate::measured::{DropFound, Found};
use crate::problem::{Angle, Face, Plasma, Problem, Reading};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// Where the dose law ends if the readings show no end: full wetting, known to 10 deg (common practice, no source).
const END: Angle = Angle { angle_rad: 0.0, spread_rad: 10.0 * PI / 180.0 };

/// A face through its cleaning step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cleaning {
    /// Face.
    pub face: Face,
    /// Liquid that it was read with.
    pub liquid: String,
    /// Fresh readings of the bare face over dose, J.
    pub fresh: Vec<Read>,
    /// Later readings over the time after plasma, s, of the dose nearest to the step's.
    pub aged: Vec<Read>,
    /// The step.
    pub plasma: Plasma,
    /// Time from the step to dispensing, s.
    pub queue_s: f64,
    /// Angle of the bare face over dose, J.
    pub law: FittedLaw,
    /// How it ages.
    pub ageing: Ageing,
    /// How quickly residue goes.
    pub removal: Removal,
    /// True where drops on residue show that; else it is the rate at which the bare face's angle falls.
    pub seen_on_residue: bool,
    /// Bare face right after the step.
    pub at_once: Angle,
    /// Bare face at dispensing.
    pub at_dispense: Angle,
    /// Numbers and lines for the process sheet, where water was read: its limit is one of water.
    pub sheet: Option<CleaningSheet>,
}

impl Cleaning {
    /// Dose of the step, J.
    pub fn dose_j(&self) -> f64 {
        self.plasma.power_w * self.plasma.time_s
    }

    /// Share of the residue that the step leaves, with one standard deviation.
    pub fn left(&self) -> (f64, f64) {
        self.removal.left(self.dose_j())
    }
}

/// The faces whose readings before and after plasma show what the step does.
pub(crate) fn judge(problem: &Problem, found: &Found) -> Vec<Cleaning> {
    let Some(plasma) = problem.plasma else { return Vec::new() };
    [Face::Substrate, Face::Die, Face::Bump]
        .into_iter()
        .filter_map(|face| of_face(problem, found, face, plasma))
        .collect()
}

fn of_face(problem: &Problem, found: &Found, face: Face, plasma: Plasma) -> Option<Cleaning> {
    let on_face: Vec<&Reading> = problem.readings.iter().filter(|r| r.face == face).collect();
    // Water tells residue best; without it the liquid that was read first.
    let liquid = on_face.iter().find(|r| r.liquid.name == "water").or(on_face.first())?.liquid.name.clone();
    let of: Vec<&Reading> = on_face.into_iter().filter(|r| r.liquid.name == liquid).collect();
    let dose_j = plasma.power_w * plasma.time_s;
    let youngest = of.iter().filter(|r| r.dose_j > 0.0).map(|r| r.age_s).fold(f64::INFINITY, f64::min);
    let read = |dose: f64, r: &Reading| Read { dose, angle_rad: r.angle_rad, spread_rad: r.spread_rad };
    let fresh: Vec<Read> =
        of.iter().filter(|r| r.dose_j == 0.0 || r.age_s == youngest).map(|r| read(r.dose_j, r)).collect();
    let law = FittedLaw::of(&fresh, END).ok()?;
    let untreated = law.after(0.0);
    // Age and dose both change an angle: ageing is read from the aged surface whose dose is nearest, and from no other.
    let off = |r: &Reading| (r.dose_j - dose_j).abs();
    let older = of.iter().filter(|r| r.dose_j > 0.0 && r.age_s > youngest);
    let nearest = older.min_by(|a, b| off(a).total_cmp(&off(b))).map(|r| r.dose_j);
    let aged: Vec<Read> =
        of.iter().filter(|r| Some(r.dose_j) == nearest).map(|r| read(r.age_s - youngest, r)).collect();
    let ageing = Ageing::of(&aged, untreated).unwrap_or_else(|_| Ageing::starting(untreated));
    let (removal, covered) = match on_residue(problem, found, (face, &liquid), &law) {
        Some((removal, covered)) => (removal, Some(covered)),
        None => {
            let removal =
                Removal { rate_per_j: law.law.rate, spread_per_j: law.covariance[2][2].max(0.0).sqrt() };
            (removal, None)
        }
    };
    let queue_s = problem.queue_s;
    let at_once = law.after(dose_j);
    let waited = if youngest.is_finite() { (queue_s - youngest).max(0.0) } else { queue_s };
    let at_dispense = ageing.after(at_once, waited);
    let residue = match covered {
        Some(_) => Residue::Share { share: cover(problem, face), spread: 0.0 },
        None => Residue::none(),
    };
    let sheet = (liquid == "water").then(|| {
        sheet_of(&CleanTask {
            size_m: [problem.die.width_m, problem.die.height_m],
            residue,
            covered: covered.unwrap_or(untreated),
            untreated,
            gases: vec![GasLaw { gas: plasma.gas, bare: law, removal }],
            plasma: Some(plasma),
            queue_s: waited,
            ageing: ageing.clone(),
            limit: Limit::default(),
        })
    });
    Some(Cleaning {
        face,
        liquid,
        fresh,
        aged,
        plasma,
        queue_s,
        law,
        ageing,
        removal,
        seen_on_residue: covered.is_some(),
        at_once,
        at_dispense,
        sheet: sheet.and_then(Result::ok),
    })
}

/// Rate of removal from drops that lie on residue, with the liquid's angle on residue alone: that of the drops before plasma,
/// without the share of the bare face beside it.
fn on_residue(
    problem: &Problem,
    found: &Found,
    (face, liquid): (Face, &str),
    bare: &FittedLaw,
) -> Option<(Removal, Angle)> {
    let map = cover(problem, face);
    let drops: Vec<(&DropFound, f64)> = found
        .shown
        .drops
        .iter()
        .filter(|d| d.face == face && d.liquid == liquid)
        .filter_map(|d| Some((d, map.at(d.place_m?))).filter(|d| d.1 > 0.0))
        .collect();
    let youngest = drops.iter().filter(|d| d.0.dose_j > 0.0).map(|d| d.0.age_s).fold(f64::INFINITY, f64::min);
    let untreated = bare.after(0.0);
    // Mean of the cosines: cos(read) = share cos(residue) + (1 - share) cos(bare).
    let before = drops.iter().filter(|d| d.0.dose_j == 0.0);
    let alone: Vec<(f64, f64)> = before
        .map(|(d, share)| {
            let cosine = (d.angle_rad.cos() - (1.0 - share) * untreated.angle_rad.cos()) / share;
            (cosine.clamp(-1.0, 1.0).acos(), d.spread_rad / share)
        })
        .collect();
    let n = alone.len() as f64;
    let covered = Angle {
        angle_rad: alone.iter().map(|a| a.0).sum::<f64>() / n,
        spread_rad: alone.iter().map(|a| a.1 * a.1).sum::<f64>().sqrt() / n,
    };
    let reads: Vec<Read> = drops
        .iter()
        .filter(|d| d.0.dose_j == 0.0 || d.0.age_s == youngest)
        .map(|(d, _)| Read { dose: d.dose_j, angle_rad: d.angle_rad, spread_rad: d.spread_rad })
        .collect();
    share_of(covered, untreated, covered).ok()?;
    Some((Removal::of(&reads, bare, covered).ok()?, covered))
}

/// True where a drop lies on residue of its face: it does not tell of the bare face.
pub(crate) fn lies_on_residue(problem: &Problem, face: Face, place_m: Option<[f64; 2]>) -> bool {
    place_m.is_some_and(|place| match cover(problem, face) {
        Map::Uniform(share) => share > 0.0,
        map => map.at(place) > 0.0,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::contamination::residue::angle_of;
    use crate::front::Shape;
    use crate::problem::{Drop, Extent, Measured, ResiduePatch};
    use crate::specimen;
    use crate::surface::probe_liquid;

    /// Water by a known law on the bare face and on a patch of residue with a known rate.
    fn problem(rate: f64) -> Problem {
        let mut problem = specimen::wetting();
        problem.residues.push(ResiduePatch {
            face: Face::Substrate,
            extent: Extent::Shape(Shape::Rectangle { low_m: [1e-3; 2], high_m: [2e-3; 2] }),
            cover: 0.8,
            angle_rad: 2.0,
        });
        let angle = |degrees: f64| Angle { angle_rad: degrees.to_radians(), spread_rad: 0.0 };
        let bare = |dose: f64| 20.0 + 50.0 * (-dose / 8e3).exp();
        for dose_j in [0.0, 4e3, 9e3, 27e3] {
            for (place, share) in [([5e-3, 5e-3], 0.0), ([1.5e-3, 1.5e-3], 0.8 * (-rate * dose_j).exp())] {
                let read = angle_of((share, 0.0), angle(bare(dose_j)), angle(100.0));
                problem.drops.push(Drop {
                    face: Face::Substrate,
                    liquid: probe_liquid("water"),
                    how: Measured::Angle(read.angle_rad),
                    spread_rad: 0.02,
                    dose_j,
                    age_s: 0.0,
                    place_m: Some(place),
                    lot: None,
                });
            }
        }
        problem
    }

    fn judged(problem: &Problem) -> Vec<Cleaning> {
        let found = crate::measured::read(problem);
        let readings = problem.readings.iter().chain(&found.readings).cloned().collect();
        judge(&Problem { readings, ..problem.clone() }, &found)
    }

    #[test]
    fn drops_beside_and_on_residue_give_both_laws_back() {
        let problem = Problem { queue_s: 600.0, ..problem(1e-4) };
        let [clean] = &judged(&problem)[..] else { panic!("one face") };
        assert!((clean.law.law.rate * 8e3 - 1.0).abs() < 1e-4, "{:?}", clean.law);
        assert!(clean.seen_on_residue && clean.fresh.len() == 4);
        assert!((clean.removal.rate_per_j / 1e-4 - 1.0).abs() < 1e-3, "{:?}", clean.removal);
        // 300 W for 90 s.
        let (left, spread) = clean.left();
        assert!((left / (-2.7_f64).exp() - 1.0).abs() < 5e-3 && spread > 0.0 && spread < left);
        // Nothing was read after waiting: a labelled starting value, and an angle above the fresh one.
        assert!(clean.ageing.source.contains("starting value"));
        assert!(clean.at_dispense.angle_rad > clean.at_once.angle_rad);
        let sheet = clean.sheet.as_ref().unwrap();
        // Water on residue is part of the worst place, so that it asks for more than the bare face.
        assert!(sheet.dose_j.unwrap() > sheet.bare_dose.unwrap().best);
    }

    #[test]
    fn without_drops_on_residue_it_goes_as_the_bare_face_does_and_without_water_there_is_no_limit() {
        let mut problem = problem(1e-4);
        problem.drops.retain(|d| d.place_m == Some([5e-3, 5e-3]));
        let [clean] = &judged(&problem)[..] else { panic!("one face") };
        assert!(!clean.seen_on_residue && clean.removal.rate_per_j == clean.law.law.rate);
        for drop in &mut problem.drops {
            drop.liquid = probe_liquid("formamide");
        }
        assert!(judged(&problem)[0].sheet.is_none());
        problem.drops.retain(|d| d.dose_j == 0.0);
        assert!(judged(&problem).is_empty());
        problem.plasma = None;
        assert!(judged(&problem).is_empty());
    }
}
