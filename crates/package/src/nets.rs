//! Nets and how they find their bumps.

use crate::bump_rules::nm;
use crate::rdl_rules::RdlRules;
use crate::read::record::{record, words};
use crate::values::{Current, Length, Name};
use facedown_quantity::Nm;

record! {
    /// How pads find their bumps.
    pub struct Assignment: "the table [die.assignment]" {
        /// Free, by side, by net, or mixed. Left out: by net where every bump of a table has a net, else free.
        mode: Option<AssignmentMode>,
    }
}

words! {
    /// How pads find their bumps.
    pub enum AssignmentMode: "a way to assign bumps" {
        /// Any pad to any site; the cheapest assignment is exact.
        Free = "free",
        /// Nets only to sites on their own side of the die.
        BySide = "by side",
        /// Each bump's net is given in the bump table; every net needs one.
        ByNet = "by net",
        /// Bumps with a net in the bump table keep it, the rest is free.
        Mixed = "mixed",
    }
}

words! {
    /// What a net is for.
    pub enum NetClass: "a class of nets" {
        /// Signal.
        Signal = "signal",
        /// Supply.
        Supply = "supply",
        /// Ground.
        Ground = "ground",
    }
}

record! {
    /// A net with wishes of its own.
    pub struct Net: "a table [[die.net]]" {
        /// Its name, as the pads give it.
        name: Name,
        /// Signal, supply or ground. Left out: signal.
        class: Option<NetClass>,
        /// Direct current of the whole net.
        current: Option<Current>,
        /// Width of its traces on the RDL. Left out: the line width, or wider where the current asks for it.
        width: Option<Length>,
        /// Number of bumps. Left out: what the current needs, at least one.
        bumps: Option<u32>,
        /// Whether the RDL joins all its pads and bumps into one piece. Left out: true. Where false, the pieces are
        /// joined on the die or in the substrate, and each piece has at least one pad and one bump.
        joined: Option<bool>,
        /// Whether its metal grows into the free room as a plane after routing. Left out: false.
        grow: Option<bool>,
        /// What it grows to, with `grow = true`. Left out: solid.
        plane: Option<PlaneKind>,
        /// RDL layer that it grows on, 1 nearest the die. Left out: every layer where the net has metal.
        plane_layer: Option<u32>,
        /// Width of the bars of a mesh. Left out: twice the line width of the RDL.
        mesh_line: Option<Length>,
        /// Side of the square openings of a mesh. Left out: the width of the bars, or the space of the RDL where that is
        /// more.
        mesh_opening: Option<Length>,
    }
}

words! {
    /// Metal in the free room of a layer.
    pub enum PlaneKind: "a kind of plane" {
        /// All of the free room.
        Solid = "solid",
        /// Bars with square openings between them.
        Mesh = "mesh",
    }
}

impl crate::die::Die {
    /// How pads find their bumps: as written; else by net where every bump of a table has a net, else free.
    pub fn assignment_mode(&self) -> AssignmentMode {
        let all_given = !self.bump_list.is_empty() && self.bump_list.iter().all(|b| b.net.is_some());
        let rule = if all_given { AssignmentMode::ByNet } else { AssignmentMode::Free };
        self.assignment.as_ref().and_then(|a| a.mode).unwrap_or(rule)
    }
}

impl Net {
    /// What it is for.
    pub fn class(&self) -> NetClass {
        self.class.unwrap_or(NetClass::Signal)
    }

    /// What it grows to.
    pub fn plane(&self) -> PlaneKind {
        self.plane.unwrap_or(PlaneKind::Solid)
    }

    /// Bars and openings of its mesh: as written; else bars of twice the line, openings as wide as the bars and
    /// not below the space (75 % metal; common practice, no source).
    pub fn mesh_sizes(&self, rules: &RdlRules) -> (Nm, Nm) {
        let line = self.mesh_line.as_ref().map_or(rules.line * 2, nm);
        (line, self.mesh_opening.as_ref().map_or(line.max(rules.space), nm))
    }

    /// True for supply and ground nets.
    pub fn is_supply(&self) -> bool {
        self.class() != NetClass::Signal
    }
}
