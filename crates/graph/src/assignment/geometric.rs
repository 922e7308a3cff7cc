//! The solver for points: costs are distances, so most pairs never need to be looked at.
//!
//! Method. (1) Solve a quarter of the points first (recursively, the smallest problem dense) and spread its prices over
//! all columns; prices of a distance cost vary slowly in the plane, so they are nearly right. (2) Pair rows by rounds of
//! augmenting row reduction and then by shortest augmenting paths, where each row knows only its few cheapest columns,
//! and a bound below which none of its other columns can lie. A path search that would pass that bound first asks
//! a tree over the columns ([`crate::kd_tree`]) for more. (3) The prices are checked against every pair, which proves the
//! optimum whatever went before.
//!
//! Columns to spare: as many of the columns that stay over carry one common price, the `top`, which no price exceeds. They
//! act as if rows that cost nothing held them; a path that takes one of them must hand its imaginary row another.
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
/// Rounds of row reduction; each costs little and saves path searches.
const ROUNDS: usize = 16;
/// Stands for the imaginary rows that hold the columns to spare.
const SPARE: u32 = u32::MAX - 1;

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
    for _ in 0..ROUNDS {
        free = solver.row_reduction(free);
    }
    for row in free {
        solver.pair_row(row);
    }
    solver.lift_top_to_zero();
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

/// The cheapest columns that a row knows, with their costs.
#[derive(Default, Clone)]
struct Known {
    columns: Vec<(u32, f64)>,
    /// No column that is not listed has `cost - price` below this. Prices only fall, so it stays true.
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
    /// Number of columns that will stay over.
    spare: usize,
    /// The price that they share; meaningless when none stays over.
    top: f64,
    /// Free columns with that price, never fewer than `spare`.
    at_top: usize,
}

impl<'a> Solver<'a> {
    fn new(
        rows: &'a [[f64; 2]],
        columns: &'a [[f64; 2]],
        distance: Distance,
        mut column_price: Vec<f64>,
    ) -> Self {
        let spare = columns.len() - rows.len();
        let mut top = 0.0;
        if spare > 0 {
            let mut sorted = column_price.clone();
            sorted.sort_by(f64::total_cmp);
            top = sorted[columns.len() - spare];
            for price in &mut column_price {
                *price = price.min(top);
            }
        }
        let at_top = column_price.iter().filter(|p| **p == top).count();
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
            spare,
            top,
            at_top,
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
        self.known[row].columns = found
            .into_iter()
            .map(|(_, j)| (j, self.distance.between(self.rows[row], self.columns[j as usize])))
            .collect();
    }

