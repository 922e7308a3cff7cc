//! Marks on a picture: lines, circles and filled pixels in colour, with smooth edges.

use crate::writing::{byte, png_of_colours};
use crate::{Grey, Mask, Unwritable};

/// A colour picture to draw on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Canvas {
    width: usize,
    pixels: Vec<[u8; 3]>,
}

impl Canvas {
    /// One colour everywhere.
    pub fn blank(width: usize, height: usize, colour: [u8; 3]) -> Canvas {
        let (width, height) = (width.max(1), height.max(1));
        Canvas { width, pixels: vec![colour; width * height] }
    }

    /// A grey picture, black at `range.0` and white at `range.1`.
    pub fn of(picture: &Grey, range: (f32, f32)) -> Canvas {
        let span = f64::from(range.1 - range.0).max(1e-9);
        let pixel = |v: &f32| [byte(f64::from(*v - range.0) / span); 3];
        Canvas { width: picture.width(), pixels: picture.values().iter().map(pixel).collect() }
    }

    /// Columns.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Rows.
    pub fn height(&self) -> usize {
        self.pixels.len() / self.width
    }

    /// Colours, row by row from the top.
    pub fn pixels(&self) -> &[[u8; 3]] {
        &self.pixels
    }

    /// Lays a colour over one pixel at an opacity; nothing happens outside.
    pub fn lay(&mut self, x: isize, y: isize, colour: [u8; 3], opacity: f64) {
        if x < 0 || y < 0 || x as usize >= self.width || y as usize >= self.height() {
            return;
        }
        let pixel = &mut self.pixels[y as usize * self.width + x as usize];
        let opacity = opacity.clamp(0.0, 1.0);
        for (old, new) in pixel.iter_mut().zip(colour) {
            *old = (f64::from(*old) * (1.0 - opacity) + f64::from(new) * opacity).round() as u8;
        }
    }

    /// Lays a colour over the pixels of a mask.
    pub fn tint(&mut self, mask: &Mask, colour: [u8; 3], opacity: f64) {
        for (i, _) in mask.pixels().iter().enumerate().filter(|(_, set)| **set) {
            self.lay((i % mask.width()) as isize, (i / mask.width()) as isize, colour, opacity);
        }
    }

    /// A straight line of a thickness, pixels.
    pub fn line(&mut self, from: [f64; 2], to: [f64; 2], thickness: f64, colour: [u8; 3]) {
        self.path(&[from, to], thickness, colour);
    }

    /// Straight pieces through places; where pieces meet, the colour lies once.
    pub fn path(&mut self, places: &[[f64; 2]], thickness: f64, colour: [u8; 3]) {
        let half = 0.5 * thickness;
        let mut cover = std::collections::BTreeMap::new();
        for pair in places.windows(2) {
            let [a, b] = [pair[0], pair[1]];
            if !a.iter().chain(&b).all(|v| v.is_finite()) {
                continue;
            }
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let long = dx * dx + dy * dy;
            let end = |v: f64, n: usize| v.clamp(-2.0, n as f64 + 1.0) as isize;
            let (w, h) = (self.width, self.height());
            let (top, bottom) = (a[1].min(b[1]) - half - 1.0, a[1].max(b[1]) + half + 1.0);
            for y in end(top.floor(), h)..=end(bottom.ceil(), h) {
                // The stretch of the piece that is near this row.
                let near =
                    |v: f64| if dy.abs() < 1e-9 { 0.0 } else { ((y as f64 + v - a[1]) / dy).clamp(0.0, 1.0) };
                let reach = half + 1.5;
                let (s, t) = if dy.abs() < 1e-9 { (0.0, 1.0) } else { (near(-reach), near(reach)) };
                let (left, right) = ((a[0] + s * dx).min(a[0] + t * dx), (a[0] + s * dx).max(a[0] + t * dx));
                for x in end((left - reach).floor(), w)..=end((right + reach).ceil(), w) {
                    let (px, py) = (x as f64 - a[0], y as f64 - a[1]);
                    let along = if long > 0.0 { ((px * dx + py * dy) / long).clamp(0.0, 1.0) } else { 0.0 };
                    let apart = (px - along * dx).hypot(py - along * dy);
                    let share = (half + 0.5 - apart).clamp(0.0, 1.0);
                    if share > 0.0 {
                        let old = cover.entry((y, x)).or_insert(0.0_f64);
                        *old = old.max(share);
                    }
                }
            }
        }
        for ((y, x), share) in cover {
            self.lay(x, y, colour, share);
        }
    }

