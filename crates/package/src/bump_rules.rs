//! Bump technology and sizes from the pitch, by stated rules, each overridden by what the design writes.
//!
//! | size | solder bump | copper pillar | micro bump |
//! |---|---|---|---|
//! | UBM diameter | 0.50 pitch (a) | 0.50 pitch (b) | 0.50 pitch (b) |
//! | capture pad | UBM + 20 um (a) | UBM + 10 um (b) | UBM + 5 um (b) |
//! | opening under the UBM | UBM - 30 um (a) | UBM - 20 um (b) | UBM - 10 um (b) |
//! | bump height | UBM diameter (c) | 0.45 pitch, 20 to 65 um (b) | 0.40 pitch, 8 to 25 um (b) |
//! | bump diameter | (a2 + H2)/H on the UBM radius a (d) | UBM | UBM |
//! | share of the pillar in the height | - | 0.65 (b) | 0.60 (b) |
//!
//! An opening is never made smaller than half its UBM. Bases: (a) open SKY130 process design-rule tables for
//! wafer-level redistribution at 400 and 500 um pitch: UBM 215 and 250, capture pad UBM + 20, opening 15 inside the
//! UBM on every side; (b) common practice, no source; (c) plated lead-free bump tables of bumping houses, height close
//! to the UBM width from 130 to 225 um pitch, from memory; (d) truncated sphere on a circular base: geometry.

use crate::bumps::{BumpTechnology, Bumps};
use crate::values::Length;
use facedown_quantity::Nm;
use serde::Serialize;
use std::collections::BTreeMap;

/// Standard least pitch of solder bumps, m (common practice, no source).
pub const SOLDER_PITCH_M: f64 = 200e-6;
/// Least pitch of solder bumps, m: below it solder is hard to support (M.-J. Lee, IPC APEX 2014).
pub const SOLDER_LIMIT_M: f64 = 130e-6;
/// Least pitch of copper pillars, m (M.-J. Lee, IPC APEX 2014).
pub const PILLAR_LIMIT_M: f64 = 40e-6;
/// Least pitch of micro bumps, m; below it direct copper bonds take over (common practice, no source).
pub const MICRO_LIMIT_M: f64 = 10e-6;
/// Largest usual pitch of micro bumps, m (common practice, no source).
pub const MICRO_USUAL_M: f64 = 60e-6;
/// Largest direct current density in the opening under a bump, A/m2: 5000 A/cm2 near 100 degC (common practice,
/// no source).
pub const CURRENT_DENSITY: f64 = 5e7;

/// All sizes of one bump.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BumpSizes {
    /// Technology, never `auto`.
    pub technology: BumpTechnology,
    /// Centre-to-centre distance along a row.
    pub pitch: Nm,
    /// UBM diameter.
    pub ubm: Nm,
    /// Diameter of the RDL pad under the bump.
    pub capture: Nm,
    /// Diameter of the opening in the last dielectric.
    pub opening: Nm,
    /// Largest diameter of the bump.
    pub bump: Nm,
    /// Height of the reflowed bump above the UBM.
    pub height: Nm,
    /// Height of the pillar below its cap; zero for solder bumps.
    pub pillar: Nm,
    /// Largest direct current through one bump, A.
    pub max_current_a: f64,
}

/// The technology that the pitch asks for: solder bumps at 200 um and above, copper pillars down to 40 um, micro
/// bumps below (common practice, no source).
pub fn technology_for(pitch_m: f64) -> BumpTechnology {
    // A pitch of exactly 200 um must not fall to the other side by rounding.
    if pitch_m >= SOLDER_PITCH_M * (1.0 - 1e-9) {
        BumpTechnology::SolderBump
    } else if pitch_m >= PILLAR_LIMIT_M * (1.0 - 1e-9) {
        BumpTechnology::CopperPillar
    } else {
        BumpTechnology::MicroBump
    }
}

