//! From the first drop to the last cell: steps one after the other, passes in between.

use super::Going;
use super::advance::{Move, State, Step};
use super::gas::{Gas, Memory};
use super::network::{NONE, Network};
use super::pressure::System;
use super::problem::Problem;
use facedown_field::NoConvergence;

/// What was seen on the way.
#[derive(Debug, Clone)]
pub(super) struct Way {
    pub state: State,
    pub memory: Memory,
    pub gas: Gas,
    /// Pressure of each component of the last look at the air over that of the room, Pa.
    pub air: Vec<f64>,
    /// When each cell was half full, and full; not a number where it never was.
    pub half: Vec<f64>,
    pub full_at: Vec<f64>,
    pub marks: Vec<Mark>,
    pub passed_over: f64,
    pub effort: [usize; 2],
    /// Whether every stretch is dry and nothing comes.
    pub ran_dry: bool,
    /// Whether any pass begins at all.
    pub began: bool,
    /// Passes that start by then have begun.
    pub until: f64,
}

impl Way {
    /// Whether a pass with a start has begun.
    pub fn has_begun(&self, start: f64) -> bool {
        start <= self.until * (1.0 + 1e-12)
    }
}

/// A step that was taken.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mark {
    pub fluidity: f64,
    pub filled: f64,
    pub inflow: f64,
    pub error: f64,
    pub pockets: usize,
    /// Mean square of the pressure gradient in the wet region, (Pa/m)2.
    pub gradient: f64,
}

/// A step may fill so many times what was meant before it is taken again, shorter.
const SURPRISE: f64 = 4.0;
/// Change of the volume, over that of a cell, below which nothing moves any more.
const REST: f64 = 1e-6;
/// How often a front at rest is asked again.
const AGAIN: usize = 5;
/// Liquid, over the volume of a cell, that is none any more.
const DROP: f64 = 1e-9;
/// Most steps.
const STEPS: usize = 200_000;

/// Follows the front until nothing moves any more; nothing where it is not to go on.
///
/// # Errors
/// [`NoConvergence`] where a step cannot be taken at any length.
pub(super) fn follow(
    network: &Network,
    problem: &Problem,
    going: &Going<'_>,
) -> Result<Option<Way>, NoConvergence> {
    let n = network.volume.len();
    let stretches = network.stretches.len();
    let mean = network.whole / n.max(1) as f64;
    let mut way = Way {
        state: State {
            fill: vec![0.0; n],
            full: vec![false; n],
            pressure: vec![0.0; n],
            left: vec![0.0; stretches],
        },
        memory: Memory { pressure: vec![-1.0; n], passed: vec![false; n] },
        gas: Gas::default(),
        air: Vec::new(),
        half: vec![f64::NAN; n],
        full_at: vec![f64::NAN; n],
        marks: Vec::new(),
        passed_over: 0.0,
        effort: [0, 0],
        ran_dry: false,
        began: false,
        until: 0.0,
    };
    let mut passes: Vec<(f64, usize, f64)> = network
        .stretches
        .iter()
        .enumerate()
        .flat_map(|(k, s)| s.passes.iter().map(move |&(volume, start)| (start, k, volume)))
        .filter(|p| p.0.is_finite())
        .collect();
    passes.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.1.cmp(&a.1)));
    let (mut now, mut last, mut still, mut again) = (0.0, f64::INFINITY, 0, 0);
    let mut system = System::default();
    while way.marks.len() < STEPS {
        if !going() {
            return Ok(None);
        }
        way.until = now;
        while let Some(pass) = passes.pop_if(|p| way.has_begun(p.0)) {
            way.state.left[pass.1] += pass.2;
            way.began = true;
            (last, still) = (f64::INFINITY, 0);
        }
        let next = passes.last().map(|p| p.0);
        let covered: Vec<bool> = way.state.left.iter().map(|l| *l > 0.0).collect();
        way.gas = Gas::look(
            network,
            &way.state.fill,
            &way.state.full,
            &mut way.memory,
            &covered,
            problem.ambient_pa,
        );
        way.passed_over += way.gas.let_go;
        way.air = way.gas.airs.iter().map(|a| gauge(a.mass, a.volume, problem.ambient_pa)).collect();
        if way.state.full.iter().all(|f| *f) {
            break;
        }
        way.ran_dry = !covered.contains(&true);
        // Where nothing moves the pressure is that of the feeds, and what it would still draw in must be asked again.
        if still >= 2 && !way.ran_dry && again < AGAIN && wake(network, &mut way) {
            (still, last, again) = (0, f64::INFINITY, again + 1);
        }
        let idle = way.ran_dry || still >= 2;
        if idle {
            match next {
                Some(start) => now = start,
                None => break,
            }
            continue;
        }
        let expected = pace(network, &way, problem.resolution.advance);
        let mut length = match expected {
            Some((length, _)) => length.min(4.0 * last),
            None if last.is_finite() => 4.0 * last,
            None => {
                // Nothing is drawn in anywhere.
                still = 2;
                continue;
            }
        };
        let meant = expected.map_or(mean, |e| e.1).max(mean);
        let wait = next.map_or(f64::INFINITY, |start| start - now);
        length = length.min(wait);
        let mut tries = 0;
        let step = loop {
            let step = Step { network, now: &way.state, gas: &way.gas, ambient: problem.ambient_pa, length };
            match step.take(&mut system) {
                Ok(found) => {
                    way.effort[0] += found.solves;
                    way.effort[1] += found.sweeps;
                    let moved: f64 = found.out.iter().sum();
                    if moved > SURPRISE * problem.resolution.advance.max(1.0) * meant && tries < 12 {
                        length *= 0.4;
                    } else {
                        break found;
                    }
                }
                Err(reason) if tries >= 40 => return Err(reason),
                Err(_) => length *= 0.5,
            }
            tries += 1;
        };
        let moved: f64 = step.out.iter().sum();
        still = if moved < REST * mean { still + 1 } else { 0 };
        if still == 0 {
            again = 0;
        }
        last = length;
        // The last step ends where the last cell is full.
        let mut end = now + length;
        if step.homogeneous && step.wet.iter().all(|w| *w) {
            let fresh = (0..n).filter(|&i| !way.state.full[i]);
            end = now + length * fresh.map(|i| step.late[i]).fold(0.0, f64::max);
        }
        record(network, &mut way, &step, [now, now + length]);
        if let Some(mark) = way.marks.last_mut() {
            mark.fluidity = end;
        }
        now = if wait <= length * (1.0 + 1e-12) && end >= now + length { now + wait } else { end };
    }
    if way.marks.len() >= STEPS {
        return Err(NoConvergence::TooSlow);
    }
    Ok(Some(way))
}

