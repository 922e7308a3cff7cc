//! Voids in an acoustic micrograph of an underfilled die, counted against the bump map.
//!
//! Sound that meets a void comes back stronger than sound that meets underfill: behind silicon of 19.65 MRayl the underfill
//! (about 4.6 MRayl) sends back 0.62 of it and air all of it, so that voids are brighter at the same polarity
//! (reflection coefficient `(Z2 - Z1) / (Z2 + Z1)`; impedances from memory). The die is found in the picture or its corners
//! are given; uneven light is flattened by what most of the die shows; bumps and a ring along the edge are left out;
//! the rest is parted by a level half way between both kinds. [`read`] gives the share of voids with its uncertainty, each
//! void with its size and the bumps that it touches; [`marked()`] draws them; [`beside()`] sets a predicted map against them.
//! [`specimen`] draws micrographs of known voids.

mod beside;
mod die;
mod frame;
pub mod judged;
mod marked;
mod reading;
pub mod specimen;
mod touching;

pub use beside::{Beside, VoidMap, beside};
pub use die::find_die;
pub use frame::Frame;
pub use marked::marked;
pub use reading::{Asked, LEAST_VOID, NoVoids, Shade, Void, VoidReading, read};
pub use touching::TouchedBump;
