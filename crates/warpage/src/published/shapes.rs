//! Signed warpage and its limits.

use super::{Source, Table};
use crate::limits::permissible;
use crate::shape::{places, signed_warpage};
use facedown_evidence::Basis;

const RULE: Source = Source(
    "JEITA ED-7306 (2007): peak to valley about the least-squares plane, sign from the diagonals; w = a x2 + b y2 + c xy over a square, by hand",
    Basis::Published,
);
const LIMITS: Source = Source(
    "JEITA ED-7306 (2007) table 1, as two independent documents quote it (0.8 and 1.0 mm also SMT Magazine, August 2015)",
    Basis::Published,
);

pub(super) fn rows(table: &mut Table) {
    let cases = [
        ("dome", [-40.0, -40.0, 0.0], 80.0),
        ("twisted-dome", [-40.0, -40.0, 30.0], 110.0),
        ("saddle", [25.0, -15.0, 0.0], -40.0),
        ("twist", [10.0, 10.0, -60.0], -120.0),
    ];
    for (id, [a, b, c], expected) in cases {
        // Two more whole turns of plane change nothing.
        let heights: Vec<f64> = places(2.0, 2.0, 41)
            .into_iter()
            .map(|[x, y]| a * x * x + b * y * y + c * x * y + 7.0 * x - 3.0 * y + 11.0)
            .collect();
        let value = signed_warpage(&heights, 41).unwrap_or(f64::NAN);
        table.within(&format!("warpage-sign-{id}"), RULE, expected, value, 1e-9);
    }
    for (pitch, expected) in [(0.4, 0.10), (0.5, 0.11), (0.65, 0.14), (0.8, 0.17), (1.0, 0.22), (1.27, 0.25)]
    {
        let value = permissible(pitch * 1e-3).map_or(f64::NAN, |w| w * 1e3);
        table.within(&format!("warpage-permissible-{pitch}"), LIMITS, expected, value, 1e-12);
    }
}
