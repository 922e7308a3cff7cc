//! Wire bond against flip chip, side by side.

use crate::inductance;
use crate::outcome::{Connection, NetOutcome, Row};
use crate::problem::{Kind, Switching};

/// Lumped delay of a connection that drives a load, s: `sqrt(L C)` of its inductance with all that it charges, and the
/// resistance with half its own capacitance and the load (W. C. Elmore, J. Appl. Phys. 19 (1948) 55). Good where the
/// connection is short against the edge.
pub fn lumped_delay(resistance_ohm: f64, inductance_h: f64, own_f: f64, load_f: f64) -> f64 {
    (inductance_h * (own_f + load_f)).sqrt() + resistance_ohm * (own_f / 2.0 + load_f)
}

/// Bounce of a supply, V: `L n di/dt` over the pairs that share it.
pub fn bounce(loop_h: f64, switching: &Switching) -> f64 {
    inductance::shared(loop_h, switching.supply_pairs)
        * f64::from(switching.drivers)
        * switching.driver_current_a
        / switching.edge_time_s
}

/// The net with the largest of something; the first of equal ones.
pub(crate) fn worst<'a>(
    nets: impl IntoIterator<Item = &'a NetOutcome>,
    of: impl Fn(&NetOutcome) -> f64,
) -> Option<&'a NetOutcome> {
    nets.into_iter().fold(None, |best: Option<&NetOutcome>, n| match best {
        Some(b) if of(b) >= of(n) => Some(b),
        _ => Some(n),
    })
}

/// The table.
pub(crate) fn rows(wire: &Connection, bump: &Connection, nets: &[NetOutcome], s: &Switching) -> Vec<Row> {
    let row = |quantity: &str, unit: &str, scale: f64, [wire, bump, bump_and_trace]: [f64; 3]| Row {
        quantity: quantity.into(),
        unit: unit.into(),
        wire: wire * scale,
        bump: bump * scale,
        bump_and_trace: bump_and_trace * scale,
    };
    let signals: Vec<&NetOutcome> = nets.iter().filter(|n| n.kind == Kind::Signal).collect();
    let trace = |of: fn(&NetOutcome) -> f64| worst(signals.iter().copied(), of).map_or(0.0, of);
    let r = trace(|n| n.trace_resistance_ohm);
    let l = trace(|n| n.trace_inductance_h);
    let c = trace(|n| n.trace_capacitance_f);
    let supplies: Vec<&NetOutcome> = nets.iter().filter(|n| n.kind != Kind::Signal).collect();
    let supply_l =
        worst(supplies.iter().copied(), |n| n.trace_inductance_h).map_or(0.0, |n| n.trace_inductance_h);
    let delay = |r: f64, l: f64, c: f64| lumped_delay(r, l, c, s.load_f);
    let mut rows = vec![
        row("resistance", "mohm", 1e3, [wire.resistance_ohm, bump.resistance_ohm, bump.resistance_ohm + r]),
        row("partial inductance", "pH", 1e12, [wire.partial_h, bump.partial_h, bump.partial_h + l]),
        row("loop inductance with a neighbour", "pH", 1e12, [wire.loop_h, bump.loop_h, bump.loop_h + l]),
        row("capacitance", "fF", 1e15, [wire.capacitance_f, bump.capacitance_f, bump.capacitance_f + c]),
        row(
            "delay into the load",
            "ps",
            1e12,
            [
                delay(wire.resistance_ohm, wire.loop_h, wire.capacitance_f),
                delay(bump.resistance_ohm, bump.loop_h, bump.capacitance_f),
                delay(bump.resistance_ohm + r, bump.loop_h + l, bump.capacitance_f + c),
            ],
        ),
        row(
            "supply bounce",
            "mV",
            1e3,
            [bounce(wire.loop_h, s), bounce(bump.loop_h, s), bounce(bump.loop_h + supply_l, s)],
        ),
    ];
    if let Some(drop) = worst(supplies.iter().copied(), NetOutcome::drop_v) {
        let wired = worst(supplies.iter().copied(), |n| n.drop_wired_v).map_or(0.0, |n| n.drop_wired_v);
        rows.push(row("supply drop", "mV", 1e3, [wired, drop.drop_bump_v, drop.drop_v()]));
    }
    rows
}
