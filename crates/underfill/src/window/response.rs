//! A few fronts, and between them what a front would say.
//!
//! Knobs turn the problem: the angles of the three faces by a shift, the gap by a factor. Fronts are followed on every
//! combination of the nodes of the main knobs, and for each other knob on its own nodes about the middle; between nodes smooth
//! numbers follow parabolas and areas straight lines, and what another knob changes is added. Interpolated are the logarithm of the fill's fluidity time over that of the mean cell
//! (`free / (permeability pressure)`, by the law of the cells), the area that is dry though it draws (trapped by a race of fronts),
//! and the drive below which lies just the area of dry places that is allowed. Where that drive is not above zero, more than is
//! allowed does not wet: a patch that turns from wetting to repelling is so told by a smooth number, not by the jump of its void.

use super::NoWindow;
use crate::contamination::residue::through;
use crate::front::medium::Local;
use crate::front::{self, CellLaw, Line, Outcome, Problem};
use facedown_evidence::input::within;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// What is turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Knob {
    /// Angle on the die, by a shift in rad.
    Die,
    /// Angle on the substrate, by a shift in rad.
    Substrate,
    /// Angle on the bumps, by a shift in rad.
    Bump,
    /// Gap, by a factor less 1.
    Gap,
}

impl Knob {
    /// All of them, in the order of a setting.
    pub const ALL: [Knob; 4] = [Knob::Die, Knob::Substrate, Knob::Bump, Knob::Gap];

    fn index(self) -> usize {
        Knob::ALL.iter().position(|k| *k == self).unwrap_or(0)
    }
}

/// All knobs: shifts of the three angles (rad) and the gap's factor less 1.
pub type Setting = [f64; 4];

/// What one front says.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Node {
    /// Logarithm of the fluidity time of filling over that of the mean cell; not a number where it does not fill.
    log_time: f64,
    /// Dry area that draws, over the die's.
    raced: f64,
    /// Drive below which lies the area that is allowed to be dry, Pa.
    drive: f64,
    /// Free volume, m3.
    free: f64,
}

/// What is told between fronts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Told {
    pub fluidity: Option<f64>,
    pub raced: f64,
    pub drive: f64,
    pub free: f64,
}

/// A few fronts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Response {
    /// Main knobs with their nodes, rising.
    main: Vec<(Knob, Vec<f64>)>,
    /// Fronts of all their combinations, the first knob running first.
    table: Vec<Node>,
    /// Other knobs with their nodes and fronts about the middle.
    sides: Vec<(Knob, Vec<f64>, Vec<Node>)>,
    /// The mean cell.
    mean: Mean,
    /// Share of the volume filled over the share of the fluidity time, of the middle.
    course: Vec<(f64, f64)>,
    /// Fronts followed.
    fronts: usize,
}

/// How far interpolation is from fronts that were followed directly.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Accuracy {
    /// Draws that were followed directly.
    pub checked: usize,
    /// Worst difference of the fluidity time of filling, over it.
    pub time: f64,
    /// Draws of which the verdict on voids and wetting differs.
    pub disagree: usize,
}

/// `free / (permeability pressure)` of the mean cell over the gap; the pressure is linear in the cosines.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Mean {
    angles: [f64; 3],
    /// Gap's factor less 1; logarithm of free over permeability; pressure by the cosine of a plate and of the bumps.
    rows: Vec<[f64; 4]>,
}

impl Mean {
    fn of(base: &Problem, law: &dyn CellLaw, gaps: [f64; 2]) -> Mean {
        let n = 24;
        let mean = |value: &dyn Fn([f64; 2]) -> f64| {
            let places = (0..n * n).map(|k| [k % n, k / n].map(|i| (i as f64 + 0.5) / n as f64));
            places.map(|p| value([p[0] * base.size_m[0], p[1] * base.size_m[1]])).sum::<f64>()
                / (n * n) as f64
        };
        let gap = mean(&|p| base.gap_m.at(p));
        let faces = [&base.angle_die_rad, &base.angle_substrate_rad, &base.angle_bump_rad];
        let angles = faces.map(|f| mean(&|p| f.at(p).cos()).clamp(-1.0, 1.0).acos());
        let count = base.bumps.as_ref().map_or(0, |b| b.places_m.len());
        let density_per_m2 = count as f64 / (base.size_m[0] * base.size_m[1]);
        let steps = 48;
        let rows = (0..=steps).filter_map(|k| {
            let x = gaps[0] + (gaps[1] - gaps[0]) * f64::from(k) / f64::from(steps);
            let at = |cosines| law.medium(Local { gap_m: gap * (1.0 + x), density_per_m2, cosines });
            let (plate, bump) = (at([1.0, 0.0, 0.0])?, at([0.0, 0.0, 1.0])?);
            Some([x, (plate.free / plate.permeability_m2).ln(), plate.pressure_pa, bump.pressure_pa])
        });
        Mean { angles, rows: rows.collect() }
    }

