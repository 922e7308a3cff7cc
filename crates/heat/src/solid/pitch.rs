//! The pitch of joints that stand anywhere: the distance to the nearest other joint that most of them have.
//!
//! A joint is spread over a square of that side before the columns of a grid take their shares of it, so that what a
//! column conducts is the density of joints around it on every grid. Spread over its own width instead, a joint would
//! begin to be seen on fine grids as the one stump of metal that it is, with a constriction that follows the grid: the
//! junction of a package of 289 balls went up and down by 2 % of its rise from grid to grid.

/// Median distance of the joints to their nearest others, m; absent for fewer than two joints.
pub(super) fn pitch(places: &[[f64; 2]]) -> Option<f64> {
    let mut sorted = places.to_vec();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let nearest = |i: usize| {
        let [x, y] = sorted[i];
        let mut best = f64::INFINITY;
        let mut look = |other: &[f64; 2]| {
            best = best.min((other[0] - x).hypot(other[1] - y));
            // Farther along x none is nearer.
            (other[0] - x).abs() < best
        };
        // One way, then the other.
        let _ = sorted[i + 1..].iter().all(&mut look);
        let _ = sorted[..i].iter().rev().all(&mut look);
        best
    };
    let mut all: Vec<f64> = (0..sorted.len()).map(nearest).filter(|d| d.is_finite() && *d > 0.0).collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied()
}

/// Along x (0) or y (1): first and last place of what the joints fill, half a pitch around the outermost of them.
pub(super) fn filled(places: &[[f64; 2]], axis: usize) -> Option<[f64; 2]> {
    let half = 0.5 * pitch(places)?;
    let along = places.iter().map(|p| p[axis]);
    let [low, high] =
        along.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| [low.min(v), high.max(v)]);
    Some([low - half, high + half])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn joints_fill_half_a_pitch_around_the_outermost() {
        let places: Vec<[f64; 2]> =
            (0..20).map(|i| [1.0 + f64::from(i % 5), 2.0 + f64::from(i / 5)]).collect();
        assert_eq!(filled(&places, 0), Some([0.5, 5.5]));
        assert_eq!(filled(&places, 1), Some([1.5, 5.5]));
        assert_eq!(filled(&[], 0), None);
    }

    #[test]
    fn the_pitch_is_that_of_most_joints() {
        let grid = |n: usize| (0..n * n).map(move |i| [(i % n) as f64 * 0.3, (i / n) as f64 * 0.4]);
        assert!((pitch(&grid(7).collect::<Vec<_>>()).unwrap() - 0.3).abs() < 1e-12);
        // A far one and a near one change nothing.
        let odd: Vec<[f64; 2]> = grid(7).chain([[9.0, 9.0], [0.05, 0.0]]).collect();
        assert!((pitch(&odd).unwrap() - 0.3).abs() < 1e-12);
        // Staggered rows: the nearest stands in the next row.
        let staggered: Vec<[f64; 2]> = (0..80)
            .map(|i| [(i % 10) as f64 + 0.5 * f64::from(i / 10 % 2), 0.4 * f64::from(i / 10)])
            .collect();
        assert!((pitch(&staggered).unwrap() - 0.5_f64.hypot(0.4)).abs() < 1e-12);
        assert_eq!(pitch(&[[0.0, 0.0]]), None);
        assert_eq!(pitch(&[]), None);
    }
}
