//! From the followed front to plain numbers: times, voids and the bumps that they touch, places where fronts meet.

use super::follow::Way;
use super::gas::Air;
use super::network::{NONE, Network};
use super::outcome::{CellOutcome, End, Outcome, Progress, Void};
use super::problem::Problem;

/// Fluidity time told as time, with the stretching by shear.
struct Telling<'a> {
    problem: &'a Problem,
    /// Fluidity time and time of the steps, where shear stretches them.
    stretched: Vec<(f64, f64)>,
    gel: Option<f64>,
}

impl Telling<'_> {
    fn of<'a>(problem: &'a Problem, network: &Network, way: &Way) -> Telling<'a> {
        let mut stretched = Vec::new();
        if let Some(shear) = problem.shear {
            let gaps: f64 = network.media.iter().zip(&network.grid.area).map(|(m, a)| m.1 * a).sum();
            let gap = gaps / network.grid.area.iter().sum::<f64>();
            let (mut before, mut time) = (0.0, 0.0);
            stretched.push((0.0, 0.0));
            let k = 1.0 / shear.index;
            for mark in &way.marks {
                // Slit flow of a power-law liquid over that of a Newtonian one of the same viscosity at a rate of 1/s.
                let Some(viscosity) = problem.clock.viscosity(time) else { break };
                let wall = 0.5 * gap * mark.gradient.sqrt() / viscosity;
                let quicker = 3.0 / (2.0 + k) * wall.powf(k - 1.0);
                if quicker > 0.0 && quicker.is_finite() {
                    time += (mark.fluidity - before) * viscosity / quicker;
                    before = mark.fluidity;
                    stretched.push((before, time));
                }
            }
        }
        Telling { problem, stretched, gel: problem.clock.gel() }
    }

    fn time(&self, fluidity: f64) -> Option<f64> {
        if self.stretched.is_empty() {
            return self.problem.clock.time(fluidity);
        }
        // The last cell is full at the end of the last step, but for rounding.
        let last = self.stretched.last().map_or(0.0, |p| p.0);
        let fluidity = if fluidity <= last * (1.0 + 1e-9) { fluidity.min(last) } else { fluidity };
        let after = self.stretched.partition_point(|p| p.0 < fluidity);
        let (a, b) = (self.stretched.get(after.checked_sub(1)?)?, self.stretched.get(after)?);
        let time = a.1 + (b.1 - a.1) * (fluidity - a.0) / (b.0 - a.0);
        // The gel comes by the clock, whatever the shear.
        self.problem.clock.viscosity(time).map(|_| time)
    }
}

