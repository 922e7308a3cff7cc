//! A die: its size, how it is mounted, and where its pads and its power come from.

use crate::bumps::Bumps;
use crate::grid::{PowerGrid, PowerGridSource};
use crate::nets::{Assignment, Net};
use crate::pads::{Pad, PadSource, PowerBlock};
use crate::rdl::{KeepOut, Rdl};
use crate::read::record::{record, words};
use crate::ubm::UbmLayer;
use crate::values::{Angle, Area, Length, MaterialName, Name, Power, Strength, TablePath};

record! {
    /// One die. Its frame has the origin at the lower-left corner, x right, y up, seen on the face that carries
    /// the pads.
    pub struct Die: "a table [[die]]" {
        /// Unique name.
        name: Name,
        /// Size in x.
        width: Length,
        /// Size in y.
        height: Length,
        /// Thickness.
        thickness: Length,
        /// Material of the body. Left out: silicon.
        material: Option<MaterialName>,
        /// Flip-mounted on bumps, or face up with bond wires. Left out: flip.
        mount: Option<Mount>,
        /// What it stands on: `substrate`, `interposer`, or the name of another die. Left out: substrate.
        on: Option<Name>,
        /// Centre of the die from the centre of what it stands on, x and y, seen from above. Left out: centred.
        at: Option<[Length; 2]>,
        /// Rotation about its centre, counter-clockwise seen from above. Left out: none.
        rotation: Option<Angle>,
        /// Distance from the die outline to the inner edge of the seal ring. Left out: 30 um.
        seal_ring: Option<Length>,
        /// How strong its back is against tension. Left out: a fine-ground back, from memory.
        strength: Option<DieStrength>,
        /// Power turned into heat in the die, spread evenly.
        power: Option<Power>,
        /// Power by block: a table with columns x, y, width, height (lower-left corner and size, die frame) and power.
        power_map: Option<TablePath>,
        /// Power by cell: a CSV grid of W, or of W/cm2, over the whole die or a part of it, die frame.
        power_grid: Option<PowerGridSource>,
        /// The pads: a table, a layout, or `at bumps` for pads drawn under the bumps.
        pads: Option<PadSource>,
        /// The bumps of a flip-mounted die.
        bumps: Option<Bumps>,
        /// Under-bump metallisation, from the pad outward.
        #[serde(default)]
        ubm: Vec<UbmLayer>,
        /// Redistribution layers and their rules.
        rdl: Option<Rdl>,
        /// Room that must stay free of redistribution metal and bumps.
        #[serde(default)]
        keep_outs "keep_out": Vec<KeepOut>,
        /// How pads find their bumps. Left out: by net where every bump of a table has a net, else free.
        assignment: Option<Assignment>,
        /// Nets with wishes of their own; a net that is not listed is a signal with one bump.
        #[serde(default)]
        nets "net": Vec<Net>,
        /// Currents by net: a table with columns net and current.
        currents: Option<TablePath>,
        /// The wires of a wire-bonded die.
        wires: Option<Wires>,
        /// What the die is glued down with, face up on what it stands on.
        attach: Option<Attach>,
        => loaded {
            /// The pads as read, die frame.
            pad_list: Vec<Pad>,
            /// The bump sites as read from the bump table, die frame; empty where there is none.
            bump_list: Vec<crate::bumps::BumpSite>,
            /// The power blocks as read, die frame.
            power_blocks: Vec<PowerBlock>,
            /// The power grid as read, die frame.
            power_cells: Option<PowerGrid>,
            /// Currents by net as read from their table, A, with the row of each.
            current_list: Vec<crate::pads::NetCurrent>,
        }
    }
}

words! {
    /// How a die is mounted.
    pub enum Mount: "a way to mount a die" {
        /// Face down, on bumps.
        Flip = "flip",
        /// Face up, with bond wires.
        Wire = "wire",
    }
}

record! {
    /// Strength of a die by the two-parameter distribution of W. Weibull: flaws of the ground back, and flaws that sawing
    /// left along its edges.
    pub struct DieStrength: "the table [die.strength]" {
        /// The back, from biaxial bending (ball or ring on ring). Left out: a fine-ground back, from memory.
        back: Option<BackStrength>,
        /// The edges of the back, from bending over the whole width. Left out: no flaws there.
        edge: Option<EdgeStrength>,
    }
}

record! {
    /// Strength of the back.
    pub struct BackStrength: "the table [die.strength.back]" {
        /// Stress by which 63.2 % of pieces break that have `area` under that stress.
        characteristic: Strength,
        /// Weibull shape, above zero.
        shape: f64,
        /// Area under the stress, all of it under one even stress.
        area: Area,
        /// Where the numbers come from.
        source: Option<String>,
    }
}

record! {
    /// Strength of the edges of the back.
    pub struct EdgeStrength: "the table [die.strength.edge]" {
        /// Stress by which 63.2 % of pieces break that have `length` of sawn edge under that stress.
        characteristic: Strength,
        /// Weibull shape, above zero.
        shape: f64,
        /// Length of edge under the stress, all of it under one even stress.
        length: Length,
        /// Where the numbers come from.
        source: Option<String>,
    }
}

record! {
    /// Bond wires.
    pub struct Wires: "the table [die.wires]" {
        /// Wire material.
        material: MaterialName,
        /// Wire diameter.
        diameter: Length,
        /// Height of the loop above the die's face.
        loop_height: Length,
        /// Mean length of a wire.
        length: Option<Length>,
    }
}

record! {
    /// Glue or film under a die that is mounted face up.
    pub struct Attach: "the table [die.attach]" {
        /// Material.
        material: MaterialName,
        /// Thickness of the bond line.
        thickness: Length,
    }
}

impl Die {
    /// How it is mounted, flip where nothing is written.
    pub fn mount(&self) -> Mount {
        self.mount.unwrap_or(Mount::Flip)
    }

    /// What it stands on.
    pub fn on(&self) -> &str {
        self.on.as_ref().map_or("substrate", |n| n.as_str())
    }

    /// Body material, silicon where nothing is written.
    pub fn material(&self) -> &str {
        self.material.as_ref().map_or("silicon", |m| m.as_str())
    }

    /// Distance from the outline to the inner edge of the seal ring, m; 30 um where nothing is written (common
    /// practice, no source).
    pub fn seal_ring_m(&self) -> f64 {
        self.seal_ring.map_or(30e-6, |l| l.si())
    }

    /// Power turned into heat, W: the number written, or the sum over the blocks or the cells.
    pub fn power_w(&self) -> Option<f64> {
        match (&self.power, &self.power_cells, self.power_blocks.is_empty()) {
            (Some(power), ..) => Some(power.si()),
            (None, Some(grid), _) => Some(grid.cells.sum()),
            (None, None, false) => Some(self.power_blocks.iter().map(|b| b.power_w).sum()),
            (None, None, true) => None,
        }
    }
}
