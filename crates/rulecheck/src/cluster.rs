//! Many close-by hits of one rule told as one violation.
//!
//! A line too near to another one breaks the rule at every pair of their edges. Hits with the same key (the nets)
//! whose places chain together within a reach are one violation, told at its worst place.

use crate::sets::Sets;
use std::collections::BTreeMap;

/// One hit of a rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Hit {
    /// What takes part, smaller number first.
    pub(crate) key: (u32, u32),
    /// How bad: smaller is worse, nm.
    pub(crate) value: f64,
    /// Where, nm.
    pub(crate) at: [f64; 2],
    /// The two edges that were measured and the next ones after them, where there are such. Naming the next ones
    /// chains neighbours on an outline.
    pub(crate) edges: Option<[u32; 4]>,
}

impl Hit {
    /// Order by value, then place, then key.
    pub(crate) fn order(&self, other: &Hit) -> std::cmp::Ordering {
        self.value
            .total_cmp(&other.value)
            .then(self.at[0].total_cmp(&other.at[0]))
            .then(self.at[1].total_cmp(&other.at[1]))
            .then(self.key.cmp(&other.key))
    }
}

/// The worst hit of every cluster, sorted by key and place. Hits chain when they lie in the same or in neighbouring
/// cells of a grid of `reach` nm, or when they share an edge (a long edge is hit at one place only).
pub(crate) fn worst(hits: Vec<Hit>, reach: i64) -> Vec<Hit> {
    let side = reach.max(1) as f64;
    let cell_of = |hit: &Hit| (hit.key, (hit.at[0] / side).floor() as i64, (hit.at[1] / side).floor() as i64);
    let mut cells: BTreeMap<((u32, u32), i64, i64), Hit> = BTreeMap::new();
    for hit in &hits {
        let keep = |worst: &mut Hit| {
            if hit.order(worst).is_lt() {
                *worst = *hit;
            }
        };
        cells.entry(cell_of(hit)).and_modify(keep).or_insert(*hit);
    }
    let numbers: BTreeMap<_, u32> = cells.keys().enumerate().map(|(i, k)| (*k, i as u32)).collect();
    let mut sets = Sets::new(cells.len());
    for ((key, x, y), number) in &numbers {
        for (dx, dy) in [(1, 0), (-1, 1), (0, 1), (1, 1)] {
            if let Some(other) = numbers.get(&(*key, x + dx, y + dy)) {
                sets.join(*number, *other);
            }
        }
    }
    let mut by_edge: Vec<((u32, u32), u32, u32)> = hits
        .iter()
        .filter_map(|h| Some((h.key, h.edges?, *numbers.get(&cell_of(h))?)))
        .flat_map(|(key, edges, number)| edges.map(|e| (key, e, number)))
        .collect();
    by_edge.sort_unstable();
    for pair in by_edge.windows(2) {
        if (pair[0].0, pair[0].1) == (pair[1].0, pair[1].1) {
            sets.join(pair[0].2, pair[1].2);
        }
    }
    let (set_of, count) = sets.numbered();
    let mut worst: Vec<Option<Hit>> = vec![None; count as usize];
    for (hit, set) in cells.into_values().zip(set_of) {
        let slot = &mut worst[set as usize];
        if slot.is_none_or(|w| hit.order(&w).is_lt()) {
            *slot = Some(hit);
        }
    }
    let mut worst: Vec<Hit> = worst.into_iter().flatten().collect();
    worst.sort_by(|a, b| a.key.cmp(&b.key).then(a.order(b)));
    worst
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_is_one_violation_and_a_far_place_another() {
        let hit = |x: f64, value: f64| Hit { key: (0, 1), value, at: [x, 0.0], edges: None };
        let runs = worst(vec![hit(0.0, 5.0), hit(8.0, 4.0), hit(17.0, 6.0), hit(100.0, 3.0)], 10);
        assert_eq!(runs, [hit(100.0, 3.0), hit(8.0, 4.0)]);
    }

    #[test]
    fn far_places_on_one_edge_are_one_violation() {
        let hit = |x: f64, edges| Hit { key: (0, 1), value: 5.0, at: [x, 0.0], edges: Some(edges) };
        assert_eq!(worst(vec![hit(0.0, [1, 2, 7, 8]), hit(500.0, [8, 9, 3, 4])], 10).len(), 1);
        assert_eq!(worst(vec![hit(0.0, [1, 2, 7, 8]), hit(500.0, [9, 10, 3, 4])], 10).len(), 2);
    }
}
