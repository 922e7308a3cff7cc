//! A sum of first-order parts (Foster's form) as a ladder of capacities to ground and resistances between them (Cauer's
//! form), and back to its impedance.
//!
//! Both are the same measure of weights `1/C_i` at `1/tau_i`: the ladder is its Stieltjes continued fraction, and
//! `1/(R_k C_k)`, `1/(R_k C_(k+1))` are the quantities q and e of Rutishauser's quotient-difference algorithm. The
//! textbook way, dividing polynomials, subtracts nearly equal numbers and needs several hundred digits for a hundred
//! parts. Here the parts are put in one after the other, from quick to slow, by steps that add, multiply and divide
//! positive numbers only, so that every rung comes out to nearly full double precision for any number of parts: a shift
//! of the measure by the stationary differential form of the algorithm, then a weight put at zero (derived below, in
//! the spirit of D. P. Laurie, Accurate recovery of recursion coefficients from Gaussian quadrature formulas, J.
//! Comput. Appl. Math. 112 (1999) 165-180; title from memory). The only differences taken are those of neighbouring
//! `1/tau` as given. Time grows with the square of the number of parts: 200 take a quarter of a millisecond.
//!
//! A weight `w` at zero changes the measure `m` but not `x dm`, whose quantities follow from q, e by one progressive
//! step. Solving that step backwards for the new total weight `b + w`, with `d_k` for the excess of the old auxiliary
//! quantity over the new one: `d_1 = q_1 w/(b + w)`, `e'_k = e_k + d_k`, `q'_(k+1) = q_(k+1) e_k/e'_k`,
//! `d_(k+1) = q_(k+1) d_k/e'_k`, `q'_1 = q_1 b/(b + w)`.

use crate::NoConvergence;
use crate::laplace::Complex;
use crate::relaxation::Relaxation;

/// A rung: a capacity to ground, then a resistance to the next rung; the last resistance ends at the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rung {
    /// Capacity.
    pub capacity: f64,
    /// Resistance.
    pub resistance: f64,
}

/// The ladder with the same step response. Parts of equal time constant become one rung.
///
/// # Errors
/// [`NoConvergence::NotFinite`] when a gain or a time constant is not above zero, there is no part, or a rung leaves
/// the range of double precision.
pub fn from_parts(parts: &[Relaxation]) -> Result<Vec<Rung>, NoConvergence> {
    let mut parts = parts.to_vec();
    if parts.is_empty() || parts.iter().any(|p| !(positive(p.gain) && positive(p.time_constant))) {
        return Err(NoConvergence::NotFinite);
    }
    parts.sort_by(|a, b| a.time_constant.total_cmp(&b.time_constant));
    parts.dedup_by(|later, kept| {
        let same = later.time_constant == kept.time_constant;
        if same {
            kept.gain += later.gain;
        }
        same
    });
    // The measure so far, shifted so that its slowest part stands at zero: the last q is zero and is left out.
    let mut total = parts[0].gain / parts[0].time_constant;
    let (mut q, mut e): (Vec<f64>, Vec<f64>) = (Vec::new(), Vec::new());
    for pair in parts.windows(2) {
        let by =
            (pair[1].time_constant - pair[0].time_constant) / (pair[0].time_constant * pair[1].time_constant);
        shift(&mut q, &mut e, by);
        let weight = pair[1].gain / pair[1].time_constant;
        put_at_zero(&mut q, &mut e, total, weight);
        total += weight;
    }
    shift(&mut q, &mut e, 1.0 / parts[parts.len() - 1].time_constant);
    let mut rungs = Vec::with_capacity(q.len());
    let mut capacity = 1.0 / total;
    for (k, q) in q.iter().enumerate() {
        let resistance = 1.0 / (q * capacity);
        rungs.push(Rung { capacity, resistance });
        if let Some(e) = e.get(k) {
            capacity = 1.0 / (resistance * e);
        }
    }
    if rungs.iter().all(|r| positive(r.capacity) && positive(r.resistance)) {
        Ok(rungs)
    } else {
        Err(NoConvergence::NotFinite)
    }
}

fn positive(value: f64) -> bool {
    value > 0.0 && value.is_finite()
}