/// Sets the pressure of what hangs on a feed to the feed's, and says whether it draws anything in then.
fn wake(network: &Network, way: &mut Way) -> bool {
    let state = &mut way.state;
    let mut reached = vec![false; state.full.len()];
    let mut next: Vec<usize> = Vec::new();
    let scale = 1e-6 * network.drive.iter().fold(0.0_f64, |m, d| m.max(d.abs()));
    let draws = |j: usize| network.drive[j] - way.air[way.gas.of[j] as usize] > scale;
    let mut any = false;
    for &(cell, ..) in network.feeds.iter().filter(|f| state.left[f.1 as usize] > 0.0) {
        let cell = cell as usize;
        if !state.full[cell] {
            any |= draws(cell);
        } else if !reached[cell] {
            reached[cell] = true;
            next.push(cell);
        }
    }
    while let Some(cell) = next.pop() {
        state.pressure[cell] = 0.0;
        for to in network.beside[cell].into_iter().filter(|to| *to != NONE) {
            let to = to as usize;
            if !state.full[to] {
                any |= draws(to);
            } else if !reached[to] {
                reached[to] = true;
                next.push(to);
            }
        }
    }
    any
}

fn gauge(mass: Option<f64>, volume: f64, ambient: f64) -> f64 {
    mass.filter(|_| volume > 0.0).map_or(0.0, |mass| mass / volume - ambient)
}

/// Length of a step in which the front goes on by so many cells where half of its flow is slower, and the volume of it; nothing where the
/// pressures that are known draw nothing in.
fn pace(network: &Network, way: &Way, advance: f64) -> Option<(f64, f64)> {
    let state = &way.state;
    let n = state.full.len();
    let mut inward = vec![0.0; n];
    for i in (0..n).filter(|&i| state.full[i]) {
        for k in 0..4 {
            let to = network.beside[i][k];
            if to != NONE && !state.full[to as usize] {
                let j = to as usize;
                let pull = state.pressure[i] + network.drive[j] - way.air[way.gas.of[j] as usize];
                inward[j] += network.link[i][k] * pull.max(0.0);
            }
        }
    }
    for &(cell, stretch, t) in &network.feeds {
        let j = cell as usize;
        if !state.full[j] && state.left[stretch as usize] > 0.0 {
            inward[j] += t * (network.drive[j] - way.air[way.gas.of[j] as usize]).max(0.0);
        }
    }
    let mean = network.whole / n as f64;
    let mut rates: Vec<(f64, f64)> = inward
        .iter()
        .zip(&network.volume)
        .filter(|(q, _)| **q > 0.0)
        .map(|(q, v)| (q / v.max(0.5 * mean), *q))
        .collect();
    rates.sort_by(|a, b| a.0.total_cmp(&b.0));
    let flow: f64 = rates.iter().map(|r| r.1).sum();
    let mut below = 0.0;
    let median = rates.iter().find(|r| {
        below += r.1;
        below >= 0.5 * flow
    })?;
    let length = advance / median.0;
    Some((length, length * flow))
}

