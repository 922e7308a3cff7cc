//! Redistribution layers, their dielectrics and rules, and keep-outs.

use crate::read::record::{record, words};
use crate::values::{Fraction, Length, MaterialName};

record! {
    /// Redistribution layers between pads and bumps, and the rules of their metal.
    pub struct Rdl: "the table [die.rdl]" {
        /// Number of metal layers, 1 or 2. Left out: 1.
        layers: Option<u32>,
        /// Width of signal lines.
        line: Length,
        /// Least space between metal of different nets.
        space: Length,
        /// Metal thickness.
        thickness: Option<Length>,
        /// Metal. Left out: copper.
        material: Option<MaterialName>,
        /// Directions of the traces. Left out: any angle.
        style: Option<TraceStyle>,
        /// Least distance of metal from the die outline. Left out: the inner edge of the seal ring plus one space.
        edge_clearance: Option<Length>,
        /// Metal beyond the dielectric opening over a pad on every side; `pad_opening_inset` says how far that opening lies
        /// inside the pad opening. Left out: 5 um.
        landing_enclosure: Option<Length>,
        /// Opening of the dielectric over a pad, inset from the pad opening on every side. Left out: 10 um, less for
        /// openings under 40 um.
        pad_opening_inset: Option<Length>,
        /// Diameter of a via opening between two layers. Left out: twice the line width.
        via: Option<Length>,
        /// Metal beyond a via opening on every side. Left out: half the line width.
        via_enclosure: Option<Length>,
        /// Widest metal without slots, outside landings, capture pads and vias. Left out: any width.
        max_metal_width: Option<Length>,
        /// Side of the square slots in metal wider than that. Left out: the line or the space, whichever is more.
        slot: Option<Length>,
        /// Share of metal asked for in windows of every layer. Left out: not judged.
        metal_share: Option<MetalShare>,
        /// Dielectrics from the die outward: one under each metal layer and one over the last.
        #[serde(default)]
        dielectrics "dielectric": Vec<Dielectric>,
    }
}

record! {
    /// Share of metal in every window of a redistribution layer.
    pub struct MetalShare: "the table [die.rdl.metal_share]" {
        /// Side of the square windows.
        window: Length,
        /// Distance from one window to the next. Left out: half the window.
        step: Option<Length>,
        /// Least share of metal. Left out: 0 %.
        least: Option<Fraction>,
        /// Largest share of metal. Left out: 100 %.
        most: Option<Fraction>,
    }
}

words! {
    /// Directions that traces may run in.
    pub enum TraceStyle: "a style of traces" {
        /// Straight lines in any direction, joined by arcs.
        AnyAngle = "any angle",
        /// Multiples of 45 degrees.
        Octilinear = "octilinear",
    }
}

record! {
    /// One dielectric of the redistribution.
    pub struct Dielectric: "a table [[die.rdl.dielectric]]" {
        /// Material.
        material: MaterialName,
        /// Thickness over flat ground.
        thickness: Length,
    }
}

record! {
    /// Room that must stay free: a rectangle or a polygon in the die frame.
    pub struct KeepOut: "a table [[die.keep_out]]" {
        /// Why, or what lies there.
        name: Option<String>,
        /// Two opposite corners: x, y, x, y.
        rectangle: Option<[Length; 4]>,
        /// Corners in order, each x and y; at least three.
        polygon: Option<Vec<[Length; 2]>>,
        /// RDL layer, 1 nearest the die. Left out: all layers.
        layer: Option<u32>,
        /// Whether bumps may stand in it. Left out: false.
        bumps: Option<bool>,
    }
}

impl Rdl {
    /// Number of metal layers.
    pub fn layers(&self) -> u32 {
        self.layers.unwrap_or(1)
    }

    /// Directions of the traces.
    pub fn style(&self) -> TraceStyle {
        self.style.unwrap_or(TraceStyle::AnyAngle)
    }
}

impl KeepOut {
    /// Its corners in m, die frame; empty where neither form is written.
    pub fn corners_m(&self) -> Vec<(f64, f64)> {
        if let Some(polygon) = &self.polygon {
            return polygon.iter().map(|[x, y]| (x.si(), y.si())).collect();
        }
        match &self.rectangle {
            Some([a, b, c, d]) => {
                let (x0, x1) = (a.si().min(c.si()), a.si().max(c.si()));
                let (y0, y1) = (b.si().min(d.si()), b.si().max(d.si()));
                vec![(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
            }
            None => Vec::new(),
        }
    }
}
