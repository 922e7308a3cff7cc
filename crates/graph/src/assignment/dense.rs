//! The dense solver: every pair has a cost in a matrix.
//!
//! Start: one or two rounds of augmenting row reduction, which pair most rows by raising prices between the best and
//! the second-best column. Then one shortest augmenting path per row that is left. Cost: O(rows^2 columns) at
//! worst, memory the matrix and a few rows. Starting prices of the columns are zero and only ever fall for paired
//! columns, so the columns that stay over keep the price zero that the rectangular optimum demands.

use super::{Assignment, AssignmentError, CostMatrix};

const FREE: usize = usize::MAX;

/// The cheapest pairing of a dense cost matrix; with more rows than columns every column is paired instead.
///
/// # Errors
/// [`AssignmentError::Infeasible`] when the forbidden pairs (infinite costs) leave no complete pairing.
///
/// ```
/// use facedown_graph::assignment::{CostMatrix, assign_dense};
/// let costs = CostMatrix::new(2, 3, vec![4.0, 1.0, 3.0, 2.0, 0.0, 5.0]).unwrap();
/// let best = assign_dense(&costs).unwrap();
/// assert_eq!(best.column_of_row, [Some(1), Some(0)]);
/// assert_eq!(best.total, 3.0);
/// assert_eq!(best.bound(), 3.0);
/// ```
pub fn assign_dense(costs: &CostMatrix) -> Result<Assignment, AssignmentError> {
    if costs.rows > costs.columns {
        return Ok(solve(&costs.transposed())?.transposed(costs.rows));
    }
    solve(costs)
}

struct State {
    column_of_row: Vec<usize>,
    row_of_column: Vec<usize>,
    row_price: Vec<f64>,
    column_price: Vec<f64>,
}

/// Solves for `rows <= columns`.
fn solve(costs: &CostMatrix) -> Result<Assignment, AssignmentError> {
    let (n, m) = (costs.rows, costs.columns);
    let mut state = State {
        column_of_row: vec![FREE; n],
        row_of_column: vec![FREE; m],
        row_price: vec![0.0; n],
        column_price: vec![0.0; m],
    };
    let mut free: Vec<usize> = (0..n).collect();
    if m >= 2 {
        for _ in 0..2 {
            free = row_reduction(costs, &mut state, free);
        }
    }
    let mut search = PathSearch::new(m);
    for row in free {
        search.augment(costs, &mut state, row)?;
    }
    let total = (0..n).map(|i| costs.row(i)[state.column_of_row[i]]).sum();
    Ok(Assignment {
        column_of_row: state.column_of_row.into_iter().map(Some).collect(),
        total,
        row_price: state.row_price,
        column_price: state.column_price,
    })
}

/// One round of augmenting row reduction over the free rows; returns the rows that are free afterwards.
fn row_reduction(costs: &CostMatrix, state: &mut State, free: Vec<usize>) -> Vec<usize> {
    let mut left = Vec::new();
    // Rounding can make a chain of displaced rows shave prices for ever; the path search takes what is left.
    let mut steps = 4 * costs.rows + 16;
    let mut queue = free.into_iter();
    let mut displaced = None;
    while let Some(row) = displaced.take().or_else(|| queue.next()) {
        if steps == 0 {
            left.push(row);
            left.extend(queue);
            break;
        }
        steps -= 1;
        let (mut best, mut second) = ((f64::INFINITY, FREE), (f64::INFINITY, FREE));
        for (j, (c, v)) in costs.row(row).iter().zip(&state.column_price).enumerate() {
            let reduced = c - v;
            if reduced < second.0 {
                if reduced < best.0 {
                    second = best;
                    best = (reduced, j);
                } else {
                    second = (reduced, j);
                }
            }
        }
        if second.1 == FREE || second.0.is_infinite() {
            left.push(row);
            continue;
        }
        let mut column = best.1;
        let gain = second.0 - best.0;
        if gain > 0.0 {
            state.column_price[column] -= gain;
        } else if state.row_of_column[column] != FREE {
            column = second.1;
        }
        state.row_price[row] = second.0;
        let before = std::mem::replace(&mut state.row_of_column[column], row);
        state.column_of_row[row] = column;
        if before != FREE {
            state.column_of_row[before] = FREE;
            if gain > 0.0 {
                displaced = Some(before);
            } else {
                left.push(before);
            }
        }
    }
    left
}

struct PathSearch {
    /// Shortest known distance to each column that is not done yet, infinite for done ones.
    distance: Vec<f64>,
    /// Column prices, minus infinity for done columns so that no path improves them.
    open_price: Vec<f64>,
    previous_row: Vec<u32>,
    done: Vec<(usize, f64)>,
}

impl PathSearch {
    fn new(columns: usize) -> PathSearch {
        PathSearch {
            distance: vec![0.0; columns],
            open_price: vec![0.0; columns],
            previous_row: vec![0; columns],
            done: Vec::new(),
        }
    }

    /// Pairs one more row along a shortest path of reduced costs and moves the prices.
    fn augment(
        &mut self,
        costs: &CostMatrix,
        state: &mut State,
        start: usize,
    ) -> Result<(), AssignmentError> {
        self.distance.fill(f64::INFINITY);
        self.open_price.copy_from_slice(&state.column_price);
        self.done.clear();
        let start_price = costs
            .row(start)
            .iter()
            .zip(&state.column_price)
            .map(|(c, v)| c - v)
            .fold(f64::INFINITY, f64::min);
        if start_price.is_infinite() {
            return Err(AssignmentError::Infeasible { row: start });
        }
        state.row_price[start] = start_price;
        let (mut row, mut reached) = (start, 0.0);
        let (end, length) = loop {
            let base = reached - state.row_price[row];
            let mut least = f64::INFINITY;
            for (((c, v), d), from) in costs
                .row(row)
                .iter()
                .zip(&self.open_price)
                .zip(self.distance.iter_mut())
                .zip(self.previous_row.iter_mut())
            {
                let through = base + c - v;
                let better = through < *d;
                *d = if better { through } else { *d };
                *from = if better { row as u32 } else { *from };
                least = if *d < least { *d } else { least };
            }
            if least.is_infinite() {
                return Err(AssignmentError::Infeasible { row: start });
            }
            // Among equally near columns a free one ends the search at once.
            let mut next = FREE;
            for (j, d) in self.distance.iter().enumerate() {
                if *d == least {
                    if state.row_of_column[j] == FREE {
                        next = j;
                        break;
                    }
                    if next == FREE {
                        next = j;
                    }
                }
            }
            reached = reached.max(least);
            if state.row_of_column[next] == FREE {
                break (next, reached);
            }
            self.done.push((next, reached));
            self.distance[next] = f64::INFINITY;
            self.open_price[next] = f64::NEG_INFINITY;
            row = state.row_of_column[next];
        };
        state.row_price[start] += length;
        for &(column, at) in &self.done {
            state.column_price[column] -= length - at;
            state.row_price[state.row_of_column[column]] += length - at;
        }
        let mut column = end;
        loop {
            let row = self.previous_row[column] as usize;
            state.row_of_column[column] = row;
            std::mem::swap(&mut state.column_of_row[row], &mut column);
            if row == start {
                return Ok(());
            }
        }
    }
}
