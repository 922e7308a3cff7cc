//! The solver for points: costs are distances, so most pairs never need to be looked at.
//!
//! Method. (1) Solve a quarter of the points first (recursively, the smallest problem dense) and spread its prices over
//! all columns; prices of a distance cost vary slowly in the plane, so they are nearly right. (2) Pair rows by
//! augmenting row reduction and then by shortest augmenting paths, where each row knows only its few cheapest columns,
//! and a bound below which none of its other columns can lie. A path search that would pass that bound first asks
//! a tree over the columns ([`crate::kd_tree`]) for more. (3) Columns that stay over must end with price zero; those that
//! do not are worked off by the same search with the roles of rows and columns exchanged. (4) The prices are checked
//! against every pair, which proves the optimum whatever went before.
//!
//! Exact but for the rounding of `f64`. Memory O(points x candidates).

use super::{Assignment, AssignmentError, CostMatrix, Distance, assign_dense};
use crate::kd_tree::{Ordered, WeightedTree};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

const FREE: u32 = u32::MAX;
/// Below this number of pairs the dense solver is quicker.
const DENSE_PAIRS: usize = 40_000;
/// Columns that a row knows at first.
const CANDIDATES: usize = 16;

/// The cheapest pairing of two point sets at a distance; the smaller set is paired completely.
///
/// # Errors
/// [`AssignmentError::NotAPoint`] when a coordinate is not finite.
///
/// ```
/// use facedown_graph::assignment::{Distance, assign_points};
/// let best = assign_points(&[[0.0, 0.0]], &[[3.0, 4.0], [6.0, 0.0]], Distance::Euclidean).unwrap();
/// assert_eq!((best.column_of_row[0], best.total), (Some(0), 5.0));
/// ```
pub fn assign_points(
    rows: &[[f64; 2]],
    columns: &[[f64; 2]],
    distance: Distance,
) -> Result<Assignment, AssignmentError> {
    for points in [rows, columns] {
        if let Some(index) = points.iter().position(|p| !p[0].is_finite() || !p[1].is_finite()) {
            return Err(AssignmentError::NotAPoint { index });
        }
    }
    if rows.len() > columns.len() {
        return Ok(solve(columns, rows, distance)?.transposed(rows.len()));
    }
    solve(rows, columns, distance)
}

fn dense(rows: &[[f64; 2]], columns: &[[f64; 2]], distance: Distance) -> Result<Assignment, AssignmentError> {
    assign_dense(&CostMatrix::from_fn(rows.len(), columns.len(), |i, j| {
        distance.between(rows[i], columns[j])
    })?)
}

/// Solves for no more rows than columns.
fn solve(rows: &[[f64; 2]], columns: &[[f64; 2]], distance: Distance) -> Result<Assignment, AssignmentError> {
    if rows.len() * columns.len() <= DENSE_PAIRS || rows.len() < 8 {
        return dense(rows, columns, distance);
    }
    let start = coarse_prices(rows, columns, distance)?;
    let mut solver = Solver::new(rows, columns, distance, start);
    let mut free: Vec<u32> = (0..rows.len() as u32).collect();
    for _ in 0..2 {
        free = solver.row_reduction(free);
    }
    for row in free {
        solver.pair_row(row);
    }
    solver.release_columns();
    let worst = solver.worst_reduced_cost();
    let scale = rows.iter().chain(columns).flatten().fold(1.0f64, |s, x| s.max(x.abs()));
    if worst < -1e-9 * scale {
        // The search keeps every reduced cost non-negative; should rounding ever break that, the slow way is exact.
        return dense(rows, columns, distance);
    }
    let pairs: Vec<usize> = solver.column_of_row.iter().map(|&j| j as usize).collect();
    let total = pairs.iter().enumerate().map(|(i, &j)| distance.between(rows[i], columns[j])).sum();
    Ok(Assignment {
        column_of_row: pairs.into_iter().map(Some).collect(),
        total,
        row_price: solver.row_price,
        column_price: solver.column_price,
    })
}

