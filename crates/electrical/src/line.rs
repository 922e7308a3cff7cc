//! The trace as a line over the plane that carries its return current.
//!
//! E. Hammerstad and O. Jensen, Accurate models for microstrip computer-aided design, IEEE MTT-S International Microwave
//! Symposium Digest, 1980, p. 407: static, for a strip on a slab of thickness `h` in air, 0.01 <= u <= 100 and permittivity to 128
//! (impedance in air to 0.03 percent, effective permittivity to 0.2 percent). What covers the trace enters by the share of the
//! field that runs in the slab (H. A. Wheeler, IEEE Trans. MTT 13 (1965) 172), which takes the cover as thick.

use std::f64::consts::{E, PI};

/// Impedance of free space, ohm.
pub const ETA0: f64 = 376.730_313_668;
/// Speed of light, m/s.
pub const LIGHT: f64 = 299_792_458.0;

/// A strip on a slab.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strip {
    /// Width, m.
    pub width_m: f64,
    /// Thickness of the metal, m; zero for a thin strip.
    pub thickness_m: f64,
    /// Height over the plane, m.
    pub height_m: f64,
    /// Relative permittivity of the slab.
    pub permittivity: f64,
    /// Relative permittivity over it, thick.
    pub cover: f64,
}

/// What a line is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Impedance, ohm.
    pub impedance_ohm: f64,
    /// Effective relative permittivity.
    pub effective: f64,
}

impl Line {
    /// Capacitance, F/m.
    pub fn capacitance(&self) -> f64 {
        self.effective.sqrt() / (LIGHT * self.impedance_ohm)
    }

    /// Inductance, H/m, at frequencies where the current runs on the surface.
    pub fn inductance(&self) -> f64 {
        self.effective.sqrt() * self.impedance_ohm / LIGHT
    }

    /// Delay, s/m.
    pub fn delay(&self) -> f64 {
        self.effective.sqrt() / LIGHT
    }
}

/// Impedance in air of a thin strip of `u` = width over height, ohm (Hammerstad and Jensen, eq. 1 and 2).
pub fn in_air(u: f64) -> f64 {
    let f = 6.0 + (2.0 * PI - 6.0) * (-(30.666 / u).powf(0.7528)).exp();
    ETA0 / (2.0 * PI) * (f / u + (1.0 + 4.0 / (u * u)).sqrt()).ln()
}

/// Effective permittivity of a thin strip on a slab in air (Hammerstad and Jensen, eq. 3 to 5).
pub fn effective(u: f64, er: f64) -> f64 {
    let a = 1.0
        + ((u.powi(4) + (u / 52.0).powi(2)) / (u.powi(4) + 0.432)).ln() / 49.0
        + (1.0 + (u / 18.1).powi(3)).ln() / 18.7;
    let b = 0.564 * ((er - 0.9) / (er + 3.0)).powf(0.053);
    (er + 1.0) / 2.0 + (er - 1.0) / 2.0 * (1.0 + 10.0 / u).powf(-a * b)
}

/// Width over height by which a thick strip acts: in air and on the slab (Hammerstad and Jensen, eq. 6 and 7). With a cover
/// the contrast of both permittivities takes the place of the slab's own, so that a medium that is the same all around
/// widens the strip as air does.
fn widened(strip: &Strip) -> (f64, f64) {
    let (u, t) = (strip.width_m / strip.height_m, strip.thickness_m / strip.height_m);
    if t == 0.0 {
        return (u, u);
    }
    let in_air = t / PI * (1.0 + 4.0 * E * (6.517 * u).sqrt().tanh().powi(2) / t).ln();
    let contrast = (strip.permittivity / strip.cover).max(strip.cover / strip.permittivity) - 1.0;
    let on_slab = in_air * (1.0 + 1.0 / contrast.sqrt().cosh()) / 2.0;
    (u + in_air, u + on_slab)
}

/// The line of a strip: Hammerstad and Jensen, with the cover by Wheeler's share of the field in the slab.
pub fn strip(strip: &Strip) -> Line {
    let (air, slab) = widened(strip);
    // A permittivity near 1 leaves the share undefined as a quotient; the share itself hardly depends on it.
    let er = strip.permittivity.max(1.0 + 1e-9);
    let bare = effective(slab, er);
    let share = (bare - 1.0) / (er - 1.0);
    let filled = share * er + (1.0 - share) * strip.cover;
    // Ratio of the impedance in air between both widths keeps the capacitance of the slab's width.
    let effective = filled * (in_air(air) / in_air(slab)).powi(2);
    Line { impedance_ohm: in_air(air) / effective.sqrt(), effective }
}

/// Where the form is used outside its range, a sentence.
pub fn outside(strip: &Strip) -> Option<String> {
    let u = strip.width_m / strip.height_m;
    if !(0.01..=100.0).contains(&u) {
        return Some(format!("Width over height is {u:.3}; the form holds from 0.01 to 100."));
    }
    if strip.permittivity > 128.0 {
        return Some(format!("Permittivity is {:.0}; the form holds to 128.", strip.permittivity));
    }
    let t = strip.thickness_m / strip.height_m.min(strip.width_m);
    (t > 1.0).then(|| {
        format!("The metal is {t:.1} times as thick as the smaller of width and height; the form takes a flat strip.")
    })
}
