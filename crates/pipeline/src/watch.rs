//! How a run talks to its caller and how the caller stops it: plain events and one atomic flag.

use crate::stage::Stage;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// Something that happened in a run. Names borrow from the run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event<'a> {
    /// A part of a study begins to be solved (`part` is for instance a die; empty for the whole package).
    Started {
        /// Study.
        study: &'a str,
        /// Part of the design.
        part: &'a str,
        /// Stage on the life line.
        stage: Stage,
    },
    /// How far the part is.
    Progress {
        /// Study.
        study: &'a str,
        /// Part of the design.
        part: &'a str,
        /// Share done, 0 to 1; not a number where the solver cannot tell.
        share: f64,
        /// What is being done, in a few words.
        doing: &'a str,
    },
    /// Another part of the study reads the same, so that its result holds for this one too.
    Same {
        /// Study.
        study: &'a str,
        /// Part of the design.
        part: &'a str,
        /// The part that was solved.
        other: &'a str,
    },
    /// The part's result was found in the cache.
    Recalled {
        /// Study.
        study: &'a str,
        /// Part of the design.
        part: &'a str,
    },
    /// The part was solved.
    Solved {
        /// Study.
        study: &'a str,
        /// Part of the design.
        part: &'a str,
        /// Time that it took; only ever shown, never written to an output.
        took: Duration,
    },
    /// The study has nothing to do in this design.
    Absent {
        /// Study.
        study: &'a str,
        /// Why.
        reason: &'a str,
    },
    /// The part failed.
    Failed {
        /// Study.
        study: &'a str,
        /// Part of the design.
        part: &'a str,
        /// What went wrong.
        what: &'a str,
    },
    /// A cache entry was damaged and is solved again.
    Damaged {
        /// Study.
        study: &'a str,
        /// Part of the design.
        part: &'a str,
    },
    /// A result could not be kept in the cache; the run goes on without.
    NotKept {
        /// Why.
        what: &'a str,
    },
}

/// The caller's side of a run: a flag that cancels and a callback that hears events.
#[derive(Clone, Copy)]
pub struct Control<'a> {
    cancel: &'a AtomicBool,
    hear: &'a (dyn Fn(Event<'_>) + Sync),
}

impl<'a> Control<'a> {
    /// A control from its two parts. Set `cancel` to true at any moment to stop the run.
    pub fn new(cancel: &'a AtomicBool, hear: &'a (dyn Fn(Event<'_>) + Sync)) -> Control<'a> {
        Control { cancel, hear }
    }

    /// A control that never cancels and hears nothing.
    pub fn silent() -> Control<'static> {
        static NEVER: AtomicBool = AtomicBool::new(false);
        Control { cancel: &NEVER, hear: &|_| {} }
    }

    /// The same flag without the callback.
    #[must_use]
    pub fn unheard(self) -> Control<'a> {
        Control { cancel: self.cancel, hear: &|_| {} }
    }

    /// True once the caller asked to stop.
    pub fn cancelled(&self) -> bool {
        self.cancel.load(Ordering::Relaxed)
    }

    /// Tells the caller.
    pub fn tell(&self, event: Event<'_>) {
        (self.hear)(event);
    }
}
