//! Warpage that standards permit, by ball pitch.

use crate::outcome::Permissible;

/// Largest magnitude of warpage at elevated temperature by pitch, in mm: JEITA ED-7306 (2007) table 1, as two
/// independent documents quote it. Each pitch with its ball height condition there: 0.20, 0.25, 0.33, 0.35 or 0.40,
/// 0.50, 0.60 mm.
const ED_7306: [(f64, f64); 6] =
    [(0.4, 0.10), (0.5, 0.11), (0.65, 0.14), (0.8, 0.17), (1.0, 0.22), (1.27, 0.25)];

/// The table, m.
pub fn table() -> Vec<Permissible> {
    ED_7306
        .iter()
        .map(|&(pitch, warpage)| Permissible { pitch_m: pitch * 1e-3, warpage_m: warpage * 1e-3 })
        .collect()
}

/// Permissible magnitude at a pitch, m: that of the next smaller pitch in the table; nothing below its smallest
/// pitch. Over its largest pitch that of the largest.
pub fn permissible(pitch_m: f64) -> Option<f64> {
    ED_7306
        .iter()
        .rev()
        .find(|(pitch, _)| pitch * 1e-3 <= pitch_m * (1.0 + 1e-6))
        .map(|(_, warpage)| warpage * 1e-3)
}
