//! How much underfill: gap, bumps, fillet, passes; and how far filler settles.

use facedown_field::root;
use std::f64::consts::PI;

/// Volume of a fillet around a rectangular die, m3: a triangle along the perimeter and quarter cones at the corners,
/// `perimeter w H / 2 + pi w^2 H / 3`. A hollow face holds less, down to 0.43 of the triangle for a quarter circle.
pub fn fillet_volume(perimeter_m: f64, width_m: f64, height_m: f64) -> f64 {
    perimeter_m * width_m * height_m / 2.0 + PI * width_m * width_m * height_m / 3.0
}

/// Height, m, of the fillet with that volume and a fixed ratio of width to height; zero for no volume.
pub fn fillet_height(perimeter_m: f64, width_over_height: f64, volume_m3: f64) -> f64 {
    if volume_m3 <= 0.0 {
        return 0.0;
    }
    let most = (2.0 * volume_m3 / (perimeter_m * width_over_height)).sqrt();
    let over = |h: f64| fillet_volume(perimeter_m, width_over_height * h, h) - volume_m3;
    // The triangle alone bounds the height from above; rounding may put its volume a little low.
    root::bracketed(over, 0.0, most * (1.0 + 1e-9), 1e-13).unwrap_or(most)
}

/// Volume, m3, that one pass may lay down: a half-round bead that just reaches the die's edge, `pi offset^2 / 2` times the length
/// of the lines (m). A bead with more runs onto the die or the neighbours before it is drawn in.
pub fn pass_volume(offset_m: f64, lines_m: f64) -> f64 {
    0.5 * PI * offset_m * offset_m * lines_m
}

/// A filler in its resin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Filler {
    /// Diameter, m.
    pub diameter_m: f64,
    /// Density of filler less density of resin, kg/m3.
    pub excess_density: f64,
    /// Share of the volume, 0 to 1.
    pub share: f64,
}

/// Speed at which filler settles, m/s: Stokes, hindered as `(1 - share)^4.65` (J. F. Richardson and W. N. Zaki, Trans. Inst. Chem.
/// Eng. 32 (1954) 35), in a resin of that viscosity, Pa s.
pub fn settling_speed(filler: Filler, viscosity: f64) -> f64 {
    filler.excess_density * 9.80665 * filler.diameter_m.powi(2) / (18.0 * viscosity)
        * (1.0 - filler.share).powf(4.65)
}

#[cfg(test)]
mod tests {
    use super::*;

    proptest::proptest! {
        #[test]
        fn a_fillet_gives_back_its_height(h in 1e-6..2e-3_f64, ratio in 0.2..2.0_f64, perimeter in 1e-3..0.2_f64) {
            let volume = fillet_volume(perimeter, ratio * h, h);
            proptest::prop_assert!((fillet_height(perimeter, ratio, volume) / h - 1.0).abs() < 1e-9);
            proptest::prop_assert_eq!(fillet_height(perimeter, ratio, -volume), 0.0);
        }
    }
}
