//! A predicted map of voids beside what a micrograph shows.

use super::VoidReading;
use super::marked::{ALONE, frame, marked};
use facedown_evidence::input::Missing;
use facedown_raster::canvas::Canvas;
use facedown_raster::{Grey, Mask};

/// Where voids were predicted: a grid over the die, row by row from its lower-left corner as it lies in the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct VoidMap {
    /// Cells along the die's width.
    pub columns: usize,
    /// For each cell whether it is void.
    pub cells: Vec<bool>,
}

/// Prediction against picture, over what is looked at in the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// Share that was predicted.
    pub predicted: f64,
    /// Share that is seen.
    pub seen: f64,
    /// Share that is both.
    pub both: f64,
    /// What is both over what is either (P. Jaccard 1912); nothing where there is neither.
    pub overlap: Option<f64>,
    /// Part of the predicted area where voids are seen; nothing without prediction.
    pub confirmed: Option<f64>,
    /// Part of the seen area where voids were predicted; nothing without voids.
    pub foreseen: Option<f64>,
    /// Prediction to the left, picture to the right.
    pub picture: Canvas,
}

/// Sets a predicted map beside a reading.
///
/// # Errors
/// [`Missing`] where the map has no whole rows.
pub fn beside(
    picture: &Grey,
    reading: &VoidReading,
    map: &VoidMap,
    bumps: &[[f64; 2]],
    bump_diameter_m: f64,
) -> Result<Beside, Missing> {
    if map.columns == 0 || map.cells.is_empty() || !map.cells.len().is_multiple_of(map.columns) {
        return Err(Missing::new("the predicted map of voids", "give whole rows of cells over the die"));
    }
    let rows = map.cells.len() / map.columns;
    let [wide, high] = reading.frame.size();
    let predicted = Mask::from_fn(picture.width(), picture.height(), |x, y| {
        let [u, v] = reading.frame.to_die([x as f64, y as f64]);
        let cell = |t: f64, n: usize| (t >= 0.0).then_some((t * n as f64) as usize).filter(|i| *i < n);
        let at = cell(u / wide, map.columns).zip(cell(v / high, rows));
        at.is_some_and(|(i, j)| map.cells[j * map.columns + i])
    })
    .and(&reading.area);
    let seen = reading.mask();
    let both = predicted.and(&seen).count() as f64;
    let all = reading.area.count() as f64;
    let (p, s) = (predicted.count() as f64, seen.count() as f64);
    let over = |part: f64, whole: f64| (whole > 0.0).then(|| part / whole);
    let mut left = Canvas::blank(picture.width(), picture.height(), [0x1d, 0x24, 0x33]);
    left.tint(&reading.area, [0xd9, 0xa4, 0x41], 0.30);
    left.tint(&predicted, [0xfa, 0xf8, 0xf3], 1.0);
    left.tint(&predicted.and(&seen), ALONE, 0.65);
    frame(&mut left, reading, bumps, bump_diameter_m);
    let right = marked(picture, reading, bumps, bump_diameter_m);
    Ok(Beside {
        predicted: p / all,
        seen: s / all,
        both: both / all,
        overlap: over(both, p + s - both),
        confirmed: over(both, p),
        foreseen: over(both, s),
        picture: left.beside(&right, 12, [0xfa, 0xf8, 0xf3]),
    })
}
