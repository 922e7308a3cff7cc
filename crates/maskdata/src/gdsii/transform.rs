//! Placing: mirror about the x axis, magnify, turn, move.

use super::library::Placement;

/// A similarity of the plane: `p -> m p + t`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Transform {
    /// Row-major 2 x 2 matrix.
    m: [f64; 4],
    /// Shift in database units of the top cell.
    t: [f64; 2],
}

impl Transform {
    pub const IDENTITY: Transform = Transform { m: [1.0, 0.0, 0.0, 1.0], t: [0.0, 0.0] };

    /// The transform of one placement. Multiples of 90 degrees are exact.
    pub fn of(placement: &Placement) -> Transform {
        let (sin, cos) = sine_and_cosine(placement.angle_deg);
        let (s, c) = (placement.magnification * sin, placement.magnification * cos);
        let flip = if placement.mirror { -1.0 } else { 1.0 };
        let [x, y] = placement.at;
        Transform { m: [c, -s * flip, s, c * flip], t: [f64::from(x), f64::from(y)] }
    }

    /// This transform after `inner`.
    pub fn after(&self, inner: &Transform) -> Transform {
        let ([a, b, c, d], [e, f, g, h]) = (self.m, inner.m);
        Transform { m: [a * e + b * g, a * f + b * h, c * e + d * g, c * f + d * h], t: self.apply(inner.t) }
    }

    /// The same transform moved by a vector before it is applied to the outer cell.
    pub fn moved(&self, by: [f64; 2]) -> Transform {
        Transform { m: self.m, t: [self.t[0] + by[0], self.t[1] + by[1]] }
    }

    pub fn apply(&self, p: [f64; 2]) -> [f64; 2] {
        let [a, b, c, d] = self.m;
        [a * p[0] + b * p[1] + self.t[0], c * p[0] + d * p[1] + self.t[1]]
    }

    /// The factor by which lengths grow.
    pub fn scale(&self) -> f64 {
        (self.m[0] * self.m[3] - self.m[1] * self.m[2]).abs().sqrt()
    }
}

fn sine_and_cosine(degrees: f64) -> (f64, f64) {
    let turn = degrees.rem_euclid(360.0);
    if turn == 0.0 || turn == 360.0 {
        (0.0, 1.0)
    } else if turn == 90.0 {
        (1.0, 0.0)
    } else if turn == 180.0 {
        (0.0, -1.0)
    } else if turn == 270.0 {
        (-1.0, 0.0)
    } else {
        turn.to_radians().sin_cos()
    }
}
