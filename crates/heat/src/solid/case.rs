//! One setting solved in space: conductivities, films and temperatures that agree.
//!
//! Films and conductivities are taken at the temperatures of the last field, films with the slope of their heat (Newton's
//! step, of a face for itself), and the field solved anew from it, until
//! the heat that the new films would carry from every face differs from what leaves it by a millionth of all. Heat
//! enters on the active face itself, between its two cells, which shares it between them by their half conductances.

use super::air::{Kind, Skin, Sum};
use super::fill::{Filled, Warm};
use super::mesh::{Cut, blocks, grid};
use super::overlap::cells_in;
use super::parts::{Area, Part, Parts, parts};
use crate::network::{Films, Setting};
use crate::problem::{Die, Mount, Problem};
use crate::valid::Refusal;
use facedown_field::conduction::{Body, Capacities, Effort, Field, Medium, NoBody, Side};
use facedown_field::grid::Grid;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Memory that a case may take, bytes.
const MEMORY: u64 = 12 << 30;
/// Residual of each solution.
const RESIDUAL: f64 = 1e-8;
/// Most rounds of films and conductivities.
const ROUNDS: usize = 60;
/// Rise that conductivities start at, K.
const START_K: f64 = 20.0;
/// A change of temperature that conductivities need not follow, K: silicon loses half a percent for a kelvin.
const NOTICED_K: f64 = 0.02;
/// Heat that the films may miss in the end, over the power.
const SETTLED: f64 = 5e-7;

/// A column of cells under one place of an active face.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot {
    pub die: usize,
    /// Columns of the grid.
    pub column: [usize; 2],
    pub area: f64,
    pub heat: f64,
    /// Cells below and above the face with the conductances from their middles to it, W/K.
    pub below: Option<(usize, f64)>,
    pub above: Option<(usize, f64)>,
}

/// A case, laid out and solved.
pub(super) struct Case<'a> {
    pub problem: &'a Problem,
    pub parts: Parts<'a>,
    pub body: Body,
    pub field: Field,
    pub spots: Vec<Spot>,
    /// Heat inside cells, W: of currents in bumps.
    pub inside: Vec<([usize; 3], f64)>,
    pub sums: [Sum; 5],
    medium: Filled,
    /// Ambient of the field, K.
    ambient_k: f64,
    /// Box of every cell of the grid, and its conductivity through the plane, x fastest, then y.
    cells: Vec<Option<(u16, f32)>>,
    /// Films of the exposed faces as they settled, W/(m2 K).
    pub films: Vec<f64>,
    /// Heat that comes in less heat that leaves, over the first.
    pub balance: f64,
    /// Rounds of films and conductivities, and steps of the solver in all of them.
    pub rounds: usize,
    pub steps: usize,
    /// The field that the conductivities were last taken at; none before they follow any.
    filled_at: Option<Field>,
}

impl Spot {
    /// Rise of the face at the spot.
    pub fn rise(&self, body: &Body, field: &Field) -> f64 {
        let [x, y] = self.column;
        let (mut flow, mut sum) = (self.heat, 0.0);
        for (z, g) in [self.below, self.above].into_iter().flatten() {
            flow += g * body.at(field, [x, y, z]).unwrap_or(0.0);
            sum += g;
        }
        flow / sum
    }

    /// Conductance from the face to its two cells, W/K.
    pub fn conductance(&self) -> f64 {
        [self.below, self.above].into_iter().flatten().map(|s| s.1).sum()
    }

    /// Its two cells with the share of its heat that each takes, which is also the share of its temperature that each
    /// sets.
    pub fn shared(&self) -> impl Iterator<Item = ([usize; 3], f64)> + use<> {
        let ([x, y], whole) = (self.column, self.conductance());
        [self.below, self.above].into_iter().flatten().map(move |(z, g)| ([x, y, z], g / whole))
    }

    /// Heat that goes down and up from it.
    pub fn shares(&self, body: &Body, field: &Field) -> [f64; 2] {
        let [x, y] = self.column;
        let rise = self.rise(body, field);
        [self.below, self.above]
            .map(|side| side.map_or(0.0, |(z, g)| g * (rise - body.at(field, [x, y, z]).unwrap_or(0.0))))
    }
}

