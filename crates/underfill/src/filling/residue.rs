//! The contact angle over a face with residue, before and after plasma.
//!
//! The angle of a partly covered place is the mean of the cosines by the shares ([`crate::contamination::residue`]). The plasma leaves the
//! share of the residue that is stated; else residue goes as the readings say ([`crate::cleaning`]), of first order in the dose.
//! Without either it is taken to stay, and a note says so.

use super::task::Moment;
use crate::cleaning::Cleaning;
use crate::contamination::residue::angle_of;
use crate::front::Map;
use crate::problem::{Angle, Extent, Face, Problem, ResiduePatch};

/// Points along the longer side of a map of residue that is not made of figures alone.
const FINE: usize = 256;

/// Share of the residue on a face that the plasma leaves.
pub(crate) struct Left {
    /// Share, 0 to 1.
    pub share: f64,
    /// One standard deviation; absent for a stated share, and where nothing is known.
    pub spread: Option<f64>,
    /// Where it comes from.
    pub basis: &'static str,
    /// What is to be said of it.
    pub told: Option<String>,
}

/// What the plasma leaves on a face: what the design states, else what the readings of the face say, else what drops on the
/// residue of another face say, as it is the same residue.
pub(crate) fn left(problem: &Problem, cleaning: &[Cleaning], face: Face) -> Left {
    let known = |share: f64, spread: Option<f64>, basis, told| Left { share, spread, basis, told };
    if problem.plasma.is_none() {
        return known(1.0, None, "no plasma", None);
    }
    if let Some(left) = problem.residue_left {
        return known(left, None, "share that the design states", None);
    }
    let own = cleaning.iter().find(|c| c.face == face);
    let other = || cleaning.iter().find(|c| c.seen_on_residue);
    let told = |c: &Cleaning, how: String| {
        let (share, spread) = c.left();
        let told = format!(
            "The plasma leaves {:.1} +- {:.1} % of the residue on the {}: {how}.",
            100.0 * share,
            100.0 * spread,
            face.words()
        );
        (share, Some(spread), Some(told))
    };
    match (own.filter(|c| c.seen_on_residue), other(), own) {
        (Some(c), ..) => {
            let (share, spread, told) =
                told(c, format!("drops of {} on it before and after plasma show that", c.liquid));
            known(
                share,
                spread,
                "first order in the dose, by drops on the residue before and after plasma",
                told,
            )
        }
        (None, Some(c), _) => {
            let (share, spread, told) = told(
                c,
                format!("it is taken to go as that on the {} does, where drops show it", c.face.words()),
            );
            known(share, spread, "first order in the dose, by drops on the residue of another face", told)
        }
        (None, None, Some(c)) => {
            let how = "it is taken to go at the rate at which the readings' angle falls with the dose";
            let (share, spread, told) = told(c, how.into());
            known(share, spread, "first order in the dose, at the rate of the bare face's angle", told)
        }
        (None, None, None) => known(
            1.0,
            None,
            "not known, taken to stay",
            Some(format!(
                "What the plasma does to the residue on the {} is not known and it is taken to stay: state the share that is left, or give \
                 readings before and after.",
                face.words()
            )),
        ),
    }
}

/// Whether residue lies on a face.
pub(crate) fn lies_on(problem: &Problem, face: Face) -> bool {
    problem.residues.iter().any(|r| r.face == face)
}

/// Contact angle over a face that has the angle `bare` (rad) beside the residue.
pub(crate) fn angles(problem: &Problem, cleaning: &[Cleaning], face: Face, bare: Map, moment: Moment) -> Map {
    let patches: Vec<&ResiduePatch> = problem.residues.iter().filter(|r| r.face == face).collect();
    if patches.is_empty() {
        return bare;
    }
    let left = match moment {
        Moment::Dispense => left(problem, cleaning, face).share,
        Moment::Untreated => 1.0,
    };
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
    raster(size, |place| {
        let share = share_at(&patches, size, place);
        share.map_or_else(|| bare.at(place), |(share, r)| mixed(share * r.cover, bare.at(place), r.angle_rad))
    })
}

