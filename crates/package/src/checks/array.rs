//! Bump arrays: they fit, their words make sense, their bumps keep off the seal ring and off each other.

use super::{Checker, Many, layout};
use crate::bump_rules::nm;
use crate::bump_sites::{row_name, site_block};
use crate::bumps::{BumpPattern, BumpSite, Bumps};
use crate::near::pairs;
use crate::values::Length;
use facedown_diagnostic::Finding;
use facedown_quantity::Nm;

pub fn check(c: &mut Checker) {
    let design = c.design;
    for (i, die) in design.dies.iter().enumerate() {
        let Some(bumps) = &die.bumps else { continue };
        let at = format!("die[{i}].bumps");
        let seal = Nm::round_m(die.seal_ring_m());
        if bumps.table.is_some() {
            table(c, i, &at, bumps, seal);
        } else {
            array(c, &at, bumps, (&die.width, &die.height), seal);
            left_out(c, i, &at);
        }
    }
    if let Some(interposer) = &design.interposer
        && let Some(bumps) = &interposer.bumps
    {
        array(c, "interposer.bumps", bumps, (&interposer.width, &interposer.height), Nm::ZERO);
    }
}

fn array(c: &mut Checker, at: &str, bumps: &Bumps, (width, height): (&Length, &Length), seal: Nm) {
    let key = |name: &str| format!("{at}.{name}");
    let (body_x, body_y) = (nm(width), nm(height));
    let (pitch, row_pitch) = (nm(&bumps.pitch), bumps.row_pitch());
    if pitch <= Nm::ZERO || row_pitch <= Nm::ZERO || body_x <= Nm::ZERO || body_y <= Nm::ZERO {
        return;
    }
    let (fit_x, fit_y) = bumps.matrix_that_fits(body_x, body_y, seal);
    let edge = bumps.edge_distance(seal);
    if fit_x == 0 || fit_y == 0 {
        let finding = Finding::error(
            "array-does-not-fit",
            format!("no bump fits: centres keep {} from the outline of {width} x {height}", layout(edge)),
        )
        .mend("use a smaller edge_distance or smaller bumps");
        c.at(&key("pitch"), finding);
        return;
    }
    if let Some([columns, rows]) = bumps.matrix {
        for (count, fit, step, size, axis) in
            [(columns, fit_x, pitch, body_x, "columns"), (rows, fit_y, row_pitch, body_y, "rows")]
        {
            if count > fit {
                let span = step.0.saturating_mul(i64::from(count) - 1);
                let what = format!(
                    "{count} {axis} at {} span {}, and {} on either side make {}; the die has {}",
                    layout(step),
                    layout(Nm(span)),
                    layout(edge),
                    layout(Nm(span.saturating_add(2 * edge.0))),
                    layout(size)
                );
                let finding = Finding::error("array-does-not-fit", what)
                    .allowed(format!("up to {fit} {axis}"))
                    .mend("use fewer, a smaller pitch, or a smaller edge_distance");
                c.at(&key("matrix"), finding);
            }
        }
    }
    let (columns, rows) = bumps.matrix.map_or((fit_x, fit_y), |[x, y]| (x, y));
    if u64::from(columns) * u64::from(rows) > crate::limits::SITES as u64 {
        let finding = Finding::error("too-many-bumps", format!("the array has {columns} x {rows} sites"))
            .allowed(format!("up to {} bumps a die", crate::limits::SITES))
            .mend("look at the units of pitch, width and height");
        c.at(&key("pitch"), finding);
        return;
    }
    let least = Nm(bumps.sizes().capture.0.max(bumps.sizes().bump.0) / 2) + seal;
    if edge < least {
        let finding = Finding::error(
            "bump-on-seal-ring",
            format!("bump centres {} from the outline stand over the seal ring", layout(edge)),
        )
        .allowed(format!("{} and more: half a bump or capture pad inside the seal ring", layout(least)))
        .mend("use a larger edge_distance");
        c.at(&key("edge_distance"), finding);
    }
    match (bumps.pattern, bumps.rows) {
        (Some(BumpPattern::Perimeter), None) => {
            let finding =
                Finding::error("rows-missing", "a perimeter pattern does not say how many rows it has")
                    .mend("add `rows = 4`");
            c.absent(&key("pattern"), finding);
        }
        (Some(BumpPattern::Perimeter), Some(0)) => {
            c.at(&key("rows"), Finding::error("count-zero", "the perimeter has 0 rows").allowed("1 or more"));
        }
        (Some(BumpPattern::Perimeter), Some(_)) | (_, None) => {}
        (_, Some(_)) => {
            let finding = Finding::warning("rows-not-used", "`rows` is used by the perimeter pattern only")
                .mend("write `pattern = \"perimeter\"`, or remove `rows`");
            c.at(&key("rows"), finding);
        }
    }
    for (j, text) in bumps.depopulate.iter().enumerate() {
        let path = key(&format!("depopulate[{j}]"));
        let last = format!("{}{columns}", row_name(rows.saturating_sub(1)));
        match site_block(text) {
            None => {
                let finding = Finding::error("bad-site", format!("`{text}` is not a site or a block of sites"))
                    .allowed("row letters and column number, `C4`, or two of them, `C4:F7`; the letters I, O, Q, S, X and Z name no row (JEP95)");
                c.at(&path, finding);
            }
            Some(((_, row), (_, column))) if row >= rows || column >= columns => {
                let finding = Finding::error("site-outside", format!("`{text}` lies outside the array"))
                    .allowed(format!("A1 to {last}"));
                c.at(&path, finding);
            }
            Some(_) => {}
        }
    }
    for (j, line) in bumps.net_tile.iter().enumerate() {
        if line.is_empty() || line.iter().any(|n| crate::read::values::name_fault(n).is_some()) {
            let finding = Finding::error("bad-tile", "a row of the net tile has no nets or an empty name")
                .allowed("net names, or * for a signal of its own");
            c.at(&key(&format!("net_tile[{j}]")), finding);
        }
    }
}

