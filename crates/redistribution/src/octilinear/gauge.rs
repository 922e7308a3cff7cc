//! The octagon gauge: lengths and gaps measured with a regular octagon for a unit ball.

use crate::route::plane::{P2, dot, sub};
use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2};

/// tan(22.5 degrees): half a side of the octagon about the unit circle (plane geometry).
pub const HALF_SIDE: f64 = SQRT_2 - 1.0;

/// The four directions across the sides, unit vectors; the other four are their opposites.
const NORMALS: [P2; 4] =
    [[1.0, 0.0], [0.0, 1.0], [FRAC_1_SQRT_2, FRAC_1_SQRT_2], [FRAC_1_SQRT_2, -FRAC_1_SQRT_2]];

/// Gauge of a vector: the apothem of the octagon about the origin that it reaches.
pub fn norm(v: P2) -> f64 {
    let (x, y) = (v[0].abs(), v[1].abs());
    x.max(y).max((x + y) * FRAC_1_SQRT_2)
}

/// Octilinear length of a vector: the shortest way in multiples of 45 degrees.
pub fn length(v: P2) -> f64 {
    let (x, y) = (v[0].abs(), v[1].abs());
    x.max(y) + HALF_SIDE * x.min(y)
}

/// How far the unit octagon reaches in direction `n` (not normalised).
pub fn support(n: P2) -> f64 {
    // Its corners are (1, t), (t, 1) and their mirror images: this is the octilinear length.
    length(n)
}

/// Gap between two segments (or points, as segments without length) by the gauge; zero when they touch or cross.
///
/// The gap of two convex shapes is the largest that any of their difference's side directions tells: the octagon's
/// and those across the segments.
pub fn gap(a: [P2; 2], b: [P2; 2]) -> f64 {
    let apart = |n: P2| {
        let (a0, a1, b0, b1) = (dot(n, a[0]), dot(n, a[1]), dot(n, b[0]), dot(n, b[1]));
        (a0.min(a1) - b0.max(b1)).max(b0.min(b1) - a0.max(a1))
    };
    let mut best = 0.0_f64;
    for n in NORMALS {
        best = best.max(apart(n));
    }
    for s in [a, b] {
        let d = sub(s[1], s[0]);
        if d != [0.0, 0.0] {
            let n = [-d[1], d[0]];
            best = best.max(apart(n) / support(n));
        }
    }
    best
}

/// The octagon of apothem at least `radius` about the whole-nanometre point nearest to `centre`, counter-clockwise,
/// with corners on whole nanometres.
pub fn octagon(centre: P2, radius: f64) -> [P2; 8] {
    let c = centre.map(f64::round);
    let off = norm(sub(centre, c));
    let a = (radius + off - 1e-6).ceil().max(1.0);
    let d = ((radius + off) * SQRT_2 - 1e-6).ceil();
    let q = (d - a).clamp(0.0, a);
    [[a, q], [q, a], [-q, a], [-a, q], [-a, -q], [-q, -a], [q, -a], [a, -q]]
        .map(|k| [c[0] + k[0], c[1] + k[1]])
}

/// True when a vector runs in a multiple of 45 degrees exactly.
pub fn octilinear(v: P2) -> bool {
    v[0] == 0.0 || v[1] == 0.0 || v[0].abs() == v[1].abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_gauge_never_exceeds_the_straight_length_and_falls_short_by_the_octagon_at_most() {
        for k in 0..360 {
            let t = f64::from(k).to_radians();
            let g = norm([t.cos(), t.sin()]);
            assert!(g <= 1.0 + 1e-12 && g >= (std::f64::consts::PI / 8.0).cos() - 1e-12);
        }
    }

    #[test]
    fn lengths_at_22_5_degrees_exceed_straight_ones_by_8_24_percent() {
        let t = std::f64::consts::PI / 8.0;
        assert!((length([t.cos(), t.sin()]) - 1.0 / t.cos()).abs() < 1e-12);
    }

    #[test]
    fn gaps_of_parallel_lines_are_their_distance_in_the_eight_directions() {
        let across = gap([[0.0, 0.0], [100.0, 0.0]], [[-50.0, 30.0], [500.0, 30.0]]);
        assert!((across - 30.0).abs() < 1e-12);
        let diagonal = gap([[0.0, 0.0], [100.0, 100.0]], [[30.0, 0.0], [130.0, 100.0]]);
        assert!((diagonal - 30.0 / SQRT_2).abs() < 1e-12);
        assert_eq!(gap([[0.0, 0.0], [10.0, 10.0]], [[0.0, 10.0], [10.0, 0.0]]), 0.0);
    }

    #[test]
    fn octagons_hold_their_discs_and_have_octilinear_sides() {
        for r in [10.3, 99.99, 12_345.6] {
            let o = octagon([5.0, -7.0], r);
            for k in 0..8 {
                let side = sub(o[(k + 1) % 8], o[k]);
                assert!(octilinear(side));
                assert!(gap([o[k], o[(k + 1) % 8]], [[5.0, -7.0]; 2]) >= r - 1e-6);
            }
        }
    }
}
