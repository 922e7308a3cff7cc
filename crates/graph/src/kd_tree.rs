//! A balanced tree over weighted points of the plane that finds the points with the least `distance - weight`.
//!
//! Every box of the tree knows the largest weight inside, so a search skips a box when even its nearest corner with
//! that weight cannot compete. Weights may change after building: a stored maximum that is too large only costs
//! time, and [`WeightedTree::refresh`] tightens them again.

use crate::assignment::Distance;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

const LEAF: usize = 8;

#[derive(Debug, Clone)]
struct Node {
    low: [f64; 2],
    high: [f64; 2],
    largest_weight: f64,
    from: u32,
    to: u32,
    /// Index of the second child; the first child follows its parent. Zero for a leaf.
    second: u32,
}

/// See the module.
#[derive(Debug, Clone)]
pub(crate) struct WeightedTree {
    nodes: Vec<Node>,
    /// Point indices in the order of the leaves.
    order: Vec<u32>,
}

/// A float with the total order of [`f64::total_cmp`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ordered(pub(crate) f64);
impl Eq for Ordered {}
impl Ord for Ordered {
    fn cmp(&self, other: &Self) -> Ordering {
        self.0.total_cmp(&other.0)
    }
}
impl PartialOrd for Ordered {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl WeightedTree {
    pub(crate) fn new(points: &[[f64; 2]], weights: &[f64]) -> WeightedTree {
        let mut tree = WeightedTree { nodes: Vec::new(), order: (0..points.len() as u32).collect() };
        if !points.is_empty() {
            tree.split(points, 0, points.len());
            tree.refresh(weights);
        }
        tree
    }

    /// The points in an order in which neighbours in the list are neighbours in the plane.
    pub(crate) fn order(&self) -> &[u32] {
        &self.order
    }

    fn split(&mut self, points: &[[f64; 2]], from: usize, to: usize) {
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        for &i in &self.order[from..to] {
            for axis in 0..2 {
                low[axis] = low[axis].min(points[i as usize][axis]);
                high[axis] = high[axis].max(points[i as usize][axis]);
            }
        }
        let at = self.nodes.len();
        self.nodes.push(Node {
            low,
            high,
            largest_weight: f64::NEG_INFINITY,
            from: from as u32,
            to: to as u32,
            second: 0,
        });
        if to - from <= LEAF {
            return;
        }
        let axis = usize::from(high[1] - low[1] > high[0] - low[0]);
        let middle = (from + to) / 2;
        self.order[from..to].select_nth_unstable_by(middle - from, |&a, &b| {
            points[a as usize][axis].total_cmp(&points[b as usize][axis]).then(a.cmp(&b))
        });
        self.split(points, from, middle);
        self.nodes[at].second = self.nodes.len() as u32;
        self.split(points, middle, to);
    }

    /// Sets every box's largest weight from the present weights.
    pub(crate) fn refresh(&mut self, weights: &[f64]) {
        for at in (0..self.nodes.len()).rev() {
            let node = &self.nodes[at];
            self.nodes[at].largest_weight = if node.second == 0 {
                self.order[node.from as usize..node.to as usize]
                    .iter()
                    .map(|&i| weights[i as usize])
                    .fold(f64::NEG_INFINITY, f64::max)
            } else {
                self.nodes[at + 1].largest_weight.max(self.nodes[node.second as usize].largest_weight)
            };
        }
    }

    fn bound(&self, node: usize, at: [f64; 2], distance: Distance) -> f64 {
        let node = &self.nodes[node];
        let beside = |axis: usize| (node.low[axis] - at[axis]).max(at[axis] - node.high[axis]).max(0.0);
        distance.of(beside(0), beside(1)) - node.largest_weight
    }

    /// The `count` points with the least `distance - weight` from `at`, least first, as (that value, index).
    /// Weights must not have grown since the last [`WeightedTree::refresh`].
    pub(crate) fn least(
        &self,
        points: &[[f64; 2]],
        weights: &[f64],
        distance: Distance,
        at: [f64; 2],
        count: usize,
    ) -> Vec<(f64, u32)> {
        let mut kept: BinaryHeap<(Ordered, u32)> = BinaryHeap::with_capacity(count + 1);
        let mut stack: Vec<(f64, usize)> = Vec::new();
        if !self.nodes.is_empty() && count > 0 {
            stack.push((self.bound(0, at, distance), 0));
        }
        while let Some((bound, mut node)) = stack.pop() {
            let full = |kept: &BinaryHeap<(Ordered, u32)>| {
                if kept.len() < count { f64::INFINITY } else { kept.peek().map_or(f64::INFINITY, |k| k.0.0) }
            };
            if bound >= full(&kept) {
                continue;
            }
            while self.nodes[node].second != 0 {
                let (first, second) = (node + 1, self.nodes[node].second as usize);
                let (a, b) = (self.bound(first, at, distance), self.bound(second, at, distance));
                let (near, far) = if a <= b { (first, (b, second)) } else { (second, (a, first)) };
                stack.push(far);
                node = near;
            }
            let leaf = &self.nodes[node];
            for &i in &self.order[leaf.from as usize..leaf.to as usize] {
                let value = distance.between(at, points[i as usize]) - weights[i as usize];
                let entry = (Ordered(value), i);
                if kept.len() < count {
                    kept.push(entry);
                } else if kept.peek().is_some_and(|worst| entry < *worst) {
                    kept.pop();
                    kept.push(entry);
                }
            }
        }
        kept.into_sorted_vec().into_iter().map(|(value, i)| (value.0, i)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::WeightedTree;
    use crate::assignment::Distance;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn least_agrees_with_a_sorted_scan(
            points in prop::collection::vec((0i32..40, 0i32..40, -30i32..1), 1..120),
            at in (0i32..40, 0i32..40),
            count in 1usize..12,
        ) {
            let places: Vec<[f64; 2]> = points.iter().map(|p| [p.0 as f64, p.1 as f64]).collect();
            let weights: Vec<f64> = points.iter().map(|p| p.2 as f64).collect();
            let at = [at.0 as f64, at.1 as f64];
            let tree = WeightedTree::new(&places, &weights);
            let found = tree.least(&places, &weights, Distance::Octilinear, at, count);
            let mut all: Vec<f64> = (0..places.len())
                .map(|i| Distance::Octilinear.between(at, places[i]) - weights[i])
                .collect();
            all.sort_by(f64::total_cmp);
            all.truncate(count);
            prop_assert_eq!(found.iter().map(|f| f.0).collect::<Vec<_>>(), all);
        }
    }
}
