//! The published checks of the joints: what a source or a reference library gives, against what this crate computes.
//!
//! Every row calls the functions that a design runs through. The tests run the same table.

mod arrays;
mod assembly;
mod capillary;

use crate::equilibrium::{Member, NoRest, Rest, rest};
use crate::gap::Levels;
use crate::problem::{Array, GapMap, Kind, Solder, Supply};
use facedown_evidence::Check;
use facedown_evidence::published::{Source, Table};

const STUDY: &str = "joints";

/// All rows. Lengths in um, forces in uN, stiffness in N/m, temperatures in degC; unit cases without a unit.
pub fn checks() -> Vec<Check> {
    let mut table = Table::of(STUDY);
    capillary::rows(&mut table);
    arrays::rows(&mut table);
    assembly::rows(&mut table);
    table.rows()
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
    #[test]
    fn all_rows_pass_and_have_names_of_their_own() {
        let rows = super::checks();
        let faults = facedown_evidence::published::faults(&rows, "joints-");
        assert!(faults.is_empty(), "{faults:#?}");
        assert!(rows.len() >= 12, "{}", rows.len());
    }
}
