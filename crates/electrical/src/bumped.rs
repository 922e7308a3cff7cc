//! One bump and one wire with their neighbour as return.

use crate::outcome::Connection;
use crate::problem::{Bump, Piece, Wire};
use crate::valid::Refusal;
use crate::{capacitance, conductor, inductance};

/// Radius of the bar of the bump's height and volume, and that height, m.
pub(crate) fn bar(bump: &Bump) -> (f64, f64) {
    let height: f64 = bump.pieces.iter().map(|p| p.height_m).sum();
    let volume: f64 = bump.pieces.iter().map(conductor::piece_volume).sum();
    ((volume / (std::f64::consts::PI * height)).sqrt(), height)
}

/// A bump with a neighbour at the pitch as return.
pub(crate) fn bump(bump: &Bump, temperature_k: f64) -> Result<Connection, Refusal> {
    let (radius, height) = bar(bump);
    let partial_h = inductance::round_bar(height, radius)?;
    let mutual_h = inductance::round_bars(height, radius, bump.pitch_m);
    Ok(Connection {
        resistance_ohm: bump.pieces.iter().map(|p| conductor::piece(p, temperature_k)).sum(),
        partial_h,
        mutual_h,
        loop_h: inductance::pair_loop(partial_h, mutual_h),
        capacitance_f: height * capacitance::two_wires(bump.pitch_m, radius, bump.permittivity),
    })
}

/// Mean height of a wire over the plane: its loop taken as a parabola, two thirds of the height (common practice, no
/// source), and never below a wire that just clears the plane.
pub(crate) fn mean_height(wire: &Wire) -> f64 {
    (wire.loop_height_m * 2.0 / 3.0).max(0.55 * wire.diameter_m)
}

/// A wire with its neighbour as return; its capacitance is to the plane below.
pub(crate) fn wire(wire: &Wire, temperature_k: f64) -> Result<Connection, Refusal> {
    let radius = wire.diameter_m / 2.0;
    let straight = Piece {
        name: "wire".into(),
        height_m: wire.length_m,
        diameter_m: wire.diameter_m,
        waist_m: None,
        metal: wire.metal,
    };
    let partial_h = inductance::round_bar(wire.length_m, radius)?;
    let mutual_h = inductance::round_bars(wire.length_m, radius, wire.spacing_m);
    Ok(Connection {
        resistance_ohm: conductor::piece(&straight, temperature_k),
        partial_h,
        mutual_h,
        loop_h: inductance::pair_loop(partial_h, mutual_h),
        capacitance_f: wire.length_m
            * capacitance::wire_over_plane(mean_height(wire), radius, wire.permittivity),
    })
}
