//! Where two taut wires come too near each other, and the disc that the outer one must then respect.
//!
//! The nearest point between two taut wires lies on an arc of one of them (straight pieces meet arcs at their
//! ends), so it is enough to hold every arc against the pieces of other wires around it. What is found becomes a
//! disc for the other wire: the arc's own, wider by one pitch. These are the half-cuts that the mesh has no edge for.

use super::plane::{P2, along, cross, distance, nearest_on_segment, norm, sub};
use super::taut::{Arc, Course, Disc, within};
use std::collections::HashMap;

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
    let mut grid: HashMap<(i32, i32), Vec<u32>> = HashMap::new();
    let key = |x: f64| (x / cell).floor() as i32;
    for (i, (_, p)) in pieces.iter().enumerate() {
        for_cells(p, cell, |k| grid.entry(k).or_default().push(i as u32));
    }
    let mut found = Vec::new();
    let mut seen = vec![u32::MAX; pieces.len()];
    for (i, (w, p)) in pieces.iter().enumerate() {
        let Piece::Bend(arc) = p else { continue };
        let (lo, hi) = arc_box(arc, grow);
        for x in key(lo[0])..=key(hi[0]) {
            for y in key(lo[1])..=key(hi[1]) {
                let Some(list) = grid.get(&(x, y)) else { continue };
                for &j in list {
                    let (other, q) = &pieces[j as usize];
                    if other == w
                        || tree[*other as usize] == tree[*w as usize]
                        || seen[j as usize] == i as u32
                    {
                        continue;
                    }
                    seen[j as usize] = i as u32;
                    let need = (width[*w as usize] + width[*other as usize]) / 2.0 + space;
                    if let Some((disc, missing)) = against(arc, q, need) {
                        found.push(Lesson { wire: *other, other: *w, disc, missing });
                    }
                }
            }
        }
    }
    found
}

fn for_cells(p: &Piece, cell: f64, mut f: impl FnMut((i32, i32))) {
    let key = |x: f64| (x / cell).floor() as i32;
    match p {
        Piece::Line(a, b, _) => {
            // Cells of each column that the line passes, so that long diagonals do not fill a square.
            let (a, b) = if a[0] <= b[0] { (*a, *b) } else { (*b, *a) };
            let slope = if b[0] > a[0] { (b[1] - a[1]) / (b[0] - a[0]) } else { 0.0 };
            for x in key(a[0])..=key(b[0]) {
                let (x0, x1) = ((f64::from(x) * cell).max(a[0]), (f64::from(x + 1) * cell).min(b[0]));
                let (mut y0, mut y1) = (a[1] + slope * (x0 - a[0]), a[1] + slope * (x1 - a[0]));
                if a[0] == b[0] {
                    (y0, y1) = (a[1], b[1]);
                }
                for y in key(y0.min(y1))..=key(y0.max(y1)) {
                    f((x, y));
                }
            }
        }
        Piece::Bend(arc) => {
            let (lo, hi) = arc_box(arc, 0.0);
            for x in key(lo[0])..=key(hi[0]) {
                for y in key(lo[1])..=key(hi[1]) {
                    f((x, y));
                }
            }
        }
    }
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
    let key = |x: f64| (x / cell).floor() as i32;
    let mut pieces: Vec<(u32, P2, P2)> = Vec::new();
    for (w, c) in courses.iter().enumerate() {
        let Some(c) = c else { continue };
        pieces.extend(c.lines().filter(|l| l.0 != l.1).map(|(a, b, _)| (w as u32, a, b)));
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
    let mut grid: HashMap<(i32, i32), Vec<u32>> = HashMap::new();
    for (i, &(_, a, b)) in pieces.iter().enumerate() {
        for_cells(&Piece::Line(a, b, [0.0; 2]), cell, |k| grid.entry(k).or_default().push(i as u32));
    }
    let widest = width.iter().copied().fold(0.0, f64::max);
    let mut found = Vec::new();
    let look = |lo: P2, hi: P2, f: &mut dyn FnMut(u32)| {
        for x in key(lo[0])..=key(hi[0]) {
            for y in key(lo[1])..=key(hi[1]) {
                grid.get(&(x, y)).into_iter().flatten().for_each(|&i| f(i));
            }
        }
    };
    for (i, &(w, a, b)) in pieces.iter().enumerate() {
        let grow = (width[w as usize] + widest) / 2.0 + space;
        let lo = [a[0].min(b[0]) - grow, a[1].min(b[1]) - grow];
        let hi = [a[0].max(b[0]) + grow, a[1].max(b[1]) + grow];
        look(lo, hi, &mut |j| {
            let (o, c, d) = pieces[j as usize];
            if (j as usize) <= i || tree[o as usize] == tree[w as usize] {
                return;
            }
            let need = (width[w as usize] + width[o as usize]) / 2.0 + space - 2.0 * CHORD;
            if crate::metal::between(a, b, c, d) < need {
                found.push((w, Too::Wire(o)));
            }
        });
    }
    for &(p, r, t) in discs {
        let grow = r + widest / 2.0;
        look([p[0] - grow, p[1] - grow], [p[0] + grow, p[1] + grow], &mut |j| {
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
