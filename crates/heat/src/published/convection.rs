//! Films of air.

use super::{Source, Table};
use crate::film::*;
use facedown_evidence::Basis;

const DUCT: Source = Source(
    "F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed. 2007, example 9.3 (heating duct)",
    Basis::FromMemory,
);
const PLATE: Source = Source(
    "F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed. 2007, example 7.1 (plate at low pressure)",
    Basis::FromMemory,
);
const CORRELATIONS: Source = Source(
    "the textbook correlations with table A.4 of Incropera and DeWitt 2007, evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const CHURCHILL: Source = Source(
    "S. W. Churchill 1977, mixed convection, evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const BLACK: Source = Source(
    "Stefan-Boltzmann law, CODATA 2018, evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);

pub(super) fn rows(table: &mut Table) {
    // The duct with the book's own properties: 45 degC in air of 15 degC, 0.75 m wide, 0.3 m high.
    let (viscosity, diffusivity, k, prandtl) = (16.2e-6, 22.9e-6, 0.0265, 0.71);
    let rayleigh = |length: f64| 9.8 * 0.0033 * 30.0 * length.powi(3) / (viscosity * diffusivity);
    let side = upright_laminar_nusselt(rayleigh(0.3), prandtl) * k / 0.3;
    let over = |facing| natural_nusselt(Natural::Textbook, facing, rayleigh(0.375), prandtl) * k / 0.375;
    let (top, bottom) = (over(Facing::Up), over(Facing::Down));
    table.within("heat-duct-side", DUCT, 4.23, side, 0.01);
    table.within("heat-duct-loss", DUCT, 246.0, (2.0 * side * 0.3 + (top + bottom) * 0.75) * 30.0, 0.5);
    let reynolds = 10.0 * 0.5 / 5.21e-4;
    let nusselt = forced_nusselt(reynolds, 0.687);
    table.within("heat-plate-flow-nusselt", PLATE, 57.4, nusselt, 0.05);
    table.within("heat-plate-flow-heat", PLATE, 570.0, nusselt * 0.0364 * 273.0, 0.5);

    let face = |facing, speed| AirFace {
        facing,
        natural_length_m: 0.1015 * 0.1145 / (2.0 * (0.1015 + 0.1145)),
        flow_length_m: 0.1145,
        speed_m_s: speed,
        set: Natural::Textbook,
    };
    let (hot, cool) = (333.15, 293.15);
    table.within("heat-board-up", CORRELATIONS, 8.4942, face(Facing::Up, 0.0).convection(hot, cool), 5e-5);
    table.within(
        "heat-board-down",
        CORRELATIONS,
        4.2471,
        face(Facing::Down, 0.0).convection(hot, cool),
        5e-5,
    );
    table.within(
        "heat-board-up-20",
        CORRELATIONS,
        7.1819,
        face(Facing::Up, 0.0).convection(318.15, 298.15),
        5e-5,
    );
    let air = Air::at(313.15);
    for (id, speed, expected) in [("1", 1.0, 11.482), ("2", 2.0, 16.237), ("3", 3.0, 19.887)] {
        let film = forced_nusselt(speed * 0.1145 / air.viscosity, air.prandtl) * air.conductivity / 0.1145;
        table.within(&format!("heat-board-flow-{id}"), CORRELATIONS, expected, film, 5e-4);
    }
    let upright =
        upright_laminar_nusselt(air.rayleigh(0.1145, 40.0), air.prandtl) * air.conductivity / 0.1145;
    table.within("heat-upright", CORRELATIONS, 5.7894, upright, 5e-5);
    table.within("heat-mixed-assisting", CHURCHILL, 7.6223, mixed(6.289, 5.790, 3.0), 5e-5);
    table.within("heat-mixed-opposing", CHURCHILL, 3.7945, mixed_opposing(6.289, 5.790, 3.0), 5e-5);
    table.within("heat-radiation-black", BLACK, 6.994, radiation(1.0, hot, cool), 5e-4);
    table.within("heat-radiation-mask", BLACK, 6.294, radiation(0.9, hot, cool), 5e-4);
}
