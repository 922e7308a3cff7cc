//! The grid of a package: every edge of every box is an edge of the grid, finest at the dies.
//!
//! In the plane the spacing is a share of the smallest die or block and grows outward; along z a layer that is thinner
//! than the spacing is one cell, which costs no accuracy, because a stack of layers is exact across at any number of
//! cells, and the thick ones are cut so that heat can turn in them. All spacings are divided by the fineness.

use super::parts::{Area, Conduct, Parts};
use super::pitch::filled;
use crate::network::{Downward, Setting};
use crate::problem::{Problem, VoidPlaces};
use crate::standards::RING_DISTANCE_M;
use facedown_field::grid::{Grid, Growth, Mark, NotAGrid, graded};

/// Cells over the shorter side of the smallest die at fineness 1.
const OVER_A_DIE: f64 = 26.0;
/// Cells over the longer side of all dies together at fineness 1, at most.
const OVER_ALL_DIES: f64 = 64.0;
/// Cells over the shorter side of a power block at fineness 1, at least.
const OVER_A_BLOCK: f64 = 4.0;
/// Cells over a round void at fineness 1, and how many of the largest voids have lines of their own.
const OVER_A_VOID: f64 = 8.0;
const SEEN_VOIDS: usize = 12;
/// Finest spacing that a power grid or a void asks for, over that of a die: heat spreads in the die before it is felt.
const FINER: f64 = 0.5;
/// Rim beside an array of joints that has a line of its own, over the cells of the smallest die at fineness 1.
const WORTH_A_LINE: f64 = 0.3;
/// Cells over the board's longer side at fineness 1, far from the package.
const OVER_A_BOARD: f64 = 30.0;
/// Cells at the edges of all other parts, over those of a die. Heat turns into the board at the edge of the substrate: twice
/// as coarse there cost as much again as all other edges together, against finite elements (`tests/oracle`).
const AT_EDGES: f64 = 0.7;
/// Thickest cell inside the package at fineness 1, m.
const THICKEST: f64 = 120e-6;
/// Edges in the plane nearer than this are one, m.
const NEAREST: f64 = 2e-8;
/// Faces along z nearer than this are one, m: below the thinnest layer that is accepted, because a film of a nanometre may
/// well resist.
pub(super) const SAME: f64 = 5e-10;

/// Largest ratio of neighbouring cells at fineness 1. Its logarithm is divided by the fineness like the spacings: a finer
/// grid is the coarser one cut smaller everywhere, without which the differences of companion grids tell no order.
const GROWTH: f64 = 1.3;

/// First cell on either side of an active face where the first microseconds count, m, and the ratio that they grow by.
const EARLY: (f64, f64) = (1e-6, 1.6);

/// How finely a package is cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cut {
    /// Spacings are divided by it.
    pub fineness: f64,
    /// Cells at the active faces are thin enough for the first microsecond.
    pub early: bool,
}

/// Outer sides of the ring that is held cold, from the package (JESD51-8: at least 4 mm wide), m.
pub(super) const RING_WIDTH_M: f64 = 4e-3;

/// Blocks of all dies in space.
pub(super) fn blocks(problem: &Problem, parts: &Parts<'_>) -> Vec<(usize, Area, f64)> {
    let mut out = Vec::new();
    for (i, die) in problem.dies.iter().enumerate() {
        let [x, y] = parts.dies[i].from;
        for b in &die.blocks {
            let from = [x + b.x_m, y + b.y_m];
            out.push((i, Area { from, to: [from[0] + b.width_m, from[1] + b.height_m] }, b.power_w));
        }
    }
    out
}

/// The inner and the outer edge of the cold ring.
pub(super) fn ring(parts: &Parts<'_>) -> [Area; 2] {
    [RING_DISTANCE_M, RING_DISTANCE_M + RING_WIDTH_M].map(|d| {
        let [w, h] = parts.substrate.size();
        Area::around(parts.substrate.middle(), [w + 2.0 * d, h + 2.0 * d])
    })
}

