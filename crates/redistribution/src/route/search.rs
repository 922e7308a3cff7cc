//! The search for one wire's way through the sketch.
//!
//! States are gaps of mesh edges; from a gap the wire may go to the other gaps of the same face, or to a corner
//! that the face touches. The cost is the length of the taut string through the gaps so far (a funnel kept in each
//! state: apex, left and right corner), so the search sees any-angle lengths instead of hops: the idea of Cui,
//! Harabor and Grastien (IJCAI 2017) on a mesh whose edges are the gaps between wires, with one state kept a gap.
//! On top come prices: for a gap without room, and for stepping across another wire, which must then be moved.

use super::mesh::NONE;
use super::plane::{P2, along, distance, orient, sub};
use super::sketch::Sketch;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Prices that the negotiation sets.
pub struct Prices<'a> {
    /// Price of stepping across a wire, nm; infinite where it must not be.
    pub across: &'a [f64],
    /// Factor on the overflow price of each edge, grown while it stays too full.
    pub edge: &'a [f64],
    /// Price of one wire too many in a gap, nm.
    pub overflow: f64,
    /// Vertices beyond this many states are not tried.
    pub limit: usize,
}

/// A way found.
#[derive(Debug, Clone)]
pub struct Way {
    /// First terminal.
    pub start: u32,
    /// Edge, gap (before anything is taken out), triangle gone into.
    pub steps: Vec<(u32, u16, u32)>,
    /// Last terminal.
    pub end: u32,
    /// Wires stepped across, in order along the way.
    pub across: Vec<u32>,
    /// Lower estimate of its length, nm, without prices.
    pub length: f64,
}

struct Node {
    edge: u32,
    gap: u16,
    to: u32,
    /// Length up to the apex, and prices.
    length: f64,
    price: f64,
    apex: P2,
    left: P2,
    right: P2,
    parent: u32,
    start: u32,
    stepped: u32,
    /// The start is left across the wires around its corner.
    shut: bool,
    /// Triangle that the start lies in as the way leaves it.
    first: u32,
}

struct Entry {
    f: f64,
    node: u32,
    /// Target vertex for entries that end the search.
    target: u32,
    /// The target is reached across the wires around its corner.
    shut: bool,
}
impl PartialEq for Entry {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Entry {}
impl PartialOrd for Entry {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Entry {
    fn cmp(&self, other: &Self) -> Ordering {
        other.f.total_cmp(&self.f).then(self.node.cmp(&other.node))
    }
}

/// Working memory, kept between searches.
#[derive(Default)]
pub struct Search {
    stamp: u32,
    seen: Vec<Vec<u32>>,
    nodes: Vec<Node>,
    heap: BinaryHeap<Entry>,
    /// States taken up in all searches, for benches.
    pub expanded: u64,
}

impl Search {
    /// The cheapest way of `wire` from any of `starts` to any of `targets` (vertices).
    pub fn find(
        &mut self,
        s: &Sketch,
        wire: u32,
        starts: &[u32],
        targets: &[u32],
        prices: &Prices,
    ) -> Option<Way> {
        self.stamp += 1;
        self.seen.resize(s.mesh.edges.len(), Vec::new());
        self.nodes.clear();
        self.heap.clear();
        let goal: Vec<(u32, P2)> = targets.iter().map(|&v| (v, s.mesh.vertices[v as usize].p)).collect();
        let mut best_direct: Option<Way> = None;
        for &v in starts {
            if let Some(way) = self.begin(s, wire, v, &goal, prices)
                && best_direct
                    .as_ref()
                    .is_none_or(|b| price_of(&way, prices) + way.length < price_of(b, prices) + b.length)
            {
                best_direct = Some(way);
            }
        }
        let bound = best_direct.as_ref().map_or(f64::INFINITY, |w| w.length + price_of(w, prices));
        let mut taken = 0;
        while let Some(Entry { f, node, target, shut }) = self.heap.pop() {
            if f >= bound {
                break;
            }
            if target != NONE {
                return Some(self.trace(s, node, target, shut, f));
            }
            let (edge, gap) = (self.nodes[node as usize].edge, self.nodes[node as usize].gap);
            if !self.visit(s, edge, gap) {
                continue;
            }
            taken += 1;
            self.expanded += 1;
            if taken > prices.limit {
                break;
            }
            self.expand(s, wire, node, &goal, prices);
        }
        best_direct
    }

