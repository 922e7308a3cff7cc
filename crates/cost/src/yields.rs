//! Yield of a die by its area and the defects on the wafer, dies on a wafer, and what a test lets through.
//!
//! The models differ in how unevenly defects lie. Poisson takes them as independent and is the most pessimistic;
//! the negative binomial with a clustering parameter reaches from Poisson (infinity) to Price's model (1).

use serde::{Deserialize, Serialize};

/// How killing defects are spread over wafers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Model {
    /// Evenly: `exp(-A D)`.
    Poisson,
    /// A triangular spread of densities: `((1 - exp(-A D)) / (A D))^2` (Murphy, Proc. IEEE 52, 1964, p. 1537).
    Murphy,
    /// An exponential spread of densities: `exp(-sqrt(A D))` (Seeds, IEEE Int. Conv. Rec. 6, 1967, p. 60).
    Seeds,
    /// A gamma spread with this clustering parameter: `(1 + A D / a)^-a` (Stapper, IBM J. Res. Dev. 27, 1983, p. 549).
    Clustered(f64),
}

/// Share of good dies, 0 to 1, for a die of `area` m2 and `defects` per m2.
pub fn die_yield(model: Model, area: f64, defects: f64) -> f64 {
    let x = area * defects;
    match model {
        Model::Poisson => (-x).exp(),
        // The quotient goes to 1 with x.
        Model::Murphy if x < 1e-8 => 1.0 - x,
        Model::Murphy => (-(-x).exp_m1() / x).powi(2),
        Model::Seeds => (-x.sqrt()).exp(),
        Model::Clustered(a) => (-a * (x / a).ln_1p()).exp(),
    }
}

/// Whole dies on a round wafer: the best of all places of a straight lattice of `step` (die and street, m) whose dies
/// (`size`, m) lie within `diameter` less twice the `rim`, m.
///
/// The lattice is counted exactly, with its origin tried on a grid of sixteenths of a step; formulas that estimate the
/// count from areas (de Vries, IEEE Trans. Semicond. Manuf. 18, 2005, p. 136) are within a few percent of it.
pub fn dies_per_wafer(size: [f64; 2], street: f64, diameter: f64, rim: f64) -> usize {
    let r = diameter / 2.0 - rim;
    let step = [size[0] + street, size[1] + street];
    let mut best = 0;
    for ox in 0..16 {
        for oy in 0..16 {
            let o = [f64::from(ox) / 16.0 * step[0], f64::from(oy) / 16.0 * step[1]];
            let mut count = 0usize;
            // Row by row: the wider of a row's two edges decides how far it reaches.
            let rows = (r / step[1]).ceil() as i64 + 1;
            for row in -rows..=rows {
                let y0 = o[1] + row as f64 * step[1];
                let y1 = y0 + size[1];
                let y = y0.abs().max(y1.abs());
                if y >= r {
                    continue;
                }
                let x = (r * r - y * y).sqrt();
                let first = ((-x - o[0]) / step[0]).ceil() as i64;
                let last = ((x - size[0] - o[0]) / step[0]).floor() as i64;
                count += (last - first + 1).max(0) as usize;
            }
            best = best.max(count);
        }
    }
    best
}

/// Estimate of the dies on a wafer from areas: `pi d^2 / (4 S) - pi d / sqrt(2 S)` for a die of `area` S and a usable
/// `diameter` d, m (de Vries 2005, formula with the edge term of square dies).
pub fn dies_per_wafer_estimate(area: f64, diameter: f64) -> f64 {
    use std::f64::consts::PI;
    PI * diameter * diameter / (4.0 * area) - PI * diameter / (2.0 * area).sqrt()
}

/// Share of bad dies among those that pass a test: `1 - Y^(1 - T)` for the yield Y and the coverage T (Williams and
/// Brown, IEEE Trans. Comput. C-30, 1981, p. 987).
pub fn escapes(good: f64, coverage: f64) -> f64 {
    1.0 - good.powf(1.0 - coverage)
}

/// Share of dies that pass a test of that coverage: the good ones and the escapes, `Y^T` (the same source).
pub fn passing(good: f64, coverage: f64) -> f64 {
    good.powf(coverage)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn one_die_as_wide_as_the_wafer_allows() {
        let side = 0.1 / 2.0_f64.sqrt();
        assert_eq!(dies_per_wafer([side * 0.999; 2], 0.0, 0.1, 0.0), 1);
        assert_eq!(dies_per_wafer([side * 1.001; 2], 0.0, 0.1, 0.0), 0);
        // Four quarters meet in the middle.
        assert_eq!(dies_per_wafer([side * 0.4995; 2], 0.0, 0.1, 0.0), 4);
    }

    proptest! {
        #[test]
        fn yields_lie_in_order(x in 1e-6..20.0_f64, a in 1.0..50.0_f64) {
            let y = |m| die_yield(m, 1.0, x);
            prop_assert!(y(Model::Poisson) <= y(Model::Murphy) + 1e-12);
            prop_assert!(y(Model::Poisson) <= y(Model::Clustered(a)) + 1e-12);
            prop_assert!(y(Model::Clustered(a)) <= y(Model::Clustered(1.0)) + 1e-12);
            prop_assert!((y(Model::Clustered(1e9)) - y(Model::Poisson)).abs() < 1e-6);
            for m in [Model::Poisson, Model::Murphy, Model::Seeds, Model::Clustered(a)] {
                prop_assert!((0.0..=1.0).contains(&y(m)));
            }
        }

        #[test]
        fn the_count_stays_near_the_estimate(w in 2.0..15.0_f64, h in 2.0..15.0_f64) {
            let (w, h) = (w * 1e-3, h * 1e-3);
            let count = dies_per_wafer([w, h], 0.0, 0.3, 0.0) as f64;
            prop_assert!(count * w * h < std::f64::consts::PI * 0.15 * 0.15);
            let estimate = dies_per_wafer_estimate(w * h, 0.3);
            if w / h < 2.0 && h / w < 2.0 {
                prop_assert!((count / estimate - 1.0).abs() < 0.08, "{} {}", count, estimate);
            }
        }

        #[test]
        fn a_test_parts_dies_without_losing_any(y in 0.01..1.0_f64, t in 0.0..1.0_f64) {
            // Good dies all pass: what passes, less the escapes in it, is the yield.
            prop_assert!((passing(y, t) * (1.0 - escapes(y, t)) - y).abs() < 1e-12);
        }
    }
}
