//! Where edges lie: the edges of one layer in short runs, the runs of an outline in blocks, with a tree over the blocks.
//!
//! A run is a few edges in sequence that go the same way, right or left and up or down, so it cannot cross itself. Most
//! questions are asked of two runs at once: a box keeps eight edges away from eight others. Long slanted edges fill
//! their box badly; they are cut into pieces, each a run of its own that stands for the whole edge. Outlines are put in the
//! tree along a Morton curve through their middles (G. M. Morton, 1966, from memory), so that neighbours share a box.
//! Building is linear but for the sorting of outlines.

use crate::boxes::{Bounds, BoxTree};
use crate::exact::{Spot, winding_step};

/// Most edges in a run.
const RUN: u32 = 8;
/// Most runs in a block.
const BLOCK: u32 = 8;

/// A few edges in sequence, or a piece of a long one.
#[derive(Clone, Copy)]
struct Run {
    first: u32,
    count: u32,
    /// False for all but the first piece of an edge that was cut.
    leading: bool,
}

/// Edges of closed rings, findable by place. An edge is named by its number; the edges of a ring are numbered
/// in sequence.
pub(crate) struct EdgeIndex {
    /// Start and end of each edge.
    pub(crate) edges: Vec<[Spot; 2]>,
    /// Ring of each edge.
    ring_of: Vec<u32>,
    /// First edge of each ring, and one past the last edge as a closing entry.
    ring_start: Vec<u32>,
    /// Owner (shape, polygon) of each ring.
    owner_of_ring: Vec<u32>,
    runs: Vec<Run>,
    run_bounds: Vec<Bounds>,
    /// Runs of each block; all of one ring.
    blocks: Vec<std::ops::Range<u32>>,
    /// Runs of each ring; rings are in the order of the tree.
    runs_of_ring: Vec<std::ops::Range<u32>>,
    /// The tree over the blocks.
    tree: BoxTree,
    /// Rings in the order of the tree, and the tree over their boxes.
    ring_order: Vec<u32>,
    ring_tree: BoxTree,
    piece: i64,
}

impl EdgeIndex {
    /// The index over rings with their owners. Slanted edges are cut so that the shorter side of a piece's box is
    /// about `piece` grid units.
    pub(crate) fn new(rings: &[(u32, &[Spot])], piece: i64) -> EdgeIndex {
        let count = rings.iter().map(|(_, r)| r.len()).sum();
        let mut edges = Vec::with_capacity(count);
        let mut ring_of = Vec::with_capacity(count);
        let mut ring_start = Vec::with_capacity(rings.len() + 1);
        let mut bounds = Vec::with_capacity(rings.len());
        for (number, (_, ring)) in rings.iter().enumerate() {
            ring_start.push(edges.len() as u32);
            edges.extend(ring.windows(2).map(|w| [w[0], w[1]]));
            if let (Some(first), Some(last)) = (ring.first(), ring.last()) {
                edges.push([*last, *first]);
            }
            ring_of.resize(edges.len(), number as u32);
            bounds.push(Bounds::around(*ring));
        }
        ring_start.push(edges.len() as u32);
        let all = bounds.iter().fold(Bounds::NONE, |all, one| all.with(one));
        let ring_order = along_curve(&bounds, &all);
        let mut index = EdgeIndex {
            edges,
            ring_of,
            ring_start,
            owner_of_ring: rings.iter().map(|r| r.0).collect(),
            runs: Vec::with_capacity(count / 4),
            run_bounds: Vec::with_capacity(count / 4),
            blocks: Vec::new(),
            runs_of_ring: vec![0..0; rings.len()],
            tree: BoxTree::new(Vec::new()),
            ring_tree: BoxTree::new(ring_order.iter().map(|r| bounds[*r as usize]).collect()),
            ring_order: Vec::new(),
            // Not so many pieces that they outgrow the edges by far.
            piece: piece.max(all.extent() / 4096).max(1),
        };
        for ring in &ring_order {
            let first = index.runs.len() as u32;
            index.cut_into_runs(*ring);
            let last = index.runs.len() as u32;
            index.runs_of_ring[*ring as usize] = first..last;
            index
                .blocks
                .extend((first..last).step_by(BLOCK as usize).map(|from| from..(from + BLOCK).min(last)));
        }
        let around = |b: &std::ops::Range<u32>| {
            let runs = &index.run_bounds[b.start as usize..b.end as usize];
            runs.iter().fold(Bounds::NONE, |all, one| all.with(one))
        };
        index.tree = BoxTree::new(index.blocks.iter().map(around).collect());
        index.ring_order = ring_order;
        index
    }