impl<'a> Case<'a> {
    /// Solves a setting.
    ///
    /// # Errors
    /// [`Refusal`] where the grid does not fit, heat has no way out, or films and temperatures do not settle.
    pub fn solve(
        problem: &'a Problem,
        setting: &'a Setting,
        cut: Cut,
        given: Option<Films>,
    ) -> Result<Case<'a>, Refusal> {
        let mut case = Case::laid_out(problem, setting, cut)?;
        case.settle(setting, given)?;
        Ok(case)
    }

    /// The boxes of a setting on their grid, with no field yet.
    fn laid_out(problem: &'a Problem, setting: &'a Setting, cut: Cut) -> Result<Case<'a>, Refusal> {
        let parts = parts(problem, setting);
        let grid = grid(problem, setting, &parts, cut).map_err(|e| Refusal::NoGrid { why: e.to_string() })?;
        let medium = Filled::new(&parts, &grid, setting.pattern, setting.ambient_k + START_K);
        let body = Body::new(grid, &medium, MEMORY).map_err(no_grid)?;
        let spots = spots(problem, setting, &parts, &body, &medium);
        if let Some(small) = (0..parts.dies.len()).find(|die| !spots.iter().any(|s| s.die == *die)) {
            let why = format!(
                "die {} is smaller than a cell; leave it out, or solve it alone",
                problem.dies[small].name
            );
            return Err(Refusal::NoGrid { why });
        }
        Ok(Case {
            problem,
            field: body.zero(),
            parts,
            body,
            spots,
            inside: Vec::new(),
            sums: Default::default(),
            medium,
            ambient_k: setting.ambient_k,
            cells: Vec::new(),
            films: Vec::new(),
            balance: 0.0,
            rounds: 0,
            steps: 0,
            filled_at: None,
        })
    }

    /// Lets films, conductivities and temperatures agree, from the last field where there is one. The setting may have
    /// other films, powers and temperatures than that of the layout, but must cool the same parts.
    ///
    /// # Errors
    /// As [`Case::solve`]; nothing may then be read off the case before it has settled again, which begins anew.
    pub fn settle(&mut self, setting: &Setting, given: Option<Films>) -> Result<(), Refusal> {
        let settled = self.seek(setting, given);
        if settled.is_err() {
            self.films.clear();
            self.field = self.body.zero();
        }
        settled
    }

    fn seek(&mut self, setting: &Setting, given: Option<Films>) -> Result<(), Refusal> {
        let power: f64 = setting.powers_w.iter().sum();
        let unsettled = || Refusal::Unsettled { power_w: power };
        let started = !self.films.is_empty();
        // Conductivities follow a field of rises, which does not tell another ambient.
        let mut stale = self.ambient_k != setting.ambient_k;
        self.ambient_k = setting.ambient_k;
        let Case { problem, parts, body, spots, inside, medium, films: last_films, filled_at, .. } = self;
        let medium = &*medium;
        let part_of = |cell| medium.slab(cell).map_or(Part::Air, |s| parts.slabs[s].part);
        let skin = Skin::new(problem, setting, parts, body, part_of).with(given);
        let depends = parts.slabs.iter().any(|s| s.nodes().len() > 1);
        *inside = in_bumps(problem, setting, parts, body);
        let mut field = started.then(|| self.field.clone());
        if started {
            // The heat may be another one.
            *spots = match filled_at {
                Some(known) => {
                    let warm = Warm { cells: medium, body, field: known, ambient_k: setting.ambient_k };
                    self::spots(problem, setting, parts, body, &warm)
                }
                None => self::spots(problem, setting, parts, body, medium),
            };
        }
        let (mut steps, mut damped) = (0, 1.0);
        let (mut before, mut last_residual) = (f64::INFINITY, f64::INFINITY);
        let mut outside = vec![0.0; body.exposed().len()];
        for round in 0..ROUNDS {
            let wanted = skin.films(body, field.as_ref(), &outside);
            // What the wanted films would carry from the faces as they are, against what leaves them: face by face,
            // because what one face gains another may lose.
            let mut missed = f64::INFINITY;
            let mut rises = Vec::new();
            if let Some(field) = &field {
                missed = 0.0;
                for (i, [film, _]) in wanted.iter().enumerate() {
                    let [rise, heat] = body.on_face(field, i, outside[i]);
                    let face = &body.exposed()[i];
                    missed += if film.is_finite() { (film * face.area * rise - heat).abs() } else { 0.0 };
                    rises.push(rise);
                }
                missed /= if power > 0.0 { power } else { 1.0 };
                if !missed.is_finite() {
                    return Err(unsettled());
                }
            }
            if missed < SETTLED && last_residual <= RESIDUAL && (started || round > 2) {
                let field = field.ok_or_else(unsettled)?;
                *last_films = wanted.iter().map(|w| w[0]).collect();
                body.set_ground(last_films, None);
                outside.fill(0.0);
                self.sums = skin.sums(body, &field, &outside);
                let out: f64 = self.sums.iter().map(|s| s.heat).sum();
                self.balance = if power > 0.0 { (power - out) / power } else { out };
                let warm = Warm { cells: medium, body, field: &field, ambient_k: setting.ambient_k };
                self.cells = cells(body, medium, &warm);
                (self.field, self.rounds, self.steps) = (field, round, steps);
                return Ok(());
            }
            if missed > 0.7 * before {
                damped = (0.6_f64 * damped).max(0.05);
            }
            before = missed;
            // Newton's step: heat grows from what it is along its slope, as a steeper film to a warmer outside.
            let mut grounds = Vec::with_capacity(wanted.len());
            for (i, [film, slope]) in wanted.iter().enumerate() {
                let last = last_films.get(i).copied().filter(|_| damped < 1.0);
                let (ground, beyond) = match (last, rises.get(i)) {
                    (Some(last), _) if last > 0.0 && film.is_finite() => {
                        (last * (film / last).powf(damped), 0.0)
                    }
                    (None, Some(rise)) if film.is_finite() && *slope > 0.0 => {
                        (*slope, (slope - film) * rise / slope)
                    }
                    _ => (*film, 0.0),
                };
                grounds.push(ground);
                outside[i] = beyond;
            }
            // Conductivities follow until a field moves less than they would notice.
            if depends && let Some(known) = field.as_ref() {
                let moved = filled_at.as_ref().map_or(f64::INFINITY, |last| body.apart(known, last));
                if moved > NOTICED_K || stale {
                    stale = false;
                    let warm = Warm { cells: medium, body, field: known, ambient_k: setting.ambient_k };
                    let filling = body.filling(&warm).map_err(no_grid)?;
                    *spots = self::spots(problem, setting, parts, body, &warm);
                    body.refill(&filling).map_err(no_grid)?;
                    *filled_at = Some(known.clone());
                }
            }
            body.set_ground(&grounds, None);
            if body.stranded().is_some() {
                return Err(Refusal::NoWayOut("a part of it reaches nothing that is cooled"));
            }
            let mut load = body.zero();
            for spot in spots.iter() {
                for (cell, share) in spot.shared() {
                    body.add_at(&mut load, cell, spot.heat * share);
                }
            }
            body.add_outside(&mut load, |i| outside[i]);
            for (cell, heat) in inside.iter() {
                body.add_at(&mut load, *cell, *heat);
            }
            // A field of the first rounds need not be better than the films that it is found with.
            let residual = if round == 0 && !started { 1e-3 } else { (4e-3 * missed).clamp(RESIDUAL, 2e-4) };
            let effort = Effort { residual, ..Effort::default() };
            let solution = body.solve(&load, field.as_ref(), effort).map_err(|_| unsettled())?;
            steps += solution.steps;
            last_residual = solution.residual;
            field = Some(solution.field);
            *last_films = grounds;
        }
        Err(unsettled())
    }

    /// Heat capacities of the cells, J/K.
    pub fn capacities(&self) -> Capacities {
        self.body.capacities(&self.medium)
    }

    fn cell(&self, cell: [usize; 3]) -> Option<(u16, f32)> {
        let [nx, ny, _] = self.body.grid().cells();
        self.cells[(cell[2] * ny + cell[1]) * nx + cell[0]]
    }

    /// Shares of one watt of a die, or of one of its blocks, over the spots.
    pub fn shape(&self, problem: &Problem, die: usize, block: Option<usize>) -> Vec<(usize, f64)> {
        let grid = self.body.grid();
        let first = self.spots.iter().position(|s| s.die == die).unwrap_or(0);
        let own: Vec<Spot> = self.spots.iter().filter(|s| s.die == die).copied().collect();
        let (of, area, all) = (&problem.dies[die], &self.parts.dies[die], blocks(problem, &self.parts));
        let shares = match block.and_then(|b| all.iter().filter(|x| x.0 == die).nth(b)) {
            Some((_, area, _)) => {
                let held = within(&own, area, grid);
                let whole: f64 = held.iter().map(|&i| own[i].area).sum();
                held.into_iter().map(|i| (i, own[i].area / whole)).collect()
            }
            None => shape(&own, die, of, area, &all, grid),
        };
        shares.into_iter().map(|(i, share)| (first + i, share)).collect()
    }

    /// Part that a cell belongs to.
    pub fn part(&self, cell: [usize; 3]) -> Option<Part> {
        Some(self.parts.slabs[usize::from(self.cell(cell)?.0)].part)
    }

    /// Rise of a cell and the conductance from its middle to its upper or lower face, W/K.
    pub fn half(&self, cell: [usize; 3]) -> Option<(f64, f64)> {
        let (_, through) = self.cell(cell)?;
        let grid = self.body.grid();
        let area = grid.width(0, cell[0]) * grid.width(1, cell[1]);
        let rise = self.body.at(&self.field, cell)?;
        Some((rise, 2.0 * f64::from(through) * area / grid.width(2, cell[2])))
    }

    /// Rise of an exposed face of a cell; `None` where the face is not exposed.
    pub fn face_of(&self, cell: [usize; 3], side: Side) -> Option<f64> {
        // The order of `Body::exposed`: rows, then height, then along the row, then sides.
        let key = |c: [usize; 3], s: Side| (c[1], c[2], c[0], s);
        let faces = self.body.exposed();
        let at = faces.binary_search_by(|f| key(f.cell, f.side).cmp(&key(cell, side))).ok()?;
        Some(self.body.on_face(&self.field, at, 0.0)[0])
    }

    /// Sum over a kind of faces.
    pub fn sum(&self, kind: Kind) -> Sum {
        Kind::OPEN.iter().position(|k| *k == kind).map_or(Sum::default(), |i| self.sums[i])
    }
}

