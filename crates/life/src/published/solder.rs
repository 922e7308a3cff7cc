//! Laws of solder, one joint through cycles, strain of bonded and of bare joints.

use super::{Source, Table};
use crate::anand::{Anand, DARVEAUX, MOTALAB, MYSORE};
use crate::cell::{disc_on_layer_normal_stiffness, disc_stiffness};
use crate::creep::{Creep, Form, SCHUBERT, WIESE};
use crate::energy::{SYED_STRAIN_SINE, SYED_WORK_SINE};
use crate::joint::{Course, Effort, Elastic, Law, Settled, cycle, pull};
use crate::strain::{
    ShearLag, across_thin_layer, bare_shear, bending_compliance, equivalent_shear, plate_compliance,
    rigidity, shear_compliance,
};
use facedown_evidence::Basis;

const STEADY: Source = Source(
    "S. B. Brown, K. H. Kim and L. Anand, Int. J. Plasticity 5 (1989) 95, steady stress; constants from memory, value reckoned from the formula apart",
    Basis::FromMemory,
);
const PULL: Source = Source(
    "Anand's law pulled at a lasting rate, scipy solve_ivp to 1e-9; constants from memory",
    Basis::ReferenceLibrary,
);
const CYCLE: Source = Source(
    "one element through temperature cycles, scipy solve_ivp to 1e-9; constants from memory",
    Basis::ReferenceLibrary,
);
const CREEP: Source = Source(
    "creep laws of Schubert et al. 2003 and Wiese et al. 2002 as in A. Syed, ECTC 2004; constants from memory, value reckoned from the formula apart",
    Basis::FromMemory,
);
const LAYER: Source = Source(
    "W. T. Chen and C. W. Nelson, IBM J. Res. Dev. 23 (1979) 179, edge shear, numbers put into the formula apart",
    Basis::ReferenceLibrary,
);
const SNEDDON: Source = Source(
    "I. N. Sneddon, Int. J. Eng. Sci. 3 (1965) 47, rigid disc pressed on a half space; value reckoned from the formula apart",
    Basis::FromMemory,
);
const MINDLIN: Source = Source(
    "R. D. Mindlin, J. Appl. Mech. 16 (1949) 259, rigid disc on a half space; value reckoned from the formula apart",
    Basis::FromMemory,
);
const BENT: Source = Source(
    "E. Suhir, J. Appl. Mech. 53 (1986) 657, edge shear of plates that bend, numbers put into the formula apart",
    Basis::ReferenceLibrary,
);
const HOOKE: Source = Source(
    "a thin layer held in its plane, Hooke's law, numbers put into the formula apart",
    Basis::ReferenceLibrary,
);

/// One element between two temperatures in K, strain 5e-5 a kelvin, ramps and dwells of 900 s.
fn element(law: Law, low: f64, high: f64, cycles: usize) -> Option<Settled> {
    let course = Course {
        path: vec![(low, 0.0), (high, 5e-5 * (high - low))],
        ramp: 900.0,
        hot_dwell: 900.0,
        cold_dwell: 900.0,
    };
    cycle(&law, Elastic::Axial, &course, &Effort { accuracy: 1e-7, settled: 0.0, cycles }).ok()
}

