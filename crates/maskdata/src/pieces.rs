//! Polygons with holes, or with too many corners, as rings without holes: for formats that know nothing better.
//!
//! The polygon is triangulated between its own corners (constrained Delaunay, with the `spade` crate) and the
//! triangles are joined again into rings, breadth first. Every cut runs from corner to corner, so no coordinate
//! is ever rounded and the rings cover exactly what the polygon covers. Cost: n log n in the number of corners.

use crate::fault::Fault;
use facedown_layout::{Point, Polygon};
use spade::handles::{FixedDirectedEdgeHandle, FixedVertexHandle};
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};
use std::collections::{BTreeSet, VecDeque};

/// How the rings may look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joint {
    /// A ring may touch itself along cuts, so that a polygon with holes stays one ring.
    MayTouchItself,
    /// Every ring is simple: no corner twice, no edge twice. A polygon with holes becomes several.
    Simple,
}

/// Rings of at most `most` corners (at least 3), counter-clockwise, that cover `polygon` exactly and overlap nowhere.
///
/// # Errors
/// A [`Fault`] where edges of the polygon cross, or it covers no area.
pub fn without_holes(polygon: &Polygon, most: usize, joint: Joint) -> Result<Vec<Vec<Point>>, Fault> {
    let mesh = Mesh::of(polygon)?;
    let most = most.max(3);
    let pieces = mesh.partition(most);
    let mut taken: Vec<bool> = pieces.iter().map(Option::is_none).collect();
    let mut rings = Vec::new();
    for face in mesh.triangulation.inner_faces() {
        if !taken[face.fix().index()] {
            let start = face.adjacent_edges().map(|e| e.fix());
            rings.push(mesh.grow(start, &pieces, &mut taken, most, joint));
        }
    }
    if rings.is_empty() {
        return Err(Fault::new(
            "polygon-empty",
            format!("a polygon of {} corners covers no area", polygon.outer.len()),
        )
        .mend("remove it"));
    }
    Ok(rings)
}

struct Mesh {
    triangulation: ConstrainedDelaunayTriangulation<Point2<f64>>,
    /// Corner of each vertex.
    corners: Vec<Point>,
    /// For each edge: whether an odd number of polygon edges runs along it, so that it parts inside from outside.
    parts: Vec<bool>,
}

impl Mesh {
    fn of(polygon: &Polygon) -> Result<Mesh, Fault> {
        let mut mesh = Mesh {
            triangulation: ConstrainedDelaunayTriangulation::new(),
            corners: Vec::new(),
            parts: Vec::new(),
        };
        let mut rings = Vec::new();
        for ring in std::iter::once(&polygon.outer).chain(&polygon.holes) {
            let mut handles = Vec::with_capacity(ring.len());
            for &corner in ring {
                // Nanometres below 2^53 are exact in a double.
                let place = Point2::new(corner.x.nm(), corner.y.nm());
                let handle = mesh.triangulation.insert(place).map_err(|_| crossing(corner))?;
                if handle.index() == mesh.corners.len() {
                    mesh.corners.push(corner);
                }
                handles.push(handle);
            }
            rings.push(handles);
        }
        let edges = || rings.iter().flat_map(|r| r.iter().copied().zip(r.iter().copied().cycle().skip(1)));
        for (a, b) in edges().filter(|(a, b)| a != b) {
            if !mesh.triangulation.can_add_constraint(a, b) {
                return Err(crossing(mesh.corners[a.index()]));
            }
            mesh.triangulation.add_constraint(a, b);
        }
        mesh.parts = vec![false; mesh.triangulation.num_undirected_edges()];
        for (a, b) in edges() {
            mesh.mark(a, b)?;
        }
        Ok(mesh)
    }

    /// Turns the parity of all mesh edges along the polygon edge from `a` to `b`; other corners may lie on it.
    fn mark(&mut self, a: FixedVertexHandle, b: FixedVertexHandle) -> Result<(), Fault> {
        let (mut at, goal) = (a, self.corners[b.index()]);
        while at != b {
            let here = self.corners[at.index()];
            let step = self.triangulation.vertex(at).out_edges().find(|edge| {
                let there = self.corners[edge.to().fix().index()];
                let (ux, uy) = (i128::from((there.x - here.x).0), i128::from((there.y - here.y).0));
                let (vx, vy) = (i128::from((goal.x - here.x).0), i128::from((goal.y - here.y).0));
                ux * vy == uy * vx && ux * vx + uy * vy > 0
            });
            // Present: the constraint runs here.
            let Some(edge) = step else { return Err(crossing(here)) };
            self.parts[edge.as_undirected().fix().index()] ^= true;
            at = edge.to().fix();
        }
        Ok(())
    }

