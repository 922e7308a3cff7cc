//! The life line: the stages that a package goes through, in order.

use serde::{Deserialize, Serialize};

/// A stage of the package's life; studies are knots on it.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// Wire-bond pads become a routed bump array.
    Redistribute,
    /// UBM and bumps are made on the wafer.
    Bump,
    /// The die is placed and the joints melt.
    PlaceAndReflow,
    /// Flux residues are removed.
    Clean,
    /// Underfill flows under the die.
    Underfill,
    /// Underfill cures.
    Cure,
    /// Lid or ring is attached.
    LidOrRing,
    /// Solder balls are attached to the substrate.
    BallAttach,
    /// The package is soldered to its board.
    BoardReflow,
    /// The package works in the field.
    Service,
}

impl Stage {
    /// All stages in the order in which they happen.
    pub const ALL: [Stage; 10] = [
        Stage::Redistribute,
        Stage::Bump,
        Stage::PlaceAndReflow,
        Stage::Clean,
        Stage::Underfill,
        Stage::Cure,
        Stage::LidOrRing,
        Stage::BallAttach,
        Stage::BoardReflow,
        Stage::Service,
    ];

    /// The stage in words (`place and reflow`).
    pub fn words(self) -> &'static str {
        match self {
            Stage::Redistribute => "redistribute",
            Stage::Bump => "bump",
            Stage::PlaceAndReflow => "place and reflow",
            Stage::Clean => "clean",
            Stage::Underfill => "underfill",
            Stage::Cure => "cure",
            Stage::LidOrRing => "lid or ring",
            Stage::BallAttach => "ball attach",
            Stage::BoardReflow => "board reflow",
            Stage::Service => "service",
        }
    }
}