    fn visit(&mut self, s: &Sketch, edge: u32, gap: u16) -> bool {
        let list = &mut self.seen[edge as usize];
        if list.len() < s.gaps(edge) as usize {
            list.resize(s.gaps(edge) as usize, 0);
        }
        let fresh = list[gap as usize] != self.stamp;
        list[gap as usize] = self.stamp;
        fresh
    }

    fn seen(&self, edge: u32, gap: u16) -> bool {
        self.seen[edge as usize].get(gap as usize) == Some(&self.stamp)
    }

    /// Opens the search at a vertex: out through the opposite side of every triangle around it, or straight
    /// along an edge when the other end is a target.
    fn begin(&mut self, s: &Sketch, wire: u32, v: u32, goal: &[(u32, P2)], prices: &Prices) -> Option<Way> {
        let p = s.mesh.vertices[v as usize].p;
        let mut direct: Option<Way> = None;
        for &(t, k) in &s.mesh.around[v as usize] {
            let corners = s.mesh.corners[t as usize];
            // Straight along an edge, stepping across what crosses it; never along a keep-out or the outline.
            for j in [(k + 1) % 3, (k + 2) % 3] {
                let other = corners[j as usize];
                let Some(&(target, q)) = goal.iter().find(|g| g.0 == other) else { continue };
                let e = s.edge_between(v, other);
                if s.mesh.edges[e as usize].blocked {
                    continue;
                }
                let across: Vec<u32> =
                    s.order[e as usize].iter().map(|&c| s.crossings[c as usize].wire).collect();
                let way = Way { start: v, steps: vec![], end: target, across, length: distance(p, q) };
                let cost = way.length + price_of(&way, prices);
                if cost.is_finite() && direct.as_ref().is_none_or(|d| d.length + price_of(d, prices) > cost) {
                    direct = Some(way);
                }
            }
            let faces = s.faces(t);
            let chords = s.chords(t, k as usize);
            let outside = outside_chords(&faces, k as usize, chords.len());
            for face in 0..faces.gaps.len() {
                let touches = faces.corners[face] & (1 << k) != 0;
                // Shut in by wires around this corner: out across all of them.
                let shut = !chords.is_empty() && outside == Some(face);
                if !touches && !shut {
                    continue;
                }
                let price: f64 =
                    if touches { 0.0 } else { chords.iter().map(|&w| prices.across[w as usize]).sum() };
                if !price.is_finite() {
                    continue;
                }
                let side = ((k + 1) % 3) as usize;
                let gap = faces.gaps[face][side];
                if gap == u16::MAX {
                    continue;
                }
                let root = Node {
                    edge: NONE,
                    gap: 0,
                    to: t,
                    length: 0.0,
                    price,
                    apex: p,
                    left: p,
                    right: p,
                    parent: NONE,
                    start: v,
                    stepped: NONE,
                    shut: !touches,
                    first: t,
                };
                self.push(s, wire, &root, NONE, t, side, gap, goal, prices);
            }
        }
        direct
    }

