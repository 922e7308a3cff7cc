//! The triangulated die: what a route can pass between.
//!
//! Every piece of foreign metal (landing, capture pad, via pad) becomes a vertex with a disc around it; keep-outs
//! become vertices joined by edges that no wire may cross; the die outline, inset by the edge clearance, closes
//! the mesh. The triangulation is Delaunay (constrained by the keep-outs), so each edge is a cut between two near
//! neighbours: together with the second diagonal of each pair of triangles these are the cuts that can be critical
//! in a bump array, where obstacles are wider than about 0.4 of the pitch (a longer cut crosses two of them).

use super::plane::{P2, along, distance, nearest_on_segment, sub};
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};
use std::collections::HashMap;

/// No triangle, vertex or edge.
pub const NONE: u32 = u32::MAX;

/// A vertex of the mesh with the disc that wires must keep clear of.
#[derive(Debug, Clone, Copy)]
pub struct Vertex {
    /// Place, nm.
    pub p: P2,
    /// Radius of the metal, nm; zero for the outline and keep-outs.
    pub radius: f64,
    /// Room between that metal and the edge of a foreign wire, nm.
    pub gap: f64,
}

/// An edge between two vertices.
#[derive(Debug, Clone, Copy)]
pub struct Edge {
    /// End vertices.
    pub v: [u32; 2],
    /// Triangle to the left and to the right of `v[0] -> v[1]`; [`NONE`] outside.
    pub tri: [u32; 2],
    /// Length, nm.
    pub length: f64,
    /// No wire may cross (outline, keep-out).
    pub blocked: bool,
}

/// The triangulation, by arrays.
#[derive(Debug, Clone)]
pub struct Mesh {
    /// Vertices.
    pub vertices: Vec<Vertex>,
    /// Edges.
    pub edges: Vec<Edge>,
    /// Corners of each triangle, counter-clockwise.
    pub corners: Vec<[u32; 3]>,
    /// Edge `k` of a triangle runs from corner `k` to corner `k + 1`.
    pub sides: Vec<[u32; 3]>,
    /// Triangles around each vertex, with the corner number that the vertex has there.
    pub around: Vec<Vec<(u32, u8)>>,
    /// The rectangle that metal may fill, nm.
    pub low: P2,
    /// Its upper right corner, nm.
    pub high: P2,
}

/// Why a mesh cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MeshError {
    /// Two vertices at one place, by number.
    #[error("vertices {0} and {1} lie at the same place")]
    Coincident(usize, usize),
    /// A coordinate that the triangulation cannot take.
    #[error("vertex {0} has a coordinate out of range")]
    OutOfRange(usize),
}

impl Mesh {
    /// Triangulates `terminals` (numbered as given, first in `vertices`) inside the rectangle `low..high` with
    /// `keep_outs` (closed rings). `keep_out_gap` is the room between a keep-out and a wire's edge.
    ///
    /// # Errors
    /// [`MeshError`] when two terminals coincide or a coordinate is not finite.
    pub fn new(
        terminals: &[Vertex],
        low: P2,
        high: P2,
        keep_outs: &[Vec<P2>],
        keep_out_gap: f64,
    ) -> Result<Mesh, MeshError> {
        let mut vertices = terminals.to_vec();
        let mut constraints: Vec<(usize, usize)> = Vec::new();
        let near = Near::new(terminals, 0.12 * (high[0] - low[0]).min(high[1] - low[1]));
        for ring in keep_outs {
            // Parts outside the routable rectangle are cut off at its edge by clamping the corner.
            let inside: Vec<P2> =
                ring.iter().map(|p| [p[0].clamp(low[0], high[0]), p[1].clamp(low[1], high[1])]).collect();
            let first = vertices.len();
            for k in 0..inside.len() {
                let (a, b) = (inside[k], inside[(k + 1) % inside.len()]);
                vertices.push(Vertex { p: a, radius: 0.0, gap: keep_out_gap });
                // A foot for each terminal beside the edge, so that the room between the two is an edge of the mesh.
                let mut feet: Vec<f64> = terminals
                    .iter()
                    .enumerate()
                    .map(|(i, t)| (i, nearest_on_segment(a, b, t.p)))
                    .filter(|&(i, (t, d))| {
                        t > 0.02
                            && t < 0.98
                            && d < near.reach
                            && near.is_nearest(i, along(a, sub(b, a), t), d)
                    })
                    .map(|(_, (t, _))| t)
                    .collect();
                feet.sort_by(f64::total_cmp);
                feet.dedup_by(|x, y| (*x - *y).abs() * distance(a, b) < 10.0);
                vertices.extend(feet.into_iter().map(|t| Vertex {
                    p: along(a, sub(b, a), t),
                    radius: 0.0,
                    gap: keep_out_gap,
                }));
            }
            let kept = vertices.len() - first;
            for k in 0..kept {
                constraints.push((first + k, first + (k + 1) % kept));
            }
        }
        outline(terminals, &near, low, high, &mut vertices);
        triangulate(vertices, terminals.len(), &constraints, keep_outs, low, high)
    }

