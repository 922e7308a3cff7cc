//! Sections of many layers.

use super::{Source, Table};
use crate::property::Elastic;
use crate::section::{Free, Ply, Section, stacked};
use facedown_evidence::Basis;

const KAW: Source = Source(
    "A. K. Kaw, Mechanics of Composite Materials, 2nd ed. 2006, chapter 4: [0/90] graphite/epoxy cooled by 75 K",
    Basis::FromMemory,
);
const LAMINATION: Source = Source(
    "classical lamination theory (P. H. Townsend, D. M. Barnett, T. A. Brunner 1987; C.-H. Hsueh 2002) evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const RATE: Source = Source(
    "film on a stiff wafer cooled through its glass transition: integral of E / (1 - nu) over the difference of expansions, with numpy (reference library)",
    Basis::ReferenceLibrary,
);

fn free(plies: &[Ply]) -> Free {
    let none = Free { strain: [f64::NAN; 2], curvature: [f64::NAN; 2] };
    Section::of(plies).free().unwrap_or(none)
}

fn cooled(modulus: f64, poisson: f64, ppm: f64) -> Elastic {
    Elastic { modulus, poisson, strain: -140.0 * ppm * 1e-6 }
}

/// Laminate, underfill and silicon from below.
pub(super) fn package(laminate: f64, underfill_ppm: f64) -> Vec<Ply> {
    stacked(
        0.0,
        &[
            (laminate, cooled(22e9, 0.2, 16.0)),
            (0.075e-3, cooled(8e9, 0.3, underfill_ppm)),
            (0.75e-3, cooled(131e9, 0.28, 2.8)),
        ],
    )
}

pub(super) fn rows(table: &mut Table) {
    // z runs down in the source: the 0 degree ply lies above. Seen from below, curvature keeps its sign with z.
    let strain = [0.02e-6 * -75.0, 22.5e-6 * -75.0];
    let poisson_yx = 0.28 * 10.3 / 181.0;
    let plies = [
        Ply::orthotropic([-5e-3, 0.0], [181e9, 10.3e9, 7.17e9], 0.28, strain),
        Ply::orthotropic([0.0, 5e-3], [10.3e9, 181e9, 7.17e9], poisson_yx, [strain[1], strain[0]]),
    ];
    let f = free(&plies);
    let stress = plies[1].stress(f.at(5e-3));
    let section = Section::of(&plies);
    for (id, expected, value) in [
        ("force", -1.1312e5, section.force[0]),
        ("moment", -153.8, section.moment[0]),
        ("strain-x", -3.907e-4, f.strain[0]),
        ("strain-y", -3.907e-4, f.strain[1]),
        ("curvature-x", -0.12765, f.curvature[0]),
        ("curvature-y", 0.12765, f.curvature[1]),
        ("stress-x", 7.535e6, stress[0]),
        ("stress-y", 47.18e6, stress[1]),
    ] {
        table.relative(&format!("warpage-laminate-{id}"), KAW, expected, value, 1e-3);
    }

    let plies = package(1e-3, 30.0);
    let f = free(&plies);
    let at = |ply: &Ply, z: f64| ply.stress(f.at(z))[0] * 1e-6;
    for (id, expected, value) in [
        ("curvature", 1.392_43, f.curvature[0]),
        ("die-bottom", -114.01, at(&plies[2], plies[2].bottom)),
        ("die-top", 76.00, at(&plies[2], plies[2].top)),
        ("laminate-bottom", -7.58, at(&plies[0], 0.0)),
        ("laminate-top", 30.72, at(&plies[0], plies[0].top)),
    ] {
        table.relative(&format!("warpage-package-section-{id}"), LAMINATION, expected, value, 1e-3);
    }
    for (mm, expected) in
        [(0.2, 0.8126), (0.4, 1.2198), (0.6, 1.4033), (0.8, 1.4368), (1.4, 1.2262), (2.0, 0.9802)]
    {
        let value = free(&package(mm * 1e-3, 30.0)).curvature[0];
        table.relative(&format!("warpage-substrate-{mm}-mm"), LAMINATION, expected, value, 1e-3);
    }
    for (ppm, expected) in [(20.0, 1.3822), (40.0, 1.4027)] {
        let value = free(&package(1e-3, ppm)).curvature[0];
        table.relative(&format!("warpage-underfill-{ppm}-ppm"), LAMINATION, expected, value, 1e-3);
    }
    // Polyimide of 10 um on a wafer of 725 um, cooled by 325 K.
    let wafer = Elastic { modulus: 180.2e9 * (1.0 - 0.279), poisson: 0.279, strain: -325.0 * 2.8e-6 };
    let film = Elastic { modulus: 3.5e9, poisson: 0.35, strain: -325.0 * 35e-6 };
    let plies = stacked(0.0, &[(725e-6, wafer), (10e-6, film)]);
    let f = free(&plies);
    table.relative("warpage-film-curvature", LAMINATION, 0.036_127, -f.curvature[0], 2e-3);
    let stress = plies[1].stress(f.at(730e-6))[0];
    table.relative("warpage-film-stress", LAMINATION, 56.26, stress * 1e-6, 2e-3);

    // Two intervals of 53 K with the rubbery and 87 K with the glassy modulus.
    let grown: f64 = [(0.136e9, 85.0, -53.0), (13.5e9, 23.0, -87.0)]
        .iter()
        .map(|&(modulus, ppm, kelvins)| {
            let e = Elastic { modulus, poisson: 0.3, strain: ppm * 1e-6 * kelvins };
            Ply::isotropic(0.0, 1e-6, e).stress([3e-6 * kelvins; 2])[0]
        })
        .sum();
    table.relative("warpage-through-glass-transition", RATE, 34.40, grown * 1e-6, 1e-3);
}
