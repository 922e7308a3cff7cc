//! What the dies stand on: substrate, interposer, balls, board.

use crate::bumps::Bumps;
use crate::read::record::record;
use crate::values::{Fraction, Length, MaterialName};

record! {
    /// The substrate, a stack of layers from the die side down.
    pub struct Substrate: "the table [substrate]" {
        /// Size in x.
        width: Length,
        /// Size in y.
        height: Length,
        /// Layers from the die side down.
        #[serde(default)]
        layers "layer": Vec<StackLayer>,
        /// Diameter of the pads that the bumps are soldered to. Left out: the UBM diameter.
        bump_pad: Option<Length>,
        /// Finish of its pads.
        finish: Option<MaterialName>,
        /// Bow as received, at room temperature and over the whole substrate: positive where it is convex with the die side
        /// up, corners lower than the centre (JESD22-B112). Left out: flat.
        received_bow: Option<Length>,
    }
}

record! {
    /// One layer of a substrate, interposer or board.
    pub struct StackLayer: "a table [[layer]] of a stack" {
        /// What it is called on the drawing.
        name: Option<String>,
        /// Material; for a metal layer its metal.
        material: MaterialName,
        /// Thickness.
        thickness: Length,
        /// Share of the layer's area that is copper; the rest is `fill`.
        copper: Option<Fraction>,
        /// Dielectric between the copper of a metal layer. Left out: the dielectric below it.
        fill: Option<MaterialName>,
    }
}

record! {
    /// A silicon, glass or organic interposer.
    pub struct Interposer: "the table [interposer]" {
        /// Size in x.
        width: Length,
        /// Size in y.
        height: Length,
        /// Centre from the centre of the substrate, x and y. Left out: centred.
        at: Option<[Length; 2]>,
        /// Layers from the die side down.
        #[serde(default)]
        layers "layer": Vec<StackLayer>,
        /// The bumps between interposer and substrate.
        bumps: Option<Bumps>,
        /// Diameter of the pads that the dies' bumps are soldered to. Left out: the UBM diameter.
        bump_pad: Option<Length>,
    }
}

record! {
    /// The balls between substrate and board.
    pub struct Balls: "the table [balls]" {
        /// Centre-to-centre distance.
        pitch: Length,
        /// Diameter of a ball before it is attached.
        diameter: Length,
        /// Columns and rows. Left out: as many as the substrate takes.
        matrix: Option<[u32; 2]>,
        /// Number of outer rows that carry balls. Left out: all.
        rows: Option<u32>,
        /// Balls that are left out: names (`A1`) or blocks (`F6:M12`).
        #[serde(default)]
        depopulate: Vec<String>,
        /// Solder.
        solder: MaterialName,
        /// Diameter of the land on the substrate. Left out: 80 % of the ball.
        land: Option<Length>,
        /// Height after attach. Left out: computed by the joint study.
        stand_off: Option<Length>,
    }
}

record! {
    /// The board that the package is mounted on.
    pub struct Board: "the table [board]" {
        /// Size in x.
        width: Length,
        /// Size in y.
        height: Length,
        /// Layers from the package side down.
        #[serde(default)]
        layers "layer": Vec<StackLayer>,
    }
}

/// Thickness of a stack of layers, m.
pub fn thickness_m(layers: &[StackLayer]) -> f64 {
    layers.iter().map(|l| l.thickness.si()).sum()
}