fn no_grid(e: NoBody) -> Refusal {
    Refusal::NoGrid { why: e.to_string() }
}

fn cells(body: &Body, boxes: &Filled, medium: &impl Medium) -> Vec<Option<(u16, f32)>> {
    let [nx, ny, nz] = body.grid().cells();
    let plane = |z: usize| {
        (0..nx * ny).into_par_iter().map(move |i| {
            let cell = [i % nx, i / nx, z];
            boxes.slab(cell).zip(medium.conductivity(cell)).map(|(s, k)| (s as u16, k[2] as f32))
        })
    };
    (0..nz).into_par_iter().flat_map(plane).collect()
}

/// Shares the heat of a die out over its spots: all of it, whatever edges were drawn together. A block that is smaller than
/// a cell heats the spot nearest to it.
fn heat(spots: &mut [Spot], of: &Die, area: &Area, blocks: &[(usize, Area, f64)], power: f64, grid: &Grid) {
    let Some(die) = spots.first().map(|s| s.die) else { return };
    // A test power keeps the shape of the map, and the shares of what is even and of what is in the bumps.
    let share = |part: f64| if of.power_w > 0.0 { power * part / of.power_w } else { 0.0 };
    let even = share(of.even_w);
    let shaped = power - even - share(of.joule_w());
    let whole: f64 = spots.iter().map(|s| s.area).sum();
    spots.iter_mut().for_each(|s| s.heat = even * s.area / whole);
    for (spot, weight) in shape(spots, die, of, area, blocks, grid) {
        spots[spot].heat += shaped * weight;
    }
}