/// Column prices from the solution of every fourth point.
fn coarse_prices(
    rows: &[[f64; 2]],
    columns: &[[f64; 2]],
    distance: Distance,
) -> Result<Vec<f64>, AssignmentError> {
    let pick = |points: &[[f64; 2]], count: usize| -> Vec<[f64; 2]> {
        let tree = WeightedTree::new(points, &vec![0.0; points.len()]);
        let order = tree.order();
        (0..count).map(|k| points[order[(2 * k + 1) * points.len() / (2 * count)] as usize]).collect()
    };
    let few_rows = pick(rows, rows.len() / 4);
    let few_columns = pick(columns, columns.len().div_ceil(4));
    let coarse = solve(&few_rows, &few_columns, distance)?;
    let tree = WeightedTree::new(&few_rows, &coarse.row_price);
    Ok(columns
        .iter()
        .map(|&at| {
            let least = tree.least(&few_rows, &coarse.row_price, distance, at, 1);
            least.first().map_or(0.0, |l| l.0.min(0.0))
        })
        .collect())
}

/// The cheapest partners that a row (or, in the last step, a column) knows.
#[derive(Default, Clone)]
struct Known {
    partners: Vec<(u32, f64)>,
    /// No partner that is not listed has `cost - price` below this.
    limit: f64,
}

struct Solver<'a> {
    rows: &'a [[f64; 2]],
    columns: &'a [[f64; 2]],
    distance: Distance,
    row_price: Vec<f64>,
    column_price: Vec<f64>,
    column_of_row: Vec<u32>,
    row_of_column: Vec<u32>,
    known: Vec<Known>,
    tree: WeightedTree,
    /// Requests to the tree since its weights were refreshed.
    requests: usize,
    reach: Reach,
}

impl<'a> Solver<'a> {
    fn new(
        rows: &'a [[f64; 2]],
        columns: &'a [[f64; 2]],
        distance: Distance,
        column_price: Vec<f64>,
    ) -> Self {
        let tree = WeightedTree::new(columns, &column_price);
        let mut solver = Solver {
            rows,
            columns,
            distance,
            row_price: vec![0.0; rows.len()],
            column_price,
            column_of_row: vec![FREE; rows.len()],
            row_of_column: vec![FREE; columns.len()],
            known: vec![Known::default(); rows.len()],
            tree,
            requests: 0,
            reach: Reach::new(columns.len(), rows.len()),
        };
        for row in 0..rows.len() {
            solver.learn_columns(row, CANDIDATES);
        }
        solver
    }

    /// Lists the `count` columns with the least `cost - price` for a row.
    fn learn_columns(&mut self, row: usize, count: usize) {
        self.requests += 1;
        if self.requests > 256 {
            self.tree.refresh(&self.column_price);
            self.requests = 0;
        }
        let found = self.tree.least(self.columns, &self.column_price, self.distance, self.rows[row], count);
        self.known[row].limit =
            if found.len() == self.columns.len() { f64::INFINITY } else { found.last().map_or(0.0, |f| f.0) };
        self.known[row].partners = found
            .into_iter()
            .map(|(_, j)| (j, self.distance.between(self.rows[row], self.columns[j as usize])))
            .collect();
    }

    /// The cheapest and second-cheapest column of a row at the present prices.
    fn two_best(&mut self, row: usize) -> [(f64, u32); 2] {
        loop {
            let (mut best, mut second) = ((f64::INFINITY, FREE), (f64::INFINITY, FREE));
            for &(j, c) in &self.known[row].partners {
                let reduced = c - self.column_price[j as usize];
                if reduced < second.0 {
                    if reduced < best.0 {
                        second = best;
                        best = (reduced, j);
                    } else {
                        second = (reduced, j);
                    }
                }
            }
            if second.0 <= self.known[row].limit {
                return [best, second];
            }
            self.learn_columns(row, 2 * self.known[row].partners.len());
        }
    }

    fn row_reduction(&mut self, free: Vec<u32>) -> Vec<u32> {
        let mut left = Vec::new();
        let mut steps = 4 * self.rows.len() + 16;
        let mut queue = free.into_iter();
        let mut displaced = None;
        while let Some(row) = displaced.take().or_else(|| queue.next()) {
            if steps == 0 {
                left.push(row);
                left.extend(queue);
                break;
            }
            steps -= 1;
            let [best, second] = self.two_best(row as usize);
            let gain = second.0 - best.0;
            let mut column = best.1 as usize;
            if gain > 0.0 {
                self.column_price[column] -= gain;
            } else if self.row_of_column[column] != FREE {
                column = second.1 as usize;
            }
            self.row_price[row as usize] = second.0;
            let before = std::mem::replace(&mut self.row_of_column[column], row);
            self.column_of_row[row as usize] = column as u32;
            if before != FREE {
                self.column_of_row[before as usize] = FREE;
                if gain > 0.0 {
                    displaced = Some(before);
                } else {
                    left.push(before);
                }
            }
        }
        left
    }

