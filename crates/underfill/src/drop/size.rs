//! The angle from the volume of a drop and the diameter of its base, with its weight; and the drop from its angle.

use super::profile::{self, MOST_BETA};
use crate::surface::drop as cap;
use facedown_evidence::input::{OutOfRange, within};
use facedown_field::{NoConvergence, root};

/// Size of a drop at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Radius of curvature at the apex, m.
    pub apex_radius_m: f64,
    /// Diameter of the base, m.
    pub base_diameter_m: f64,
    /// Height, m.
    pub height_m: f64,
}

/// An angle with what it would be without the drop's weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizedAngle {
    /// Contact angle, rad.
    pub angle_rad: f64,
    /// Contact angle of the spherical cap of the same volume and base, rad.
    pub cap_rad: f64,
    /// One standard deviation from those of volume and diameter, rad.
    pub spread_rad: f64,
}

/// Why there is no angle.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoAngle {
    /// A number outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// No drop has this volume on this base.
    #[error(
        "no drop at rest of {volume_ul:.4} uL has a base of {diameter_mm:.3} mm; check both and the liquid"
    )]
    NoSuchDrop {
        /// Volume, uL.
        volume_ul: f64,
        /// Diameter of the base, mm.
        diameter_mm: f64,
    },
    /// The shape could not be computed.
    #[error("the shape of the drop was not found: {0}")]
    NotFound(#[from] NoConvergence),
}

/// The drop of a volume (m3) with a contact angle (rad, 1 to 177 deg), for a capillary length (m).
///
/// # Errors
/// [`NoAngle`].
pub fn of_angle(volume_m3: f64, angle_rad: f64, capillary_length_m: f64) -> Result<Size, NoAngle> {
    check(volume_m3, capillary_length_m)?;
    within(
        "the contact angle",
        angle_rad,
        1.0_f64.to_radians(),
        177.0_f64.to_radians(),
        "from 1 to 177 deg",
    )?;
    // Volume over the cube of the capillary length rises with beta = (b / length)^2 at a fixed angle.
    let wanted = (volume_m3 / capillary_length_m.powi(3)).ln();
    let volume = |log_beta: f64| {
        let beta = log_beta.exp();
        profile::at_slope(beta, angle_rad).map_or(f64::NAN, |p| p.volume.ln() + 1.5 * log_beta - wanted)
    };
    let (least, most) = (-30.0, MOST_BETA.ln() - 1e-9);
    let log_beta = root::bracketed(volume, least, most, 1e-12)?;
    let b = capillary_length_m * (0.5 * log_beta).exp();
    let point = profile::at_slope(log_beta.exp(), angle_rad)?;
    Ok(Size { apex_radius_m: b, base_diameter_m: 2.0 * b * point.x, height_m: b * point.z })
}