/// Share of a face that residue covers before any plasma.
pub(crate) fn cover(problem: &Problem, face: Face) -> Map {
    let patches: Vec<&ResiduePatch> = problem.residues.iter().filter(|r| r.face == face).collect();
    let size = [problem.die.width_m, problem.die.height_m];
    if patches.iter().all(|r| matches!(r.extent, Extent::Shape(_))) {
        let patches = patches.iter().filter_map(|r| match &r.extent {
            Extent::Shape(shape) => Some((shape.clone(), r.cover)),
            Extent::Grid { .. } => None,
        });
        return Map::Patches { ground: 0.0, patches: patches.collect() };
    }
    raster(size, |place| share_at(&patches, size, place).map_or(0.0, |(share, r)| share * r.cover))
}

/// The residue at a place with its share there before its own factor. Of residues over each other the last counts, as with
/// figures.
fn share_at<'a>(
    patches: &[&'a ResiduePatch],
    size: [f64; 2],
    place: [f64; 2],
) -> Option<(f64, &'a ResiduePatch)> {
    patches.iter().rev().find_map(|r| {
        let share = match &r.extent {
            Extent::Shape(shape) => shape.holds(place).then_some(1.0)?,
            Extent::Grid { count, shares } => {
                let cell = |k: usize| ((place[k] / size[k] * count[k] as f64) as usize).min(count[k] - 1);
                Some(shares[cell(1) * count[0] + cell(0)]).filter(|s| *s > 0.0)?
            }
        };
        Some((share, *r))
    })
}

/// Numbers over even cells of the die.
fn raster(size: [f64; 2], at: impl Fn([f64; 2]) -> f64) -> Map {
    let longer = size[0].max(size[1]);
    let count = size.map(|s| ((FINE as f64 * s / longer).ceil() as usize).max(2));
    let step_m = [0, 1].map(|k| size[k] / count[k] as f64);
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
        let found = crate::measured::read(&problem);
        let cleaning = crate::cleaning::judge(&problem, &found);
        // Water fell from 72 to 24 deg with a single dose: exp(-rate dose) is 24 / 72.
        let water = left(&problem, &cleaning, Face::Substrate);
        assert!((water.share - 24.0 / 72.0).abs() < 1e-9 && water.told.is_some(), "{}", water.share);
        // Each angle is known to 0.03 rad: of the ratio, to first order.
        let by_readings = 24.0 / 72.0 * 0.03_f64.hypot(0.03 / 3.0) / 24_f64.to_radians();
        assert!(water.spread.unwrap() > by_readings, "the assumed end adds to it");
        let stays = left(&problem, &cleaning, Face::Die);
        assert!(stays.share == 1.0 && stays.told.is_some());
        problem.residue_left = Some(0.05);
        let stated = left(&problem, &cleaning, Face::Die);
        assert!(stated.share == 0.05 && stated.told.is_none());
        let map = angles(&problem, &cleaning, Face::Substrate, Map::Uniform(0.5), Moment::Untreated);
        let cosine: f64 = 0.8 * 2.0_f64.cos() + 0.2 * 0.5_f64.cos();
        assert!((map.at([0.5e-3, 0.5e-3]).cos() - cosine).abs() < 1e-12 && map.at([2e-3, 2e-3]) == 0.5);
    }

    #[test]
    fn a_grid_covers_the_die_from_its_lower_left_corner() {
        let grid = Extent::Grid { count: [2, 1], shares: vec![1.0, 0.0] };
        let mut problem = dirty(grid);
        problem.residue_left = Some(0.0);
        let map = angles(&problem, &[], Face::Substrate, Map::Uniform(0.5), Moment::Untreated);
        assert!(cover(&problem, Face::Substrate).at([1e-3, 3e-3]) == 0.8);
        assert!(map.at([1e-3, 3e-3]) > 1.3 && (map.at([6e-3, 3e-3]) - 0.5).abs() < 1e-12);
        let clean = angles(&problem, &[], Face::Substrate, Map::Uniform(0.5), Moment::Dispense);
        assert!((clean.at([1e-3, 3e-3]) - 0.5).abs() < 1e-9);
    }
}