    /// Pairs one more row along a shortest path of reduced costs to a free column.
    fn pair_row(&mut self, start: u32) {
        let m = self.columns.len();
        self.row_price[start as usize] = self.two_best(start as usize)[0].0;
        let mut reach = std::mem::take(&mut self.reach);
        reach.clear();
        reach.other[start as usize] = 0.0;
        let mut end = (f64::INFINITY, FREE);
        self.relax_row(start, &mut reach, &mut end);
        while let Some(Reverse((Ordered(at), what))) = reach.queue.pop() {
            if at >= end.0 {
                break;
            }
            if what as usize >= m {
                let row = what - m as u32;
                self.learn_columns(row as usize, 2 * self.known[row as usize].partners.len());
                self.relax_row(row, &mut reach, &mut end);
            } else if !reach.done[what as usize] {
                reach.done[what as usize] = true;
                reach.visited.push(what);
                let row = self.row_of_column[what as usize];
                reach.other[row as usize] = at;
                self.relax_row(row, &mut reach, &mut end);
            }
        }
        let (length, mut column) = end;
        self.row_price[start as usize] += length;
        for &j in &reach.visited {
            let shift = length - reach.near[j as usize];
            self.column_price[j as usize] -= shift;
            self.row_price[self.row_of_column[j as usize] as usize] += shift;
        }
        loop {
            let row = reach.from[column as usize];
            self.row_of_column[column as usize] = row;
            std::mem::swap(&mut self.column_of_row[row as usize], &mut column);
            if row == start {
                break;
            }
        }
        self.reach = reach;
    }

    fn relax_row(&self, row: u32, reach: &mut Reach, end: &mut (f64, u32)) {
        let at = reach.other[row as usize];
        let base = at - self.row_price[row as usize];
        let known = &self.known[row as usize];
        for &(j, c) in &known.partners {
            let through = (base + (c - self.column_price[j as usize])).max(at);
            if through < reach.near[j as usize] && through < end.0 {
                reach.improve(j, through);
                reach.from[j as usize] = row;
                if self.row_of_column[j as usize] == FREE {
                    *end = (through, j);
                } else {
                    reach.queue.push(Reverse((Ordered(through), j)));
                }
            }
        }
        let unknown = (base + known.limit).max(at);
        if unknown < end.0 {
            reach.queue.push(Reverse((Ordered(unknown), self.columns.len() as u32 + row)));
        }
    }

    /// Brings the price of every free column to zero, as the optimum with columns to spare demands.
    fn release_columns(&mut self) {
        let waiting: Vec<u32> = (0..self.columns.len() as u32)
            .filter(|&j| self.row_of_column[j as usize] == FREE && self.column_price[j as usize] < 0.0)
            .collect();
        if waiting.is_empty() {
            return;
        }
        self.tree = WeightedTree::new(self.rows, &self.row_price);
        self.requests = 0;
        self.known = vec![Known::default(); self.columns.len()];
        self.reach = Reach::new(self.rows.len(), self.columns.len());
        for column in waiting {
            // An earlier release may have paired this column or lifted its price.
            if self.row_of_column[column as usize] == FREE && self.column_price[column as usize] < 0.0 {
                self.release_column(column);
            }
        }
    }

    fn learn_rows(&mut self, column: usize, count: usize) {
        self.requests += 1;
        if self.requests > 256 {
            self.tree.refresh(&self.row_price);
            self.requests = 0;
        }
        let found = self.tree.least(self.rows, &self.row_price, self.distance, self.columns[column], count);
        self.known[column].limit =
            if found.len() == self.rows.len() { f64::INFINITY } else { found.last().map_or(0.0, |f| f.0) };
        self.known[column].partners = found
            .into_iter()
            .map(|(_, i)| (i, self.distance.between(self.rows[i as usize], self.columns[column])))
            .collect();
    }

