//! The angle of a small drop from its size: the spherical cap.
//!
//! Exact without gravity; under gravity the cap reads too low. Its error is small while the Bond number
//! [`bond_number`] is: a 2 uL drop of water at 60 deg (Bond number 0.2) reads about 1 deg low by height and base.

use facedown_field::{NoConvergence, root};
use std::f64::consts::PI;

/// Contact angle of a cap, rad, from its height and the radius of its base, m: `2 atan(height / radius)`.
pub fn angle_of_cap(height_m: f64, base_radius_m: f64) -> f64 {
    2.0 * height_m.atan2(base_radius_m)
}

/// Volume of a cap over the cube of the radius of its base, at a contact angle between 0 and pi (rad, both excluded).
pub fn cap_volume(angle_rad: f64) -> f64 {
    // With k = tan(angle / 2), height over base radius, the volume is pi k (3 + k^2) / 6; no cancellation at small angles.
    let k = (0.5 * angle_rad).tan();
    PI * k * (3.0 + k * k) / 6.0
}

/// Contact angle of a cap, rad, from its volume (m3) and the diameter of its base (m).
///
/// # Errors
/// [`NoConvergence`] for sizes that are not positive finite numbers.
pub fn angle_of_volume(volume_m3: f64, base_diameter_m: f64) -> Result<f64, NoConvergence> {
    if !(volume_m3 > 0.0 && base_diameter_m > 0.0) {
        return Err(NoConvergence::NotFinite);
    }
    let ratio = volume_m3 / (0.5 * base_diameter_m).powi(3);
    // k is at most the larger of both bounds, which each neglect one term.
    let most = (6.0 * ratio / PI).cbrt().min(2.0 * ratio / PI) * 1.001;
    let k = root::bracketed(|k| PI * k * (3.0 + k * k) / 6.0 - ratio, 0.0, most, 1e-14)?;
    Ok(2.0 * k.atan())
}

/// Bond number of a drop: base radius over capillary length, squared. Radius m, density kg/m3, tension N/m.
pub fn bond_number(base_radius_m: f64, density: f64, tension: f64) -> f64 {
    density * 9.80665 * base_radius_m * base_radius_m / tension
}

#[cfg(test)]
mod tests {
    use super::*;

    proptest::proptest! {
        #[test]
        fn volume_and_base_give_back_the_angle(degrees in 1.0..175.0_f64, radius in 1e-4..5e-3_f64) {
            let angle = degrees.to_radians();
            let volume = cap_volume(angle) * radius.powi(3);
            let found = angle_of_volume(volume, 2.0 * radius).unwrap();
            proptest::prop_assert!((found - angle).abs() < 1e-9);
            proptest::prop_assert!((angle_of_cap(radius * (0.5 * angle).tan(), radius) - angle).abs() < 1e-12);
        }
    }
}
