//! PNG and JPEG bytes to grey values.
//!
//! Colours become grey with the weights of ITU-R BT.709 (0.2126, 0.7152, 0.0722) on the stored values; what is
//! transparent lies on white. A picture is refused by its stated size before anything of it is unpacked.

use crate::Grey;
use std::io::Cursor;
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

/// Most pixels that a picture may have: 32 million.
pub const MOST_PIXELS: usize = 32_000_000;
/// Longest side of a picture, pixels.
const LONGEST: usize = 32_767;

/// Why bytes give no picture.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unreadable {
    /// Neither PNG nor JPEG by its first bytes.
    #[error("this is not a picture that can be read: it begins neither as PNG nor as JPEG; save it as PNG")]
    NotAPicture,
    /// More pixels than are allowed.
    #[error(
        "the picture has {width} x {height} pixels; at most {MOST_PIXELS} are read: cut it or halve its size"
    )]
    TooLarge {
        /// Columns.
        width: usize,
        /// Rows.
        height: usize,
    },
    /// The file ends early.
    #[error("the picture ends before its last row: the file is cut off; copy it again")]
    Truncated,
    /// The contents contradict the format.
    #[error("the picture is damaged: {0}")]
    Damaged(String),
    /// A kind of file that is not read.
    #[error("the picture is stored in a way that is not read ({0}); save it as 8-bit or 16-bit PNG")]
    Unsupported(String),
    /// One grey value everywhere.
    #[error("the picture is blank: all its pixels are alike")]
    Blank,
}

/// The grey values of a PNG or JPEG file, 0 (black) to 1 (white).
///
/// # Errors
/// [`Unreadable`] for anything but a whole picture of one to [`MOST_PIXELS`] pixels that are not all alike.
pub fn read(bytes: &[u8]) -> Result<Grey, Unreadable> {
    let picture = match bytes {
        [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a, ..] => png(bytes)?,
        [0xff, 0xd8, 0xff, ..] => jpeg(bytes)?,
        _ => return Err(Unreadable::NotAPicture),
    };
    let (least, most) = picture.range();
    // Half a step of 8 bits.
    if most - least < 0.5 / 255.0 { Err(Unreadable::Blank) } else { Ok(picture) }
}

fn allowed(width: usize, height: usize) -> Result<(), Unreadable> {
    if width.checked_mul(height).is_none_or(|n| n > MOST_PIXELS) || width.max(height) > LONGEST {
        return Err(Unreadable::TooLarge { width, height });
    }
    if width == 0 || height == 0 { Err(Unreadable::Damaged("it has no pixels".into())) } else { Ok(()) }
}

fn luminance(red: f32, green: f32, blue: f32) -> f32 {
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

fn png(bytes: &[u8]) -> Result<Grey, Unreadable> {
    let fault = |e: png::DecodingError| match e {
        png::DecodingError::IoError(e) if e.kind() == std::io::ErrorKind::UnexpectedEof => {
            Unreadable::Truncated
        }
        png::DecodingError::LimitsExceeded => {
            Unreadable::Damaged("a part of it is larger than the picture".into())
        }
        other => Unreadable::Damaged(other.to_string()),
    };
    let mut decoder =
        png::Decoder::new_with_limits(Cursor::new(bytes), png::Limits { bytes: 16 * MOST_PIXELS });
    decoder.set_transformations(png::Transformations::EXPAND);
    decoder.set_ignore_text_chunk(true);
    decoder.set_ignore_iccp_chunk(true);
    let header = decoder.read_header_info().map_err(fault)?;
    let (width, height) = (header.width as usize, header.height as usize);
    allowed(width, height)?;
    let mut reader = decoder.read_info().map_err(fault)?;
    let size = reader.output_buffer_size().ok_or(Unreadable::TooLarge { width, height })?;
    let mut buffer = vec![0; size];
    let frame = reader.next_frame(&mut buffer).map_err(fault)?;
    let channels = frame.color_type.samples();
    let numbers: Vec<f32> = match frame.bit_depth {
        png::BitDepth::Sixteen => buffer
            .chunks_exact(2)
            .map(|pair| f32::from(u16::from_be_bytes([pair[0], pair[1]])) / 65535.0)
            .collect(),
        png::BitDepth::Eight => buffer.iter().map(|b| f32::from(*b) / 255.0).collect(),
        other => return Err(Unreadable::Unsupported(format!("{other:?} bits"))),
    };
    let grey = |p: &[f32]| match *p {
        [grey] => grey,
        [grey, opacity] => grey * opacity + 1.0 - opacity,
        [r, g, b] => luminance(r, g, b),
        [r, g, b, opacity] => luminance(r, g, b) * opacity + 1.0 - opacity,
        _ => 0.0,
    };
    let values = numbers.chunks_exact(channels).take(width * height).map(grey).collect::<Vec<f32>>();
    whole(width, height, values)
}

fn jpeg(bytes: &[u8]) -> Result<Grey, Unreadable> {
    use zune_jpeg::errors::DecodeErrors;
    let fault = |e: DecodeErrors| match e {
        DecodeErrors::ExhaustedData | DecodeErrors::IoErrors(_) => Unreadable::Truncated,
        DecodeErrors::Unsupported(_) => Unreadable::Unsupported(format!("{e:?}")),
        other => Unreadable::Damaged(format!("{other:?}")),
    };
    let options = DecoderOptions::default()
        .set_max_width(LONGEST)
        .set_max_height(LONGEST)
        .set_strict_mode(true)
        .jpeg_set_out_colorspace(ColorSpace::RGB);
    // The format ends with a mark of its own; without it rows may be missing that no decoder can miss.
    let ends = bytes.windows(2).rev().take(4096).any(|pair| pair == [0xff, 0xd9]);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode_headers().map_err(fault)?;
    let info = decoder.info().ok_or(Unreadable::Truncated)?;
    let (width, height) = (usize::from(info.width), usize::from(info.height));
    allowed(width, height)?;
    if !ends {
        return Err(Unreadable::Truncated);
    }
    let pixels = decoder.decode().map_err(fault)?;
    let part = |b: u8| f32::from(b) / 255.0;
    let values = pixels.chunks_exact(3).map(|p| luminance(part(p[0]), part(p[1]), part(p[2]))).collect();
    whole(width, height, values)
}

fn whole(width: usize, height: usize, values: Vec<f32>) -> Result<Grey, Unreadable> {
    if values.len() == width * height {
        Grey::new(width, values).ok_or(Unreadable::Truncated)
    } else {
        Err(Unreadable::Truncated)
    }
}
