//! The wall: the die outline with all metal that stands so close to it, or to each other, that no trace passes between.
//!
//! Landings and capture pads are bodies: a rectangle (of zero size for a capture pad) grown by a radius. Two bodies are
//! linked when the gap between them is below `line + 2 space`; a body is linked to the outline when the gap is below
//! `edge clearance + line + space`. A trace of a net that owns neither end of a link cannot cross the link's shortest
//! segment. A breadth-first search from the outline gives every body of the wall a chain of such links.

use super::least_width;
use crate::assignment::Tree;
use crate::boundary::{nearest_side, ring_place};
use crate::layer::opening_half;
use crate::problem::Problem;
use facedown_layout::Point;
use facedown_quantity::Nm;

/// Gaps are called closed only when they are short of a trace by more than this, nm, so that the polygons which stand
/// for circles and the rounding to whole nanometres cannot open them.
const CERTAIN_NM: f64 = 100.0;

pub(super) type Xy = [f64; 2];

/// One landing or capture pad.
pub(super) struct Body {
    pub(super) tree: usize,
    /// What it is, for messages: `pad W1`, `bump A9`.
    pub(super) words: String,
    at: Xy,
    half: Xy,
    radius: f64,
}

/// How a body hangs on the outline.
#[derive(Clone)]
pub(super) struct Chain {
    /// Place of its foot along the outline.
    pub(super) foot: Nm,
    /// Bodies from this one to the outline.
    pub(super) bodies: Vec<usize>,
    /// The line from the body's centre to the outline.
    pub(super) line: Vec<Xy>,
}

pub(super) struct Wall {
    pub(super) bodies: Vec<Body>,
    parent: Vec<Option<Parent>>,
    feet: Vec<(Nm, Xy)>,
}

#[derive(Clone, Copy, PartialEq)]
enum Parent {
    Outline,
    Body(usize),
}

impl Wall {
    pub(super) fn new(problem: &Problem, trees: &[Tree]) -> Wall {
        let rules = &problem.rules;
        let mut bodies = Vec::new();
        let mut feet = Vec::new();
        let xy = |p: Point| [p.x.nm(), p.y.nm()];
        for (t, tree) in trees.iter().enumerate() {
            for &p in &tree.pads {
                let pad = &problem.pads[p];
                let half = opening_half(problem, p);
                let words = format!("pad {}", pad.name);
                let radius = rules.landing_enclosure.nm();
                bodies.push(Body { tree: t, words, at: xy(pad.at), half, radius });
                feet.push(foot(problem, pad.at));
            }
            for &s in &tree.sites {
                let at = problem.sites[s].at;
                let words = format!("bump {}", problem.sites[s].name);
                let radius = rules.capture.nm() / 2.0;
                bodies.push(Body { tree: t, words, at: xy(at), half: [0.0; 2], radius });
                feet.push(foot(problem, at));
            }
        }
        let mut wall = Wall { parent: vec![None; bodies.len()], bodies, feet };
        wall.search(problem);
        wall
    }

    fn search(&mut self, problem: &Problem) {
        let (line, space) = (least_width(problem).nm(), problem.rules.space.nm());
        let closed = line + 2.0 * space - CERTAIN_NM;
        let closed_edge = problem.rules.edge_clearance.nm() + line + space - CERTAIN_NM;
        let mut order: Vec<usize> = (0..self.bodies.len()).collect();
        order.sort_by(|&a, &b| self.bodies[a].at[0].total_cmp(&self.bodies[b].at[0]).then(a.cmp(&b)));
        let reach = |b: &Body| b.half[0] + b.radius;
        let widest = self.bodies.iter().map(reach).fold(0.0, f64::max);
        let mut queue: Vec<usize> = Vec::new();
        for (b, body) in self.bodies.iter().enumerate() {
            let foot = self.feet[b].1;
            let axis = usize::from(foot[0] == body.at[0]);
            let gap = (foot[axis] - body.at[axis]).abs() - body.half[axis] - body.radius;
            if gap < closed_edge {
                self.parent[b] = Some(Parent::Outline);
                queue.push(b);
            }
        }
        let mut at = 0;
        while let Some(&b) = queue.get(at) {
            at += 1;
            let span = reach(&self.bodies[b]) + widest + closed;
            let x = self.bodies[b].at[0];
            let from = order.partition_point(|&o| self.bodies[o].at[0] < x - span);
            for &other in &order[from..] {
                if self.bodies[other].at[0] > x + span {
                    break;
                }
                if self.parent[other].is_none() {
                    let [p, q] = shortest(&self.bodies[b], &self.bodies[other]);
                    if (p[0] - q[0]).hypot(p[1] - q[1]) < closed {
                        self.parent[other] = Some(Parent::Body(b));
                        queue.push(other);
                    }
                }
            }
        }
    }

