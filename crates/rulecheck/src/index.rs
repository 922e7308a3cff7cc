//! Where edges lie: a uniform grid over the edges of one layer.
//!
//! Each edge is listed in every cell that it passes, and once in every row of cells that it passes. Cells answer
//! "which edges are near this one", rows answer "which shapes contain this point" with one horizontal ray.
//! Building is linear in edges plus cells; a query costs the edges of the cells around it.

use crate::exact::{Spot, winding_step};

/// Edges of closed rings, findable by place. An edge is named by its number; the edges of a ring are numbered
/// in sequence.
pub(crate) struct EdgeIndex {
    /// Start and end of each edge.
    pub(crate) edges: Vec<[Spot; 2]>,
    /// Ring of each edge.
    pub(crate) ring_of: Vec<u32>,
    /// First edge of each ring, and one past the last edge as a closing entry.
    ring_start: Vec<u32>,
    /// Owner (shape, polygon) of each ring.
    owner_of_ring: Vec<u32>,
    low: Spot,
    high: Spot,
    cell: i64,
    columns: i64,
    rows: i64,
    cell_start: Vec<u32>,
    cell_items: Vec<u32>,
    row_start: Vec<u32>,
    row_items: Vec<u32>,
}

impl EdgeIndex {
    /// Builds the grid over rings with their owners. `wanted_cell` is the cell size that suits the queries; it
    /// is enlarged where it would give more than about four cells an edge.
    pub(crate) fn new(rings: &[(u32, &[Spot])], wanted_cell: i64) -> EdgeIndex {
        let count = rings.iter().map(|(_, r)| r.len()).sum();
        let mut edges = Vec::with_capacity(count);
        let mut ring_of = Vec::with_capacity(count);
        let mut ring_start = Vec::with_capacity(rings.len() + 1);
        let mut owner_of_ring = Vec::with_capacity(rings.len());
        let (mut low, mut high) = ([i64::MAX; 2], [i64::MIN; 2]);
        for (number, (owner, ring)) in rings.iter().enumerate() {
            ring_start.push(edges.len() as u32);
            owner_of_ring.push(*owner);
            for (i, p) in ring.iter().enumerate() {
                edges.push([*p, ring[(i + 1) % ring.len()]]);
                ring_of.push(number as u32);
                for k in 0..2 {
                    low[k] = low[k].min(p[k]);
                    high[k] = high[k].max(p[k]);
                }
            }
        }
        ring_start.push(edges.len() as u32);
        if edges.is_empty() {
            (low, high) = ([0; 2], [0; 2]);
        }
        let extent = (high[0] - low[0]).max(high[1] - low[1]).max(1);
        let most = (2.0 * (edges.len() as f64).sqrt()).clamp(16.0, 4000.0) as i64;
        let cell = wanted_cell.max(extent / most).max(1);
        let columns = (high[0] - low[0]) / cell + 1;
        let rows = (high[1] - low[1]) / cell + 1;
        let mut index = EdgeIndex {
            edges,
            ring_of,
            ring_start,
            owner_of_ring,
            low,
            high,
            cell,
            columns,
            rows,
            cell_start: Vec::new(),
            cell_items: Vec::new(),
            row_start: Vec::new(),
            row_items: Vec::new(),
        };
        (index.cell_start, index.cell_items) = index.fill((columns * rows) as usize, |edge, put| {
            index.passed_cells(edge, |row, from, to| {
                (from..=to).for_each(|c| put((row * columns + c) as usize))
            });
        });
        (index.row_start, index.row_items) =
            index.fill(rows as usize, |edge, put| index.passed_cells(edge, |row, _, _| put(row as usize)));
        index
    }

    /// Counting sort of edges into buckets.
    fn fill(
        &self,
        buckets: usize,
        buckets_of: impl Fn([Spot; 2], &mut dyn FnMut(usize)),
    ) -> (Vec<u32>, Vec<u32>) {
        let mut start = vec![0u32; buckets + 1];
        for edge in &self.edges {
            buckets_of(*edge, &mut |b| start[b + 1] += 1);
        }
        for b in 0..buckets {
            start[b + 1] += start[b];
        }
        let mut next = start.clone();
        let mut items = vec![0u32; start[buckets] as usize];
        for (number, edge) in self.edges.iter().enumerate() {
            buckets_of(*edge, &mut |b| {
                items[next[b] as usize] = number as u32;
                next[b] += 1;
            });
        }
        (start, items)
    }

    fn column(&self, x: i64) -> i64 {
        ((x - self.low[0]).div_euclid(self.cell)).clamp(0, self.columns - 1)
    }

    fn row(&self, y: i64) -> i64 {
        ((y - self.low[1]).div_euclid(self.cell)).clamp(0, self.rows - 1)
    }

