//! The topological sketch: which wires cross which edge of the mesh, in which order.
//!
//! A wire is known by the edges that it crosses; an edge by the ordered list of its crossings. Nothing has a
//! place yet, so wires can always be pushed aside, and two wires never cross as long as each new one is put into a
//! gap of the same face (Dai, Kong and Sato, DAC 1991, call this a rubber-band sketch). The faces of a triangle
//! are the regions into which the wires cut it; they are found by one walk around its border.

use super::mesh::{Mesh, NONE};
use std::cell::{Ref, RefCell};

/// Where one end of a piece of wire inside a triangle lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Link {
    /// At a vertex (the wire's own terminal).
    Vertex(u32),
    /// At a crossing.
    Cross(u32),
}

/// One crossing of a wire with an edge.
#[derive(Debug, Clone, Copy)]
pub struct Crossing {
    /// The wire.
    pub wire: u32,
    /// The edge.
    pub edge: u32,
    /// What comes before along the wire, in triangle `from`.
    pub prev: Link,
    /// What comes after, in triangle `to`.
    pub next: Link,
    /// Triangle that the wire comes from.
    pub from: u32,
    /// Triangle that it goes into.
    pub to: u32,
}

/// A wire between two terminals.
#[derive(Debug, Clone)]
pub struct Wire {
    /// Net number; wires of one net may share terminals.
    pub net: u32,
    /// Width, nm.
    pub width: f64,
    /// Terminals now connected, as vertices; meaningless while not routed.
    pub ends: [u32; 2],
    /// Crossings from `ends[0]` to `ends[1]`.
    pub crossings: Vec<u32>,
    /// The edge that a wire without crossings lies on.
    pub direct: u32,
    /// Whether it is in the sketch.
    pub routed: bool,
}

/// The regions into which wires cut one triangle.
#[derive(Debug, Clone, Default)]
pub struct Faces {
    /// Face of each gap, per side, in the order from corner `k` to corner `k + 1`.
    pub of_gap: [Vec<u16>; 3],
    /// The gap of each side that a face touches, or `u16::MAX`.
    pub gaps: Vec<[u16; 3]>,
    /// Bit `k` set when the face touches corner `k`.
    pub corners: Vec<u8>,
}

/// All wires on one layer.
pub struct Sketch {
    /// The mesh.
    pub mesh: Mesh,
    /// Wires.
    pub wires: Vec<Wire>,
    /// Ordered crossings of each edge, from `v[0]` to `v[1]`.
    pub order: Vec<Vec<u32>>,
    /// Wires that lie on an edge, from terminal to terminal.
    pub on_edge: Vec<Vec<u32>>,
    /// All crossings; freed ones are reused.
    pub crossings: Vec<Crossing>,
    free: Vec<u32>,
    faces: Vec<RefCell<Option<Faces>>>,
    /// Least space between wires, nm.
    pub space: f64,
}

impl Sketch {
    /// An empty sketch.
    pub fn new(mesh: Mesh, wires: Vec<Wire>, space: f64) -> Sketch {
        let (e, t) = (mesh.edges.len(), mesh.corners.len());
        Sketch {
            mesh,
            wires,
            order: vec![Vec::new(); e],
            on_edge: vec![Vec::new(); e],
            crossings: Vec::new(),
            free: Vec::new(),
            faces: (0..t).map(|_| RefCell::new(None)).collect(),
            space,
        }
    }

    /// Number of gaps of an edge.
    pub fn gaps(&self, edge: u32) -> u16 {
        self.order[edge as usize].len() as u16 + 1
    }

    /// The width that the wires over an edge need with their spaces, nm.
    pub fn used(&self, edge: u32) -> f64 {
        self.order[edge as usize]
            .iter()
            .map(|&c| self.wires[self.crossings[c as usize].wire as usize].width + self.space)
            .sum()
    }

    /// Room for wires with one space each on an edge: its length less discs, gaps, plus one space, nm.
    pub fn room(&self, edge: u32) -> f64 {
        let e = &self.mesh.edges[edge as usize];
        let [a, b] = e.v.map(|v| self.mesh.vertices[v as usize]);
        e.length - a.radius - a.gap - b.radius - b.gap + self.space
    }

