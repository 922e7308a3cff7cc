//! All wires of a layer pulled taut around octagons, clear of each other by the gauge.
//!
//! Half-cuts that no edge of the mesh stands for show as strings that come too near each other or a disc: each
//! such place becomes an octagon for the outer string, one pitch wider than the one that the inner bends around.

use super::STRING_SLACK;
use super::gauge::gap;
use super::string::{Bend, taut};
use crate::route::mesh::NONE;
use crate::route::plane::{P2, cross, nearest_on_segment, sub};
use crate::route::sketch::Sketch;
use crate::route::taut::{Disc, discs_of};
use std::collections::HashMap;

/// Rounds of learning octagons.
const ROUNDS: usize = 20;

/// Missing room that counts as rounding, nm.
const FINE: f64 = 1.6;

/// A string: its bends, ends included.
pub type Line = Vec<Bend>;

/// Room that the centre line of a wire keeps from vertex `v`, nm, less `slack`.
pub fn room_at(s: &Sketch, v: u32, width: f64, slack: f64) -> f64 {
    let x = &s.mesh.vertices[v as usize];
    // The outline has no room to give: there the drawn metal's rounding is added instead.
    if x.gap > 0.0 { x.radius + x.gap + width / 2.0 - slack } else { x.radius + width / 2.0 + 2.0 }
}

/// Taut strings of all routed wires; `None` for those that do not fit, or never come clear of another.
pub fn strings(s: &Sketch) -> Vec<Option<Line>> {
    let n = s.wires.len();
    let mut discs: Vec<Vec<Disc>> = (0..n as u32)
        .map(|w| {
            let mut list = discs_of(s, w);
            for d in &mut list {
                if d.radius > 0.0 {
                    let bare = s.mesh.vertices[d.vertex as usize].gap == 0.0;
                    d.radius += if bare { 3.0 } else { -STRING_SLACK };
                }
            }
            list
        })
        .collect();
    let mut lines: Vec<Option<Line>> = vec![None; n];
    let mut stale: Vec<usize> = (0..n).collect();
    let fixed = Vertices::new(s);
    for round in 0..=ROUNDS {
        for &w in &stale {
            lines[w] = pull(s, w as u32, &discs[w]);
        }
        let mut lessons = between_strings(s, &lines, &discs);
        lessons.extend(fixed.lessons(s, &lines));
        if lessons.is_empty() || round == ROUNDS {
            drop_conflicts(&mut lines, &lessons);
            break;
        }
        stale.clear();
        for l in lessons {
            let mut disc = l.disc;
            disc.span = place_of(s, l.wire as u32, &disc);
            let mine = &mut discs[l.wire];
            match mine.iter_mut().find(|d| {
                d.centre == disc.centre
                    && d.side == disc.side
                    && d.span[0] <= disc.span[1]
                    && disc.span[0] <= d.span[1]
            }) {
                Some(d) if d.radius + 1e-6 < disc.radius => d.radius = disc.radius,
                // Known already, yet intruded upon: the string passes outside its span.
                Some(d) => d.span = [d.span[0].min(disc.span[0]) - 1.0, d.span[1].max(disc.span[1]) + 1.0],
                None => mine.push(disc),
            }
            stale.push(l.wire);
        }
        stale.sort_unstable();
        stale.dedup();
    }
    lines
}

fn pull(s: &Sketch, w: u32, discs: &[Disc]) -> Option<Line> {
    let wire = &s.wires[w as usize];
    if !wire.routed {
        return None;
    }
    let [start, end] = wire.ends.map(|v| s.mesh.vertices[v as usize].p);
    let crossings = wire.crossings.len();
    let round = crate::route::taut::taut(start, end, discs, crossings).ok();
    taut(start, end, discs, crossings, round.as_ref()).or_else(|| taut(start, end, discs, crossings, None))
}

