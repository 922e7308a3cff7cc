//! Invented packages that tests, examples and documentation share. All data are invented.

use crate::problem::*;
use crate::standards::{TestBoard, board};

/// A constant property.
fn constant(value: f64) -> Table {
    vec![(300.0, value)]
}

fn metal(name: &str, thickness_m: f64, share: f64, between: f64) -> Layer {
    Layer {
        metal: Some(Metal { share, conductivity: constant(390.0) }),
        ..Layer::plain(name, thickness_m, between)
    }
}

/// Silicon over temperature, W/(m K): F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed. 2007,
/// table A.1.
pub fn silicon() -> Table {
    vec![(200.0, 264.0), (300.0, 148.0), (400.0, 98.9), (600.0, 61.9)]
}

fn die(name: &str, size_mm: [f64; 2], at_mm: [f64; 2], thickness_m: f64, power_w: f64, bumps: Joints) -> Die {
    Die {
        name: name.into(),
        width_m: size_mm[0] * 1e-3,
        height_m: size_mm[1] * 1e-3,
        at_m: [at_mm[0] * 1e-3, at_mm[1] * 1e-3],
        body: vec![Layer { in_plane: silicon(), ..Layer::plain("silicon", thickness_m, 1.0) }],
        power_w,
        blocks: Vec::new(),
        grid: None,
        even_w: 0.0,
        mount: Mount::Bumps(bumps),
        interface: None,
    }
}

fn bumps(count: f64, height_m: f64, diameter_m: f64) -> Joints {
    Joints {
        count,
        pieces: vec![Piece { height_m, diameter_m, barrel: false, conductivity: constant(57.0) }],
        fill: constant(0.5),
        places: Vec::new(),
        heats_w: Vec::new(),
        capacity: None,
    }
}

fn laminate(size_m: f64, core_m: f64) -> Carrier {
    Carrier {
        width_m: size_m,
        height_m: size_m,
        layers: vec![
            Layer {
                columns: Some(Metal { share: 0.1, conductivity: constant(57.0) }),
                ..Layer::plain("mask", 20e-6, 0.25)
            },
            metal("metal 1", 18e-6, 0.55, 0.3),
            Layer::plain("build-up", 35e-6, 0.3),
            metal("metal 2", 18e-6, 0.75, 0.3),
            Layer {
                through: Some(constant(0.35)),
                columns: Some(Metal { share: 0.01, conductivity: constant(390.0) }),
                ..Layer::plain("core", core_m, 0.7)
            },
            metal("metal 3", 18e-6, 0.75, 0.3),
            Layer::plain("build-up", 35e-6, 0.3),
            metal("metal 4", 18e-6, 0.55, 0.3),
        ],
    }
}

fn balls(count: f64, diameter_m: f64, height_m: f64) -> Joints {
    Joints {
        count,
        pieces: vec![Piece { height_m, diameter_m, barrel: true, conductivity: constant(58.0) }],
        fill: constant(0.026),
        places: Vec::new(),
        heats_w: Vec::new(),
        capacity: None,
    }
}

/// A bare die of 7.2 x 6.4 mm and 1.8 W on a 15 mm laminate in still air. Invented.
pub fn bare() -> Problem {
    let body = 15e-3;
    Problem {
        dies: vec![die("controller", [7.2, 6.4], [0.0, 0.0], 300e-6, 1.8, bumps(400.0, 100e-6, 160e-6))],
        interposer: None,
        substrate: laminate(body, 400e-6),
        balls: balls(289.0, 0.45e-3, 0.34e-3),
        board: Some(board(TestBoard::TwoPlanes, body)),
        lid: None,
        ring: None,
        service: Service {
            ambient_k: 328.15,
            surroundings: Surroundings::StillAir,
            top_film: None,
            heat_sink: None,
        },
        emissivity: Emissivity::default(),
        cold_plate_film: 20_000.0,
        trace: None,
        pair: false,
        fineness: None,
    }
}

