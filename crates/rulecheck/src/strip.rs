//! The strip that rays square to an edge sweep, and what meets it.

use crate::boxes::Bounds;
use crate::exact::Spot;

/// Which side of the edges is measured.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Side {
    /// Through the metal.
    Inside,
    /// Through the gap outside it.
    Outside,
}

/// Coordinates along an edge (s) and square to it (t), towards the measured side.
pub(crate) struct Frame {
    origin: Spot,
    pub(crate) u: [f64; 2],
    pub(crate) n: [f64; 2],
}

/// A rectangle in a frame.
pub(crate) struct Strip {
    pub(crate) s: [f64; 2],
    pub(crate) t: [f64; 2],
}

impl Strip {
    /// Grows to hold a point.
    pub(crate) fn take(&mut self, [s, t]: [f64; 2]) {
        self.s = [self.s[0].min(s), self.s[1].max(s)];
        self.t = [self.t[0].min(t), self.t[1].max(t)];
    }
}

impl Frame {
    /// The frame of the line from `from` to `to`; `None` when they are one point. The metal is on the left of its edges.
    pub(crate) fn new(from: Spot, to: Spot, side: Side) -> Option<Frame> {
        let along = vector(from, to);
        let length = along[0].hypot(along[1]);
        let u = [along[0] / length, along[1] / length];
        let n = if side == Side::Inside { [-u[1], u[0]] } else { [u[1], -u[0]] };
        (length > 0.0).then_some(Frame { origin: from, u, n })
    }

    /// A point in the frame.
    pub(crate) fn of(&self, p: Spot) -> [f64; 2] {
        let v = vector(self.origin, p);
        [dot(v, self.u), dot(v, self.n)]
    }

    /// The box around a strip.
    pub(crate) fn bounds(&self, strip: &Strip) -> Bounds {
        let mut around = Bounds::NONE;
        for (s, t) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
            let x = |k: usize| self.origin[k] as f64 + self.u[k] * strip.s[s] + self.n[k] * strip.t[t];
            let p = [x(0).floor() as i64, x(1).floor() as i64];
            around = around.with(&Bounds { low: p, high: [p[0] + 1, p[1] + 1] });
        }
        around.grown(1)
    }

    /// False when a box lies beyond one of the strip's four sides. Both boxes and strip are closed; a grid unit of room
    /// covers rounding.
    pub(crate) fn meets(&self, strip: &Strip, b: &Bounds) -> bool {
        let twice = |k: usize| (b.low[k] + b.high[k] - 2 * self.origin[k]) as f64;
        let middle = [twice(0) / 2.0, twice(1) / 2.0];
        let half = [(b.high[0] - b.low[0]) as f64 / 2.0, (b.high[1] - b.low[1]) as f64 / 2.0];
        let within = |axis: [f64; 2], range: [f64; 2]| {
            let (at, room) = (dot(middle, axis), half[0] * axis[0].abs() + half[1] * axis[1].abs() + 1.0);
            at + room >= range[0] && at - room <= range[1]
        };
        within(self.u, strip.s) && within(self.n, strip.t)
    }
}

pub(crate) fn vector(a: Spot, b: Spot) -> [f64; 2] {
    [(b[0] - a[0]) as f64, (b[1] - a[1]) as f64]
}

pub(crate) fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

pub(crate) fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}
