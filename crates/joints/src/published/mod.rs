//! The published checks of the joints: what a source or a reference library gives, against what this crate computes.
//!
//! Every row calls the functions that a design runs through. The tests run the same table.

mod arrays;
mod assembly;
mod capillary;

use crate::equilibrium::{Member, NoRest, Rest, rest};
use crate::gap::Levels;
use crate::problem::{Array, GapMap, Kind, Solder, Supply};
use facedown_evidence::{Basis, Check};

const STUDY: &str = "joints";

/// A source with its kind.
#[derive(Clone, Copy)]
struct Source(&'static str, Basis);

/// Collects rows.
struct Table(Vec<Check>);

impl Table {
    fn within(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::absolute(id, STUDY, source.0, source.1, expected, computed, tolerance));
    }

    fn relative(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::relative(id, STUDY, source.0, source.1, expected, computed, tolerance));
    }
}

/// All rows. Lengths in um, forces in uN, stiffness in N/m, temperatures in degC; unit cases without a unit.
pub fn checks() -> Vec<Check> {
    let mut table = Table(Vec::new());
    capillary::rows(&mut table);
    arrays::rows(&mut table);
    assembly::rows(&mut table);
    table.0
}

/// Surface tension of the rows that need one, N/m.
const TENSION: f64 = 0.55;
/// A bump 80 um tall on a pad of 80 um, m3.
const BUMP: f64 = 469_144.503e-18;

/// Joints of the given radii, volumes and numbers under a load in N, without the solder's own weight.
fn array(kinds: &[(f64, f64, f64, u32)], load: f64) -> Array {
    Array {
        solder: Solder {
            name: "solder".into(),
            surface_tension: TENSION,
            surface_tension_range: None,
            density_liquid: 0.0,
            solidus: 490.0,
            liquidus: 493.0,
            leaded: false,
        },
        joints: kinds
            .iter()
            .map(|&(lower, upper, volume, count)| Kind {
                name: "joint".into(),
                count,
                upper_diameter: 2.0 * upper,
                lower_diameter: 2.0 * lower,
                upper_solder: vec![Supply::Volume(volume)],
                lower_solder: vec![],
                upper_metal: 0.0,
                lower_metal: 0.0,
            })
            .collect(),
        pitch: 1e-3,
        carried_mass: 0.0,
        extra_force: load,
        gap_map: GapMap::Flat,
        misplacement: 0.0,
        height_shortfall: 0.0,
        metallisation: vec![],
        lower_metallisation: vec![],
        consumed_per_reflow: None,
    }
}

fn at_rest(array: &Array) -> Result<(Rest, Vec<Member>), NoRest> {
    let members: Vec<Member> = array.joints.iter().map(Member::new).collect();
    let rest = rest(array, &members, &Levels::new(&array.gap_map), TENSION)?;
    Ok((rest, members))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_row_passes_and_has_its_own_name() {
        let rows = checks();
        let failed: Vec<String> = rows
            .iter()
            .filter(|row| !row.pass())
            .map(|row| format!("{} expected {} computed {}", row.id, row.expected, row.computed))
            .collect();
        assert!(failed.is_empty(), "{failed:#?}");
        let ids: BTreeSet<&str> = rows.iter().map(|row| row.id.as_str()).collect();
        assert_eq!(ids.len(), rows.len());
        assert!(rows.len() >= 12 && rows.iter().all(|row| row.id.starts_with("joints-")));
    }
}
