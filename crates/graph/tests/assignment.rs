//! Assignment against brute force, and the point solver against the dense one.
use facedown_graph::assignment::{
    AssignmentError, CostMatrix, Distance, assign_bottleneck, assign_dense, assign_points,
};
use proptest::prelude::*;

/// Least total and least largest cost over all complete pairings of rows, by trying every one.
fn brute_force(costs: &[Vec<f64>]) -> (f64, f64) {
    fn go(costs: &[Vec<f64>], row: usize, used: &mut Vec<bool>, sum: f64, top: f64, best: &mut (f64, f64)) {
        if row == costs.len() {
            *best = (best.0.min(sum), best.1.min(top));
            return;
        }
        for j in 0..used.len() {
            if !used[j] {
                used[j] = true;
                go(costs, row + 1, used, sum + costs[row][j], top.max(costs[row][j]), best);
                used[j] = false;
            }
        }
    }
    let mut best = (f64::INFINITY, f64::INFINITY);
    let columns = costs.first().map_or(0, Vec::len);
    go(costs, 0, &mut vec![false; columns], 0.0, f64::NEG_INFINITY, &mut best);
    best
}

fn matrices() -> impl Strategy<Value = Vec<Vec<f64>>> {
    (1usize..6, 0usize..3).prop_flat_map(|(n, extra)| {
        let cost = prop_oneof![5 => (-9i32..10).prop_map(f64::from), 1 => Just(f64::INFINITY)];
        prop::collection::vec(prop::collection::vec(cost, n + extra), n)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn dense_and_bottleneck_agree_with_brute_force(costs in matrices()) {
        let (least_total, least_top) = brute_force(&costs);
        let matrix = CostMatrix::from_fn(costs.len(), costs[0].len(), |i, j| costs[i][j]).unwrap();
        match assign_dense(&matrix) {
            Ok(best) => {
                prop_assert_eq!(best.total, least_total);
                prop_assert!((best.bound() - best.total).abs() < 1e-9);
                for (i, row) in costs.iter().enumerate() {
                    for (j, cost) in row.iter().enumerate() {
                        prop_assert!(best.row_price[i] + best.column_price[j] <= cost + 1e-9);
                    }
                }
                let top = assign_bottleneck(&matrix).unwrap();
                prop_assert_eq!(top.largest, least_top);
                for (i, j) in top.column_of_row.iter().enumerate() {
                    prop_assert!(costs[i][*j] <= least_top);
                }
            }
            Err(AssignmentError::Infeasible { .. }) => {
                prop_assert!(least_total.is_infinite());
                prop_assert!(assign_bottleneck(&matrix).is_err());
            }
            Err(other) => prop_assert!(false, "{}", other),
        }
    }

    #[test]
    fn a_transposed_matrix_costs_the_same(costs in matrices()) {
        let (n, m) = (costs.len(), costs[0].len());
        let upright = CostMatrix::from_fn(n, m, |i, j| costs[i][j]).unwrap();
        let turned = CostMatrix::from_fn(m, n, |j, i| costs[i][j]).unwrap();
        let totals = (assign_dense(&upright).map(|a| a.total).ok(), assign_dense(&turned).map(|a| a.total).ok());
        prop_assert_eq!(totals.0, totals.1);
    }
}

/// Random points, some on a coarse lattice so that ties abound.
fn points(count: usize, lattice: bool, seed: u64) -> Vec<[f64; 2]> {
    use rand_pcg::Pcg64Mcg;
    use rand_pcg::rand_core::Rng;
    let mut random = Pcg64Mcg::new(seed as u128 | 1);
    (0..count)
        .map(|_| {
            [(); 2].map(|_| {
                let x = (random.next_u32() >> 8) as f64 / (1u32 << 24) as f64 * 1e4;
                if lattice { (x / 500.0).floor() * 500.0 } else { x }
            })
        })
        .collect()
}

#[test]
fn points_cost_the_same_as_their_matrix() {
    for (seed, (n, m)) in [(240, 240), (300, 310), (250, 500), (900, 400), (700, 701)].into_iter().enumerate()
    {
        for (lattice, distance) in
            [(false, Distance::Euclidean), (true, Distance::Octilinear), (true, Distance::Rectilinear)]
        {
            let rows = points(n, lattice, seed as u64 * 7 + 1);
            let columns = points(m, false, seed as u64 * 7 + 2);
            let fast = assign_points(&rows, &columns, distance).unwrap();
            let costs = CostMatrix::from_fn(n, m, |i, j| distance.between(rows[i], columns[j])).unwrap();
            let slow = assign_dense(&costs).unwrap();
            assert!((fast.total - slow.total).abs() <= 1e-9 * slow.total, "{n} x {m} {distance:?}");
            assert!((fast.total - fast.bound()).abs() <= 1e-9 * slow.total, "{n} x {m} {distance:?}");
            let mut used: Vec<usize> = fast.column_of_row.iter().flatten().copied().collect();
            assert_eq!(used.len(), n.min(m));
            used.sort_unstable();
            used.dedup();
            assert_eq!(used.len(), n.min(m), "no column twice");
        }
    }
}

#[test]
fn coinciding_points_are_paired_all_the_same() {
    let rows = vec![[5.0, 5.0]; 300];
    let columns = points(400, true, 3);
    let fast = assign_points(&rows, &columns, Distance::Euclidean).unwrap();
    let mut reach: Vec<f64> = columns.iter().map(|c| Distance::Euclidean.between([5.0, 5.0], *c)).collect();
    reach.sort_by(f64::total_cmp);
    let nearest: f64 = reach[..300].iter().sum();
    assert!((fast.total - nearest).abs() < 1e-6);
}

#[test]
fn bad_numbers_are_refused() {
    assert_eq!(
        CostMatrix::new(1, 2, vec![0.0, f64::NAN]),
        Err(AssignmentError::NotACost { row: 0, column: 1 })
    );
    assert!(CostMatrix::new(2, 2, vec![0.0]).is_err());
    assert_eq!(
        assign_points(&[[f64::NAN, 0.0]], &[[0.0, 0.0]], Distance::Euclidean),
        Err(AssignmentError::NotAPoint { index: 0 })
    );
    assert!(assign_points(&[], &[], Distance::Euclidean).unwrap().column_of_row.is_empty());
}
