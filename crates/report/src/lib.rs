//! Pictures of the package: what a person looks at.
//!
//! Everything here is written as SVG text by one small writer ([`svg`]), coloured from one palette
//! ([`palette`]) in which a colour says what a thing is made of, and with numbers written one way
//! ([`number`]). [`mod@plan_view`] draws a redistribution from above; [`verdict`] draws the marks and margin bars
//! of requirements; [`mod@fill_frames`] plays a fill. [`mod@page`] sets all of it with [`chart`]s into one document. The same input gives the same bytes.
//!
//! ```
//! use facedown_layout::{Drawing, Point, Polygon, Role, Shape, ShapeKind};
//! use facedown_quantity::Nm;
//! use facedown_report::{PlanOptions, plan_view};
//! let mut drawing = Drawing::new("demo", Nm::from_um(1000), Nm::from_um(800));
//! let line = Polygon::rectangle(Point::um(10.0, 10.0), Point::um(20.0, 300.0));
//! drawing.layer_mut(Role::Rdl(1)).shapes.push(Shape::new(ShapeKind::Trace, Some("clk"), line));
//! let picture = plan_view(&drawing, &PlanOptions { design: "demo".into(), ..PlanOptions::default() });
//! assert!(picture.starts_with("<svg") && picture.contains("net clk"));
//! ```

pub mod chart;
pub mod field_colours;
pub mod fill_frames;
pub mod number;
pub mod page;
pub mod palette;
pub mod plan_view;
pub mod svg;
pub mod typography;
pub mod verdict;

pub use fill_frames::{FillFrame, FrameWords, fill_frames};
pub use page::{PageInput, PlanPicture, WarpageCourse, page};
pub use plan_view::{KeyFigure, NetNote, PlanOptions, View, Violation, plan_view};
pub use verdict::{Bound, MarginBar, Verdict};
