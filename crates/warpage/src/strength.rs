//! Strength of brittle dies: Weibull statistics, size effect, and the stress in the usual bending tests.
//!
//! Flaw populations are independent (survival probabilities multiply), and the two principal tensions of a place act
//! independently (R. L. Barnett and others 1967). Compression adds no risk.

use crate::problem::Weibull;

/// Risk of rupture of a place: how many characteristic strengths' worth, given the principal stresses, Pa, and the
/// share of the reference that the place stands for.
pub fn risk(w: &Weibull, principal: &[f64], extent: f64) -> f64 {
    principal.iter().map(|s| (s.max(0.0) / w.characteristic_pa).powf(w.shape)).sum::<f64>() * extent
        / w.reference
}

/// Probability of failure at a total risk of rupture (W. Weibull, J. Appl. Mech. 18, 1951).
pub fn probability(risk: f64) -> f64 {
    -(-risk).exp_m1()
}

/// Principal stresses in a plane from stress in x, in y and shear.
pub fn principal([x, y, shear]: [f64; 3]) -> [f64; 2] {
    let (mean, half) = ((x + y) / 2.0, (x - y) / 2.0);
    let radius = half.hypot(shear);
    [mean + radius, mean - radius]
}

/// Ratio of strengths of two pieces at the same probability: area of the second over area of the first, to one over
/// the shape.
pub fn size_effect(first: f64, second: f64, shape: f64) -> f64 {
    (second / first).powf(1.0 / shape)
}

/// Stress in three-point bending, Pa: force N, span, width and thickness m.
pub fn three_point(force: f64, span: f64, width: f64, thickness: f64) -> f64 {
    3.0 * force * span / (2.0 * width * thickness * thickness)
}

/// Stress in four-point bending, Pa: force N, outer and inner span, width and thickness m.
pub fn four_point(force: f64, outer: f64, inner: f64, width: f64, thickness: f64) -> f64 {
    3.0 * force * (outer - inner) / (2.0 * width * thickness * thickness)
}