    /// For each face: whether it lies inside the polygon, by the even-odd rule from the outer face inward.
    fn inside(&self) -> Vec<bool> {
        let mut inside = vec![None; self.triangulation.num_all_faces()];
        let outer = self.triangulation.outer_face().fix().index();
        inside[outer] = Some(false);
        let mut queue: VecDeque<FixedDirectedEdgeHandle> =
            self.triangulation.convex_hull().map(|e| e.fix()).collect();
        while let Some(edge) = queue.pop_front() {
            // The face on the left of `edge` is known; look across.
            let edge = self.triangulation.directed_edge(edge);
            let here = inside[edge.face().fix().index()].unwrap_or(false);
            let across = edge.rev().face();
            let slot = &mut inside[across.fix().index()];
            if slot.is_none() {
                *slot = Some(here ^ self.parts[edge.as_undirected().fix().index()]);
                queue.extend([edge.rev().next().fix(), edge.rev().prev().fix()]);
            }
        }
        inside.into_iter().map(|i| i.unwrap_or(false)).collect()
    }

    /// For each face inside the polygon: the number of the piece that it goes to. Every piece hangs together by
    /// edges and has at most `most - 2` triangles, so its ring has at most `most` corners.
    ///
    /// A spanning tree of the triangles (breadth first) is cut from its leaves inward: where the subtrees of
    /// a triangle outgrow one piece, the largest is cut off. A triangle has at most two subtrees, so a piece that
    /// is cut off is at least about half full.
    fn partition(&self, most: usize) -> Vec<Option<usize>> {
        let inside = self.inside();
        let mut parent: Vec<Option<usize>> = vec![None; inside.len()];
        let mut seen: Vec<bool> = inside.iter().map(|i| !i).collect();
        let mut order = Vec::new();
        for face in self.triangulation.inner_faces() {
            let mut next = order.len();
            if !std::mem::replace(&mut seen[face.fix().index()], true) {
                order.push(face);
            }
            while let Some(&face) = order.get(next) {
                next += 1;
                for edge in face.adjacent_edges() {
                    let Some(across) = edge.rev().face().as_inner() else { continue };
                    let index = across.fix().index();
                    if !seen[index] {
                        seen[index] = true;
                        parent[index] = Some(face.fix().index());
                        order.push(across);
                    }
                }
            }
        }
        let order: Vec<usize> = order.into_iter().map(|f| f.fix().index()).collect();
        let mut subtrees: Vec<Vec<(usize, usize)>> = vec![Vec::new(); inside.len()];
        let mut own_piece = vec![false; inside.len()];
        for &face in order.iter().rev() {
            let mut below = std::mem::take(&mut subtrees[face]);
            below.sort_unstable();
            let mut size = 1 + below.iter().map(|(size, _)| size).sum::<usize>();
            while size + 2 > most {
                let Some((largest, root)) = below.pop() else { break };
                own_piece[root] = true;
                size -= largest;
            }
            if let Some(up) = parent[face] {
                subtrees[up].push((size, face));
            }
        }
        let mut pieces = vec![None; inside.len()];
        let mut count = 0;
        for &face in &order {
            pieces[face] = match parent[face] {
                Some(up) if !own_piece[face] => pieces[up],
                _ => {
                    count += 1;
                    Some(count)
                }
            };
        }
        pieces
    }

    /// Joins free triangles of the same piece to the one with the edges `start`, and gives the ring around them.
    fn grow(
        &self,
        start: [FixedDirectedEdgeHandle; 3],
        pieces: &[Option<usize>],
        taken: &mut [bool],
        most: usize,
        joint: Joint,
    ) -> Vec<Point> {
        let edge_of = |e: FixedDirectedEdgeHandle| self.triangulation.directed_edge(e);
        let first = edge_of(start[0]).face().fix().index();
        taken[first] = true;
        // The ring as a linked list: vertex and next node. Node i starts the mesh edge queued with it.
        let vertices = start.map(|e| edge_of(e).from().fix().index());
        let mut nodes: Vec<(usize, usize)> = vec![(vertices[0], 1), (vertices[1], 2), (vertices[2], 0)];
        let mut used = BTreeSet::from(vertices);
        let mut queue: VecDeque<(FixedDirectedEdgeHandle, usize)> = start.into_iter().zip(0..3).collect();
        while let Some((edge, node)) = queue.pop_front() {
            let across = edge_of(edge).rev();
            let face = across.face().fix().index();
            let apex = across.next().to().fix().index();
            if taken[face]
                || pieces[face] != pieces[first]
                || nodes.len() >= most
                || (joint == Joint::Simple && used.contains(&apex))
            {
                continue;
            }
            taken[face] = true;
            used.insert(apex);
            nodes.push((apex, nodes[node].1));
            let added = nodes.len() - 1;
            nodes[node].1 = added;
            queue.push_back((across.next().fix(), node));
            queue.push_back((across.prev().fix(), added));
        }
        let mut ring = Vec::with_capacity(nodes.len());
        let mut node = 0;
        loop {
            ring.push(self.corners[nodes[node].0]);
            node = nodes[node].1;
            if node == 0 {
                return ring;
            }
        }
    }
}

