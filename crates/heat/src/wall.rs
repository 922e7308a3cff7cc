//! Plane walls: a composite wall between two films, and a wall whose conductivity falls with temperature.
//!
//! F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed. 2007, section 3.1; H. S. Carslaw, J. C.
//! Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section 1.6 (Kirchhoff's transformation). From memory.

use crate::sheet::Sheet;

/// Resistance of layers with their contacts and a film (W/(m2 K), above zero) behind them, m2 K/W.
pub fn resistance(layers: &[Sheet], film: f64) -> f64 {
    layers.iter().map(Sheet::resistance).sum::<f64>() + 1.0 / film
}

/// Temperature rise of a heated plane that loses heat through two sides, K: flux W/m2, resistances m2 K/W.
pub fn between_two(flux: f64, one: f64, other: f64) -> f64 {
    flux / (1.0 / one + 1.0 / other)
}

/// Hot face of a wall with `k = k0 (T/T0)^-n`, K (n not 1): `[Tb^(1-n) - (n-1) q L / (k0 T0^n)]^(1/(1-n))` with the cold
/// face `base_k`, flux W/m2, thickness m, `k0` W/(m K) at `t0` K.
///
/// Gives `None` where the flux is more than the wall can carry at any temperature.
pub fn power_law_hot_face(base_k: f64, flux: f64, thickness_m: f64, k0: f64, t0: f64, n: f64) -> Option<f64> {
    let left = base_k.powf(1.0 - n) - (n - 1.0) * flux * thickness_m / (k0 * t0.powf(n));
    (left > 0.0).then(|| left.powf(1.0 / (1.0 - n)))
}

/// Middle of a wall of a thickness of twice `half_m` with heat in its volume and both faces at `face`, for
/// `k = k0 (1 + rise (T - face))`: `face + (sqrt(1 + rise q half^2 / k0) - 1) / rise` (Kirchhoff's transformation). Source
/// W/m3, half thickness m, `k0` W/(m K), `rise` 1/K, above zero.
pub fn heated_wall_middle(face: f64, source: f64, half_m: f64, k0: f64, rise: f64) -> f64 {
    face + ((1.0 + rise * source * half_m * half_m / k0).sqrt() - 1.0) / rise
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wall_too_thick_for_its_flux_has_no_hot_face() {
        assert!(power_law_hot_face(350.0, 1e9, 1.0, 148.0, 300.0, 1.3).is_none());
        let mild = power_law_hot_face(350.0, 1.0, 1e-3, 148.0, 300.0, 1.3).unwrap();
        assert!((mild - 350.0).abs() < 1e-4);
    }
}
