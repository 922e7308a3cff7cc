//! What is asked of a window, and the sweep over its points and draws.

use super::clocks::Clocks;
use super::draw::{Draw, Passes, Probability, Tolerances, Verdict};
use super::response::{Accuracy, Knob, Response, Setting};
use super::{NoWindow, OutOfRange};
use crate::front::{self, CellLaw, ClosedForms, Map};
use crate::problem::{Angle, Face};
use facedown_evidence::input::within;
use facedown_field::random::Sequence;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// What is asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WindowTask {
    /// The front with the recipe's lines, on the grid on which the window shall be followed: a coarse one. Its clock is not read.
    pub base: front::Problem,
    /// Clocks over temperature.
    pub clocks: Clocks,
    /// Flow temperature, K.
    pub temperature_k: f64,
    /// Tolerances.
    pub tolerances: Tolerances,
    /// Voids, and places that do not wet, that are allowed over the die's area.
    pub void_area_fraction: f64,
    /// Gel over fill time that is asked for, 1 or more.
    pub gel_margin: f64,
    /// Draws a point.
    pub draws: u64,
    /// Two-sided confidence of the probabilities.
    pub confidence: f64,
    /// Seed.
    pub seed: u64,
    /// Draws that are followed directly.
    pub checks: usize,
}

/// Axes of a window. Angles are those of the ground of a face; patches on it keep their distance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Window {
    /// Angle on a face (rad, rising) by flow temperature (K).
    AngleTemperature {
        /// Face.
        face: Face,
        /// Angles, rad.
        angles_rad: Vec<f64>,
        /// Temperatures, K.
        temperatures_k: Vec<f64>,
    },
    /// Gap (m, rising) by angle on a face (rad, rising).
    GapAngle {
        /// Gaps, m.
        gaps_m: Vec<f64>,
        /// Face.
        face: Face,
        /// Angles, rad.
        angles_rad: Vec<f64>,
    },
    /// Queue time (s, rising) by the angle on a face that it leads to, as [`crate::contamination::Ageing::after`] tells it; its spread
    /// takes the place of the tolerance.
    Queue {
        /// Face.
        face: Face,
        /// Queue time and angle.
        points: Vec<(f64, Angle)>,
    },
}

/// A point of a window.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// The values of the axes in SI; for a queue the time and the angle.
    pub at: [f64; 2],
    /// What becomes of the point itself.
    pub verdict: Verdict,
    /// Fill time of the point itself, s.
    pub fill_time_s: Option<f64>,
    /// Gel over fill time less 1, where it fills and gels.
    pub margin: Option<f64>,
    /// More voids than allowed, or places that do not wet.
    pub void: Probability,
    /// Not full: does not wet, gels, or runs dry.
    pub no_fill: Probability,
    /// Released: [`Verdict::Fills`].
    pub good: Probability,
}

/// A window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WindowOutcome {
    /// Points, the first axis running first.
    pub points: Vec<Point>,
    /// Number of points along the axes; 1 along the second one of a queue.
    pub count: [usize; 2],
    /// How far interpolation is from fronts.
    pub accuracy: Accuracy,
    /// Fronts followed for it, without those of the accuracy.
    pub fronts: usize,
}

/// The draws about the design's own point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Spread {
    /// What becomes of the point itself.
    pub verdict: Verdict,
    /// Fill time of the point itself, s.
    pub fill_time_s: Option<f64>,
    /// 5, 50 and 95 % of the fill times of what fills, s.
    pub fill_times_s: Option<[f64; 3]>,
    /// More voids than allowed, or places that do not wet.
    pub void: Probability,
    /// Not full: does not wet, gels, or runs dry.
    pub no_fill: Probability,
    /// Released.
    pub good: Probability,
    /// How far interpolation is from fronts.
    pub accuracy: Accuracy,
    /// Fronts followed for it, without those of the accuracy.
    pub fronts: usize,
}

