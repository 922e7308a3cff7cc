//! What a thing is made of, as the pictures colour it, and what a metal does in a stack under a bump.

use serde::{Deserialize, Serialize};

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$item_doc:meta])* $item:ident = $words:literal),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum $name {
            $($(#[$item_doc])* #[serde(rename = $words)] $item),*
        }

        impl $name {
            /// All of them.
            pub const ALL: &'static [$name] = &[$($name::$item),*];

            /// The words that files use.
            pub fn words(self) -> &'static str {
                match self {
                    $($name::$item => $words),*
                }
            }

            /// The one with these words.
            pub fn from_words(words: &str) -> Option<$name> {
                $name::ALL.iter().copied().find(|x| x.words() == words)
            }
        }
    };
}

words! {
    /// Class of a material: one colour in every picture.
    MadeOf {
        /// Dies and interposers.
        Silicon = "silicon",
        /// Traces, pillars, planes, lid cores.
        Copper = "copper",
        /// Bumps, balls, solder interfaces.
        Solder = "solder",
        /// Nickel, gold, steel and other plate.
        Plate = "plate",
        /// Passivation, polymer layers, masks, glass and ceramic.
        Dielectric = "dielectric",
        /// Underfills, adhesives, moulding compounds.
        Underfill = "underfill",
        /// Substrate cores and boards.
        Laminate = "laminate",
        /// Thermal interfaces.
        Interface = "interface",
        /// Air and other gases.
        Gas = "gas",
    }
}

words! {
    /// What a metal can do in the stack under a bump.
    Role {
        /// Sticks to the pad and to the passivation, and keeps metals apart.
        Adhesion = "adhesion",
        /// Keeps the solder from the pad and lasts in its melt.
        Barrier = "barrier",
        /// The solder wets and joins to it.
        Wetting = "wetting",
        /// Keeps the wetting layer from oxidising until the first melt.
        OxidationBarrier = "oxidation barrier",
    }
}