    fn cut_into_runs(&mut self, ring: u32) {
        let mut run = Run { first: 0, count: 0, leading: true };
        let (mut around, mut way) = (Bounds::NONE, [0i64; 2]);
        for edge in self.ring(ring) {
            let [a, b] = self.edges[edge as usize];
            let along = [b[0] - a[0], b[1] - a[1]];
            let own = Bounds::around(&[a, b]);
            let pieces = along[0].abs().min(along[1].abs()) / self.piece + 1;
            let both = around.with(&own);
            let goes_on = run.count > 0
                && run.count < RUN
                && pieces == 1
                && (0..2).all(|k| along[k].signum() * way[k] >= 0)
                && (both.high[0] - both.low[0]).min(both.high[1] - both.low[1]) <= self.piece;
            if goes_on {
                run.count += 1;
                around = both;
            } else {
                if run.count > 0 {
                    self.runs.push(run);
                    self.run_bounds.push(around);
                }
                (run, around, way) = (Run { first: edge, count: 1, leading: true }, own, [0; 2]);
            }
            for k in 0..2 {
                if way[k] == 0 {
                    way[k] = along[k].signum();
                }
            }
            if pieces > 1 {
                let at = |n: i64, k: usize| a[k] + (along[k] as i128 * n as i128 / pieces as i128) as i64;
                for n in 0..pieces {
                    self.runs.push(Run { leading: n == 0, ..run });
                    self.run_bounds
                        .push(Bounds::around(&[[at(n, 0), at(n, 1)], [at(n + 1, 0), at(n + 1, 1)]]).grown(1));
                }
                run.count = 0;
                around = Bounds::NONE;
            }
        }
        if run.count > 0 {
            self.runs.push(run);
            self.run_bounds.push(around);
        }
    }

    /// The owner of an edge.
    pub(crate) fn owner(&self, edge: u32) -> u32 {
        self.owner_of_ring[self.ring_of[edge as usize] as usize]
    }

    /// The edge before, on the same ring.
    pub(crate) fn before(&self, edge: u32) -> u32 {
        let ring = self.ring_of[edge as usize] as usize;
        if edge == self.ring_start[ring] { self.ring_start[ring + 1] - 1 } else { edge - 1 }
    }

    /// The edge after, on the same ring.
    pub(crate) fn after(&self, edge: u32) -> u32 {
        let ring = self.ring_of[edge as usize] as usize;
        if edge + 1 == self.ring_start[ring + 1] { self.ring_start[ring] } else { edge + 1 }
    }

    /// Edge numbers of a ring.
    pub(crate) fn ring(&self, ring: u32) -> std::ops::Range<u32> {
        self.ring_start[ring as usize]..self.ring_start[ring as usize + 1]
    }

    /// Number of rings.
    pub(crate) fn rings(&self) -> u32 {
        self.owner_of_ring.len() as u32
    }

    /// Number of runs.
    pub(crate) fn runs(&self) -> u32 {
        self.runs.len() as u32
    }

    /// Edges of a run.
    pub(crate) fn edges_of(&self, run: u32) -> std::ops::Range<u32> {
        let run = &self.runs[run as usize];
        run.first..run.first + run.count
    }

    /// False for all but the first piece of an edge that was cut.
    pub(crate) fn leads(&self, run: u32) -> bool {
        self.runs[run as usize].leading
    }

    /// Box around a run (around a piece, where it is one).
    pub(crate) fn run_bounds(&self, run: u32) -> Bounds {
        self.run_bounds[run as usize]
    }

    /// Owner of a run's edges.
    pub(crate) fn run_owner(&self, run: u32) -> u32 {
        self.owner(self.runs[run as usize].first)
    }

    /// Box around an edge.
    pub(crate) fn edge_bounds(&self, edge: u32) -> Bounds {
        Bounds::around(&self.edges[edge as usize])
    }

    /// Visits the runs whose box passes `enter`, which must also pass every box around one that it passes.
    pub(crate) fn visit_runs(&self, enter: impl Fn(&Bounds) -> bool, mut visit: impl FnMut(u32)) {
        self.tree.visit(&enter, |block| {
            for run in self.blocks[block as usize].clone() {
                if enter(&self.run_bounds[run as usize]) {
                    visit(run);
                }
            }
        });
    }

    /// Number of blocks.
    pub(crate) fn blocks(&self) -> u32 {
        self.blocks.len() as u32
    }

