//! Strength of dies.

use super::{Source, Table};
use crate::problem::Weibull;
use crate::strength::{four_point, principal, probability, risk, size_effect, three_point};
use facedown_evidence::Basis;

const WEIBULL: Source = Source(
    "W. Weibull, J. Appl. Mech. 18 (1951) 293: 1 - 1/e of the pieces fail at the characteristic strength; strength ratio (A2 / A1)^(1/m)",
    Basis::Published,
);
const BEAM: Source = Source(
    "beam theory, bending test of SEMI G86: 20 N, span 6 mm, 8 mm wide, 0.3 mm thick, by hand",
    Basis::Published,
);
const MOHR: Source = Source("principal stresses of pure shear, circle of O. Mohr 1882", Basis::Published);

pub(super) fn rows(table: &mut Table) {
    let w = Weibull { characteristic_pa: 300e6, shape: 5.0, reference: 1e-4, source: String::new() };
    let fails = |stress: f64, area: f64| probability(risk(&w, &[stress, -1e9], area));
    table.relative(
        "warpage-weibull-characteristic",
        WEIBULL,
        0.632_120_558_828_557_7,
        fails(300e6, 1e-4),
        1e-12,
    );
    // Twice the area at the strength that the size effect gives: the same probability.
    let smaller = 300e6 * size_effect(1e-4, 2e-4, 5.0).recip();
    table.relative("warpage-weibull-size", WEIBULL, 0.632_120_558_828_557_7, fails(smaller, 2e-4), 1e-12);
    table.relative(
        "warpage-weibull-ratio",
        WEIBULL,
        1.148_698_354_997_035,
        size_effect(1e-4, 2e-4, 5.0),
        1e-12,
    );
    table.relative("warpage-three-point", BEAM, 250e6, three_point(20.0, 6e-3, 8e-3, 0.3e-3), 1e-9);
    table.relative(
        "warpage-four-point",
        BEAM,
        166.666_666_7e6,
        four_point(20.0, 6e-3, 2e-3, 8e-3, 0.3e-3),
        1e-9,
    );
    table.within("warpage-pure-shear", MOHR, 50e6, principal([0.0, 0.0, 50e6])[0], 1e-3);
}