impl Bumps {
    /// The technology: as written, or by pitch.
    pub fn technology(&self) -> BumpTechnology {
        match self.technology {
            None | Some(BumpTechnology::Auto) => technology_for(self.pitch.si()),
            Some(technology) => technology,
        }
    }

    /// All sizes, written or by rule. See the table of this module.
    pub fn sizes(&self) -> BumpSizes {
        let technology = self.technology();
        let pitch = nm(&self.pitch);
        let or = |written: &Option<Length>, rule: Nm| written.as_ref().map_or(rule, nm);
        let ubm = or(&self.ubm_diameter, Nm(pitch.0 / 2));
        let (more, inset, share, low, high, pillar_share) = match technology {
            BumpTechnology::SolderBump | BumpTechnology::Auto => (20, 30, 0.0, 0, i64::MAX / 2000, 0.0),
            BumpTechnology::CopperPillar => (10, 20, 0.45, 20, 65, 0.65),
            BumpTechnology::MicroBump => (5, 10, 0.40, 8, 25, 0.60),
        };
        let capture = or(&self.capture_diameter, ubm + Nm::from_um(more));
        let opening = or(&self.opening_diameter, (ubm - Nm::from_um(inset)).max(Nm(ubm.0 / 2)));
        let rule = match technology {
            BumpTechnology::SolderBump | BumpTechnology::Auto => ubm,
            _ => Nm((pitch.nm() * share) as i64).clamp(Nm::from_um(low), Nm::from_um(high)),
        };
        let height = or(&self.height, rule);
        let pillar = or(&self.pillar_height, Nm((height.nm() * pillar_share).round() as i64));
        let bump = or(&self.bump_diameter, if pillar_share > 0.0 { ubm } else { sphere(ubm, height) });
        let radius = opening.m() / 2.0;
        let rule_a = CURRENT_DENSITY * std::f64::consts::PI * radius * radius;
        let max_current_a = self.max_current.map_or(rule_a, |c| c.si());
        BumpSizes { technology, pitch, ubm, capture, opening, bump, height, pillar, max_current_a }
    }

    /// The solder: as written; else SAC305 for solder bumps and tin-silver caps for pillars and micro bumps (common
    /// practice, no source).
    pub fn solder(&self) -> &str {
        match (&self.solder, self.technology()) {
            (Some(solder), _) => solder.as_str(),
            (None, BumpTechnology::SolderBump | BumpTechnology::Auto) => "sac305",
            (None, _) => "snag_cap",
        }
    }

    /// Distance between rows: as written, or the pitch; for the staggered pattern pitch x sqrt(3)/2, so that every
    /// neighbour is one pitch away.
    pub fn row_pitch(&self) -> Nm {
        let staggered = self.pattern == Some(crate::bumps::BumpPattern::Staggered);
        let rule = if staggered { self.pitch.si() * 3.0_f64.sqrt() / 2.0 } else { self.pitch.si() };
        self.row_pitch.as_ref().map_or_else(|| Nm::round_m(rule), nm)
    }

    /// Centre-to-centre distance of the nearest neighbours of the array, nm: the lesser of pitch and row pitch p and r;
    /// for the staggered pattern the lesser of p and `sqrt(p^2/4 + r^2)` (plane geometry).
    pub fn neighbour_distance_nm(&self) -> f64 {
        let (pitch, row) = (nm(&self.pitch).nm(), self.row_pitch().nm());
        let staggered = self.pattern == Some(crate::bumps::BumpPattern::Staggered);
        pitch.min(if staggered { (pitch / 2.0).hypot(row) } else { row })
    }
}

impl crate::die::Die {
    /// Bumps that a net needs: as written; otherwise its current over the largest current of one bump, at least
    /// one. For many nets ask [`Self::bumps_by_net`] once.
    pub fn bumps_needed(&self, net: &str) -> u32 {
        let written = self.nets.iter().find(|n| n.name.as_str() == net).and_then(|n| n.bumps);
        self.bumps_for(written, self.current_by_net().get(net).copied())
    }