    /// The vertex of triangle `t` that does not lie on edge `e`.
    pub fn apex(&self, t: u32, e: u32) -> u32 {
        let v = self.edges[e as usize].v;
        let c = self.corners[t as usize];
        if c[0] != v[0] && c[0] != v[1] {
            c[0]
        } else if c[1] != v[0] && c[1] != v[1] {
            c[1]
        } else {
            c[2]
        }
    }

    /// The triangle on the other side of edge `e`.
    pub fn across(&self, t: u32, e: u32) -> u32 {
        let tri = self.edges[e as usize].tri;
        if tri[0] == t { tri[1] } else { tri[0] }
    }
}

/// Terminals on a grid, to tell which of them is nearest to a place.
struct Near<'a> {
    terminals: &'a [Vertex],
    reach: f64,
    grid: HashMap<(i64, i64), Vec<usize>>,
}

impl Near<'_> {
    fn new(terminals: &[Vertex], reach: f64) -> Near<'_> {
        let mut near = Near { terminals, reach: reach.max(1.0), grid: HashMap::new() };
        for (i, t) in terminals.iter().enumerate() {
            near.grid.entry(near.key(t.p)).or_default().push(i);
        }
        near
    }

    fn key(&self, p: P2) -> (i64, i64) {
        ((p[0] / self.reach).floor() as i64, (p[1] / self.reach).floor() as i64)
    }

    /// True when no other terminal lies nearer to `foot` than terminal `i` at distance `d` (at most the reach).
    fn is_nearest(&self, i: usize, foot: P2, d: f64) -> bool {
        let k = self.key(foot);
        !(-1..=1).any(|dx| {
            (-1..=1).any(|dy| {
                self.grid
                    .get(&(k.0 + dx, k.1 + dy))
                    .is_some_and(|l| l.iter().any(|&j| j != i && distance(self.terminals[j].p, foot) < d))
            })
        })
    }
}

/// Corners of the outline and a foot on it below each terminal that nothing else stands closer to, so that the
/// room between a terminal and the edge is an edge of the mesh too.
fn outline(terminals: &[Vertex], near: &Near, low: P2, high: P2, vertices: &mut Vec<Vertex>) {
    let mut feet: Vec<P2> = vec![low, [high[0], low[1]], high, [low[0], high[1]]];
    for (i, t) in terminals.iter().enumerate() {
        for foot in [[low[0], t.p[1]], [high[0], t.p[1]], [t.p[0], low[1]], [t.p[0], high[1]]] {
            let d = distance(foot, t.p);
            if d <= near.reach && d >= 1.0 && near.is_nearest(i, foot, d) {
                feet.push(foot);
            }
        }
    }
    feet.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    feet.dedup_by(|a, b| distance(*a, *b) < 1.0);
    vertices.extend(feet.into_iter().map(|p| Vertex { p, radius: 0.0, gap: 0.0 }));
}

