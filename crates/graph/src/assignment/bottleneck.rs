//! Bottleneck assignment: pair every row so that the dearest pair is as cheap as possible.
//!
//! Method: the answer is one of the costs; search the sorted costs by halving, each time asking for a complete
//! matching among the pairs that are cheap enough (threshold method; Burkard, Dell'Amico and Martello, 2009,
//! "Assignment Problems", section 6.2). Each search starts from the pairs that the last one allows to keep.

use super::{AssignmentError, CostMatrix};
use crate::matching::{Bipartite, maximum_matching_from};

/// A pairing whose dearest pair is as cheap as possible.
#[derive(Debug, Clone, PartialEq)]
pub struct Bottleneck {
    /// The column of each row.
    pub column_of_row: Vec<usize>,
    /// The cost of the dearest pair; zero without rows.
    pub largest: f64,
}

/// The bottleneck pairing of a cost matrix with at least as many columns as rows.
///
/// # Errors
/// [`AssignmentError::Infeasible`] when no complete pairing of finite costs exists.
pub fn assign_bottleneck(costs: &CostMatrix) -> Result<Bottleneck, AssignmentError> {
    let (n, m) = (costs.rows(), costs.columns());
    if n == 0 {
        return Ok(Bottleneck { column_of_row: Vec::new(), largest: 0.0 });
    }
    let mut levels: Vec<f64> = (0..n).flat_map(|i| costs.row(i)).copied().filter(|c| c.is_finite()).collect();
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    let cheap_pairs = |limit: f64| {
        let mut graph = Bipartite::new(n, m);
        for i in 0..n {
            for (j, c) in costs.row(i).iter().enumerate() {
                if *c <= limit {
                    graph.connect(i, j);
                }
            }
        }
        graph
    };
    let seed = vec![None; n];
    let (mut low, mut high) = (0, levels.len());
    let mut best = None;
    let mut unmatched = 0;
    // Invariant: every level at or above `high` admits a complete pairing, none below `low` does.
    let mut first = true;
    while low < high || first {
        let middle = if first { levels.len().saturating_sub(1) } else { (low + high) / 2 };
        let limit = levels.get(middle).copied().unwrap_or(f64::NEG_INFINITY);
        let start: Vec<Option<usize>> = best
            .as_ref()
            .map(|pairs: &Vec<usize>| {
                pairs.iter().enumerate().map(|(i, &j)| (costs.row(i)[j] <= limit).then_some(j)).collect()
            })
            .unwrap_or_else(|| seed.clone());
        let found = maximum_matching_from(&cheap_pairs(limit), start);
        match found.iter().copied().collect::<Option<Vec<usize>>>() {
            Some(pairs) => {
                best = Some(pairs);
                high = middle;
            }
            None => {
                unmatched = found.iter().position(Option::is_none).unwrap_or(0);
                low = middle + 1;
            }
        }
        if first && best.is_none() {
            break;
        }
        first = false;
    }
    let column_of_row = best.ok_or(AssignmentError::Infeasible { row: unmatched })?;
    let largest =
        column_of_row.iter().enumerate().map(|(i, &j)| costs.row(i)[j]).fold(f64::NEG_INFINITY, f64::max);
    Ok(Bottleneck { column_of_row, largest })
}
