//! The contact angle of a drop at rest, from its size or from its picture.
//!
//! [`profile`] is the shape of a drop under surface tension and gravity; [`size`] reads the angle from volume and
//! diameter with it. [`read`] takes a picture from the side: the outline is found to a part of a pixel, the base line is found
//! or given, the profile is fitted by least squares on the distances along its normals, and the angle is read where both
//! meet. A reading says how uncertain it is and of what, or a [`NoReading`] says why there is none. [`marked()`] draws what
//! was found over the picture; [`specimen`] draws drops of known angle.

mod base_line;
mod fit;
mod marked;
mod outline;
pub mod profile;
mod reading;
pub mod size;
pub mod specimen;

pub use base_line::BaseLine;
pub use marked::marked;
pub use outline::{Lies, Outline, outline};
pub use reading::{Asked, DropReading, Gravity, NoReading, Side, Uncertainty, read, read_outline};
