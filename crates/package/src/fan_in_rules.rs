//! Published tables of fan-in redistribution rules, against which sizes and dies are held.
//!
//! Source: open SkyWater SKY130 design-rule tables (Apache-2.0), two tables of wafer-level redistribution, here called
//! A and B. The rules by which open sizes of a design follow from the pitch are in [`crate::bump_rules`].

use facedown_quantity::Nm;

/// One published table of fan-in redistribution rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FanInRules {
    /// Name of the table here.
    pub name: &'static str,
    /// Bump pitch that the table is for.
    pub pitch: Nm,
    /// Least width of an opening of the dielectric over a bond pad.
    pub pad_opening: Nm,
    /// Bond-pad metal beyond that opening.
    pub pad_enclosure: Nm,
    /// RDL metal beyond that opening, the `landing_enclosure` of a design.
    pub landing_enclosure: Nm,
    /// Least RDL line.
    pub line: Nm,
    /// Least RDL space.
    pub space: Nm,
    /// Least width of the last dielectric's opening.
    pub bump_opening: Nm,
    /// UBM beyond that opening.
    pub opening_enclosure: Nm,
    /// Least UBM width.
    pub ubm: Nm,
    /// RDL metal beyond the UBM.
    pub capture_enclosure: Nm,
    /// Least ball width after reflow.
    pub ball: Nm,
    /// Least distance from a UBM centre to the outer edge of the seal ring.
    pub edge: Nm,
    /// Smallest die (shorter and longer side) and largest side; absent where the table has no limit.
    pub die: Option<(Nm, Nm, Nm)>,
}

impl FanInRules {
    /// Table A, 400 um pitch.
    pub const A_400: FanInRules = FanInRules {
        name: "A, 400 um",
        pitch: Nm::from_um(400),
        pad_opening: Nm::from_um(35),
        pad_enclosure: Nm(7_500),
        landing_enclosure: Nm::from_um(10),
        line: Nm::from_um(10),
        space: Nm::from_um(10),
        bump_opening: Nm::from_um(170),
        opening_enclosure: Nm::from_um(15),
        ubm: Nm::from_um(215),
        capture_enclosure: Nm::from_um(10),
        ball: Nm::from_um(261),
        edge: Nm::from_um(155),
        die: Some((Nm::from_um(750), Nm::from_um(1000), Nm::from_um(6800))),
    };
    /// Table A, 500 um pitch.
    pub const A_500: FanInRules = FanInRules {
        name: "A, 500 um",
        pitch: Nm::from_um(500),
        bump_opening: Nm::from_um(220),
        ubm: Nm::from_um(250),
        ball: Nm::from_um(310),
        edge: Nm::from_um(195),
        die: Some((Nm::from_um(1000), Nm::from_um(1000), Nm::from_um(6800))),
        ..FanInRules::A_400
    };
    /// Table B, 400 um pitch. Its capture pad is given as a diameter, 235 um, which is 10 um beyond the UBM.
    pub const B_400: FanInRules = FanInRules {
        name: "B, 400 um",
        bump_opening: Nm::from_um(155),
        ball: Nm::from_um(264),
        edge: Nm::from_um(250),
        die: None,
        ..FanInRules::A_400
    };

    /// Least capture-pad diameter for a UBM.
    pub fn least_capture(&self, ubm: Nm) -> Nm {
        ubm + self.capture_enclosure * 2
    }

    /// Smallest and largest opening of the last dielectric for a UBM; absent when the UBM is too small for any.
    pub fn opening_range(&self, ubm: Nm) -> Option<(Nm, Nm)> {
        let largest = ubm - self.opening_enclosure * 2;
        (largest >= self.bump_opening).then_some((self.bump_opening, largest))
    }

    /// What a bond-pad opening leads to when the dielectric is drawn `inset` inside it.
    pub fn landing(&self, opening: Nm, inset: Nm) -> Landing {
        let dielectric = opening - inset * 2;
        Landing {
            dielectric,
            wide_enough: dielectric >= self.pad_opening,
            least_rdl: dielectric + self.landing_enclosure * 2,
            least_pad: dielectric + self.pad_enclosure * 2,
        }
    }

    /// True when the table allows a die of this size.
    pub fn allows_die(&self, width: Nm, height: Nm) -> bool {
        let (short, long) = (width.min(height), width.max(height));
        self.die.is_none_or(|(least_short, least_long, most)| {
            short >= least_short && long >= least_long && long <= most
        })
    }

    /// True when a UBM centre may stand this far from the outer edge of the seal ring.
    pub fn allows_edge(&self, distance: Nm) -> bool {
        distance >= self.edge
    }
}

/// The metal and the opening over one bond pad (widths of squares).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Landing {
    /// Opening of the dielectric over the pad.
    pub dielectric: Nm,
    /// The opening is not below the table's least.
    pub wide_enough: bool,
    /// Least RDL metal.
    pub least_rdl: Nm,
    /// Least bond-pad metal.
    pub least_pad: Nm,
}
