//! One layer made ready for checking: shapes with nets, what touches what, pieces, merged outlines.

use crate::exact::{Spot, cross, ring_area2, touch, winding};
use crate::index::EdgeIndex;
use crate::merge::{FINE, union};
use facedown_layout::{Layer, Point, Role, ShapeKind};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Coordinates beyond this (nm, 268 mm) are refused, so that no product overflows.
const RANGE: i64 = 1 << 28;

/// Number of a net in the table of net names.
pub(crate) type Net = u32;

/// A drawn shape in the checker's own terms.
pub(crate) struct Part {
    pub(crate) kind: ShapeKind,
    pub(crate) net: Option<Net>,
    /// Outer ring counter-clockwise, then holes clockwise, nm.
    pub(crate) rings: Vec<Vec<Spot>>,
}

impl Part {
    /// Box around the outer ring.
    pub(crate) fn bounds(&self) -> (Spot, Spot) {
        bounds(&self.rings[0])
    }

    /// Twice the centre of the box, exact in whole nm.
    pub(crate) fn centre2(&self) -> Spot {
        let (low, high) = self.bounds();
        [low[0] + high[0], low[1] + high[1]]
    }

    /// Centre of the box, rounded down to whole nm.
    pub(crate) fn centre(&self) -> Spot {
        let c = self.centre2();
        [c[0].div_euclid(2), c[1].div_euclid(2)]
    }

    /// True when the point lies inside (on the outline: either).
    pub(crate) fn contains(&self, p: Spot) -> bool {
        self.rings.iter().map(|r| winding(r, p)).sum::<i32>() != 0
    }
}

pub(crate) fn bounds(ring: &[Spot]) -> (Spot, Spot) {
    let (mut low, mut high) = ([i64::MAX; 2], [i64::MIN; 2]);
    for p in ring {
        for k in 0..2 {
            low[k] = low[k].min(p[k]);
            high[k] = high[k].max(p[k]);
        }
    }
    (low, high)
}

/// Two shapes of one layer that touch or overlap, with a place where they do.
pub(crate) struct Contact {
    pub(crate) shapes: (u32, u32),
    pub(crate) at: Spot,
    /// True when their outlines touch, false when one lies wholly inside the other.
    pub(crate) outlines: bool,
}

/// A layer.
pub(crate) struct Plane {
    pub(crate) role: Role,
    pub(crate) parts: Vec<Part>,
    /// Drawn edges in nm; owner is the shape.
    pub(crate) index: EdgeIndex,
    pub(crate) contacts: Vec<Contact>,
    /// Piece of each shape: touching shapes of one net are one piece.
    pub(crate) piece_of: Vec<u32>,
    /// Number of pieces.
    pub(crate) pieces: u32,
    /// Outlines of merged pieces on the fine grid; owner is the piece.
    pub(crate) merged: EdgeIndex,
}

/// What is wrong with a polygon before any rule is asked.
pub(crate) struct Fault {
    pub(crate) at: Spot,
    pub(crate) shape: usize,
    pub(crate) what: String,
}

/// Reads one ring: drops repeated points, orients it.
fn ring(points: &[Point], counter_clockwise: bool) -> Result<Vec<Spot>, String> {
    if points.iter().any(|p| p.x.0.abs() > RANGE || p.y.0.abs() > RANGE) {
        return Err(format!("has a coordinate beyond {} mm", RANGE / 1_000_000));
    }
    let mut ring: Vec<Spot> = points.iter().map(|p| [p.x.0, p.y.0]).collect();
    ring.dedup();
    while ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    let area2 = ring_area2(&ring);
    if ring.len() < 3 || area2 == 0 {
        return Err("encloses no area".into());
    }
    if (area2 > 0) != counter_clockwise {
        ring.reverse();
    }
    Ok(ring)
}

/// Reads a polygon into oriented rings.
pub(crate) fn rings(polygon: &facedown_layout::Polygon) -> Result<Vec<Vec<Spot>>, String> {
    let mut rings = vec![ring(&polygon.outer, true)?];
    for hole in &polygon.holes {
        rings.push(ring(hole, false)?);
    }
    Ok(rings)
}