fn crossing(near: Point) -> Fault {
    Fault::new("polygon-crosses", format!("edges of a polygon cross near ({}, {})", near.x, near.y))
        .allowed("polygons whose edges meet only at corners")
        .mend("split the polygon where it crosses itself")
}

#[cfg(test)]
mod tests {
    use super::{Joint, without_holes};
    use facedown_layout::{Point, Polygon};
    use facedown_quantity::Nm;

    fn twice_area(ring: &[Point]) -> i128 {
        let next = ring.iter().cycle().skip(1);
        ring.iter()
            .zip(next)
            .map(|(a, b)| i128::from(a.x.0) * i128::from(b.y.0) - i128::from(b.x.0) * i128::from(a.y.0))
            .sum()
    }

    fn circle(n: usize, radius: f64, x: f64, clockwise: bool) -> Vec<Point> {
        let turn = if clockwise { -1.0 } else { 1.0 };
        (0..n)
            .map(|i| {
                let a = turn * i as f64 / n as f64 * std::f64::consts::TAU;
                Point::um(x + radius * a.cos(), radius * a.sin())
            })
            .collect()
    }

    fn covers(polygon: &Polygon, most: usize, joint: Joint) -> usize {
        let rings = without_holes(polygon, most, joint).unwrap();
        let expected = twice_area(&polygon.outer) + polygon.holes.iter().map(|h| twice_area(h)).sum::<i128>();
        assert_eq!(rings.iter().map(|r| twice_area(r)).sum::<i128>(), expected);
        for ring in &rings {
            assert!(twice_area(ring) > 0 && ring.len() <= most);
            if joint == Joint::Simple {
                let corners: std::collections::BTreeSet<_> = ring.iter().collect();
                assert_eq!(corners.len(), ring.len());
            }
        }
        rings.len()
    }

    #[test]
    fn a_plate_with_two_holes_stays_one_ring_that_touches_itself() {
        let polygon = Polygon {
            outer: circle(64, 500.0, 0.0, false),
            holes: vec![circle(32, 100.0, -200.0, true), circle(17, 90.0, 200.0, true)],
        };
        assert_eq!(covers(&polygon, 8000, Joint::MayTouchItself), 1);
        assert!(covers(&polygon, 8000, Joint::Simple) > 1);
        assert!(covers(&polygon, 20, Joint::MayTouchItself) > 6);
    }

    #[test]
    fn holes_that_touch_the_outer_ring_or_each_other_are_cut_exactly() {
        let square = |x: i64, y: i64, side: i64| {
            vec![
                Point::new(Nm(x), Nm(y)),
                Point::new(Nm(x), Nm(y + side)),
                Point::new(Nm(x + side), Nm(y + side)),
                Point::new(Nm(x + side), Nm(y)),
            ]
        };
        let mut outer = square(0, 0, 100);
        outer.reverse();
        // The first shares a corner with the outer ring, the second an edge with the third, the last touches an
        // edge of the outer ring with a corner.
        let tip = [(100, 30), (80, 10), (80, 50)].map(|(x, y)| Point::new(Nm(x), Nm(y))).to_vec();
        let polygon =
            Polygon { outer, holes: vec![square(0, 0, 10), square(40, 40, 10), square(50, 40, 10), tip] };
        covers(&polygon, 8000, Joint::MayTouchItself);
        covers(&polygon, 8000, Joint::Simple);
    }

    #[test]
    fn a_polygon_of_ten_thousand_corners_is_split() {
        let rings = covers(&Polygon::new(circle(10_000, 5000.0, 0.0, false)), 8000, Joint::MayTouchItself);
        assert!((2..=3).contains(&rings), "{rings} rings");
    }

    #[test]
    fn crossing_edges_are_named_and_flat_polygons_too() {
        let bow_tie = [(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)].map(|(x, y)| Point::um(x, y));
        assert_eq!(
            without_holes(&Polygon::new(bow_tie.to_vec()), 8000, Joint::Simple).unwrap_err().code,
            "polygon-crosses"
        );
        let flat = [(0.0, 0.0), (10.0, 10.0), (20.0, 20.0)].map(|(x, y)| Point::um(x, y));
        assert_eq!(
            without_holes(&Polygon::new(flat.to_vec()), 8000, Joint::Simple).unwrap_err().code,
            "polygon-empty"
        );
    }
}
