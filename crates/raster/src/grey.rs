//! A picture as numbers, and a set of its pixels.

/// One number a pixel, row by row from the top.
#[derive(Debug, Clone, PartialEq)]
pub struct Grey {
    width: usize,
    values: Vec<f32>,
}

impl Grey {
    /// A picture of `width` columns; nothing where the values do not fill whole rows, or there are none.
    pub fn new(width: usize, values: Vec<f32>) -> Option<Grey> {
        (width > 0 && !values.is_empty() && values.len().is_multiple_of(width))
            .then_some(Grey { width, values })
    }

    /// A picture whose pixel in column `x` and row `y` is `value(x, y)`; sizes below 1 are taken as 1.
    pub fn from_fn(width: usize, height: usize, value: impl Fn(usize, usize) -> f32) -> Grey {
        let (width, height) = (width.max(1), height.max(1));
        let value = &value;
        Grey { width, values: (0..height).flat_map(|y| (0..width).map(move |x| value(x, y))).collect() }
    }

    /// Columns.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Rows.
    pub fn height(&self) -> usize {
        self.values.len() / self.width
    }

    /// All values, row by row from the top.
    pub fn values(&self) -> &[f32] {
        &self.values
    }

    /// The value of a pixel; a place outside has that of the nearest pixel.
    pub fn at(&self, x: isize, y: isize) -> f32 {
        let x = x.clamp(0, self.width as isize - 1) as usize;
        let y = y.clamp(0, self.height() as isize - 1) as usize;
        self.values[y * self.width + x]
    }

    /// The value between pixels, bilinear; outside it is that of the nearest edge.
    pub fn sample(&self, x: f64, y: f64) -> f64 {
        let (left, top) = (x.floor(), y.floor());
        let (u, v) = (x - left, y - top);
        let (i, j) = (left as isize, top as isize);
        let row = |j| f64::from(self.at(i, j)) * (1.0 - u) + f64::from(self.at(i + 1, j)) * u;
        row(j) * (1.0 - v) + row(j + 1) * v
    }

    /// True where a place lies between the centres of the outermost pixels, at least `margin` pixels inside.
    pub fn holds(&self, x: f64, y: f64, margin: f64) -> bool {
        let most = |n: usize| n as f64 - 1.0 - margin;
        x >= margin && y >= margin && x <= most(self.width) && y <= most(self.height())
    }

    /// The same picture with every value changed.
    pub fn map(&self, change: impl Fn(f32) -> f32) -> Grey {
        Grey { width: self.width, values: self.values.iter().map(|v| change(*v)).collect() }
    }

    /// The pixels above a level.
    pub fn above(&self, level: f64) -> Mask {
        Mask { width: self.width, set: self.values.iter().map(|v| f64::from(*v) > level).collect() }
    }

    /// The least and the largest value.
    pub fn range(&self) -> (f32, f32) {
        self.values.iter().fold((f32::INFINITY, f32::NEG_INFINITY), |(l, m), v| (l.min(*v), m.max(*v)))
    }
}

/// A set of pixels.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mask {
    width: usize,
    set: Vec<bool>,
}

impl Mask {
    /// The pixels for which `is_in(x, y)` holds.
    pub fn from_fn(width: usize, height: usize, is_in: impl Fn(usize, usize) -> bool) -> Mask {
        let (width, height) = (width.max(1), height.max(1));
        let is_in = &is_in;
        Mask { width, set: (0..height).flat_map(|y| (0..width).map(move |x| is_in(x, y))).collect() }
    }

    /// Columns.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Rows.
    pub fn height(&self) -> usize {
        self.set.len() / self.width
    }

    /// Pixel by pixel, row by row from the top.
    pub fn pixels(&self) -> &[bool] {
        &self.set
    }

    /// True for a pixel of the set; false outside of the picture.
    pub fn has(&self, x: isize, y: isize) -> bool {
        x >= 0
            && y >= 0
            && (x as usize) < self.width
            && (y as usize) < self.height()
            && self.set[y as usize * self.width + x as usize]
    }

    /// Number of pixels.
    pub fn count(&self) -> usize {
        self.set.iter().filter(|s| **s).count()
    }

    /// All pixels that are not in the set.
    pub fn inverse(&self) -> Mask {
        Mask { width: self.width, set: self.set.iter().map(|s| !s).collect() }
    }

    /// The pixels of both sets; those of the smaller picture where the sizes differ.
    pub fn and(&self, other: &Mask) -> Mask {
        Mask {
            width: self.width,
            set: (0..self.set.len())
                .map(|i| self.set[i] && other.has((i % self.width) as isize, (i / self.width) as isize))
                .collect(),
        }
    }

    /// The set with its holes: everything that is not connected with the frame through pixels outside of the set.
    pub fn filled(&self) -> Mask {
        let (w, h) = (self.width, self.height());
        let mut outside = vec![false; self.set.len()];
        let edge =
            (0..w).flat_map(|x| [x, (h - 1) * w + x]).chain((0..h).flat_map(|y| [y * w, y * w + w - 1]));
        let mut open: Vec<usize> = edge.collect();
        while let Some(i) = open.pop() {
            if outside[i] || self.set[i] {
                continue;
            }
            outside[i] = true;
            let (x, y) = (i % w, i / w);
            open.extend((x > 0).then(|| i - 1));
            open.extend((x + 1 < w).then(|| i + 1));
            open.extend((y > 0).then(|| i - w));
            open.extend((y + 1 < h).then(|| i + w));
        }
        Mask { width: w, set: outside.iter().map(|o| !o).collect() }
    }

    /// The set as a picture of 0 and 1.
    pub fn to_grey(&self) -> Grey {
        Grey { width: self.width, values: self.set.iter().map(|s| f32::from(*s)).collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ring_is_filled_and_a_bay_is_not() {
        let ring = Mask::from_fn(9, 9, |x, y| {
            let (x, y) = (x as i32 - 4, y as i32 - 4);
            (5..=12).contains(&(x * x + y * y))
        });
        assert!(!ring.has(4, 4) && ring.filled().has(4, 4) && !ring.filled().has(0, 0));
        let bay = Mask::from_fn(9, 9, |x, y| x == 2 || y == 2);
        assert_eq!(bay.filled(), bay);
    }

    #[test]
    fn values_between_pixels_are_straight_and_rows_are_whole() {
        let slope = Grey::from_fn(5, 4, |x, y| x as f32 + 10.0 * y as f32);
        assert!((slope.sample(1.25, 2.5) - 26.25).abs() < 1e-6);
        assert!((slope.sample(-3.0, 9.0) - 30.0).abs() < 1e-6);
        assert!(Grey::new(3, vec![0.0; 7]).is_none() && Grey::new(0, vec![]).is_none());
    }
}
