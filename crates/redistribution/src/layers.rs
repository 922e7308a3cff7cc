//! Which of two RDL layers a net runs on.
//!
//! The upper layer carries the capture pads, the lower one only the vias of its own nets, so the lower has the
//! wider gaps: nets with deep bumps go down, those of the outer rows stay up. What does not fit on its layer is moved
//! to the other.

use crate::assignment::Tree;
use crate::layer::{LayerRoute, place};
use crate::problem::Problem;
use crate::solve::failed;

/// The first split: the deeper half of all trees on layer 1, the rest on layer 2.
pub fn split(problem: &Problem, trees: &[Tree], _first: &LayerRoute) -> Vec<u8> {
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
    let mut on = vec![2u8; trees.len()];
    for &t in &order[..trees.len() / 2] {
        on[t] = 1;
    }
    on
}

/// Moves what failed on a layer to the other; false when there is nothing to move.
pub fn rebalance(layers: &[LayerRoute], on_layer: &mut [u8]) -> bool {
    let mut moved = false;
    for l in layers {
        for k in failed(l) {
            on_layer[l.tree[k]] = 3 - l.number;
            moved = true;
        }
    }
    moved
}