    /// Bumps that every net with a pad, a table or a current of its own needs.
    pub fn bumps_by_net(&self) -> BTreeMap<&str, u32> {
        let currents = self.current_by_net();
        let written: BTreeMap<&str, u32> =
            self.nets.iter().filter_map(|n| Some((n.name.as_str(), n.bumps?))).collect();
        let pads = self.pad_list.iter().map(|p| p.net.as_str()).filter(|n| !n.is_empty());
        let names = pads.chain(self.nets.iter().map(|n| n.name.as_str())).chain(currents.keys().copied());
        names.map(|n| (n, self.bumps_for(written.get(n).copied(), currents.get(n).copied()))).collect()
    }

    fn bumps_for(&self, written: Option<u32>, current: Option<f64>) -> u32 {
        if let Some(count) = written {
            return count.max(1);
        }
        let (Some(current), Some(bumps)) = (current, &self.bumps) else { return 1 };
        let most = bumps.sizes().max_current_a;
        // Rounding must not ask for one bump more than an exact fit.
        if most > 0.0 && current > 0.0 {
            (current / most * (1.0 - 1e-9)).ceil().clamp(1.0, 1e6) as u32
        } else {
            1
        }
    }

    /// Direct current by net, A: from the net's own table, else the table of currents, else the sum over its pads.
    pub fn current_by_net(&self) -> BTreeMap<&str, f64> {
        let mut currents = BTreeMap::new();
        for pad in &self.pad_list {
            if let Some(current) = pad.current_a {
                *currents.entry(pad.net.as_str()).or_insert(0.0) += current;
            }
        }
        currents.extend(self.current_list.iter().map(|c| (c.net.as_str(), c.current_a)));
        currents.extend(self.nets.iter().filter_map(|n| Some((n.name.as_str(), n.current?.si()))));
        currents.values_mut().for_each(|c| *c = c.abs());
        currents
    }
}

/// Largest diameter of a truncated sphere of that height on a circular base.
fn sphere(base: Nm, height: Nm) -> Nm {
    let (a, h) = (base.nm() / 2.0, height.nm());
    if h >= a && h > 0.0 { Nm(((a * a + h * h) / h).round() as i64) } else { base }
}

/// A length of the design in whole nanometres; lengths beyond any layout are told by the checks.
pub(crate) fn nm(length: &Length) -> Nm {
    length.value().to_nm().unwrap_or(Nm(1_000_000_000_000_000))
}

#[cfg(test)]
mod tests {
    use super::technology_for;
    use crate::bumps::{BumpTechnology, Bumps};
    use crate::published::part;
    use facedown_quantity::Nm;

    #[test]
    fn technology_changes_at_its_stated_pitches() {
        let at = |um: u32| technology_for(f64::from(um) * 1e-6);
        assert_eq!(
            [500, 200, 199, 40, 39, 10].map(at),
            [
                BumpTechnology::SolderBump,
                BumpTechnology::SolderBump,
                BumpTechnology::CopperPillar,
                BumpTechnology::CopperPillar,
                BumpTechnology::MicroBump,
                BumpTechnology::MicroBump,
            ]
        );
    }

    #[test]
    fn sizes_nest_and_leave_room_at_every_pitch() {
        // At 10 um the capture pads by rule touch, which the checks tell.
        for um in 11..=1500 {
            let bumps: Bumps = part(&format!("pitch = \"{um} um\"")).expect("a pitch is enough");
            let s = bumps.sizes();
            assert!(Nm::ZERO < s.opening && s.opening < s.ubm, "{um}");
            assert!(s.ubm < s.capture && s.capture < s.pitch, "{um}");
            assert!(s.ubm <= s.bump && s.bump < s.pitch, "{um}");
            assert!(s.pillar < s.height, "{um}");
            assert!(bumps.edge_distance(Nm::ZERO).0 >= s.capture.0 / 2, "{um}");
        }
    }
}
