//! The front's problem from the study's: bumps at their places, lines along the edges of the pattern, the clock of the cure.

use super::residue;
use crate::cure::{Course, LONGEST_S};
use crate::front::{self, Clock, Line, Map, Resolution};
use crate::problem::{Dispense, Edge, Face, Problem};
use crate::solve::Work;

/// When the face is wetted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moment {
    /// As the recipe has it: after plasma and queue time.
    Dispense,
    /// Without the plasma.
    Untreated,
}

/// Least number of cells along the shorter side.
const LEAST: usize = 64;

/// The edge of the first line: the given one, else the longest.
pub fn first_edge(dispense: &Dispense, size_m: [f64; 2]) -> Edge {
    dispense.edge.unwrap_or(if size_m[0] >= size_m[1] { Edge::Bottom } else { Edge::Left })
}

/// Lines of equal height of liquid along whole edges, pass after pass.
pub fn lines(dispense: &Dispense, size_m: [f64; 2], volume_m3: f64) -> Vec<Line> {
    let edges = dispense.pattern.edges(first_edge(dispense, size_m));
    let length = |edge: Edge| Line::ample(edge, size_m).to_m;
    let all: f64 = edges.iter().map(|e| length(*e)).sum();
    let passes = dispense.passes.max(1);
    (0..passes)
        .flat_map(|pass| edges.iter().map(move |edge| (pass, *edge)))
        .map(|(pass, edge)| Line {
            volume_m3: volume_m3 * length(edge) / (all * f64::from(passes)),
            start_s: f64::from(pass) * dispense.wait_s,
            ..Line::ample(edge, size_m)
        })
        .collect()
}

/// Points of a clock that is read off a cure.
const POINTS: i32 = 800;

/// The clock of a cure: dense where it begins, since a gap fills in a small part of the time to gel.
pub fn clock(course: &Course) -> Clock {
    let gel = course.gel_time();
    let end = gel.unwrap_or(0.99 * LONGEST_S);
    let first = (1e-5 * end).min(1e-3);
    let growth = (end / first).powf(1.0 / f64::from(POINTS));
    let mut points = vec![(0.0, 0.0)];
    for k in 0..=POINTS {
        let time = first * growth.powi(k);
        let fluidity = course.fluidity_time(time.min(end));
        // Close to the gel nothing flows any more.
        if points.last().is_some_and(|p| time > p.0 && fluidity > p.1) {
            points.push((time.min(end), fluidity));
        }
    }
    let after = match (gel, points.as_slice()) {
        (None, [.., a, b]) => Some((b.0 - a.0) / (b.1 - a.1)),
        _ => None,
    };
    Clock::new(points, after).unwrap_or_else(|| Clock::constant(f64::MAX))
}

/// The angle on a face beside residue: the map that was read with the underfill itself where that decides, else one number.
fn bare(work: &Work<'_>, face: Face) -> Map {
    let read = work.faces.angles.iter().any(|a| a.face == face && a.from == crate::faces::READ);
    let map = work.maps.iter().find(|m| read && m.face == face && m.liquid == crate::measured::UNDERFILL);
    map.map_or_else(
        || Map::Uniform(work.faces.angle(face)),
        |m| Map::Raster {
            low_m: m.step_m.map(|s| 0.5 * s),
            step_m: m.step_m,
            count: m.count,
            values: m.angle_rad.iter().map(|a| f64::from(*a)).collect(),
        },
    )
}

/// Longest step, cells: of two cells the fill time of 9,064 pillars is 1.6 % off, of one 0.15 %.
const LONGEST: f64 = 1.0;

/// The grid, and steps that make the same error on fine and coarse grids: it is of first order in the length of a step over that of
/// the die.
fn resolution(problem: &Problem, fineness: f64) -> Resolution {
    let shorter = problem.die.width_m.min(problem.die.height_m);
    let across = problem.bumps.map_or(0.0, |b| shorter * fineness / b.pitch_m);
    let rows = (LEAST as f64).max(across);
    let usual = Resolution::default();
    let advance = (usual.advance * rows / LEAST as f64).clamp(usual.advance, LONGEST);
    Resolution { cells_a_pitch: fineness, least: LEAST, advance, ..usual }
}

/// The problem of the front.
pub(crate) fn problem(work: &Work<'_>, fineness: f64, moment: Moment) -> front::Problem {
    let p = work.problem;
    let size_m = [p.die.width_m, p.die.height_m];
    let angle = |face: Face| residue::angles(p, &work.cleaning, face, bare(work, face), moment);
    front::Problem {
        size_m,
        gap_m: Map::Uniform(p.gap_m),
        bumps: p.bumps.filter(|_| !p.places_m.is_empty()).map(|b| front::Bumps {
            places_m: p.places_m.clone(),
            diameter_m: b.diameter_m,
            shape: b.shape,
            lattice: b.lattice,
        }),
        tension_n_m: p.liquid.surface_tension_n_m,
        angle_die_rad: angle(Face::Die),
        angle_substrate_rad: angle(Face::Substrate),
        angle_bump_rad: angle(Face::Bump),
        blocked: Vec::new(),
        walls: Vec::new(),
        lines: lines(&p.dispense, size_m, work.dispensed),
        clock: work.clock.clone(),
        shear: None,
        ambient_pa: p.ambient_pa,
        resolution: resolution(p, fineness),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Pattern;
    use crate::cure::{Chemoviscosity, History, Kinetics, Melt};

    #[test]
    fn lines_hold_what_is_dispensed_and_lie_along_their_edges() {
        let dispense = Dispense {
            temperature_k: 363.0,
            heating: None,
            pattern: Pattern::U,
            edge: None,
            passes: 2,
            wait_s: 5.0,
            offset_m: None,
            volume_m3: None,
        };
        let lines = lines(&dispense, [4e-3, 2e-3], 8e-9);
        assert_eq!(lines.len(), 6);
        assert!((lines.iter().map(|l| l.volume_m3).sum::<f64>() - 8e-9).abs() < 1e-20);
        assert_eq!((lines[0].edge, lines[0].to_m, lines[0].start_s), (Edge::Bottom, 4e-3, 0.0));
        assert_eq!((lines[4].edge, lines[4].to_m, lines[4].start_s), (Edge::Right, 2e-3, 5.0));
        assert!((lines[0].volume_m3 / lines[1].volume_m3 - 2.0).abs() < 1e-12);
    }

    #[test]
    fn a_clock_tells_the_time_of_its_cure() {
        let melt = Melt { points: &[(363.0, 0.15)], energy_j_mol: 55e3 };
        let heated = History::steps(330.0, [(20.0, 363.0, 0.0)]);
        let course =
            Course::follow(Kinetics::starting(600.0, 75e3), Chemoviscosity::STARTING, melt, &heated).unwrap();
        let clock = clock(&course);
        for time in [0.5, 5.0, 20.0, 60.0, 600.0] {
            let told = clock.time(course.fluidity_time(time)).unwrap();
            assert!((told / time - 1.0).abs() < 1e-4, "{time} {told}");
        }
        let gel = clock.gel().unwrap();
        assert!((gel / course.most_fluidity() - 1.0).abs() < 1e-6 && clock.time(1.01 * gel).is_none());
    }
}
