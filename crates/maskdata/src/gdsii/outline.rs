//! The outline of a path: its centre line widened to both sides, with mitred corners and the end style of the file.
//!
//! Corners are mitred up to a turn of 120 degrees and bevelled beyond, so that a spike cannot grow without bound.
//! Where a path doubles back within its own width the outline crosses itself; filled by the non-zero rule
//! it still covers the right area.

use super::library::PathEnd;

/// Chords of a round end (half a circle): the outline is short of the circle by at most 0.03 % of the radius.
pub(crate) const ROUND_CHORDS: usize = 64;

/// The closed outline of a centre line of `width`, in the unit of the points. Empty where the width is 0 or all
/// points coincide.
pub(crate) fn outline(points: &[[i32; 2]], width: f64, end: PathEnd) -> Vec<[f64; 2]> {
    let mut line: Vec<[f64; 2]> = points.iter().map(|&[x, y]| [f64::from(x), f64::from(y)]).collect();
    line.dedup();
    let half = width / 2.0;
    let count = line.len();
    if count < 2 || half <= 0.0 {
        return Vec::new();
    }
    let directions: Vec<[f64; 2]> = line.windows(2).map(|w| direction(w[0], w[1])).collect();
    let (first, last) = (directions[0], directions[count - 2]);
    let (begin_extra, end_extra) = match end {
        PathEnd::Flush | PathEnd::Round => (0.0, 0.0),
        PathEnd::HalfWidth => (half, half),
        PathEnd::Custom(a, b) => (f64::from(a), f64::from(b)),
    };
    line[0] = along(line[0], first, -begin_extra);
    line[count - 1] = along(line[count - 1], last, end_extra);

    let (mut left, mut right) = (vec![aside(line[0], first, half)], vec![aside(line[0], first, -half)]);
    for (pair, corner) in directions.windows(2).zip(&line[1..]) {
        side(&mut left, *corner, pair[0], pair[1], half);
        side(&mut right, *corner, pair[0], pair[1], -half);
    }
    left.push(aside(line[count - 1], last, half));
    right.push(aside(line[count - 1], last, -half));

    // Right side forward, round the far end, left side back, round the near end: counter-clockwise.
    let mut ring = right;
    if end == PathEnd::Round {
        arc(&mut ring, line[count - 1], last, half);
    }
    ring.extend(left.into_iter().rev());
    if end == PathEnd::Round {
        arc(&mut ring, line[0], [-first[0], -first[1]], half);
    }
    ring
}

fn direction(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length = dx.hypot(dy);
    [dx / length, dy / length]
}

fn along(p: [f64; 2], d: [f64; 2], by: f64) -> [f64; 2] {
    [p[0] + d[0] * by, p[1] + d[1] * by]
}

/// The point `by` to the left of `p`, seen along `d`.
fn aside(p: [f64; 2], d: [f64; 2], by: f64) -> [f64; 2] {
    [p[0] - d[1] * by, p[1] + d[0] * by]
}

fn side(points: &mut Vec<[f64; 2]>, corner: [f64; 2], before: [f64; 2], after: [f64; 2], by: f64) {
    let cosine = before[0] * after[0] + before[1] * after[1];
    if cosine > -0.5 {
        // The two offset lines meet on the bisector, at by / cos(half the turn).
        let grow = by / (1.0 + cosine);
        points.push([corner[0] - (before[1] + after[1]) * grow, corner[1] + (before[0] + after[0]) * grow]);
    } else {
        points.push(aside(corner, before, by));
        points.push(aside(corner, after, by));
    }
}

/// Inner points of the half circle from the right side to the left side of an end that looks along `d`.
fn arc(points: &mut Vec<[f64; 2]>, centre: [f64; 2], d: [f64; 2], radius: f64) {
    for i in 1..ROUND_CHORDS {
        let (s, c) = (std::f64::consts::PI * i as f64 / ROUND_CHORDS as f64).sin_cos();
        // -cos along the left normal, sin along the direction.
        points.push(along(aside(centre, d, -radius * c), d, radius * s));
    }
}