    /// Visits pairs of runs whose boxes come within `reach` of each other (grid units; it may fall during the
    /// visit), the first one in `block`, each pair once over all blocks and none twice; a run is not paired with itself.
    /// `wanted` is asked beforehand with the owners of both.
    pub(crate) fn pairs_from(
        &self,
        block: u32,
        reach: impl Fn() -> i64,
        wanted: impl Fn(u32, u32) -> bool,
        mut visit: impl FnMut(u32, u32),
    ) {
        let own = self.blocks[block as usize].clone();
        let around = self.tree.leaves()[block as usize];
        let owner = self.run_owner(own.start);
        self.tree.visit(
            |b| b.meets(&around.grown(reach())),
            |second| {
                let others = self.blocks[second as usize].clone();
                if second < block || !wanted(owner, self.run_owner(others.start)) {
                    return;
                }
                let beyond = self.tree.leaves()[second as usize].grown(reach());
                for run in own.clone().filter(|r| self.run_bounds[*r as usize].meets(&beyond)) {
                    let near = self.run_bounds[run as usize].grown(reach());
                    for other in others.clone().filter(|o| self.run_bounds[*o as usize].meets(&near)) {
                        if other > run {
                            visit(run, other);
                        }
                    }
                }
            },
        );
    }

    /// Runs of a ring.
    pub(crate) fn runs_of_ring(&self, ring: u32) -> std::ops::Range<u32> {
        self.runs_of_ring[ring as usize].clone()
    }

    /// Visits the rings whose box meets a box, each with its owner.
    pub(crate) fn rings_in(&self, asked: &Bounds, mut visit: impl FnMut(u32, u32)) {
        self.ring_tree.visit(
            |b| b.meets(asked),
            |place| {
                let ring = self.ring_order[place as usize];
                visit(ring, self.owner_of_ring[ring as usize]);
            },
        );
    }

    /// The longer side of the box around all edges, in grid units.
    pub(crate) fn extent(&self) -> i64 {
        self.tree.bounds().extent()
    }

    /// Visits the edges whose box meets a box. An edge may come several times.
    pub(crate) fn in_box(&self, asked: &Bounds, mut visit: impl FnMut(u32)) {
        self.visit_runs(
            |b| b.meets(asked),
            |run| {
                for edge in self.edges_of(run) {
                    if self.edge_bounds(edge).meets(asked) {
                        visit(edge);
                    }
                }
            },
        );
    }

    /// Visits the edges that may lie within `reach` of a segment. An edge may come several times. Long slanted
    /// segments are walked in pieces, so that a diagonal does not visit the whole box around it.
    pub(crate) fn near(&self, [a, b]: [Spot; 2], reach: i64, mut visit: impl FnMut(u32)) {
        let pieces = (b[0] - a[0]).abs().min((b[1] - a[1]).abs()) / self.piece + 1;
        let at = |n: i64, k: usize| a[k] + ((b[k] - a[k]) as i128 * n as i128 / pieces as i128) as i64;
        for n in 0..pieces {
            let around = Bounds::around(&[[at(n, 0), at(n, 1)], [at(n + 1, 0), at(n + 1, 1)]]);
            self.in_box(&around.grown(reach + 1), &mut visit);
        }
    }

    /// Owners whose rings wind around the point, sorted. A point exactly on a ring may count either way.
    pub(crate) fn containing(&self, p: Spot) -> Vec<u32> {
        let mut turns: Vec<(u32, i32)> = Vec::new();
        self.rings_in(&Bounds { low: p, high: p }, |ring, owner| {
            let turn = self.winding(ring, p);
            if turn != 0 {
                turns.push((owner, turn));
            }
        });
        turns.sort_unstable();
        let owners = turns.chunk_by(|x, y| x.0 == y.0);
        owners.filter(|g| g.iter().map(|t| t.1).sum::<i32>() != 0).map(|g| g[0].0).collect()
    }

    /// Winding number of a ring around a point: a level ray to the left meets few runs.
    fn winding(&self, ring: u32, p: Spot) -> i32 {
        let mut sum = 0;
        for run in self.runs_of_ring(ring) {
            let around = self.run_bounds(run);
            let cut = self.runs[run as usize].count == 1;
            if cut || (around.low[1] <= p[1] && p[1] <= around.high[1] && around.low[0] <= p[0]) {
                for edge in self.edges_of(run).filter(|_| self.leads(run)) {
                    let [a, b] = self.edges[edge as usize];
                    sum += winding_step(a, b, p);
                }
            }
        }
        sum
    }
}

/// Numbers of boxes in the order of their middles along a Morton curve.
fn along_curve(boxes: &[Bounds], all: &Bounds) -> Vec<u32> {
    let side = all.extent() / (1 << 16) + 1;
    let spread = |x: i64| (0..16).fold(0u32, |bits, k| bits | ((x >> k & 1) as u32) << (2 * k));
    let mut keys: Vec<(u32, u32)> = (0u32..)
        .zip(boxes)
        .map(|(number, b)| {
            let cell = |k: usize| ((b.low[k] / 2 + b.high[k] / 2 - all.low[k]) / side).clamp(0, 0xffff);
            let key = if b.low[0] <= b.high[0] { spread(cell(0)) | spread(cell(1)) << 1 } else { 0 };
            (key, number)
        })
        .collect();
    keys.sort_unstable();
    keys.into_iter().map(|k| k.1).collect()
}