    /// Logarithm of the scale at a setting; not a number where the mean cell does not draw.
    fn log_scale(&self, x: &Setting) -> f64 {
        let place = |r: &[f64; 4]| r[0];
        let (i, u) = between(&self.rows, place, x[3]);
        let Some((a, b)) = self.rows.get(i).zip(self.rows.get((i + 1).min(self.rows.len() - 1))) else {
            return f64::NAN;
        };
        let row = [1, 2, 3].map(|k| a[k] + u * (b[k] - a[k]));
        let cosine = |k: usize| (self.angles[k] + x[k]).clamp(0.0, std::f64::consts::PI).cos();
        let pressure = row[1] * (cosine(0) + cosine(1)) + row[2] * cosine(2);
        if pressure > 0.0 { row[0] - pressure.ln() } else { f64::NAN }
    }
}

/// The interval of rising rows about a place, and the share of its second end; beyond the ends the last interval goes on.
fn between<T>(rows: &[T], place: impl Fn(&T) -> f64, x: f64) -> (usize, f64) {
    if rows.len() < 2 {
        return (0, 0.0);
    }
    let i = rows.partition_point(|r| place(r) <= x).clamp(1, rows.len() - 1) - 1;
    (i, (x - place(&rows[i])) / (place(&rows[i + 1]) - place(&rows[i])))
}

/// The problem with its knobs turned, and all its lines ample from the start: what passes do is told afterwards.
fn turned(base: &Problem, x: &Setting) -> Problem {
    let angle = |map: &front::Map, shift: f64| through(map, |v| (v + shift).clamp(0.0, std::f64::consts::PI));
    let mut lines: Vec<Line> = Vec::new();
    for l in &base.lines {
        let ample = Line { volume_m3: f64::INFINITY, start_s: 0.0, ..*l };
        if !lines.contains(&ample) {
            lines.push(ample);
        }
    }
    Problem {
        gap_m: through(&base.gap_m, |v| v * (1.0 + x[3])),
        angle_die_rad: angle(&base.angle_die_rad, x[0]),
        angle_substrate_rad: angle(&base.angle_substrate_rad, x[1]),
        angle_bump_rad: angle(&base.angle_bump_rad, x[2]),
        lines,
        clock: front::Clock::constant(1.0),
        ..base.clone()
    }
}

impl Response {
    /// Follows the fronts: `main` knobs on all combinations of their nodes (rising), `sides` on theirs about the middle. `allowed` is the
    /// share of the die that may stay dry.
    ///
    /// # Errors
    /// [`NoWindow`]: nodes that do not rise, or a front that cannot be followed.
    pub fn of(
        base: &Problem,
        law: &dyn CellLaw,
        main: Vec<(Knob, Vec<f64>)>,
        sides: Vec<(Knob, Vec<f64>)>,
        allowed: f64,
    ) -> Result<Response, NoWindow> {
        if base.shear.is_some_and(|s| s.index != 1.0) {
            return Err(NoWindow::Shear);
        }
        let mut gaps: [f64; 2] = [-1e-6, 1e-6];
        for (knob, nodes) in main.iter().chain(&sides) {
            let mut before = -10.0;
            for n in nodes {
                within("a node of the response", *n, before, 10.0, "rising, from -10 to 10")?;
                before = n + 1e-12;
            }
            if nodes.is_empty() {
                return Err(NoWindow::NoPoints);
            }
            if *knob == Knob::Gap {
                gaps = [gaps[0].min(nodes[0]), gaps[1].max(nodes[nodes.len() - 1])];
                within("the least factor of the gap", 1.0 + gaps[0], 0.05, 10.0, "from 0.05 to 10")?;
            }
        }
        let mean = Mean::of(base, law, gaps);
        // Every setting once, in one parallel sweep.
        let combinations: usize = main.iter().map(|m| m.1.len()).product();
        let mut settings: Vec<Setting> = vec![[0.0; 4]];
        for k in 0..combinations {
            let (mut x, mut rest) = ([0.0; 4], k);
            for (knob, nodes) in &main {
                x[knob.index()] = nodes[rest % nodes.len()];
                rest /= nodes.len();
            }
            settings.push(x);
        }
        for (knob, nodes) in &sides {
            for n in nodes {
                let mut x = [0.0; 4];
                x[knob.index()] = *n;
                settings.push(x);
            }
        }
        let middles: Vec<bool> = settings.iter().map(|x| *x == [0.0; 4]).collect();
        let solved: Vec<Result<Option<Outcome>, front::Refusal>> = settings
            .par_iter()
            .enumerate()
            .map(|(k, x)| {
                // The middle is followed once.
                if k > 0 && middles[k] {
                    Ok(None)
                } else {
                    front::solve_with(&turned(base, x), law).map(Some)
                }
            })
            .collect();
        let mut nodes = Vec::new();
        let (mut course, mut fronts) = (Vec::new(), 0);
        for (k, outcome) in solved.into_iter().enumerate() {
            let node = match outcome? {
                Some(o) => {
                    fronts += 1;
                    if k == 0 {
                        course = shape(&o);
                    }
                    node(base, &o, mean.log_scale(&settings[k]), allowed)
                }
                None => nodes[0],
            };
            nodes.push(node);
        }
        let mut rest = nodes.split_off(1);
        let mut of_sides = rest.split_off(combinations);
        let sides = sides
            .into_iter()
            .map(|(knob, places)| {
                let others = of_sides.split_off(places.len());
                let own = std::mem::replace(&mut of_sides, others);
                (knob, places, own)
            })
            .collect();
        Ok(Response { main, table: rest, sides, mean, course, fronts })
    }