pub(super) fn rows(table: &mut Table) {
    for (id, law, rate, temperature, expected) in [
        ("life-anand-steady-snpb-cold", DARVEAUX, 1e-5, 233.15, 114.705),
        ("life-anand-steady-snpb", DARVEAUX, 1e-3, 298.15, 63.0576),
        ("life-anand-steady-mysore", MYSORE, 1e-5, 298.15, 44.5302),
        ("life-anand-steady-mysore-hot", MYSORE, 1e-3, 398.15, 33.6163),
        ("life-anand-steady-motalab", MOTALAB, 1e-3, 298.15, 74.1584),
    ] {
        table.relative(id, STEADY, expected, law.steady_stress(rate, temperature) / 1e6, 1e-3);
    }
    let pulled = |law: &Anand, young: f64, rate, temperature, strain| {
        pull(law, young, rate, temperature, strain).unwrap_or(f64::NAN) / 1e6
    };
    for (id, law, young, rate, temperature, strain, expected) in [
        ("life-anand-pull-snpb", DARVEAUX, 30e9, 1e-3, 298.15, 0.02, 46.353),
        ("life-anand-pull-mysore", MYSORE, 45e9, 1e-3, 298.15, 0.01, 50.143),
        ("life-anand-pull-mysore-hot", MYSORE, 45e9, 1e-4, 398.15, 0.1, 27.678),
        ("life-anand-pull-motalab", MOTALAB, 45e9, 1e-3, 298.15, 0.01, 73.149),
    ] {
        table.relative(id, PULL, expected, pulled(&law, young, rate, temperature, strain), 2e-3);
    }
    for (id, law, stress, temperature, expected) in [
        ("life-creep-schubert", SCHUBERT, 20e6, 298.15, 1.250_02e-6),
        ("life-creep-schubert-hot", SCHUBERT, 5e6, 398.15, 3.254_07e-8),
        ("life-creep-wiese", WIESE, 30e6, 298.15, 1.074_09e-5),
        ("life-creep-wiese-hot", WIESE, 10e6, 398.15, 1.316_91e-7),
    ] {
        table.relative(id, CREEP, expected, law.rate(stress, temperature), 1e-4);
    }
    cycles(table);

    let lag = ShearLag {
        layer_shear_modulus: 3007.52e6,
        layer_thickness: 0.08e-3,
        plate_compliance: plate_compliance(130e9, 0.28, 0.75e-3) + plate_compliance(26e9, 0.30, 1.0e-3),
        plate_shear: 0.0,
        half_length: 7.5e-3,
    };
    table.relative("life-bonded-decay", LAYER, 1.135_677e3, lag.decay(), 1e-6);
    table.relative("life-bonded-edge", LAYER, 66.735, lag.edge_stress(14.4e-6 * 140.0) / 1e6, 1e-5);
    let bent = ShearLag {
        plate_compliance: lag.plate_compliance
            + bending_compliance(
                [0.75e-3, 1.0e-3],
                [rigidity(130e9, 0.28, 0.75e-3), rigidity(26e9, 0.30, 1.0e-3)],
            ),
        ..lag
    };
    table.relative("life-bent-edge", BENT, 36.3891, bent.edge_stress(14.4e-6 * 140.0) / 1e6, 1e-5);
    // Edge of two thick plates, reckoned from the formula apart.
    let thick = ShearLag {
        plate_shear: shear_compliance(130e9, 0.28, 0.75e-3) + shear_compliance(26e9, 0.30, 1.0e-3),
        ..bent
    };
    table.relative("life-thick-edge", BENT, 23.3043, thick.edge_stress(14.4e-6 * 140.0) / 1e6, 1e-5);
    table.relative("life-pad-stiffness", MINDLIN, 4.600000e5, disc_stiffness(2.3e9, 0.3, 42.5e-6), 1e-6);
    let pressed = disc_on_layer_normal_stiffness(2.3e9, 0.3, 42.5e-6, 1e9);
    table.relative("life-pad-pressed", SNEDDON, 5.585714e5, pressed, 1e-6);
    table.relative("life-thin-layer", HOOKE, 49.7015e-6, across_thin_layer(30e-6, 10e-6, 0.33), 1e-6);
    table.relative("life-thin-layer-soft", HOOKE, 38.0286e-6, across_thin_layer(25e-6, 9.8e-6, 0.30), 1e-6);
    // The same bump bare and in its underfill over 165 K, to the digits of the hand calculation.
    table.within("life-bare-shear", HOOKE, 0.154, bare_shear(1.0, 5e-3 * 14e-6 * 165.0, 75e-6), 5e-4);
    let axial = (across_thin_layer(30e-6, 10e-6, 0.33) - 21e-6) * 165.0;
    table.within("life-filled-axial", HOOKE, 0.474e-2, equivalent_shear(0.0, axial) / 3.0_f64.sqrt(), 5e-6);
}