    /// The chain of a body; none for a body in the open.
    pub(super) fn chain(&self, body: usize) -> Option<Chain> {
        let mut chain = Chain { foot: Nm::ZERO, bodies: Vec::new(), line: Vec::new() };
        let mut here = body;
        loop {
            chain.bodies.push(here);
            chain.line.push(self.bodies[here].at);
            match self.parent[here]? {
                Parent::Outline => {
                    let (place, foot) = self.feet[here];
                    chain.foot = place;
                    chain.line.push(foot);
                    return Some(chain);
                }
                Parent::Body(next) => {
                    chain.line.extend(shortest(&self.bodies[here], &self.bodies[next]));
                    here = next;
                }
            }
        }
    }
}

fn foot(problem: &Problem, at: Point) -> (Nm, Xy) {
    use crate::boundary::Side::*;
    let (x, y) = (at.x.nm(), at.y.nm());
    let foot = match nearest_side(at, problem.width, problem.height).0 {
        South => [x, 0.0],
        East => [problem.width.nm(), y],
        North => [x, problem.height.nm()],
        West => [0.0, y],
    };
    (ring_place(at, problem.width, problem.height), foot)
}

/// The ends of the shortest segment between two bodies; for bodies that overlap, a point of both, twice or nearly so.
fn shortest(a: &Body, b: &Body) -> [Xy; 2] {
    let (mut p, mut q) = ([0.0; 2], [0.0; 2]);
    for axis in 0..2 {
        let (a_low, a_high) = (a.at[axis] - a.half[axis], a.at[axis] + a.half[axis]);
        let (b_low, b_high) = (b.at[axis] - b.half[axis], b.at[axis] + b.half[axis]);
        (p[axis], q[axis]) = if a_high < b_low {
            (a_high, b_low)
        } else if b_high < a_low {
            (a_low, b_high)
        } else {
            let middle = (a_low.max(b_low) + a_high.min(b_high)) / 2.0;
            (middle, middle)
        };
    }
    let length = (q[0] - p[0]).hypot(q[1] - p[1]);
    if length <= a.radius + b.radius {
        let t = if length > 0.0 { (a.radius / (a.radius + b.radius).max(1e-300)).min(1.0) } else { 0.0 };
        let meet = [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])];
        return [meet, meet];
    }
    let along = |from: Xy, to: Xy, by: f64| {
        [from[0] + (to[0] - from[0]) * by / length, from[1] + (to[1] - from[1]) * by / length]
    };
    [along(p, q, a.radius), along(q, p, b.radius)]
}

/// True when the two lines touch or cross.
pub(super) fn lines_meet(a: &[Xy], b: &[Xy]) -> bool {
    a.windows(2).any(|s| b.windows(2).any(|t| segments_meet([s[0], s[1]], [t[0], t[1]])))
}

fn segments_meet(s: [Xy; 2], t: [Xy; 2]) -> bool {
    for axis in 0..2 {
        let (s_low, s_high) = (s[0][axis].min(s[1][axis]), s[0][axis].max(s[1][axis]));
        let (t_low, t_high) = (t[0][axis].min(t[1][axis]), t[0][axis].max(t[1][axis]));
        if s_high < t_low || t_high < s_low {
            return false;
        }
    }
    let turn = |a: Xy, b: Xy, c: Xy| (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    let apart = |a: Xy, b: Xy, c: Xy, d: Xy| {
        let (u, v) = (turn(a, b, c), turn(a, b, d));
        (u > 0.0 && v > 0.0) || (u < 0.0 && v < 0.0)
    };
    !apart(s[0], s[1], t[0], t[1]) && !apart(t[0], t[1], s[0], s[1])
}
