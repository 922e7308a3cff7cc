//! Dispensing along one edge, two or three: fill time and progress in a uniform medium.
//!
//! With one driving pressure at every front the pressure, integrated over time, solves an obstacle problem (C. M. Elliott and
//! V. Janovsky, Proc. R. Soc. Edinburgh A 88 (1981) 93; C. Baiocchi's transform): `w >= 0`, its Laplacian 1 where it is wet,
//! `w = S` at the feed, S the fluidity time. The gap is full when S reaches the maximum of the torsion function, -Laplacian u =
//! 1, u = 0 at the feed, of which the rectangle has a series (S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, 1970,
//! art. 109). Lengths are scaled by the root of the mobility along them, so that a medium may resist more along one side.

use crate::problem::Pattern;

/// Sides of the rectangle over the root of the mobility along them, Pa^-0.5: `across` away from the first line, `along` it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scaled {
    /// Away from the first line.
    pub across: f64,
    /// Along the first line.
    pub along: f64,
}

/// Fluidity time, 1/Pa, to fill the rectangle.
pub fn fluidity(pattern: Pattern, sides: Scaled) -> f64 {
    let Scaled { across, along } = sides;
    match pattern {
        Pattern::Line => 0.5 * across * across,
        Pattern::TwoLines => 0.125 * across * across,
        // The fed corner of a rectangle mirrored at both free sides, or at one.
        Pattern::L => torsion_maximum(across, along),
        Pattern::U => torsion_maximum(across, 0.5 * along),
    }
}

/// Largest value of the function with -Laplacian 1 that vanishes on the sides of a rectangle, from its half sides.
pub fn torsion_maximum(half_side: f64, other_half_side: f64) -> f64 {
    let (a, b) = (half_side.min(other_half_side), half_side.max(other_half_side));
    let mut sum = 0.0;
    for i in 0..40 {
        let n = f64::from(2 * i + 1);
        let term = 1.0 / (n.powi(3) * (0.5 * n * std::f64::consts::PI * b / a).cosh());
        sum += if i % 2 == 0 { term } else { -term };
        if term < 1e-17 {
            break;
        }
    }
    0.5 * a * a * (1.0 - 32.0 / std::f64::consts::PI.powi(3) * sum)
}

/// Cells along each side for the progress of L and U.
const CELLS: usize = 20;
/// Largest change of the last sweep, over the fluidity time of filling.
const TOLERANCE: f64 = 1e-8;

/// Progress of a pattern: pairs of fluidity time over that of filling, and share of the area filled, both from 0 to 1.
pub fn progress(pattern: Pattern, sides: Scaled, points: usize) -> Vec<(f64, f64)> {
    let points = points.max(2);
    let times = (0..points).map(|i| {
        // Evenly spaced in the distance that a straight front would have come.
        let x = i as f64 / (points - 1) as f64;
        x * x
    });
    match pattern {
        Pattern::Line | Pattern::TwoLines => times.map(|t| (t, t.sqrt())).collect(),
        Pattern::L => corner(sides.across, sides.along, times),
        Pattern::U => corner(sides.across, 0.5 * sides.along, times),
    }
}

/// The obstacle problem on a rectangle that is fed along two sides that meet, by successive over-relaxation with projection.
fn corner(x: f64, y: f64, times: impl Iterator<Item = f64>) -> Vec<(f64, f64)> {
    let n = CELLS;
    let whole = torsion_maximum(x, y);
    // The whole problem over the fluidity time of filling: w from 0 to 1.
    let (cx, cy) = (whole * (n as f64 / x).powi(2), whole * (n as f64 / y).powi(2));
    let mut w = vec![0.0_f64; (n + 1) * (n + 1)];
    let at = |i: usize, j: usize| i * (n + 1) + j;
    let omega = 2.0 / (1.0 + (0.5 * std::f64::consts::PI / n as f64).sin());
    // Mirror images beyond the free sides.
    let neighbours = |w: &[f64], i: usize, j: usize| {
        let east = w[at(if i == n { n - 1 } else { i + 1 }, j)];
        let north = w[at(i, if j == n { n - 1 } else { j + 1 })];
        cx * (w[at(i - 1, j)] + east) + cy * (w[at(i, j - 1)] + north)
    };
    let mut out = Vec::new();
    let (diagonal, row) = (1.0 / (2.0 * (cx + cy)), n + 1);
    for time in times {
        for i in 0..=n {
            w[at(i, 0)] = time;
            w[at(0, i)] = time;
        }
        for _ in 0..4000 {
            let mut change = 0.0_f64;
            for i in 1..=n {
                let (before, rest) = w.split_at_mut(i * row);
                let above = &before[(i - 1) * row..];
                let (this, after) = rest.split_at_mut(row);
                // Mirror images beyond the free sides.
                let below = if i == n { above } else { &after[..row] };
                let mut left = this[0];
                for j in 1..row {
                    let right = if j == n { left } else { this[j + 1] };
                    let old = this[j];
                    let even = diagonal * (cx * (above[j] + below[j]) + cy * (left + right) - 1.0);
                    left = (old + omega * (even - old)).max(0.0);
                    change = change.max((left - old).abs());
                    this[j] = left;
                }
            }
            if change < TOLERANCE {
                break;
            }
        }
        // Where a node is wet its Laplacian is 1, where dry 0, at the front between: the share of its cell.
        let mut filled = 0.0;
        for i in 0..=n {
            for j in 0..=n {
                let weight = if i % n == 0 { 0.5 } else { 1.0 } * if j % n == 0 { 0.5 } else { 1.0 };
                let wet = if i == 0 || j == 0 {
                    f64::from(u8::from(time > 0.0))
                } else {
                    (neighbours(&w, i, j) - 2.0 * (cx + cy) * w[at(i, j)]).clamp(0.0, 1.0)
                };
                filled += weight * wet;
            }
        }
        out.push((time, filled / (n * n) as f64));
    }
    // Half a cell along the feed counts as wet at once; near the start that is more than the front has come.
    let mut last = 0.0_f64;
    for (time, share) in &mut out {
        let strips = 1.0
            - (1.0 - ((2.0 * *time * whole).sqrt() / x).min(1.0))
                * (1.0 - ((2.0 * *time * whole).sqrt() / y).min(1.0));
        if strips < 2.0 / n as f64 {
            *share = strips;
        }
        *share = share.max(last);
        last = *share;
    }
    if let Some(end) = out.last_mut() {
        end.1 = 1.0;
    }
    out
}

