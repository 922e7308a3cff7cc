//! A probability from a count: how sure a share of hits is.

use crate::distribution::normal_quantile;

/// The two-sided interval of a probability of which `hits` of `draws` independent draws were, by the score test (E. B. Wilson,
/// J. Amer. Statist. Assoc. 22 (1927) 209): never outside 0 to 1, and sound at no hits and at all. `confidence` from 0 to 1, both
/// excluded. Nothing for no draws, more hits than draws or a confidence outside.
pub fn wilson(hits: u64, draws: u64, confidence: f64) -> Option<[f64; 2]> {
    if draws == 0 || hits > draws || !(confidence > 0.0 && confidence < 1.0) {
        return None;
    }
    let z = normal_quantile(0.5 + 0.5 * confidence)?;
    let (n, p) = (draws as f64, hits as f64 / draws as f64);
    let middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    // At no hits the lower end is nothing, at all hits the upper one is one; rounding may miss them by a hair.
    let low = if hits == 0 { 0.0 } else { (middle - half).max(0.0) };
    let high = if hits == draws { 1.0 } else { (middle + half).min(1.0) };
    Some([low, high])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_intervals() {
        // R. G. Newcombe, Statistics in Medicine 17 (1998) 857, table I, method 3 (score), 95 %.
        for (hits, draws, low, high) in [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ] {
            let found = wilson(hits, draws, 0.95).unwrap();
            assert!((found[0] - low).abs() < 6e-5 && (found[1] - high).abs() < 6e-5, "{found:?}");
        }
        assert_eq!(wilson(3, 2, 0.95), None);
        assert_eq!(wilson(0, 0, 0.95), None);
        assert_eq!(wilson(1, 2, 1.0), None);
    }

    proptest::proptest! {
        #[test]
        fn an_interval_holds_its_share_and_mirrors(hits in 0_u64..200, more in 0_u64..200, confidence in 0.5..0.999_f64) {
            let draws = hits + more;
            proptest::prop_assume!(draws > 0);
            let [low, high] = wilson(hits, draws, confidence).unwrap();
            let share = hits as f64 / draws as f64;
            proptest::prop_assert!(0.0 <= low && low <= share && share <= high && high <= 1.0);
            let mirrored = wilson(more, draws, confidence).unwrap();
            proptest::prop_assert!((mirrored[0] - (1.0 - high)).abs() < 1e-12 && (mirrored[1] - (1.0 - low)).abs() < 1e-12);
        }
    }
}
