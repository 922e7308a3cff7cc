//! An invented face with a streak of residue, for tests, examples and benchmarks. All data are invented.

use super::{Ageing, CleanTask, FittedLaw, GasLaw, Limit, Read, Removal, Residue};
use crate::front::{Map, Shape};
use crate::problem::{Angle, Plasma, PlasmaGas};
use crate::treatment::FirstOrder;

fn angle(degrees: f64, spread: f64) -> Angle {
    Angle { angle_rad: degrees.to_radians(), spread_rad: spread.to_radians() }
}

/// Readings (dose in J, angle in deg) as the specimen's face would give them, each known to 2 deg.
pub fn readings() -> Vec<Read> {
    let rows = [
        (0.0, 71.0),
        (0.0, 69.0),
        (0.0, 70.5),
        (9e3, 41.0),
        (9e3, 38.5),
        (18e3, 26.0),
        (27e3, 19.0),
        (27e3, 20.5),
        (54e3, 14.5),
    ];
    rows.map(|(dose, degrees)| Read { dose, angle_rad: f64::to_radians(degrees), spread_rad: 0.035 }).to_vec()
}

/// A face of 7.2 mm by 6.4 mm with a streak of residue along one row of bumps, 300 W of argon and oxygen for 150 s, 2 h of waiting.
pub fn streak() -> CleanTask {
    let untreated = angle(70.0, 2.0);
    let fallback = FittedLaw {
        law: FirstOrder { start_rad: untreated.angle_rad, end_rad: 0.2, rate: 1e-4 },
        covariance: [[0.0; 3]; 3],
        scatter: 1.0,
        freedom: 0,
        end_fitted: false,
    };
    let bare = FittedLaw::of(&readings(), angle(12.0, 4.0)).unwrap_or(fallback);
    let streak = Shape::Rectangle { low_m: [0.4e-3, 3.0e-3], high_m: [6.8e-3, 3.4e-3] };
    CleanTask {
        size_m: [7.2e-3, 6.4e-3],
        residue: Residue::Share {
            share: Map::Patches { ground: 0.0, patches: vec![(streak, 0.9)] },
            spread: 0.05,
        },
        covered: angle(105.0, 4.0),
        untreated,
        gases: vec![GasLaw {
            gas: PlasmaGas::ArgonOxygen,
            bare,
            removal: Removal { rate_per_j: 1.0 / 16e3, spread_per_j: 1.0 / 160e3 },
        }],
        plasma: Some(Plasma {
            gas: PlasmaGas::ArgonOxygen,
            power_w: 300.0,
            pressure_pa: Some(20.0),
            time_s: 150.0,
        }),
        queue_s: 7200.0,
        ageing: Ageing::starting(untreated),
        limit: Limit::default(),
    }
}
