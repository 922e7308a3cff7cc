//! The shortest recipe that fills without voids, within the volume that gap and fillets ask for and the room that a bead has.
//!
//! [`Choices`] makes recipes from a design: patterns, first edges, passes, waits, offsets. [`search()`] refuses by arithmetic what no
//! flow can mend (a bead too large for its offset, a volume that does not fill or runs over), ranks the rest by the closed forms of
//! [`crate::flow::patterns`], follows each with the front on a coarse grid, and the best few again on the grid of the base problem
//! until the first rows of the table all stand on it. Recipes are followed in parallel; the table does not depend on the
//! number of threads. Entry cost: one front a recipe on the coarse grid.
//!
//! Known limits: all lines of a pass are laid at once, and the needle's own way takes no time; the bead's way to the die is not
//! followed; what the front knows of fillets counts, beyond that they only take volume ([`volume`]).
//!
//! ```
//! use facedown_underfill::search::{self, specimen};
//! let table = search::search(&specimen::task(6)).unwrap();
//! let first = &table.rows[0];
//! assert!(first.why.is_none() && first.fill_time_s.is_some());
//! ```

mod follow;
mod recipe;
mod refusal;
pub mod specimen;
mod table;
pub mod volume;

pub use recipe::{Choices, Recipe};
pub use refusal::Why;
pub use table::{Effort, SearchTask, Stage, Table, Tried, search, search_with};

use facedown_evidence::input::OutOfRange;

/// Why nothing is searched.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoSearch {
    /// A number that cannot be.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// No recipe.
    #[error("there is no recipe to try; give at least one, or choices that make one")]
    NoRecipe,
    /// The design itself has no outcome.
    #[error(transparent)]
    Design(#[from] crate::Refusal),
}
