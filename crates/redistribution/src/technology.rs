//! Bump technology and sizes proposed from the pitch, each with the sentence that says on what it rests.
//!
//! Everything here is a proposal that a design may override. Where an open rule table has a number for the pitch, the
//! number is taken from it ([`FanInRules`]); between and beyond, the same ratios are kept.

use facedown_evidence::Basis;
use facedown_quantity::Nm;
use serde::{Deserialize, Serialize};

const SKY130: &str = "open SkyWater SKY130 design-rule tables (Apache-2.0)";

/// A value with the reason for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal<T> {
    /// The value.
    pub value: T,
    /// One sentence that says on what the value rests.
    pub reason: String,
    /// What kind of source that is.
    pub basis: Basis,
}

/// How a die is joined to what it stands on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BumpTechnology {
    /// Solder bump, printed, plated or dropped, mass reflow.
    SolderBump,
    /// Solder bump of less than about 200 um pitch, plated or ball drop, mass reflow.
    MicroSolderBump,
    /// Copper pillar with a solder cap.
    CopperPillar,
    /// Copper micro-bump with a thin cap, thermocompression.
    MicroBump,
    /// Copper to copper without solder.
    HybridBond,
}

impl BumpTechnology {
    /// The words for it.
    pub fn words(self) -> &'static str {
        match self {
            BumpTechnology::SolderBump => "solder bump",
            BumpTechnology::MicroSolderBump => "micro solder bump",
            BumpTechnology::CopperPillar => "copper pillar",
            BumpTechnology::MicroBump => "micro-bump",
            BumpTechnology::HybridBond => "hybrid bond",
        }
    }

    /// The finest pitch at which it is proposed.
    pub fn least_pitch(self) -> Nm {
        Nm::from_um(match self {
            BumpTechnology::SolderBump => 200,
            BumpTechnology::MicroSolderBump => 130,
            BumpTechnology::CopperPillar => 40,
            BumpTechnology::MicroBump => 10,
            BumpTechnology::HybridBond => 0,
        })
    }
}

/// The technology for a pitch.
pub fn propose_technology(pitch: Nm) -> Proposal<BumpTechnology> {
    use BumpTechnology::*;
    let (value, why, basis) = if pitch >= SolderBump.least_pitch() {
        (
            SolderBump,
            "solder bumps are used at about 200 um and above (common practice, no source)",
            Basis::CommonPractice,
        )
    } else if pitch >= MicroSolderBump.least_pitch() {
        (
            MicroSolderBump,
            "solder is hard to support below 130 um (M.-J. Lee, IPC APEX 2014)",
            Basis::Published,
        )
    } else if pitch >= CopperPillar.least_pitch() {
        (CopperPillar, "copper pillars are shown down to 40 um (M.-J. Lee, IPC APEX 2014)", Basis::Published)
    } else if pitch >= MicroBump.least_pitch() {
        (
            MicroBump,
            "below 40 um micro-bumps take over; from 20 to 10 um hybrid bonds compete with them (common practice, no source)",
            Basis::CommonPractice,
        )
    } else {
        (
            HybridBond,
            "below 10 um only hybrid bonds remain (common practice, no source)",
            Basis::CommonPractice,
        )
    };
    Proposal { value, reason: format!("A pitch of {pitch} calls for a {}: {why}.", value.words()), basis }
}

/// Sizes of one bump and its metal.
#[derive(Debug, Clone, PartialEq)]
pub struct BumpSizes {
    /// UBM diameter.
    pub ubm: Proposal<Nm>,
    /// Diameter of the RDL capture pad.
    pub capture: Proposal<Nm>,
    /// Diameter of the last dielectric's opening under the UBM.
    pub opening: Proposal<Nm>,
    /// Largest diameter of the bump after reflow, or of the pillar.
    pub bump: Proposal<Nm>,
    /// Least distance of a bump centre from the outer edge of the seal ring.
    pub edge: Proposal<Nm>,
}