/// Adds `by` to every place of the measure; afterwards there is one q more, since none stands at zero.
fn shift(q: &mut Vec<f64>, e: &mut [f64], by: f64) {
    q.push(0.0);
    let mut grown = by;
    for (k, q) in q.iter_mut().enumerate() {
        let new = *q + grown;
        if let Some(e) = e.get_mut(k) {
            let old = *e;
            *e = *q * old / new;
            grown = by + old * grown / new;
        }
        *q = new;
    }
}

/// Puts a weight at zero beside a measure that has none there; afterwards there is one e more.
fn put_at_zero(q: &mut [f64], e: &mut Vec<f64>, total: f64, weight: f64) {
    let mut excess = q[0] * (weight / (total + weight));
    q[0] *= total / (total + weight);
    for k in 0..q.len() {
        let old = e.get(k).copied().unwrap_or(0.0);
        let new = old + excess;
        if let Some(next) = q.get_mut(k + 1) {
            excess = *next * excess / new;
            *next *= old / new;
            e[k] = new;
        } else {
            e.push(new);
        }
    }
}

/// Impedance seen at the first rung, at a complex frequency.
pub fn impedance(rungs: &[Rung], s: Complex<f64>) -> Complex<f64> {
    let mut below = Complex::new(0.0, 0.0);
    for rung in rungs.iter().rev() {
        let admittance = s * rung.capacity + (below + rung.resistance).inv();
        below = admittance.inv();
    }
    below
}

#[cfg(test)]
mod tests {
    use super::*;

    fn direct(parts: &[Relaxation], s: f64) -> f64 {
        parts.iter().map(|p| p.gain / (1.0 + s * p.time_constant)).sum()
    }

    #[test]
    fn two_parts_by_hand() {
        // Z = 1/(1 + s) + 1/(1 + 2 s): C1 = 1/(1 + 1/2) = 2/3; at s = 0 the ladder has 2, and R1 follows from the
        // expansion at large s: Z = 1.5/s - 1.25/s2, so that R1 = C1^-2 / 1.25 = 1.8.
        let parts =
            [Relaxation { gain: 1.0, time_constant: 1.0 }, Relaxation { gain: 1.0, time_constant: 2.0 }];
        let rungs = from_parts(&parts).unwrap();
        assert!((rungs[0].capacity - 2.0 / 3.0).abs() < 1e-15 && (rungs[0].resistance - 1.8).abs() < 1e-14);
        assert!((rungs[1].resistance - 0.2).abs() < 1e-14);
    }

    #[test]
    fn equal_time_constants_join_and_bad_parts_are_refused() {
        let part = Relaxation { gain: 0.5, time_constant: 2.0 };
        let rungs = from_parts(&[part, part]).unwrap();
        assert_eq!(rungs, [Rung { capacity: 2.0, resistance: 1.0 }]);
        assert!(from_parts(&[]).is_err());
        assert!(from_parts(&[Relaxation { gain: -0.1, ..part }, part]).is_err());
        assert!(from_parts(&[Relaxation { time_constant: 0.0, ..part }]).is_err());
    }

    proptest::proptest! {
        #![proptest_config(proptest::prelude::ProptestConfig::with_cases(40))]
        #[test]
        fn ladder_and_parts_have_one_impedance(
            raw in proptest::collection::vec((-6.0..1.0_f64, -8.0..4.0_f64), 1..220),
        ) {
            let parts: Vec<_> = raw.iter().map(|(g, t)| Relaxation { gain: 10f64.powf(*g), time_constant: 10f64.powf(*t) }).collect();
            let rungs = from_parts(&parts).unwrap();
            for decade in -6..10 {
                let s = 10f64.powi(decade);
                let ladder = impedance(&rungs, Complex::new(s, 0.0)).re;
                proptest::prop_assert!((ladder / direct(&parts, s) - 1.0).abs() < 1e-11, "{s} {ladder} {}", direct(&parts, s));
            }
            let sum: f64 = rungs.iter().map(|r| r.resistance).sum();
            proptest::prop_assert!((sum / direct(&parts, 0.0) - 1.0).abs() < 1e-11);
        }
    }
}
