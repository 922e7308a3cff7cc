//! The micrograph with what was counted: bridging voids vermilion, touching ones amber, others teal; bumps and die in blue.

use super::VoidReading;
use facedown_raster::Grey;
use facedown_raster::canvas::Canvas;

pub(super) const BRIDGING: [u8; 3] = [0xc4, 0x47, 0x2f];
pub(super) const TOUCHING: [u8; 3] = [0xd9, 0xa4, 0x41];
pub(super) const ALONE: [u8; 3] = [0x0f, 0x7b, 0x74];
pub(super) const GIVEN: [u8; 3] = [0x5b, 0x8f, 0xce];

/// Draws the voids over the picture, with the bump map (centres and diameter, m) and the outline of the die.
pub fn marked(picture: &Grey, reading: &VoidReading, bumps: &[[f64; 2]], bump_diameter_m: f64) -> Canvas {
    let mut canvas = Canvas::of(picture, picture.range());
    let mut colour = vec![None; reading.parts.regions.len()];
    for void in &reading.voids {
        colour[void.region] = Some(match void.bumps.len() {
            0 => ALONE,
            1 => TOUCHING,
            _ => BRIDGING,
        });
    }
    for c in [ALONE, TOUCHING, BRIDGING] {
        canvas.tint(&reading.parts.mask_where(|region| colour[region] == Some(c)), c, 0.65);
    }
    frame(&mut canvas, reading, bumps, bump_diameter_m);
    canvas
}

/// Bumps and die.
pub(super) fn frame(canvas: &mut Canvas, reading: &VoidReading, bumps: &[[f64; 2]], bump_diameter_m: f64) {
    let size = (canvas.width().max(canvas.height()) as f64 / 900.0).max(0.8);
    let radius = 0.5 * bump_diameter_m / reading.frame.pixel();
    for bump in bumps {
        canvas.circle(reading.frame.to_picture(*bump), radius, 0.8 * size, GIVEN);
    }
    let [a, b, c, d] = reading.frame.corners();
    canvas.path(&[a, b, c, d, a], 1.2 * size, GIVEN);
}
