//! One layer made ready for checking: shapes with nets, what touches what, pieces, merged outlines.

use crate::boxes::Bounds;
use crate::exact::{Spot, ring_area2, touch, winding};
use crate::index::EdgeIndex;
use crate::merge::{FINE, union};
use crate::sets::Sets;
use crate::touching::{Contact, touching};
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
    pub(crate) fn bounds(&self) -> Bounds {
        Bounds::around(&self.rings[0])
    }

    /// Twice the centre of the box, exact in whole nm.
    pub(crate) fn centre2(&self) -> Spot {
        let Bounds { low, high } = self.bounds();
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

/// A layer.
pub(crate) struct Plane {
    pub(crate) role: Role,
    pub(crate) parts: Vec<Part>,
    /// Drawn edges in nm; owner is the shape.
    pub(crate) index: EdgeIndex,
    pub(crate) contacts: Vec<Contact>,
    /// Shapes of one ring that nowhere touches itself.
    plain: Vec<bool>,
    /// Piece of each shape: touching shapes of one net are one piece.
    pub(crate) piece_of: Vec<u32>,
    /// Number of pieces.
    pub(crate) pieces: u32,
    /// Outlines of merged pieces on the fine grid; owner is the piece.
    pub(crate) merged: EdgeIndex,
    /// Pieces whose merged outline is one ring that nowhere touches itself, as far as known.
    pub(crate) plain_pieces: Vec<bool>,
    /// Length of the pieces that long slanted edges are cut into, nm.
    edge_piece: i64,
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
    /// Reads a layer. Shapes of kind `KeepOut` on an RDL layer are left out. `edge_piece` (nm) is
    /// how long slanted edges are cut.
    pub(crate) fn read(layer: &Layer, nets: &BTreeMap<&str, Net>, edge_piece: i64) -> (Plane, Vec<Fault>) {
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
        let index = EdgeIndex::new(&owned, edge_piece);
        let touching = touching(&parts, &index);
        let pieces = parts.len() as u32;
        for (shape, at) in touching.crossings {
            faults.push(Fault { at, shape: shape as usize, what: "crosses itself".into() });
        }
        let merged = EdgeIndex::new(&[], 1);
        let plane = Plane {
            role: layer.role,
            piece_of: (0..pieces).collect(),
            parts,
            index,
            contacts: touching.contacts,
            plain: touching.plain,
            pieces,
            merged,
            plain_pieces: Vec::new(),
            edge_piece,
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
                if let [only] = shapes[..]
                    && self.plain[only]
                {
                    // Its own union.
                    let fine = |p: &Spot| [p[0] * FINE, p[1] * FINE];
                    return vec![self.parts[only].rings[0].iter().map(fine).collect()];
                }
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
        self.merged = EdgeIndex::new(&owned, self.edge_piece * FINE);
        self.plain_pieces = members.iter().map(|m| matches!(m[..], [only] if self.plain[only])).collect();
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

    /// Shapes of this layer that share at least a point with the area of `other`, sorted. Only the runs of edges near
    /// `other` are looked at: the box of a long trace holds most openings of a layer.
    pub(crate) fn meeting(&self, other: &Part) -> Vec<u32> {
        let around = other.bounds();
        let mut found = self.index.containing(other.rings[0][0]);
        self.index.visit_runs(
            |b| b.meets(&around),
            |run| {
                let owner = self.index.run_owner(run);
                if found.contains(&owner) {
                    return;
                }
                let own = self.index.run_bounds(run);
                // A shape that lies inside `other` has all its corners there.
                let meets = self.index.edges_of(run).any(|e| other.contains(self.index.edges[e as usize][0]))
                    || self.touches(run, &own, other);
                if meets {
                    found.push(owner);
                }
            },
        );
        found.sort_unstable();
        found
    }

    /// True when a run of drawn edges and the outline of a shape of another layer share a point.
    fn touches(&self, run: u32, own: &Bounds, other: &Part) -> bool {
        other.rings.iter().any(|outline| {
            outline.iter().enumerate().any(|(i, a)| {
                let b = outline[(i + 1) % outline.len()];
                Bounds::around(&[*a, b]).meets(own)
                    && self.index.edges_of(run).any(|e| {
                        let [c, d] = self.index.edges[e as usize];
                        touch(*a, b, c, d)
                    })
            })
        })
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
