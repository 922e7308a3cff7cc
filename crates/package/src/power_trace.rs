//! Power over time: a recorded or planned trace that some dies or blocks follow.

use crate::read::record::record;
use crate::values::TablePath;
use serde::Serialize;

record! {
    /// Power of dies or blocks over time. The powers of a row hold until the next row; the last row ends the trace.
    pub struct PowerTrace: "the table [power_trace]" {
        /// The trace: a table with a column time and one of power for each die or block that follows it, named `DIE`,
        /// `BLOCK` or `DIE.BLOCK`.
        table: TablePath,
        /// The trace repeats for ever. Left out: it runs once, and the powers of its first row held before it.
        repeats: Option<bool>,
        => loaded {
            /// Time of each row, s.
            times_s: Vec<f64>,
            /// What follows the trace.
            courses: Vec<PowerCourse>,
        }
    }
}

/// What follows a trace.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PowerCourse {
    /// As the heading names it.
    pub name: String,
    /// Index of the die.
    pub die: usize,
    /// Index of the block of its power map; absent for the whole die.
    pub block: Option<usize>,
    /// Power by row, W.
    pub powers_w: Vec<f64>,
}

impl PowerTrace {
    /// True where it repeats for ever.
    pub fn repeats(&self) -> bool {
        self.repeats.unwrap_or(false)
    }

    /// From its first to its last row, s; zero for fewer than two rows.
    pub fn length_s(&self) -> f64 {
        self.times_s.last().zip(self.times_s.first()).map_or(0.0, |(last, first)| last - first)
    }
}