impl Plane {
    /// Reads a layer. Shapes of kind `KeepOut` on an RDL layer are left out. `cell` is the wanted grid size in nm.
    pub(crate) fn read(layer: &Layer, nets: &BTreeMap<&str, Net>, cell: i64) -> (Plane, Vec<Fault>) {
        let mut parts = Vec::new();
        let mut faults = Vec::new();
        for (number, shape) in layer.shapes.iter().enumerate() {
            if matches!(layer.role, Role::Rdl(_)) && shape.kind == ShapeKind::KeepOut {
                continue;
            }
            match rings(&shape.polygon) {
                Ok(rings) => {
                    let net = shape.net.as_deref().and_then(|n| nets.get(n).copied());
                    parts.push(Part { kind: shape.kind, net, rings });
                }
                Err(what) => {
                    let at = shape.polygon.outer.first().map_or([0, 0], |p| [p.x.0, p.y.0]);
                    faults.push(Fault { at, shape: number, what });
                }
            }
        }
        let owned: Vec<(u32, &[Spot])> = parts
            .iter()
            .enumerate()
            .flat_map(|(i, p)| p.rings.iter().map(move |r| (i as u32, r.as_slice())))
            .collect();
        let index = EdgeIndex::new(&owned, cell);
        let contacts = contacts(&parts, &index);
        let pieces = parts.len() as u32;
        for (shape, at) in self_crossings(&index) {
            faults.push(Fault { at, shape: shape as usize, what: "crosses itself".into() });
        }
        let merged = EdgeIndex::new(&[], 1);
        let plane = Plane {
            role: layer.role,
            piece_of: (0..pieces).collect(),
            parts,
            index,
            contacts,
            pieces,
            merged,
        };
        (plane, faults)
    }

    /// Joins touching shapes of one net into pieces and merges their outlines. Bumps stay apart: two that touch are
    /// two bumps.
    pub(crate) fn merge(&mut self, sliver: f64) {
        let mut sets = Sets::new(self.parts.len());
        for contact in &self.contacts {
            let (a, b) = contact.shapes;
            let same = self.parts[a as usize].net == self.parts[b as usize].net;
            if same && self.role != Role::Bump {
                sets.join(a, b);
            }
        }
        (self.piece_of, self.pieces) = sets.numbered();
        let mut members = vec![Vec::new(); self.pieces as usize];
        for (shape, piece) in self.piece_of.iter().enumerate() {
            members[*piece as usize].push(shape);
        }
        let merged: Vec<Vec<Vec<Spot>>> = members
            .par_iter()
            .map(|shapes| {
                let rings: Vec<&[Spot]> =
                    shapes.iter().flat_map(|s| self.parts[*s].rings.iter().map(Vec::as_slice)).collect();
                union(&rings, sliver)
            })
            .collect();
        let owned: Vec<(u32, &[Spot])> = merged
            .iter()
            .enumerate()
            .flat_map(|(i, rings)| rings.iter().map(move |r| (i as u32, r.as_slice())))
            .collect();
        self.merged = EdgeIndex::new(&owned, self.index.cell() * FINE);
    }

    /// A shape of each piece, the first.
    pub(crate) fn first_of_piece(&self) -> Vec<u32> {
        let mut first = vec![u32::MAX; self.pieces as usize];
        for (shape, piece) in self.piece_of.iter().enumerate().rev() {
            first[*piece as usize] = shape as u32;
        }
        first
    }

    /// The net of each piece.
    pub(crate) fn net_of_piece(&self) -> Vec<Option<Net>> {
        self.first_of_piece().iter().map(|s| self.parts[*s as usize].net).collect()
    }

    /// Shapes of this layer that share at least a point with the area of `other`, sorted.
    pub(crate) fn meeting(&self, other: &Part) -> Vec<u32> {
        let mut found = self.index.containing(other.rings[0][0]);
        let (low, high) = other.bounds();
        let mut nearby = Vec::new();
        self.index.in_box(low, high, |e| nearby.push(self.index.owner(e)));
        nearby.sort_unstable();
        nearby.dedup();
        nearby.retain(|shape| other.contains(self.parts[*shape as usize].rings[0][0]));
        found.extend(nearby);
        for ring in &other.rings {
            for (i, a) in ring.iter().enumerate() {
                let b = ring[(i + 1) % ring.len()];
                self.index.near([*a, b], 0, |e| {
                    let owner = self.index.owner(e);
                    if !found.contains(&owner) {
                        let [c, d] = self.index.edges[e as usize];
                        if touch(*a, b, c, d) {
                            found.push(owner);
                        }
                    }
                });
            }
        }
        found.sort_unstable();
        found.dedup();
        found
    }