/// Sizes for a pitch. `ubm`, where given, overrides the UBM diameter and all that follows from it.
pub fn propose_sizes(pitch: Nm, ubm: Option<Nm>) -> BumpSizes {
    let technology = propose_technology(pitch).value;
    let pillar = technology >= BumpTechnology::CopperPillar;
    let tabled = !pillar && (Nm::from_um(400)..=Nm::from_um(500)).contains(&pitch);
    let basis = if tabled { Basis::Published } else { Basis::CommonPractice };
    let beyond = if tabled { "" } else { ", kept at this pitch by common practice" };
    let ubm = match ubm {
        Some(value) => Proposal {
            value,
            reason: format!("The design sets a UBM of {value}."),
            basis: Basis::CommonPractice,
        },
        None if pillar => {
            let value = rounded(pitch.nm() * 0.55);
            let reason = format!(
                "A UBM of {value} is 0.55 of the pitch; pillars take 0.5 to 0.6 (common practice, no source)."
            );
            Proposal { value, reason, basis }
        }
        None => {
            let share = between(pitch, 215.0 / 400.0, 250.0 / 500.0);
            let value = rounded(pitch.nm() * share);
            let reason = format!(
                "A UBM of {value} is {:.3} of the pitch, from 215 um at 400 um and 250 um at 500 um ({SKY130}){beyond}.",
                value.nm() / pitch.nm().max(1.0)
            );
            Proposal { value, reason, basis }
        }
    };
    // Enclosures hold in the tables at 400 um and above; finer arrays shrink them with the pitch, as their lithography does.
    let shrink = (pitch.nm() / 400e3).min(1.0);
    let enclosed = |full_um: f64| Nm(((full_um * 1e3 * shrink) / 100.0).round() as i64 * 100);
    let (metal, polymer) = (enclosed(10.0), enclosed(15.0));
    let scaled = if shrink < 1.0 { ", scaled with the pitch below 400 um by common practice" } else { "" };
    let enclosure_basis = if shrink < 1.0 { Basis::CommonPractice } else { Basis::Published };
    let capture = ubm.value + metal * 2;
    let opening = Nm((ubm.value - polymer * 2).0.max(0));
    let bump = if pillar {
        Proposal {
            value: ubm.value,
            reason: format!(
                "A pillar has the diameter of its UBM, {} (common practice, no source).",
                ubm.value
            ),
            basis: Basis::CommonPractice,
        }
    } else {
        // The tables' ball is in proportion to their UBM: 261 on 215, 310 on 250.
        let value = rounded(ubm.value.nm() * between(pitch, 261.0 / 215.0, 310.0 / 250.0));
        let reason = format!(
            "A bump of {value} on a UBM of {} has the proportion of 261 on 215 um and 310 on 250 um ({SKY130}){beyond}.",
            ubm.value
        );
        Proposal { value, reason, basis }
    };
    let edge = rounded(pitch.nm() * between(pitch, 155.0 / 400.0, 195.0 / 500.0));
    BumpSizes {
        capture: Proposal {
            value: capture,
            reason: format!(
                "The capture pad of {capture} encloses the UBM by {metal}, after 10 um in the {SKY130}{scaled}."
            ),
            basis: enclosure_basis,
        },
        opening: Proposal {
            value: opening,
            reason: format!(
                "The opening of {opening} is enclosed by the UBM by {polymer}, after 15 um in the {SKY130}{scaled}."
            ),
            basis: enclosure_basis,
        },
        edge: Proposal {
            value: edge,
            reason: format!(
                "Bump centres keep {edge} from the seal ring, after 155 um at 400 um and 195 um at 500 um ({SKY130}){beyond}."
            ),
            basis,
        },
        ubm,
        bump,
    }
}

/// A ratio that is `at_400` up to 400 um pitch, `at_500` from 500 um, and linear between.
fn between(pitch: Nm, at_400: f64, at_500: f64) -> f64 {
    at_400 + (at_500 - at_400) * ((pitch.nm() - 400e3) / 100e3).clamp(0.0, 1.0)
}

/// To whole micrometres from 50 um up, to tenths below.
fn rounded(nm: f64) -> Nm {
    let step = if nm >= 50e3 { 1000.0 } else { 100.0 };
    Nm((nm / step).round() as i64 * step as i64)
}

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
    /// RDL metal beyond that opening.
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn technology_changes_at_its_stated_pitches() {
        let at = |um: i64| propose_technology(Nm::from_um(um)).value;
        assert_eq!(
            [500, 200, 199, 130, 129, 40, 39, 10, 9].map(at),
            [
                BumpTechnology::SolderBump,
                BumpTechnology::SolderBump,
                BumpTechnology::MicroSolderBump,
                BumpTechnology::MicroSolderBump,
                BumpTechnology::CopperPillar,
                BumpTechnology::CopperPillar,
                BumpTechnology::MicroBump,
                BumpTechnology::MicroBump,
                BumpTechnology::HybridBond,
            ]
        );
    }

    #[test]
    fn proposals_meet_the_tables_at_their_pitches() {
        for rules in [FanInRules::A_400, FanInRules::A_500] {
            let sizes = propose_sizes(rules.pitch, None);
            assert_eq!(sizes.ubm.value, rules.ubm);
            assert_eq!(sizes.capture.value, rules.least_capture(rules.ubm));
            assert_eq!(Some(sizes.opening.value), rules.opening_range(rules.ubm).map(|r| r.1));
            assert_eq!(sizes.bump.value, rules.ball);
            assert_eq!(sizes.edge.value, rules.edge);
            assert_eq!(sizes.ubm.basis, Basis::Published);
        }
    }

    #[test]
    fn sizes_nest_and_leave_room_at_every_pitch() {
        for um in 10..=1500 {
            let pitch = Nm::from_um(um);
            let s = propose_sizes(pitch, None);
            assert!(Nm::ZERO < s.opening.value && s.opening.value < s.ubm.value, "{um}");
            assert!(s.ubm.value < s.capture.value && s.capture.value < pitch, "{um}");
            assert!(s.ubm.value <= s.bump.value && s.bump.value < pitch, "{um}");
            assert!(s.edge.value.nm() >= s.capture.value.nm() / 2.0, "{um}");
            for reason in
                [&s.ubm.reason, &s.capture.reason, &s.opening.reason, &s.bump.reason, &s.edge.reason]
            {
                assert!(reason.ends_with('.'));
            }
        }
    }
}
