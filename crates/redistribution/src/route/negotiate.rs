//! One layer routed: wires compete for gaps until every gap has room, then are pulled taut.
//!
//! Negotiated congestion (McMurchie and Ebeling 1995) on the topological sketch: a wire may step across another at a
//! price that grows each time the other is displaced, and gaps that stay too full grow dearer. A wire that was stepped
//! across is routed again; where both may end at either's bump they exchange bumps instead, which undoes the
//! crossing for nothing. Discs that overlap when the wires are pulled taut show cuts that no mesh edge stands for;
//! the edges beside them become dearer, and the negotiation goes on.

use super::clearance::{Too, arc_box, lessons, shortages};
use super::mesh::{Mesh, NONE};
use super::plane::{distance, nearest_on_segment};
use super::search::{Prices, Search, Way};
use super::sketch::{Sketch, Wire};
use super::taut::{Course, Disc, Pinch, discs_of, taut};
use rayon::prelude::*;
use std::collections::VecDeque;

/// Terminals that must become one piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    /// Net number.
    pub net: u32,
    /// Mesh vertices; pads first.
    pub vertices: Vec<u32>,
    /// Trace width, nm.
    pub width: f64,
    /// Trees of one class (not [`NONE`]) with one pad and one bump may exchange bumps.
    pub class: u32,
}

/// Limits and prices of the negotiation.
#[derive(Debug, Clone, Copy)]
pub struct Effort {
    /// Most times that a wire is routed, on average.
    pub routings_per_wire: usize,
    /// Rounds of relieving full gaps.
    pub relief_rounds: usize,
    /// Rounds of learning discs when pulling taut.
    pub taut_rounds: usize,
}

impl Default for Effort {
    fn default() -> Self {
        Effort { routings_per_wire: 60, relief_rounds: 40, taut_rounds: 14 }
    }
}

/// The layer as routed.
pub struct Routed {
    /// The sketch.
    pub sketch: Sketch,
    /// Course of each wire; `None` where it is not routed or does not fit.
    pub courses: Vec<Option<Course>>,
    /// Tree of each wire.
    pub tree_of: Vec<u32>,
    /// Trees, with the bumps that they hold after exchanges.
    pub trees: Vec<Tree>,
    /// Edges that stay too full, with their use over their room.
    pub full: Vec<(u32, f64)>,
    /// Places where taut wires do not fit.
    pub pinches: Vec<Pinch>,
    /// Room still missing between wires after pulling taut, nm, with the two wires.
    pub missing: Vec<(u32, u32, f64)>,
    /// States taken up in all searches.
    pub expanded: u64,
    /// For each wire without a course for want of a way: its tree and the trees that it would have to cross.
    pub blocked: Vec<(u32, Vec<u32>)>,
}

struct Table<'a> {
    sketch: Sketch,
    trees: Vec<Tree>,
    tree_of: Vec<u32>,
    wires_of: Vec<Vec<u32>>,
    search: Search,
    across: Vec<f64>,
    displaced: Vec<u32>,
    edge_price: Vec<f64>,
    pitch: f64,
    budget: usize,
    go_on: &'a mut dyn FnMut(f64) -> bool,
}