/// Draws the grid.
pub(super) fn grid(
    problem: &Problem,
    setting: &Setting,
    parts: &Parts<'_>,
    cut: Cut,
) -> Result<Grid, NotAGrid> {
    let fineness = cut.fineness;
    let smallest = parts.dies.iter().flat_map(Area::size).fold(f64::INFINITY, f64::min);
    // Several small dies side by side are cut as one large one of their extent.
    let extent = (0..2).map(|a| {
        let ends = parts
            .dies
            .iter()
            .fold([f64::INFINITY, f64::NEG_INFINITY], |e, d| [e[0].min(d.from[a]), e[1].max(d.to[a])]);
        ends[1] - ends[0]
    });
    let extent = extent.fold(0.0, f64::max);
    let fine = (smallest / OVER_A_DIE).max(extent / OVER_ALL_DIES) / fineness;
    let whole = parts.slabs.iter().flat_map(|s| s.area.size()).fold(0.0, f64::max);
    let largest = (whole / (OVER_A_BOARD * fineness)).max(fine);
    let blocks = blocks(problem, parts);
    let ring = if setting.down == Downward::Ring { ring(parts).to_vec() } else { Vec::new() };
    // Power grids with the size of their cells.
    let gridded: Vec<(Area, f64)> = problem
        .dies
        .iter()
        .zip(&parts.dies)
        .filter_map(|(die, area)| {
            let map = die.grid.as_ref()?;
            let from = [area.from[0] + map.x_m, area.from[1] + map.y_m];
            let cell = (map.width_m / map.cells.columns as f64).min(map.height_m / map.cells.rows() as f64);
            Some((Area { from, to: [from[0] + map.width_m, from[1] + map.height_m] }, cell))
        })
        .collect();
    let mut voids: Vec<([f64; 2], f64)> = Vec::new();
    for (die, area) in problem.dies.iter().zip(&parts.dies) {
        if let Some(VoidPlaces::Circles(circles)) =
            die.interface.as_ref().and_then(|t| t.void_places.as_ref()).filter(|_| problem.lid.is_some())
        {
            voids.extend(circles.iter().map(|(at, d)| ([0, 1].map(|a| area.from[a] + at[a]), *d)));
        }
    }
    voids.sort_by(|a, b| b.1.total_cmp(&a.1));
    voids.truncate(SEEN_VOIDS);
    // What joints fill ends within their area; the rim beside them hardly conducts.
    let filled: Vec<[[f64; 2]; 2]> = parts
        .slabs
        .iter()
        .filter_map(|slab| {
            let Conduct::Joints(joints) = &slab.conduct else { return None };
            let both = [0, 1].map(|axis| {
                let [low, high] = filled(&joints.places, axis)?;
                let from = slab.area.from[axis];
                // A rim far thinner than the cells of the coarsest grid is not worth a line of its own.
                let rim = |gap: f64| gap > WORTH_A_LINE * smallest / OVER_A_DIE;
                let low = if rim(low) { from + low } else { from };
                let high =
                    if rim(slab.area.to[axis] - from - high) { from + high } else { slab.area.to[axis] };
                Some([low, high])
            });
            Some([both[0]?, both[1]?])
        })
        .collect();
    let line = |axis: usize| {
        let mut marks: Vec<Mark> = Vec::new();
        let both =
            |area: &Area, spacing: f64| [area.from[axis], area.to[axis]].map(|at| Mark { at, spacing });
        for slab in &parts.slabs {
            marks.extend(both(&slab.area, largest.min(AT_EDGES * fine)));
            marks.extend(slab.hole.iter().flat_map(|hole| both(hole, largest.min(AT_EDGES * fine))));
        }
        for joints in &filled {
            marks.extend(joints[axis].map(|at| Mark { at, spacing: largest.min(2.0 * fine) }));
        }
        for die in &parts.dies {
            marks.extend(both(die, 0.5 * fine));
            // A die is as fine inside as the share asks for, not as coarse as the growth would allow.
            let [from, to] = [die.from[axis], die.to[axis]];
            let steps = ((to - from) / (4.0 * fine)).ceil().max(1.0);
            for k in 1..steps as usize {
                marks.push(Mark { at: from + (to - from) * k as f64 / steps, spacing: fine });
            }
        }
        for (area, cell) in &gridded {
            let [from, to] = [area.from[axis], area.to[axis]];
            let steps = ((to - from) / (4.0 * fine)).ceil().max(1.0);
            let spacing = fine.min((cell / fineness).max(FINER * fine));
            let at = |k: usize| from + (to - from) * k as f64 / steps;
            marks.extend((0..=steps as usize).map(|k| Mark { at: at(k), spacing }));
        }
        for (at, diameter) in &voids {
            let spacing = fine.min((diameter / (OVER_A_VOID * fineness)).max(0.5 * FINER * fine));
            marks.extend([-0.5, 0.0, 0.5].map(|s| Mark { at: at[axis] + s * diameter, spacing }));
        }
        for (_, block, _) in &blocks {
            let shorter = block.size().into_iter().fold(f64::INFINITY, f64::min);
            let spacing = fine.min(shorter / (OVER_A_BLOCK * fineness));
            marks.extend(both(block, spacing));
        }
        for area in &ring {
            // Heat enters the ring within a millimetre of its edge.
            marks.extend(both(area, largest.min(2.0 * fine)));
        }
        let inside = parts.slabs.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |s, b| {
            [s[0].min(b.area.from[axis]), s[1].max(b.area.to[axis])]
        });
        marks.retain(|m| m.at >= inside[0] - NEAREST && m.at <= inside[1] + NEAREST);
        graded(
            &marks,
            Growth { ratio: GROWTH.powf(1.0 / fineness), largest, nearest: NEAREST.max(1e-3 * fine) },
        )
    };
    Grid::new([line(0), line(1), upward(parts, cut)])
}

/// Edges along z: every face of a box, thick layers cut.
fn upward(parts: &Parts<'_>, cut: Cut) -> Vec<f64> {
    let mut faces: Vec<f64> = parts.slabs.iter().flat_map(|s| s.z).collect();
    faces.sort_by(f64::total_cmp);
    faces.dedup_by(|b, a| *b - *a <= SAME);
    let thickest = THICKEST / cut.fineness;
    let active = |z: f64| cut.early && parts.active.iter().any(|a| (a - z).abs() <= NEAREST);
    let mut edges = Vec::new();
    for pair in faces.windows(2) {
        let height = pair[1] - pair[0];
        let spacing = |z: f64| if active(z) { EARLY.0 } else { thickest };
        if active(pair[0]) || active(pair[1]) {
            let marks = pair.iter().map(|&at| Mark { at, spacing: spacing(at).min(height) });
            let growth = Growth { ratio: EARLY.1, largest: thickest, nearest: SAME };
            let mut line = graded(&marks.collect::<Vec<Mark>>(), growth);
            line.pop();
            edges.extend(line);
            continue;
        }
        edges.push(pair[0]);
        let cells = (height / thickest - 1e-9).ceil().clamp(1.0, 400.0);
        for k in 1..cells as usize {
            edges.push(pair[0] + height * k as f64 / cells);
        }
    }
    edges.extend(faces.last());
    edges
}
