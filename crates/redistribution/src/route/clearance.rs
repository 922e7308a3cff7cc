//! Where two taut wires come too near each other, and the disc that the outer one must then respect.
//!
//! The nearest point between two taut wires lies on an arc of one of them (straight pieces meet arcs at their
//! ends), so it is enough to hold every arc against the pieces of other wires around it. What is found becomes a
//! disc for the other wire: the arc's own, wider by one pitch. These are the half-cuts that the mesh has no edge for.

use super::buckets::Buckets;
use super::plane::{P2, along, cross, distance, nearest_on_segment, norm, sub};
use super::taut::{Arc, Course, Disc, within};
use rayon::prelude::*;

/// A disc learnt for a wire.
#[derive(Debug, Clone, Copy)]
pub struct Lesson {
    /// The wire that must give way.
    pub wire: u32,
    /// The wire that it came too near to.
    pub other: u32,
    /// The disc.
    pub disc: Disc,
    /// How much room is missing, nm.
    pub missing: f64,
}

enum Piece {
    Line(P2, P2, [f64; 2]),
    Bend(Arc),
}

/// Finds every place where wires of different trees are nearer than half their widths plus `space`.
/// `courses` by wire; `None` for wires that have none.
pub fn lessons(
    courses: &[Option<Course>],
    tree: &[u32],
    width: &[f64],
    space: f64,
    cell: f64,
) -> Vec<Lesson> {
    let mut pieces: Vec<(u32, Piece)> = Vec::new();
    for (w, c) in courses.iter().enumerate() {
        let Some(c) = c else { continue };
        for (a, b, span) in c.lines() {
            pieces.push((w as u32, Piece::Line(a, b, span)));
        }
        pieces.extend(c.arcs.iter().map(|a| (w as u32, Piece::Bend(*a))));
    }
    let widest = width.iter().copied().fold(0.0, f64::max);
    let grow = widest + space;
    let boxes: Vec<(P2, P2)> = pieces
        .iter()
        .map(|(_, p)| match p {
            Piece::Line(a, b, _) => ([a[0].min(b[0]), a[1].min(b[1])], [a[0].max(b[0]), a[1].max(b[1])]),
            Piece::Bend(arc) => arc_box(arc, 0.0),
        })
        .collect();
    // Long lines stand in the grid as short parts, so that the box of a diagonal does not fill a square of cells.
    let mut parts: Vec<(P2, P2)> = Vec::new();
    let mut piece_of: Vec<u32> = Vec::new();
    for (i, (_, p)) in pieces.iter().enumerate() {
        match p {
            Piece::Line(a, b, _) => {
                let n = (distance(*a, *b) / cell).ceil().max(1.0) as usize;
                let at = |k: usize| along(*a, sub(*b, *a), k as f64 / n as f64);
                for k in 0..n {
                    let (p, q) = (at(k), at(k + 1));
                    parts.push(([p[0].min(q[0]), p[1].min(q[1])], [p[0].max(q[0]), p[1].max(q[1])]));
                    piece_of.push(i as u32);
                }
            }
            Piece::Bend(_) => {
                parts.push(boxes[i]);
                piece_of.push(i as u32);
            }
        }
    }
    let buckets = Buckets::new(&parts, cell);
    pieces
        .par_iter()
        .enumerate()
        .map_init(Vec::new, |near: &mut Vec<u32>, (i, (w, p))| {
            let mut found = Vec::new();
            let Piece::Bend(arc) = p else { return found };
            let (lo, hi) = (boxes[i].0.map(|x| x - grow), boxes[i].1.map(|x| x + grow));
            near.clear();
            buckets.near(lo, hi, |k| {
                let j = piece_of[k as usize];
                let (other, _) = &pieces[j as usize];
                let (p, q) = parts[k as usize];
                let apart = p[0] > hi[0] || q[0] < lo[0] || p[1] > hi[1] || q[1] < lo[1];
                if !apart && other != w && tree[*other as usize] != tree[*w as usize] {
                    near.push(j);
                }
            });
            near.sort_unstable();
            near.dedup();
            for &j in near.iter() {
                let (other, q) = &pieces[j as usize];
                let need = (width[*w as usize] + width[*other as usize]) / 2.0 + space;
                if let Some((disc, missing)) = against(arc, q, need) {
                    found.push(Lesson { wire: *other, other: *w, disc, missing });
                }
            }
            found
        })
        .flatten_iter()
        .collect()
}