struct Lesson {
    wire: usize,
    /// The other wire, or none for a vertex.
    other: Option<usize>,
    disc: Disc,
}

/// Leaves out wires until no lesson concerns two that stay: those with most conflicts first.
fn drop_conflicts(lines: &mut [Option<Line>], lessons: &[Lesson]) {
    loop {
        let mut count = vec![0usize; lines.len()];
        for l in lessons {
            if lines[l.wire].is_none() || l.other.is_some_and(|o| lines[o].is_none()) {
                continue;
            }
            count[l.wire] += if l.other.is_none() { 1000 } else { 1 };
            if let Some(o) = l.other {
                count[o] += 1;
            }
        }
        match (0..count.len()).max_by_key(|&w| (count[w], w)) {
            Some(w) if count[w] > 0 => lines[w] = None,
            _ => return,
        }
    }
}

/// Strings too near each other.
fn between_strings(s: &Sketch, lines: &[Option<Line>], discs: &[Vec<Disc>]) -> Vec<Lesson> {
    let widest = s.wires.iter().map(|w| w.width).fold(0.0, f64::max);
    let reach = widest + s.space;
    let mut grid = Grid::new(6.0 * reach);
    let mut pieces: Vec<(usize, usize)> = Vec::new();
    for (w, line) in lines.iter().enumerate() {
        for (k, pair) in line.iter().flat_map(|l| l.windows(2).enumerate()) {
            grid.add([pair[0].p, pair[1].p], pieces.len() as u32);
            pieces.push((w, k));
        }
    }
    let mut found = Vec::new();
    let mut near = Vec::new();
    for (w, line) in lines.iter().enumerate() {
        let Some(line) = line else { continue };
        for bend in &line[1..line.len() - 1] {
            let inner = discs[w][bend.disc];
            grid.near([bend.p; 2], reach, &mut near);
            for &i in &near {
                let (o, k) = pieces[i as usize];
                if s.wires[o].net == s.wires[w].net {
                    continue;
                }
                let Some(other) = &lines[o] else { continue };
                let (a, b) = (other[k], other[k + 1]);
                let need = (s.wires[w].width + s.wires[o].width) / 2.0 + s.space - STRING_SLACK;
                // Only when the other runs outside this bend: inside it is this one that must give way.
                if gap([a.p, b.p], [bend.p; 2]) >= need - FINE
                    || gap([a.p, b.p], [inner.centre; 2]) <= inner.radius - FINE
                {
                    continue;
                }
                let to = sub(inner.centre, a.p);
                let side = if cross(sub(b.p, a.p), to) > 0.0 { 1.0 } else { -1.0 };
                let disc = Disc {
                    centre: inner.centre,
                    radius: inner.radius + need,
                    side,
                    span: [a.index, b.index],
                    vertex: inner.vertex,
                };
                found.push(Lesson { wire: o, other: Some(w), disc });
            }
        }
    }
    found
}

/// The mesh's vertices on a grid.
struct Vertices {
    grid: Grid,
    widest: f64,
}

impl Vertices {
    fn new(s: &Sketch) -> Vertices {
        let widest = s.wires.iter().map(|w| w.width).fold(0.0, f64::max);
        let reach = s.mesh.vertices.iter().map(|v| v.radius + v.gap).fold(widest, f64::max);
        let mut grid = Grid::new(2.0 * reach);
        for (i, v) in s.mesh.vertices.iter().enumerate() {
            grid.add([v.p; 2], i as u32);
        }
        Vertices { grid, widest: reach + widest }
    }