    /// The cheapest and second-cheapest column of a row at the present prices.
    fn two_best(&mut self, row: usize) -> [(f64, u32); 2] {
        loop {
            let (mut best, mut second) = ((f64::INFINITY, FREE), (f64::INFINITY, FREE));
            for &(j, c) in &self.known[row].columns {
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
            self.learn_columns(row, 2 * self.known[row].columns.len());
        }
    }

    /// True for a free column that a row may take without more ado.
    fn may_take(&self, column: usize) -> bool {
        self.spare == 0 || self.column_price[column] < self.top || self.at_top > self.spare
    }

    /// One round of augmenting row reduction: every free row bids once for its best column. Returns the rows that are free
    /// afterwards. Rows that lost their column wait for the next round, because chains of bids that follow each other at once
    /// can fight over few columns for very long.
    fn row_reduction(&mut self, free: Vec<u32>) -> Vec<u32> {
        let mut left = Vec::new();
        for row in free {
            let [best, second] = self.two_best(row as usize);
            let gain = second.0 - best.0;
            let mut column = best.1 as usize;
            if gain <= 0.0 && self.row_of_column[column] != FREE {
                column = second.1 as usize;
            }
            let before = self.row_of_column[column];
            if before == FREE {
                if !self.may_take(column) {
                    left.push(row);
                    continue;
                }
                self.at_top -= usize::from(self.column_price[column] == self.top);
            } else {
                self.column_of_row[before as usize] = FREE;
                left.push(before);
            }
            if gain > 0.0 {
                self.column_price[column] -= gain;
            }
            self.row_price[row as usize] = second.0;
            self.row_of_column[column] = row;
            self.column_of_row[row as usize] = column as u32;
        }
        left
    }

    /// Pairs one more row along a shortest path of reduced costs to a free column.
    fn pair_row(&mut self, start: u32) {
        let m = self.columns.len() as u32;
        self.row_price[start as usize] = self.two_best(start as usize)[0].0;
        let mut reach = std::mem::take(&mut self.reach);
        reach.clear();
        reach.row[start as usize] = 0.0;
        self.relax_row(start, &mut reach);
        while let Some(Reverse((Ordered(at), what))) = reach.queue.pop() {
            if at >= reach.end.0 {
                break;
            }
            if what == SPARE {
                self.relax_spare(&mut reach);
            } else if what >= m {
                let row = (what - m) as usize;
                self.learn_columns(row, 2 * self.known[row].columns.len());
                self.relax_row(row as u32, &mut reach);
            } else if !reach.done[what as usize] {
                reach.done[what as usize] = true;
                reach.visited.push(what);
                let row = self.row_of_column[what as usize];
                reach.row[row as usize] = at;
                self.relax_row(row, &mut reach);
            }
        }
        self.move_prices(start, &reach);
        let mut column = reach.end.1;
        loop {
            let row = reach.from[column as usize];
            if row == SPARE {
                // This column is handed to the imaginary row whose column the path takes.
                self.row_of_column[column as usize] = FREE;
                self.column_price[column as usize] = self.top;
                column = reach.spare.1;
                continue;
            }
            self.row_of_column[column as usize] = row;
            std::mem::swap(&mut self.column_of_row[row as usize], &mut column);
            if row == start {
                break;
            }
        }
        if self.spare > 0 {
            self.at_top = (0..self.columns.len())
                .filter(|&j| self.row_of_column[j] == FREE && self.column_price[j] == self.top)
                .count();
        }
        self.reach = reach;
    }

    fn move_prices(&mut self, start: u32, reach: &Reach) {
        let length = reach.end.0;
        self.row_price[start as usize] += length;
        for &j in &reach.visited {
            let shift = length - reach.near[j as usize];
            self.column_price[j as usize] -= shift;
            self.row_price[self.row_of_column[j as usize] as usize] += shift;
        }
        if reach.spare.0 < length {
            let top = self.top - (length - reach.spare.0);
            for (price, row) in self.column_price.iter_mut().zip(&self.row_of_column) {
                if *row == FREE && *price == self.top {
                    *price = top;
                }
            }
            self.top = top;
        }
    }

    fn relax_row(&self, row: u32, reach: &mut Reach) {
        let at = reach.row[row as usize];
        let base = at - self.row_price[row as usize];
        let known = &self.known[row as usize];
        for &(j, c) in &known.columns {
            let through = (base + (c - self.column_price[j as usize])).max(at);
            if through < reach.near[j as usize] && through < reach.end.0 {
                reach.improve(j, row, through);
                if self.row_of_column[j as usize] != FREE {
                    reach.queue.push(Reverse((Ordered(through), j)));
                } else if self.may_take(j as usize) {
                    reach.end = (through, j);
                } else if through < reach.spare.0 {
                    reach.spare = (through, j);
                    reach.queue.push(Reverse((Ordered(through), SPARE)));
                }
            }
        }
        let unknown = (base + known.limit).max(at);
        if unknown < reach.end.0 {
            reach.queue.push(Reverse((Ordered(unknown), self.columns.len() as u32 + row)));
        }
    }

    /// Goes on from the imaginary rows: every column that is not theirs is `top - price` away.
    fn relax_spare(&self, reach: &mut Reach) {
        let (at, _) = reach.spare;
        for (j, price) in self.column_price.iter().enumerate() {
            let through = at + (self.top - price);
            let free = self.row_of_column[j] == FREE;
            if through < reach.near[j] && through < reach.end.0 && !(free && *price == self.top) {
                reach.improve(j as u32, SPARE, through);
                if free {
                    reach.end = (through, j as u32);
                } else {
                    reach.queue.push(Reverse((Ordered(through), j as u32)));
                }
            }
        }
    }

    /// Moves all prices so that columns that stay over have price zero.
    fn lift_top_to_zero(&mut self) {
        if self.spare > 0 {
            self.column_price.iter_mut().for_each(|p| *p -= self.top);
            self.row_price.iter_mut().for_each(|p| *p += self.top);
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

/// The state of one path search.
#[derive(Default)]
struct Reach {
    /// Distance of each column, and the row that it was reached from.
    near: Vec<f64>,
    from: Vec<u32>,
    done: Vec<bool>,
    visited: Vec<u32>,
    /// Columns that hold a distance, so that clearing costs only what the search touched.
    touched: Vec<u32>,
    /// Distance of each row; valid only for those that were reached.
    row: Vec<f64>,
    queue: BinaryHeap<Reverse<(Ordered, u32)>>,
    /// The nearest column where the path may end.
    end: (f64, u32),
    /// The nearest column that an imaginary row holds.
    spare: (f64, u32),
}

impl Reach {
    fn new(columns: usize, rows: usize) -> Reach {
        Reach {
            near: vec![f64::INFINITY; columns],
            from: vec![FREE; columns],
            done: vec![false; columns],
            row: vec![f64::INFINITY; rows],
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
        self.end = (f64::INFINITY, FREE);
        self.spare = (f64::INFINITY, FREE);
    }

    fn improve(&mut self, column: u32, from: u32, distance: f64) {
        if self.near[column as usize] == f64::INFINITY {
            self.touched.push(column);
        }
        self.near[column as usize] = distance;
        self.from[column as usize] = from;
    }
}