    /// A dashed line: strokes of `stroke` pixels with gaps of the same length.
    pub fn dashes(&mut self, from: [f64; 2], to: [f64; 2], stroke: f64, thickness: f64, colour: [u8; 3]) {
        let long = (to[0] - from[0]).hypot(to[1] - from[1]);
        if !(long.is_finite() && stroke > 0.0) {
            return;
        }
        let at = |s: f64| {
            let t = (s / long).min(1.0);
            [from[0] + t * (to[0] - from[0]), from[1] + t * (to[1] - from[1])]
        };
        for k in 0..(long / (2.0 * stroke)).ceil().min(10_000.0) as usize {
            let s = 2.0 * stroke * k as f64;
            self.line(at(s), at(s + stroke), thickness, colour);
        }
    }

    /// A circle.
    pub fn circle(&mut self, centre: [f64; 2], radius: f64, thickness: f64, colour: [u8; 3]) {
        self.arc(centre, radius, [0.0, std::f64::consts::TAU], thickness, colour);
    }

    /// Part of a circle between two angles, rad, measured from x towards y (clockwise as seen).
    pub fn arc(&mut self, centre: [f64; 2], radius: f64, angles: [f64; 2], thickness: f64, colour: [u8; 3]) {
        let pieces = ((angles[1] - angles[0]).abs() * radius.max(4.0)).ceil().clamp(8.0, 4000.0);
        let places: Vec<[f64; 2]> = (0..=pieces as usize)
            .map(|i| {
                let a = angles[0] + (angles[1] - angles[0]) * i as f64 / pieces;
                [centre[0] + radius * a.cos(), centre[1] + radius * a.sin()]
            })
            .collect();
        self.path(&places, thickness, colour);
    }

    /// Two pictures beside each other with a strip of `gap` pixels between.
    pub fn beside(&self, other: &Canvas, gap: usize, colour: [u8; 3]) -> Canvas {
        let height = self.height().max(other.height());
        let mut out = Canvas::blank(self.width + gap + other.width, height, colour);
        for (picture, left) in [(self, 0), (other, self.width + gap)] {
            for (y, row) in picture.pixels.chunks_exact(picture.width).enumerate() {
                let from = y * out.width + left;
                out.pixels[from..from + picture.width].copy_from_slice(row);
            }
        }
        out
    }

    /// The picture as PNG.
    ///
    /// # Errors
    /// [`Unwritable`] where it is larger than the format allows.
    pub fn png(&self) -> Result<Vec<u8>, Unwritable> {
        png_of_colours(self.width, &self.pixels)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_cover_their_area_and_stay_inside() {
        for (from, to) in
            [([5.0, 5.0], [45.0, 35.0]), ([5.0, 20.0], [45.0, 20.0]), ([20.0, 3.0], [20.0, 43.0])]
        {
            let mut canvas = Canvas::blank(60, 50, [0; 3]);
            canvas.line(from, to, 3.0, [255; 3]);
            let sum: f64 = canvas.pixels().iter().map(|p| f64::from(p[0]) / 255.0).sum();
            let area = 3.0 * f64::hypot(to[0] - from[0], to[1] - from[1]) + 9.0 * std::f64::consts::PI / 4.0;
            assert!((sum / area - 1.0).abs() < 0.05, "{sum} {area}");
        }
        let mut canvas = Canvas::blank(10, 10, [0; 3]);
        canvas.line([-1e9, f64::NAN], [1e9, 5.0], 2.0, [9; 3]);
        canvas.line([-1e9, 4.0], [1e9, 5.0], 2.0, [9; 3]);
        canvas.circle([5.0, 5.0], 1e7, 2.0, [9; 3]);
        assert_eq!(canvas.beside(&canvas, 3, [1; 3]).width(), 23);
    }
}