/// Share of the area that is filled at a fluidity time over that of filling, by interpolation in a [`progress`].
pub fn share_at(progress: &[(f64, f64)], time: f64) -> f64 {
    interpolate(progress, time)
}

/// Fluidity time over that of filling at which a share is filled.
pub fn time_at(progress: &[(f64, f64)], share: f64) -> f64 {
    // Where the share stands still the earliest time counts.
    let mut turned: Vec<(f64, f64)> = progress.iter().map(|p| (p.1, p.0)).collect();
    turned.dedup_by(|next, kept| next.0 <= kept.0);
    interpolate(&turned, share)
}

fn interpolate(points: &[(f64, f64)], x: f64) -> f64 {
    let after = points.partition_point(|p| p.0 <= x);
    match (after.checked_sub(1).and_then(|i| points.get(i)), points.get(after)) {
        (Some(&(x0, y0)), Some(&(x1, y1))) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
        (Some(p), None) | (None, Some(p)) => p.1,
        (None, None) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SQUARE: Scaled = Scaled { across: 1.0, along: 1.0 };
    const ALL: [Pattern; 4] = [Pattern::Line, Pattern::TwoLines, Pattern::L, Pattern::U];

    proptest::proptest! {
        #[test]
        fn more_lines_fill_sooner(across in 0.2..5.0_f64, along in 0.2..5.0_f64) {
            let sides = Scaled { across, along };
            let [line, _, l, u] = ALL.map(|p| fluidity(p, sides));
            proptest::prop_assert!(u < l && l < line);
            // An L knows no first side.
            let turned = fluidity(Pattern::L, Scaled { across: along, along: across });
            proptest::prop_assert!((turned / l - 1.0).abs() < 1e-12);
            // The other fed side far away is none.
            let long = fluidity(Pattern::L, Scaled { across, along: 40.0 * across });
            proptest::prop_assert!((long / line - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn progress_rises_from_nothing_to_all() {
        for pattern in ALL {
            for sides in [SQUARE, Scaled { across: 2.0, along: 1.0 }, Scaled { across: 0.3, along: 1.0 }] {
                let progress = progress(pattern, sides, 25);
                assert_eq!((progress[0], progress[24]), ((0.0, 0.0), (1.0, 1.0)));
                assert!(
                    progress.windows(2).all(|p| p[0].0 < p[1].0 && p[0].1 <= p[1].1 && p[1].1 <= 1.0),
                    "{pattern:?}"
                );
                assert!((share_at(&progress, time_at(&progress, 0.5)) - 0.5).abs() < 1e-12);
            }
        }
        // Early, two strips of an L do not feel each other; later they help each other.
        let l = progress(Pattern::L, SQUARE, 25);
        let x = (2.0 * l[8].0 * fluidity(Pattern::L, SQUARE)).sqrt();
        let strips = 1.0 - (1.0 - x).powi(2);
        assert!(l[8].1 >= strips - 0.02 && l[8].1 < strips + 0.06, "{} {strips}", l[8].1);
    }

    #[test]
    fn a_long_die_fed_by_an_l_fills_as_by_a_line() {
        let progress = progress(Pattern::L, Scaled { across: 1.0, along: 60.0 }, 25);
        for (time, share) in progress {
            assert!((share - time.sqrt()).abs() < 0.04, "{time} {share}");
        }
    }
}
