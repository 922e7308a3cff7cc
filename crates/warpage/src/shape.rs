//! Warpage of a shape: peak to valley about the least-squares plane, with the sign of the diagonals.
//!
//! JEITA ED-7306 (2007) takes the residual over the terminal zone and the sign from the two diagonals: the sum of the
//! largest positive and negative departures from the chord of each. JESD22-B112 names convex positive: corners nearer
//! the board than the centre.

use facedown_field::{NoConvergence, dense};

/// Points on a side of the square grid that shapes are sampled on.
pub const SIDE: usize = 21;

/// Places of the grid over a rectangle around the origin, row by row from the lower left, m.
pub fn places(width: f64, height: f64, side: usize) -> Vec<[f64; 2]> {
    let step = |k: usize| k as f64 / (side - 1) as f64 - 0.5;
    (0..side).flat_map(|j| (0..side).map(move |i| [width * step(i), height * step(j)])).collect()
}

/// Heights over their least-squares plane; `heights` on a square grid of `side` points a side, row by row.
///
/// # Errors
/// [`NoConvergence`] when there are fewer than 2 points a side or not `side * side` heights.
pub fn levelled(heights: &[f64], side: usize) -> Result<Vec<f64>, NoConvergence> {
    if side < 2 || heights.len() != side * side {
        return Err(NoConvergence::Singular);
    }
    let rows: Vec<f64> = places(2.0, 2.0, side).into_iter().flat_map(|[x, y]| [1.0, x, y]).collect();
    let plane = dense::least_squares(&rows, 3, heights)?;
    Ok(heights
        .iter()
        .zip(rows.chunks(3))
        .map(|(h, r)| h - plane[0] - plane[1] * r[1] - plane[2] * r[2])
        .collect())
}

/// Signed warpage of heights on a square grid, in their unit; positive where the shape is convex, z up, and where the
/// diagonals do not tell, as on a saddle along the sides.
///
/// # Errors
/// As [`levelled`].
pub fn signed_warpage(heights: &[f64], side: usize) -> Result<f64, NoConvergence> {
    let level = levelled(heights, side)?;
    let high = level.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let low = level.iter().copied().fold(f64::INFINITY, f64::min);
    let last = side - 1;
    let mut sum = 0.0;
    for falling in [false, true] {
        let at = |k: usize| level[k * side + if falling { last - k } else { k }];
        let chord = |k: usize| at(0) + (at(last) - at(0)) * k as f64 / last as f64;
        let departures = (0..side).map(|k| at(k) - chord(k));
        let (up, down) = departures.fold((0.0_f64, 0.0_f64), |(u, d), v| (u.max(v), d.min(v)));
        sum += up + down;
    }
    // Less than this is what rounding leaves of nothing, and its sign would be anyone's.
    Ok(if sum < -1e-9 * (high - low) { low - high } else { high - low })
}

/// Curvatures in x and y of the paraboloid that fits heights on a grid over a rectangle best, 1/m, positive where it
/// is convex.
///
/// # Errors
/// As [`levelled`].
pub fn fitted_curvature(
    heights: &[f64],
    side: usize,
    width: f64,
    height: f64,
) -> Result<[f64; 2], NoConvergence> {
    if side < 3 || heights.len() != side * side {
        return Err(NoConvergence::Singular);
    }
    let rows: Vec<f64> = places(2.0, 2.0, side)
        .into_iter()
        .flat_map(|[x, y]| [1.0, x, y, x * y, -x * x / 2.0, -y * y / 2.0])
        .collect();
    let fit = dense::least_squares(&rows, 6, heights)?;
    Ok([fit[4] / (width / 2.0).powi(2), fit[5] / (height / 2.0).powi(2)])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_does_not_give_a_saddle_its_sign() {
        for (scale, turn) in [(30.0, 1.0), (30.0, -1.0), (7.3e-6, 1.0), (7.3e-6, -1.0), (0.1, 1.0 / 3.0)] {
            let saddle =
                |[x, y]: [f64; 2]| scale * turn * (x * x - y * y) + scale * (0.7 * x - 0.3 * y + 1.1);
            for side in [9, 20, SIDE] {
                let heights: Vec<f64> = places(2.0, 2.0, side).into_iter().map(saddle).collect();
                let value = signed_warpage(&heights, side).unwrap();
                assert!(
                    (value / (2.0 * scale * turn.abs()) - 1.0).abs() < 0.02,
                    "{scale} {turn} {side}: {value}"
                );
            }
        }
    }
}