/// How a die's own heat is shared out over its spots: shares of one, without what is even or in its bumps.
fn shape(
    spots: &[Spot],
    die: usize,
    of: &Die,
    area: &Area,
    blocks: &[(usize, Area, f64)],
    grid: &Grid,
) -> Vec<(usize, f64)> {
    let even = |among: &[usize], weight: f64| -> Vec<(usize, f64)> {
        let whole: f64 = among.iter().map(|&i| spots[i].area).sum();
        among.iter().map(|&i| (i, weight * spots[i].area / whole)).collect()
    };
    if let Some(map) = &of.grid {
        let from = [area.from[0] + map.x_m, area.from[1] + map.y_m];
        let over = Area { from, to: [from[0] + map.width_m, from[1] + map.height_m] };
        let tile = |spot: &Spot| {
            let edges = |axis: usize| &grid.edges(axis)[spot.column[axis]..=spot.column[axis] + 1];
            let (x, y) = (edges(0), edges(1));
            Area { from: [x[0], y[0]], to: [x[1], y[1]] }
        };
        let weights: Vec<f64> = spots.iter().map(|s| cells_in(&map.cells, &over, &tile(s))).collect();
        // What edges that were drawn together left out is given back to all.
        let sum: f64 = weights.iter().sum();
        if sum > 0.0 {
            return weights.into_iter().enumerate().map(|(i, w)| (i, w / sum)).collect();
        }
    }
    let own: Vec<&(usize, Area, f64)> = blocks.iter().filter(|b| b.0 == die).collect();
    let listed: f64 = own.iter().map(|b| b.2).sum();
    if listed > 0.0 {
        return own.iter().flat_map(|(_, area, w)| even(&within(spots, area, grid), w / listed)).collect();
    }
    even(&(0..spots.len()).collect::<Vec<usize>>(), 1.0)
}

