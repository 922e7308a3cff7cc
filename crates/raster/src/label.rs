//! Connected sets of pixels, each with its size and shape.

use crate::Mask;
use std::f64::consts::{PI, SQRT_2};

/// Which pixels are connected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Neighbours {
    /// Those that share a side.
    Four,
    /// Those that share a side or a corner.
    Eight,
}

/// A connected set of pixels.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// Pixels.
    pub area: usize,
    /// First column, first row, last column, last row.
    pub bounds: [usize; 4],
    /// Mean place of the pixels, x and y.
    pub centroid: [f64; 2],
    /// Length of its outer and inner edges, pixels: lines through the centres of its border pixels, straight or slanted
    /// (K. Benkrid, D. Crookes, A. Benkrid, Proc. IEEE ICASSP 2000, p. 3466).
    pub perimeter: f64,
}

impl Region {
    /// Diameter of the disc of the same area, pixels.
    pub fn equivalent_diameter(&self) -> f64 {
        (4.0 * self.area as f64 / PI).sqrt()
    }
}

/// All connected sets of a mask.
#[derive(Debug, Clone, PartialEq)]
pub struct Components {
    width: usize,
    /// For each pixel the number of its region plus one; zero outside of the mask.
    pub labels: Vec<u32>,
    /// The regions in the order of their first pixel, row by row.
    pub regions: Vec<Region>,
}

impl Components {
    /// The region of a pixel; nothing outside of the mask or the picture.
    pub fn at(&self, x: isize, y: isize) -> Option<usize> {
        let inside = x >= 0 && y >= 0 && (x as usize) < self.width;
        let label = inside.then(|| self.labels.get(y as usize * self.width + x as usize))??;
        (*label > 0).then(|| *label as usize - 1)
    }

    /// The pixels of one region as a mask.
    pub fn mask_of(&self, region: usize) -> Mask {
        let height = self.labels.len() / self.width;
        Mask::from_fn(self.width, height, |x, y| self.labels[y * self.width + x] == region as u32 + 1)
    }

    /// The pixels of the regions that are wanted.
    pub fn mask_where(&self, wanted: impl Fn(usize) -> bool) -> Mask {
        let height = self.labels.len() / self.width;
        Mask::from_fn(self.width, height, |x, y| {
            let label = self.labels[y * self.width + x] as usize;
            label > 0 && wanted(label - 1)
        })
    }
}

/// Finds the connected sets of a mask.
pub fn components(mask: &Mask, neighbours: Neighbours) -> Components {
    let (w, h) = (mask.width() as isize, mask.height() as isize);
    let steps: &[(isize, isize)] = match neighbours {
        Neighbours::Four => &[(1, 0), (-1, 0), (0, 1), (0, -1)],
        Neighbours::Eight => &[(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1)],
    };
    let mut labels = vec![0_u32; (w * h) as usize];
    let mut regions = Vec::new();
    let mut open = Vec::new();
    for y in 0..h {
        for x in 0..w {
            if !mask.has(x, y) || labels[(y * w + x) as usize] != 0 {
                continue;
            }
            let label = regions.len() as u32 + 1;
            let mut region = Region {
                area: 0,
                bounds: [x as usize, y as usize, x as usize, y as usize],
                centroid: [0.0; 2],
                perimeter: 0.0,
            };
            labels[(y * w + x) as usize] = label;
            open.push((x, y));
            while let Some((x, y)) = open.pop() {
                region.area += 1;
                let [left, top, right, bottom] = &mut region.bounds;
                (*left, *right) = ((*left).min(x as usize), (*right).max(x as usize));
                (*top, *bottom) = ((*top).min(y as usize), (*bottom).max(y as usize));
                region.centroid[0] += x as f64;
                region.centroid[1] += y as f64;
                for (dx, dy) in steps {
                    let (u, v) = (x + dx, y + dy);
                    if mask.has(u, v) && labels[(v * w + u) as usize] == 0 {
                        labels[(v * w + u) as usize] = label;
                        open.push((u, v));
                    }
                }
            }
            region.centroid = region.centroid.map(|c| c / region.area as f64);
            regions.push(region);
        }
    }
    perimeters(mask, &labels, &mut regions);
    Components { width: w as usize, labels, regions }
}

/// Length of the edges by the pattern of border pixels around each border pixel.
fn perimeters(mask: &Mask, labels: &[u32], regions: &mut [Region]) {
    let (w, h) = (mask.width() as isize, mask.height() as isize);
    let label = |x: isize, y: isize| {
        if x < 0 || y < 0 || x >= w || y >= h { 0 } else { labels[(y * w + x) as usize] }
    };
    // A border pixel has a pixel of another region beside it.
    let border = |x: isize, y: isize, own: u32| {
        label(x, y) == own
            && [(1, 0), (-1, 0), (0, 1), (0, -1)].iter().any(|(i, j)| label(x + i, y + j) != own)
    };
    for y in 0..h {
        for x in 0..w {
            let own = label(x, y);
            if own == 0 || !border(x, y, own) {
                continue;
            }
            let count =
                |steps: [(isize, isize); 4]| steps.iter().filter(|(i, j)| border(x + i, y + j, own)).count();
            let straight = count([(1, 0), (-1, 0), (0, 1), (0, -1)]);
            let slanted = count([(1, 1), (1, -1), (-1, 1), (-1, -1)]);
            regions[own as usize - 1].perimeter += match (straight, slanted) {
                (2 | 3, 0..=2) => 1.0,
                (0, 2) | (1, 3) => SQRT_2,
                (1, 1) | (1, 2) => 0.5 * (1.0 + SQRT_2),
                _ => 0.0,
            };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_connect_or_do_not() {
        let corner = Mask::from_fn(4, 4, |x, y| x == y);
        assert_eq!(components(&corner, Neighbours::Eight).regions.len(), 1);
        assert_eq!(components(&corner, Neighbours::Four).regions.len(), 4);
        assert_eq!(components(&corner, Neighbours::Eight).at(-1, 0), None);
        assert_eq!(components(&corner, Neighbours::Eight).at(2, 2), Some(0));
        assert_eq!(components(&corner, Neighbours::Eight).at(2, 900), None);
    }

    #[test]
    fn a_disc_has_its_area_diameter_and_edge() {
        let disc = Mask::from_fn(121, 121, |x, y| (x as i32 - 60).pow(2) + (y as i32 - 60).pow(2) <= 2500);
        let found = components(&disc, Neighbours::Eight);
        let region = &found.regions[0];
        assert!((region.equivalent_diameter() - 100.0).abs() < 0.3);
        assert!((region.perimeter / (2.0 * PI * 50.0) - 1.0).abs() < 0.06, "{}", region.perimeter);
        assert_eq!((region.bounds, region.centroid), ([10, 10, 110, 110], [60.0, 60.0]));
        assert_eq!(found.mask_of(0), disc);
    }
}
