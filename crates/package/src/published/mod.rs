//! The published checks of this room: bump sizes by rule, published tables of rules, array counts, ball arrays.

mod tables;

use crate::bumps::Bumps;
use crate::read::node::{FromNode, Node, Reader};
use crate::stack::{Balls, Substrate};
use facedown_evidence::{Basis, Check};
use facedown_quantity::{Length, Nm};
use toml::de::{DeTable, DeValue};

const ROOM: &str = "package";
const RULES: &str =
    "open SKY130 process design-rule tables, wafer-level redistribution, 400 and 500 um pitch";
const SPHERE: &str = "truncated sphere (aa + HH)/H, geometry; bump tables of bumping houses agree within 3 %";

/// The rows of the table of published checks that this room computes.
pub fn published_checks() -> Vec<Check> {
    let mut checks = Vec::new();
    for (id, pitch, ubm, capture, opening) in [("500", 500, 250, 270, 220), ("400", 400, 215, 235, 185)] {
        let text = format!("pitch = \"{pitch} um\"\nubm_diameter = \"{ubm} um\"");
        let sizes = part::<Bumps>(&text).map(|b| b.sizes());
        for (what, expected, size) in
            [("capture", capture, sizes.map(|s| s.capture)), ("opening", opening, sizes.map(|s| s.opening))]
        {
            let id = format!("bump-{what}-{id}");
            checks.push(exact(&id, RULES, Basis::Published, f64::from(expected), um(size)));
        }
    }
    for (ubm, height, expected) in [(80, 80, 100.0), (70, 70, 87.5), (100, 100, 125.0)] {
        let text = format!(
            "technology = \"solder bump\"\npitch = \"300 um\"\nubm_diameter = \"{ubm} um\"\nheight = \"{height} um\""
        );
        let id = format!("bump-diameter-{ubm}-{height}");
        let bump = part::<Bumps>(&text).map(|b| b.sizes().bump);
        checks.push(Check::absolute(&id, ROOM, SPHERE, Basis::Published, expected, um(bump), 1e-3));
    }
    for (width, height, columns, rows) in [(3000, 3000, 7, 7), (4200, 2600, 10, 6)] {
        let matrix = part::<Bumps>("pitch = \"400 um\"\nedge_distance = \"155 um\"")
            .map(|b| b.matrix_that_fits(Nm::from_um(width), Nm::from_um(height), Nm::ZERO));
        let (x, y) = matrix.unwrap_or_default();
        let id = format!("array-{width}-{height}");
        checks.push(exact(
            &format!("{id}-columns"),
            RULES,
            Basis::Published,
            f64::from(columns),
            f64::from(x),
        ));
        checks.push(exact(&format!("{id}-rows"), RULES, Basis::Published, f64::from(rows), f64::from(y)));
    }
    for (id, source, pitch, count, expected) in [
        ("mo-192-bal-2", "JEDEC MO-192-BAL-2, dimension D1", "1.27 mm", 20, 24.13),
        ("ms-034-aaj-2", "JEDEC MS-034-AAJ-2, dimension D1", "1.27 mm", 15, 17.78),
    ] {
        let computed = balls(pitch, count, None).map(|(b, s)| b.footprint(&s).0.m() * 1e3);
        let id = format!("balls-{id}-footprint");
        let computed = computed.unwrap_or(f64::NAN);
        checks.push(Check::absolute(&id, ROOM, source, Basis::Published, expected, computed, 5e-3));
    }
    for (id, source, pitch, count, rows, expected) in [
        ("8x8-two-rows", "ball-count table of a fortified ball grid array data sheet", "1 mm", 8, 2, 48),
        ("20x20-four-rows", "JEDEC MO-192 part of 256 balls, device data sheet", "1.27 mm", 20, 4, 256),
    ] {
        let computed = balls(pitch, count, Some(rows)).map_or(0, |(b, s)| b.sites(&s).len());
        checks.push(exact(
            &format!("balls-{id}"),
            source,
            Basis::Published,
            f64::from(expected),
            computed as f64,
        ));
    }
    tables::rows(&mut checks);
    checks
}

fn exact(id: &str, source: &str, basis: Basis, expected: f64, computed: f64) -> Check {
    Check::absolute(id, ROOM, source, basis, expected, computed, 0.0)
}

fn um(size: Option<Nm>) -> f64 {
    size.map_or(f64::NAN, |s| Length::from(s).um())
}

fn balls(pitch: &str, count: u32, rows: Option<u32>) -> Option<(Balls, Substrate)> {
    let rows = rows.map_or(String::new(), |r| format!("\nrows = {r}"));
    let text = format!(
        "pitch = \"{pitch}\"\ndiameter = \"0.5 mm\"\nmatrix = [{count}, {count}]\nsolder = \"sac305\"{rows}"
    );
    Some((part(&text)?, part("width = \"27 mm\"\nheight = \"27 mm\"")?))
}

/// A part from its own lines of a design file, so that the checks go through the reader.
pub(crate) fn part<T: FromNode>(text: &str) -> Option<T> {
    let files = crate::files::Memory::default();
    let mut reader = Reader::new(&files, "check");
    let tree = DeTable::parse(text).ok()?;
    let node = Node { value: &DeValue::Table(tree.get_ref().clone()), span: tree.span() };
    T::from_node(&node, &mut reader)
}

#[cfg(test)]
mod tests {
    use super::published_checks;
    use std::collections::BTreeSet;

    #[test]
    fn every_published_check_passes_and_has_a_name_of_its_own() {
        let checks = published_checks();
        assert!(checks.len() >= 71);
        for check in &checks {
            assert!(check.pass(), "{}: expected {}, computed {}", check.id, check.expected, check.computed);
        }
        let ids: BTreeSet<&str> = checks.iter().map(|c| c.id.as_str()).collect();
        assert_eq!(ids.len(), checks.len());
    }
}