/// Nodes of a tolerance, in standard deviations.
const NODES: [f64; 5] = [-3.0, -1.5, 0.0, 1.5, 3.0];
/// How far main nodes reach beyond the ends of an axis, in standard deviations of the tolerance.
const BEYOND: f64 = 2.5;

impl WindowTask {
    fn check(&self) -> Result<(), NoWindow> {
        let spread = |what: &str, v: f64, most: f64, allowed| within(what, v, 0.0, most, allowed);
        for v in self.tolerances.angles_rad {
            spread("the tolerance of an angle", v, 1.0, "from 0 to 1 rad")?;
        }
        let t = &self.tolerances;
        for (what, v) in [
            ("the tolerance of the gap", t.gap),
            ("the tolerance of the tension", t.tension),
            ("the tolerance of the volume", t.volume),
        ] {
            spread(what, v, 0.22, "from 0 to 0.22 of it")?;
        }
        spread("the tolerance of the viscosity", t.viscosity, 2.0, "from 0 to 2 times the viscosity")?;
        spread("the tolerance of the temperature", t.temperature_k, 50.0, "from 0 to 50 K")?;
        within("the flow temperature", self.temperature_k, 150.0, 1000.0, "from 150 K to 1000 K")?;
        within("the share of voids that is allowed", self.void_area_fraction, 0.0, 1.0, "from 0 to 1")?;
        within("the gel margin", self.gel_margin, 1.0, 1e6, "1 or more")?;
        within("the number of draws", self.draws as f64, 1.0, 1e8, "from 1 to 100 million")?;
        within("the confidence", self.confidence, 0.01, 0.9999, "from 0.01 to 0.9999")?;
        self.clocks.check()
    }

    fn passes(&self) -> Passes {
        let mut passes: Vec<(f64, f64)> = Vec::new();
        for l in &self.base.lines {
            match passes.iter_mut().find(|p| p.0 == l.start_s) {
                Some(p) => p.1 += l.volume_m3,
                None => passes.push((l.start_s, l.volume_m3)),
            }
        }
        passes.sort_by(|a, b| a.0.total_cmp(&b.0));
        Passes { passes, allowed: self.void_area_fraction, gel_margin: self.gel_margin }
    }

    /// The knobs that vary, less the main ones, with their nodes.
    fn sides(&self, main: &[Knob]) -> Vec<(Knob, Vec<f64>)> {
        let t = &self.tolerances;
        let spreads = [t.angles_rad[0], t.angles_rad[1], t.angles_rad[2], t.gap];
        let varied = Knob::ALL.into_iter().zip(spreads).filter(|(k, s)| *s > 0.0 && !main.contains(k));
        varied.map(|(k, s)| (k, NODES.map(|n| n * s).to_vec())).collect()
    }

    fn count(&self, point: &Draw, tolerances: &Tolerances, how: &How<'_>) -> ([u64; 3], Vec<f64>) {
        let (sequence, mut counts, mut times) = (Sequence::new(self.seed), [0; 3], Vec::new());
        for n in 0..self.draws {
            let (verdict, time, _) =
                Draw::of(point, tolerances, sequence, n).judge(how.response, how.clocks, how.passes);
            counts[0] += u64::from(matches!(verdict, Verdict::Voids | Verdict::DoesNotWet));
            counts[1] += u64::from(matches!(verdict, Verdict::DoesNotWet | Verdict::Gels | Verdict::RunsDry));
            counts[2] += u64::from(verdict == Verdict::Fills);
            times.extend(time);
        }
        (counts, times)
    }

    /// Settings of some draws about points, spread over them.
    fn to_check(&self, points: &[(Draw, Tolerances)]) -> Vec<Setting> {
        let sequence = Sequence::new(!self.seed);
        (0..self.checks)
            .map(|k| {
                let at = (2 * k + 1) * points.len() / (2 * self.checks);
                let (point, tolerances) = &points[at.min(points.len() - 1)];
                Draw::of(point, tolerances, sequence, k as u64).setting
            })
            .collect()
    }
}

