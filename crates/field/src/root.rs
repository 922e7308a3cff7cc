//! Roots of a function of one number within a bracket.
//!
//! Brent's method keeps the bracket of bisection and takes the steps of inverse interpolation where they are safe, so
//! that it always ends and mostly ends quickly (R. P. Brent, Algorithms for Minimization without Derivatives, 1973,
//! ch. 4).

use crate::NoConvergence;

/// The place between `from` and `to` where `f` changes sign, to a tolerance relative to the root, or to a millionth of
/// the given interval where the root is smaller than that.
///
/// # Errors
/// [`NoConvergence::NotBracketed`] when both ends have the same sign, [`NoConvergence::NotFinite`] when `f` gives no
/// finite number, [`NoConvergence::TooSlow`] after 200 evaluations.
pub fn bracketed(
    f: impl Fn(f64) -> f64,
    from: f64,
    to: f64,
    relative_tolerance: f64,
) -> Result<f64, NoConvergence> {
    let (mut a, mut b) = (from, to);
    let (mut fa, mut fb) = (f(a), f(b));
    if !(fa.is_finite() && fb.is_finite() && a.is_finite() && b.is_finite()) {
        return Err(NoConvergence::NotFinite);
    }
    if fa == 0.0 {
        return Ok(a);
    }
    if fb == 0.0 {
        return Ok(b);
    }
    if (fa > 0.0) == (fb > 0.0) {
        return Err(NoConvergence::NotBracketed);
    }
    let (mut c, mut fc) = (a, fa);
    let least = 1e-6 * (to - from).abs();
    let mut step = b - a;
    let mut before = step;
    for _ in 0..200 {
        if fc.abs() < fb.abs() {
            (a, b, c) = (b, c, b);
            (fa, fb, fc) = (fb, fc, fb);
        }
        let tolerance = 2.0 * f64::EPSILON * b.abs() + 0.5 * relative_tolerance * b.abs().max(least);
        let half = 0.5 * (c - b);
        if half.abs() <= tolerance || fb == 0.0 {
            return Ok(b);
        }
        if before.abs() < tolerance || fa.abs() <= fb.abs() {
            step = half;
            before = half;
        } else {
            let s = fb / fa;
            let (mut p, mut q);
            if a == c {
                p = 2.0 * half * s;
                q = 1.0 - s;
            } else {
                let (r, t) = (fb / fc, fa / fc);
                p = s * (2.0 * half * t * (t - r) - (b - a) * (r - 1.0));
                q = (t - 1.0) * (r - 1.0) * (s - 1.0);
            }
            if p > 0.0 {
                q = -q;
            } else {
                p = -p;
            }
            if 2.0 * p < (3.0 * half * q - (tolerance * q).abs()).min((before * q).abs()) {
                before = step;
                step = p / q;
            } else {
                step = half;
                before = half;
            }
        }
        (a, fa) = (b, fb);
        b += if step.abs() > tolerance { step } else { tolerance.copysign(half) };
        fb = f(b);
        if !fb.is_finite() {
            return Err(NoConvergence::NotFinite);
        }
        if (fb > 0.0) == (fc > 0.0) {
            (c, fc) = (a, fa);
            step = b - a;
            before = step;
        }
    }
    Err(NoConvergence::TooSlow)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_roots() {
        assert!((bracketed(|x| x * x - 2.0, 0.0, 2.0, 1e-15).unwrap() - 2.0_f64.sqrt()).abs() < 1e-15);
        assert!((bracketed(|x| x * x * x, -1.0, 1.5, 1e-12).unwrap()).abs() < 1e-5);
        // Kepler's equation at a high eccentricity.
        let e = bracketed(|e| e - 0.99 * e.sin() - 0.01, 0.0, 3.0, 1e-14).unwrap();
        assert!((e - 0.99 * e.sin() - 0.01).abs() < 1e-14);
        assert_eq!(bracketed(|x| x * x + 1.0, -1.0, 1.0, 1e-9), Err(NoConvergence::NotBracketed));
        assert_eq!(bracketed(|x| x.ln(), -1.0, 1.0, 1e-9), Err(NoConvergence::NotFinite));
    }

    proptest::proptest! {
        #[test]
        fn a_monotone_cubic_gives_back_its_root(r in -1e3..1e3_f64, a in 0.01..10.0_f64) {
            let found = bracketed(|x| (x - r) * (1.0 + a * (x - r) * (x - r)), -2e3, 3e3, 1e-13).unwrap();
            proptest::prop_assert!((found - r).abs() <= 1e-10 * (1.0 + r.abs()));
        }
    }
}
