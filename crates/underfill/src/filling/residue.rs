//! The contact angle over a face with residue, before and after plasma.
//!
//! The angle of a partly covered place is the mean of the cosines by the shares ([`crate::contamination::residue`]). The plasma leaves the
//! share of the residue that is stated; else residue goes at the rate at which the readings' angle falls with the dose, of
//! first order. Without either it is taken to stay, and a note says so.

use super::task::Moment;
use crate::contamination::residue::angle_of;
use crate::front::Map;
use crate::problem::{Angle, Extent, Face, Problem, ResiduePatch};
use crate::treatment;

/// Points along the longer side of a map of residue that is not made of figures alone.
const FINE: usize = 256;

/// Share of the residue on a face that is left at a moment, with what is to be said of it.
pub(crate) fn left(problem: &Problem, face: Face, moment: Moment) -> (f64, Option<String>) {
    let (Some(plasma), Moment::Dispense) = (problem.plasma, moment) else { return (1.0, None) };
    if let Some(left) = problem.residue_left {
        return (left, None);
    }
    let dose_j = plasma.power_w * plasma.time_s;
    let of_face = || problem.readings.iter().filter(|r| r.face == face);
    // Water tells residue best; without it the liquid that was read first.
    let liquid = of_face()
        .find(|r| r.liquid.name == "water")
        .or_else(|| of_face().next())
        .map(|r| r.liquid.name.as_str());
    let youngest = of_face().filter(|r| r.dose_j > 0.0).map(|r| r.age_s).fold(f64::INFINITY, f64::min);
    let readings: Vec<(f64, f64)> = of_face()
        .filter(|r| Some(r.liquid.name.as_str()) == liquid && (r.dose_j == 0.0 || r.age_s == youngest))
        .map(|r| (r.dose_j, r.angle_rad))
        .collect();
    match treatment::fit(&readings, 0.0) {
        Ok(law) => {
            let left = (-law.rate * dose_j).exp();
            let told = format!(
                "The plasma leaves {:.1} % of the residue on the {}: it is taken to go at the rate at which the readings' angle falls \
                 with the dose.",
                100.0 * left,
                face.words()
            );
            (left, Some(told))
        }
        Err(_) => {
            let told = format!(
                "What the plasma does to the residue on the {} is not known and it is taken to stay: state the share that is left, or give \
                 readings before and after.",
                face.words()
            );
            (1.0, Some(told))
        }
    }
}

/// Whether residue lies on a face.
pub(crate) fn lies_on(problem: &Problem, face: Face) -> bool {
    problem.residues.iter().any(|r| r.face == face)
}

/// Contact angle over a face that has the angle `bare` (rad) beside the residue.
pub(crate) fn angles(problem: &Problem, face: Face, bare: Map, moment: Moment) -> Map {
    let patches: Vec<&ResiduePatch> = problem.residues.iter().filter(|r| r.face == face).collect();
    if patches.is_empty() {
        return bare;
    }
    let left = left(problem, face, moment).0;
    let sharp = |angle_rad: f64| Angle { angle_rad, spread_rad: 0.0 };
    let mixed =
        |share: f64, bare: f64, on: f64| angle_of((share * left, 0.0), sharp(bare), sharp(on)).angle_rad;
    let size = [problem.die.width_m, problem.die.height_m];
    if let Some(ground) = bare.uniform()
        && patches.iter().all(|r| matches!(r.extent, Extent::Shape(_)))
    {
        let patches = patches.iter().filter_map(|r| match &r.extent {
            Extent::Shape(shape) => Some((shape.clone(), mixed(r.cover, ground, r.angle_rad))),
            Extent::Grid { .. } => None,
        });
        return Map::Patches { ground, patches: patches.collect() };
    }
    let longer = size[0].max(size[1]);
    let count = size.map(|s| ((FINE as f64 * s / longer).ceil() as usize).max(2));
    let step_m = [0, 1].map(|k| size[k] / count[k] as f64);
    let at = |place: [f64; 2]| {
        // Of residues over each other the last counts, as with figures.
        let found = patches.iter().rev().find_map(|r| {
            let share = match &r.extent {
                Extent::Shape(shape) => shape.holds(place).then_some(1.0)?,
                Extent::Grid { count, shares } => {
                    let cell = |k: usize| ((place[k] / size[k] * count[k] as f64) as usize).min(count[k] - 1);
                    Some(shares[cell(1) * count[0] + cell(0)]).filter(|s| *s > 0.0)?
                }
            };
            Some(mixed(share * r.cover, bare.at(place), r.angle_rad))
        });
        found.unwrap_or_else(|| bare.at(place))
    };
    let values = (0..count[0] * count[1]).map(|k| {
        let index = [k % count[0], k / count[0]];
        at([0, 1].map(|a| (index[a] as f64 + 0.5) * step_m[a]))
    });
    Map::Raster { low_m: step_m.map(|s| 0.5 * s), step_m, count, values: values.collect() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::front::Shape;
    use crate::specimen;

    fn dirty(extent: Extent) -> Problem {
        let mut problem = specimen::with_readings();
        problem.residues.push(ResiduePatch { face: Face::Substrate, extent, cover: 0.8, angle_rad: 2.0 });
        problem
    }

    #[test]
    fn plasma_takes_residue_at_the_rate_of_the_readings_or_as_stated() {
        let bar = Extent::Shape(Shape::Rectangle { low_m: [0.0; 2], high_m: [1e-3; 2] });
        let mut problem = dirty(bar);
        assert_eq!(left(&problem, Face::Substrate, Moment::Untreated), (1.0, None));
        // Water fell from 72 to 24 deg with a single dose: exp(-rate dose) is 24 / 72.
        let (share, told) = left(&problem, Face::Substrate, Moment::Dispense);
        assert!((share - 24.0 / 72.0).abs() < 1e-9 && told.is_some(), "{share}");
        let stays = left(&problem, Face::Die, Moment::Dispense);
        assert!(stays.0 == 1.0 && stays.1.is_some());
        problem.residue_left = Some(0.05);
        assert_eq!(left(&problem, Face::Die, Moment::Dispense), (0.05, None));
        let map = angles(&problem, Face::Substrate, Map::Uniform(0.5), Moment::Untreated);
        let cosine: f64 = 0.8 * 2.0_f64.cos() + 0.2 * 0.5_f64.cos();
        assert!((map.at([0.5e-3, 0.5e-3]).cos() - cosine).abs() < 1e-12 && map.at([2e-3, 2e-3]) == 0.5);
    }

    #[test]
    fn a_grid_covers_the_die_from_its_lower_left_corner() {
        let grid = Extent::Grid { count: [2, 1], shares: vec![1.0, 0.0] };
        let mut problem = dirty(grid);
        problem.residue_left = Some(0.0);
        let map = angles(&problem, Face::Substrate, Map::Uniform(0.5), Moment::Untreated);
        assert!(map.at([1e-3, 3e-3]) > 1.3 && (map.at([6e-3, 3e-3]) - 0.5).abs() < 1e-12);
        let clean = angles(&problem, Face::Substrate, Map::Uniform(0.5), Moment::Dispense);
        assert!((clean.at([1e-3, 3e-3]) - 0.5).abs() < 1e-9);
    }
}
