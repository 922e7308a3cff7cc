//! Integrals over one number: adaptive Gauss-Kronrod.
//!
//! Nodes and weights of the 7/15-point pair: R. Piessens et al., QUADPACK, 1983, routine QK15. The interval with the
//! largest error is halved until the sum of the errors keeps the tolerance. An integrable singularity at an end is
//! best removed by the caller's substitution; the rule never evaluates the ends themselves.

use crate::NoConvergence;

const NODE: [f64; 8] = [
    0.991_455_371_120_812_6,
    0.949_107_912_342_758_5,
    0.864_864_423_359_769_1,
    0.741_531_185_599_394_4,
    0.586_087_235_467_691_1,
    0.405_845_151_377_397_2,
    0.207_784_955_007_898_47,
    0.0,
];
const KRONROD: [f64; 8] = [
    0.022_935_322_010_529_224,
    0.063_092_092_629_978_55,
    0.104_790_010_322_250_18,
    0.140_653_259_715_525_92,
    0.169_004_726_639_267_9,
    0.190_350_578_064_785_4,
    0.204_432_940_075_298_9,
    0.209_482_141_084_727_82,
];
const GAUSS: [f64; 4] =
    [0.129_484_966_168_869_7, 0.279_705_391_489_276_64, 0.381_830_050_505_118_9, 0.417_959_183_673_469_4];

fn pair(f: &impl Fn(f64) -> f64, a: f64, b: f64) -> (f64, f64) {
    let (centre, half) = (0.5 * (a + b), 0.5 * (b - a));
    let (mut kronrod, mut gauss) = (0.0, 0.0);
    for i in 0..8 {
        let sum =
            if NODE[i] == 0.0 { f(centre) } else { f(centre - half * NODE[i]) + f(centre + half * NODE[i]) };
        kronrod += KRONROD[i] * sum;
        if i % 2 == 1 {
            gauss += GAUSS[i / 2] * sum;
        }
    }
    (kronrod * half, ((kronrod - gauss) * half).abs())
}

/// The integral of `f` from `a` to `b`, to a relative tolerance of its value (or, where the value vanishes, of the
/// smallest normal number).
///
/// # Errors
/// [`NoConvergence::NotFinite`] when `f` gives no finite number, [`NoConvergence::TooSlow`] when 2,000 intervals do
/// not keep the tolerance.
pub fn adaptive(
    f: impl Fn(f64) -> f64,
    a: f64,
    b: f64,
    relative_tolerance: f64,
) -> Result<f64, NoConvergence> {
    let mut pieces = vec![(a, b, pair(&f, a, b))];
    for _ in 0..2000 {
        let value: f64 = pieces.iter().map(|p| p.2.0).sum();
        let error: f64 = pieces.iter().map(|p| p.2.1).sum();
        if !(value.is_finite() && error.is_finite()) {
            return Err(NoConvergence::NotFinite);
        }
        // Below a few units of the last place of the largest piece the error is rounding and cannot shrink.
        let floor = 8.0 * f64::EPSILON * pieces.iter().map(|p| p.2.0.abs()).sum::<f64>();
        if error <= (relative_tolerance * value.abs()).max(floor).max(f64::MIN_POSITIVE) {
            return Ok(value);
        }
        let Some(worst) = (0..pieces.len()).max_by(|&i, &j| pieces[i].2.1.total_cmp(&pieces[j].2.1)) else {
            break;
        };
        let (a, b, _) = pieces.swap_remove(worst);
        let middle = 0.5 * (a + b);
        pieces.push((a, middle, pair(&f, a, middle)));
        pieces.push((middle, b, pair(&f, middle, b)));
    }
    Err(NoConvergence::TooSlow)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_integrals() {
        assert!((adaptive(f64::exp, 0.0, 1.0, 1e-14).unwrap() - (1.0_f64.exp() - 1.0)).abs() < 1e-14);
        assert!((adaptive(|x| x.sqrt(), 0.0, 1.0, 1e-10).unwrap() - 2.0 / 3.0).abs() < 1e-10);
        assert!(
            (adaptive(|x| 1.0 / (1e-4 + x * x), -1.0, 1.0, 1e-12).unwrap() - 200.0 * 100.0_f64.atan()).abs()
                < 1e-8
        );
        assert_eq!(adaptive(|x| x, -1.0, 1.0, 1e-12), Ok(0.0));
        assert!(adaptive(|x| 1.0 / x, 0.0, 1.0, 1e-9).is_err());
    }

    #[test]
    fn a_polynomial_of_degree_22_is_exact() {
        let (value, _) = pair(&|x: f64| x.powi(22), -1.0, 1.0);
        assert!((value - 2.0 / 23.0).abs() < 1e-15);
    }
}