/// Sites that meet landings or keep-outs, and arrays that end up empty.
fn left_out(c: &mut Checker, index: usize, at: &str) {
    let sites = &c.resolved[index].sites;
    let (kept, dropped) = (sites.sites.len(), sites.dropped.len());
    if kept == 0 && dropped > 0 {
        let finding =
            Finding::error("array-empty", format!("all {dropped} sites of the array meet pads or keep-outs"))
                .mend("use a larger edge_distance so that the bumps stand inside the pad rows");
        c.at(at, finding);
    } else if dropped > 0 {
        let some: Vec<&str> = sites.dropped.iter().take(6).map(String::as_str).collect();
        let dots = if dropped > some.len() { ", ..." } else { "" };
        let finding = Finding::advice(
            "sites-left-out",
            format!("{dropped} sites meet pads or keep-outs and stay empty: {}{dots}", some.join(", ")),
        )
        .allowed(format!("{kept} sites remain"));
        c.at(at, finding);
    }
}

/// A table of bumps: inside the die, off the seal ring, apart.
fn table(c: &mut Checker, index: usize, at: &str, bumps: &Bumps, seal: Nm) {
    for (written, name) in [
        (bumps.matrix.is_some(), "matrix"),
        (bumps.pattern.is_some(), "pattern"),
        (bumps.rows.is_some(), "rows"),
        (!bumps.depopulate.is_empty(), "depopulate"),
        (!bumps.net_tile.is_empty(), "net_tile"),
    ] {
        if written {
            let finding = Finding::error(
                "table-and-array",
                format!("`{name}` describes an array, and the bumps come from a table"),
            )
            .mend(format!("remove `{name}`, or remove `table`"));
            c.at(&format!("{at}.{name}"), finding);
        }
    }
    let die = &c.design.dies[index];
    let path = format!("{at}.table");
    let (width, height) = (nm(&die.width), nm(&die.height));
    let sizes = bumps.sizes();
    let radius = Nm(sizes.capture.0.max(sizes.bump.0) / 2);
    let mut outside = Many::new();
    let mut on_seal = Many::new();
    for (row, bump) in die.bump_list.iter().enumerate() {
        let room = bump.x.min(bump.y).min(width - bump.x).min(height - bump.y);
        let column = if bump.x.min(width - bump.x) < bump.y.min(height - bump.y) { "x" } else { "y" };
        let place = c.design.places.cell(&path, row, column);
        if room < Nm::ZERO {
            outside.push(c, place, || {
                Finding::error(
                    "bump-outside",
                    format!(
                        "bump `{}` at ({}, {}) lies outside the die",
                        bump.name,
                        layout(bump.x),
                        layout(bump.y)
                    ),
                )
                .allowed(format!(
                    "0 to {} in x and 0 to {} in y, from the lower-left corner of the die",
                    layout(width),
                    layout(height)
                ))
                .mend("check the unit of the columns x and y, and that the origin is the lower-left corner")
            });
        } else if room < radius + seal {
            on_seal.push(c, place, || {
                Finding::error(
                    "bump-on-seal-ring",
                    format!(
                        "the centre of bump `{}` is {} from the outline, over the seal ring",
                        bump.name,
                        layout(room)
                    ),
                )
                .allowed(format!(
                    "{} and more: half a bump or capture pad inside the seal ring",
                    layout(radius + seal)
                ))
            });
        }
    }
    outside.close(c, &path, "bump-outside", "bumps lie outside the die");
    on_seal.close(c, &path, "bump-on-seal-ring", "bumps stand over the seal ring");
    near(c, index, &path, bumps);
}

