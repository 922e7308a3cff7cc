//! Why a recipe is not released, as a clause with its numbers.

use crate::problem::Edge;
use serde::{Deserialize, Serialize};

/// Why a recipe is not released.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, thiserror::Error)]
pub enum Why {
    /// A bead that reaches the die's back or the room's end.
    #[error(
        "a pass lays {a_pass_mm3:.2} mm3 where the offset and the room beside the die allow {most_mm3:.2} mm3; use more passes or another offset"
    )]
    BeadTooLarge {
        /// Volume of a pass, mm3.
        a_pass_mm3: f64,
        /// Allowed, mm3.
        most_mm3: f64,
    },
    /// An offset outside of the room.
    #[error(
        "the line lies {offset_mm:.2} mm off the {} edge, where the room beside the die ends at {room_mm:.2} mm",
        words(*edge)
    )]
    NoRoom {
        /// Edge.
        edge: Edge,
        /// Offset, mm.
        offset_mm: f64,
        /// Room, mm.
        room_mm: f64,
    },
    /// Too little liquid.
    #[error(
        "the least that may come out of the needle, {least_given_mm3:.2} mm3, does not fill gap and fillets, {needed_mm3:.2} mm3"
    )]
    TooLittle {
        /// Least given, mm3.
        least_given_mm3: f64,
        /// Needed, mm3.
        needed_mm3: f64,
    },
    /// Too much liquid.
    #[error(
        "the most that may come out of the needle, {most_given_mm3:.2} mm3, runs over the room beside the die, which takes {room_mm3:.2} mm3"
    )]
    TooMuch {
        /// Most given, mm3.
        most_given_mm3: f64,
        /// Gap and largest fillets, mm3.
        room_mm3: f64,
    },
    /// Voids.
    #[error(
        "voids take {share_percent:.2} % of the die, the largest {largest_mm2:.4} mm2, where {allowed_percent:.2} % and {allowed_mm2:.4} mm2 are allowed"
    )]
    Voids {
        /// Voids and dry places, % of the die.
        share_percent: f64,
        /// Largest void, mm2.
        largest_mm2: f64,
        /// Allowed, %.
        allowed_percent: f64,
        /// Allowed, mm2.
        allowed_mm2: f64,
    },
    /// Places that do not draw the liquid in.
    #[error("{share_percent:.2} % of the die does not draw the liquid in; clean it, or lower the angle")]
    DoesNotWet {
        /// Dry, % of the die.
        share_percent: f64,
    },
    /// The lines ran dry.
    #[error("the lines ran dry with {share_percent:.1} % of the gap filled")]
    RanDry {
        /// Filled, %.
        share_percent: f64,
    },
    /// The gel comes first.
    #[error("the liquid gels after {gel_s:.0} s, before the gap is full with the margin asked for")]
    Gels {
        /// Gel, s.
        gel_s: f64,
    },
    /// The front has no outcome.
    #[error("it could not be followed: {reason}")]
    NotFollowed {
        /// In words.
        reason: String,
    },
    /// Others come first by the closed forms.
    #[error(
        "not followed: {followed} others are quicker by the closed forms; let more be followed to see it"
    )]
    LeftOut {
        /// Recipes followed.
        followed: usize,
    },
}

fn words(edge: Edge) -> &'static str {
    match edge {
        Edge::Left => "left",
        Edge::Right => "right",
        Edge::Bottom => "bottom",
        Edge::Top => "top",
    }
}
