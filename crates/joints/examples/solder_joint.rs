//! A die of 10 x 10 mm on 1,000 solder bumps: how far it sinks, how wide the joints get, what stays free.
//!
//! Run with `cargo run -p facedown-joints --example solder_joint`. Invented data. Headline: a joint 64.58 um tall.

use facedown_joints::problem::{Array, GapMap, Kind, Layer, Metal, Problem, Reflow, Solder, Supply};
use facedown_joints::{Refusal, solve};

fn main() -> Result<(), Refusal> {
    let bumps = Array {
        solder: Solder {
            name: "Sn-3.0Ag-0.5Cu".into(),
            surface_tension: 0.55,
            surface_tension_range: Some([0.38, 0.57]),
            density_liquid: 7050.0,
            solidus: 490.15,
            liquidus: 493.15,
            leaded: false,
        },
        joints: vec![Kind {
            name: "bump".into(),
            count: 1000,
            upper_diameter: 80e-6,
            lower_diameter: 80e-6,
            upper_solder: vec![Supply::Reflowed { pad: 80e-6, height: 80e-6 }],
            lower_solder: vec![],
            upper_metal: 4e-6,
            lower_metal: 0.0,
        }],
        pitch: 200e-6,
        carried_mass: 10e-3 * 10e-3 * 0.775e-3 * 2330.0,
        extra_force: 0.0,
        gap_map: GapMap::Flat,
        misplacement: 10e-6,
        height_shortfall: 8e-6,
        metallisation: vec![
            Layer { metal: Metal::Inert, thickness: 0.1e-6 },
            Layer { metal: Metal::Nickel, thickness: 3e-6 },
            Layer { metal: Metal::Copper, thickness: 1e-6 },
        ],
        lower_metallisation: vec![],
        consumed_per_reflow: None,
    };
    let reflow = Reflow {
        preheat_from: 423.15,
        preheat_to: 473.15,
        preheat_time: 90.0,
        ramp_up: 1.5,
        peak: 518.15,
        time_above_liquidus: Some(60.0),
        hold: 0.0,
        ramp_down: 3.0,
        count: 3,
        lead_free: None,
    };
    let problem = Problem { bumps: Some(bumps), reflow: Some(reflow), ..Problem::default() };
    let outcome = solve(&problem)?;
    for figure in &outcome.figures {
        print!("{:24}{:>14.4} {}", figure.name, figure.value, figure.unit);
        if let Some([low, high]) = figure.between {
            print!("  ({low:.4} to {high:.4})");
        }
        println!();
    }
    for note in outcome.notes.iter().chain(&outcome.advice) {
        println!("{note}");
    }
    Ok(())
}
