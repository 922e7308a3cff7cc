//! From the received substrate to the finished package: what every stage adds, temperature step by temperature step.
//!
//! Stress grows by `dσ = C(T) (dε - α dT)` (the rate form), each part from the temperature of its birth: over each
//! interval of temperature the parts that are one take the mean modulus and the integral of the expansion. While
//! nothing is joined or loosened the way back is the same, so a stage is known by one path over temperature.

use crate::neighbour::{Start, Trace, Way};
use crate::plates::{self, Bent};
use crate::problem::{CoverKind, Plate, Problem, Resolution};
use crate::property::Elastic;
use crate::section::{Section, stacked};
use crate::shape::{SIDE, places};
use crate::stack::{Cause, Made, Stack, layers, stack};
use crate::valid::Refusal;
use facedown_field::NoConvergence;

/// Points on a side of the grid on each die.
pub(crate) const DIE_SIDE: usize = 9;
/// Points on each line of the profiles.
pub(crate) const LINE: usize = 41;

/// Where the package is read, and where each reading lies in the list of all.
#[derive(Clone, PartialEq)]
pub(crate) struct Layout {
    /// Heights of the substrate: body, ball field, three lines, dies.
    pub body: Vec<[f64; 2]>,
    pub balls: Vec<[f64; 2]>,
    pub lines: Vec<[f64; 2]>,
    pub dies: Vec<Vec<[f64; 2]>>,
    /// Joint layers: dies and interposer.
    pub seats: usize,
    /// Whether a lid lies over each die.
    pub lidded: Vec<bool>,
}

/// One reading of everything, or a sum of readings.
#[derive(Clone, PartialEq)]
pub(crate) struct Reading {
    pub body: Vec<f64>,
    pub balls: Vec<f64>,
    pub lines: Vec<f64>,
    pub dies: Vec<DieReading>,
    pub seats: Vec<SeatReading>,
}

#[derive(Clone, PartialEq)]
pub(crate) struct DieReading {
    /// Height of the package under it, m.
    pub height: Vec<f64>,
    /// Stress of the back and of the active face in x, y and shear, Pa.
    pub back: Vec<[f64; 3]>,
    pub active: Vec<[f64; 3]>,
    /// Curvature at its middle, 1/m.
    pub curvature: [f64; 2],
    /// Opening between its back and the lid, m.
    pub opening: Vec<f64>,
}

#[derive(Clone, Copy, PartialEq, Default)]
pub(crate) struct SeatReading {
    /// Shear at the end of the diagonal, Pa.
    pub shear: f64,
    /// Peel there, Pa.
    pub peel: f64,
}

fn add<const N: usize>(to: &mut [[f64; N]], from: &[[f64; N]], factor: f64) {
    for (a, b) in to.iter_mut().zip(from) {
        for k in 0..N {
            a[k] += factor * b[k];
        }
    }
}

fn add_flat(to: &mut [f64], from: &[f64], factor: f64) {
    to.iter_mut().zip(from).for_each(|(a, b)| *a += factor * b);
}

impl Reading {
    /// Adds a multiple of another reading.
    pub fn plus(mut self, other: &Reading, factor: f64) -> Reading {
        add_flat(&mut self.body, &other.body, factor);
        add_flat(&mut self.balls, &other.balls, factor);
        add_flat(&mut self.lines, &other.lines, factor);
        for (a, b) in self.dies.iter_mut().zip(&other.dies) {
            add_flat(&mut a.height, &b.height, factor);
            add_flat(&mut a.opening, &b.opening, factor);
            add_flat(&mut a.curvature, &b.curvature, factor);
            add(&mut a.back, &b.back, factor);
            add(&mut a.active, &b.active, factor);
        }
        for (a, b) in self.seats.iter_mut().zip(&other.seats) {
            a.shear += factor * b.shear;
            a.peel += factor * b.peel;
        }
        self
    }
}

impl Layout {
    pub fn new(problem: &Problem) -> Layout {
        let plate = &problem.substrate.plate;
        let (w, h) = (plate.width_m, plate.height_m);
        let along = |k: usize| k as f64 / (LINE - 1) as f64 - 0.5;
        let mut lines: Vec<[f64; 2]> = (0..LINE).map(|k| [w * along(k), 0.0]).collect();
        lines.extend((0..LINE).map(|k| [0.0, h * along(k)]));
        lines.extend((0..LINE).map(|k| [w * along(k), h * along(k)]));
        let shift = problem.interposer.as_ref().map_or([0.0; 2], |i| i.at_m);
        let dies = problem.dies.iter().map(|d| {
            let grid = places(d.plate.width_m, d.plate.height_m, DIE_SIDE);
            let at = [d.at_m[0] + shift[0], d.at_m[1] + shift[1]];
            grid.into_iter().map(|[x, y]| [x + at[0], y + at[1]]).collect()
        });
        let lid = problem.cover.as_ref().is_some_and(|c| c.kind == CoverKind::Lid);
        Layout {
            body: places(w, h, SIDE),
            balls: problem.balls.map_or_else(Vec::new, |b| places(b.extent_m[0], b.extent_m[1], SIDE)),
            lines,
            dies: dies.collect(),
            seats: problem.dies.len() + usize::from(problem.interposer.is_some()),
            lidded: problem.dies.iter().map(|d| lid && d.interface.is_some()).collect(),
        }
    }

