//! The inverse Laplace transform by a sum over a hyperbola around the negative real axis.
//!
//! For a transform whose singularities lie on or near the negative real axis (diffusion, chains of first-order parts)
//! the sum over N points converges like 10^-N, and the contour is scaled with N so that rounding grows slowly: double
//! precision gives about twelve digits of the largest value on the way with 14 evaluations (J. A. C. Weideman, L. N.
//! Trefethen, Parabolic and hyperbolic contours for computing the Bromwich integral, Mathematics of Computation 76
//! (2007) 1341-1356). A contour that is not scaled so loses about half of the digits. That the
//! singularities lie there is for the caller to know: one near the contour spoils the convergence and is told by the
//! sum over fewer points, one far outside of it (an oscillation, late) is simply missed.

use crate::NoConvergence;
pub use nalgebra::Complex;

/// Step, scale and asymptotic angle of the best hyperbola (Weideman and Trefethen 2007, section 4).
const STEP: f64 = 1.081_792_140;
const SCALE: f64 = 4.492_075_287;
const ANGLE: f64 = 1.172_104_229;

/// The function of time whose Laplace transform is given, at a time above zero, to an absolute tolerance.
///
/// # Errors
/// [`NoConvergence::NotFinite`] when the time is not above zero or the transform gives no finite number,
/// [`NoConvergence::TooSlow`] when the sums over 14 and over 11 points differ by more than the tolerance: it is too
/// tight, or the transform has singularities away from the negative real axis.
pub fn inverse(
    transform: impl Fn(Complex<f64>) -> Complex<f64>,
    time: f64,
    tolerance: f64,
) -> Result<f64, NoConvergence> {
    if !(time > 0.0 && time.is_finite()) {
        return Err(NoConvergence::NotFinite);
    }
    let value = sum(&transform, time, 14);
    let coarse = sum(&transform, time, 11);
    if !(value.is_finite() && coarse.is_finite()) {
        return Err(NoConvergence::NotFinite);
    }
    if (value - coarse).abs() > tolerance {
        return Err(NoConvergence::TooSlow);
    }
    Ok(value)
}

fn sum(transform: &impl Fn(Complex<f64>) -> Complex<f64>, time: f64, points: usize) -> f64 {
    let n = points as f64;
    let (scale, step) = (SCALE * n / time, STEP / n);
    let mut total = 0.0;
    for k in 0..points {
        let u = Complex::new((k as f64 + 0.5) * step, ANGLE);
        let s = Complex::new(scale, 0.0) + Complex::new(0.0, scale) * u.sinh();
        let along = Complex::new(0.0, scale) * u.cosh();
        total += (transform(s) * (s * time).exp() * along).im;
    }
    total * step / std::f64::consts::PI
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_pairs() {
        for time in [1e-9, 3e-4, 0.2, 1.0, 40.0, 1e6] {
            // 1/sqrt(s) and 1/sqrt(pi t); 1/(s + a) and exp(-a t); exp(-sqrt s)/s and erfc(1/(2 sqrt t)).
            let root = inverse(|s| s.sqrt().inv(), time, 1e-8 / time.sqrt()).unwrap();
            assert!((root * (std::f64::consts::PI * time).sqrt() - 1.0).abs() < 1e-12);
            let decay = inverse(|s| (s + 0.7).inv(), time, 1e-8).unwrap();
            assert!((decay - (-0.7 * time).exp()).abs() < 1e-12);
            let late = inverse(|s| (-s.sqrt()).exp() / s, time, 1e-8).unwrap();
            // The library's erfc itself is good to about ten digits.
            assert!((late - statrs::function::erf::erfc(0.5 / time.sqrt())).abs() < 1e-10, "{time}");
        }
        // The poles of an oscillation are not on the axis.
        assert_eq!(inverse(|s| (s * s + 1.0).inv(), 2.0, 1e-8), Err(NoConvergence::TooSlow));
        assert_eq!(inverse(|s| s.inv(), 0.0, 1e-8), Err(NoConvergence::NotFinite));
    }
}
