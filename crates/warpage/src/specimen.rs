//! Invented packages that tests, examples and documentation share. All data are invented.

use crate::problem::*;

const ZERO_CELSIUS: f64 = 273.15;

fn celsius(points: &[(f64, f64)], factor: f64) -> Table {
    points.iter().map(|&(t, v)| (t + ZERO_CELSIUS, v * factor)).collect()
}

/// Silicon as plates in the (100) plane feel it; expansion by Y. Okada, Y. Tokumaru 1984 at points of their formula.
pub fn silicon() -> Solid {
    let expansion: Table = [218.15, 258.15, 298.15, 348.15, 398.15, 448.15, 498.15, 548.15]
        .iter()
        .map(|&t: &f64| (t, (3.725 * (1.0 - (-5.88e-3 * (t - 124.0)).exp()) + 5.548e-4 * t) * 1e-6))
        .collect();
    Solid { name: "silicon".into(), modulus: vec![(300.0, 130.0e9)], poisson: 0.279, expansion }
}

fn copper() -> Solid {
    Solid::constant("copper", 117e9, 0.34, 17e-6)
}

fn core() -> Solid {
    Solid {
        name: "core".into(),
        modulus: celsius(&[(25.0, 26.0), (200.0, 20.0), (260.0, 12.0)], 1e9),
        poisson: 0.2,
        expansion: celsius(&[(25.0, 14.0), (190.0, 14.0), (220.0, 9.0)], 1e-6),
    }
}

fn build_up() -> Solid {
    Solid {
        name: "build-up".into(),
        modulus: celsius(&[(25.0, 7.5), (140.0, 6.0), (170.0, 0.5), (260.0, 0.3)], 1e9),
        poisson: 0.3,
        expansion: celsius(&[(140.0, 25.0), (165.0, 78.0)], 1e-6),
    }
}

fn underfill() -> Underfill {
    Underfill {
        solid: Solid {
            name: "underfill".into(),
            modulus: celsius(&[(-55.0, 10.0), (25.0, 9.0), (105.0, 7.0), (130.0, 0.15), (260.0, 0.1)], 1e9),
            poisson: 0.32,
            expansion: celsius(&[(105.0, 28.0), (130.0, 95.0)], 1e-6),
        },
        shrinkage_after_gel: 0.003,
    }
}

fn solder() -> Solid {
    Solid {
        name: "solder".into(),
        modulus: celsius(&[(-55.0, 50.0), (25.0, 43.0), (217.0, 23.0)], 1e9),
        poisson: 0.36,
        expansion: vec![(300.0, 22e-6)],
    }
}

fn glue() -> Layer {
    let solid = Solid {
        name: "glue".into(),
        modulus: celsius(&[(25.0, 5.0), (110.0, 3.0), (140.0, 0.1)], 1e9),
        poisson: 0.33,
        expansion: celsius(&[(110.0, 45.0), (140.0, 130.0)], 1e-6),
    };
    Layer::plain("glue", 75e-6, solid)
}

fn laminate(width_mm: f64, height_mm: f64, core_mm: f64) -> Plate {
    let metal = |name: &str, share: f64| Layer {
        metal: Some(Metal { share, solid: copper() }),
        ..Layer::plain(name, 18e-6, build_up())
    };
    let film = |name: &str| Layer::plain(name, 35e-6, build_up());
    Plate {
        width_m: width_mm * 1e-3,
        height_m: height_mm * 1e-3,
        layers: vec![
            metal("metal 4", 0.7),
            film("build-up below"),
            metal("metal 3", 0.8),
            Layer::plain("core", core_mm * 1e-3, core()),
            metal("metal 2", 0.8),
            film("build-up above"),
            metal("metal 1", 0.6),
        ],
    }
}

