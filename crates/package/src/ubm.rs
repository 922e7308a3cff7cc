//! Under-bump metallisation: the layers between pad and solder.

use crate::read::record::{record, words};
use crate::values::{Length, MaterialName};

record! {
    /// One layer, from the pad outward.
    pub struct UbmLayer: "a table [[die.ubm]]" {
        /// What it does.
        role: UbmRole,
        /// Material.
        material: MaterialName,
        /// Thickness.
        thickness: Length,
    }
}

words! {
    /// What a layer of the under-bump metallisation does (JEDEC JEP154: connection, barrier, mechanical bond).
    pub enum UbmRole: "a role of a UBM layer" {
        /// Sticks to pad metal and passivation: titanium, titanium-tungsten, chromium, aluminium.
        Adhesion = "adhesion",
        /// Keeps solder and pad metal apart: nickel, nickel-vanadium, titanium-tungsten.
        Barrier = "barrier",
        /// Is wetted by the solder and reacts with it: copper, nickel, palladium.
        Wetting = "wetting",
        /// Keeps the wetting layer from oxidising until reflow: gold, palladium.
        OxidationBarrier = "oxidation barrier",
    }
}
