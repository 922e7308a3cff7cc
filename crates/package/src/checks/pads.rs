//! Pads: inside the die, apart from each other, large enough to open.

use super::{Checker, Many, layout};
use crate::bump_rules::nm;
use crate::near::pairs;
use crate::pads::PadSource;
use facedown_diagnostic::Finding;
use facedown_quantity::Nm;

/// Least passivation opening that bumping takes (open 180 nm process design manual, bump rules: 40 um).
const LEAST_OPENING: Nm = Nm::from_um(40);

pub fn check(c: &mut Checker) {
    for index in 0..c.design.dies.len() {
        let die = &c.design.dies[index];
        let path = format!("die[{index}].pads");
        // Pads drawn under bumps are made from the array, which has checks of its own.
        if matches!(die.pads, Some(PadSource::AtBumps(_))) {
            if die.bumps.is_none() {
                let finding = Finding::error("no-bumps", "pads at bumps need a table [die.bumps]");
                c.absent(&path, finding);
            }
            continue;
        }
        inside(c, index, &path);
        apart(c, index, &path);
    }
}

fn inside(c: &mut Checker, index: usize, path: &str) {
    let die = &c.design.dies[index];
    let (width, height) = (nm(&die.width), nm(&die.height));
    let seal = Nm::round_m(die.seal_ring_m());
    let (mut outside, mut on_seal, mut small, mut sizes) = (Many::new(), Many::new(), 0, Many::new());
    let bumped = die.bumps.is_some();
    for (row, pad) in die.pad_list.iter().enumerate() {
        if pad.width <= Nm::ZERO || pad.height <= Nm::ZERO {
            let place = c.design.places.cell(path, row, "width");
            sizes.push(c, place, || {
                Finding::error(
                    "not-positive",
                    format!(
                        "the opening of pad `{}` is {} x {}",
                        pad.name,
                        layout(pad.width),
                        layout(pad.height)
                    ),
                )
                .allowed("sizes above zero")
            });
            continue;
        }
        let (low_x, high_x) = (pad.x - Nm(pad.width.0 / 2), pad.x + Nm(pad.width.0 / 2));
        let (low_y, high_y) = (pad.y - Nm(pad.height.0 / 2), pad.y + Nm(pad.height.0 / 2));
        let column = if low_x < Nm::ZERO || high_x > width { "x" } else { "y" };
        let place = c.design.places.cell(path, row, column);
        if low_x < Nm::ZERO || low_y < Nm::ZERO || high_x > width || high_y > height {
            outside.push(c, place, || {
                Finding::error(
                    "pad-outside",
                    format!(
                        "pad `{}` reaches from ({}, {}) to ({}, {})",
                        pad.name,
                        layout(low_x),
                        layout(low_y),
                        layout(high_x),
                        layout(high_y)
                    ),
                )
                .allowed(format!(
                    "0 to {} in x and 0 to {} in y, from the lower-left corner of the die",
                    layout(width),
                    layout(height)
                ))
                .mend("check the unit of the columns x and y, and that the origin is the lower-left corner")
            });
        } else if low_x < seal || low_y < seal || high_x > width - seal || high_y > height - seal {
            on_seal.push(c, place, || {
                let room = low_x.min(low_y).min(width - high_x).min(height - high_y);
                Finding::error(
                    "pad-on-seal-ring",
                    format!(
                        "the opening of pad `{}` is {} from the die outline, in the seal ring",
                        pad.name,
                        layout(room)
                    ),
                )
                .allowed(format!("{} and more, the inner edge of the seal ring", layout(seal)))
                .mend("correct `seal_ring`, or the pad")
            });
        }
        if bumped && (pad.width < LEAST_OPENING || pad.height < LEAST_OPENING) {
            small += 1;
        }
    }
    sizes.close(c, path, "not-positive", "pads have no size");
    outside.close(c, path, "pad-outside", "pads lie outside the die");
    on_seal.close(c, path, "pad-on-seal-ring", "pads lie in the seal ring");
    if small > 0 && die.rdl.is_some() {
        let finding = Finding::advice(
            "pad-small",
            format!("{small} openings are smaller than {}", layout(LEAST_OPENING)),
        )
        .allowed("40 um and more (bump rules of an open 180 nm process design manual)");
        c.at(path, finding);
    }
}

fn apart(c: &mut Checker, index: usize, path: &str) {
    let die = &c.design.dies[index];
    let rules = die.rdl_rules();
    // Landings that end inside their openings may take less than openings that touch.
    let keep = rules.map_or(Nm::ZERO, |r| r.landing_beyond_pad() * 2 + r.space).max(Nm::ZERO);
    let landing = rules.map_or_else(String::new, |r| landing(r.landing_beyond_pad()));
    let widest = die.pad_list.iter().map(|p| p.width.max(p.height)).max().unwrap_or(Nm::ZERO);
    let points: Vec<(Nm, Nm)> = die.pad_list.iter().map(|p| (p.x, p.y)).collect();
    let (mut overlap, mut near) = (Many::new(), Many::new());
    let all = pairs(&points, widest + keep, |first, second| {
        let (a, b) = (&die.pad_list[first], &die.pad_list[second]);
        let dx = (a.x - b.x).abs() - Nm((a.width.0 + b.width.0) / 2);
        let dy = (a.y - b.y).abs() - Nm((a.height.0 + b.height.0) / 2);
        let overlaps = dx < Nm::ZERO && dy < Nm::ZERO;
        let is_near = a.net != b.net && dx < keep && dy < keep && corner(dx, dy) < keep.nm();
        if !overlaps && !is_near || if overlaps { overlap.counted() } else { near.counted() } {
            return;
        }
        let place = c.design.places.cell(path, second, "name");
        let other = c.design.places.cell(path, first, "name");
        let names = format!("`{}` and `{}`", a.name, b.name);
        let also = |finding: Finding| match other.clone() {
            Some(place) => finding.also(place, "the other pad"),
            None => finding,
        };
        if overlaps {
            overlap.push(c, place, || {
                let by = layout(-dx.max(dy));
                also(Finding::error(
                    "pads-overlap",
                    format!("the openings of the pads {names} overlap by {by}"),
                ))
                .allowed("openings apart from each other")
                .mend("correct x, y, width or height of one of them")
            });
        } else {
            near.push(c, place, || {
                let gap = layout(Nm(corner(dx, dy).round() as i64));
                also(Finding::error("pads-near", format!("the openings of the pads {names} are {gap} apart")))
                    .allowed(format!("{} and more: one space between two landings, {landing}", layout(keep)))
                    .mend("use a smaller landing_enclosure or space")
            });
        }
    });
    if !all {
        let finding = Finding::error(
            "pads-crowded",
            "so many pads lie so near each other that they were not all compared",
        )
        .mend("look at the unit of the columns width and height");
        c.at(path, finding);
    }
    overlap.close(c, path, "pads-overlap", "pairs of pads overlap");
    near.close(c, path, "pads-near", "pairs of pads are too near for their landings");
}

/// Where landings end, as the end of a sentence.
fn landing(beyond: Nm) -> String {
    match beyond.0 {
        0 => "which end with the pad openings".into(),
        1.. => format!("which end {} beyond the pad openings", layout(beyond)),
        _ => format!("which end {} inside the pad openings", layout(-beyond)),
    }
}

/// Distance of two rectangles with these gaps along x and y, nm.
fn corner(dx: Nm, dy: Nm) -> f64 {
    dx.nm().max(0.0).hypot(dy.nm().max(0.0))
}
