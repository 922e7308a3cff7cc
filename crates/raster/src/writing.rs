//! Grey values and colours to PNG bytes. The same picture gives the same bytes.

use crate::Grey;

/// Why no file came out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the picture cannot be written: {0}")]
pub struct Unwritable(String);

/// An 8-bit grey PNG; values below 0 are black, above 1 white.
///
/// # Errors
/// [`Unwritable`] where the picture is wider or higher than the format allows.
pub fn png_of_grey(picture: &Grey) -> Result<Vec<u8>, Unwritable> {
    let bytes: Vec<u8> = picture.values().iter().map(|v| byte(f64::from(*v))).collect();
    encode(picture.width(), picture.height(), png::ColorType::Grayscale, &bytes)
}

/// An 8-bit colour PNG of `width` columns, three bytes a pixel, row by row from the top.
///
/// # Errors
/// [`Unwritable`] where the bytes do not fill whole rows.
pub fn png_of_colours(width: usize, colours: &[[u8; 3]]) -> Result<Vec<u8>, Unwritable> {
    if width == 0 || !colours.len().is_multiple_of(width) {
        return Err(Unwritable("the pixels do not fill whole rows".into()));
    }
    encode(width, colours.len() / width, png::ColorType::Rgb, colours.as_flattened())
}

/// A share of white as a byte.
pub(crate) fn byte(value: f64) -> u8 {
    (value.clamp(0.0, 1.0) * 255.0).round() as u8
}

fn encode(width: usize, height: usize, colours: png::ColorType, bytes: &[u8]) -> Result<Vec<u8>, Unwritable> {
    let side = |n: usize| u32::try_from(n).map_err(|e| Unwritable(e.to_string()));
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, side(width)?, side(height)?);
    encoder.set_color(colours);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().map_err(|e| Unwritable(e.to_string()))?;
    writer.write_image_data(bytes).map_err(|e| Unwritable(e.to_string()))?;
    writer.finish().map_err(|e| Unwritable(e.to_string()))?;
    Ok(out)
}
