//! Rows about electromigration: Black's law, crowding, own heat, the array.

use super::{Source, Table};
use crate::electromigration::{Kinetics, array_life, crowding, own_heat, published};
use crate::problem::{Alloy, Feed};
use facedown_evidence::Basis;

const CALCULATED: Source = Source(
    "W. J. Choi, E. C. C. Yeh and K. N. Tu, J. Appl. Phys. 94 (2003) 5665, table of lives calculated by Black's equation, whole hours (as remembered)",
    Basis::FromMemory,
);
const BLACK: Source = Source(
    "J. R. Black, IEEE Trans. Electron Devices ED-16 (1969) 338, evaluated with numpy 2.4",
    Basis::ReferenceLibrary,
);
const CONTACT: Source = Source(
    "H. H. Berger, Solid-State Electronics 15 (1972) 145, evaluated with numpy 2.4",
    Basis::ReferenceLibrary,
);
const COPPER: Source =
    Source("IEC 60028, coefficient of annealed copper at 20 degC (as remembered)", Basis::FromMemory);
const ARRAY: Source = Source(
    "product of lognormal survivals of 100 and 10 000 joints, root by scipy 1.17",
    Basis::ReferenceLibrary,
);

fn kinetics(exponent: f64, activation_ev: f64, density_a_cm2: f64, celsius: f64, hours: f64) -> Kinetics {
    Kinetics {
        name: String::new(),
        exponent,
        activation_ev,
        reference_density: density_a_cm2 * 1e4,
        reference_temperature: celsius + 273.15,
        reference_life: hours * 3600.0,
        log_deviation: 0.5,
        reference_crowding: None,
    }
}

pub(super) fn rows(table: &mut Table) {
    for (density, celsius, expected) in [
        (2.25, 125.0, 79.0),
        (2.75, 125.0, 55.0),
        (1.90, 140.0, 46.0),
        (2.25, 140.0, 34.0),
        (2.75, 140.0, 24.0),
    ] {
        let hours = published(Alloy::TinLead)
            .first()
            .map_or(f64::NAN, |set| set.median_life(density * 1e8, celsius + 273.15) / 3600.0);
        let id = format!("life-black-{:.0}-{celsius:.0}", 100.0 * density);
        // Half an hour of the printed life, and half an hour in the 108 h from which it is reckoned.
        table.within(&id, CALCULATED, expected, hours, 0.5 + 0.5 / 108.0 * expected);
    }
    let slow = kinetics(1.8, 0.8, 1e4, 150.0, 1000.0).median_life(5e7, 373.15) / 3600.0;
    table.within("life-black-slopes-of-1998", BLACK, 65_851.85, slow, 5e-3);
    for (n, ev, expected) in [(1.8, 0.8, 246.6), (2.0, 0.9, 471.5)] {
        let factor = kinetics(n, ev, 1.5e4, 150.0, 1.0).median_life(3e7, 378.15) / 3600.0;
        table.within(&format!("life-black-factor-{n}"), BLACK, expected, factor, 0.05);
    }
    for (id, sheet_resistance, vertical, length, expected) in
        [("thin-aluminium", 0.027, 1e-12, 100e-6, 16.4317), ("thick-copper", 0.0034, 5e-12, 50e-6, 1.5113)]
    {
        let found = crowding(&Feed { sheet_resistance, vertical_resistance: vertical }, length);
        table.within(&format!("life-crowding-{id}"), CONTACT, expected, found, 5e-5);
    }
    // A rise of 10 K without feedback; what comes on top is the coefficient.
    let rise = own_heat(1.0, 1.0, 10.0, 293.15).map_or(f64::NAN, |t| t - 293.15);
    table.within("life-own-heat-copper", COPPER, 3.93e-3, (1.0 - 10.0 / rise) / 10.0, 5e-6);
    let array = array_life(&[(1000.0, 100.0), (3000.0, 1e4)], 0.5, 1e-3).unwrap_or(f64::NAN);
    table.within("life-lognormal-array", ARRAY, 118.546_768, array, 5e-7);
}
