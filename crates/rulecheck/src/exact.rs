//! Segments in whole numbers: does it touch, how near, which side.
//!
//! Touching, sides and "nearer than the limit" are decided exactly, in 64-bit integers where lengths are below 2^30 and in
//! 128-bit ones beyond; only the distance that is printed is a floating number. Floating numbers may say beforehand that
//! two segments are surely farther apart than asked, with a slack that rounding cannot reach.

/// A point on the integer grid.
pub(crate) type Spot = [i64; 2];

/// Twice the signed area of the triangle `o a b`: positive when `b` lies left of the line from `o` to `a`.
pub(crate) fn cross(o: Spot, a: Spot, b: Spot) -> i128 {
    let ([ax, ay], [bx, by]) = ([a[0] - o[0], a[1] - o[1]], [b[0] - o[0], b[1] - o[1]]);
    if small([ax, ay, bx, by]) {
        return (ax * by - ay * bx) as i128;
    }
    ax as i128 * by as i128 - ay as i128 * bx as i128
}

/// True when the sum of two products of these fits 64 bits.
fn small(lengths: [i64; 4]) -> bool {
    lengths.iter().all(|l| l.unsigned_abs() < 1 << 30)
}

fn dot(o: Spot, a: Spot, b: Spot) -> i128 {
    let ([ax, ay], [bx, by]) = ([a[0] - o[0], a[1] - o[1]], [b[0] - o[0], b[1] - o[1]]);
    if small([ax, ay, bx, by]) {
        return (ax * bx + ay * by) as i128;
    }
    ax as i128 * bx as i128 + ay as i128 * by as i128
}

fn within_box(a: Spot, b: Spot, p: Spot) -> bool {
    (a[0].min(b[0])..=a[0].max(b[0])).contains(&p[0]) && (a[1].min(b[1])..=a[1].max(b[1])).contains(&p[1])
}

/// True when the bounding boxes of two segments, the first grown by `reach` on every side, share a point.
pub(crate) fn boxes_meet(a: Spot, b: Spot, c: Spot, d: Spot, reach: i64) -> bool {
    a[0].min(b[0]) - reach <= c[0].max(d[0])
        && a[0].max(b[0]) + reach >= c[0].min(d[0])
        && a[1].min(b[1]) - reach <= c[1].max(d[1])
        && a[1].max(b[1]) + reach >= c[1].min(d[1])
}

/// True when the closed segments `ab` and `cd` share a point.
pub(crate) fn touch(a: Spot, b: Spot, c: Spot, d: Spot) -> bool {
    if !boxes_meet(a, b, c, d, 0) {
        return false;
    }
    let (sc, sd) = (cross(a, b, c).signum(), cross(a, b, d).signum());
    let (sa, sb) = (cross(c, d, a).signum(), cross(c, d, b).signum());
    if sc * sd < 0 && sa * sb < 0 {
        return true;
    }
    (sc == 0 && within_box(a, b, c))
        || (sd == 0 && within_box(a, b, d))
        || (sa == 0 && within_box(c, d, a))
        || (sb == 0 && within_box(c, d, b))
}

fn point_nearer(p: Spot, a: Spot, b: Spot, limit: i128) -> bool {
    let length2 = dot(a, b, b);
    let along = dot(a, b, p);
    if along <= 0 || length2 == 0 {
        dot(p, a, a) < limit * limit
    } else if along >= length2 {
        dot(p, b, b) < limit * limit
    } else {
        let c = cross(a, b, p);
        c * c < limit * limit * length2
    }
}

/// True when the closed segments come nearer to each other than `limit` (exact, strict).
pub(crate) fn nearer(a: Spot, b: Spot, c: Spot, d: Spot, limit: i64) -> bool {
    let limit = limit as i128;
    limit > 0
        && (touch(a, b, c, d)
            || point_nearer(a, c, d, limit)
            || point_nearer(b, c, d, limit)
            || point_nearer(c, a, b, limit)
            || point_nearer(d, a, b, limit))
}

/// True only when two closed segments are certainly farther apart than `limit`; a quick answer in floating numbers
/// that spares most exact ones. False says nothing.
pub(crate) fn surely_apart(a: Spot, b: Spot, c: Spot, d: Spot, limit: f64) -> bool {
    let to = |p: Spot, q: Spot| [(q[0] - p[0]) as f64, (q[1] - p[1]) as f64];
    let (ab, ac, ad, cd) = (to(a, b), to(a, c), to(a, d), to(c, d));
    // The sides of two points from one line; 0 where rounding leaves it in doubt.
    let side = |u: [f64; 2], v: [f64; 2]| {
        let (x, y) = (u[0] * v[1], u[1] * v[0]);
        if (x - y).abs() > 1e-15 * (x.abs() + y.abs()) { (x - y).signum() } else { 0.0 }
    };
    let (ca, cb) = ([-ac[0], -ac[1]], [ab[0] - ac[0], ab[1] - ac[1]]);
    let no_crossing = side(ab, ac) * side(ab, ad) > 0.0 || side(cd, ca) * side(cd, cb) > 0.0;
    // The slack is far above what rounding does to lengths below 2^33 grid units.
    let limit2 = (limit + 0.5) * (limit + 0.5);
    let beyond = |p: [f64; 2], u: [f64; 2]| {
        let length2 = u[0] * u[0] + u[1] * u[1];
        let t = (p[0] * u[0] + p[1] * u[1]).clamp(0.0, length2) / length2.max(1.0);
        let (x, y) = (p[0] - t * u[0], p[1] - t * u[1]);
        x * x + y * y > limit2
    };
    no_crossing && beyond(ac, ab) && beyond(ad, ab) && beyond(ca, cd) && beyond(cb, cd)
}

