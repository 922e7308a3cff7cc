//! Where parts lie in the package, seen from above, and how many bumps each die has: what several knots ask of the
//! design in the same way.

use crate::graph::Absent;
use facedown_package::{Design, Die, Mount};
use facedown_redistribution::{Outcome, PlacedBump};

/// Size of a die seen from above in its place, m, and the quarter turns (counter-clockwise) that it is rotated by.
///
/// # Errors
/// [`Absent::Impossible`] for a rotation that is no multiple of a right angle.
pub fn footprint(die: &Die) -> Result<([f64; 2], u32), Absent> {
    let quarters = die.rotation.map_or(0.0, |a| a.si()) / std::f64::consts::FRAC_PI_2;
    if (quarters - quarters.round()).abs() > 1e-6 {
        return Err(Absent::Impossible(format!(
            "Die {} is rotated by {}; the studies of the package know multiples of 90 deg.",
            die.name,
            die.rotation.map_or_else(String::new, |a| a.to_string()),
        )));
    }
    let turns = quarters.round().rem_euclid(4.0) as u32;
    let (w, h) = (die.width.si(), die.height.si());
    Ok((if turns.is_multiple_of(2) { [w, h] } else { [h, w] }, turns))
}

/// Lower-left corner and size of a rectangle of the die frame (lower-left corner and size, m) as seen from above on
/// the placed die, from the lower-left corner of its footprint. A face-down die is seen mirrored in x.
pub fn from_above(die: &Die, turns: u32, [x, y, w, h]: [f64; 4]) -> [f64; 4] {
    let (dw, dh) = (die.width.si(), die.height.si());
    let x = if die.mount() == Mount::Flip { dw - x - w } else { x };
    match turns {
        0 => [x, y, w, h],
        1 => [dh - y - h, x, h, w],
        2 => [dw - x - w, dh - y - h, w, h],
        _ => [y, dw - x - w, h, w],
    }
}

/// Centre of a die on what it stands on, m.
pub fn centre(die: &Die) -> [f64; 2] {
    die.at.map_or([0.0; 2], |at| at.map(|x| x.si()))
}

/// The bumps that are made: where the redistribution chooses sites, those with a net; where pads are drawn for bumps, all.
pub fn standing<'a>(die: &Die, layout: &'a Outcome) -> impl Iterator<Item = &'a PlacedBump> + use<'a> {
    let chosen = die.rdl.is_some();
    layout.bumps.iter().filter(move |b| !chosen || b.net.is_some())
}

/// Bumps of a die: as the redistribution placed them, else as the design's array gives them.
pub fn bump_count(die: &Die, placed: &[(&str, &Outcome)]) -> usize {
    let known = placed.iter().find(|(name, _)| *name == die.name.as_str());
    known.map_or_else(|| die.sites().sites.len(), |(_, outcome)| standing(die, outcome).count())
}

/// The index of the die that a die stands on, where it stands on one.
pub fn host(design: &Design, die: &Die) -> Option<usize> {
    design.die(die.on()).map(|(index, _)| index)
}

/// Centres of a die's bumps, m, with x and y as the placed die lies (its origin and sense are left open): as the
/// redistribution placed them, else as the design's array gives them.
///
/// # Errors
/// As [`footprint`].
pub fn bump_places(die: &Die, placed: &[(&str, &Outcome)]) -> Result<Vec<[f64; 2]>, Absent> {
    let known = placed.iter().find(|(name, _)| *name == die.name.as_str());
    let places: Vec<[f64; 2]> = match known {
        Some((_, layout)) => standing(die, layout).map(|b| [b.at.x.m(), b.at.y.m()]).collect(),
        None => die.sites().sites.iter().map(|s| [s.x.m(), s.y.m()]).collect(),
    };
    let (_, turns) = footprint(die)?;
    if turns.is_multiple_of(2) {
        return Ok(places);
    }
    Ok(places.iter().map(|&[x, y]| [y, x]).collect())
}

/// Places of a die's bumps from the lower-left corner of its footprint, m, seen from above.
pub fn bump_places_above(die: &Die, turns: u32, layouts: &[(&str, &Outcome)]) -> Vec<[f64; 2]> {
    let known = layouts.iter().find(|(name, _)| *name == die.name.as_str());
    let places: Vec<[f64; 2]> = match known {
        Some((_, layout)) => standing(die, layout).map(|b| [b.at.x.m(), b.at.y.m()]).collect(),
        None => die.sites().sites.iter().map(|s| [s.x.m(), s.y.m()]).collect(),
    };
    places
        .into_iter()
        .map(|[x, y]| {
            let [x, y, ..] = from_above(die, turns, [x, y, 0.0, 0.0]);
            [x, y]
        })
        .collect()
}

/// Places of a full array in a rectangle, m, half a pitch from its edges at least.
pub fn lattice(width: f64, height: f64, pitch: f64, row: f64) -> Vec<[f64; 2]> {
    let along = |side: f64, step: f64| (side / step).floor().max(1.0) as usize;
    let (columns, rows) = (along(width, pitch), along(height, row));
    (0..rows).flat_map(|r| (0..columns).map(move |c| [c as f64 * pitch, r as f64 * row])).collect()
}

/// From the first to the last of some places in x and y, m; zero for none.
pub fn extent(places: &[[f64; 2]]) -> [f64; 2] {
    [0, 1].map(|axis| {
        let along = places.iter().map(|p| p[axis]);
        let (low, high) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (v.min(l), v.max(h)));
        (high - low).max(0.0)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use facedown_package::{Memory, demo, read};

    #[test]
    fn a_corner_block_of_a_face_down_die_is_seen_on_the_other_side() {
        let demo = demo("tidewatch").unwrap();
        let files = demo.files.iter().fold(Memory::default(), |files, (name, text)| files.with(name, *text));
        let design = read(&files, "design.toml").design.unwrap();
        let die = &design.dies[0];
        let close = |a: [f64; 4], b: [f64; 4]| a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-12);
        let block = [0.0, 0.0, 1e-3, 2e-3];
        assert!(close(from_above(die, 0, block), [6.2e-3, 0.0, 1e-3, 2e-3]));
        // A quarter turn counter-clockwise takes the lower-right corner to the upper right.
        assert!(close(from_above(die, 1, block), [4.4e-3, 6.2e-3, 2e-3, 1e-3]));
        assert!(close(from_above(die, 2, block), [0.0, 4.4e-3, 1e-3, 2e-3]));
        assert!(close(from_above(die, 3, block), [0.0, 0.0, 2e-3, 1e-3]));
    }
}
