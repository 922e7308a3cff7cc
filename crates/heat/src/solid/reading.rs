//! What is read off a solved field: junctions, bumps, case, board sensor, heat of the faces, layers, maps.

use super::air::Kind;
use super::case::{Case, Spot, nearest, within};
use super::mesh::{SAME, blocks};
use super::outlines::{Outline, in_plan, in_section};
use super::parts::Part;
use crate::problem::{Mount, Problem};
use crate::standards::BOARD_SENSOR_M;
use facedown_field::conduction::Side;
use facedown_field::grid::Grid;
use serde::{Deserialize, Serialize};

/// Temperatures of a die, rises over the ambient, K.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DieReading {
    /// Mean of the active face.
    pub mean: f64,
    /// Hottest place of the active face.
    pub hottest: f64,
    /// Where that is, m from the middle of the substrate.
    pub at: [f64; 2],
    /// Mean and hottest of each block.
    pub blocks: Vec<[f64; 2]>,
    /// Hottest bump at half its height; absent for a die without bumps.
    pub bump: Option<f64>,
    /// Mean of its back.
    pub back: f64,
    /// Heat up from the active face, W.
    pub up: f64,
    /// Heat down from the active face, W.
    pub down: f64,
    /// Top of the case over its middle.
    pub case: f64,
}

/// A face: area m2, mean rise K, heat W, films W/(m2 K).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct FaceReading {
    /// Area, m2.
    pub area: f64,
    /// Mean rise, K.
    pub rise: f64,
    /// Heat that leaves, W.
    pub heat: f64,
    /// Film by convection, or as given.
    pub convection: f64,
    /// Film by radiation.
    pub radiation: f64,
}

/// A map of temperatures on a part of the grid.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Map {
    /// Edges of its columns, m.
    pub across: Vec<f64>,
    /// Edges of its rows, m.
    pub along: Vec<f64>,
    /// Rises over the ambient, K, `across` fastest; not a number where nothing is.
    #[serde(with = "gaps")]
    pub rises: Vec<f64>,
    /// Outlines of parts over it.
    pub outlines: Vec<Outline>,
}

/// Maps write what is not there as `null`.
mod gaps {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub fn serialize<S: Serializer>(values: &[f64], out: S) -> Result<S::Ok, S::Error> {
        let kept: Vec<Option<f64>> = values.iter().map(|v| v.is_finite().then_some(*v)).collect();
        kept.serialize(out)
    }

    pub fn deserialize<'a, D: Deserializer<'a>>(from: D) -> Result<Vec<f64>, D::Error> {
        let kept = Vec::<Option<f64>>::deserialize(from)?;
        Ok(kept.into_iter().map(|v| v.unwrap_or(f64::NAN)).collect())
    }
}

/// A layer of the way through the hottest die.
#[derive(Debug, Clone, PartialEq)]
pub struct Crossing {
    /// What it belongs to.
    pub part: Part,
    /// Mean drop over it under the die, K, positive downward.
    pub drop: f64,
}

/// All that is read off.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Cells.
    pub cells: usize,
    /// Rounds of films, and solver steps in all.
    pub rounds: [usize; 2],
    /// Heat in less heat out, over heat in.
    pub balance: f64,
    /// Dies, in the order of the problem.
    pub dies: Vec<DieReading>,
    /// The hottest die.
    pub hottest: usize,
    /// Board at its sensor (JESD51-8), K; zero without a board.
    pub board_sensor: f64,
    /// Top, beside the dies, board above, board below, ring.
    pub faces: [FaceReading; 5],
    /// Heat into the board, W.
    pub to_board: f64,
    /// Mean rises of lid, interposer, substrate, and of the board under the package, K.
    pub lid: Option<f64>,
    /// Interposer.
    pub interposer: Option<f64>,
    /// Substrate.
    pub substrate: f64,
    /// Board under the package.
    pub board: f64,
    /// Layers below the hottest die's active face, from it downward.
    pub below: Vec<Crossing>,
    /// Layers above it, from it upward; drops positive upward.
    pub above: Vec<Crossing>,
    /// The plane of the hottest die's active face, over the substrate; where nothing stands there, the surface below it.
    pub plan: Map,
    /// The section through the hottest place along x, as wide as the substrate.
    pub section: Map,
}

impl Reading {
    /// Rise of the hottest place of all.
    pub fn junction(&self) -> f64 {
        self.dies[self.hottest].hottest
    }

