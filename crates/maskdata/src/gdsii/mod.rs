//! The GDSII stream format: reading, flattening and writing.
//!
//! A stream is a list of records: a big-endian length that counts its own four header bytes, a record type, a data
//! type, and the data. Format after S. M. Rubin, Computer Aids for VLSI Design (1987), appendix C.
//!
//! [`read()`] gives the hierarchy as it stands in the file ([`Library`]), in database units. [`Library::flatten`]
//! expands one cell into polygons and texts in whole nanometres. [`write()`] turns a library back into bytes
//! that depend on nothing but the library.
//!
//! ```
//! use facedown_maskdata::gdsii::{self, Cell, Element, Library, Limits};
//! let square = vec![[0, 0], [1000, 0], [1000, 2000], [0, 2000]];
//! let mut library = Library::nanometres("DEMO");
//! library.cells.push(Cell {
//!     name: "TOP".into(),
//!     elements: vec![Element::Boundary { layer: 5, datatype: 0, points: square }],
//! });
//! let bytes = gdsii::write(&library)?;
//! let again = gdsii::read(&bytes)?;
//! let flat = again.flatten("TOP", &Limits::default())?;
//! assert_eq!(flat.polygons[0].points.len(), 4);
//! # Ok::<(), facedown_maskdata::Fault>(())
//! ```

mod flatten;
mod library;
mod outline;
mod read;
mod real;
mod record;
mod transform;
mod write;

pub use flatten::{Flat, FlatPolygon, FlatText, Limits};
pub use library::{Cell, Element, Library, PathEnd, Placement, Repeat};
pub use read::read;
pub use real::{decode_real, encode_real};
pub use write::{MAX_STRING, MAX_VERTICES, boundaries, write};