    fn expand(&mut self, s: &Sketch, wire: u32, at: u32, goal: &[(u32, P2)], prices: &Prices) {
        let n = &self.nodes[at as usize];
        let (edge, gap, t) = (n.edge, n.gap, n.to);
        let corners = s.mesh.corners[t as usize];
        let sides = s.mesh.sides[t as usize];
        let Some(side) = sides.iter().position(|&e| e == edge) else { return };
        let count = s.order[edge as usize].len() as u16;
        let flipped = s.mesh.edges[edge as usize].v[0] != corners[side];
        let local = if flipped { count - gap } else { gap };
        let faces = s.faces(t);
        let face = faces.of_gap[side][local as usize] as usize;
        // Only the apex: an end of the edge just crossed was in reach before the crossing.
        let apex = (side + 2) % 3;
        if let Some(&(v, q)) = goal.iter().find(|g| g.0 == corners[apex]) {
            let n = &self.nodes[at as usize];
            let f = n.length + n.price + through(n.apex, n.left, n.right, q);
            if faces.corners[face] & (1 << apex) != 0 {
                self.heap.push(Entry { f, node: at, target: v, shut: false });
            } else {
                let chords = s.chords(t, apex);
                if outside_chords(&faces, apex, chords.len()) == Some(face) {
                    let f = f + chords.iter().map(|&w| prices.across[w as usize]).sum::<f64>();
                    if f.is_finite() {
                        self.heap.push(Entry { f, node: at, target: v, shut: true });
                    }
                }
            }
        }
        let from = self.copy(at);
        // Back in the first triangle, the first piece of the way is a wall too.
        let opposite = (0..3).find(|&k| corners[(k + 2) % 3] == from.start).filter(|_| t == from.first);
        for k in 0..3 {
            if opposite.is_some_and(|o| side != o && k != o) {
                continue;
            }
            if k != side && faces.gaps[face][k] != u16::MAX {
                self.push(s, wire, &from, at, t, k, faces.gaps[face][k], goal, prices);
            }
        }
        drop(faces);
        // Step across the neighbouring wires on this edge.
        for (next, crossing) in [(gap.wrapping_sub(1), gap.wrapping_sub(1)), (gap + 1, gap)] {
            let Some(&c) = s.order[edge as usize].get(crossing as usize) else { continue };
            let other = s.crossings[c as usize].wire;
            let price = prices.across[other as usize];
            if !price.is_finite() || self.seen(edge, next) {
                continue;
            }
            let (lo, hi) = interval(s, wire, edge, next);
            let (left, right) = ends(s, edge, t, lo, hi);
            let mut node = self.copy(at);
            node.gap = next;
            node.price += price;
            node.parent = at;
            node.stepped = other;
            narrow(&mut node, left, right);
            self.add(node, goal);
        }
    }

    fn copy(&self, at: u32) -> Node {
        let n = &self.nodes[at as usize];
        Node { ..*n }
    }

    /// Goes from `from` (in triangle `t`) out through side `k` at local gap `gap`.
    #[allow(clippy::too_many_arguments)]
    fn push(
        &mut self,
        s: &Sketch,
        wire: u32,
        from: &Node,
        parent: u32,
        t: u32,
        k: usize,
        gap: u16,
        goal: &[(u32, P2)],
        prices: &Prices,
    ) {
        let edge = s.mesh.sides[t as usize][k];
        let e = &s.mesh.edges[edge as usize];
        if e.blocked {
            return;
        }
        let to = s.mesh.across(t, edge);
        let count = s.order[edge as usize].len() as u16;
        let gap = if e.v[0] != s.mesh.corners[t as usize][k] { count - gap } else { gap };
        if self.seen(edge, gap) {
            return;
        }
        let mut price = from.price;
        for &w in &s.on_edge[edge as usize] {
            price += prices.across[w as usize];
        }
        if !price.is_finite() {
            return;
        }
        let pitch = s.wires[wire as usize].width + s.space;
        let over = s.used(edge) + pitch - s.room(edge);
        if over > 1e-3 {
            price += prices.overflow * prices.edge[edge as usize] * (1.0 + over / pitch);
        }
        let (lo, hi) = interval(s, wire, edge, gap);
        let (left, right) = ends(s, edge, to, lo, hi);
        let mut node = Node { edge, gap, to, price, parent, stepped: NONE, ..*from };
        if parent == NONE {
            (node.left, node.right) = (left, right);
        } else {
            narrow(&mut node, left, right);
        }
        self.add(node, goal);
    }

    fn add(&mut self, node: Node, goal: &[(u32, P2)]) {
        let h = goal
            .iter()
            .map(|&(_, q)| through(node.apex, node.left, node.right, q))
            .fold(f64::INFINITY, f64::min);
        let f = node.length + node.price + h;
        self.heap.push(Entry { f, node: self.nodes.len() as u32, target: NONE, shut: false });
        self.nodes.push(node);
    }