    /// Rise of the hottest bump of all.
    pub fn bump(&self) -> f64 {
        self.dies.iter().filter_map(|d| d.bump).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Rise of the case over the hottest die.
    pub fn case(&self) -> f64 {
        self.dies[self.hottest].case
    }

    pub(super) fn of(problem: &Problem, case: &Case<'_>) -> Reading {
        let mut dies = dies(problem, case);
        let hottest =
            (0..dies.len()).max_by(|&a, &b| dies[a].hottest.total_cmp(&dies[b].hottest)).unwrap_or(0);
        tops(case, &mut dies);
        let face = |kind: Kind| {
            let s = case.sum(kind);
            let convection = if s.convection.is_finite() { s.convection } else { 0.0 };
            FaceReading { area: s.area, rise: s.rise, heat: s.heat, convection, radiation: s.radiation }
        };
        let faces = Kind::OPEN.map(face);
        let means = means(case);
        let mean = |part: Part| means.iter().find(|m| m.0 == part).map(|m| m.1);
        let (below, above) = crossings(case, hottest);
        Reading {
            cells: case.body.count(),
            rounds: [case.rounds, case.steps],
            balance: case.balance,
            hottest,
            board_sensor: board_sensor(case),
            faces,
            to_board: faces[2].heat + faces[3].heat + faces[4].heat,
            lid: mean(Part::Lid),
            interposer: mean(Part::Interposer),
            substrate: mean(Part::Substrate).unwrap_or(0.0),
            board: board_under(case),
            below,
            above,
            plan: plan(problem, case, hottest),
            section: section(problem, case, dies[hottest].at[1]),
            dies,
        }
    }
}

fn dies(problem: &Problem, case: &Case<'_>) -> Vec<DieReading> {
    let (body, field, grid) = (&case.body, &case.field, case.body.grid());
    let mut out: Vec<DieReading> = problem
        .dies
        .iter()
        .map(|d| DieReading {
            hottest: f64::NEG_INFINITY,
            bump: matches!(d.mount, Mount::Bumps(_)).then_some(f64::NEG_INFINITY),
            blocks: vec![[0.0, f64::NEG_INFINITY]; d.blocks.len()],
            ..DieReading::default()
        })
        .collect();
    let blocks = blocks(problem, &case.parts);
    let mut areas = vec![0.0; out.len()];
    for spot in &case.spots {
        let rise = spot.rise(body, field);
        let [down, up] = spot.shares(body, field);
        let at = [grid.middle(0, spot.column[0]), grid.middle(1, spot.column[1])];
        let die = &mut out[spot.die];
        die.mean += spot.area * rise;
        areas[spot.die] += spot.area;
        die.up += up;
        die.down += down;
        if rise > die.hottest {
            (die.hottest, die.at) = (rise, at);
        }
        if let (Some(bump), Some((z, g))) = (&mut die.bump, spot.below) {
            // Half the height of the layer, from the face down along the heat that flows there.
            let slab = case.parts.slabs.iter().find(|s| s.part == Part::Bumps(spot.die));
            let height = slab.map_or(0.0, |s| s.z[1] - s.z[0]);
            let drop = down / g * height / grid.width(2, z);
            *bump = bump.max(rise - drop);
        }
    }
    for (i, (die, area)) in out.iter_mut().zip(&areas).enumerate() {
        die.mean /= area;
        let spots: Vec<Spot> = case.spots.iter().filter(|s| s.die == i).copied().collect();
        let own = blocks.iter().filter(|b| b.0 == i);
        for (block, (_, area, _)) in die.blocks.iter_mut().zip(own) {
            let (mut sum, mut whole) = (0.0, 0.0);
            for spot in within(&spots, area, grid).into_iter().map(|s| &spots[s]) {
                let rise = spot.rise(body, field);
                sum += spot.area * rise;
                whole += spot.area;
                block[1] = block[1].max(rise);
            }
            block[0] = sum / whole;
        }
    }
    for (i, die) in out.iter_mut().enumerate() {
        // The face farthest from the active one.
        let top = case.parts.tops[i];
        let back = if (case.parts.active[i] - top).abs() < 1e-9 {
            case.parts.slabs.iter().find(|s| s.part == Part::Die(i)).map_or(top, |s| s.z[0])
        } else {
            top
        };
        die.back = mean_at(case, case.parts.dies[i], back);
    }
    out
}

/// Mean rise over an area of the plane at a height: between the two cells there by their half conductances, which the
/// flow through them tells.
fn mean_at(case: &Case<'_>, area: super::parts::Area, height: f64) -> f64 {
    let grid = case.body.grid();
    let [nx, ny, nz] = grid.cells();
    let line = grid.edges(2);
    let edge = nearest(line, height);
    let (mut sum, mut whole) = (0.0, 0.0);
    for y in 0..ny {
        for x in 0..nx {
            if !area.holds([grid.middle(0, x), grid.middle(1, y)]) {
                continue;
            }
            let cell = grid.width(0, x) * grid.width(1, y);
            let below = edge.checked_sub(1).and_then(|z| case.half([x, y, z]));
            let above = (edge < nz).then(|| case.half([x, y, edge])).flatten();
            let rise = match (below, above) {
                (Some((a, g)), Some((b, h))) => (a * g + b * h) / (g + h),
                // Outside: the exposed face of the one cell.
                (Some((_, _)), None) => case.face_of([x, y, edge - 1], Side::Top).unwrap_or(0.0),
                (None, Some((_, _))) => case.face_of([x, y, edge], Side::Bottom).unwrap_or(0.0),
                (None, None) => continue,
            };
            sum += cell * rise;
            whole += cell;
        }
    }
    if whole > 0.0 { sum / whole } else { 0.0 }
}

/// The two columns or rows around a place with their weights: linear between their middles.
fn around(grid: &Grid, axis: usize, at: f64) -> [(usize, f64); 2] {
    let i = grid.holding(axis, at);
    let j =
        if at >= grid.middle(axis, i) { (i + 1).min(grid.cells()[axis] - 1) } else { i.saturating_sub(1) };
    let (a, b) = (grid.middle(axis, i), grid.middle(axis, j));
    let s = if i == j { 0.0 } else { (at - a) / (b - a) };
    [(i, 1.0 - s), (j, s)]
}

/// Rise of a place of the plane between the columns around it.
fn between_columns(grid: &Grid, [x, y]: [f64; 2], of: impl Fn([usize; 2]) -> f64) -> f64 {
    let mut rise = 0.0;
    for (column, wx) in around(grid, 0, x) {
        for (row, wy) in around(grid, 1, y) {
            if wx * wy != 0.0 {
                rise += wx * wy * of([column, row]);
            }
        }
    }
    rise
}

/// Adds the top of the case over the middle of every die.
fn tops(case: &Case<'_>, dies: &mut [DieReading]) {
    let grid = case.body.grid();
    let nz = grid.cells()[2];
    for (i, die) in dies.iter_mut().enumerate() {
        die.case = between_columns(grid, case.parts.dies[i].middle(), |[x, y]| {
            let top = (0..nz).rev().find(|&z| case.body.at(&case.field, [x, y, z]).is_some());
            top.and_then(|z| case.face_of([x, y, z], Side::Top)).unwrap_or(0.0)
        });
    }
}

fn board_sensor(case: &Case<'_>) -> f64 {
    let grid = case.body.grid();
    let [w, h] = case.parts.substrate.size();
    let place = if w >= h { [0.0, h / 2.0 + BOARD_SENSOR_M] } else { [w / 2.0 + BOARD_SENSOR_M, 0.0] };
    if case.parts.board_top <= 0.0 {
        return 0.0;
    }
    let line = grid.edges(2);
    let z = line.partition_point(|e| *e < case.parts.board_top - 1e-9).saturating_sub(1);
    between_columns(grid, place, |[x, y]| {
        let cell = [x, y, z];
        let value = case.face_of(cell, Side::Top).or_else(|| case.body.at(&case.field, cell));
        value.unwrap_or(0.0)
    })
}

/// Mean rises of the parts by volume.
fn means(case: &Case<'_>) -> Vec<(Part, f64)> {
    let grid = case.body.grid();
    let [nx, ny, nz] = grid.cells();
    let mut sums: std::collections::BTreeMap<Part, [f64; 2]> = std::collections::BTreeMap::new();
    for z in 0..nz {
        for y in 0..ny {
            for x in 0..nx {
                if let (Some(part), Some(rise)) = (case.part([x, y, z]), case.body.at(&case.field, [x, y, z]))
                {
                    let volume = grid.volume([x, y, z]);
                    let sum = sums.entry(part).or_default();
                    sum[0] += volume * rise;
                    sum[1] += volume;
                }
            }
        }
    }
    sums.into_iter().map(|(part, [sum, volume])| (part, sum / volume)).collect()
}

fn board_under(case: &Case<'_>) -> f64 {
    if case.parts.board_top > 0.0 { mean_at(case, case.parts.substrate, case.parts.board_top) } else { 0.0 }
}

/// Drops over the layers under and over the footprint of a die, adjoining boxes of one part as one.
fn crossings(case: &Case<'_>, die: usize) -> (Vec<Crossing>, Vec<Crossing>) {
    let area = case.parts.dies[die];
    let middle = area.middle();
    let active = case.parts.active[die];
    // The box that holds at the middle of the die, by height.
    let mut spans: Vec<(Part, [f64; 2])> = Vec::new();
    let mut faces: Vec<f64> = case.parts.slabs.iter().flat_map(|s| s.z).collect();
    faces.sort_by(f64::total_cmp);
    faces.dedup_by(|b, a| *b - *a <= SAME);
    for pair in faces.windows(2) {
        let at = 0.5 * (pair[0] + pair[1]);
        let own = case.parts.slabs.iter().rev().find(|s| {
            at > s.z[0] && at < s.z[1] && s.area.holds(middle) && !s.hole.is_some_and(|h| h.holds(middle))
        });
        let Some(own) = own else { continue };
        match spans.last_mut() {
            // The active face always ends a span.
            Some((part, z)) if *part == own.part && (pair[0] - active).abs() > 1e-9 => z[1] = pair[1],
            _ => spans.push((own.part, [pair[0], pair[1]])),
        }
    }
    let level = |z: f64| mean_at(case, area, z);
    let of = |(part, z): &(Part, [f64; 2]), sign: f64| Crossing {
        part: *part,
        drop: sign * (level(z[1]) - level(z[0])),
    };
    let below = spans.iter().rev().filter(|s| s.1[1] <= active + 1e-9).map(|s| of(s, 1.0)).collect();
    let above = spans.iter().filter(|s| s.1[0] >= active - 1e-9).map(|s| of(s, -1.0)).collect();
    (below, above)
}

fn plan(problem: &Problem, case: &Case<'_>, die: usize) -> Map {
    let grid = case.body.grid();
    let z = grid.holding(2, case.parts.active[die] - 1e-9);
    let range = |axis: usize| {
        let [from, to] = [case.parts.substrate.from[axis], case.parts.substrate.to[axis]];
        grid.holding(axis, from + 1e-9)..grid.holding(axis, to - 1e-9) + 1
    };
    let [xs, ys] = [range(0), range(1)];
    let mut rises = Vec::with_capacity(xs.len() * ys.len());
    for y in ys.clone() {
        for x in xs.clone() {
            let seen = (0..=z).rev().find_map(|z| case.body.at(&case.field, [x, y, z]));
            rises.push(seen.unwrap_or(f64::NAN));
        }
    }
    // On the active face itself, between its two cells.
    for spot in &case.spots {
        let [x, y] = spot.column;
        let flush = (case.parts.active[spot.die] - case.parts.active[die]).abs() < 1e-9;
        if flush && xs.contains(&x) && ys.contains(&y) {
            rises[(y - ys.start) * xs.len() + x - xs.start] = spot.rise(&case.body, &case.field);
        }
    }
    let line = |axis: usize, r: std::ops::Range<usize>| grid.edges(axis)[r.start..=r.end].to_vec();
    Map { across: line(0, xs), along: line(1, ys), rises, outlines: in_plan(problem, &case.parts) }
}

fn section(problem: &Problem, case: &Case<'_>, through: f64) -> Map {
    let grid = case.body.grid();
    let y = grid.holding(1, through);
    let [from, to] = [case.parts.substrate.from[0], case.parts.substrate.to[0]];
    let xs = grid.holding(0, from + 1e-9)..grid.holding(0, to - 1e-9) + 1;
    let nz = grid.cells()[2];
    let mut rises = Vec::with_capacity(xs.len() * nz);
    for z in 0..nz {
        for x in xs.clone() {
            rises.push(case.body.at(&case.field, [x, y, z]).unwrap_or(f64::NAN));
        }
    }
    let outlines = in_section(problem, &case.parts, grid.middle(1, y), [from, to]);
    Map { across: grid.edges(0)[xs.start..=xs.end].to_vec(), along: grid.edges(2).to_vec(), rises, outlines }
}
