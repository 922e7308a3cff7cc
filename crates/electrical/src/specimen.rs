//! A small invented die, for examples and tests.

use crate::problem::{Bump, Kind, Metal, Net, Piece, Plane, Problem, Rdl, Switching, Via, Wire};

/// A metal whose table starts at 20 degC.
fn metal(resistivity_ohm_m: f64, coefficient_per_k: f64) -> Metal {
    Metal { resistivity_ohm_m, coefficient_per_k, reference_k: 293.15 }
}

fn net(name: &str, kind: Kind, current_a: f64, joints: [u32; 2], plane: Option<Plane>) -> Net {
    let traced = kind == Kind::Signal;
    Net {
        name: name.into(),
        kind,
        current_a,
        pads: joints[0],
        bumps: joints[1],
        crowding: if joints[1] > 1 { 1.4 } else { 1.0 },
        trace_length_m: if traced { 2.6e-3 } else { 0.0 },
        longest_path_m: if traced { 2.6e-3 } else { 0.0 },
        trace_width_m: 20e-6,
        squares: None,
        bends: 2,
        vias: 1,
        plane,
    }
}

/// A die of 6 mm by 5 mm with solder bumps at 250 um, one supply, its ground and one signal. Invented.
pub fn small() -> Problem {
    let plane = |share| {
        Some(Plane { width_m: 6e-3, height_m: 5e-3, conducting_share: share, contact_diameter_m: 80e-6 })
    };
    Problem {
        temperature_k: 358.15,
        rdl: Rdl {
            thickness_m: 5e-6,
            metal: metal(1.7241e-8, 3.93e-3),
            permittivity: 3.3,
            height_to_reference_m: 10e-6,
            cover_permittivity: 3.5,
            via: Some(Via { height_m: 5e-6, diameter_m: 40e-6 }),
        },
        bump: Bump {
            pieces: vec![
                Piece {
                    name: "under-bump metal".into(),
                    height_m: 5e-6,
                    diameter_m: 90e-6,
                    waist_m: None,
                    metal: metal(7.0e-8, 6e-3),
                },
                Piece {
                    name: "solder".into(),
                    height_m: 75e-6,
                    diameter_m: 90e-6,
                    waist_m: Some(120e-6),
                    metal: metal(1.3e-7, 3.5e-3),
                },
            ],
            pitch_m: 250e-6,
            permittivity: 3.6,
        },
        wire: Wire {
            diameter_m: 25.4e-6,
            length_m: 2.5e-3,
            loop_height_m: 200e-6,
            spacing_m: 100e-6,
            permittivity: 3.8,
            metal: metal(2.3e-8, 3.7e-3),
        },
        switching: Switching {
            drivers: 16,
            driver_current_a: 8e-3,
            edge_time_s: 1e-9,
            load_f: 2e-12,
            supply_pairs: 8,
        },
        nets: vec![
            net("vdd", Kind::Supply, 1.2, [12, 24], plane(0.4)),
            net("gnd", Kind::Ground, 1.2, [12, 24], plane(0.5)),
            net("clk", Kind::Signal, 4e-3, [1, 1], None),
        ],
    }
}