struct How<'a> {
    response: &'a Response,
    clocks: &'a Clocks,
    passes: &'a Passes,
}

/// Draws about the design's own point, with the closed forms in each cell.
///
/// # Errors
/// [`NoWindow`].
pub fn spread(task: &WindowTask) -> Result<Spread, NoWindow> {
    spread_with(task, &ClosedForms::of(&task.base))
}

/// The same with another law of the cells.
///
/// # Errors
/// [`NoWindow`].
pub fn spread_with(task: &WindowTask, law: &dyn CellLaw) -> Result<Spread, NoWindow> {
    task.check()?;
    let response = Response::of(&task.base, law, Vec::new(), task.sides(&[]), task.void_area_fraction)?;
    let point = Draw::middle([0.0; 4], task.temperature_k);
    let passes = task.passes();
    let how = How { response: &response, clocks: &task.clocks, passes: &passes };
    let (counts, mut times) = task.count(&point, &task.tolerances, &how);
    times.sort_by(f64::total_cmp);
    let quantile = |p: f64| times[((times.len() as f64 * p) as usize).min(times.len() - 1)];
    let fill_times_s = (!times.is_empty()).then(|| [0.05, 0.5, 0.95].map(quantile));
    let (verdict, fill_time_s, _) = point.judge(&response, &task.clocks, &passes);
    let checked = task.to_check(&[(point, task.tolerances)]);
    let probability = |k: usize| Probability::of(counts[k], task.draws, task.confidence);
    Ok(Spread {
        verdict,
        fill_time_s,
        fill_times_s,
        void: probability(0),
        no_fill: probability(1),
        good: probability(2),
        accuracy: response.accuracy(&task.base, law, &checked, task.void_area_fraction)?,
        fronts: response.fronts(),
    })
}

/// The number of the ground of a map: what its axis tells.
fn ground(map: &Map) -> f64 {
    match map {
        Map::Uniform(v) | Map::Patches { ground: v, .. } => *v,
        Map::Raster { values, .. } => values.iter().sum::<f64>() / values.len().max(1) as f64,
    }
}

/// A window, with the closed forms in each cell.
///
/// # Errors
/// [`NoWindow`].
pub fn window(task: &WindowTask, window: &Window) -> Result<WindowOutcome, NoWindow> {
    window_with(task, window, &ClosedForms::of(&task.base))
}

