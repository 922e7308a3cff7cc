//! Rows about arrays of unlike joints and about bridging.

use super::{BUMP, Source, TENSION, Table, array, at_rest};
use crate::equilibrium::shape_at;
use crate::joint::{Joint, Reach};
use crate::sphere;
use facedown_evidence::Basis;

const ARRAYS: Source = Source(
    "force balance over Young-Laplace joints of several volumes (the planar arrays of Katyl and Pimbley, ASME J. Electron. Packag. 114, 1992, 336), computed with scipy 1.17",
    Basis::ReferenceLibrary,
);
const SPHERES: Source = Source(
    "truncated sphere (Goldmann, IBM J. Res. Dev. 13, 1969, 251), its slices summed with scipy 1.17",
    Basis::ReferenceLibrary,
);

/// Solder volumes over [`BUMP`], and how many joints have them.
type Parts = &'static [(f64, u32)];

pub(super) fn rows(table: &mut Table) {
    let mix = |parts: &[(f64, u32)], load: f64| {
        let kinds: Vec<_> = parts.iter().map(|&(share, count)| (40e-6, 40e-6, share * BUMP, count)).collect();
        at_rest(&array(&kinds, load)).ok()
    };
    let cases: [(&str, Parts, f64, f64); 4] = [
        ("large", &[(1.0, 90), (1.2, 10)], 65.62954, 65.32610),
        ("small", &[(1.0, 90), (0.8, 10)], 64.05982, 63.76755),
        ("both", &[(1.0, 80), (1.1, 10), (0.9, 10)], 64.86080, 64.56430),
        ("few", &[(1.0, 98), (0.8, 2)], 64.71962, 64.42523),
    ];
    for (id, parts, free, loaded) in cases {
        for (when, load, expected) in [("free", 0.0, free), ("loaded", 177e-6, loaded)] {
            let gap = mix(parts, load).map_or(f64::NAN, |(rest, _)| rest.gap * 1e6);
            table.within(&format!("joints-array-{id}-{when}"), ARRAYS, expected, gap, 6e-6);
        }
    }
    let forces = mix(&[(1.0, 90), (1.2, 10)], 177e-6).map_or([f64::NAN; 2], |(rest, members)| {
        [0, 1].map(|i: usize| shape_at(&members[i], &rest, 0.0).0.force() * TENSION * 1e6)
    });
    table.within("joints-array-normal-pulls", ARRAYS, -2.6092, forces[0], 5e-5);
    table.within("joints-array-large-pushes", ARRAYS, 41.183, forces[1], 5e-4);

    for (pitch, pad, expected) in [
        (150.0, 80.0, 1_707_436.982),
        (130.0, 70.0, 1_109_865.150),
        (100.0, 50.0, 510_131.071),
        (50.0, 25.0, 63_766.383_9),
    ] {
        let volume = sphere::bridging_volume(0.5 * pad, pitch).unwrap_or(f64::NAN);
        table.relative(&format!("joints-bridging-{pitch:.0}-{pad:.0}"), SPHERES, expected, volume, 2e-9);
    }
    let bump = Joint { lower: 40e-6, upper: 40e-6, volume: BUMP };
    let (width, force) = match bump.at_height(57.987e-6) {
        Reach::Shape(s) => (2e6 * s.outline.extremes().0, s.force() * TENSION * 1e6),
        Reach::Overruns(_) | Reach::Parts(_) => (f64::NAN, f64::NAN),
    };
    // The height is printed to 1 nm: 0.5 nm of it are 0.5 nm of width and 7 nN of force.
    table.within("joints-touch-width", ARRAYS, 110.0, width, 1e-3);
    table.within("joints-touch-force", ARRAYS, 49.173, force, 8e-3);
}
