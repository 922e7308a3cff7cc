//! The shape of a drop that rests on a plane, from its apex down.
//!
//! F. Bashforth and J. C. Adams, An Attempt to Test the Theories of Capillary Action, Cambridge 1883: with all lengths over
//! the radius of curvature `b` at the apex, `dphi/ds = 2 + beta z - sin(phi)/x`, `beta = density gravity b^2 / tension`.
//! The slope `phi` is the free variable here: it rises steadily along a drop at rest, and the contact angle is its last
//! value.

use facedown_field::{NoConvergence, rates::Path};
use std::f64::consts::PI;

/// Where a profile has a given slope; lengths over the apex radius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Distance from the axis.
    pub x: f64,
    /// Depth below the apex.
    pub z: f64,
    /// Volume between the apex and this depth, over the cube of the apex radius.
    pub volume: f64,
}

/// Smallest and largest slope of [`at_slope`], rad.
pub const SLOPES: [f64; 2] = [1e-3, 3.1];
/// Largest `beta` of [`at_slope`].
pub const MOST_BETA: f64 = 1e10;

/// The point of the profile whose slope is `phi`, rad, for `beta` of zero (a sphere) to [`MOST_BETA`].
///
/// The volume is the balance of forces on the cap, `V = pi x (x (2 + beta z) - 2 sin phi) / beta`, and that of a sphere
/// where `beta` is too small for it.
///
/// # Errors
/// [`NoConvergence`] for a slope outside [`SLOPES`] or a `beta` outside its range.
pub fn at_slope(beta: f64, phi: f64) -> Result<Point, NoConvergence> {
    if !((0.0..=MOST_BETA).contains(&beta) && (SLOPES[0]..=SLOPES[1]).contains(&phi)) {
        return Err(NoConvergence::NotFinite);
    }
    // Close to the apex by series of the arc length s: phi = s + beta s^3 / 8, and x, z by integration.
    let s = 1e-3 * phi.min(1.0) / (1.0 + beta).sqrt();
    let from = s + beta * s.powi(3) / 8.0;
    let start =
        [s - s.powi(3) / 6.0, 0.5 * s * s + (beta / 8.0 - 1.0 / 6.0) * s.powi(4) / 4.0, PI * s.powi(4) / 4.0];
    let rate = |phi: f64, [x, z, _]: &[f64; 3]| {
        let (sine, cosine) = phi.sin_cos();
        let turn = 2.0 + beta * z - sine / x;
        [cosine / turn, sine / turn, PI * x * x * sine / turn]
    };
    // Scales near the apex are small numbers; the tolerance is relative to each value.
    let mut path = Path::new(rate, from, start, 1e-11, [1e-9, 1e-9, 1e-9], s);
    path.march(phi, |_| false)?;
    let (_, [x, z, integrated]) = path.end();
    let balanced = PI * x / beta * (x * (2.0 + beta * z) - 2.0 * phi.sin());
    // The balance cancels where beta is small; the integral does not.
    let volume = if beta > 1.0 { balanced } else { integrated };
    Ok(Point { x, z, volume })
}

/// Capillary length, m: the root of surface tension (N/m) over density (kg/m3) and gravity (9.80665 m/s2).
pub fn capillary_length(tension: f64, density: f64) -> f64 {
    (tension / (density * 9.80665)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_weight_it_is_a_sphere() {
        for degrees in [1.0_f64, 30.0, 90.0, 150.0, 175.0] {
            let phi = degrees.to_radians();
            let p = at_slope(0.0, phi).unwrap();
            assert!((p.x - phi.sin()).abs() < 1e-9 && (p.z - (1.0 - phi.cos())).abs() < 1e-9);
            let cap = PI * (2.0 - 3.0 * phi.cos() + phi.cos().powi(3)) / 3.0;
            assert!((p.volume - cap).abs() < 1e-9, "{degrees}");
        }
        assert!(
            at_slope(-1.0, 1.0).is_err() && at_slope(f64::NAN, 1.0).is_err() && at_slope(1.0, 0.0).is_err()
        );
    }

    proptest::proptest! {
        #[test]
        fn forces_balance(log_beta in -2.0..4.0_f64, phi in 0.02..3.0_f64) {
            let beta = 10_f64.powf(log_beta);
            let p = at_slope(beta, phi).unwrap();
            let balanced = PI * p.x / beta * (p.x * (2.0 + beta * p.z) - 2.0 * phi.sin());
            let scale = p.volume + PI * p.x * 2.0 * phi.sin() / beta * 1e-9;
            proptest::prop_assert!((p.volume - balanced).abs() < 1e-7 * p.volume.max(scale), "{} {balanced}", p.volume);
        }

        #[test]
        fn a_large_puddle_has_its_height(phi in 0.3..3.0_f64) {
            // Height of an endless puddle: 2 sin(phi / 2) capillary lengths; a round one is a little higher.
            let p = at_slope(9e5, phi).unwrap();
            let height = p.z * 9e5_f64.sqrt();
            let endless = 2.0 * (0.5 * phi).sin();
            proptest::prop_assert!(height > endless && height < 1.08 * endless, "{height} {endless}");
        }
    }
}