    /// Fronts that were followed.
    pub fn fronts(&self) -> usize {
        self.fronts
    }

    /// Share of the fluidity time of filling at which a share of the volume is filled, in the middle.
    pub(super) fn time_share(&self, filled: f64) -> f64 {
        let (i, u) = between(&self.course, |p| p.0, filled.clamp(0.0, 1.0));
        match (self.course.get(i), self.course.get(i + 1)) {
            (Some(a), Some(b)) => (a.1 + u * (b.1 - a.1)).clamp(0.0, 1.0),
            _ => filled * filled,
        }
    }

    /// What a front of a setting would say.
    pub(super) fn at(&self, x: &Setting) -> Told {
        // Corners of the stencils, each with its straight and its curved weight.
        let mut corners = vec![(0, 1.0, 1.0)];
        let mut stride = 1;
        for (knob, nodes) in &self.main {
            let stencil = stencil(nodes, x[knob.index()]);
            let next = corners.iter().flat_map(|(at, straight, curved)| {
                stencil.iter().map(move |(i, s, c)| (at + i * stride, straight * s, curved * c))
            });
            corners = next.collect();
            stride *= nodes.len();
        }
        let mut sum = Sum::of(corners.iter().map(|(at, s, c)| (&self.table[*at], *s, *c)));
        let mut log = sum.log_time + self.mean.log_scale(x);
        for (knob, places, nodes) in &self.sides {
            let told = |at: f64| Sum::of(stencil(places, at).iter().map(|(i, s, c)| (&nodes[*i], *s, *c)));
            let (here, middle) = (told(x[knob.index()]), told(0.0));
            // What a side does not know it does not change.
            let change = here.log_time - middle.log_time;
            log += if change.is_finite() { change } else { 0.0 };
            sum.raced += here.raced - middle.raced;
            sum.drive += here.drive - middle.drive;
            sum.free += here.free - middle.free;
        }
        Told {
            fluidity: Some(log.exp()).filter(|s| s.is_finite() && *s > 0.0),
            raced: sum.raced,
            drive: sum.drive,
            free: sum.free,
        }
    }

    /// Follows settings directly and compares.
    pub(super) fn accuracy(
        &self,
        base: &Problem,
        law: &dyn CellLaw,
        settings: &[Setting],
        allowed: f64,
    ) -> Result<Accuracy, NoWindow> {
        let direct: Vec<Result<Outcome, front::Refusal>> =
            settings.par_iter().map(|x| front::solve_with(&turned(base, x), law)).collect();
        let mut accuracy = Accuracy { checked: settings.len(), time: 0.0, disagree: 0 };
        for (x, outcome) in settings.iter().zip(direct) {
            let outcome = outcome?;
            let (told, direct) = (self.at(x), node(base, &outcome, 0.0, allowed));
            if let (Some(a), Some(b)) = (told.fluidity, outcome.fill_fluidity) {
                accuracy.time = accuracy.time.max((a / b - 1.0).abs());
            }
            let dry = |raced: f64, drive: f64| raced > allowed || drive <= 0.0;
            accuracy.disagree += usize::from(dry(told.raced, told.drive) != dry(direct.raced, direct.drive));
        }
        Ok(accuracy)
    }
}

