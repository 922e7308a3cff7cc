//! Rows about acceleration by temperature, humidity and swing.

use super::{Source, Table};
use crate::acceleration::{HUMIDITY, Humidity, arrhenius, swing};
use facedown_evidence::Basis;

const PRINTED: Source = Source(
    "Analog Devices, reliability page: acceleration of 0.7 eV to 55 degC, printed as whole numbers",
    Basis::Published,
);
const OSCILLATOR: Source = Source(
    "Fox Electronics, reliability data sheet: 0.40 eV from 298 to 398 K with k = 8.625e-5 eV/K",
    Basis::Published,
);
const AUTOMOTIVE: Source =
    Source("AEC-Q100, appendix 7, worked examples of a mission profile (as remembered)", Basis::FromMemory);
const PECK: Source = Source(
    "Peck 1986 (2.66, 0.79 eV) and Hallberg and Peck 1991 (3.0, 0.9 eV): constants as remembered, evaluated with numpy 2.4",
    Basis::FromMemory,
);

fn celsius(t: f64) -> f64 {
    t + 273.15
}

pub(super) fn rows(table: &mut Table) {
    // Printed without decimals; for 125 degC cut and not rounded.
    for (test, expected, tolerance) in [(125.0, 77.0, 1.0), (135.0, 128.0, 0.5), (85.0, 8.0, 0.5)] {
        let found = arrhenius(0.7, celsius(55.0), celsius(test));
        table.within(&format!("life-arrhenius-{test:.0}"), PRINTED, expected, found, tolerance);
    }
    // The constant of Boltzmann in the data sheet is 0.09 % above today's.
    let fox = arrhenius(0.4 * 8.617_333_262e-5 / 8.625e-5, 298.0, 398.0);
    table.relative("life-arrhenius-oscillator", OSCILLATOR, 49.91009, fox, 1e-6);
    let life = arrhenius(0.7, celsius(87.0), celsius(125.0));
    // The examples round the factor to three digits on the way and cut the hours: 0.06 % and one hour.
    table.within("life-automotive-operating", AUTOMOTIVE, 1393.0, 12_000.0 / life, 1.5);
    table.within("life-automotive-cycles", AUTOMOTIVE, 1034.0, 54_750.0 / swing(4.0, 76.0, 205.0), 0.5);
    let damp = Humidity { name: "AEC-Q100", exponent: 3.0, activation_ev: 0.8 };
    let factor = damp.factor((celsius(32.0), 0.74), (celsius(85.0), 0.85));
    table.within("life-automotive-humidity", AUTOMOTIVE, 960.0, 131_400.0 / factor, 1.5);
    for (set, expected) in HUMIDITY.iter().zip([262.6, 564.3]) {
        let found = set.factor((celsius(30.0), 0.6), (celsius(85.0), 0.85));
        table.within(&format!("life-humidity-{:.2}", set.exponent), PECK, expected, found, 0.05);
    }
    let hot = damp.factor((celsius(85.0), 0.85), (celsius(130.0), 0.85));
    table.within("life-humidity-130-85", PECK, 18.05, hot, 0.005);
}
