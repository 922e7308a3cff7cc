//! Bumps: the array, its technology, and the sizes of bump, UBM and capture pad.

use crate::read::record::{record, words};
use crate::values::{Current, Length, MaterialName, ResistanceArea, TablePath, Volume};
use facedown_quantity::Nm;
use serde::Serialize;

record! {
    /// The bumps of a die or an interposer. Sizes that are left out follow from the pitch by the rules that
    /// [`crate::bump_rules`] states.
    pub struct Bumps: "the table [die.bumps]" {
        /// Kind of bump. Left out: `auto`, by pitch.
        technology: Option<BumpTechnology>,
        /// Centre-to-centre distance of neighbours along a row. With a bump table: the least one meant.
        pitch: Length,
        /// Distance between rows. Left out: the pitch; for the staggered pattern pitch x sqrt(3)/2.
        row_pitch: Option<Length>,
        /// Which sites of the grid are taken. Left out: full.
        pattern: Option<BumpPattern>,
        /// Columns and rows. Left out: as many as fit.
        matrix: Option<[u32; 2]>,
        /// Number of outer rows of the perimeter pattern.
        rows: Option<u32>,
        /// Sites that stay empty: names (`C4`) or blocks (`C4:F7`).
        #[serde(default)]
        depopulate: Vec<String>,
        /// Distance of the outermost bump centres from the die outline, at least. Left out: by rule.
        edge_distance: Option<Length>,
        /// Solder. Left out: the usual one of the technology.
        solder: Option<MaterialName>,
        /// Height of the reflowed bump above the UBM, pillar and cap together.
        height: Option<Length>,
        /// Height of the pillar below its cap.
        pillar_height: Option<Length>,
        /// Solder volume of one bump.
        volume: Option<Volume>,
        /// Diameter of the UBM.
        ubm_diameter: Option<Length>,
        /// Diameter of the RDL pad under the bump.
        capture_diameter: Option<Length>,
        /// Diameter of the opening in the last dielectric.
        opening_diameter: Option<Length>,
        /// Largest diameter of the bump.
        bump_diameter: Option<Length>,
        /// Largest direct current through one bump. Left out: 5000 A/cm2 in its opening.
        max_current: Option<Current>,
        /// Electrical resistance times area of the contacts between redistribution, UBM and solder, without the layers
        /// themselves; spreads the current over the opening. Left out: none.
        contact_resistance: Option<ResistanceArea>,
        /// A table with columns name, x, y and optionally net: the sites, instead of the array.
        table: Option<TablePath>,
        /// Nets of the array as a tile that repeats over it, upper row first; `*` is a signal of its own. For pads
        /// that are drawn under their bumps.
        #[serde(default)]
        net_tile: Vec<Vec<String>>,
        /// What the names of the tile's own signals begin with, before the site's name. Left out: `S_`.
        signal_prefix: Option<String>,
    }
}

words! {
    /// Kind of bump.
    pub enum BumpTechnology: "a bump technology" {
        /// By pitch.
        Auto = "auto",
        /// Solder bump, reflowed.
        SolderBump = "solder bump",
        /// Copper pillar with a solder cap.
        CopperPillar = "copper pillar",
        /// Micro bump.
        MicroBump = "micro bump",
    }
}

words! {
    /// Which sites of the grid are taken.
    pub enum BumpPattern: "a pattern of bumps" {
        /// Every site.
        Full = "full",
        /// The outer rows.
        Perimeter = "perimeter",
        /// Every second row shifted by half a pitch and one bump shorter, so that with the row pitch left out every
        /// neighbour is one pitch away.
        Staggered = "staggered",
    }
}

/// A place for a bump.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BumpSite {
    /// Unique name, row letter and column number for arrays (`C4`).
    pub name: String,
    /// Centre in x, die frame.
    pub x: Nm,
    /// Centre in y, die frame.
    pub y: Nm,
    /// The net that it must carry, where one is given.
    pub net: Option<String>,
}
