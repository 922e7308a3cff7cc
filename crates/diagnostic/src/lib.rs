//! Findings about what a user wrote: what is wrong, where, what is allowed, how to mend it.
//!
//! Readers and checks collect [`Finding`]s instead of stopping at the first; the faces print them with the
//! offending text underlined ([`render()`]).

mod finding;
mod nearest;
mod render;

pub use finding::{Finding, Level, Place, Source, Sources};
pub use nearest::nearest;
pub use render::render;