/// The nodes about a place with their weights: straight ones, of two, and those of the parabola through three. Beyond the ends both
/// go on straight.
fn stencil(nodes: &[f64], x: f64) -> Vec<(usize, f64, f64)> {
    let n = nodes.len();
    if n < 2 {
        return vec![(0, 1.0, 1.0)];
    }
    let (i, u) = between(nodes, |v| *v, x);
    if n < 3 || x < nodes[0] || x > nodes[n - 1] {
        return vec![(i, 1.0 - u, 1.0 - u), (i + 1, u, u)];
    }
    // The third is the nearer one of both sides.
    let below = i > 0 && (i + 2 >= n || x - nodes[i - 1] < nodes[i + 2] - x);
    let three = if below { [i - 1, i, i + 1] } else { [i, i + 1, i + 2] };
    three
        .map(|a| {
            let others = three.iter().filter(|b| **b != a);
            let curved = others.map(|&b| (x - nodes[b]) / (nodes[a] - nodes[b])).product();
            let straight = if a == i { 1.0 - u } else { f64::from(u8::from(a == i + 1)) * u };
            (a, straight, curved)
        })
        .to_vec()
}

/// A weighted sum of nodes.
struct Sum {
    log_time: f64,
    raced: f64,
    drive: f64,
    free: f64,
}

impl Sum {
    /// Of nodes with a straight and a curved weight. What races takes the straight one, as voids have edges. Where a node has no time the
    /// others stand for it by their straight weights, if they count for more than the half; else there is no time.
    fn of<'a>(nodes: impl Iterator<Item = (&'a Node, f64, f64)>) -> Sum {
        let mut sum = Sum { log_time: 0.0, raced: 0.0, drive: 0.0, free: 0.0 };
        let (mut straight, mut weight) = (0.0, 0.0);
        for (node, s, c) in nodes {
            sum.log_time += c * node.log_time;
            sum.raced += s * node.raced;
            sum.drive += c * node.drive;
            sum.free += c * node.free;
            if node.log_time.is_finite() {
                straight += s * node.log_time;
                weight += s;
            }
        }
        if !sum.log_time.is_finite() {
            sum.log_time = if weight > 0.5 { straight / weight } else { f64::NAN };
        }
        sum
    }
}

fn node(base: &Problem, outcome: &Outcome, log_scale: f64, allowed: f64) -> Node {
    let area = base.size_m[0] * base.size_m[1];
    let raced: f64 =
        // What repels is no air that was raced in.
        outcome
            .cells
            .iter()
            .filter(|c| c.drive_pa > 0.0)
            .map(|c| c.area_m2 * (1.0 - c.fill - c.repels).max(0.0))
            .sum();
    // A cell that is cut by a patch counts by its parts.
    let part = |c: &crate::front::CellOutcome| {
        let dry = c.area_m2 * c.repels;
        [(c.drive_pa, c.area_m2 - dry), (c.repelling_pa, dry)]
    };
    let mut drives: Vec<(f64, f64)> = outcome.cells.iter().flat_map(part).filter(|d| d.1 > 0.0).collect();
    drives.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut below = 0.0;
    let at = drives.iter().find(|(_, a)| {
        below += a;
        below > allowed * area
    });
    Node {
        log_time: outcome.fill_fluidity.map_or(f64::NAN, |s| s.ln() - log_scale),
        raced: raced / area,
        drive: at.or(drives.last()).map_or(0.0, |d| d.0),
        free: outcome.free_volume_m3,
    }
}

/// Share filled and share of the fluidity time, both rising from nothing to 1.
fn shape(outcome: &Outcome) -> Vec<(f64, f64)> {
    let (Some(whole), Some(last)) = (outcome.fill_fluidity, outcome.course.last()) else {
        return vec![(0.0, 0.0), (1.0, 1.0)];
    };
    let mut out = vec![(0.0, 0.0)];
    for p in &outcome.course {
        let next = (p.filled / last.filled, p.fluidity / whole);
        if out.last().is_some_and(|b| next.0 > b.0 && next.1 > b.1) && next.0 < 1.0 && next.1 < 1.0 {
            out.push(next);
        }
    }
    out.push((1.0, 1.0));
    out
}
