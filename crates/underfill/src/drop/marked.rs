//! What was read, drawn over the picture: outline, profile, base line, and the angle on both sides.

use super::DropReading;
use facedown_raster::Grey;
use facedown_raster::canvas::Canvas;

const OUTLINE: [u8; 3] = [0xd9, 0xa4, 0x41];
const PROFILE: [u8; 3] = [0xc4, 0x47, 0x2f];
const BASE: [u8; 3] = [0x2a, 0x5f, 0x9e];
const ANGLE: [u8; 3] = [0x0f, 0x7b, 0x74];

/// The picture with every ninth place of the outline (amber), the fitted profile (vermilion), the base line (blue, dashed) and the
/// tangents with the arcs of the angles (teal).
pub fn marked(picture: &Grey, reading: &DropReading) -> Canvas {
    let mut canvas = Canvas::of(picture, picture.range());
    let size = (picture.width().max(picture.height()) as f64 / 500.0).max(1.0);
    canvas.path(&reading.profile, 1.4 * size, PROFILE);
    for p in reading.outline.iter().step_by(9) {
        canvas.circle(*p, 1.8 * size, 1.2 * size, OUTLINE);
    }
    let line = &reading.base_line;
    let (sine, cosine) = line.tilt_rad.sin_cos();
    let across = picture.width() as f64;
    let at = |x: f64| [x, line.point[1] + (x - line.point[0]) * sine / cosine];
    canvas.dashes(at(0.0), at(across - 1.0), 5.0 * size, 1.4 * size, BASE);
    let long = 0.35 * reading.base_px.max(20.0);
    for (side, way) in [(reading.left, -1.0), (reading.right, 1.0)] {
        // Upwards along the tangent, from the base line turned inwards by the contact angle.
        let inward = if way < 0.0 { line.tilt_rad } else { line.tilt_rad + std::f64::consts::PI };
        let up = inward + way * side.angle_rad;
        let [x, y] = side.contact;
        canvas.line(side.contact, [x + long * up.cos(), y + long * up.sin()], 1.8 * size, ANGLE);
        canvas.arc(side.contact, 0.4 * long, [inward, up], 1.4 * size, ANGLE);
        canvas.circle(side.contact, 2.5 * size, 1.5 * size, ANGLE);
    }
    canvas
}
