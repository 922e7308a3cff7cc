//! LEF and DEF, as far as the place, layer and net of every pin need them.
//!
//! LEF describes macros (their size, and their pins as rectangles on layers), DEF places them on a die and wires them.
//! Both are open text formats of statements that end with `;` (LEF/DEF 5.8 language reference). Statements
//! that say nothing about pins are passed over, so files of other versions and with extensions read too.
//!
//! ```
//! use facedown_maskdata::lefdef;
//! let lef = lefdef::read_lef("MACRO PADCELL SIZE 60 BY 100 ; PIN P PORT LAYER M9 ; RECT 0 0 60 60 ; END END P END PADCELL")?;
//! let def = lefdef::read_def(
//!     "DESIGN demo ; UNITS DISTANCE MICRONS 1000 ; DIEAREA ( 0 0 ) ( 900000 800000 ) ;
//!      COMPONENTS 1 ; - pad0 PADCELL + FIXED ( 100000 0 ) N ; END COMPONENTS
//!      NETS 1 ; - clk ( pad0 P ) ; END NETS END DESIGN",
//! )?;
//! let list = lefdef::pins(&lef, &def, Some("M9"))?;
//! assert_eq!(list.pins[0].net.as_deref(), Some("clk"));
//! assert_eq!(list.pins[0].low.x.um(), 100.0);
//! # Ok::<(), facedown_maskdata::Fault>(())
//! ```

mod def;
mod lef;
mod orientation;
mod pins;
mod token;

pub use def::{Component, Connection, Def, DefPin, DefPort, Net, read_def};
pub use lef::{Lef, Macro, MacroPin, PortShape, read_lef};
pub use orientation::Orientation;
pub use pins::{MOST_PINS, Pin, PinList, macro_pins, pins};
