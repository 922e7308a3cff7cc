//! What roughness, patches and trapped air do to the angle of a drop that is large against them.
//!
//! A flow through a bumped gap uses the local angle of Young instead; these forms read a sessile drop.

/// The angle on a rough, fully wetted surface, rad: `cos = roughness cos(angle)` (R. N. Wenzel, Ind. Eng. Chem. 28 (1936)
/// 988). `roughness` is true over projected area, at least 1. Held at 0 or pi where the form leaves the range of cosines.
pub fn wenzel(angle_rad: f64, roughness: f64) -> f64 {
    (roughness * angle_rad.cos()).clamp(-1.0, 1.0).acos()
}

/// The angle on patches, rad: `cos = sum share cos(angle)` (A. B. D. Cassie, Discuss. Faraday Soc. 3 (1948) 11). Shares
/// (share, angle in rad) should add up to 1; they are normalised. Nothing for no share at all.
pub fn patches(shares: &[(f64, f64)]) -> Option<f64> {
    let whole: f64 = shares.iter().map(|s| s.0).sum();
    let sum: f64 = shares.iter().map(|(share, angle)| share * angle.cos()).sum();
    (whole > 0.0 && (sum / whole).is_finite()).then(|| (sum / whole).clamp(-1.0, 1.0).acos())
}

/// The angle on flat tops with air between, rad: `cos = wetted (cos(angle) + 1) - 1` (A. B. D. Cassie and S. Baxter,
/// Trans. Faraday Soc. 40 (1944) 546), `wetted` being the share of solid under the drop, 0 to 1.
pub fn on_tops(angle_rad: f64, wetted: f64) -> f64 {
    (wetted * (angle_rad.cos() + 1.0) - 1.0).clamp(-1.0, 1.0).acos()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_smooth_uniform_surface_keeps_its_angle() {
        for degrees in [0.0, 30.0, 90.0, 140.0_f64] {
            let angle = degrees.to_radians();
            assert!((wenzel(angle, 1.0) - angle).abs() < 1e-7);
            assert!((patches(&[(0.2, angle), (0.8, angle)]).unwrap() - angle).abs() < 1e-7);
            assert!((on_tops(angle, 1.0) - angle).abs() < 1e-7);
        }
        assert!(patches(&[]).is_none());
        // Roughness makes a wetting surface wet better and a repelling one repel more.
        assert!(wenzel(1.0, 1.3) < 1.0 && wenzel(2.0, 1.3) > 2.0);
    }
}