/// A box around an arc: its end points and, beyond them, the bulge over its chord, grown by `grow` nm.
pub fn arc_box(a: &Arc, grow: f64) -> (P2, P2) {
    let mut lo = [a.from[0].min(a.to[0]), a.from[1].min(a.to[1])];
    let mut hi = [a.from[0].max(a.to[0]), a.from[1].max(a.to[1])];
    for (axis, sign) in [(0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0)] {
        let mut toward = [0.0, 0.0];
        toward[axis] = sign;
        if within(a.centre, a.from, a.to, a.side, toward) {
            let x = a.centre[axis] + sign * a.radius;
            lo[axis] = lo[axis].min(x);
            hi[axis] = hi[axis].max(x);
        }
    }
    ([lo[0] - grow, lo[1] - grow], [hi[0] + grow, hi[1] + grow])
}

/// Slack below which two wires count as touching their limit, nm.
const FINE: f64 = 0.02;

/// The disc that the wire of piece `q` must respect because of `arc`, with the room missing.
fn against(arc: &Arc, q: &Piece, need: f64) -> Option<(Disc, f64)> {
    match q {
        Piece::Line(a, b, span) => {
            let (t, d) = nearest_on_segment(*a, *b, arc.centre);
            let x = along(*a, sub(*b, *a), t);
            let toward = sub(x, arc.centre);
            let direction = sub(*b, *a);
            if within(arc.centre, arc.from, arc.to, arc.side, toward) {
                let room = d - arc.radius;
                if room < 0.0 || room > need - FINE {
                    return None;
                }
                let side = if cross(direction, sub(arc.centre, *a)) > 0.0 { 1.0 } else { -1.0 };
                let disc = Disc {
                    centre: arc.centre,
                    radius: arc.radius + need,
                    side,
                    span: *span,
                    vertex: arc.vertex,
                };
                return Some((disc, need - room));
            }
            for e in [arc.from, arc.to] {
                let (_, d) = nearest_on_segment(*a, *b, e);
                // Only when the line runs outside the arc: inside it is the arc's wire that must give way.
                if d < need - FINE && distance(x, arc.centre) > arc.radius {
                    let side = if cross(direction, sub(e, *a)) > 0.0 { 1.0 } else { -1.0 };
                    let disc = Disc { centre: e, radius: need, side, span: *span, vertex: super::mesh::NONE };
                    return Some((disc, need - d));
                }
            }
            None
        }
        Piece::Bend(o) => {
            let toward = sub(o.centre, arc.centre);
            let far = norm(toward);
            // Concentric arcs, or one inside the other: the stack count of the discs has seen to them.
            if far < 1.0 {
                return None;
            }
            let back = [-toward[0], -toward[1]];
            let facing = within(arc.centre, arc.from, arc.to, arc.side, toward)
                && within(o.centre, o.from, o.to, o.side, back);
            let (missing, side) = if facing {
                (need - (far - arc.radius - o.radius), -o.side)
            } else {
                // End points of the other arc against this one.
                let mut best = (0.0, o.side);
                for e in [o.from, o.to] {
                    let toward = sub(e, arc.centre);
                    if within(arc.centre, arc.from, arc.to, arc.side, toward) {
                        let room = norm(toward) - arc.radius;
                        if room > 0.0 && need - room > best.0 {
                            // Which side of the other wire this arc's centre lies on, by its direction at e.
                            let spoke = sub(e, o.centre);
                            let direction = [-spoke[1] * o.side, spoke[0] * o.side];
                            let side = if cross(direction, sub(arc.centre, e)) > 0.0 { 1.0 } else { -1.0 };
                            best = (need - room, side);
                        }
                    }
                }
                best
            };
            if missing <= FINE || missing > 2.0 * need {
                return None;
            }
            let disc = Disc {
                centre: arc.centre,
                radius: arc.radius + need,
                side,
                span: [o.index - 0.5, o.index + 0.5],
                vertex: arc.vertex,
            };
            Some((disc, missing))
        }
    }
}