/// The outcome of a front that was followed.
pub(super) fn finish(problem: &Problem, network: &Network, way: Way) -> Outcome {
    let n = way.state.fill.len();
    let telling = Telling::of(problem, network, &way);
    let (voids, of) = voids(problem, network, &way);
    let share = |i: usize| network.dry(i, way.state.fill[i], way.state.full[i]);
    let dry: Vec<usize> = (0..n).filter(|&i| !way.state.full[i] || network.repels[i] > 0.0).collect();
    let trapped = dry.iter().all(|&i| of[i] > 0);
    let end = if !way.began {
        End::Gelled
    } else if dry.is_empty() {
        End::Full
    } else if trapped {
        End::Voids
    } else if way.ran_dry {
        End::RanDry
    } else {
        End::DoesNotWet
    };
    let last = (0..n)
        .filter(|&i| way.full_at[i].is_finite())
        .max_by(|&a, &b| way.full_at[a].total_cmp(&way.full_at[b]).then(b.cmp(&a)));
    let fill_fluidity = last.map(|i| way.full_at[i]).filter(|_| matches!(end, End::Full | End::Voids));
    let mut filled = way.marks.last().map_or(0.0, |m| m.filled / network.whole);
    let gels = telling.gel.is_some_and(|gel| way.marks.last().is_some_and(|m| m.fluidity > gel));
    if let Some(gel) = telling.gel.filter(|_| gels) {
        let after = way.marks.partition_point(|m| m.fluidity < gel);
        let b = way.marks[after];
        let (s, f) =
            after.checked_sub(1).map_or((0.0, 0.0), |k| (way.marks[k].fluidity, way.marks[k].filled));
        filled = (f + (b.filled - f) * (gel - s) / (b.fluidity - s)) / network.whole;
    }
    let meeting = meeting(network, &way.half);
    let some = |v: f64| Some(v).filter(|v| v.is_finite());
    let cells = (0..n)
        .map(|i| CellOutcome {
            at: network.grid.position[i],
            place_m: network.grid.centre[i],
            area_m2: network.grid.area[i],
            arrival_fluidity: some(way.half[i]),
            arrival_s: some(way.half[i]).and_then(|s| telling.time(s)),
            fill: (1.0 - share(i)).clamp(0.0, 1.0),
            repels: network.repels[i] / (network.volume[i] + network.repels[i]),
            repelling_pa: network.repelling_pa[i],
            void: of[i],
            meeting_rad: meeting[i],
            permeability_m2: network.media[i].0.permeability_m2,
            free: network.media[i].0.free,
            drive_pa: network.drive[i],
        })
        .collect();
    let unfilled_area_m2 =
        dry.iter().filter(|&&i| of[i] == 0).map(|&i| network.grid.area[i] * share(i).clamp(0.0, 1.0)).sum();
    Outcome {
        cells,
        count: network.grid.count,
        step_m: network.grid.step,
        end,
        fill_fluidity,
        fill_time_s: fill_fluidity.and_then(|s| telling.time(s)),
        gel_fluidity: telling.gel,
        filled,
        last_place_m: last.map(|i| network.grid.centre[i]),
        voids,
        unfilled_area_m2,
        free_volume_m3: network.whole,
        left_m3: left(problem, network, &way),
        used_m3: way.marks.iter().map(|m| m.inflow).sum(),
        volume_error: way.marks.iter().map(|m| m.error).fold(0.0, f64::max),
        passed_over: way.passed_over / network.whole,
        course: way
            .marks
            .iter()
            .map(|m| Progress {
                fluidity: m.fluidity,
                time_s: telling.time(m.fluidity),
                filled: m.filled / network.whole,
                inflow_m3: m.inflow,
                volume_error: m.error,
                pockets: m.pockets,
            })
            .collect(),
        effort: way.effort,
    }
}

/// What each line holds at the end: passes of a stretch are used up in their order.
fn left(problem: &Problem, network: &Network, way: &Way) -> Vec<Option<f64>> {
    let mut left: Vec<Option<f64>> =
        problem.lines.iter().map(|l| Some(l.volume_m3).filter(|v| v.is_finite())).collect();
    for (stretch, rest) in network.stretches.iter().zip(&way.state.left) {
        let mut rest = *rest;
        for (&line, &(volume, start)) in stretch.lines.iter().zip(&stretch.passes).rev() {
            // A pass that has not begun keeps all of its liquid.
            if way.has_begun(start) && volume.is_finite() {
                left[line] = Some(rest.min(volume));
                rest = (rest - volume).max(0.0);
            }
        }
    }
    left
}

