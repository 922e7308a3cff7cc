//! Invented problems for tests, examples and benchmarks. All data are invented.

use crate::problem::*;

/// A die of 7.2 mm by 6.4 mm on 418 solder bumps with clean faces, filled by an L.
pub fn wetting() -> Problem {
    let degrees = |a: f64, s: f64| Some(Angle { angle_rad: a.to_radians(), spread_rad: s.to_radians() });
    Problem {
        die: Die { width_m: 7.2e-3, height_m: 6.4e-3, thickness_m: 500e-6 },
        gap_m: 100e-6,
        bumps: Some(BumpField {
            lattice: Lattice::Square,
            pitch_m: 300e-6,
            diameter_m: 165e-6,
            shape: BumpShape::TruncatedSphere,
            count: 418,
            covered_width_m: 6.6e-3,
            covered_height_m: 5.7e-3,
            regularity: 1.0,
        }),
        liquid: Liquid {
            surface_tension_n_m: 0.032,
            dispersive_share: None,
            contact_angle_rad: Some(25.0_f64.to_radians()),
            viscosity: vec![(363.15, 0.15)],
            viscosity_valid: Some((363.15, 383.15)),
            activation_j_mol: None,
            thinning: None,
            chemoviscosity: None,
            kinetics: None,
            glass_transition_k: Some(401.15),
            filler_largest_m: Some(10e-6),
        },
        angle_die: degrees(20.0, 5.0),
        angle_substrate: degrees(30.0, 5.0),
        angle_bump: degrees(35.0, 8.0),
        readings: Vec::new(),
        drops: Vec::new(),
        plasma: Some(Plasma {
            gas: PlasmaGas::ArgonOxygen,
            power_w: 300.0,
            pressure_pa: Some(20.0),
            time_s: 90.0,
        }),
        queue_s: 7200.0,
        bake: Some((398.15, 4.0 * 3600.0)),
        dispense: Dispense {
            temperature_k: 363.15,
            heating: None,
            pattern: Pattern::L,
            edge: None,
            passes: 1,
            wait_s: 0.0,
            offset_m: Some(0.5e-3),
            volume_m3: None,
        },
        fillet: None,
        cure: vec![CureStep { temperature_k: 423.15, hold_s: 5400.0, ramp_s: 1200.0 }],
        ambient_pa: 101_325.0,
        places_m: (0..418)
            .map(|k| [450e-6 + 300e-6 * f64::from(k % 22), 500e-6 + 300e-6 * f64::from(k / 22)])
            .collect(),
        residues: Vec::new(),
        residue_left: None,
        keep_clear_m: None,
        search: None,
        windows: None,
        fineness: None,
    }
}

/// The same with readings on the substrate before and after plasma and after waiting, and no stated angle there.
pub fn with_readings() -> Problem {
    let mut problem = wetting();
    problem.angle_substrate = None;
    let liquids = [("water", [72.0, 24.0, 38.0]), ("diiodomethane", [38.0, 30.0, 33.0])];
    for (name, angles) in liquids {
        for (i, degrees) in angles.into_iter().enumerate() {
            let Some(liquid) = crate::surface::probe_liquid(name) else { continue };
            problem.readings.push(Reading {
                face: Face::Substrate,
                liquid,
                angle_rad: f64::to_radians(degrees),
                spread_rad: 0.03,
                dose_j: if i == 0 { 0.0 } else { 27_000.0 },
                age_s: if i == 2 { 6.0 * 3600.0 } else { 0.0 },
            });
        }
    }
    problem
}