    /// Area of the merged pieces, nm2.
    pub(crate) fn area(&self) -> f64 {
        let twice: i128 = self
            .merged
            .edges
            .iter()
            .map(|[a, b]| a[0] as i128 * b[1] as i128 - a[1] as i128 * b[0] as i128)
            .sum();
        twice as f64 / (2 * FINE * FINE) as f64
    }
}

/// Pairs of shapes that touch, overlap or contain each other, sorted, each once.
fn contacts(parts: &[Part], index: &EdgeIndex) -> Vec<Contact> {
    let found: Vec<((u32, u32), Spot)> = (0..index.edges.len() as u32)
        .into_par_iter()
        .fold(Vec::new, |mut found: Vec<((u32, u32), Spot)>, i| {
            let [a, b] = index.edges[i as usize];
            let own = index.owner(i);
            index.near([a, b], 0, |j| {
                let other = index.owner(j);
                if other > own {
                    let [c, d] = index.edges[j as usize];
                    if touch(a, b, c, d) && found.last().is_none_or(|l| l.0 != (own, other)) {
                        let (_, at) = crate::exact::distance(a, b, c, d);
                        found.push(((own, other), [at[0].round() as i64, at[1].round() as i64]));
                    }
                }
            });
            found
        })
        .flatten()
        .collect();
    let inside: Vec<((u32, u32), Spot)> = parts
        .par_iter()
        .enumerate()
        .flat_map_iter(|(i, part)| {
            let (i, p) = (i as u32, part.rings[0][0]);
            index.containing(p).into_iter().filter(move |j| *j != i).map(move |j| ((i.min(j), i.max(j)), p))
        })
        .collect();
    let mut all: Vec<Contact> = found
        .into_iter()
        .map(|(shapes, at)| Contact { shapes, at, outlines: true })
        .chain(inside.into_iter().map(|(shapes, at)| Contact { shapes, at, outlines: false }))
        .collect();
    all.par_sort_unstable_by_key(|c| (c.shapes, !c.outlines, c.at));
    all.dedup_by_key(|c| c.shapes);
    all
}

/// Shapes whose own edges cross properly, with a place; each shape once.
fn self_crossings(index: &EdgeIndex) -> Vec<(u32, Spot)> {
    let mut found: Vec<(u32, Spot)> = (0..index.edges.len() as u32)
        .into_par_iter()
        .fold(Vec::new, |mut found, i| {
            let [a, b] = index.edges[i as usize];
            let own = index.owner(i);
            index.near([a, b], 0, |j| {
                if j > i && index.owner(j) == own {
                    let [c, d] = index.edges[j as usize];
                    let apart = |p, q, r, s| cross(p, q, r).signum() * cross(p, q, s).signum() < 0;
                    if apart(a, b, c, d) && apart(c, d, a, b) {
                        found.push((own, a));
                    }
                }
            });
            found
        })
        .flatten()
        .collect();
    found.sort_unstable();
    found.dedup_by_key(|f| f.0);
    found
}

/// Disjoint sets.
pub(crate) struct Sets {
    parent: Vec<u32>,
}

impl Sets {
    pub(crate) fn new(count: usize) -> Sets {
        Sets { parent: (0..count as u32).collect() }
    }

    pub(crate) fn find(&mut self, mut i: u32) -> u32 {
        while self.parent[i as usize] != i {
            self.parent[i as usize] = self.parent[self.parent[i as usize] as usize];
            i = self.parent[i as usize];
        }
        i
    }

    /// Joins two sets; the smaller number stays the root, so that roots do not depend on the order of joining.
    pub(crate) fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.find(a), self.find(b));
        self.parent[a.max(b) as usize] = a.min(b);
    }

    /// Set number of each element, numbered from 0 in order of first appearance, and the number of sets.
    pub(crate) fn numbered(&mut self) -> (Vec<u32>, u32) {
        let mut number = vec![u32::MAX; self.parent.len()];
        let mut count = 0;
        let sets = (0..self.parent.len() as u32)
            .map(|i| {
                let root = self.find(i) as usize;
                if number[root] == u32::MAX {
                    number[root] = count;
                    count += 1;
                }
                number[root]
            })
            .collect();
        (sets, count)
    }
}
