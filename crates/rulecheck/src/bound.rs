//! The least value found so far, shared by tasks that search at once.
//!
//! Nothing above the bound can be the least of all, so every task may stop looking there. Which task lowers it first
//! depends on chance, but what is found at or below the final bound does not.

use std::sync::atomic::{AtomicU64, Ordering};

/// A bound that only falls; not negative.
pub(crate) struct Bound(AtomicU64);

impl Bound {
    /// No bound yet.
    pub(crate) fn new() -> Bound {
        Bound(AtomicU64::new(f64::INFINITY.to_bits()))
    }

    /// The bound.
    pub(crate) fn get(&self) -> f64 {
        f64::from_bits(self.0.load(Ordering::Relaxed))
    }

    /// Lowers the bound to a value that was found. Bits of floating numbers that are not negative are ordered as the numbers are.
    pub(crate) fn lower(&self, value: f64) {
        self.0.fetch_min(value.max(0.0).to_bits(), Ordering::Relaxed);
    }
}
