//! From residue to the angle that the underfill meets: residue map, plasma step and queue time give a map of angles.
//!
//! [`Residue`] says where something lies on a face. The angle there is the mean of the cosines of the bare and the covered part
//! ([`residue`]; A. B. D. Cassie 1948). A plasma step takes residue away and activates the bare face, both of first order in
//! the dose, power times time, with constants from the user's own readings before and after and what they are uncertain by
//! ([`dose`], on the law of [`crate::treatment`]). Waiting lets the face age ([`ageing`]). [`clean`] puts them together and gives
//! maps as the front reads them ([`crate::front::Map`]), and [`sheet()`] the numbers of the process sheet. Entry cost: well
//! below a millisecond a step, some for the dose that a limit needs.
//!
//! Known limits: angles are those of one liquid, and the flow needs those of the underfill itself; readings with water judge the
//! cleaning, not the flow. Residue is taken as patches small against a bump cell. Under a die that is attached already radicals
//! come only a little way into the gap (common practice, no source): the laws are for a face that the plasma sees.
//!
//! ```
//! use facedown_underfill::contamination::{self, specimen};
//! let outcome = contamination::clean(&specimen::streak()).unwrap();
//! assert!(outcome.worst_before.angle_rad > 1.5 && outcome.worst.angle_rad < 0.8);
//! ```

pub mod ageing;
pub mod dose;
pub mod residue;
mod sheet;
pub mod specimen;
mod step;

pub use ageing::{Ageing, Follows, Life};
pub use dose::{DoseNeeded, FittedLaw, Read};
pub use residue::{Removal, Residue};
pub use sheet::{CleaningSheet, sheet};
pub use step::{CleanOutcome, CleanTask, GasLaw, Limit, clean, dose_for_limit};

use crate::problem::PlasmaGas;
use crate::treatment::NoLaw;
use facedown_evidence::input::OutOfRange;

/// Why a step gives no map.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoCleaning {
    /// A number that cannot be.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Readings that show no law.
    #[error("the readings give no law of the dose: {0}")]
    NoLaw(#[from] NoLaw),
    /// A gas of which nothing was read.
    #[error(
        "no readings show what {} does to this face; give angles before and after a step with it, or plan one of the gases that were read",
        .0.words()
    )]
    NoGas(PlasmaGas),
    /// The angle on the residue is that of the face itself.
    #[error(
        "residue and bare face have the same angle, {degrees:.1} deg, so that an angle does not show the residue; measure with another liquid"
    )]
    Alike {
        /// The angle, deg.
        degrees: f64,
    },
}