/// A die of 16 x 14 mm and 60 W under a copper lid on a 35 mm laminate with a film of 900 W/(m2 K) on the lid. Invented.
pub fn lidded() -> Problem {
    let body = 35e-3;
    let mut processor = die("processor", [16.0, 14.0], [0.0, 0.0], 600e-6, 60.0, bumps(9000.0, 65e-6, 85e-6));
    processor.blocks = vec![
        Block { x_m: 1e-3, y_m: 1e-3, width_m: 6e-3, height_m: 6e-3, power_w: 35.0 },
        Block { x_m: 8e-3, y_m: 2e-3, width_m: 7e-3, height_m: 10e-3, power_w: 25.0 },
    ];
    processor.interface = Some(Interface {
        name: "TIM1".into(),
        bond_line: BondLine::Given(45e-6),
        conductivity: constant(3.5),
        contact_m2_k_w: 3e-6,
        voids: 0.0,
        void_places: None,
        capacity: None,
    });
    Problem {
        dies: vec![processor],
        substrate: laminate(body, 800e-6),
        balls: balls(1156.0, 0.6e-3, 0.45e-3),
        board: Some(board(TestBoard::TwoPlanes, body)),
        lid: Some(Lid {
            width_m: 34e-3,
            height_m: 34e-3,
            thickness_m: 1e-3,
            conductivity: constant(390.0),
            foot: Some(Foot { band_m: 4e-3, height_m: 0.61e-3, adhesive: Layer::plain("glue", 100e-6, 0.8) }),
            capacity: None,
        }),
        service: Service {
            ambient_k: 318.15,
            surroundings: Surroundings::MovingAir { speed_m_s: 2.0 },
            top_film: Some(900.0),
            heat_sink: None,
        },
        emissivity: Emissivity { top: 0.1, ..Emissivity::default() },
        ..bare()
    }
}

/// Two logic dies and two memory stacks on a silicon interposer under a lid with a cold plate, 180 W. Invented.
pub fn module() -> Problem {
    let micro = |count| bumps(count, 22e-6, 25e-6);
    let mut dies = vec![
        die("logic west", [9.6, 8.8], [-5.0, -3.6], 700e-6, 72.0, micro(14000.0)),
        die("logic east", [9.6, 8.8], [5.0, -3.6], 700e-6, 72.0, micro(14000.0)),
        die("memory west", [7.2, 6.0], [-5.0, 4.2], 700e-6, 18.0, micro(7000.0)),
        die("memory east", [7.2, 6.0], [5.0, 4.2], 700e-6, 18.0, micro(7000.0)),
    ];
    for d in &mut dies {
        d.interface = Some(Interface {
            name: format!("TIM1 {}", d.name),
            bond_line: BondLine::Given(68e-6),
            conductivity: constant(82.0),
            contact_m2_k_w: 1e-6,
            voids: 0.02,
            void_places: None,
            capacity: None,
        });
    }
    let wiring = |name: &str, thickness_m| metal(name, thickness_m, 0.4, 1.4);
    Problem {
        dies,
        interposer: Some(Interposer {
            carrier: Carrier {
                width_m: 22e-3,
                height_m: 17e-3,
                layers: vec![
                    wiring("wiring", 6e-6),
                    Layer { in_plane: silicon(), ..Layer::plain("silicon", 100e-6, 1.0) },
                    wiring("wiring", 4e-6),
                ],
            },
            at_m: [0.0, 0.0],
            joints: bumps(15000.0, 60e-6, 80e-6),
        }),
        substrate: laminate(40e-3, 1e-3),
        balls: balls(1444.0, 0.6e-3, 0.45e-3),
        board: Some(board(TestBoard::TwoPlanes, 40e-3)),
        lid: Some(Lid {
            width_m: 39e-3,
            height_m: 39e-3,
            thickness_m: 2e-3,
            conductivity: constant(390.0),
            foot: Some(Foot { band_m: 5e-3, height_m: 0.86e-3, adhesive: Layer::plain("glue", 100e-6, 0.8) }),
            capacity: None,
        }),
        service: Service {
            ambient_k: 308.15,
            surroundings: Surroundings::TopColdPlate,
            top_film: Some(6000.0),
            heat_sink: None,
        },
        emissivity: Emissivity { top: 0.1, ..Emissivity::default() },
        ..bare()
    }
}

/// The same package with heat capacities: silicon and laminate 1.65 and 1.9, joints, glue and interfaces 2.0, copper
/// 3.4 MJ/(m3 K) (rounded, from memory).
pub fn with_capacities(mut problem: Problem) -> Problem {
    let all = |layers: &mut [Layer], value: f64| layers.iter_mut().for_each(|l| l.capacity = Some(value));
    for die in &mut problem.dies {
        all(&mut die.body, 1.65e6);
        match &mut die.mount {
            Mount::Bumps(joints) => joints.capacity = Some(2.0e6),
            Mount::OnDie { attach, .. } => all(attach, 2.0e6),
        }
        die.interface.iter_mut().for_each(|t| t.capacity = Some(2.0e6));
    }
    if let Some(interposer) = &mut problem.interposer {
        all(&mut interposer.carrier.layers, 1.65e6);
        interposer.joints.capacity = Some(2.0e6);
    }
    all(&mut problem.substrate.layers, 1.9e6);
    problem.balls.capacity = Some(0.5e6);
    problem.board.iter_mut().for_each(|b| all(&mut b.layers, 1.9e6));
    if let Some(lid) = &mut problem.lid {
        lid.capacity = Some(3.4e6);
        lid.foot.iter_mut().for_each(|f| f.adhesive.capacity = Some(2.0e6));
    }
    problem
}