/// Takes a step over and notes what it passed.
fn record(network: &Network, way: &mut Way, step: &Move, [start, end]: [f64; 2]) {
    let filled = |fill: &[f64]| fill.iter().zip(&network.volume).map(|(f, v)| f * v).sum::<f64>();
    let (before, after) = (filled(&way.state.fill), filled(&step.fill));
    let moved: f64 = step.out.iter().sum();
    times(network, way, step, [start, end]);
    for (left, out) in way.state.left.iter_mut().zip(&step.out) {
        let rest = *left - out;
        // What is left by rounding does not feed a front.
        *left = if rest < DROP * network.whole / step.fill.len() as f64 { 0.0 } else { rest };
    }
    // A pocket's pressure follows from its mass and its volume, so that rounding of the solver does not add up.
    let mut volume = vec![0.0; way.gas.airs.len()];
    for i in (0..step.fill.len()).filter(|&i| way.gas.of[i] != NONE) {
        volume[way.gas.of[i] as usize] += network.air(i, step.fill[i], step.wet[i]);
    }
    for i in 0..step.fill.len() {
        let Some(air) = way.gas.airs.get(way.gas.of[i] as usize) else { continue };
        if let Some(mass) = air.mass {
            let v = volume[way.gas.of[i] as usize];
            if v > 0.0 {
                way.memory.pressure[i] = mass / v;
            }
        }
    }
    let conduct: f64 = (0..step.fill.len())
        .filter(|&i| step.wet[i])
        .map(|i| network.media[i].0.permeability_m2 * network.media[i].1 * network.grid.area[i])
        .sum();
    way.marks.push(Mark {
        fluidity: end,
        filled: after,
        inflow: moved,
        error: ((after - before - moved) / after.max(f64::MIN_POSITIVE)).abs(),
        pockets: way.gas.airs.iter().filter(|a| a.mass.is_some()).count(),
        gradient: if conduct > 0.0 { step.dissipation / conduct } else { 0.0 },
    });
    way.state.fill.clone_from(&step.fill);
    way.state.full.clone_from(&step.wet);
    // The mean over the step holds the time before a cell was full; its pressure at the end is what the rest was at.
    for i in (0..step.fill.len()).filter(|&i| step.wet[i]) {
        let late = step.late[i].min(0.5);
        let hold =
            if way.gas.of[i] == NONE { 0.0 } else { step.air[way.gas.of[i] as usize] - network.drive[i] };
        way.state.pressure[i] =
            ((step.pressure[i] - late * hold) / (1.0 - late)).min(step.pressure[i].max(0.0));
    }
}

/// When cells were half full and full within the step: each takes in its inflow evenly from the time at which the first of those
/// that feed it was full.
fn times(network: &Network, way: &mut Way, step: &Move, [start, end]: [f64; 2]) {
    let state = &way.state;
    let crossing: Vec<usize> = (0..step.fill.len())
        .filter(|&i| !state.full[i] && (step.wet[i] || way.half[i].is_nan() && step.fill[i] >= 0.5))
        .collect();
    let mut fed = vec![false; step.fill.len()];
    for &(cell, stretch, _) in &network.feeds {
        fed[cell as usize] |= state.left[stretch as usize] > 0.0;
    }
    for i in crossing {
        let mut begin = if fed[i] { start } else { end };
        for to in network.beside[i] {
            if to == NONE || !step.wet[to as usize] {
                continue;
            }
            let j = to as usize;
            let gives = !step.wet[i] || step.pressure[j] > step.pressure[i];
            if gives {
                let late = if state.full[j] { 0.0 } else { step.late[j] };
                begin = begin.min(start + (end - start) * late);
            }
        }
        let missing = |to: f64| network.volume[i] * (to - state.fill[i]);
        let at = |volume: f64| begin + (end - begin) * (volume / step.inflow[i]).clamp(0.0, 1.0);
        if way.half[i].is_nan() {
            way.half[i] = if state.fill[i] >= 0.5 { start } else { at(missing(0.5)) };
        }
        if step.wet[i] {
            way.full_at[i] = start + (end - start) * step.late[i];
            way.half[i] = way.half[i].min(way.full_at[i]);
        }
    }
}