/// Routes `trees` over `mesh`. `go_on` is told the share done and may stop the work.
pub fn route(
    mesh: Mesh,
    trees: Vec<Tree>,
    space: f64,
    effort: Effort,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Routed {
    let mut wires = Vec::new();
    let mut tree_of = Vec::new();
    let mut wires_of = Vec::new();
    for (t, tree) in trees.iter().enumerate() {
        let mut mine = Vec::new();
        for _ in 1..tree.vertices.len() {
            mine.push(wires.len() as u32);
            tree_of.push(t as u32);
            wires.push(Wire {
                net: tree.net,
                width: tree.width,
                ends: [NONE; 2],
                crossings: vec![],
                direct: NONE,
                routed: false,
            });
        }
        wires_of.push(mine);
    }
    let n = wires.len();
    let widest = trees.iter().map(|t| t.width).fold(0.0, f64::max);
    let edges = mesh.edges.len();
    let mut table = Table {
        sketch: Sketch::new(mesh, wires, space),
        trees,
        tree_of,
        wires_of,
        search: Search::default(),
        across: vec![0.0; n],
        displaced: vec![0; n],
        edge_price: vec![1.0; edges],
        pitch: widest + space,
        budget: effort.routings_per_wire * n + 200,
        go_on,
    };
    table.route_all();
    table.relieve(effort.relief_rounds);
    let mut best: Option<Routed> = None;
    for round in 0..6 {
        let (courses, pinches, missing) = table.pull_taut(effort.taut_rounds);
        let full = table.full();
        let done = pinches.is_empty() && missing.is_empty() && courses.iter().all(Option::is_some);
        let score = |r: &Routed| r.courses.iter().filter(|c| c.is_none()).count() + r.missing.len();
        let now = Routed {
            sketch: table.snapshot(),
            courses,
            tree_of: table.tree_of.clone(),
            trees: table.trees.clone(),
            full,
            pinches: pinches.clone(),
            missing,
            expanded: table.search.expanded,
            blocked: table.blocked(),
        };
        if best.as_ref().is_none_or(|b| score(&now) < score(b)) {
            best = Some(now);
        }
        if done || round == 5 || !(table.go_on)(0.5 + 0.08 * round as f64) {
            break;
        }
        table.learn(&pinches);
        table.relieve(effort.relief_rounds);
    }
    match best {
        Some(mut b) => {
            sweep(&mut b);
            b
        }
        None => unreachable!("the first round always gives a result"),
    }
}

/// Takes back the courses of wires that come too near to others or to foreign terminals, so that what is drawn is
/// right and what is missing is reported as open. Of two wires the one with more faults goes.
fn sweep(r: &mut Routed) {
    let s = &r.sketch;
    let width: Vec<f64> = s.wires.iter().map(|w| w.width).collect();
    let mut owner = vec![NONE; s.mesh.vertices.len()];
    for (t, tree) in r.trees.iter().enumerate() {
        tree.vertices.iter().for_each(|&v| owner[v as usize] = t as u32);
    }
    let discs: Vec<_> = s
        .mesh
        .vertices
        .iter()
        .zip(&owner)
        .filter(|(v, _)| v.radius > 0.0)
        .map(|(v, &t)| (v.p, v.radius + v.gap, t))
        .collect();
    let widest = width.iter().copied().fold(0.0, f64::max);
    let cell = 4.0 * (widest + s.space);
    let mut faults = shortages(&r.courses, &r.tree_of, &width, s.space, &discs, cell);
    r.missing.clear();
    while !faults.is_empty() {
        let mut count = vec![0usize; width.len()];
        for &(w, too) in &faults {
            match too {
                // A wire over a foreign terminal is wrong whatever else goes.
                Too::Terminal => count[w as usize] += faults.len(),
                Too::Wire(o) => {
                    count[w as usize] += 1;
                    count[o as usize] += 1;
                }
            }
        }
        let Some(worst) = (0..count.len()).max_by_key(|&w| (count[w], w)) else { return };
        r.courses[worst] = None;
        let gone = worst as u32;
        faults.retain(|&(w, too)| w != gone && too != Too::Wire(gone));
    }
}

impl Table<'_> {
    fn snapshot(&self) -> Sketch {
        self.sketch.copy()
    }

    /// Routes every wire, short ones first, and those that were stepped across again.
    fn route_all(&mut self) {
        let mesh = &self.sketch.mesh;
        let mut order: Vec<(bool, f64, u32)> = Vec::new();
        for (t, tree) in self.trees.iter().enumerate() {
            let p = |v: u32| mesh.vertices[v as usize].p;
            for &w in &self.wires_of[t] {
                let far = tree.vertices.windows(2).map(|v| distance(p(v[0]), p(v[1]))).fold(0.0, f64::max);
                order.push((tree.vertices.len() > 2, far, w));
            }
        }
        order.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
        let total = order.len().max(1);
        let queue: VecDeque<u32> = order.into_iter().map(|o| o.2).collect();
        self.work_off(queue, total);
    }

    fn work_off(&mut self, mut queue: VecDeque<u32>, total: usize) {
        let mut done = 0usize;
        while let Some(w) = queue.pop_front() {
            if self.sketch.wires[w as usize].routed {
                continue;
            }
            if self.budget == 0 {
                return;
            }
            self.budget -= 1;
            done += 1;
            if done.is_multiple_of(64) && !(self.go_on)(0.4 * (done.min(total) as f64) / total as f64) {
                return;
            }
            for r in self.place(w) {
                queue.push_back(r);
            }
        }
    }

    /// Routes one wire; returns the wires that it displaced.
    fn place(&mut self, w: u32) -> Vec<u32> {
        let Some(way) = self.way(w) else { return vec![] };
        let mut out: Vec<u32> = Vec::new();
        for &m in &way.across {
            if !out.contains(&m) {
                out.push(m);
            }
        }
        for (&(e, _, _), _) in way.steps.iter().zip(0..) {
            for &m in &self.sketch.on_edge[e as usize] {
                if !out.contains(&m) {
                    out.push(m);
                }
            }
        }
        if out.is_empty() {
            self.put(w, &way, &way.steps);
            return out;
        }
        let steps = self.without(&way.steps, &out);
        for &m in &out {
            self.sketch.remove(m);
            self.displaced[m as usize] += 1;
        }
        let t = self.tree_of[w as usize] as usize;
        let class = self.trees[t].class;
        let exchange = class != NONE
            && out.iter().all(|&m| self.trees[self.tree_of[m as usize] as usize].class == class);
        if exchange {
            // Tails change hands along the way: w takes the bump of the first wire that it meets, and so on.
            let mine = self.trees[t].vertices[1];
            let mut holder = t;
            for &m in &out {
                let other = self.tree_of[m as usize] as usize;
                self.trees[holder].vertices[1] = self.trees[other].vertices[1];
                holder = other;
            }
            self.trees[holder].vertices[1] = mine;
            let mut all = vec![w];
            all.extend(out);
            return all;
        }
        self.put(w, &way, &steps);
        out
    }

    /// Puts a wire in; a way that crosses itself is taken out again and the wire left open.
    fn put(&mut self, w: u32, way: &Way, steps: &[(u32, u16, u32)]) {
        self.sketch.insert(w, way.start, steps, way.end);
        if !self.sketch.is_simple(w) {
            self.sketch.remove(w);
        }
    }

    /// Gap numbers once the wires in `out` are gone.
    fn without(&self, steps: &[(u32, u16, u32)], out: &[u32]) -> Vec<(u32, u16, u32)> {
        steps
            .iter()
            .map(|&(e, gap, to)| {
                let before = self.sketch.order[e as usize][..gap as usize]
                    .iter()
                    .filter(|&&c| !out.contains(&self.sketch.crossings[c as usize].wire))
                    .count();
                (e, before as u16, to)
            })
            .collect()
    }

    fn way(&mut self, w: u32) -> Option<Way> {
        let t = self.tree_of[w as usize] as usize;
        let (starts, targets) = self.parts(t);
        if starts.is_empty() || targets.is_empty() {
            return None;
        }
        let class = self.trees[t].class;
        for (m, price) in self.across.iter_mut().enumerate() {
            let other = self.tree_of[m] as usize;
            let d = f64::from(self.displaced[m]);
            *price = if other == t {
                f64::INFINITY
            } else if class != NONE && self.trees[other].class == class {
                self.pitch * (0.3 + 0.2 * d)
            } else {
                self.pitch * (3.0 + 2.0 * d)
            };
        }
        let prices = Prices {
            across: &self.across,
            edge: &self.edge_price,
            overflow: 2.0 * self.pitch,
            limit: 200_000,
        };
        self.search.find(&self.sketch, w, &starts, &targets, &prices)
    }

    /// What the wires that found no way would have to cross.
    fn blocked(&mut self) -> Vec<(u32, Vec<u32>)> {
        let open: Vec<u32> =
            (0..self.sketch.wires.len() as u32).filter(|&w| !self.sketch.wires[w as usize].routed).collect();
        let mut found = Vec::new();
        for w in open {
            let Some(way) = self.way(w) else { continue };
            let on_edges = way.steps.iter().flat_map(|s| self.sketch.on_edge[s.0 as usize].iter());
            let mut trees: Vec<u32> =
                way.across.iter().chain(on_edges).map(|&m| self.tree_of[m as usize]).collect();
            trees.sort_unstable();
            trees.dedup();
            found.push((self.tree_of[w as usize], trees));
        }
        found
    }

    /// The piece of a tree that holds its first terminal, and its other terminals.
    fn parts(&self, t: usize) -> (Vec<u32>, Vec<u32>) {
        let tree = &self.trees[t];
        let mut inside = vec![tree.vertices[0]];
        let mut grown = true;
        while grown {
            grown = false;
            for &w in &self.wires_of[t] {
                let wire = &self.sketch.wires[w as usize];
                if !wire.routed {
                    continue;
                }
                let [a, b] = wire.ends;
                match (inside.contains(&a), inside.contains(&b)) {
                    (true, false) => inside.push(b),
                    (false, true) => inside.push(a),
                    _ => continue,
                }
                grown = true;
            }
        }
        let outside = tree.vertices.iter().copied().filter(|v| !inside.contains(v)).collect();
        (inside, outside)
    }

    /// Edges with more in them than they have room for.
    fn full(&self) -> Vec<(u32, f64)> {
        (0..self.sketch.mesh.edges.len() as u32)
            .filter(|&e| !self.sketch.order[e as usize].is_empty())
            .map(|e| (e, self.sketch.used(e) - self.sketch.room(e)))
            .filter(|&(_, over)| over > 1e-3)
            .collect()
    }

    /// Reroutes wires through full gaps until none is full or the rounds are over.
    fn relieve(&mut self, rounds: usize) {
        for _ in 0..rounds {
            let mut full = self.full();
            if full.is_empty() {
                return;
            }
            full.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
            for &(e, _) in &full {
                self.edge_price[e as usize] += 1.0;
            }
            for (e, _) in full {
                let wires: Vec<u32> = self.sketch.order[e as usize]
                    .iter()
                    .map(|&c| self.sketch.crossings[c as usize].wire)
                    .collect();
                let n = wires.len();
                // From the ends of the row inwards: those next to a vertex can leave without crossing another.
                for k in 0..n {
                    let w = wires[if k % 2 == 0 { k / 2 } else { n - 1 - k / 2 }];
                    if self.sketch.used(e) - self.sketch.room(e) <= 1e-3 {
                        break;
                    }
                    self.again(w);
                }
            }
            if self.budget == 0 {
                return;
            }
        }
    }

    fn again(&mut self, w: u32) {
        if self.budget == 0 || !self.sketch.wires[w as usize].routed {
            return;
        }
        self.sketch.remove(w);
        self.work_off(VecDeque::from([w]), usize::MAX);
    }

    /// Raises the price of the edges at pinches.
    fn learn(&mut self, pinches: &[Pinch]) {
        for p in pinches {
            for v in p.vertices {
                if v == NONE {
                    continue;
                }
                for &(t, _) in &self.sketch.mesh.around[v as usize] {
                    for e in self.sketch.mesh.sides[t as usize] {
                        let [a, b] = self.sketch.mesh.edges[e as usize].v;
                        let q = [a, b].map(|x| self.sketch.mesh.vertices[x as usize].p);
                        if nearest_on_segment(q[0], q[1], p.at).1 < 2.0 * self.pitch {
                            self.edge_price[e as usize] += 0.5;
                        }
                    }
                }
            }
        }
    }

    /// Courses of all wires, discs learnt until all are clear of each other.
    #[allow(clippy::type_complexity)]
    fn pull_taut(&mut self, rounds: usize) -> (Vec<Option<Course>>, Vec<Pinch>, Vec<(u32, u32, f64)>) {
        let n = self.sketch.wires.len();
        let mut discs: Vec<Vec<Disc>> = (0..n as u32).map(|w| discs_of(&self.sketch, w)).collect();
        let mut courses: Vec<Option<Course>> = vec![None; n];
        let mut pinched: Vec<Option<Pinch>> = vec![None; n];
        let mut stale: Vec<u32> = (0..n as u32).collect();
        let width: Vec<f64> = self.sketch.wires.iter().map(|w| w.width).collect();
        let cell = 6.0 * self.pitch;
        let mut missing = Vec::new();
        for round in 0..=rounds {
            let (wires, mesh) = (&self.sketch.wires, &self.sketch.mesh);
            let pulled: Vec<_> = stale
                .par_iter()
                .filter(|&&w| wires[w as usize].routed)
                .map(|&w| {
                    let wire = &wires[w as usize];
                    let [a, b] = wire.ends.map(|v| mesh.vertices[v as usize].p);
                    (w as usize, taut(a, b, &discs[w as usize], wire.crossings.len()))
                })
                .collect();
            for (w, course) in pulled {
                match course {
                    Ok(c) => {
                        courses[w] = Some(c);
                        pinched[w] = None;
                    }
                    // The last course that fitted stays; what it still lacks is reported below.
                    Err(p) => pinched[w] = Some(p),
                }
            }
            let found = lessons(&courses, &self.tree_of, &width, self.sketch.space, cell);
            missing = found.iter().map(|l| (l.other, l.wire, l.missing)).collect();
            if found.is_empty() || round == rounds {
                break;
            }
            stale.clear();
            for l in found {
                let mut disc = l.disc;
                disc.span = self.place_of(l.wire, &disc);
                let mine = &mut discs[l.wire as usize];
                match mine.iter_mut().find(|d| {
                    d.centre == disc.centre
                        && d.side == disc.side
                        && d.span[0] <= disc.span[1]
                        && disc.span[0] <= d.span[1]
                }) {
                    Some(d) => {
                        if d.radius + 1e-6 < disc.radius {
                            d.radius = disc.radius;
                        } else {
                            // Known already, yet intruded upon: the string passes outside its span.
                            d.span = [d.span[0].min(disc.span[0]) - 1.0, d.span[1].max(disc.span[1]) + 1.0];
                        }
                    }
                    None => mine.push(disc),
                }
                stale.push(l.wire);
            }
            stale.sort_unstable();
            stale.dedup();
        }
        for w in 0..n {
            if let (None, Some(c)) = (&pinched[w], &courses[w]) {
                pinched[w] = self.outside(c, width[w] / 2.0);
            }
            if pinched[w].is_some() {
                courses[w] = None;
            }
        }
        (courses, pinched.into_iter().flatten().collect(), missing)
    }

    /// Where a course leaves the rectangle that metal may fill: discs push it there when a bundle is too wide.
    fn outside(&self, course: &Course, half: f64) -> Option<Pinch> {
        let (low, high) = (self.sketch.mesh.low, self.sketch.mesh.high);
        course.arcs.iter().find_map(|a| {
            let (lo, hi) = arc_box(a, half - 0.5);
            let out = (0..2).any(|k| lo[k] < low[k] || hi[k] > high[k]);
            out.then_some(Pinch { vertices: [a.vertex, NONE], at: a.from })
        })
    }

    /// The crossings of a wire between which a disc lies: those of the edges nearest to its centre.
    fn place_of(&self, wire: u32, disc: &Disc) -> [f64; 2] {
        let w = &self.sketch.wires[wire as usize];
        let mut best = (f64::INFINITY, 0usize);
        for (i, &c) in w.crossings.iter().enumerate() {
            if (i as f64) < disc.span[0] - 1.0 || (i as f64) > disc.span[1] + 1.0 {
                continue;
            }
            let e = self.sketch.mesh.edges[self.sketch.crossings[c as usize].edge as usize];
            let [a, b] = e.v.map(|v| self.sketch.mesh.vertices[v as usize].p);
            let d = nearest_on_segment(a, b, disc.centre).1;
            if d < best.0 {
                best = (d, i);
            }
        }
        [best.1 as f64 - 1.0, best.1 as f64 + 1.0]
    }
}
