//! Process windows: how far a recipe is from voids, from a gel and from not wetting, and how likely each is with the design's tolerances.
//!
//! A front depends on viscosity, temperature history and lot only through the fluidity time, and on the tension only by its scale, so that
//! a draw of these costs a look-up: exact, but for trapped air, whose pressure the tension does not scale. Draws of angles and gap
//! are told from a few fronts ([`Response`]): what is interpolated is the fill time over that of the mean cell by the closed
//! forms, which varies little. Some draws are followed directly as well and the worst difference is told ([`Accuracy`]).
//!
//! [`spread`] draws about the design's own point, [`window`] over a grid of two of angle, temperature and gap, or over queue times.
//! Probabilities come with E. B. Wilson's interval ([`facedown_field::proportion`]); draws are those of a seed, the same on every
//! machine. Entry cost: the fronts of the response, then about a microsecond a draw.
//!
//! Known limits: Newtonian liquids only. Lines are taken as ample from the start and passes are walked afterwards, as if all lines of a
//! pass ran dry at once.
//!
//! ```
//! use facedown_underfill::window::{self, specimen};
//! let told = window::spread(&specimen::task(500)).unwrap();
//! assert!(told.void.share < 0.5 && told.fill_time_s.is_some());
//! ```

mod clocks;
mod draw;
mod response;
pub mod specimen;
mod task;

pub use clocks::Clocks;
pub use draw::{Probability, Tolerances, Verdict};
pub use response::{Accuracy, Knob, Response};
pub use task::{Point, Spread, Window, WindowOutcome, WindowTask, spread, spread_with, window, window_with};

use facedown_evidence::input::OutOfRange;

/// Why there is no window.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoWindow {
    /// A number that cannot be.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A front that was not followed.
    #[error("a front of the window could not be followed: {0}")]
    Front(#[from] crate::front::Refusal),
    /// A liquid that is not Newtonian.
    #[error(
        "the liquid thins or thickens with shear, so that its fronts do not depend on the fluidity time alone; give the window the viscosity at the \
         shear of the flow instead"
    )]
    Shear,
    /// The cure could not be followed.
    #[error("the cure could not be followed: {0}")]
    Cure(facedown_field::NoConvergence),
    /// An axis without points.
    #[error("an axis of the window has no points; give at least one")]
    NoPoints,
}