/// Voids, largest first, and the number of each cell's void from 1.
fn voids(problem: &Problem, network: &Network, way: &Way) -> (Vec<Void>, Vec<u32>) {
    let n = way.state.fill.len();
    let mut members: Vec<Vec<usize>> = vec![Vec::new(); way.gas.airs.len()];
    for i in (0..n).filter(|&i| way.gas.of[i] != NONE) {
        members[way.gas.of[i] as usize].push(i);
    }
    let mut found: Vec<(Void, Vec<usize>)> = Vec::new();
    for (air, members) in way.gas.airs.iter().zip(members) {
        let Air { mass: Some(mass), volume } = *air else { continue };
        let dry = |i: usize| network.dry(i, way.state.fill[i], way.state.full[i]).clamp(0.0, 1.0);
        let sum = |value: &dyn Fn(usize) -> f64| members.iter().map(|&i| value(i) * dry(i)).sum::<f64>();
        let plan = |i: usize| network.grid.area[i];
        let whole = sum(&plan).max(f64::MIN_POSITIVE);
        let middle = [0, 1].map(|k| sum(&|i| plan(i) * network.grid.centre[i][k]) / whole);
        let mut bounds = [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]];
        for &i in members.iter().filter(|&&i| dry(i) > 0.5) {
            let [x, y] = network.grid.position[i];
            for p in [[0, 0], [1, 0], [0, 1], [1, 1]]
                .map(|[a, b]| network.grid.place((x + a) as f64, (y + b) as f64))
            {
                for k in 0..2 {
                    bounds[0][k] = bounds[0][k].min(p[k]);
                    bounds[1][k] = bounds[1][k].max(p[k]);
                }
            }
        }
        if bounds[0][0] > bounds[1][0] {
            bounds = [middle; 2];
        }
        let area_m2 = sum(&|i| plan(i) * network.media[i].0.free);
        let pressure_pa = if volume > 0.0 { mass / volume } else { problem.ambient_pa };
        let void = Void {
            area_m2,
            volume_m3: volume,
            pressure_pa,
            mass_pa_m3: mass,
            place_m: middle,
            bumps: touched(problem, network, way, &members),
            bounds_m: bounds,
        };
        found.push((void, members));
    }
    found.sort_by(|a, b| b.0.area_m2.total_cmp(&a.0.area_m2));
    let mut of = vec![0; n];
    for (k, (_, members)) in found.iter().enumerate() {
        members.iter().for_each(|&i| of[i] = k as u32 + 1);
    }
    (found.into_iter().map(|v| v.0).collect(), of)
}

/// Bumps that the air in these cells touches: a cell that is at least half dry lies within half its diagonal of a bump's side.
fn touched(problem: &Problem, network: &Network, way: &Way, members: &[usize]) -> Vec<usize> {
    let Some(bumps) = &problem.bumps else { return Vec::new() };
    let reach = 0.5 * bumps.diameter_m;
    let mut out = Vec::new();
    for (k, place) in bumps.places_m.iter().enumerate() {
        let touches = members.iter().any(|&i| {
            if network.dry(i, way.state.fill[i], way.state.full[i]) < 0.5 {
                return false;
            }
            // Distance from the bump's centre to the cell, in the frame of the grid.
            let [x, y] = network.grid.position[i];
            let low = network.grid.place(x as f64, y as f64);
            let (right, up) =
                (network.grid.place(x as f64 + 1.0, y as f64), network.grid.place(x as f64, y as f64 + 1.0));
            let along = |to: [f64; 2], side: f64| {
                let d =
                    ((place[0] - low[0]) * (to[0] - low[0]) + (place[1] - low[1]) * (to[1] - low[1])) / side;
                (d - d.clamp(0.0, side)).abs()
            };
            along(right, network.grid.step[0]).hypot(along(up, network.grid.step[1])) <= reach
        });
        if touches {
            out.push(k);
        }
    }
    out
}

/// The largest angle between the ways of the front in opposite neighbours of a cell, where they run towards each other.
fn meeting(network: &Network, arrival: &[f64]) -> Vec<f64> {
    // From where the front came: the steepest rise over the neighbours that it passed before.
    let way: Vec<[f64; 2]> = (0..arrival.len())
        .map(|i| {
            let rise = |k: usize| match network.beside[i][k] {
                NONE => 0.0,
                to => Some(arrival[i] - arrival[to as usize]).filter(|r| r.is_finite()).unwrap_or(0.0),
            };
            let along = |low: usize, high: usize| {
                let (a, b) = (rise(low).max(0.0), rise(high).max(0.0));
                if a >= b { a } else { -b }
            };
            let w = [along(0, 2), along(1, 3)];
            let length = w[0].hypot(w[1]);
            if length > 0.0 { w.map(|v| v / length) } else { [0.0; 2] }
        })
        .collect();
    (0..arrival.len())
        .map(|i| {
            let mut most = 0.0_f64;
            for axis in 0..2 {
                let (low, high) = (network.beside[i][axis], network.beside[i][axis + 2]);
                if low == NONE || high == NONE || arrival[i].is_nan() {
                    continue;
                }
                let (a, b) = (way[low as usize], way[high as usize]);
                if a[axis] > b[axis] && a != [0.0; 2] && b != [0.0; 2] {
                    most = most.max((a[0] * b[0] + a[1] * b[1]).clamp(-1.0, 1.0).acos());
                }
            }
            most
        })
        .collect()
}
