//! The drop of a supply plane: fed by an array of bumps, or from its four edges as a wire-bonded die is.
//!
//! A thin sheet of `Rs` ohm per square carries an even load. Between bumps of a square array the potential is Green's function of
//! the square lattice (H. Hasimoto, J. Fluid Mech. 5 (1959) 317); from the edges it is the deflection of a membrane
//! (S. Timoshenko and J. N. Goodier, Theory of Elasticity, 1951, torsion of a rectangular bar).

use std::f64::consts::PI;

/// Hasimoto's constant of the square lattice, `2 sqrt(pi)/Gamma(1/4)^2`.
pub const MEAN: f64 = 0.269_676_300_594_189_6;

/// Largest drop in a square cell of side `s` fed by a bump of radius `a` in its middle, over `Rs` times the cell's current: at the
/// corner, `(1/2 pi) ln(sqrt(2) k s/a) + (a/s)^2/4`. `ratio` is `a/s`; 0.12 percent high at 0.278.
pub fn corner_drop(ratio: f64) -> f64 {
    (std::f64::consts::SQRT_2 * MEAN / ratio).ln() / (2.0 * PI) + ratio * ratio / 4.0
}

/// The same half-way to the next bump: `(1/2 pi) ln(2^(1/4) k s/a) + (a/s)^2/4`; 0.3 percent low at 0.278.
pub fn edge_drop(ratio: f64) -> f64 {
    (2.0_f64.powf(0.25) * MEAN / ratio).ln() / (2.0 * PI) + ratio * ratio / 4.0
}

/// The mean over the cell, the bump's own area counted as zero.
pub fn mean_drop(ratio: f64) -> f64 {
    (MEAN / ratio).ln() / (2.0 * PI) + ratio * ratio / 2.0 - PI / 8.0 * ratio.powi(4)
}

/// Largest ratio of radius to cell side to which the three forms are used.
pub const RATIO_LIMIT: f64 = 0.28;

/// Largest drop of a plate whose four edges are held, evenly loaded, over `Rs` times the whole current. `aspect` is side over side,
/// in either order. Series of the membrane.
pub fn edge_fed_max(aspect: f64) -> f64 {
    let r = aspect.max(1.0 / aspect);
    // Short side 1, long side r: w(0, 0) = 1/8 - (4/pi^3) sum over odd n of (-1)^((n-1)/2)/(n^3 cosh(n pi r/2)).
    let mut sum = 0.0;
    for k in 0..40 {
        let n = 2.0 * f64::from(k) + 1.0;
        let sign = if k % 2 == 0 { 1.0 } else { -1.0 };
        sum += sign / (n.powi(3) * (n * PI * r / 2.0).cosh());
    }
    (0.125 - 4.0 / PI.powi(3) * sum) / r
}

/// The mean of the same.
pub fn edge_fed_mean(aspect: f64) -> f64 {
    let r = aspect.max(1.0 / aspect);
    let mut sum = 0.0;
    for k in 0..200 {
        let n = 2.0 * f64::from(k) + 1.0;
        sum += (n * PI * r / 2.0).tanh() / n.powi(5);
    }
    (1.0 / 12.0 - 16.0 / PI.powi(5) * sum / r) / r
}

/// Resistance between two equal round contacts of radius `radius_m` at `distance_m` on a wide sheet, in `Rs`: `acosh(d/2r)/pi` (W. R. Smythe,
/// Static and Dynamic Electricity, 1950). Exact.
pub fn two_contacts(distance_m: f64, radius_m: f64) -> f64 {
    (distance_m / (2.0 * radius_m)).acosh() / PI
}
