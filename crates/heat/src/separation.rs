//! Junction to case by two transients that part where the case begins (JEDEC JESD51-14, 2010).
//!
//! The package warms up twice on a cold plate, once with grease under its case and once dry. As long as heat is inside the
//! package both curves are one; they part where it reaches the case, and the thermal impedance there is the resistance
//! from junction to case. Nobody measures the temperature of the case for it. The point of separation is where the slopes
//! over the logarithm of time, their difference divided by that of the steady ends, exceed `0.0045 W/K theta + 0.003`
//! (JESD51-14, section 4.3, first method; D. Schweitzer, H. Pape, L. Chen, SEMI-THERM 2008; constants from memory). The
//! method is made for one path of heat. Where heat spreads on its way, or the case is the die itself, the curves part far too
//! early: it is no figure of a solved package (`docs/conduction.md`).

use facedown_field::relaxation::Relaxation;

/// The threshold of the slopes: a part that grows with the resistance, W/K, and a constant one.
const THRESHOLD: [f64; 2] = [0.0045, 0.003];
/// Film under a dry case: the greased one over this (common practice, no source).
pub const WORSE_DRY: f64 = 3.0;
/// Points looked at in a decade.
const POINTS: f64 = 40.0;

/// Where two curves part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Separation {
    /// When, s.
    pub time_s: f64,
    /// Thermal impedance there, K/W: the resistance from junction to case.
    pub theta_k_w: f64,
}

/// Thermal impedance, K/W, and its slope over the logarithm of time, of a sum of first-order parts and of what answers at
/// once.
pub fn impedance_and_slope(parts: &[Relaxation], at_once: f64, time_s: f64) -> [f64; 2] {
    parts.iter().fold([at_once, 0.0], |[value, slope], p| {
        let passed = time_s / p.time_constant;
        [value - p.gain * (-passed).exp_m1(), slope + p.gain * passed * (-passed).exp()]
    })
}

/// Where the curve of the dry contact parts from that of the greased one, between two times, s; both curves give the
/// impedance, K/W, and its slope over the logarithm of time. `None` where they do not part, or are apart from the start.
pub fn separation(
    greased: impl Fn(f64) -> [f64; 2],
    dry: impl Fn(f64) -> [f64; 2],
    [from, to]: [f64; 2],
) -> Option<Separation> {
    let apart = dry(to)[0] - greased(to)[0];
    if apart.is_nan() || apart <= 0.0 {
        return None;
    }
    // Above zero where the slopes are farther apart than the threshold.
    let over = |time: f64| {
        let [theta, slope] = greased(time);
        (dry(time)[1] - slope) / apart - (THRESHOLD[0] * theta + THRESHOLD[1])
    };
    let count = (POINTS * (to / from).log10()).ceil() as usize;
    let times: Vec<f64> = (0..=count).map(|i| from * (to / from).powf(i as f64 / count as f64)).collect();
    let values: Vec<f64> = times.iter().map(|t| over(*t)).collect();
    // From the largest difference back to the last time that there was none: noise before it does not count.
    let largest = (0..values.len()).max_by(|a, b| values[*a].total_cmp(&values[*b]))?;
    let before = (0..largest).rev().find(|i| values[*i] <= 0.0).filter(|_| values[largest] > 0.0)?;
    let [mut low, mut high] = [times[before], times[before + 1]];
    for _ in 0..60 {
        let middle = (low * high).sqrt();
        if over(middle) > 0.0 { high = middle } else { low = middle }
    }
    Some(Separation { time_s: low, theta_k_w: greased(low)[0] })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(last: f64) -> Vec<Relaxation> {
        [(0.1, 1e-3), (0.2, 0.05), (last, 2.0)]
            .map(|(gain, time_constant)| Relaxation { gain, time_constant })
            .to_vec()
    }

    #[test]
    fn curves_that_never_part_have_no_separation() {
        let of = |last: f64| move |t: f64| impedance_and_slope(&parts(last), 0.0, t);
        assert_eq!(separation(of(0.5), of(0.5), [1e-6, 1e3]), None);
        assert_eq!(separation(of(0.5), of(0.4), [1e-6, 1e3]), None);
        // Apart before the first time.
        assert_eq!(separation(of(0.5), of(0.8), [1.0, 1e3]), None);
        let found = separation(of(0.5), of(0.8), [1e-6, 1e3]).unwrap();
        assert!(found.time_s > 1e-3 && found.time_s < 0.2, "{found:?}");
    }

    #[test]
    fn the_slope_is_that_of_the_curve() {
        let of = |t: f64| impedance_and_slope(&parts(0.5), 0.01, t);
        for time in [1e-4, 3e-3, 0.1, 5.0] {
            let step = 1e-5;
            let numeric = (of(time * (1.0 + step))[0] - of(time * (1.0 - step))[0]) / (2.0 * step);
            assert!((numeric - of(time)[1]).abs() < 1e-7);
        }
    }
}
