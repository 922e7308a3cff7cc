//! Checks of inductance, capacitance and lines.

use super::{Basis, Source, Table};
use crate::line::{Strip, strip};
use crate::{capacitance, inductance};

const ROSA: Source = Source(
    "Rosa, Bulletin of the Bureau of Standards 4 (1908) 301, form for a round wire evaluated with scipy",
    Basis::ReferenceLibrary,
);
const DISC: Source = Source(
    "Neumann's integral over the distance distribution of a disc, evaluated with scipy",
    Basis::ReferenceLibrary,
);
const FOURFOLD: Source =
    Source("Neumann's integral over both cross-sections, evaluated with scipy", Basis::ReferenceLibrary);
const NEUMANN: Source =
    Source("Rosa 1908, mutual inductance of two filaments, evaluated with scipy", Basis::ReferenceLibrary);
const PUCEL: Source = Source(
    "Goldfarb and Pucel, IEEE Microwave and Guided Wave Letters 1 (1991) 135, evaluated with scipy",
    Basis::ReferenceLibrary,
);
const PLANE: Source =
    Source("acosh(h/r) of a wire over a plane, evaluated with scipy", Basis::ReferenceLibrary);
const LIBRARY: Source = Source(
    "scikit-rf, static microstrip of zero thickness (Hammerstad and Jensen 1980)",
    Basis::ReferenceLibrary,
);
const EXACT: Source = Source(
    "image Green's function of the slab (Silvester, Proc. IEE 115 (1968) 43) with Chebyshev charges, evaluated with scipy; \
     the tolerance is the accuracy that Hammerstad and Jensen 1980 claim",
    Basis::ReferenceLibrary,
);
const THICK: Source = Source(
    "graded two-dimensional boundary elements of a thick strip in one medium, computed with numpy and converged to 1e-5; the closed form with \
     thickness is held to the 0.2 percent that this comparison shows",
    Basis::ReferenceLibrary,
);
const SQUARE: Source = Source(
    "Rosa 1908 and Grover, Inductance Calculations, 1946: (2 mu0 s/pi) [ln(s/r) + r/s - 0.524]; recalled, not read again; its \
     constant has three digits",
    Basis::FromMemory,
);

pub(super) fn rows(table: &mut Table) {
    let bar = |l, r| inductance::round_bar(l, r).unwrap_or(f64::NAN) * 1e12;
    table.relative("electrical-wire-1", DISC, 864.1518, bar(1e-3, 12.7e-6), 1e-7);
    table.relative("electrical-wire-2", DISC, 2003.275, bar(2e-3, 12.7e-6), 3e-7);
    table.relative("electrical-wire-rosa", ROSA, 864.392, inductance::rosa_wire(1e-3, 12.7e-6) * 1e12, 6e-7);
    table.relative("electrical-bump", DISC, 14.204_40, bar(80e-6, 50e-6), 4e-7);
    table.relative("electrical-bump-rosa", ROSA, 15.1158, inductance::rosa_wire(80e-6, 50e-6) * 1e12, 4e-6);
    table.relative(
        "electrical-filaments-long",
        NEUMANN,
        418.647_078,
        inductance::filaments(1e-3, 100e-6) * 1e12,
        2e-9,
    );
    table.relative(
        "electrical-filaments-short",
        NEUMANN,
        4.173_210,
        inductance::filaments(80e-6, 150e-6) * 1e12,
        2e-7,
    );
    let mutual = inductance::round_bars(80e-6, 50e-6, 150e-6);
    table.relative("electrical-bump-mutual", FOURFOLD, 4.279_522, mutual * 1e12, 2e-7);
    let pair = inductance::pair_loop(bar(80e-6, 50e-6) * 1e-12, mutual);
    table.relative("electrical-bump-pair", FOURFOLD, 19.849_76, pair * 1e12, 3e-7);
    table.relative(
        "electrical-via-inductance",
        PUCEL,
        18.470_959,
        inductance::via(100e-6, 25e-6) * 1e12,
        3e-8,
    );
    let over = inductance::wire_over_plane(150e-6, 12.7e-6);
    table.relative("electrical-wire-over-plane", PLANE, 0.632_077e-6, over, 1e-6);
    let plane = capacitance::wire_over_plane(2.0, 1.0, 1.0);
    table.relative("electrical-wire-capacitance", PLANE, 42.243_190e-12, plane, 2e-8);
    for (id, u, er, library, exact, effective) in [
        ("electrical-line-1-air", 1.0, 1.0, 126.4239, 126.423_868, 1.0),
        ("electrical-line-2-air", 2.0, 1.0, 89.0289, 89.028_750, 1.0),
        ("electrical-line-1-9.6", 1.0, 9.6, 49.7686, 49.785_172, 6.448_491),
        ("electrical-line-2-4.2", 2.0, 4.2, 49.7140, 49.706_549, 3.207_992),
        ("electrical-line-rdl", 4.0 / 3.0, 3.3, 69.5848, 69.567_534, 2.517_628),
    ] {
        let flat = Strip { width_m: u, thickness_m: 0.0, height_m: 1.0, permittivity: er, cover: 1.0 };
        let computed = strip(&flat);
        table.within(id, LIBRARY, library, computed.impedance_ohm, 6e-5);
        // Half of 0.2 percent of the effective permittivity, and 0.03 percent of the impedance in air.
        table.relative(&format!("{id}-exact"), EXACT, exact, computed.impedance_ohm, 1.3e-3);
        // In air the effective permittivity is 1 and checks nothing.
        if er > 1.0 {
            table.relative(&format!("{id}-effective"), EXACT, effective, computed.effective, 2e-3);
        }
    }
    let thick = Strip { width_m: 20e-6, thickness_m: 5e-6, height_m: 15e-6, permittivity: 1.0, cover: 1.0 };
    table.relative("electrical-line-thick", THICK, 97.3853, strip(&thick).impedance_ohm, 2e-3);
    // In one medium all around, capacitance grows with the permittivity and nothing else.
    let filled = strip(&Strip { permittivity: 3.3, cover: 3.3, ..thick });
    table.relative("electrical-line-thick-filled", THICK, 34.252e-12 * 3.3, filled.capacitance(), 2e-3);
    // A square of 1 m of 1 mm wire from its four sides; sides at right angles do not couple.
    let square = 4.0 * (bar(1.0, 1e-3) * 1e-12 - inductance::filaments(1.0, 1.0));
    table.relative("electrical-square-loop", SQUARE, 5.107_804e-6, square, 2e-5);
}

#[cfg(test)]
mod tests {
    use crate::compare;

    #[test]
    fn bounce_by_hand() {
        let outputs = crate::problem::Switching {
            drivers: 32,
            driver_current_a: 20e-3,
            edge_time_s: 0.5e-9,
            load_f: 0.0,
            supply_pairs: 8,
        };
        assert!((compare::bounce(1e-9, &outputs) - 0.160).abs() < 1e-12);
        assert!((compare::lumped_delay(2.0, 0.0, 2e-12, 3e-12) - 8e-12).abs() < 1e-24);
    }
}