fn die(name: &str, side_mm: [f64; 2], at_mm: [f64; 2], thickness_m: f64) -> Die {
    Die {
        name: name.into(),
        plate: Plate {
            width_m: side_mm[0] * 1e-3,
            height_m: side_mm[1] * 1e-3,
            layers: vec![Layer::plain("silicon", thickness_m, silicon())],
        },
        at_m: at_mm.map(|v| v * 1e-3),
        joints: JointLayer {
            gap_m: 70e-6,
            share: 0.2,
            joint: solder(),
            extent_m: side_mm.map(|s| (s - 0.5) * 1e-3),
            underfill: Some(underfill()),
        },
        interface: None,
        strength: Some(Strength {
            back: Some(Weibull {
                characteristic_pa: 350e6,
                shape: 5.0,
                reference: 25e-6,
                source: "invented".into(),
            }),
            edge: Some(Weibull {
                characteristic_pa: 300e6,
                shape: 4.0,
                reference: 20e-3,
                source: "invented".into(),
            }),
        }),
    }
}

/// Usual temperatures of a lead-free line.
pub fn process() -> Process {
    let k = |t: f64| t + ZERO_CELSIUS;
    Process {
        room_k: k(25.0),
        bump_solidus_k: k(217.0),
        bump_liquidus_k: k(220.0),
        underfill_cure_k: k(165.0),
        cover_cure_k: k(150.0),
        ball_solidus_k: k(217.0),
        ball_liquidus_k: k(220.0),
        reflow_peak_k: k(245.0),
        coldest_k: k(-40.0),
        crept_in_cure: 1.0,
    }
}

/// A die of 15 mm on a laminate of 35 mm, nothing over it.
pub fn bare() -> Problem {
    Problem {
        substrate: Substrate { plate: laminate(35.0, 35.0, 0.8), received_bow_m: None },
        interposer: None,
        dies: vec![die("main", [15.0, 15.0], [0.0, 0.0], 0.775e-3)],
        cover: None,
        balls: Some(Balls { pitch_m: 1e-3, diameter_m: 0.6e-3, extent_m: [33e-3, 33e-3] }),
        process: process(),
        resolution: Resolution::default(),
    }
}

/// The same with a steel ring.
pub fn ringed() -> Problem {
    let mut p = bare();
    p.cover = Some(Cover {
        kind: CoverKind::Ring,
        width_m: 35e-3,
        height_m: 35e-3,
        thickness_m: 0.75e-3,
        band_m: 4.5e-3,
        foot_m: 0.0,
        solid: Solid::constant("steel", 193e9, 0.3, 17.3e-6),
        adhesive: glue(),
    });
    p
}

/// The same with a copper lid on a soft thermal interface.
pub fn lidded() -> Problem {
    let mut p = bare();
    p.cover = Some(Cover {
        kind: CoverKind::Lid,
        width_m: 34e-3,
        height_m: 34e-3,
        thickness_m: 1.5e-3,
        band_m: 3e-3,
        foot_m: 0.8e-3,
        solid: copper(),
        adhesive: glue(),
    });
    p.dies[0].interface = Some(Layer::plain("gel", 40e-6, Solid::constant("gel", 0.5e6, 0.49, 200e-6)));
    p
}

/// Two dies of unlike size on a silicon interposer.
pub fn module() -> Problem {
    let mut p = bare();
    p.substrate.plate = laminate(45.0, 40.0, 1.2);
    p.balls = Some(Balls { pitch_m: 1e-3, diameter_m: 0.6e-3, extent_m: [43e-3, 38e-3] });
    let mut joints = p.dies[0].joints.clone();
    joints.extent_m = [23.5e-3, 17.5e-3];
    p.interposer = Some(Interposer {
        plate: Plate {
            width_m: 24e-3,
            height_m: 18e-3,
            layers: vec![Layer::plain("silicon", 0.1e-3, silicon())],
        },
        at_m: [1e-3, 0.0],
        joints,
    });
    p.dies =
        vec![die("logic", [12.0, 14.0], [-4.5, 0.0], 0.6e-3), die("memory", [8.0, 12.0], [7.0, 0.5], 0.6e-3)];
    p
}
