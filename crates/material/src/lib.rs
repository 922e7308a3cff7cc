//! Materials and their properties, each with its source, its status and the temperatures it holds for.
//!
//! The data are TOML files, one a material or family (`data/*.toml`), built into the program. A design file may
//! change a property or add a material in the same words ([`Library::add_from`]); it then names its source or
//! says `invented`. A property is one value or a curve over temperature; between the points it is
//! interpolated linearly, outside its range it is refused ([`Property::at`]) and never carried on silently.
//!
//! ```
//! use facedown_material::{Library, PropertyName};
//! let library = Library::built_in();
//! let silicon = library.get("silicon").unwrap();
//! // 300 K: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, table A.1
//! assert_eq!(silicon.value(PropertyName::Conductivity, 300.0).unwrap(), 148.0);
//! assert!(silicon.value(PropertyName::Conductivity, 3000.0).is_err());
//! assert!(library.get("silicn").unwrap_err().to_string().contains("silicon"));
//! ```

mod built_in;
mod library;
mod listing;
mod made_of;
mod material;
mod property;
mod property_name;
mod reading;
mod schema;
mod status;

pub use library::{Library, UnknownMaterial};
pub use listing::{MaterialRow, PropertyRow, material_rows, property_rows};
pub use made_of::{MadeOf, Role};
pub use material::{Material, MaterialError};
pub use property::{OutsideRange, Property, Values};
pub use property_name::{Measure, PropertyName};
pub use schema::material_schema;
pub use status::Status;
