//! What leaves the house: drawings and tables as files of open formats, and drawings back from GDSII.
//!
//! Every function takes a drawing (die face up: x right, y up, seen on the face that carries the pads) and a
//! [`View`], and gives bytes; writing them to disk is left to the caller. The same drawing and view give the same
//! bytes. Each file says which way the die faces. One table, [`layer_map`], says which layer goes where; it is
//! printed in `docs/layer-map.md`.
//!
//! | Format | Function |
//! |---|---|
//! | GDSII | [`gdsii()`], and back: [`drawing_from_gdsii`] |
//! | DXF | [`dxf()`] |
//! | Gerber X2, one file a layer | [`gerber()`] |
//! | CSV tables | [`tables`] |
//! | VTK, fields on a grid | [`vtk::vtk`] |
//! | two-resistor thermal model | [`two_resistor::two_resistor`] |
//!
//! ```
//! use facedown_exchange::{View, drawing_from_gdsii, gdsii, layer_map::LayerMap};
//! use facedown_layout::{Drawing, Point, Polygon, Role, Shape, ShapeKind};
//! use facedown_quantity::Nm;
//! let mut drawing = Drawing::new("demo", Nm::from_um(1000), Nm::from_um(800));
//! let trace = Polygon::rectangle(Point::um(100.0, 100.0), Point::um(400.0, 140.0));
//! drawing.layer_mut(Role::Rdl(1)).shapes.push(Shape::new(ShapeKind::Trace, Some("clk"), trace));
//! let bytes = gdsii(&drawing, View::FaceDown)?;
//! let back = drawing_from_gdsii(&bytes, None, &LayerMap::own())?;
//! assert_eq!(back.drawing.layer(Role::Rdl(1)), drawing.layer(Role::Rdl(1)));
//! # Ok::<(), facedown_maskdata::Fault>(())
//! ```

mod dxf;
mod gdsii;
mod gerber;
mod import;
mod inside;
pub mod layer_map;
pub mod tables;
pub mod two_resistor;
mod view;
pub mod vtk;

pub use dxf::dxf;
pub use gdsii::gdsii;
pub use gerber::{GerberFile, gerber};
pub use import::{Import, drawing_from_gdsii};
pub use view::View;
