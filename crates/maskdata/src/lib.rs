//! Readers and writers of the open layout formats, as plain data: GDSII, LEF/DEF, DXF and Gerber X2.
//!
//! This room knows files and polygons, and nothing of packaging: what a layer means is decided by the rooms
//! above. Every reader takes bytes or text of any origin, never panics, and keeps its memory within stated
//! bounds; what it cannot read comes back as a [`Fault`] that says where, what is allowed and how to mend it. Every
//! writer is byte-stable: no time stamps, no order that depends on a hash.
//!
//! | Format | Read | Write |
//! |---|---|---|
//! | GDSII stream | [`gdsii::read`], [`gdsii::Library::flatten`] | [`gdsii::write`] |
//! | LEF, DEF | [`lefdef::read_lef`], [`lefdef::read_def`], [`lefdef::pins`] | no |
//! | DXF (R2010) | no | [`dxf::write`] |
//! | Gerber X2 | no | [`gerber::write`] |
//!
//! CSV is left to the `csv` crate.

mod checks;
mod circle;
mod fault;

pub mod dxf;
pub mod gdsii;
pub mod gerber;
pub mod lefdef;
pub mod pieces;

pub use checks::published_checks;
pub use circle::{Circle, circle_of, rectangle_of};
pub use fault::{Fault, Where};
