//! Damage that cycles of several kinds add up to.
//!
//! M. A. Miner, Cumulative damage in fatigue, Journal of Applied Mechanics 12 (1945) A159: each kind of cycle uses the
//! share `n / N` of the life, in any order, and the joint fails when the shares add up to 1.

/// Sum of `n / N` over pairs of (cycles that happen, cycles that the joint would live). A kind that does no damage has
/// an endless `N` and adds nothing; both numbers must not be negative, and `N` not zero.
pub fn damage(kinds: impl IntoIterator<Item = (f64, f64)>) -> f64 {
    kinds.into_iter().map(|(happen, live)| if happen == 0.0 { 0.0 } else { happen / live }).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_add_up() {
        let sum = damage([(3650.0, 8000.0), (14_600.0, 60_000.0), (100.0, 900.0), (1e9, f64::INFINITY)]);
        assert!((sum - (3650.0 / 8000.0 + 14.6 / 60.0 + 1.0 / 9.0)).abs() < 1e-12);
        assert_eq!(damage([]), 0.0);
    }
}
