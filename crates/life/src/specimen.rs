//! Invented packages that tests and examples reckon; their numbers are like those of the trade and of no real part.

use crate::problem::{
    Alloy, Attachment, Carrier, Currents, Cycle, Feed, Level, LifeTest, Mission, Moisture, Place, Plate,
    Problem, Qualification, Shadow, Underfill,
};

const MM: f64 = 1e-3;
const UM: f64 = 1e-6;
const PPM: f64 = 1e-6;
const GPA: f64 = 1e9;
const YEAR: f64 = 31_557_600.0;

fn plate(expansion: f64, modulus: f64, poisson: f64, thickness: f64) -> Plate {
    Plate { expansion: vec![(300.0, expansion)], modulus: vec![(300.0, modulus)], poisson, thickness }
}

fn place(name: &str, distance: f64, count: u64) -> Place {
    Place { name: name.into(), distance, count }
}

/// Pillars with caps between a die of 7 mm and its laminate, in underfill.
pub fn bumps() -> Attachment {
    Attachment {
        alloy: Alloy::TinSilverCopper,
        places: vec![
            place("corner", 4.6 * MM, 4),
            place("edge", 3.3 * MM, 80),
            place("middle", 1.0 * MM, 200),
        ],
        gap: 70.0 * UM,
        solder_height: 30.0 * UM,
        interface_diameter: 75.0 * UM,
        solder_expansion: 22.0 * PPM,
        pillar_expansion: 17.0 * PPM,
        upper: plate(2.6 * PPM, 130.0 * GPA, 0.28, 0.75 * MM),
        lower: plate(16.0 * PPM, 24.0 * GPA, 0.25, 0.8 * MM),
        shadow: None,
        underfill: Some(Underfill {
            modulus: vec![(233.0, 9.5 * GPA), (380.0, 7.5 * GPA), (400.0, 0.3 * GPA), (430.0, 0.2 * GPA)],
            poisson: 0.33,
            expansion: vec![(375.0, 28.0 * PPM), (400.0, 90.0 * PPM)],
            glass_transition: Some(393.0),
        }),
        strain_factor: 1.0,
        stiffness: Some(1.2e6),
        normal_stiffness: Some(2e6),
        edge_margin: 0.15 * MM,
        joint_share: 0.2,
        pillar_modulus: 117.0 * GPA,
        weibull_shape: 5.0,
    }
}

/// Balls between the same laminate and a board, the die above them.
pub fn balls() -> Attachment {
    Attachment {
        alloy: Alloy::TinSilverCopper,
        places: vec![
            place("package corner", 10.6 * MM, 4),
            place("die corner", 4.5 * MM, 4),
            place("die edge", 3.2 * MM, 16),
        ],
        gap: 350.0 * UM,
        solder_height: 350.0 * UM,
        interface_diameter: 400.0 * UM,
        solder_expansion: 22.0 * PPM,
        pillar_expansion: 17.0 * PPM,
        upper: plate(16.0 * PPM, 24.0 * GPA, 0.25, 0.8 * MM),
        lower: plate(17.5 * PPM, 20.0 * GPA, 0.2, 1.6 * MM),
        shadow: Some(Shadow { reach: 4.9 * MM, expansion: vec![(300.0, 9.0 * PPM)], limits: Vec::new() }),
        underfill: None,
        strain_factor: 1.0,
        stiffness: None,
        normal_stiffness: None,
        edge_margin: 0.0,
        joint_share: 0.0,
        pillar_modulus: 117.0 * GPA,
        weibull_shape: 6.0,
    }
}

/// A cycle between two temperatures in degC.
pub fn cycle(name: &str, low: f64, high: f64, count: f64) -> Cycle {
    Cycle {
        name: name.into(),
        low: low + 273.15,
        high: high + 273.15,
        lower_part: None,
        count,
        dwell: None,
        ramp: None,
    }
}

/// Bumps and balls over ten years of days, with some cold mornings.
pub fn outdoors() -> Problem {
    Problem {
        bumps: Some(bumps()),
        balls: Some(balls()),
        mission: Mission {
            life: 10.0 * YEAR,
            powered: 0.5,
            failed: 0.01,
            cycles: vec![
                cycle("day", 15.0, 60.0, 3650.0),
                cycle("cold morning", -25.0, 55.0, 200.0),
                Cycle { lower_part: Some((298.15, 323.15)), ..cycle("switched on", 25.0, 75.0, 15_000.0) },
            ],
            history: None,
            powered_temperature: Some(348.15),
            ambient_temperature: Some(298.15),
            ambient_humidity: Some(0.6),
        },
        currents: Some(Currents {
            carriers: vec![
                Carrier { name: "supply bump".into(), current: 0.12, temperature: 353.15, count: 24 },
                Carrier { name: "ground bump".into(), current: -0.09, temperature: 351.15, count: 32 },
            ],
            opening: 60.0 * UM,
            resistance: 0.02,
            thermal_resistance: 800.0,
            feed: Some(Feed { sheet_resistance: 4e-3, vertical_resistance: 5e-12 }),
            kinetics: Vec::new(),
            alloy: Alloy::TinSilverCopper,
        }),
        moisture: Some(Moisture {
            level: Level::L3,
            thickness: 0.8 * MM,
            both_faces: true,
            diffusivity: 4e-12,
            diffusivity_temperature: 358.15,
            activation_energy: 0.45,
            floor_temperature: 303.15,
            bake_temperature: 398.15,
        }),
        qualification: Qualification::default(),
        test: Some(LifeTest {
            low: 273.15,
            high: 373.15,
            cycles_per_day: 48.0,
            alloy: Alloy::TinSilverCopper,
            failures: vec![2710.0, 3120.0, 3350.0, 3490.0, 3620.0],
            running: vec![3700.0; 27],
        }),
    }
}