    /// Takes a wire out.
    pub fn remove(&mut self, wire: u32) {
        let w = &mut self.wires[wire as usize];
        if !w.routed {
            return;
        }
        w.routed = false;
        let (list, direct) = (std::mem::take(&mut w.crossings), w.direct);
        w.direct = NONE;
        if direct != NONE {
            self.on_edge[direct as usize].retain(|&x| x != wire);
        }
        if let (Some(&f), Some(&l)) = (list.first(), list.last()) {
            self.stale(self.crossings[f as usize].from);
            self.stale(self.crossings[l as usize].to);
        }
        for &c in &list {
            let e = self.crossings[c as usize].edge;
            self.order[e as usize].retain(|&x| x != c);
            self.stale_edge(e);
            self.free.push(c);
        }
    }

    /// Puts a wire in: from vertex `start` through `steps` (edge, gap in the edge's own order, triangle gone into)
    /// to vertex `end`. With no steps it lies on the edge between the two.
    pub fn insert(&mut self, wire: u32, start: u32, steps: &[(u32, u16, u32)], end: u32) {
        self.wires[wire as usize].ends = [start, end];
        self.wires[wire as usize].routed = true;
        if steps.is_empty() {
            let e = self.edge_between(start, end);
            self.wires[wire as usize].direct = e;
            self.on_edge[e as usize].push(wire);
            return;
        }
        self.wires[wire as usize].direct = NONE;
        let mut made: Vec<u32> = Vec::with_capacity(steps.len());
        let mut shifts: Vec<(u32, u16)> = Vec::new();
        for &(edge, gap, to) in steps {
            let shift = shifts.iter().filter(|(e, g)| *e == edge && *g < gap).count();
            let from = self.mesh.across(to, edge);
            let crossing =
                Crossing { wire, edge, prev: Link::Vertex(start), next: Link::Vertex(end), from, to };
            let c = match self.free.pop() {
                Some(c) => {
                    self.crossings[c as usize] = crossing;
                    c
                }
                None => {
                    self.crossings.push(crossing);
                    self.crossings.len() as u32 - 1
                }
            };
            self.order[edge as usize].insert(gap as usize + shift, c);
            shifts.push((edge, gap));
            self.stale_edge(edge);
            made.push(c);
        }
        for k in 0..made.len() {
            if k > 0 {
                self.crossings[made[k] as usize].prev = Link::Cross(made[k - 1]);
            }
            if k + 1 < made.len() {
                self.crossings[made[k] as usize].next = Link::Cross(made[k + 1]);
            }
        }
        self.wires[wire as usize].crossings = made;
    }

    /// The edge between two vertices, or [`NONE`].
    pub fn edge_between(&self, a: u32, b: u32) -> u32 {
        for &(t, k) in &self.mesh.around[a as usize] {
            for s in [k, (k + 2) % 3] {
                let e = self.mesh.sides[t as usize][s as usize];
                let v = self.mesh.edges[e as usize].v;
                if v == [a, b] || v == [b, a] {
                    return e;
                }
            }
        }
        NONE
    }

    /// Wires that turn around corner `k` of triangle `t`, from the corner outwards.
    pub fn chords(&self, t: u32, k: usize) -> Vec<u32> {
        let e = self.mesh.sides[t as usize][k];
        let before = self.mesh.sides[t as usize][(k + 2) % 3];
        let list = &self.order[e as usize];
        let turns = |&c: &u32| {
            let x = &self.crossings[c as usize];
            let partner = if x.to == t { x.next } else { x.prev };
            match partner {
                Link::Cross(o) if self.crossings[o as usize].edge == before => Some(x.wire),
                _ => None,
            }
        };
        if self.mesh.edges[e as usize].v[0] == self.mesh.corners[t as usize][k] {
            list.iter().map_while(turns).collect()
        } else {
            list.iter().rev().map_while(turns).collect()
        }
    }

    fn stale(&self, t: u32) {
        if t != NONE {
            *self.faces[t as usize].borrow_mut() = None;
        }
    }

