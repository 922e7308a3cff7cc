//! Partial and loop inductance of round bars, at low frequency, in free space.
//!
//! A partial inductance belongs to a piece of a loop and has a meaning only together with the others of the loop (A. E. Ruehli,
//! IBM J. Res. Dev. 16 (1972) 470). Bumps are as thick as tall, so that the forms for long wires are useless for them:
//! here the filaments' mutual inductance is averaged over both cross-sections, without further approximation.

use crate::valid::Refusal;
use facedown_field::quadrature;
use std::f64::consts::PI;

/// mu0/(2 pi), H/m.
const MU0_2PI: f64 = 2e-7;

/// `l asinh(l/s) - sqrt(l^2 + s^2) + s`, written so that nothing cancels for large `s`.
fn neumann(l: f64, s: f64) -> f64 {
    if s == 0.0 {
        return f64::INFINITY;
    }
    let u = l / s;
    if u < 1e-3 {
        // Series of l asinh(u) - s (sqrt(1 + u^2) - 1) in u.
        return s * (u * u / 2.0 - u.powi(4) / 24.0);
    }
    l * u.asinh() - u * l / ((1.0 + u * u).sqrt() + 1.0)
}

/// Mutual partial inductance of two equal parallel filaments of length `length_m` at `distance_m`, abreast, H (Neumann's
/// integral; E. B. Rosa, Bulletin of the Bureau of Standards 4 (1908) 301). Exact for filaments.
pub fn filaments(length_m: f64, distance_m: f64) -> f64 {
    MU0_2PI * neumann(length_m, distance_m)
}

/// Partial self inductance of a round straight wire with evenly spread current, H (E. B. Rosa, Bulletin of the Bureau of
/// Standards 4 (1908) 301). Good where it is much longer than thick: 6 percent high at a length of 0.8 diameters.
pub fn rosa_wire(length_m: f64, radius_m: f64) -> f64 {
    let q = radius_m / length_m;
    MU0_2PI * length_m * ((1.0 / q).asinh() - (1.0 + q * q).sqrt() + q + 0.25)
}

/// Partial self inductance of a round straight bar of any length with evenly spread current, H: Neumann's integral
/// averaged over the distances of two points of a disc (density `4s/(pi r^2) [acos(s/2r) - (s/2r) sqrt(1 - (s/2r)^2)]`).
///
/// # Errors
/// [`Refusal::NoNumber`] when the integral does not converge.
pub fn round_bar(length_m: f64, radius_m: f64) -> Result<f64, Refusal> {
    // In units of the radius, s = 2 cos(t): the density turns smooth and the logarithm at s = 0 is weighted by s.
    let l = length_m / radius_m;
    let integral = quadrature::adaptive(
        |t: f64| {
            let (sin, cos) = t.sin_cos();
            neumann(l, 2.0 * cos) * 8.0 * cos / PI * (t - cos * sin) * 2.0 * sin
        },
        0.0,
        PI / 2.0,
        1e-12,
    )
    .map_err(|_| Refusal::NoNumber("partial inductance of a bar"))?;
    Ok(MU0_2PI * radius_m * integral)
}

/// Nodes and weights over a disc of radius 1 with total weight 1: four rings (Gauss-Legendre in the squared radius), sixteen
/// angles. Exact for polynomials to degree 7.
fn disc() -> Vec<(f64, f64, f64)> {
    const RINGS: [(f64, f64); 4] = [
        (0.069_431_844_202_973_71, 0.173_927_422_568_726_93),
        (0.330_009_478_207_571_87, 0.326_072_577_431_273_07),
        (0.669_990_521_792_428_1, 0.326_072_577_431_273_07),
        (0.930_568_155_797_026_3, 0.173_927_422_568_726_93),
    ];
    let mut nodes = Vec::with_capacity(64);
    for (square, weight) in RINGS {
        for k in 0..16 {
            let angle = (f64::from(k) + 0.5) * PI / 8.0;
            nodes.push((square.sqrt() * angle.cos(), square.sqrt() * angle.sin(), weight / 16.0));
        }
    }
    nodes
}

/// Mutual partial inductance of two equal round bars abreast, evenly spread current, H: Neumann's integral averaged over both
/// cross-sections. The bars must not overlap. Seven digits where they are half a diameter apart or more.
pub fn round_bars(length_m: f64, radius_m: f64, distance_m: f64) -> f64 {
    let nodes = disc();
    let mut sum = 0.0;
    for &(x1, y1, w1) in &nodes {
        for &(x2, y2, w2) in &nodes {
            let s = (distance_m + radius_m * (x2 - x1)).hypot(radius_m * (y2 - y1));
            sum += w1 * w2 * neumann(length_m, s);
        }
    }
    MU0_2PI * sum
}

/// Loop inductance of a go-and-return pair from its partial inductances, H: `2 (L - M)` (A. E. Ruehli, IBM J. Res. Dev. 16
/// (1972) 470).
pub fn pair_loop(partial_h: f64, mutual_h: f64) -> f64 {
    2.0 * (partial_h - mutual_h)
}

/// Inductance per length of a wire of radius `radius_m` whose axis lies `height_m` over a perfect plane, current on its surface,
/// H/m: `(mu0/2 pi) acosh(h/r)`. Exact for a long wire at high frequency.
pub fn wire_over_plane(height_m: f64, radius_m: f64) -> f64 {
    MU0_2PI * (height_m / radius_m).acosh()
}

/// Inductance of a via to a plane, H (M. E. Goldfarb and R. A. Pucel, IEEE Microwave and Guided Wave Letters 1 (1991) 135).
pub fn via(height_m: f64, radius_m: f64) -> f64 {
    let d = radius_m.hypot(height_m);
    MU0_2PI * (height_m * ((height_m + d) / radius_m).ln() + 1.5 * (radius_m - d))
}

/// Inductance of the supply path that `pairs` interleaved supply-and-return pairs share, H.
pub fn shared(loop_h: f64, pairs: u32) -> f64 {
    loop_h / f64::from(pairs)
}
