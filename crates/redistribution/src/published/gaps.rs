//! Metrics, spacings, gap capacities and escape maxima.

use super::{GEOMETRY, NETWORKX_FLOW, SKY130, Source, Table};
use crate::capacity::{array_gaps, escape_by_flow, escape_maximum, gap_capacity, parallel_spacing};
use facedown_evidence::Basis;
use facedown_graph::assignment::Distance;
use facedown_graph::flow::{FlowError, Network, min_cost_flow};

const SHAPELY: Source = Source("shapely 2.2 distance (reference library)", Basis::ReferenceLibrary);
const BOARD_NOTE: Source = Source("Motorola PBGA board-design note, 1999", Basis::Published);
const TRADE: Source =
    Source("worked example of the trade for bumps on traces, no source", Basis::CommonPractice);

pub(super) fn rows(table: &mut Table) {
    for (name, distance, expected) in [
        ("euclidean", Distance::Euclidean, 500.0),
        ("octilinear", Distance::Octilinear, 524.264069),
        ("rectilinear", Distance::Rectilinear, 700.0),
    ] {
        table.relative(&format!("distance-{name}"), GEOMETRY, expected, distance.of(300.0, 400.0), 1e-8);
    }
    let ratio = |degrees: f64| {
        let (y, x) = degrees.to_radians().sin_cos();
        Distance::Octilinear.of(x, y)
    };
    table.relative("octilinear-excess-22.5", GEOMETRY, 1.082392200, ratio(22.5), 1e-9);
    // Midpoint sum over an eighth of the circle, where the ratio is smooth.
    let steps = 20_000;
    let mean = (0..steps).map(|k| ratio((k as f64 + 0.5) * 45.0 / steps as f64)).sum::<f64>() / steps as f64;
    table.relative("octilinear-excess-mean", GEOMETRY, 1.054786175, mean, 1e-9);
    table.relative("spacing-level", SHAPELY, 60.0, parallel_spacing(100.0, 90.0, 40.0), 1e-9);
    table.relative("spacing-45", SHAPELY, 30.710678, parallel_spacing(100.0, 45.0, 40.0), 1e-7);

    for (id, pitch, capture, line, expected, source) in [
        ("gap-500", 500.0, 270.0, 10.0, (230.0, 11.0, 437.107, 21.0), SKY130),
        ("gap-400", 400.0, 235.0, 10.0, (165.0, 7.0, 330.685, 16.0), SKY130),
        ("gap-150", 150.0, 100.0, 25.0, (50.0, 0.0, 112.132, 1.0), TRADE),
    ] {
        let gaps = array_gaps(pitch, capture, line, line);
        table.relative(&format!("{id}-side"), source, expected.0, gaps.orthogonal, 1e-9);
        table.exact(&format!("{id}-side-traces"), source, expected.1, gaps.orthogonal_traces as f64);
        table.within(&format!("{id}-diagonal"), source, expected.2, gaps.diagonal, 5e-4);
        table.exact(&format!("{id}-diagonal-traces"), source, expected.3, gaps.diagonal_traces as f64);
    }
    let on_trace = array_gaps(150.0, 25.0, 25.0, 25.0);
    table.exact("gap-150-on-trace", TRADE, 125.0, on_trace.orthogonal);
    table.exact("gap-150-on-trace-traces", TRADE, 2.0, on_trace.orthogonal_traces as f64);
    // Lands of 0.50 mm with 0.10 mm mask relief all round, lines and spaces of 4 mil.
    let mil4 = 0.1016;
    let board = |pitch: f64| gap_capacity(pitch - 0.70, mil4, mil4, mil4) as f64;
    table.exact("board-side-traces", BOARD_NOTE, 0.0, board(1.00));
    table.exact("board-diagonal-traces-rounded-pitch", BOARD_NOTE, 2.0, board(1.41));
    table.exact("board-diagonal-traces", GEOMETRY, 3.0, board(std::f64::consts::SQRT_2));

    for (id, n, over, under, expected) in [
        ("escape-10-1", 10, 1, 1, 72.0),
        ("escape-10-2", 10, 2, 1, 100.0),
        ("escape-12-1", 12, 1, 1, 88.0),
        ("escape-16-3", 16, 3, 1, 240.0),
        ("escape-20-1.375", 20, 11, 8, 180.5),
    ] {
        let flow = escape_by_flow(n, over, under).map_or(f64::NAN, |f| f as f64 / under as f64);
        table.exact(&format!("{id}-flow"), NETWORKX_FLOW, expected, flow);
        let closed = escape_maximum(n, over as f64 / under as f64);
        table.relative(&format!("{id}-closed-form"), NETWORKX_FLOW, expected, closed, 1e-12);
    }
    table.exact("escape-10-1-refuses-73", NETWORKX_FLOW, 1.0, refused(10, 1, 73) as f64);
    table.exact("escape-16-3-refuses-241", NETWORKX_FLOW, 1.0, refused(16, 3, 241) as f64);
}

/// Nets that stay over when `nets` are to leave an n x n array: those inside the outer ring must pass its gaps, those on
/// it leave by themselves. The same outline is the cut that the refusal names.
fn refused(n: usize, traces: i64, nets: i64) -> i64 {
    let ring = 4 * (n as i64 - 1);
    let mut network = Network::new(2);
    network.set_supply(0, nets);
    network.set_supply(1, -nets);
    for _ in 0..ring {
        network.add_arc(0, 1, 1, 0);
        network.add_arc(0, 1, traces, 0);
    }
    match min_cost_flow(&network) {
        Err(FlowError::Infeasible { short, .. }) => short,
        _ => 0,
    }
}