    fn stale_edge(&self, e: u32) {
        for t in self.mesh.edges[e as usize].tri {
            self.stale(t);
        }
    }

    /// The faces of a triangle, found anew when a wire over one of its edges has changed.
    pub fn faces(&self, t: u32) -> Ref<'_, Faces> {
        if self.faces[t as usize].borrow().is_none() {
            let f = self.walk(t).0;
            *self.faces[t as usize].borrow_mut() = Some(f);
        }
        Ref::map(self.faces[t as usize].borrow(), |f| match f {
            Some(f) => f,
            None => unreachable!("filled above"),
        })
    }

    /// Walks around the border of a triangle; each piece of wire inside opens a face at its first end and closes
    /// it at its second. Wires do not cross, so a stack is enough; false comes back when they do.
    fn walk(&self, t: u32) -> (Faces, bool) {
        let corners = self.mesh.corners[t as usize];
        let mut faces = Faces { of_gap: Default::default(), gaps: vec![[u16::MAX; 3]], corners: vec![0] };
        // Open pieces: the crossing or vertex where they must close, and the face outside them.
        let mut open: Vec<(Link, u16)> = Vec::new();
        let mut now = 0u16;
        let sides: [Vec<u32>; 3] = std::array::from_fn(|k| {
            let e = self.mesh.sides[t as usize][k];
            let mut list = self.order[e as usize].clone();
            if self.mesh.edges[e as usize].v[0] != corners[k] {
                list.reverse();
            }
            list
        });
        let partner = |c: u32| {
            let x = &self.crossings[c as usize];
            if x.to == t { x.next } else { x.prev }
        };
        for k in 0..3 {
            let v = corners[k];
            faces.corners[now as usize] |= 1 << k;
            while open.last().is_some_and(|(l, _)| *l == Link::Vertex(v)) {
                now = open.pop().map_or(0, |(_, f)| f);
                faces.corners[now as usize] |= 1 << k;
            }
            // Pieces that start at this corner and end on the opposite side, which comes later unless k = 2 (then
            // they were opened on side 0 and closed above).
            if k < 2 {
                for &c in sides[(k + 1) % 3].iter().rev() {
                    if partner(c) == Link::Vertex(v) {
                        open.push((Link::Cross(c), now));
                        now = faces.gaps.len() as u16;
                        faces.gaps.push([u16::MAX; 3]);
                        faces.corners.push(1 << k);
                    }
                }
            }
            let mut gap = 0u16;
            faces.of_gap[k].push(now);
            faces.gaps[now as usize][k] = gap;
            for &c in &sides[k] {
                if open.last().is_some_and(|(l, _)| *l == Link::Cross(c)) {
                    now = open.pop().map_or(0, |(_, f)| f);
                } else {
                    open.push((partner(c), now));
                    now = faces.gaps.len() as u16;
                    faces.gaps.push([u16::MAX; 3]);
                    faces.corners.push(0);
                }
                gap += 1;
                faces.of_gap[k].push(now);
                faces.gaps[now as usize][k] = gap;
            }
        }
        let planar = open.is_empty();
        (faces, planar)
    }

    /// True when no triangle holds crossing wires; for tests.
    pub fn planar(&self) -> bool {
        (0..self.mesh.corners.len() as u32).all(|t| self.walk(t).1)
    }

    /// True when a routed wire crosses neither another nor itself.
    pub fn is_simple(&self, wire: u32) -> bool {
        self.wires[wire as usize].crossings.iter().all(|&c| {
            let x = &self.crossings[c as usize];
            self.walk(x.from).1 && self.walk(x.to).1
        })
    }
}

impl Sketch {
    /// A copy with empty face memory.
    pub fn copy(&self) -> Sketch {
        Sketch {
            mesh: self.mesh.clone(),
            wires: self.wires.clone(),
            order: self.order.clone(),
            on_edge: self.on_edge.clone(),
            crossings: self.crossings.clone(),
            free: self.free.clone(),
            faces: (0..self.mesh.corners.len()).map(|_| RefCell::new(None)).collect(),
            space: self.space,
        }
    }
}