/// Joule heat of bumps in the cells that hold them.
fn in_bumps(problem: &Problem, setting: &Setting, parts: &Parts<'_>, body: &Body) -> Vec<([usize; 3], f64)> {
    let grid = body.grid();
    let mut out: BTreeMap<[usize; 3], f64> = BTreeMap::new();
    for (index, die) in problem.dies.iter().enumerate() {
        let Mount::Bumps(joints) = &die.mount else { continue };
        let Some(slab) = parts.slabs.iter().find(|s| s.part == Part::Bumps(index)) else { continue };
        if die.power_w <= 0.0 {
            continue;
        }
        let scale = setting.powers_w[index] / die.power_w;
        let [low, high] = slab.z;
        let first = grid.holding(2, low + 1e-3 * (high - low));
        let last = grid.holding(2, high - 1e-3 * (high - low));
        for (place, heat) in joints.places.iter().zip(&joints.heats_w) {
            let [x, y] = [0, 1].map(|a| {
                // A joint on the rim stays in its die.
                let at = (slab.area.from[a] + place[a]).clamp(slab.area.from[a], slab.area.to[a]);
                let inward = 1e-9 * (slab.area.middle()[a] - at).signum();
                grid.holding(a, at + inward)
            });
            for z in first..=last {
                let share = grid.width(2, z) / (high - low);
                *out.entry([x, y, z]).or_default() += scale * heat * share;
            }
        }
    }
    out.into_iter().collect()
}

/// The spots whose middle lies in a rectangle, or else the nearest one.
pub(super) fn within(spots: &[Spot], area: &Area, grid: &Grid) -> Vec<usize> {
    let at = |s: &Spot| [grid.middle(0, s.column[0]), grid.middle(1, s.column[1])];
    let inside: Vec<usize> = (0..spots.len()).filter(|&i| area.holds(at(&spots[i]))).collect();
    if !inside.is_empty() {
        return inside;
    }
    let [x, y] = area.middle();
    let far = |i: &usize| {
        let [a, b] = at(&spots[*i]);
        (a - x).hypot(b - y)
    };
    (0..spots.len()).min_by(|i, j| far(i).total_cmp(&far(j))).into_iter().collect()
}

/// The edge of a line that is nearest to a place.
pub(super) fn nearest(line: &[f64], place: f64) -> usize {
    let after = line.partition_point(|e| *e < place).min(line.len() - 1);
    let before = after.saturating_sub(1);
    if place - line[before] < line[after] - place { before } else { after }
}

/// All places of all active faces with their heat.
fn spots(
    problem: &Problem,
    setting: &Setting,
    parts: &Parts<'_>,
    body: &Body,
    medium: &impl Medium,
) -> Vec<Spot> {
    let grid = body.grid();
    let nz = grid.cells()[2];
    let blocks = blocks(problem, parts);
    let mut out = Vec::new();
    for (die, area) in parts.dies.iter().enumerate() {
        let face = parts.active[die];
        let edge = nearest(grid.edges(2), face);
        let first_of_die = out.len();
        let [xs, ys] = [0, 1].map(|axis| {
            let line = grid.edges(axis);
            let first = line
                .partition_point(|e| *e < area.from[axis] - 1e-3 * grid.width(axis, 0))
                .min(line.len() - 2);
            first..line.len() - 1
        });
        for y in ys {
            if grid.middle(1, y) > area.to[1] {
                break;
            }
            for x in xs.clone() {
                let at = [grid.middle(0, x), grid.middle(1, y)];
                if at[0] > area.to[0] {
                    break;
                }
                if !area.holds(at) {
                    continue;
                }
                let [w, h] = [grid.width(0, x), grid.width(1, y)];
                let half = |z: usize| {
                    let k = medium.conductivity([x, y, z])?;
                    Some((z, 2.0 * k[2] * w * h / grid.width(2, z)))
                };
                let below = edge.checked_sub(1).and_then(half);
                let above = (edge < nz).then(|| half(edge)).flatten();
                out.push(Spot { die, column: [x, y], area: w * h, heat: 0.0, below, above });
            }
        }
        heat(&mut out[first_of_die..], &problem.dies[die], area, &blocks, setting.powers_w[die], grid);
    }
    out
}