    /// Lifts the price of one free column to zero along a shortest path: the column stays free, or takes over the row
    /// of another column that is then free at price zero.
    fn release_column(&mut self, start: u32) {
        let n = self.rows.len();
        let mut reach = std::mem::take(&mut self.reach);
        reach.clear();
        reach.other[start as usize] = 0.0;
        let mut end = (-self.column_price[start as usize], start);
        self.relax_column(start, &mut reach, &mut end);
        while let Some(Reverse((Ordered(at), what))) = reach.queue.pop() {
            if at >= end.0 {
                break;
            }
            if what as usize >= n {
                let column = what - n as u32;
                self.learn_rows(column as usize, 2 * self.known[column as usize].partners.len());
                self.relax_column(column, &mut reach, &mut end);
            } else if !reach.done[what as usize] {
                reach.done[what as usize] = true;
                reach.visited.push(what);
                let column = self.column_of_row[what as usize];
                reach.other[column as usize] = at;
                self.relax_column(column, &mut reach, &mut end);
            }
        }
        let (length, freed) = end;
        self.column_price[start as usize] += length;
        for &i in &reach.visited {
            let shift = length - reach.near[i as usize];
            self.row_price[i as usize] -= shift;
            self.column_price[self.column_of_row[i as usize] as usize] += shift;
        }
        self.column_price[freed as usize] = 0.0;
        // The freed column gives its row to the column that reached it, which passes on its own row, and so on.
        let mut column = freed;
        let mut row = std::mem::replace(&mut self.row_of_column[freed as usize], FREE);
        while column != start {
            column = reach.from[row as usize];
            self.column_of_row[row as usize] = column;
            row = std::mem::replace(&mut self.row_of_column[column as usize], row);
        }
        self.reach = reach;
    }

    fn relax_column(&mut self, column: u32, reach: &mut Reach, end: &mut (f64, u32)) {
        if self.known[column as usize].partners.is_empty() {
            self.learn_rows(column as usize, CANDIDATES);
        }
        let at = reach.other[column as usize];
        let base = at - self.column_price[column as usize];
        let known = &self.known[column as usize];
        for &(i, c) in &known.partners {
            let through = (base + (c - self.row_price[i as usize])).max(at);
            if through < reach.near[i as usize] && through < end.0 {
                reach.improve(i, through);
                reach.from[i as usize] = column;
                reach.queue.push(Reverse((Ordered(through), i)));
                let partner = self.column_of_row[i as usize];
                let stop = through - self.column_price[partner as usize];
                if stop < end.0 {
                    *end = (stop, partner);
                }
            }
        }
        let unknown = (base + known.limit).max(at);
        if unknown < end.0 {
            reach.queue.push(Reverse((Ordered(unknown), self.rows.len() as u32 + column)));
        }
    }

    /// The least `cost - prices` over all pairs, zero or above but for rounding.
    fn worst_reduced_cost(&mut self) -> f64 {
        let tree = WeightedTree::new(self.columns, &self.column_price);
        let mut worst = f64::INFINITY;
        for (row, price) in self.rows.iter().zip(&self.row_price) {
            let least = tree.least(self.columns, &self.column_price, self.distance, *row, 1);
            worst = worst.min(least.first().map_or(f64::INFINITY, |l| l.0) - price);
        }
        worst
    }
}

/// The state of one path search from a row over columns ("near" side: columns) or from a column over rows.
#[derive(Default)]
struct Reach {
    near: Vec<f64>,
    from: Vec<u32>,
    done: Vec<bool>,
    visited: Vec<u32>,
    /// Near nodes that hold a distance, so that clearing costs only what the search touched.
    touched: Vec<u32>,
    /// Distance of the nodes of the side that the search starts from; valid only for those that were reached.
    other: Vec<f64>,
    queue: BinaryHeap<Reverse<(Ordered, u32)>>,
}

impl Reach {
    fn new(near: usize, other: usize) -> Reach {
        Reach {
            near: vec![f64::INFINITY; near],
            from: vec![FREE; near],
            done: vec![false; near],
            other: vec![f64::INFINITY; other],
            ..Reach::default()
        }
    }

    fn clear(&mut self) {
        for j in self.touched.drain(..) {
            self.near[j as usize] = f64::INFINITY;
            self.done[j as usize] = false;
        }
        self.visited.clear();
        self.queue.clear();
    }

    fn improve(&mut self, node: u32, distance: f64) {
        if self.near[node as usize] == f64::INFINITY {
            self.touched.push(node);
        }
        self.near[node as usize] = distance;
    }
}
