//! Rows about bumps as made, the classes of J-STD-020, and compounds.

use super::{Source, Table};
use crate::barrier::{Range, Rates};
use crate::compound::{CU3SN, CU6SN5, Compound, NI3SN4};
use crate::problem::Metal;
use crate::{classification, sphere};
use facedown_evidence::Basis;

const BUMP_RULES: Source = Source(
    "public design rules of a bumping house for plated tin-silver bumps: diameter by pad width and height",
    Basis::Published,
);
const SPHERES: Source = Source(
    "cap of a sphere (Goldmann, IBM J. Res. Dev. 13, 1969, 251), evaluated with numpy 2.4",
    Basis::ReferenceLibrary,
);
const CLASSES: Source =
    Source("IPC/JEDEC J-STD-020, classification temperatures of lead-free bodies", Basis::Published);
const COMPOUNDS: Source = Source(
    "stoichiometry with the densities of Fields, Low and Lucey, NIST, 1991, as remembered",
    Basis::FromMemory,
);
const ARRHENIUS: Source = Source(
    "ratio of growth at 150 and 125 degC for 171.8 kJ/mol (Ni3Sn4 in Ni/Sn-2.5Ag/Ni micro bumps, published), evaluated with numpy 2.4",
    Basis::ReferenceLibrary,
);

pub(super) fn rows(table: &mut Table) {
    table.within("joints-bump-rule-80-80", BUMP_RULES, 100.0, sphere::cap_width(40.0, 80.0), 0.5);
    // The rules print ranges from 123 to 130 um and from 126 to 133 um: their middle, within half of their width.
    table.within("joints-bump-rule-100-100", BUMP_RULES, 126.5, sphere::cap_width(50.0, 100.0), 3.5);
    table.within("joints-bump-rule-108-100", BUMP_RULES, 129.5, sphere::cap_width(54.0, 100.0), 3.5);
    for (pad, height, volume, joined) in [
        (80.0, 80.0, 469_144.503, 64.88203),
        (70.0, 70.0, 314_290.165, 56.77178),
        (100.0, 100.0, 916_297.857, 81.10254),
    ] {
        let radius = 0.5 * pad;
        let found = sphere::cap_volume(radius, height);
        table.relative(&format!("joints-cap-volume-{pad:.0}"), SPHERES, volume, found, 2e-9);
        let stands = sphere::slice_height(radius, radius, found);
        table.relative(&format!("joints-cap-joined-{pad:.0}"), SPHERES, joined, stands, 1e-7);
    }
    for (id, sides, thickness, celsius) in [
        ("30x30x2.0", [30e-3, 30e-3], 2.0e-3, 250.0),
        ("35x35x2.0", [35e-3, 35e-3], 2.0e-3, 245.0),
        ("12x12x1.2", [12e-3, 12e-3], 1.2e-3, 260.0),
        ("15x15x2.6", [15e-3, 15e-3], 2.6e-3, 245.0),
    ] {
        let volume = sides[0] * sides[1] * thickness;
        let found = classification::temperature(thickness, volume, true) - 273.15;
        table.within(&format!("joints-class-{id}"), CLASSES, celsius, found, 1e-9);
    }
    let compounds: [(Compound, f64, f64, f64); 3] =
        [(CU6SN5, 0.3622, 0.6918, -5.13), (CU3SN, 0.6135, 0.4687, -7.59), (NI3SN4, 0.2627, 0.8659, -11.40)];
    for (compound, metal, tin, change) in compounds {
        let row = |what: &str| format!("joints-{}-{what}", compound.formula.to_lowercase());
        table.within(&row("metal"), COMPOUNDS, metal, compound.metal_share(), 5e-5);
        table.within(&row("tin"), COMPOUNDS, tin, compound.tin_share(), 5e-5);
        table.within(&row("volume"), COMPOUNDS, change, compound.volume_change() * 100.0, 5e-3);
    }
    let ratio = Range::of(Metal::Nickel).map_or(f64::NAN, |range| {
        let slow = Rates { activation: range.activation[1], ..range.central() };
        slow.growth_at(423.15) / slow.growth_at(398.15)
    });
    table.within("joints-growth-ratio", ARRHENIUS, 21.46, ratio, 5e-3);
}
