//! Pairs of plates joined along a line, and round plates of rings.

use super::{Source, Table};
use crate::annular::{self, Ring};
use crate::property::Elastic;
use crate::section::{Section, stacked};
use crate::shear_lag::{Layer, Member, Pair};
use facedown_evidence::Basis;

const SUHIR: Source = Source(
    "aluminium on molybdenum, 50.8 mm, cooled by 240 K: formulas of E. Suhir, J. Appl. Mech. 53 (1986) 657 evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const FINITE: Source = Source(
    "die of 15 mm on a laminate of 35 mm: formulas of E. Suhir 1986 with the laminate straight beyond the die, evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const LAME: Source = Source(
    "S. Timoshenko, J. N. Goodier, Theory of Elasticity, 3rd ed. 1970, article 151: disc with a warm core, core stress -E a T (1 - r2 / R2) / 2",
    Basis::Published,
);

struct Metal {
    modulus: f64,
    poisson: f64,
    strain: f64,
}

/// What Young's modulus is divided by, of Poisson's ratio.
type Form = fn(f64) -> f64;

/// Which form of the modulus for stretching and for bending.
fn member(m: &Metal, stretch: Form, bend: Form) -> Member {
    let shear = m.modulus / (2.0 * (1.0 + m.poisson));
    Member::single(2.5e-3, m.modulus / stretch(m.poisson), m.modulus / bend(m.poisson), shear, m.strain)
}

pub(super) fn rows(table: &mut Table) {
    let molybdenum = Metal { modulus: 325e9, poisson: 0.293, strain: -240.0 * 4.9e-6 };
    let aluminium = Metal { modulus: 70e9, poisson: 0.345, strain: -240.0 * 23.6e-6 };
    let plate = |nu: f64| 1.0 - nu;
    let wide = |nu: f64| 1.0 - nu * nu;
    let forms: [(&str, Form, Form, [f64; 4]); 3] = [
        ("mixed", plate, wide, [182.5, 1.2660, 405.3, 92.1]),
        ("wide", wide, wide, [174.1, 1.1521, 369.1, 92.1]),
        ("plate", plate, plate, [199.6, 1.1623, 371.5, 90.4]),
    ];
    let half = 25.4e-3;
    for (id, stretch, bend, [shear, curvature, bow, peel]) in forms {
        let pair = Pair::new(
            member(&molybdenum, stretch, bend),
            member(&aluminium, stretch, bend),
            Layer { thickness: 0.0, shear: 1.0 },
            true,
        );
        for (what, expected, value) in [
            ("shear", shear, pair.shear(half, half).abs() * 1e-6),
            ("curvature", curvature, pair.curvature(0.0, half).abs()),
            ("bow", bow, pair.height(half, half).abs() * 1e6),
            ("peel", peel, pair.peel(half, half).abs() * 1e-6),
        ] {
            table.relative(&format!("warpage-thermostat-{id}-{what}"), SUHIR, expected, value, 1e-3);
        }
    }

    // Underfill only as the layer that shears, without thickness of its own in the lever.
    let e = |modulus: f64, poisson: f64, ppm: f64| Elastic { modulus, poisson, strain: -140.0 * ppm * 1e-6 };
    let (die, laminate) = (e(131e9, 0.28, 2.8), e(22e9, 0.2, 16.0));
    let fill = e(8e9, 0.3, 30.0).shear();
    // A layer so thin that its lever does not count, with the compliance of 75 um.
    let layer = Layer { thickness: 75e-12, shear: fill * 1e-6 };
    let pair =
        Pair::new(Member::of(&[(0.75e-3, die)], true), Member::of(&[(1e-3, laminate)], false), layer, true);
    let half = 7.5e-3;
    for (id, expected, value) in [
        ("curvature", 1.4119, pair.curvature(0.0, half)),
        ("decay", 0.7056, 1e3 / pair.decay),
        ("die-edge", -39.0, pair.height(half, half) * 1e6),
        ("side", -134.9, pair.height(17.5e-3, half) * 1e6),
    ] {
        table.relative(&format!("warpage-finite-die-{id}"), FINITE, expected, value, 1e-3);
    }

    // A warm core of radius r in a disc of radius R, the same material; and the same turned into bending by two
    // faces.
    let (core, rim, heat) = (0.4, 1.0, 1e-3);
    let e = |strain: f64| Elastic { modulus: 200e9, poisson: 0.3, strain };
    let disc = |strains: [f64; 2], at: f64| {
        let plies = stacked(at, &[(0.5, e(strains[0])), (0.5, e(strains[1]))]);
        Section::of(&plies)
    };
    let expected = -200e9 * heat * (1.0 - core * core / (rim * rim)) / 2.0;
    let stretched = [
        Ring { outer: core, section: disc([heat; 2], -0.5) },
        Ring { outer: rim, section: disc([0.0; 2], -0.5) },
    ];
    let value =
        annular::solve(&stretched).map_or(f64::NAN, |s| e(heat).biaxial() * (s.at(core / 2.0).0[0] - heat));
    table.relative("warpage-warm-core", LAME, expected, value, 1e-9);
    // Seen from another plane the same disc must give the same stress: stretching and bending are coupled there.
    let shifted = stretched.map(|r| Ring { section: r.section.seen_from(0.3), ..r });
    let value = annular::solve(&shifted).map_or(f64::NAN, |s| {
        let (strain, curvature) = s.at(core / 2.0);
        e(heat).biaxial() * (strain[1] - 0.3 * curvature[1] - heat)
    });
    table.relative("warpage-warm-core-from-another-plane", LAME, expected, value, 1e-9);
}