/// What a wire is too near to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Too {
    /// A terminal of another tree.
    Terminal,
    /// Another wire.
    Wire(u32),
}

/// Chords may lie inside an arc by this much in [`shortages`], nm; shortages below twice this are left to the rule check.
const CHORD: f64 = 10.0;

/// Every wire that comes too near to another or to a foreign terminal, found piece against piece without regard to how
/// the courses came about. `discs` are terminals as centre, radius with gap, tree.
pub fn shortages(
    courses: &[Option<Course>],
    tree: &[u32],
    width: &[f64],
    space: f64,
    discs: &[(P2, f64, u32)],
    cell: f64,
) -> Vec<(u32, Too)> {
    let mut pieces: Vec<(u32, P2, P2)> = Vec::new();
    for (w, c) in courses.iter().enumerate() {
        let Some(c) = c else { continue };
        // Long lines are cut, so that the box of a diagonal does not fill a square of cells.
        for (a, b, _) in c.lines().filter(|l| l.0 != l.1) {
            let n = (distance(a, b) / (2.0 * cell)).ceil().max(1.0) as usize;
            let at = |i: usize| if i == n { b } else { along(a, sub(b, a), i as f64 / n as f64) };
            pieces.extend((0..n).map(|i| (w as u32, at(i), at(i + 1))));
        }
        for a in &c.arcs {
            let v = sub(a.from, a.centre);
            let from = v[1].atan2(v[0]);
            let n = (a.angle / (2.0 * (1.0 - (CHORD / a.radius).min(0.5)).acos())).ceil().max(1.0) as usize;
            let at = |i: usize| {
                let t = from + a.side * a.angle * i as f64 / n as f64;
                [a.centre[0] + a.radius * t.cos(), a.centre[1] + a.radius * t.sin()]
            };
            pieces.extend((0..n).map(|i| (w as u32, at(i), at(i + 1))));
        }
    }
    let boxes: Vec<(P2, P2)> = pieces
        .iter()
        .map(|&(_, a, b)| ([a[0].min(b[0]), a[1].min(b[1])], [a[0].max(b[0]), a[1].max(b[1])]))
        .collect();
    let buckets = Buckets::new(&boxes, cell);
    let widest = width.iter().copied().fold(0.0, f64::max);
    let mut found: Vec<(u32, Too)> = (0..pieces.len())
        .into_par_iter()
        .fold(Vec::new, |mut found, i| {
            let (w, a, b) = pieces[i];
            let grow = (width[w as usize] + widest) / 2.0 + space;
            let (lo, hi) = boxes[i];
            let (lo, hi) = ([lo[0] - grow, lo[1] - grow], [hi[0] + grow, hi[1] + grow]);
            buckets.near(lo, hi, |j| {
                let j = j as usize;
                let (o, c, d) = pieces[j];
                if j <= i || tree[o as usize] == tree[w as usize] {
                    return;
                }
                let (p, q) = boxes[j];
                if p[0] > hi[0] || q[0] < lo[0] || p[1] > hi[1] || q[1] < lo[1] {
                    return;
                }
                let need = (width[w as usize] + width[o as usize]) / 2.0 + space - 2.0 * CHORD;
                if crate::metal::between(a, b, c, d) < need {
                    found.push((w, Too::Wire(o)));
                }
            });
            found
        })
        .reduce(Vec::new, |mut a, mut b| {
            a.append(&mut b);
            a
        });
    for &(p, r, t) in discs {
        let grow = r + widest / 2.0;
        buckets.near([p[0] - grow, p[1] - grow], [p[0] + grow, p[1] + grow], |j| {
            let (o, c, d) = pieces[j as usize];
            let need = r + width[o as usize] / 2.0 - 2.0 * CHORD;
            if tree[o as usize] != t && nearest_on_segment(c, d, p).1 < need {
                found.push((o, Too::Terminal));
            }
        });
    }
    found.sort_unstable_by_key(|f| (f.0, if let Too::Wire(o) = f.1 { o } else { u32::MAX }));
    found.dedup();
    found
}
