//! Two layers: bimetals and thin films.

use super::{Source, Table};
use crate::property::Elastic;
use crate::section::{Section, stacked};
use crate::strip::{bimetal, sag, stoney, tip};
use facedown_evidence::Basis;

const BOLEY: Source = Source(
    "B. A. Boley, J. H. Weiner, Theory of Thermal Stresses 1960: beam of two layers on two supports, 0.900 in as quoted in a published collection of verification problems",
    Basis::Published,
);
const TIMOSHENKO: Source = Source(
    "S. Timoshenko, Analysis of bi-metal thermostats, J. Opt. Soc. Am. 11 (1925) 233: 1.5 (difference of strain) / h for equal layers, little less for unlike moduli",
    Basis::Published,
);
const THERMOSTAT: Source = Source(
    "copper on Invar, cantilever of 0.1 m, 1 + 1 mm: S. Timoshenko 1925 evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const FREUND: Source = Source(
    "L. B. Freund, J. A. Floro, E. Chason, Appl. Phys. Lett. 74 (1999) 1987: curvature of two layers over Stoney's, (1 + h) / (1 + 4hm + 6h2m + 4h3m + h4m2)",
    Basis::Published,
);

fn elastic(modulus: f64, poisson: f64, strain: f64) -> Elastic {
    Elastic { modulus, poisson, strain }
}

/// Curvature of two layers, the first below, as a plate or (without Poisson's ratios) a strip; positive where the
/// upper layer is convex.
fn section(thickness: [f64; 2], layers: [Elastic; 2]) -> f64 {
    let plies = stacked(0.0, &[(thickness[0], layers[0]), (thickness[1], layers[1])]);
    Section::of(&plies).free().map_or(f64::NAN, |f| f.curvature[0])
}

pub(super) fn rows(table: &mut Table) {
    let inch = 0.0254;
    let psi = 6894.757;
    let layers = [elastic(1e7 * psi, 0.0, 14.5e-6 * 400.0), elastic(1e7 * psi, 0.0, 2.5e-6 * 400.0)];
    let thickness = [0.05 * inch; 2];
    let strains = layers.map(|l| l.strain);
    let moduli = layers.map(|l| l.modulus);
    let closed = sag(bimetal(thickness, moduli, strains).abs(), 10.0 * inch) / inch;
    table.relative("warpage-bimetal-sag", BOLEY, 0.900, closed, 1e-3);
    let whole = sag(section(thickness, layers).abs(), 10.0 * inch) / inch;
    table.relative("warpage-bimetal-sag-as-laminate", BOLEY, 0.900, whole, 1e-3);

    for (id, ratio, expected) in [("equal", 1.0, 1.5), ("double", 2.0, 1.4545), ("half", 0.5, 1.4545)] {
        // h curvature / strain of two equal layers; the printed figures end at the fourth place.
        let value = bimetal([1.0, 1.0], [ratio, 1.0], [0.0, 1.0]) * 2.0;
        table.within(&format!("warpage-bimetal-{id}"), TIMOSHENKO, expected, value, 5e-5);
    }
    let (copper, invar) = (elastic(137e9, 0.0, 20e-6), elastic(130e9, 0.0, 1.2e-6));
    let bent = tip(section([1e-3; 2], [invar, copper]), 0.1);
    table.relative("warpage-thermostat-tip", THERMOSTAT, 70.488, bent * 1e6, 1e-4);

    // Ratio of Stoney's curvature, from the unrelaxed stress, to that of two layers.
    for h in [0.001, 0.01, 0.05, 0.1] {
        for m in [0.5, 1.0, 2.0] {
            let base = elastic(130e9, 0.279, 0.0);
            let film = Elastic { modulus: base.modulus * m, strain: -1e-3, ..base };
            let simple = stoney(film.biaxial() * 1e-3, h, 1.0, base.biaxial());
            let exact = -section([1.0, h], [base, film]);
            let expected =
                (1.0 + 4.0 * h * m + 6.0 * h * h * m + 4.0 * h.powi(3) * m + h.powi(4) * m * m) / (1.0 + h);
            table.relative(&format!("warpage-stoney-{h}-{m}"), FREUND, expected, simple / exact, 1e-9);
        }
    }
}