fn foot(p: Spot, a: Spot, b: Spot) -> (f64, [f64; 2]) {
    let (ux, uy) = ((b[0] - a[0]) as f64, (b[1] - a[1]) as f64);
    let (px, py) = ((p[0] - a[0]) as f64, (p[1] - a[1]) as f64);
    let length2 = ux * ux + uy * uy;
    let t = if length2 > 0.0 { ((px * ux + py * uy) / length2).clamp(0.0, 1.0) } else { 0.0 };
    let distance = if t > 0.0 && t < 1.0 {
        // From the exact cross product, so that parallel lines read the same at every vertex.
        cross(a, b, p).unsigned_abs() as f64 / length2.sqrt()
    } else {
        let (x, y) = (px - t * ux, py - t * uy);
        (x * x + y * y).sqrt()
    };
    (distance, [a[0] as f64 + t * ux, a[1] as f64 + t * uy])
}

/// Distance of two closed segments and the middle of the shortest connection, in grid units.
pub(crate) fn distance(a: Spot, b: Spot, c: Spot, d: Spot) -> (f64, [f64; 2]) {
    if touch(a, b, c, d) {
        return (0.0, meeting(a, b, c, d));
    }
    let mut best = (f64::INFINITY, [0.0; 2]);
    for (p, (from, to)) in [(a, (c, d)), (b, (c, d)), (c, (a, b)), (d, (a, b))] {
        let (distance, q) = foot(p, from, to);
        if distance < best.0 {
            best = (distance, [(p[0] as f64 + q[0]) / 2.0, (p[1] as f64 + q[1]) / 2.0]);
        }
    }
    best
}

fn meeting(a: Spot, b: Spot, c: Spot, d: Spot) -> [f64; 2] {
    let (from_c, from_d) = (cross(a, b, c), cross(a, b, d));
    if from_c == from_d {
        // Collinear: an end point of one lies on the other.
        let p = [a, b].into_iter().find(|p| within_box(c, d, *p)).unwrap_or(c);
        return [p[0] as f64, p[1] as f64];
    }
    let t = from_c as f64 / (from_c - from_d) as f64;
    [c[0] as f64 + t * (d[0] - c[0]) as f64, c[1] as f64 + t * (d[1] - c[1]) as f64]
}

/// Twice the signed area of a ring.
pub(crate) fn ring_area2(ring: &[Spot]) -> i128 {
    let mut sum = 0;
    for (i, p) in ring.iter().enumerate() {
        let q = ring[(i + 1) % ring.len()];
        sum += p[0] as i128 * q[1] as i128 - p[1] as i128 * q[0] as i128;
    }
    sum
}

/// Winding number of a ring around a point; a point on the ring counts by the half-open rule.
pub(crate) fn winding(ring: &[Spot], p: Spot) -> i32 {
    let mut sum = 0;
    for (i, a) in ring.iter().enumerate() {
        sum += winding_step(*a, ring[(i + 1) % ring.len()], p);
    }
    sum
}

/// What one directed edge adds to the winding number around `p` (ray to the left).
pub(crate) fn winding_step(a: Spot, b: Spot, p: Spot) -> i32 {
    if (a[1] <= p[1]) == (b[1] <= p[1]) {
        return 0;
    }
    let side = cross(a, b, p);
    if b[1] > a[1] && side < 0 {
        -1
    } else if b[1] < a[1] && side > 0 {
        1
    } else {
        0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn touching_counts_end_points_and_overlaps() {
        assert!(touch([0, 0], [10, 0], [5, 0], [5, 9]));
        assert!(touch([0, 0], [10, 0], [10, 0], [20, 5]));
        assert!(touch([0, 0], [10, 0], [4, 0], [6, 0]));
        assert!(!touch([0, 0], [10, 0], [11, 0], [20, 0]));
        assert!(touch([0, 0], [10, 10], [0, 10], [10, 0]));
    }

    #[test]
    fn nearer_is_strict_and_exact() {
        assert!(!nearer([0, 0], [10_000, 0], [0, 500], [10_000, 500], 500));
        assert!(nearer([0, 0], [10_000, 0], [0, 500], [10_000, 500], 501));
        // 3-4-5: the distance from the corner is exactly 5.
        assert!(!nearer([0, 0], [-9, 0], [3, 4], [30, 40], 5));
        assert!(nearer([0, 0], [-9, 0], [3, 4], [30, 40], 6));
    }

    #[test]
    fn winding_sees_inside_of_both_orientations() {
        let ccw = [[0, 0], [10, 0], [10, 10], [0, 10]];
        let cw = [[0, 0], [0, 10], [10, 10], [10, 0]];
        assert_ne!(winding(&ccw, [5, 5]), 0);
        assert_eq!(winding(&ccw, [5, 5]), -winding(&cw, [5, 5]));
        assert_eq!(winding(&ccw, [15, 5]), 0);
        assert_eq!(winding(&ccw, [-5, 5]), 0);
    }
}
