//! Points and vectors of the plane in nanometres as `f64`, and the few measures that routing needs.
//!
//! The router works in floating nanometres (a die of 100 mm leaves eight digits below a nanometre) and rounds to
//! whole nanometres only when metal is drawn.

/// A point or vector, nm.
pub type P2 = [f64; 2];

/// `a - b`.
pub fn sub(a: P2, b: P2) -> P2 {
    [a[0] - b[0], a[1] - b[1]]
}

/// `a + t b`.
pub fn along(a: P2, b: P2, t: f64) -> P2 {
    [a[0] + t * b[0], a[1] + t * b[1]]
}

/// Scalar product.
pub fn dot(a: P2, b: P2) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// z component of the cross product; positive when `b` points to the left of `a`.
pub fn cross(a: P2, b: P2) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

/// Length.
pub fn norm(a: P2) -> f64 {
    dot(a, a).sqrt()
}

/// Distance between two points.
pub fn distance(a: P2, b: P2) -> f64 {
    norm(sub(a, b))
}

/// Twice the signed area of `a b c`; positive when `c` lies to the left of `a -> b`.
pub fn orient(a: P2, b: P2, c: P2) -> f64 {
    cross(sub(b, a), sub(c, a))
}

/// The vector turned by 90 degrees to the left.
pub fn left(a: P2) -> P2 {
    [-a[1], a[0]]
}

/// Parameter in 0..=1 of the point of segment `a b` nearest to `p`, and the distance to it.
pub fn nearest_on_segment(a: P2, b: P2, p: P2) -> (f64, f64) {
    let d = sub(b, a);
    let l2 = dot(d, d);
    let t = if l2 > 0.0 { (dot(sub(p, a), d) / l2).clamp(0.0, 1.0) } else { 0.0 };
    (t, distance(along(a, d, t), p))
}