fn triangulate(
    mut vertices: Vec<Vertex>,
    terminals: usize,
    constraints: &[(usize, usize)],
    keep_outs: &[Vec<P2>],
    low: P2,
    high: P2,
) -> Result<Mesh, MeshError> {
    let mut cdt: ConstrainedDelaunayTriangulation<Point2<f64>> = ConstrainedDelaunayTriangulation::new();
    let mut number: Vec<u32> = Vec::with_capacity(vertices.len());
    let mut owner: Vec<usize> = Vec::new();
    for (i, v) in vertices.iter().enumerate() {
        let h = cdt.insert(Point2::new(v.p[0], v.p[1])).map_err(|_| MeshError::OutOfRange(i))?;
        let k = h.index();
        if k < owner.len() {
            if i < terminals {
                return Err(MeshError::Coincident(owner[k], i));
            }
        } else {
            owner.push(i);
        }
        number.push(k as u32);
    }
    for &(a, b) in constraints {
        let (a, b) = (number[a], number[b]);
        if a == b {
            continue;
        }
        let (ha, hb) = (
            spade::handles::FixedVertexHandle::from_index(a as usize),
            spade::handles::FixedVertexHandle::from_index(b as usize),
        );
        // Overlapping keep-outs cross each other; splitting the edges keeps both closed.
        cdt.add_constraint_and_split(ha, hb, |p| p);
    }
    // Renumber so that terminals keep their numbers; vertices made by splitting come last.
    let total = cdt.num_vertices();
    let mut place: Vec<Vertex> = Vec::with_capacity(total);
    for k in 0..total {
        let p = cdt.vertex(spade::handles::FixedVertexHandle::from_index(k)).position();
        let old = owner.get(k).copied();
        place.push(match old {
            Some(i) => vertices[i],
            None => Vertex { p: [p.x, p.y], radius: 0.0, gap: keep_gap(&vertices, terminals) },
        });
    }
    vertices = place;

    let mut edges: Vec<Edge> = Vec::new();
    let mut edge_of: HashMap<(u32, u32), u32> = HashMap::new();
    for e in cdt.undirected_edges() {
        let [a, b] = e.vertices().map(|v| v.fix().index() as u32);
        edge_of.insert((a.min(b), a.max(b)), edges.len() as u32);
        edges.push(Edge {
            v: [a, b],
            tri: [NONE, NONE],
            length: distance(vertices[a as usize].p, vertices[b as usize].p),
            blocked: e.is_constraint_edge(),
        });
    }
    let (mut corners, mut sides) = (Vec::new(), Vec::new());
    let mut around = vec![Vec::new(); total];
    for f in cdt.inner_faces() {
        let c = f.vertices().map(|v| v.fix().index() as u32);
        let centre = [0, 1].map(|k| c.iter().map(|&i| vertices[i as usize].p[k]).sum::<f64>() / 3.0);
        if keep_outs.iter().any(|ring| inside(ring, centre)) {
            continue;
        }
        let t = corners.len() as u32;
        let mut s = [NONE; 3];
        for k in 0..3 {
            let (a, b) = (c[k], c[(k + 1) % 3]);
            let e = edge_of[&(a.min(b), a.max(b))];
            s[k] = e;
            let side = usize::from(edges[e as usize].v[0] != a);
            edges[e as usize].tri[side] = t;
            around[a as usize].push((t, k as u8));
        }
        corners.push(c);
        sides.push(s);
    }
    for e in &mut edges {
        e.blocked |= e.tri[0] == NONE || e.tri[1] == NONE;
    }
    Ok(Mesh { vertices, edges, corners, sides, around, low, high })
}

fn keep_gap(vertices: &[Vertex], terminals: usize) -> f64 {
    vertices.get(terminals).map_or(0.0, |v| v.gap)
}

/// Even-odd test of a point in a closed ring.
pub fn inside(ring: &[P2], p: P2) -> bool {
    let mut odd = false;
    for k in 0..ring.len() {
        let (a, b) = (ring[k], ring[(k + 1) % ring.len()]);
        if (a[1] > p[1]) != (b[1] > p[1]) {
            let d = sub(b, a);
            if p[0] < a[0] + d[0] * (p[1] - a[1]) / d[1] {
                odd = !odd;
            }
        }
    }
    odd
}