/// The same with another law of the cells.
///
/// # Errors
/// [`NoWindow`].
pub fn window_with(task: &WindowTask, window: &Window, law: &dyn CellLaw) -> Result<WindowOutcome, NoWindow> {
    task.check()?;
    let t = task.tolerances;
    let gap = ground(&task.base.gap_m);
    let knob = |face: &Face| match face {
        Face::Die => (Knob::Die, 0, ground(&task.base.angle_die_rad)),
        Face::Substrate => (Knob::Substrate, 1, ground(&task.base.angle_substrate_rad)),
        Face::Bump => (Knob::Bump, 2, ground(&task.base.angle_bump_rad)),
    };
    // Points with their own tolerances, and the main knobs with what they pass.
    let mut points: Vec<([f64; 2], Draw, Tolerances)> = Vec::new();
    let (main, count) = match window {
        Window::AngleTemperature { face, angles_rad, temperatures_k } => {
            let (name, k, base) = knob(face);
            for &temperature in temperatures_k {
                within("a temperature of the window", temperature, 150.0, 1000.0, "from 150 K to 1000 K")?;
                for &angle in angles_rad {
                    let mut x = [0.0; 4];
                    x[k] = angle - base;
                    points.push(([angle, temperature], Draw::middle(x, temperature), t));
                }
            }
            let shifts = angles(angles_rad, base, t.angles_rad[k])?;
            (vec![(name, shifts)], [angles_rad.len(), temperatures_k.len()])
        }
        Window::GapAngle { gaps_m, face, angles_rad } => {
            let (name, k, base) = knob(face);
            for &angle in angles_rad {
                for &g in gaps_m {
                    within(
                        "a gap of the window",
                        g,
                        0.2 * gap,
                        5.0 * gap,
                        "from a fifth to five times the gap",
                    )?;
                    let mut x = [0.0; 4];
                    (x[k], x[3]) = (angle - base, g / gap - 1.0);
                    points.push(([g, angle], Draw::middle(x, task.temperature_k), t));
                }
            }
            let shifts = angles(angles_rad, base, t.angles_rad[k])?;
            let factors: Vec<f64> = gaps_m.iter().map(|g| g / gap - 1.0).collect();
            let factors = nodes(&factors, t.gap * 0.8, |x| x.max(-0.9));
            (vec![(Knob::Gap, factors), (name, shifts)], [gaps_m.len(), angles_rad.len()])
        }
        Window::Queue { face, points: queue } => {
            let (name, k, base) = knob(face);
            let mut widest = 0.0_f64;
            for (time, angle) in queue {
                within("a queue time of the window", *time, 0.0, 1e12, "from 0 to 1e12 s")?;
                within("the spread of an angle", angle.spread_rad, 0.0, 1.0, "from 0 to 1 rad")?;
                let mut x = [0.0; 4];
                x[k] = angle.angle_rad - base;
                let mut own = t;
                own.angles_rad[k] = angle.spread_rad;
                widest = widest.max(angle.spread_rad);
                points.push(([*time, angle.angle_rad], Draw::middle(x, task.temperature_k), own));
            }
            let all: Vec<f64> = queue.iter().map(|q| q.1.angle_rad).collect();
            (vec![(name, angles(&all, base, widest)?)], [queue.len(), 1])
        }
    };
    if points.is_empty() {
        return Err(NoWindow::NoPoints);
    }
    let knobs: Vec<Knob> = main.iter().map(|m| m.0).collect();
    let response = Response::of(&task.base, law, main, task.sides(&knobs), task.void_area_fraction)?;
    let passes = task.passes();
    let how = How { response: &response, clocks: &task.clocks, passes: &passes };
    let told: Vec<Point> = points
        .par_iter()
        .map(|(at, point, tolerances)| {
            let (verdict, fill_time_s, margin) = point.judge(&response, &task.clocks, &passes);
            let (counts, _) = task.count(point, tolerances, &how);
            let probability = |k: usize| Probability::of(counts[k], task.draws, task.confidence);
            let (void, no_fill, good) = (probability(0), probability(1), probability(2));
            Point { at: *at, verdict, fill_time_s, margin, void, no_fill, good }
        })
        .collect();
    let draws: Vec<(Draw, Tolerances)> = points.iter().map(|p| (p.1, p.2)).collect();
    let checked = task.to_check(&draws);
    let accuracy = response.accuracy(&task.base, law, &checked, task.void_area_fraction)?;
    Ok(WindowOutcome { points: told, count, accuracy, fronts: response.fronts() })
}

/// Shifts of an axis of angles (rad) with one beyond each end.
fn angles(angles_rad: &[f64], base: f64, spread: f64) -> Result<Vec<f64>, OutOfRange> {
    for a in angles_rad {
        within("an angle of the window", *a, 0.0, std::f64::consts::PI, "from 0 to 180 deg")?;
    }
    let shifts: Vec<f64> = angles_rad.iter().map(|a| a - base).collect();
    Ok(nodes(&shifts, spread, |x| x.clamp(-base, std::f64::consts::PI - base)))
}

/// Rising nodes from the values of an axis, and one beyond each end.
fn nodes(values: &[f64], spread: f64, held: impl Fn(f64) -> f64) -> Vec<f64> {
    let mut out = values.to_vec();
    if let (Some(low), Some(high)) =
        (values.iter().copied().reduce(f64::min), values.iter().copied().reduce(f64::max))
        && spread > 0.0
    {
        out.extend([low - BEYOND * spread, high + BEYOND * spread].map(held));
    }
    out.sort_by(f64::total_cmp);
    out.dedup_by(|a, b| *a - *b < 1e-9);
    out
}
