//! Capacitance of wires and bumps to what carries their return current, per length or whole.

use std::f64::consts::PI;

/// Permittivity of vacuum, F/m.
pub const EPS0: f64 = 8.854_187_812_8e-12;

/// A long wire of radius `radius_m` whose axis lies `height_m` over a plane, F/m: `2 pi eps/acosh(h/r)` (W. R. Smythe, Static
/// and Dynamic Electricity, 1950). Exact for a long wire.
pub fn wire_over_plane(height_m: f64, radius_m: f64, permittivity: f64) -> f64 {
    2.0 * PI * EPS0 * permittivity / (height_m / radius_m).acosh()
}

/// Two long wires of equal radius, F/m: `pi eps/acosh(d/2r)` (W. R. Smythe, Static and Dynamic Electricity, 1950). For bumps the
/// ends add to it, so that it is a lower bound.
pub fn two_wires(distance_m: f64, radius_m: f64, permittivity: f64) -> f64 {
    PI * EPS0 * permittivity / (distance_m / (2.0 * radius_m)).acosh()
}

/// A trace as parallel plates without fringe, F/m: the least that it can have.
pub fn plates(width_m: f64, height_m: f64, permittivity: f64) -> f64 {
    EPS0 * permittivity * width_m / height_m
}
