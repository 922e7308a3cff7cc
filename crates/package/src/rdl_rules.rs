//! The rules of the redistribution metal, written or by rule.
//!
//! Bases: landing enclosure 5 um and pad opening inset 10 um, common practice, no source (the open SKY130 process
//! tables ask 7.5 and 10 um for polymer openings of at least 35 um); via twice the line width and its enclosure half
//! the line width, common practice, no source; slots as wide as line or space, common practice, no source.

use crate::bump_rules::nm;
use crate::die::Die;
use crate::rdl::TraceStyle;
use crate::values::Length;
use facedown_quantity::Nm;
use serde::Serialize;

/// All rules, none left open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct RdlRules {
    /// Number of metal layers.
    pub layers: u32,
    /// Width of signal lines.
    pub line: Nm,
    /// Least space between metal of different nets.
    pub space: Nm,
    /// Least distance of metal from the die outline.
    pub edge_clearance: Nm,
    /// Metal beyond the dielectric opening over a pad on every side.
    pub landing_enclosure: Nm,
    /// Opening of the dielectric over a pad, inset from the pad opening on every side.
    pub pad_opening_inset: Nm,
    /// Diameter of a via opening between two layers.
    pub via: Nm,
    /// Metal beyond a via opening on every side.
    pub via_enclosure: Nm,
    /// Directions of the traces.
    pub style: TraceStyle,
    /// Widest metal without slots; absent where any width is allowed.
    pub max_metal_width: Option<Nm>,
    /// Side of the square slots in wider metal.
    pub slot: Nm,
}

impl RdlRules {
    /// Least `max_metal_width` that slots of this side can keep to in metal of any outline: with bars of a line between
    /// slots, and a line to edges and pads, a disc without a slot may be up to `2 w + sqrt 2 (2 h + w)` wide (plane geometry;
    /// `w` line, `h` slot), rounded up to 0.1 um.
    pub fn least_metal_width(&self) -> Nm {
        let (w, h) = (self.line.nm(), self.slot.nm());
        let least = 2.0 * w + std::f64::consts::SQRT_2 * (2.0 * h + w) + 10.0;
        Nm((least / 100.0).ceil() as i64 * 100)
    }
}

impl RdlRules {
    /// How far a landing reaches beyond the pad opening on every side; below zero where it ends inside it.
    pub fn landing_beyond_pad(&self) -> Nm {
        self.landing_enclosure - self.pad_opening_inset
    }
}

impl Die {
    /// The rules of this die's redistribution; `None` where the die has none.
    pub fn rdl_rules(&self) -> Option<RdlRules> {
        let rdl = self.rdl.as_ref()?;
        let (line, space) = (nm(&rdl.line), nm(&rdl.space));
        let or = |written: &Option<Length>, rule: Nm| written.as_ref().map_or(rule, nm);
        let least = self.pad_list.iter().map(|p| p.width.min(p.height)).min().unwrap_or(Nm::from_um(60));
        // An inset that would close the opening of a small pad is cut to a quarter of it.
        let inset = Nm::from_um(10).min(Nm(least.0 / 4)).max(Nm::ZERO);
        Some(RdlRules {
            layers: rdl.layers(),
            line,
            space,
            edge_clearance: or(&rdl.edge_clearance, Nm::round_m(self.seal_ring_m()) + space),
            landing_enclosure: or(&rdl.landing_enclosure, Nm::from_um(5)),
            pad_opening_inset: or(&rdl.pad_opening_inset, inset),
            via: or(&rdl.via, line * 2),
            via_enclosure: or(&rdl.via_enclosure, Nm(line.0 / 2)),
            style: rdl.style(),
            max_metal_width: rdl.max_metal_width.as_ref().map(nm),
            slot: or(&rdl.slot, line.max(space)),
        })
    }
}
