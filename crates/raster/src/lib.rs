//! Pictures as grids of grey values: read, smooth, find edges, threshold, label, draw on.
//!
//! Nothing here knows packaging. A [`Grey`] holds one number a pixel, 0 (black) to 1 (white), row by row from the top;
//! the centre of the first pixel is the place (0, 0), x runs right and y runs down. [`read`] takes the bytes of a PNG or
//! JPEG file and refuses what it cannot answer for ([`Unreadable`]); everything else works on numbers alone and can be
//! tested against a general-purpose library.
//!
//! ```
//! use facedown_raster::{Grey, label, threshold};
//! let disc = Grey::from_fn(64, 64, |x, y| f32::from((x as i32 - 30).pow(2) + (y as i32 - 30).pow(2) < 100));
//! let level = threshold::otsu(disc.values()).unwrap();
//! let parts = label::components(&disc.above(level), label::Neighbours::Eight);
//! assert_eq!(parts.regions.len(), 1);
//! ```

pub mod background;
pub mod canvas;
pub mod contour;
mod grey;
pub mod label;
mod reading;
pub mod render;
pub mod smooth;
pub mod threshold;
mod writing;

pub use grey::{Grey, Mask};
pub use reading::{MOST_PIXELS, Unreadable, read};
pub use writing::{Unwritable, png_of_colours, png_of_grey};