    /// A reading of a body that nothing has bent.
    pub fn flat(&self) -> Reading {
        self.bowed([0.0; 2])
    }

    /// A reading of a bare substrate of one curvature.
    fn bowed(&self, curvature: [f64; 2]) -> Reading {
        let height = |p: &[f64; 2]| -(curvature[0] * p[0] * p[0] + curvature[1] * p[1] * p[1]) / 2.0;
        let heights = |places: &[[f64; 2]]| places.iter().map(height).collect::<Vec<f64>>();
        Reading {
            body: heights(&self.body),
            balls: heights(&self.balls),
            lines: heights(&self.lines),
            dies: self
                .dies
                .iter()
                .map(|grid| DieReading {
                    height: heights(grid),
                    back: vec![[0.0; 3]; grid.len()],
                    active: vec![[0.0; 3]; grid.len()],
                    curvature,
                    opening: vec![0.0; grid.len()],
                })
                .collect(),
            seats: vec![SeatReading::default(); self.seats],
        }
    }

    /// What one interval adds.
    pub fn read(&self, made: Made, stack: &Stack, bent: &Bent) -> Reading {
        let middle = bent.deflection(0, [0.0; 2]);
        let heights = |places: &[[f64; 2]]| {
            places.iter().map(|&p| bent.deflection(0, p) - middle).collect::<Vec<f64>>()
        };
        let dies = self.dies.iter().zip(&stack.seats).zip(&self.lidded).map(|((grid, seat), &lidded)| {
            let held = stack.assembly.parts.iter().filter(|p| p.plate == 0).find(|p| {
                p.plies.contains(&seat.body) && {
                    let o = &p.region.outer;
                    seat.at[0] > o.x[0] && seat.at[0] < o.x[1] && seat.at[1] > o.y[0] && seat.at[1] < o.y[1]
                }
            });
            let stress = |z: f64| -> Vec<[f64; 3]> {
                let Some(held) = held else { return vec![[0.0; 3]; grid.len()] };
                // The strip along the edge that slips is read where the hold begins.
                let inside = |v: f64, [low, high]: [f64; 2]| {
                    let rim = 1e-6 * (high - low);
                    v.clamp(low + rim, high - rim)
                };
                grid.iter()
                    .map(|p| {
                        let o = &held.region.outer;
                        let e = bent.strains(0, [inside(p[0], o.x), inside(p[1], o.y)]);
                        let [x, y] = seat.body.stress([e[0] + z * e[3], e[1] + z * e[4]]);
                        [x, y, seat.body.stiffness[3] * (e[2] + z * e[5])]
                    })
                    .collect()
            };
            // Curvature may jump where a line of the grid goes through the middle: the mean of what lies around it.
            let around = [[-1.0, -1.0], [-1.0, 1.0], [1.0, -1.0], [1.0, 1.0]].map(|side: [f64; 2]| {
                let near = |k: usize| seat.at[k] + 1e-6 * side[k] * seat.size[k];
                bent.strains(0, [near(0), near(1)])
            });
            let centre = |k: usize| around.iter().map(|e| e[k]).sum::<f64>() / 4.0;
            let opening = if lidded && made == Made::Covered {
                grid.iter().map(|&p| bent.deflection(1, p) - bent.deflection(0, p)).collect()
            } else {
                vec![0.0; grid.len()]
            };
            DieReading {
                height: heights(grid),
                back: stress(seat.body.top),
                active: stress(seat.body.bottom),
                curvature: [centre(3), centre(4)],
                opening,
            }
        });
        let seats = stack.seats.iter().map(|seat| {
            let (pair, half) = (seat.pair(), seat.half_diagonal());
            SeatReading { shear: pair.shear(half, half), peel: pair.peel(half, half) }
        });
        Reading {
            body: heights(&self.body),
            balls: heights(&self.balls),
            lines: heights(&self.lines),
            dies: dies.collect(),
            seats: seats.collect(),
        }
    }
}

/// Readings over temperature from the first of them, while the same parts are one.
pub(crate) struct Path {
    at: Vec<(f64, Reading)>,
    way: Way,
}

