//! Spreading from a small source: the half space, and the quick estimate for a plate.
//!
//! Kept as checks of the plate series and for quick estimates. Resistances are made dimensionless with the conductivity
//! and the root of the source's area, `R k sqrt(A)`, which hardly depends on the source's shape (M. M. Yovanovich).

use std::f64::consts::PI;

/// A round source on a half space, evenly heated: mean `8/(3 pi^1.5)` and centre `1/sqrt(pi)` (H. S. Carslaw, J. C.
/// Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section 8.2).
pub fn disc_on_half_space() -> (f64, f64) {
    (8.0 / (3.0 * PI.powf(1.5)), 1.0 / PI.sqrt())
}

/// Centre of an evenly heated rectangle on a half space (Carslaw and Jaeger, section 8.2; derived: the integral of
/// `1/(2 pi r)`): `[a asinh(b/a) + b asinh(a/b)] / (pi sqrt(ab))`.
pub fn rectangle_centre_on_half_space(a: f64, b: f64) -> f64 {
    (a * (b / a).asinh() + b * (a / b).asinh()) / (PI * (a * b).sqrt())
}

/// Mean of an evenly heated rectangle on a half space (the mean of `1/(2 pi r)` over all pairs of its points): with `a`,
/// `b` the sides and `d` the diagonal, `[a^2 b asinh(b/a) + a b^2 asinh(a/b) + (a^3 + b^3 - d^3)/3] / (pi (ab)^1.5)`.
pub fn rectangle_mean_on_half_space(a: f64, b: f64) -> f64 {
    let d = a.hypot(b);
    (a * a * b * (b / a).asinh() + a * b * b * (a / b).asinh() + (a.powi(3) + b.powi(3) - d.powi(3)) / 3.0)
        / (PI * (a * b).powf(1.5))
}

/// Mean and largest spreading resistance of a source on a plate with a film behind it, K/W: S. Lee, S. Song, V. Au, K. P.
/// Moran, ASME/JSME Thermal Engineering Conf. 4 (1995) 199-206; from memory. A quick estimate, some percent low.
///
/// Areas m2, thickness m, conductivity W/(m K), film W/(m2 K).
pub fn quick_estimate(
    source_m2: f64,
    plate_m2: f64,
    thickness_m: f64,
    conductivity: f64,
    film: f64,
) -> (f64, f64) {
    let (r1, r2) = ((source_m2 / PI).sqrt(), (plate_m2 / PI).sqrt());
    let (e, t, biot) = (r1 / r2, thickness_m / r2, film * r2 / conductivity);
    let l = PI + 1.0 / (PI.sqrt() * e);
    let tanh = (l * t).tanh();
    let phi = (tanh + l / biot) / (1.0 + l / biot * tanh);
    let mean = (1.0 - e).powf(1.5) * phi / (2.0 * PI.sqrt() * conductivity * r1);
    (mean, (1.0 - e) * phi / (PI * conductivity * r1))
}

/// Middle over mean of a die that spreads its even heat to a contact of one temperature, K/W times conductivity and thickness of the die: `(ln 2 - 7/12) / (2 pi)`, for a round
/// die. Derived: even heat `q` arises in the disc and leaves as `q/2 (1 - r^2/a^2)^(-1/2)`; what must flow outward
/// within the die gives `dT/dr`, integrated from centre to rim and averaged over the disc.
pub fn bow_of_conducting_die() -> f64 {
    (0.5 + 2.0_f64.ln() - 1.0 - 1.0 / 12.0) / (2.0 * PI)
}

#[cfg(test)]
mod tests {
    use super::*;
    use facedown_field::quadrature::adaptive;

    #[test]
    fn the_bow_is_its_integral() {
        let slope = |s: f64| (s * s - 1.0 + (1.0 - s * s).sqrt()) / s;
        let centre_over_rim = adaptive(slope, 1e-9, 1.0, 1e-10).unwrap();
        let mean_over_rim = adaptive(|s| s * s * slope(s), 0.0, 1.0, 1e-10).unwrap();
        let bow = (centre_over_rim - mean_over_rim) / (2.0 * PI);
        assert!((bow - bow_of_conducting_die()).abs() < 1e-7, "{bow}");
    }

    #[test]
    fn square_and_disc_are_close() {
        assert!((rectangle_mean_on_half_space(1.0, 1.0) - 0.473_201).abs() < 1e-6);
        assert!((disc_on_half_space().0 / rectangle_mean_on_half_space(1.0, 1.0) - 1.0).abs() < 0.013);
    }
}
