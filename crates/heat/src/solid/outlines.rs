//! Outlines of parts over a map: footprints of the dies in plan, every part that the plane cuts in section.

use super::parts::{Area, Part, Parts};
use crate::problem::Problem;
use serde::{Deserialize, Serialize};

/// A rectangle with a name on a map.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outline {
    /// Name.
    pub name: String,
    /// Smaller and larger value along the columns of the map, m.
    pub across: [f64; 2],
    /// The same along its rows, m.
    pub along: [f64; 2],
}

/// Footprints of all dies.
pub(super) fn in_plan(problem: &Problem, parts: &Parts<'_>) -> Vec<Outline> {
    let one = |(die, area): (&crate::problem::Die, &Area)| Outline {
        name: die.name.clone(),
        across: [area.from[0], area.to[0]],
        along: [area.from[1], area.to[1]],
    };
    problem.dies.iter().zip(&parts.dies).map(one).collect()
}

/// Parts that a plane of constant y cuts, layers of one part as one, clipped to a range of x.
pub(super) fn in_section(problem: &Problem, parts: &Parts<'_>, y: f64, range: [f64; 2]) -> Vec<Outline> {
    let mut out: Vec<(Part, [f64; 2], [f64; 2])> = Vec::new();
    for slab in &parts.slabs {
        let cut = |area: &Area| y > area.from[1] && y < area.to[1];
        if slab.part == Part::Air || !cut(&slab.area) {
            continue;
        }
        let [left, right] = [slab.area.from[0], slab.area.to[0]];
        let pieces = match slab.hole.filter(cut) {
            Some(hole) => vec![[left, hole.from[0]], [hole.to[0], right]],
            None => vec![[left, right]],
        };
        for piece in pieces {
            let piece = [piece[0].max(range[0]), piece[1].min(range[1])];
            if piece[0] >= piece[1] {
                continue;
            }
            let below =
                out.iter_mut().find(|(part, x, z)| *part == slab.part && *x == piece && z[1] == slab.z[0]);
            match below {
                Some((_, _, z)) => z[1] = slab.z[1],
                None => out.push((slab.part, piece, slab.z)),
            }
        }
    }
    let name = |part: Part| match part {
        Part::Die(i) => problem.dies[i].name.clone(),
        Part::Interface(i) => {
            problem.dies[i].interface.as_ref().map_or("interface".into(), |t| t.name.clone())
        }
        other => other.kind().into(),
    };
    out.into_iter().map(|(part, across, along)| Outline { name: name(part), across, along }).collect()
}