    /// Strings too near a vertex that is not their own.
    fn lessons(&self, s: &Sketch, lines: &[Option<Line>]) -> Vec<Lesson> {
        let (mut found, mut near) = (Vec::new(), Vec::new());
        for (w, line) in lines.iter().enumerate() {
            let wire = &s.wires[w];
            for pair in line.iter().flat_map(|l| l.windows(2)) {
                let ab = [pair[0].p, pair[1].p];
                self.grid.near(ab, self.widest, &mut near);
                for &v in &near {
                    let p = s.mesh.vertices[v as usize].p;
                    let radius = room_at(s, v, wire.width, STRING_SLACK);
                    if wire.ends.contains(&v) || gap(ab, [p; 2]) >= radius - FINE {
                        continue;
                    }
                    let side = if cross(sub(ab[1], ab[0]), sub(p, ab[0])) > 0.0 { 1.0 } else { -1.0 };
                    let span = [pair[0].index, pair[1].index];
                    let disc = Disc { centre: p, radius, side, span, vertex: v };
                    found.push(Lesson { wire: w, other: None, disc });
                }
            }
        }
        found
    }
}

/// The crossings of a wire between which a disc lies: those of the edges nearest to its centre.
fn place_of(s: &Sketch, wire: u32, disc: &Disc) -> [f64; 2] {
    let w = &s.wires[wire as usize];
    let mut best = (f64::INFINITY, 0usize);
    for (i, &c) in w.crossings.iter().enumerate() {
        if (i as f64) < disc.span[0] - 1.0 || (i as f64) > disc.span[1] + 1.0 {
            continue;
        }
        let e = s.mesh.edges[s.crossings[c as usize].edge as usize];
        let [a, b] = e.v.map(|v| s.mesh.vertices[v as usize].p);
        let d = nearest_on_segment(a, b, disc.centre).1;
        if d < best.0 {
            best = (d, i);
        }
    }
    debug_assert!(disc.vertex == NONE || (disc.vertex as usize) < s.mesh.vertices.len());
    [best.1 as f64 - 1.0, best.1 as f64 + 1.0]
}

/// Segments on a square grid, found again by number.
pub struct Grid {
    cell: f64,
    cells: HashMap<(i32, i32), Vec<u32>>,
}

impl Grid {
    /// An empty grid with cells of this size, nm.
    pub fn new(cell: f64) -> Grid {
        Grid { cell, cells: HashMap::new() }
    }

    fn key(&self, x: f64) -> i32 {
        (x / self.cell).floor() as i32
    }

    /// Cells that a segment passes within `grow`, column by column so that long diagonals do not fill a square.
    fn cells_of(&self, s: [P2; 2], grow: f64, mut f: impl FnMut((i32, i32))) {
        let [a, b] = if s[0][0] <= s[1][0] { s } else { [s[1], s[0]] };
        let slope = if b[0] > a[0] { (b[1] - a[1]) / (b[0] - a[0]) } else { 0.0 };
        for x in self.key(a[0] - grow)..=self.key(b[0] + grow) {
            let from = (f64::from(x) * self.cell - grow).clamp(a[0], b[0]);
            let to = (f64::from(x + 1) * self.cell + grow).clamp(a[0], b[0]);
            let (mut p, mut q) = (a[1] + slope * (from - a[0]), a[1] + slope * (to - a[0]));
            if a[0] == b[0] {
                (p, q) = (a[1], b[1]);
            }
            for y in self.key(p.min(q) - grow)..=self.key(p.max(q) + grow) {
                f((x, y));
            }
        }
    }

    /// Adds a segment.
    pub fn add(&mut self, s: [P2; 2], number: u32) {
        let mut keys = Vec::new();
        self.cells_of(s, 0.0, |k| keys.push(k));
        for k in keys {
            self.cells.entry(k).or_default().push(number);
        }
    }

    /// Numbers of all segments within `grow` of segment `s`, and perhaps some more; in order, each once.
    pub fn near(&self, s: [P2; 2], grow: f64, out: &mut Vec<u32>) {
        out.clear();
        self.cells_of(s, grow, |k| {
            if let Some(list) = self.cells.get(&k) {
                out.extend_from_slice(list);
            }
        });
        out.sort_unstable();
        out.dedup();
    }
}
