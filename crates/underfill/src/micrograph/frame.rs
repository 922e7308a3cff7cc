//! Die coordinates to picture coordinates and back. Acoustic scans have no perspective: the map is straight and even.

use super::NoVoids;

/// Where the die lies in the picture. Die: metres from the lower-left corner, x right, y up. Picture: pixels, x right, y
/// down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    origin: [f64; 2],
    /// Pixels per metre along the die's x and y.
    along: [[f64; 2]; 2],
    size: [f64; 2],
}

impl Frame {
    /// The frame of a die of a size (m) whose lower-left, lower-right, upper-right and upper-left corner lie at given
    /// places (pixels).
    ///
    /// # Errors
    /// [`NoVoids::NotARectangle`] where the corners are far from a rectangle of these proportions, or a side is shorter than 20
    /// pixels ([`NoVoids::TooSmall`]).
    pub fn of(size: [f64; 2], corners: [[f64; 2]; 4]) -> Result<Frame, NoVoids> {
        let [a, b, c, d] = corners;
        let mean =
            |i: usize, p: [f64; 2], q: [f64; 2], r: [f64; 2], s: [f64; 2]| 0.5 * (p[i] - q[i] + r[i] - s[i]);
        let wide = [mean(0, b, a, c, d), mean(1, b, a, c, d)];
        let high = [mean(0, d, a, c, b), mean(1, d, a, c, b)];
        let (w, h) = (wide[0].hypot(wide[1]), high[0].hypot(high[1]));
        if !(w.is_finite() && h.is_finite()) || w.min(h) < 20.0 {
            return Err(NoVoids::TooSmall {
                side: if w.is_nan() || h.is_nan() { 0.0 } else { w.min(h) },
                needed: 20.0,
            });
        }
        // A straight and even map leaves the difference of both diagonals' middles.
        let skew = (a[0] + c[0] - b[0] - d[0]).hypot(a[1] + c[1] - b[1] - d[1]) / w.min(h);
        let lean = ((wide[0] * high[0] + wide[1] * high[1]) / (w * h)).abs();
        let proportions = (w / h) / (size[0] / size[1]);
        if skew > 0.04 || lean > 0.06 || !(0.9..1.1).contains(&proportions) {
            return Err(NoVoids::NotARectangle {
                seen: w / h,
                die: size[0] / size[1],
                lean_deg: lean.asin().to_degrees(),
            });
        }
        let middle = |i: usize| 0.25 * (a[i] + b[i] + c[i] + d[i]);
        let origin = [0, 1].map(|i| middle(i) - 0.5 * (wide[i] + high[i]));
        Ok(Frame { origin, along: [wide.map(|v| v / size[0]), high.map(|v| v / size[1])], size })
    }

    /// The picture's place of a place on the die.
    pub fn to_picture(&self, die: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|i| self.origin[i] + die[0] * self.along[0][i] + die[1] * self.along[1][i])
    }

    /// The die's place of a place in the picture.
    pub fn to_die(&self, picture: [f64; 2]) -> [f64; 2] {
        let [p, q] = [picture[0] - self.origin[0], picture[1] - self.origin[1]];
        let [[a, b], [c, d]] = self.along;
        let turn = a * d - b * c;
        [(p * d - q * c) / turn, (q * a - p * b) / turn]
    }

    /// Width and height of the die, m.
    pub fn size(&self) -> [f64; 2] {
        self.size
    }

    /// Side of a square pixel of the same area, m.
    pub fn pixel(&self) -> f64 {
        let [[a, b], [c, d]] = self.along;
        1.0 / (a * d - b * c).abs().sqrt()
    }

    /// Corners in the picture: lower left, lower right, upper right, upper left.
    pub fn corners(&self) -> [[f64; 2]; 4] {
        let [w, h] = self.size;
        [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(|p| self.to_picture(p))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back() {
        let frame = Frame::of([8e-3, 6e-3], [[100.0, 520.0], [900.0, 500.0], [885.0, -100.0], [85.0, -80.0]])
            .unwrap();
        for p in [[0.0, 0.0], [3e-3, 5e-3], [8e-3, 6e-3]] {
            let back = frame.to_die(frame.to_picture(p));
            assert!((back[0] - p[0]).abs() < 1e-12 && (back[1] - p[1]).abs() < 1e-12);
        }
        assert!((frame.pixel() - 1e-5).abs() < 1e-8);
        let corners = frame.corners();
        assert!((corners[2][0] - 885.0).abs() < 1e-9 && (corners[3][1] + 80.0).abs() < 1e-9);
    }

    #[test]
    fn what_is_no_rectangle_of_the_die_is_refused() {
        let of = |corners| Frame::of([8e-3, 8e-3], corners);
        assert!(of([[0.0, 100.0], [100.0, 100.0], [100.0, 0.0], [0.0, 0.0]]).is_ok());
        assert!(of([[0.0, 100.0], [200.0, 100.0], [200.0, 0.0], [0.0, 0.0]]).is_err());
        assert!(of([[0.0, 100.0], [100.0, 100.0], [80.0, 0.0], [20.0, 0.0]]).is_err());
        assert!(of([[0.0, 5.0], [5.0, 5.0], [5.0, 0.0], [0.0, 0.0]]).is_err());
        assert!(of([[f64::NAN, 5.0], [5.0, 5.0], [5.0, 0.0], [0.0, 0.0]]).is_err());
    }
}