    fn trace(&self, s: &Sketch, node: u32, target: u32, shut: bool, f: f64) -> Way {
        let (mut steps, mut across) = (Vec::new(), Vec::new());
        let mut at = node;
        let start = self.nodes[node as usize].start;
        let around = |t: u32, v: u32| {
            let corner = s.mesh.corners[t as usize].iter().position(|&c| c == v).unwrap_or(0);
            s.chords(t, corner)
        };
        if shut {
            across.extend(around(self.nodes[node as usize].to, target));
        }
        let mut skip = false;
        while at != NONE {
            let n = &self.nodes[at as usize];
            if n.parent == NONE && n.shut {
                across.extend(around(s.mesh.across(n.to, n.edge), start).into_iter().rev());
            }
            // A step across keeps the edge: only the last of a run of states on one edge is a crossing of it.
            if !skip {
                steps.push((n.edge, n.gap, n.to));
            }
            skip = n.stepped != NONE;
            if skip {
                across.push(n.stepped);
            }
            at = n.parent;
        }
        steps.reverse();
        across.reverse();
        let price = self.nodes[node as usize].price;
        Way { start, steps, end: target, across, length: f - price }
    }
}

fn price_of(way: &Way, prices: &Prices) -> f64 {
    way.across.iter().map(|&w| prices.across[w as usize]).sum()
}

/// Room for the centre of `wire` in a gap: distances from `v[0]` along the edge.
fn interval(s: &Sketch, wire: u32, edge: u32, gap: u16) -> (f64, f64) {
    let e = &s.mesh.edges[edge as usize];
    let [a, b] = e.v.map(|v| s.mesh.vertices[v as usize]);
    let half = s.wires[wire as usize].width / 2.0;
    let (mut lo, mut hi) = (a.radius + a.gap + half, e.length - b.radius - b.gap - half);
    for (i, &c) in s.order[edge as usize].iter().enumerate() {
        let pitch = s.wires[s.crossings[c as usize].wire as usize].width + s.space;
        if i < gap as usize {
            lo += pitch;
        } else {
            hi -= pitch;
        }
    }
    if lo > hi {
        let mid = ((lo + hi) / 2.0).clamp(0.0, e.length);
        (lo, hi) = (mid, mid);
    }
    (lo.clamp(0.0, e.length), hi.clamp(0.0, e.length))
}

/// The two ends of an interval as seen when going into triangle `to`: left, right.
fn ends(s: &Sketch, edge: u32, to: u32, lo: f64, hi: f64) -> (P2, P2) {
    let e = &s.mesh.edges[edge as usize];
    let [a, b] = e.v.map(|v| s.mesh.vertices[v as usize].p);
    let d = sub(b, a);
    let (p, q) = (along(a, d, lo / e.length), along(a, d, hi / e.length));
    // tri[0] lies to the left of a -> b; going into it, a is on the left hand.
    if e.tri[0] == to { (p, q) } else { (q, p) }
}

/// Pulls the funnel of `node` through the next portal.
fn narrow(node: &mut Node, left: P2, right: P2) {
    if orient(node.apex, node.right, left) < 0.0 {
        node.length += distance(node.apex, node.right);
        node.apex = node.right;
        (node.left, node.right) = (left, right);
    } else if orient(node.apex, node.left, right) > 0.0 {
        node.length += distance(node.apex, node.left);
        node.apex = node.left;
        (node.left, node.right) = (left, right);
    } else {
        if orient(node.apex, node.left, left) <= 0.0 {
            node.left = left;
        }
        if orient(node.apex, node.right, right) >= 0.0 {
            node.right = right;
        }
    }
}

/// Length from the apex through the funnel's mouth to a point.
fn through(apex: P2, left: P2, right: P2, q: P2) -> f64 {
    if orient(apex, left, q) > 0.0 {
        distance(apex, left) + distance(left, q)
    } else if orient(apex, right, q) < 0.0 {
        distance(apex, right) + distance(right, q)
    } else {
        distance(apex, q)
    }
}

/// The face just outside the `count` wires that turn around corner `k`.
fn outside_chords(faces: &super::sketch::Faces, k: usize, count: usize) -> Option<usize> {
    faces.of_gap[k].get(count).map(|&f| f as usize)
}
