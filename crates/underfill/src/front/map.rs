//! Numbers over the plane of the die: a gap that is not everywhere the same, a contact angle with dirty patches.

use serde::{Deserialize, Serialize};

/// A figure in the plane; places in m from the lower left corner of the die.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Shape {
    /// A disc.
    Disc {
        /// Centre.
        centre_m: [f64; 2],
        /// Radius.
        radius_m: f64,
    },
    /// A rectangle along the axes.
    Rectangle {
        /// Lower left corner.
        low_m: [f64; 2],
        /// Upper right corner.
        high_m: [f64; 2],
    },
    /// A polygon, its corners in order.
    Polygon {
        /// Corners.
        corners_m: Vec<[f64; 2]>,
    },
}

impl Shape {
    /// Whether a place lies inside; of the boundary, one half does.
    pub fn holds(&self, [x, y]: [f64; 2]) -> bool {
        match self {
            Shape::Disc { centre_m, radius_m } => (x - centre_m[0]).hypot(y - centre_m[1]) < *radius_m,
            Shape::Rectangle { low_m, high_m } => {
                (low_m[0]..high_m[0]).contains(&x) && (low_m[1]..high_m[1]).contains(&y)
            }
            Shape::Polygon { corners_m } => {
                let mut inside = false;
                for (k, a) in corners_m.iter().enumerate() {
                    let b = corners_m[(k + 1) % corners_m.len()];
                    if (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]) {
                        inside = !inside;
                    }
                }
                inside
            }
        }
    }

    fn numbers(&self) -> Vec<f64> {
        match self {
            Shape::Disc { centre_m, radius_m } => vec![centre_m[0], centre_m[1], *radius_m],
            Shape::Rectangle { low_m, high_m } => [*low_m, *high_m].concat(),
            Shape::Polygon { corners_m } => corners_m.concat(),
        }
    }

    /// Whether every number of it is one.
    pub fn is_finite(&self) -> bool {
        self.numbers().iter().all(|v| v.is_finite())
    }
}

/// A number at every place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Map {
    /// The same everywhere.
    Uniform(f64),
    /// One value, and others in patches; where patches lie over each other the last counts.
    Patches {
        /// Outside of the patches.
        ground: f64,
        /// Patches with their values.
        patches: Vec<(Shape, f64)>,
    },
    /// Values on a regular grid of places, bilinear between them and constant beyond.
    Raster {
        /// Place of the first value, m.
        low_m: [f64; 2],
        /// Distance of values along x and y, m.
        step_m: [f64; 2],
        /// Number of values along x and y.
        count: [usize; 2],
        /// Values, x running first.
        values: Vec<f64>,
    },
}

impl Map {
    /// The number at a place, m.
    pub fn at(&self, place: [f64; 2]) -> f64 {
        match self {
            Map::Uniform(value) => *value,
            Map::Patches { ground, patches } => {
                patches.iter().rev().find(|(shape, _)| shape.holds(place)).map_or(*ground, |(_, v)| *v)
            }
            Map::Raster { low_m, step_m, count, values } => {
                let along = |k: usize| {
                    let most = count[k].saturating_sub(1);
                    let u = ((place[k] - low_m[k]) / step_m[k]).clamp(0.0, most as f64);
                    let first = (u as usize).min(most.saturating_sub(1));
                    (first, (first + 1).min(most), u - first as f64)
                };
                let ((x0, x1, u), (y0, y1, v)) = (along(0), along(1));
                let value = |x: usize, y: usize| values.get(y * count[0] + x).copied().unwrap_or(f64::NAN);
                (1.0 - v) * ((1.0 - u) * value(x0, y0) + u * value(x1, y0))
                    + v * ((1.0 - u) * value(x0, y1) + u * value(x1, y1))
            }
        }
    }

    /// The one number, where the map has one only.
    pub fn uniform(&self) -> Option<f64> {
        if let Map::Uniform(value) = self { Some(*value) } else { None }
    }

    /// The first of its numbers outside of a range, or `NaN` for a map that is none.
    pub fn fault(&self, range: std::ops::RangeInclusive<f64>) -> Option<f64> {
        let outside = |v: &&f64| !range.contains(*v);
        match self {
            Map::Uniform(v) => Some(v).filter(outside).copied(),
            Map::Patches { ground, patches } => {
                if patches.iter().any(|(shape, _)| !shape.is_finite()) {
                    return Some(f64::NAN);
                }
                std::iter::once(ground).chain(patches.iter().map(|p| &p.1)).find(outside).copied()
            }
            Map::Raster { low_m, step_m, count, values } => {
                let sound = low_m.iter().all(|v| v.is_finite())
                    && step_m.iter().all(|v| *v > 0.0 && v.is_finite())
                    && count[0].checked_mul(count[1]) == Some(values.len())
                    && !values.is_empty();
                if sound { values.iter().find(outside).copied() } else { Some(f64::NAN) }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_patch_counts_and_rasters_are_bilinear() {
        let disc = Shape::Disc { centre_m: [1.0, 1.0], radius_m: 0.5 };
        let left = Shape::Rectangle { low_m: [0.0, 0.0], high_m: [1.0, 2.0] };
        let map = Map::Patches { ground: 1.0, patches: vec![(left, 2.0), (disc, 3.0)] };
        assert_eq!([[0.1, 0.1], [0.9, 0.9], [1.2, 1.2], [1.9, 0.1]].map(|p| map.at(p)), [2.0, 3.0, 3.0, 1.0]);
        let corner = Shape::Polygon { corners_m: vec![[0.0, 0.0], [2.0, 0.0], [0.0, 2.0]] };
        assert!(corner.holds([0.5, 0.5]) && !corner.holds([1.5, 1.5]));
        let raster = Map::Raster {
            low_m: [0.0, 0.0],
            step_m: [1.0, 2.0],
            count: [2, 2],
            values: vec![0.0, 1.0, 2.0, 3.0],
        };
        // x + y over [0, 1] x [0, 2].
        for place in [[0.0, 0.0], [0.3, 1.1], [1.0, 2.0]] {
            assert!((raster.at(place) - place[0] - place[1]).abs() < 1e-15);
        }
        assert_eq!(raster.at([9.0, 9.0]), 3.0);
        assert_eq!(raster.fault(0.0..=2.5), Some(3.0));
        assert!(raster.fault(0.0..=3.0).is_none() && map.fault(1.0..=3.0).is_none());
        let short = Map::Raster { low_m: [0.0; 2], step_m: [1.0; 2], count: [2, 2], values: vec![0.0] };
        assert!(short.fault(0.0..=1.0).is_some_and(f64::is_nan));
    }
}