/// Pairs of table bumps that are nearer than the pitch, or so near that they touch.
fn near(c: &mut Checker, index: usize, path: &str, bumps: &Bumps) {
    let die = &c.design.dies[index];
    let sizes = bumps.sizes();
    let touch = match die.rdl_rules() {
        Some(rules) => (sizes.capture + rules.space).max(sizes.bump),
        None => sizes.bump,
    };
    let list = &die.bump_list;
    let points: Vec<(Nm, Nm)> = list.iter().map(|b| (b.x, b.y)).collect();
    let (mut touching, mut close) = (Many::new(), 0usize);
    let mut nearest: Option<(f64, &BumpSite, &BumpSite)> = None;
    let all = pairs(&points, sizes.pitch.max(touch), |first, second| {
        let (a, b) = (&list[first], &list[second]);
        let gap = (a.x - b.x).nm().hypot((a.y - b.y).nm());
        if gap < touch.nm() - 0.5 {
            if touching.counted() {
                return;
            }
            let place = c.design.places.cell(path, second, "name");
            let other = c.design.places.cell(path, first, "name");
            touching.push(c, place, || {
                let finding = Finding::error(
                    "bumps-overlap",
                    format!(
                        "the bumps `{}` and `{}` stand {} apart",
                        a.name,
                        b.name,
                        layout(Nm(gap.round() as i64))
                    ),
                )
                .allowed(format!("{} and more for their capture pads or bumps", layout(touch)));
                match other {
                    Some(place) => finding.also(place, "the other bump"),
                    None => finding,
                }
            });
        } else if gap < sizes.pitch.nm() - 0.5 {
            close += 1;
            if nearest.is_none_or(|(least, _, _)| gap < least) {
                nearest = Some((gap, a, b));
            }
        }
    });
    if !all {
        let finding = Finding::error(
            "bumps-crowded",
            "so many bumps stand so near each other that they were not all compared",
        )
        .mend("look at the unit of the columns x and y");
        c.at(path, finding);
    }
    touching.close(c, path, "bumps-overlap", "pairs of bumps stand too near");
    if let Some((gap, a, b)) = nearest {
        let finding = Finding::warning(
            "bumps-closer-than-pitch",
            format!(
                "{close} pairs of bumps stand nearer than the pitch of {}, the nearest `{}` and `{}` {} apart",
                layout(sizes.pitch),
                a.name,
                b.name,
                layout(Nm(gap.round() as i64))
            ),
        )
        .mend("write the least pitch of the table as `pitch`: sizes follow from it");
        c.at(path, finding);
    }
}