/// Temperatures that must be met, sorted, with steps between them no longer than an interval, K.
fn ladder(mut wanted: Vec<f64>, interval_k: f64) -> Vec<f64> {
    wanted.sort_by(f64::total_cmp);
    wanted.dedup();
    let mut all = Vec::new();
    for &t in &wanted {
        if let Some(&before) = all.last() {
            let gap: f64 = t - before;
            let pieces = (gap / interval_k - 1e-9).ceil().max(1.0);
            all.extend((1..pieces as usize).map(|k| before + gap * k as f64 / pieces));
        }
        all.push(t);
    }
    all
}

fn unsolved(at: f64) -> impl Fn(NoConvergence) -> Refusal {
    move |why| Refusal::Unsolved { temperature_k: at, why }
}

impl Path {
    /// The path through all wanted temperatures.
    fn of(
        problem: &Problem,
        layout: &Layout,
        made: Made,
        wanted: Vec<f64>,
        from: &Start<'_>,
    ) -> Result<Path, Refusal> {
        let ladder = ladder(wanted, problem.resolution.interval_k);
        let mut way = Way::new(made, problem.resolution.rest);
        let mut at = vec![(ladder[0], layout.flat())];
        for w in ladder.windows(2) {
            let stack = way.stack(problem, Cause::Heat(w[0], w[1]), from);
            let added = way.step(layout, stack, from).map_err(unsolved(w[1]))?;
            let sum = at[at.len() - 1].1.clone();
            at.push((w[1], sum.plus(&added, 1.0)));
        }
        Ok(Path { at, way })
    }

    /// What going from one temperature to another adds; both were wanted.
    fn between(&self, from: f64, to: f64) -> Result<Reading, Refusal> {
        let find = |t: f64| {
            let found = self.at.iter().find(|(k, _)| (k - t).abs() < 1e-9).map(|(_, r)| r);
            found.ok_or(Refusal::Unsolved { temperature_k: t, why: NoConvergence::NotBracketed })
        };
        Ok(find(to)?.clone().plus(find(from)?, -1.0))
    }
}

/// Curvature that layers of their own take on between two temperatures, in steps; `layers` gives them from the bottom up
/// over an interval.
pub(crate) fn curvature(
    layers: impl Fn(f64, f64) -> Vec<(f64, Elastic)>,
    from: f64,
    to: f64,
) -> Result<[f64; 2], Refusal> {
    let mut sum = [0.0; 2];
    // Quick, so that it is taken finely whatever the resolution of the whole.
    let steps = ladder(vec![from.min(to), from.max(to)], Resolution::default().interval_k);
    for w in steps.windows(2) {
        let free = Section::of(&stacked(0.0, &layers(w[0], w[1]))).free().map_err(unsolved(w[1]))?;
        (0..2).for_each(|k| sum[k] += free.curvature[k]);
    }
    Ok(if to < from { sum.map(|v| -v) } else { sum })
}

/// The same for a plate.
pub(crate) fn curvature_of(plate: &Plate, from: f64, to: f64) -> Result<[f64; 2], Refusal> {
    curvature(|from, to| layers(plate, Cause::Heat(from, to)), from, to)
}

/// All that happened to a package.
pub(crate) struct History<'a> {
    problem: &'a Problem,
    pub layout: Layout,
    joined: Path,
    filled: Option<Path>,
    shrinkage: Reading,
    covered: Option<Path>,
    /// Temperatures at which the finished package is known, K.
    pub temperatures: Vec<f64>,
    /// Whether nothing was known of a package like it.
    anew: bool,
}

