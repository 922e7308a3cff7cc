//! Which of two RDL layers a net runs on.
//!
//! The upper layer carries the capture pads, the lower one only the vias of its own nets, so the lower has the
//! wider gaps: nets with deep bumps go down, those of the outer rows stay up. What does not fit on its layer is moved
//! to the other, and what fits on neither drives those away that stand in its way.

use crate::assignment::Tree;
use crate::layer::{LayerRoute, place};
use crate::problem::Problem;
use crate::solve::failed;

/// Splits to begin with, tried in this order: the deeper half of all trees on layer 1; only what one layer alone
/// leaves open on layer 1.
pub fn splits(problem: &Problem, trees: &[Tree], first: &LayerRoute) -> [Vec<u8>; 2] {
    let depth = |t: &Tree| {
        t.sites
            .iter()
            .map(|&s| {
                let p = place(problem.sites[s].at);
                p[0].min(p[1]).min(problem.width.nm() - p[0]).min(problem.height.nm() - p[1])
            })
            .fold(0.0, f64::max)
    };
    let mut order: Vec<usize> = (0..trees.len()).collect();
    order.sort_by(|&a, &b| depth(&trees[b]).total_cmp(&depth(&trees[a])).then(a.cmp(&b)));
    let mut by_depth = vec![2u8; trees.len()];
    for &t in &order[..trees.len() / 2] {
        by_depth[t] = 1;
    }
    let mut by_need = vec![2u8; trees.len()];
    for k in failed(first) {
        by_need[first.tree[k]] = 1;
    }
    [by_depth, by_need]
}

/// Moves what failed on a layer to the other. What has been moved before stays, and the trees that cut it off are
/// moved instead, unless they have been moved more often. `times` counts the moves of each tree. False when there is
/// nothing to move.
pub fn rebalance(layers: &[LayerRoute], on_layer: &mut [u8], times: &mut [u32]) -> bool {
    let mut moves = Vec::new();
    for l in layers {
        for k in failed(l) {
            let tree = l.tree[k];
            if times[tree] == 0 {
                moves.push(tree);
                continue;
            }
            let across = l.routed.blocked.iter().filter(|b| b.0 as usize == k).flat_map(|b| &b.1);
            let others: Vec<usize> = across
                .map(|&o| l.tree[o as usize])
                .filter(|&o| o != tree && times[o] <= times[tree])
                .collect();
            if others.is_empty() {
                moves.push(tree);
            }
            moves.extend(others);
            times[tree] += 1;
        }
    }
    moves.sort_unstable();
    moves.dedup();
    for &tree in &moves {
        on_layer[tree] = 3 - on_layer[tree];
        times[tree] += 1;
    }
    !moves.is_empty()
}