fn cycles(table: &mut Table) {
    // A stress at fixed strain relaxes by a power law exactly: s = [s0^(1-n) + (n-1) E B t]^(-1/(n-1)).
    let relaxing = Creep {
        form: Form::Powers([(1e-14, 5.0, 0.0), (1e-300, 1.0, 0.0)]),
        modulus: 45e9,
        modulus_fall: 0.0,
        ..WIESE
    };
    // Loaded within a millionth of a second, held for 1000 s.
    let course = Course {
        path: vec![(299.0, 0.0), (300.0, 40e6 / 45e9)],
        ramp: 1e-6,
        hot_dwell: 1000.0,
        cold_dwell: 0.0,
    };
    let effort = Effort { accuracy: 1e-9, settled: 0.0, cycles: 1 };
    let held = cycle(&Law::Creep(relaxing), Elastic::Axial, &course, &effort);
    table.relative(
        "life-relaxation",
        Source("power-law relaxation at fixed strain, exact solution", Basis::ReferenceLibrary),
        25.993_09,
        held.map_or(f64::NAN, |s| s.ends[1] / 1e6),
        1e-5,
    );

    let mysore = Anand { modulus: 45e9, modulus_fall: 0.0, ..MYSORE };
    let darveaux = Anand { modulus: 30e9, modulus_fall: 0.0, ..DARVEAUX };
    for (id, law, low, high, count, strain, work, ends) in [
        (
            "schubert",
            Law::Creep(SCHUBERT),
            273.15,
            373.15,
            3,
            8.9279e-3,
            0.175_36,
            [13.106, 5.842, -31.742, -17.595],
        ),
        (
            "schubert-deep",
            Law::Creep(SCHUBERT),
            233.15,
            398.15,
            3,
            1.486_87e-2,
            0.356_54,
            [11.968, 4.820, -53.532, -32.843],
        ),
        (
            "wiese",
            Law::Creep(WIESE),
            273.15,
            373.15,
            3,
            8.3225e-3,
            0.201_09,
            [18.734, 10.184, -33.939, -22.608],
        ),
        (
            "mysore",
            Law::Anand(mysore),
            273.15,
            373.15,
            4,
            7.5635e-3,
            0.256_34,
            [27.343, 19.173, -43.986, -35.946],
        ),
        (
            "darveaux",
            Law::Anand(darveaux),
            273.15,
            373.15,
            4,
            8.8504e-3,
            0.111_70,
            [5.028, 0.814, -27.264, -16.623],
        ),
    ] {
        let run = element(law, low, high, count);
        let of = |f: &dyn Fn(&Settled) -> f64| run.as_ref().map_or(f64::NAN, f);
        table.relative(&format!("life-cycle-{id}-strain"), CYCLE, strain, of(&|s| s.inelastic), 5e-3);
        table.relative(&format!("life-cycle-{id}-work"), CYCLE, work, of(&|s| s.work / 1e6), 5e-3);
        for (end, name) in ["ramp-up", "hot", "ramp-down", "cold"].into_iter().enumerate() {
            let computed = of(&|s| s.ends[end] / 1e6);
            table.relative(&format!("life-cycle-{id}-{name}"), CYCLE, ends[end], computed, 5e-3);
        }
    }
    let run = element(Law::Creep(SCHUBERT), 273.15, 373.15, 3);
    let cycles = |by_strain: bool| {
        run.as_ref().map_or(f64::NAN, |s| {
            let model = if by_strain { SYED_STRAIN_SINE } else { SYED_WORK_SINE };
            model.cycles(s.inelastic, s.work, 0.0)
        })
    };
    table.relative("life-cycle-syed-strain", CYCLE, 2183.0, cycles(true), 5e-3);
    table.relative("life-cycle-syed-work", CYCLE, 3001.0, cycles(false), 5e-3);
}
