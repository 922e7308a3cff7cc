//! Rows about what the mission asks of tests: equivalent cycles, diffusion of moisture, soaks.

use super::{Source, Table};
use crate::acceleration::arrhenius;
use crate::problem::{Alloy, Cycle, Level};
use crate::{moisture, plan, storage};
use facedown_evidence::Basis;

const CYCLES: Source = Source(
    "ten years of three kinds of cycle against 0 to 100 degC at 48 a day by Norris and Landzberg 1969 and by Pan 2005 (constants from memory), reckoned with numpy 2.4",
    Basis::FromMemory,
);
const CRANK: Source = Source(
    "J. Crank, The Mathematics of Diffusion, 2nd ed. 1975, ch. 10: half-time of a sheet, Dt/l2 = 0.049 (as remembered)",
    Basis::FromMemory,
);
const SHEET: Source = Source(
    "images of both faces (J. Crank 1975, ch. 4) with the error functions of scipy 1.17",
    Basis::ReferenceLibrary,
);
const SOAK: Source = Source(
    "IPC/JEDEC J-STD-020: soaks at 30 and 60 degC stand for each other for 0.40 to 0.48 eV (as remembered); the tolerance is that range",
    Basis::FromMemory,
);
const STEAM: Source = Source(
    "CRC Handbook of Chemistry and Physics, vapour pressure of water (as remembered); tolerance 0.4 % of the formula of Alduchov and Eskridge 1996",
    Basis::FromMemory,
);

pub(super) fn rows(table: &mut Table) {
    let days = 3650.0;
    let cycle = |swing: f64, high: f64, per_day: f64| Cycle {
        name: String::new(),
        low: high - swing + 273.15,
        high: high + 273.15,
        lower_part: None,
        count: days * per_day,
        dwell: None,
        ramp: None,
    };
    let cycles = [cycle(60.0, 75.0, 1.0), cycle(30.0, 65.0, 4.0), cycle(15.0, 55.0, 10.0)];
    for (id, alloy, expected) in [("snpb", Alloy::TinLead, 7116.7), ("pan", Alloy::TinSilverCopper, 1640.4)] {
        let found = plan::condition_of("J").map_or(f64::NAN, |condition| {
            plan::equivalents(alloy, &cycles, days * 86_400.0, &condition.swing(48.0))
                .first()
                .map_or(f64::NAN, |e| e.test_cycles)
        });
        table.within(&format!("life-mission-cycles-{id}"), CYCLES, expected, found, 0.05);
    }

    let half = moisture::time_to(0.5).unwrap_or(f64::NAN);
    table.within("life-moisture-half-time", CRANK, 0.049, half, 5e-4);
    for (time, uptake, middle) in REFERENCE {
        let id = |what: &str| format!("life-moisture-{what}-{time}");
        table.within(&id("uptake"), SHEET, uptake, moisture::uptake(time), 5e-10);
        table.within(&id("middle"), SHEET, middle, moisture::middle(time), 5e-10);
    }
    let [fewest, middle, most] = [0.40, 0.44, 0.48].map(|ev| arrhenius(ev, 303.15, 333.15));
    for level in [Level::L3, Level::L4, Level::L5, Level::L5a] {
        let fast = moisture::accelerated_soak(level).map_or(f64::NAN, |s| s.time / 3600.0);
        let slow = moisture::soak(level).time / 3600.0;
        let id = format!("life-soak-{}", moisture::name(level));
        table.within(&id, SOAK, slow, fast * middle, 0.5 * fast * (most - fewest));
    }
    for (celsius, expected) in [(25.0, 3169.9), (30.0, 4247.0)] {
        let found = storage::saturation_pressure(celsius + 273.15);
        table.relative(&format!("life-vapour-{celsius:.0}"), STEAM, expected, found, 4e-3);
    }
}

/// `Dt/l2`, uptake, concentration in the middle.
const REFERENCE: [(f64, f64, f64); 2] =
    [(0.05, 0.504_087_820, 0.227_688_393), (0.2, 0.887_402_875, 0.823_132_860)];