impl<'a> History<'a> {
    /// Runs the way of a problem.
    pub fn run(problem: &'a Problem, from: &Start<'_>) -> Result<History<'a>, Refusal> {
        let p = &problem.process;
        let layout = Layout::new(problem);
        let filled = problem.has_underfill();
        let mut asked = vec![p.coldest_k, p.room_k, p.ball_solidus_k, p.ball_liquidus_k, p.reflow_peak_k];
        // Bumps of a high-melting solder freeze above the peak of the board's reflow.
        asked.extend(Some(p.bump_solidus_k).filter(|&t| t < p.reflow_peak_k));
        let temperatures = ladder(asked, problem.resolution.interval_k);
        let covered = problem.cover.is_some();
        let mut wanted = vec![p.bump_solidus_k, p.room_k];
        if filled {
            wanted.push(p.underfill_cure_k);
        }
        if covered && !filled {
            wanted.push(p.cover_cure_k);
        }
        if !covered && !filled {
            wanted.extend(&temperatures);
        }
        let before_cover = || -> Result<_, Refusal> {
            let joined = Path::of(problem, &layout, Made::Joined, wanted, from)?;
            if !filled {
                return Ok((joined, None, layout.flat()));
            }
            let mut wanted = vec![p.underfill_cure_k, p.room_k];
            if covered {
                wanted.push(p.cover_cure_k);
            } else {
                wanted.extend(&temperatures);
            }
            let mut path = Path::of(problem, &layout, Made::Filled, wanted, from)?;
            let stack = path.way.stack(problem, Cause::Shrinkage(p.underfill_cure_k), from);
            let added = path.way.step(&layout, stack, from);
            Ok((joined, Some(path), added.map_err(unsolved(p.underfill_cure_k))?))
        };
        let with_cover = || {
            let mut wanted = temperatures.clone();
            wanted.push(p.cover_cure_k);
            Path::of(problem, &layout, Made::Covered, wanted, from)
        };
        // Both know nothing of each other.
        let (before, with) = rayon::join(before_cover, || covered.then(with_cover).transpose());
        let (joined, path, shrinkage) = before?;
        let cover = with?;
        Ok(History {
            problem,
            layout,
            joined,
            filled: path,
            shrinkage,
            covered: cover,
            temperatures,
            anew: matches!(from, Start::Anew),
        })
    }

    /// What was solved on the way, for problems that differ little.
    pub fn trace(self) -> Trace {
        let ways = [Some(self.joined), self.filled, self.covered].into_iter().flatten().map(|p| p.way);
        Trace::new(self.layout, self.problem.resolution, ways.collect())
    }

    /// Share of the finished package's warpage that the grid may be wrong by: twice what a grid of half the step
    /// changes in cooling from the last joining to room temperature. Only for packages that are their own mirror
    /// image, where it is quick, and that stand for themselves.
    pub fn grid_error(&self) -> Option<f64> {
        if !self.anew {
            return None;
        }
        let p = &self.problem.process;
        let (made, from) = match (&self.covered, &self.filled) {
            (Some(_), _) => (Made::Covered, p.cover_cure_k),
            (None, Some(_)) => (Made::Filled, p.underfill_cure_k),
            (None, None) => (Made::Joined, p.bump_solidus_k),
        };
        let own = stack(self.problem, made, Cause::Heat(from, p.room_k)).assembly;
        if !plates::quartered(&own) {
            return None;
        }
        let heights = |assembly: &plates::Assembly| -> Option<Vec<f64>> {
            let bent = plates::solve(assembly).ok()?;
            let middle = bent.deflection(0, [0.0; 2]);
            Some(self.layout.body.iter().map(|&at| bent.deflection(0, at) - middle).collect())
        };
        let coarse = heights(&own)?;
        let fine = heights(&plates::Assembly { step: own.step / 2.0, ..own })?;
        let most = coarse.iter().zip(&fine).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        let high = fine.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let low = fine.iter().copied().fold(f64::INFINITY, f64::min);
        Some(2.0 * most / (high - low)).filter(|share| share.is_finite())
    }

    /// The substrate alone at a temperature, with its received bow.
    pub fn received(&self, kelvin: f64) -> Result<Reading, Refusal> {
        let plate = &self.problem.substrate.plate;
        let bow = self.problem.substrate.received_bow_m.unwrap_or(0.0);
        // Corners of a paraboloid lie lower than its middle by the bow, half of it for each direction.
        let own = [plate.width_m, plate.height_m].map(|s| 4.0 * bow / (s * s));
        let heated = curvature_of(plate, self.problem.process.room_k, kelvin)?;
        Ok(self.layout.bowed([own[0] + heated[0], own[1] + heated[1]]))
    }

    /// With the dies on bare joints.
    pub fn attached(&self, kelvin: f64) -> Result<Reading, Refusal> {
        let solidus = self.problem.process.bump_solidus_k;
        Ok(self.received(solidus)?.plus(&self.joined.between(solidus, kelvin)?, 1.0))
    }

    /// With underfill, where there is one; `crept` is the share that creeps away in its cure.
    pub fn filled(&self, kelvin: f64, crept: f64) -> Result<Reading, Refusal> {
        let Some(path) = &self.filled else { return self.attached(kelvin) };
        let cure = self.problem.process.underfill_cure_k;
        // Joints that are not solid yet at the cure hold nothing.
        let crept = if cure >= self.problem.process.bump_solidus_k { 1.0 } else { crept };
        let held = self.layout.flat().plus(&self.attached(cure)?, 1.0 - crept);
        let base = held.plus(&self.received(cure)?, crept);
        Ok(base.plus(&self.shrinkage, 1.0).plus(&path.between(cure, kelvin)?, 1.0))
    }

    /// The finished package.
    pub fn finished(&self, kelvin: f64, crept: f64) -> Result<Reading, Refusal> {
        let Some(path) = &self.covered else { return self.filled(kelvin, crept) };
        let cure = self.problem.process.cover_cure_k;
        Ok(self.filled(cure, crept)?.plus(&path.between(cure, kelvin)?, 1.0))
    }
}