    /// Calls back with each row and its first and last column that the edge passes (one grid unit generous).
    fn passed_cells(&self, [a, b]: [Spot; 2], mut each: impl FnMut(i64, i64, i64)) {
        let (lower, upper) = if a[1] <= b[1] { (a, b) } else { (b, a) };
        let (first, last) = (self.row(lower[1] - 1), self.row(upper[1] + 1));
        let (left, right) = (a[0].min(b[0]), a[0].max(b[0]));
        // A level edge on a cell border lies in the rows on both sides, all along.
        if first == last || left == right || a[1] == b[1] {
            for row in first..=last {
                each(row, self.column(left - 1), self.column(right + 1));
            }
            return;
        }
        let slope = (upper[0] - lower[0]) as f64 / ((upper[1] - lower[1]) as f64).max(1.0);
        for row in first..=last {
            let y0 = (self.low[1] + row * self.cell).clamp(lower[1], upper[1]);
            let y1 = (self.low[1] + (row + 1) * self.cell).clamp(lower[1], upper[1]);
            let x0 = lower[0] as f64 + slope * (y0 - lower[1]) as f64;
            let x1 = lower[0] as f64 + slope * (y1 - lower[1]) as f64;
            // Two units of slack cover the rounding of the slope and touching across a cell border.
            let from = (x0.min(x1).floor() as i64 - 2).max(left - 1);
            let to = (x0.max(x1).ceil() as i64 + 2).min(right + 1);
            each(row, self.column(from), self.column(to));
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

    /// Side of a cell, in grid units.
    pub(crate) fn cell(&self) -> i64 {
        self.cell
    }

    /// The longer side of the box around all edges, in grid units.
    pub(crate) fn extent(&self) -> i64 {
        (self.high[0] - self.low[0]).max(self.high[1] - self.low[1])
    }

    /// Visits the edges of all cells that meet a box. An edge may come several times.
    pub(crate) fn in_box(&self, low: Spot, high: Spot, mut visit: impl FnMut(u32)) {
        let outside = (0..2).any(|k| high[k] < self.low[k] || low[k] > self.high[k]);
        if outside || self.edges.is_empty() {
            return;
        }
        let (from, to) = (self.column(low[0]), self.column(high[0]));
        for row in self.row(low[1])..=self.row(high[1]) {
            let cells = (row * self.columns + from) as usize..=(row * self.columns + to) as usize;
            let items = self.cell_start[*cells.start()] as usize..self.cell_start[*cells.end() + 1] as usize;
            for item in &self.cell_items[items] {
                visit(*item);
            }
        }
    }

    /// Visits the edges that may lie within `reach` of a segment. An edge may come several times. Long segments
    /// are walked in pieces, so that a diagonal does not visit the whole box around it.
    pub(crate) fn near(&self, [a, b]: [Spot; 2], reach: i64, mut visit: impl FnMut(u32)) {
        let span = (b[0] - a[0]).abs().max((b[1] - a[1]).abs());
        let pieces = if a[0] == b[0] || a[1] == b[1] { 1 } else { span / (4 * self.cell) + 1 };
        let at = |k: i64, i: usize| a[i] + ((b[i] - a[i]) as i128 * k as i128 / pieces as i128) as i64;
        for k in 0..pieces {
            let (p, q) = ([at(k, 0), at(k, 1)], [at(k + 1, 0), at(k + 1, 1)]);
            let low = [p[0].min(q[0]) - reach - 1, p[1].min(q[1]) - reach - 1];
            let high = [p[0].max(q[0]) + reach + 1, p[1].max(q[1]) + reach + 1];
            self.in_box(low, high, &mut visit);
        }
    }

    /// Owners whose rings wind around the point, sorted. A point exactly on a ring may count either way.
    pub(crate) fn containing(&self, p: Spot) -> Vec<u32> {
        if self.edges.is_empty()
            || p[1] < self.low[1]
            || p[1] > self.high[1]
            || p[0] < self.low[0]
            || p[0] > self.high[0]
        {
            return Vec::new();
        }
        let row = self.row(p[1]) as usize;
        let mut steps: Vec<(u32, i32)> = Vec::new();
        for item in &self.row_items[self.row_start[row] as usize..self.row_start[row + 1] as usize] {
            let [a, b] = self.edges[*item as usize];
            if a[0].min(b[0]) <= p[0] {
                let step = winding_step(a, b, p);
                if step != 0 {
                    steps.push((self.owner(*item), step));
                }
            }
        }
        steps.sort_unstable();
        let mut owners = Vec::new();
        for group in steps.chunk_by(|x, y| x.0 == y.0) {
            if group.iter().map(|s| s.1).sum::<i32>() != 0 {
                owners.push(group[0].0);
            }
        }
        owners
    }
}
