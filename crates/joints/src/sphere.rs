//! The truncated sphere: a liquid joint that carries nothing.
//!
//! Without load and without gravity the free surface between two round pads is a sphere cut by both pads, so heights,
//! widths and stiffnesses have closed forms. Lengths in m, volumes in m3, `a` and `b` the radii of the lower and upper
//! wetted area. Geometry as used by L. S. Goldmann, IBM J. Res. Dev. 13 (1969), 251-265.

use std::f64::consts::PI;

/// Volume of a slice of a sphere between two parallel circles: `pi h/6 (3 a^2 + 3 b^2 + h^2)`.
pub fn slice_volume(a: f64, b: f64, height: f64) -> f64 {
    PI * height / 6.0 * (3.0 * a * a + 3.0 * b * b + height * height)
}

/// Volume of a cap on a pad of radius `a`.
pub fn cap_volume(a: f64, height: f64) -> f64 {
    slice_volume(a, 0.0, height)
}

/// Height of the slice that holds a volume: the one real root of `h^3 + 3 (a^2 + b^2) h - 6 V/pi = 0` (Cardano).
pub fn slice_height(a: f64, b: f64, volume: f64) -> f64 {
    let q = 3.0 * volume / PI;
    let c = a * a + b * b;
    let first = (q + (q * q + c * c * c).sqrt()).cbrt();
    // The two cube roots nearly cancel where the slice is flat; the quotient below is their difference without loss.
    let second = c / first;
    2.0 * q / (first * first + c + second * second)
}

/// Height of the cap that holds a volume on a pad of radius `a`.
pub fn cap_height(a: f64, volume: f64) -> f64 {
    slice_height(a, 0.0, volume)
}

/// Largest diameter of a cap on a pad of radius `a`: of the sphere where the cap is more than half of it, else of the
/// pad.
pub fn cap_width(a: f64, height: f64) -> f64 {
    if height >= a { (a * a + height * height) / height } else { 2.0 * a }
}

/// Height of the sphere's centre above the lower pad; negative below it.
pub fn centre_height(a: f64, b: f64, height: f64) -> f64 {
    (height * height + b * b - a * a) / (2.0 * height)
}

/// Radius of the sphere.
pub fn radius(a: f64, b: f64, height: f64) -> f64 {
    a.hypot(centre_height(a, b, height))
}

/// Largest diameter of the slice: of the sphere where its centre lies between the pads, else of the larger pad.
pub fn slice_width(a: f64, b: f64, height: f64) -> f64 {
    let centre = centre_height(a, b, height);
    if (0.0..=height).contains(&centre) { 2.0 * radius(a, b, height) } else { 2.0 * a.max(b) }
}

/// Volume of a joint between equal pads of radius `a` that touches an equal neighbour at the distance `pitch`, without
/// load; absent where the pads alone touch.
pub fn bridging_volume(a: f64, pitch: f64) -> Option<f64> {
    let rise = 0.25 * pitch * pitch - a * a;
    (rise > 0.0).then(|| slice_volume(a, a, 2.0 * rise.sqrt()))
}

/// Vertical stiffness `-dF/dh` in N/m at constant volume of an unloaded joint between equal pads, rims pinned, with the
/// surface tension `tension` in N/m: `pi g (1 + X^2) / ((1 + X^2) artanh X - X)`, `X = h / 2R`.
///
/// Derived from the first integral of the capillary surface at zero force (see [`crate::surface`]), and checked against
/// its numerical derivative and against [`crate::joint`].
pub fn vertical_stiffness(a: f64, height: f64, tension: f64) -> f64 {
    let x = height / (4.0 * a * a + height * height).sqrt();
    // (1 + x^2) artanh x - x loses digits for flat joints; its series is x^3 (4/3 + 8/15 x^2 + ...).
    let gap = if x < 0.05 {
        let s = x * x;
        x * s * (4.0 / 3.0 + s * (8.0 / 15.0 + s * (12.0 / 35.0 + s * (16.0 / 63.0 + s * 20.0 / 99.0))))
    } else {
        (1.0 + x * x) * x.atanh() - x
    };
    PI * tension * (1.0 + x * x) / gap
}

/// Lateral stiffness in N/m of the same joint: `pi g / (artanh X + X / (1 - X^2))`.
///
/// Derived from the first-order Jacobi field of the sphere for a shifted upper rim; the flat limit is the shear of a
/// liquid film, `pi g a / h`.
pub fn lateral_stiffness(a: f64, height: f64, tension: f64) -> f64 {
    let x = height / (4.0 * a * a + height * height).sqrt();
    PI * tension / (x.atanh() + x / (1.0 - x * x))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn limits_of_the_stiffnesses() {
        let flat = 1e-3;
        assert!((vertical_stiffness(1.0, flat, 1.0) / (0.75 * PI * (2.0 / flat).powi(3)) - 1.0).abs() < 1e-5);
        assert!((lateral_stiffness(1.0, flat, 1.0) / (PI / flat) - 1.0).abs() < 1e-5);
        // Both forms of the vertical one meet where the series takes over.
        let place = |x: f64| 2.0 * x / (1.0 - x * x).sqrt();
        let below = vertical_stiffness(1.0, place(0.05 - 1e-9), 1.0);
        let above = vertical_stiffness(1.0, place(0.05 + 1e-9), 1.0);
        assert!((below / above - 1.0).abs() < 2e-7, "{below} {above}");
    }

    #[test]
    fn no_volume_bridges_pads_that_touch() {
        assert_eq!(bridging_volume(50e-6, 100e-6), None);
        assert!(bridging_volume(49e-6, 100e-6).is_some());
    }

    proptest! {
        #[test]
        fn the_cubic_gives_back_the_height(a in 1e-6..1e-3_f64, ratio in 0.0..2.0_f64, flat in 1e-6..10.0_f64) {
            let (b, height) = (a * ratio, a * flat);
            let found = slice_height(a, b, slice_volume(a, b, height));
            prop_assert!((found / height - 1.0).abs() < 1e-12, "{found} {height}");
        }

        #[test]
        fn a_wider_pad_makes_a_lower_and_stiffer_joint(a in 10e-6..300e-6_f64, grow in 1.01..2.0_f64) {
            let volume = cap_volume(a, a);
            let (narrow, wide) = (slice_height(a, a, volume), slice_height(a * grow, a * grow, volume));
            prop_assert!(wide < narrow);
            prop_assert!(vertical_stiffness(a * grow, wide, 0.5) > vertical_stiffness(a, narrow, 0.5));
            prop_assert!(lateral_stiffness(a * grow, wide, 0.5) > lateral_stiffness(a, narrow, 0.5));
        }
    }
}
