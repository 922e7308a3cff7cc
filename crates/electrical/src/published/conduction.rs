//! Checks of squares, vias, bumps, planes and shares of current.

use super::{Basis, Source, Table};
use crate::conductor::{self, corner_squares, step_squares, unequal_corner_squares};
use crate::problem::{Metal, Piece};
use crate::{sharing, spreading};

const HALL: Source = Source(
    "P. M. Hall, Thin Solid Films 1 (1967) 277: a right-angle corner counts 0.559 squares; recalled, not read again",
    Basis::FromMemory,
);
const MAP: Source = Source(
    "Schwarz-Christoffel map of the corner or step of a strip (same family as Hall 1967), evaluated with scipy",
    Basis::ReferenceLibrary,
);
const BERGER: Source = Source(
    "Berger, Solid-State Electronics 15 (1972) 145, form evaluated with scipy",
    Basis::ReferenceLibrary,
);
const SPHERE: Source = Source(
    "truncated sphere in equipotential slices, integral evaluated with scipy",
    Basis::ReferenceLibrary,
);
const ELEMENTS: Source = Source(
    "one cell of a bump array by least squares over its multipoles with numpy; the tolerance is the accuracy of the form checked",
    Basis::ReferenceLibrary,
);
const MEMBRANE: Source = Source(
    "Timoshenko and Goodier, Theory of Elasticity, 1951, table of the torsion of rectangular bars: 0.1406 b^4 for the square; \
     recalled, not read again",
    Basis::FromMemory,
);
const SERIES: Source =
    Source("membrane series of a rectangular plate, evaluated with scipy", Basis::ReferenceLibrary);
const FIBONACCI: Source = Source(
    "numpy, nodal analysis of a ladder of equal resistors (ratios of Fibonacci numbers)",
    Basis::ReferenceLibrary,
);
const IACS: Source = Source(
    "IEC 60028 (1925): annealed copper 0.017241 ohm mm2/m, coefficient 0.00393 1/K at 20 degC; recalled, not read again",
    Basis::FromMemory,
);

pub(super) fn rows(table: &mut Table) {
    table.within("electrical-corner", HALL, 0.559, corner_squares(), 0.0005);
    for (id, r, expected) in [
        ("electrical-corner-1", 1.0, 0.558_728_800),
        ("electrical-corner-2", 2.0, 0.643_537_249),
        ("electrical-corner-4", 4.0, 0.873_438_311),
        ("electrical-corner-10", 10.0, 1.317_828_620),
    ] {
        table.within(id, MAP, expected, unequal_corner_squares(r), 1e-9);
    }
    table.within("electrical-step-2", MAP, 0.249_832_586, step_squares(0.5), 1e-9);
    table.within("electrical-step-4", MAP, 0.649_967_098, step_squares(0.25), 1e-9);
    table.relative(
        "electrical-landing",
        BERGER,
        4.575_486e-3,
        conductor::landing(1e-13, 0.02, 5e-6, 10e-6),
        2e-7,
    );
    let metal =
        |resistivity_ohm_m| Metal { resistivity_ohm_m, coefficient_per_k: 3.93e-3, reference_k: 293.15 };
    let ball = Piece {
        name: "solder".into(),
        height_m: (120e-6_f64.powi(2) - 90e-6_f64.powi(2)).sqrt(),
        diameter_m: 90e-6,
        waist_m: Some(120e-6),
        metal: metal(1.3e-7),
    };
    table.relative("electrical-sphere", SPHERE, 1.097_082e-3, conductor::piece(&ball, 293.15), 5e-7);
    // A kilometre of 1 mm2 at 20 degC and at 100 degC.
    table.within(
        "electrical-copper-20",
        IACS,
        17.241,
        conductor::sheet(&metal(1.7241e-8), 1e-6, 293.15) * 1e3,
        5e-4,
    );
    let rise = conductor::resistivity(&metal(1.7241e-8), 373.15) / 1.7241e-8;
    table.within("electrical-copper-100", IACS, 1.3144, rise, 5e-5);
    for (id, ratio, corner, mean) in [
        ("electrical-array-200", 0.25, 0.082_805_6, 0.041_767_8),
        ("electrical-array-250", 0.2, 0.112_725_0, 0.066_942_9),
    ] {
        table.relative(&format!("{id}-corner"), ELEMENTS, corner, spreading::corner_drop(ratio), 5e-4);
        table.relative(&format!("{id}-mean"), ELEMENTS, mean, spreading::mean_drop(ratio), 3e-4);
    }
    table.within("electrical-edge-fed-torsion", MEMBRANE, 0.1406, 4.0 * spreading::edge_fed_mean(1.0), 5e-5);
    for (id, aspect, expected) in [
        ("electrical-edge-fed-1", 1.0, 0.073_671_4),
        ("electrical-edge-fed-1.5", 1.5, 0.067_180_9),
        ("electrical-edge-fed-2", 2.0, 0.056_935_9),
        ("electrical-edge-fed-3", 3.0, 0.040_894_1),
    ] {
        table.within(id, SERIES, expected, spreading::edge_fed_max(aspect), 5.1e-8);
    }
    let shares = sharing::ladder(5, 1.0, 1.0);
    for (k, part) in [34.0, 13.0, 5.0, 2.0, 1.0].into_iter().enumerate() {
        let computed = shares.get(k).copied().unwrap_or(f64::NAN);
        table.relative(&format!("electrical-ladder-{}", k + 1), FIBONACCI, part / 55.0, computed, 1e-12);
    }
}