/// Contact angle of a drop of a volume (m3) on a base of a diameter (m), each with one standard deviation, for a capillary
/// length (m).
///
/// # Errors
/// [`NoAngle`]: a size outside 1 pL to 1 mL, or a drop outside 1 to 177 deg.
pub fn angle_of(
    volume_m3: (f64, f64),
    base_diameter_m: (f64, f64),
    capillary_length_m: f64,
) -> Result<SizedAngle, NoAngle> {
    check(volume_m3.0, capillary_length_m)?;
    within("the diameter of the base", base_diameter_m.0, 1e-6, 0.1, "from 1 um to 100 mm")?;
    within("the spread of the volume", volume_m3.1, 0.0, volume_m3.0, "from 0 to the volume")?;
    within(
        "the spread of the diameter",
        base_diameter_m.1,
        0.0,
        base_diameter_m.0,
        "from 0 to the diameter",
    )?;
    let at = |volume: f64, diameter: f64| -> Result<f64, NoAngle> {
        let apart = |angle: f64| {
            of_angle(volume, angle, capillary_length_m)
                .map_or(f64::NAN, |s| (s.base_diameter_m / diameter).ln())
        };
        // The cap reads too low, never too high.
        let least = (0.999 * cap::angle_of_volume(volume, diameter)?).max(1.0_f64.to_radians());
        root::bracketed(apart, least, 177.0_f64.to_radians(), 1e-11).map_err(|e| match e {
            NoConvergence::NotBracketed => {
                NoAngle::NoSuchDrop { volume_ul: volume * 1e9, diameter_mm: diameter * 1e3 }
            }
            other => other.into(),
        })
    };
    let angle_rad = at(volume_m3.0, base_diameter_m.0)?;
    // Slopes by a step of a thousandth to each side.
    let step = 1e-3;
    let slope = |v: f64, d: f64| -> Result<f64, NoAngle> {
        let up = at(volume_m3.0 * (1.0 + v * step), base_diameter_m.0 * (1.0 + d * step))?;
        let down = at(volume_m3.0 * (1.0 - v * step), base_diameter_m.0 * (1.0 - d * step))?;
        Ok((up - down) / (2.0 * step))
    };
    let of_volume = slope(1.0, 0.0)? * volume_m3.1 / volume_m3.0;
    let of_diameter = slope(0.0, 1.0)? * base_diameter_m.1 / base_diameter_m.0;
    Ok(SizedAngle {
        angle_rad,
        cap_rad: cap::angle_of_volume(volume_m3.0, base_diameter_m.0)?,
        spread_rad: of_volume.hypot(of_diameter),
    })
}

fn check(volume_m3: f64, capillary_length_m: f64) -> Result<(), OutOfRange> {
    within("the volume of the drop", volume_m3, 1e-15, 1e-6, "from 1 pL to 1 mL")?;
    within("the capillary length", capillary_length_m, 1e-4, 0.1, "from 0.1 to 100 mm")
}

#[cfg(test)]
mod tests {
    use super::*;

    proptest::proptest! {
        #![proptest_config(proptest::prelude::ProptestConfig::with_cases(24))]
        #[test]
        fn volume_and_base_give_back_the_angle(degrees in 2.0..170.0_f64, log_ul in -2.0..1.5_f64) {
            let (angle, volume) = (degrees.to_radians(), 1e-9 * 10_f64.powf(log_ul));
            let drop = of_angle(volume, angle, 2.727e-3).unwrap();
            let found = angle_of((volume, 0.0), (drop.base_diameter_m, 0.0), 2.727e-3).unwrap();
            proptest::prop_assert!((found.angle_rad - angle).abs() < 1e-6);
            // Weight flattens: the cap reads too low.
            proptest::prop_assert!(found.cap_rad < found.angle_rad);
            proptest::prop_assert_eq!(found.spread_rad, 0.0);
        }
    }

    #[test]
    fn the_spread_is_that_of_a_small_cap() {
        // For a flat cap the angle goes as volume over diameter cubed.
        let drop = of_angle(1e-11, 3.0_f64.to_radians(), 2.7e-3).unwrap();
        let d = drop.base_diameter_m;
        let found = angle_of((1e-11, 1e-13), (d, 0.02 * d), 2.7e-3).unwrap();
        let expected = found.angle_rad * f64::hypot(0.01, 0.06);
        assert!((found.spread_rad / expected - 1.0).abs() < 0.02);
    }

    #[test]
    fn impossible_drops_are_refused() {
        let words = angle_of((2e-9, 0.0), (0.1e-3, 0.0), 2.7e-3).unwrap_err().to_string();
        assert_eq!(words, "no drop at rest of 2.0000 uL has a base of 0.100 mm; check both and the liquid");
        assert!(angle_of((f64::NAN, 0.0), (1e-3, 0.0), 2.7e-3).is_err());
        assert!(angle_of((1e-9, 0.0), (-1e-3, 0.0), 2.7e-3).is_err());
    }
}
