//! Where failures are drawn on a probability plot.
//!
//! The k-th of n failures is drawn at the median of its order statistic, a beta distribution. Units that are taken out
//! running move later failures: L. G. Johnson, The Statistical Treatment of Fatigue Experiments, Elsevier 1964, raises the
//! rank from failure to failure by `(n + 1 - rank before) / (1 + units left)`.

use facedown_field::distribution;

/// Median rank of the failure with the (possibly broken) order number `order` among `units`: the median of the beta
/// distribution with `order` and `units + 1 - order`. An order outside 0 to `units + 1` has none.
pub fn median(order: f64, units: usize) -> Option<f64> {
    let rest = units as f64 + 1.0 - order;
    (order > 0.0 && rest > 0.0).then(|| distribution::beta_quantile(0.5, order, rest)).flatten()
}

/// Order numbers of the failures in rising life, raised for units that were taken out running before. A unit taken out
/// at the life of a failure counts as having survived it.
pub fn orders(failures: &[f64], running: &[f64]) -> Vec<(f64, f64)> {
    let mut units: Vec<(f64, bool)> = failures.iter().map(|&t| (t, true)).collect();
    units.extend(running.iter().map(|&t| (t, false)));
    units.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
    let n = units.len();
    let mut order = 0.0;
    let mut found = Vec::with_capacity(failures.len());
    for (before, &(life, failed)) in units.iter().enumerate() {
        if failed {
            let left = (n - before) as f64;
            order += (n as f64 + 1.0 - order) / (1.0 + left);
            found.push((life, order));
        }
    }
    found
}

/// Failures in rising life with their median ranks (0 to 1).
pub fn adjusted(failures: &[f64], running: &[f64]) -> Vec<(f64, f64)> {
    let units = failures.len() + running.len();
    orders(failures, running)
        .into_iter()
        .filter_map(|(life, order)| Some((life, median(order, units)?)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn without_censoring_the_orders_are_whole() {
        let found: Vec<f64> = orders(&[5.0, 3.0, 9.0], &[]).iter().map(|p| p.1).collect();
        assert_eq!(found, [1.0, 2.0, 3.0]);
        // The first of n lies at 1 - 0.5^(1/n).
        assert!((median(1.0, 10).unwrap() - (1.0 - 0.5_f64.powf(0.1))).abs() < 1e-12);
        assert_eq!(median(0.0, 3), None);
        assert_eq!(median(4.0, 3), None);
    }

    proptest! {
        #[test]
        fn ranks_rise_and_are_near_their_approximation(
            failures in prop::collection::vec(1.0..1e4_f64, 1..30),
            running in prop::collection::vec(1.0..1e4_f64, 0..30),
        ) {
            let n = (failures.len() + running.len()) as f64;
            let found = adjusted(&failures, &running);
            prop_assert_eq!(found.len(), failures.len());
            prop_assert!(found.windows(2).all(|w| w[0].0 <= w[1].0 && w[0].1 < w[1].1));
            for ((_, rank), (_, order)) in found.iter().zip(orders(&failures, &running)) {
                // Benard and Bos-Levenbach 1953, good to about 1 % of the range for these sizes.
                prop_assert!((rank - (order - 0.3) / (n + 0.4)).abs() < 0.01);
            }
        }
    }
}
