//! Redistribution rules against pads, bumps and each other; keep-outs.

use super::{Checker, Many, layout};
use crate::bump_rules::nm;
use crate::rdl::KeepOut;
use crate::rdl_rules::RdlRules;
use facedown_diagnostic::Finding;
use facedown_quantity::Nm;

pub fn check(c: &mut Checker) {
    for i in 0..c.design.dies.len() {
        if let Some(rules) = c.design.dies[i].rdl_rules() {
            layers(c, i, rules);
            gaps(c, i, rules);
            landings(c, i, rules);
        }
        for j in 0..c.design.dies[i].keep_outs.len() {
            keep_out(c, i, j);
        }
    }
}

fn layers(c: &mut Checker, i: usize, rules: RdlRules) {
    let at = format!("die[{i}].rdl");
    if !(1..=2).contains(&rules.layers) {
        let finding =
            Finding::error("layer-count", format!("{} redistribution layers are asked for", rules.layers))
                .allowed("1 or 2");
        c.at(&format!("{at}.layers"), finding);
        return;
    }
    let dielectrics = c.design.dies[i].rdl.as_ref().map_or(0, |r| r.dielectrics.len());
    let wanted = rules.layers as usize + 1;
    if dielectrics > 0 && dielectrics != wanted {
        let finding = Finding::error(
            "dielectric-count",
            format!("{dielectrics} dielectrics stand beside {} metal layers", rules.layers),
        )
        .allowed(format!("{wanted}: one under each metal layer and one over the last"))
        .mend("add or remove a [[die.rdl.dielectric]] table");
        c.at(&format!("{at}.dielectric"), finding);
    }
    let rdl = c.design.dies[i].rdl.as_ref();
    if rules.layers == 1 && rdl.is_some_and(|r| r.via.is_some() || r.via_enclosure.is_some()) {
        let key = if rdl.is_some_and(|r| r.via.is_some()) { "via" } else { "via_enclosure" };
        let finding = Finding::warning(
            "via-not-used",
            format!("`{key}` is used between two redistribution layers only"),
        );
        c.at(&format!("{at}.{key}"), finding);
    }
}

/// How many traces pass between two neighbouring capture pads: floor((G - s) / (w + s)).
fn gaps(c: &mut Checker, i: usize, rules: RdlRules) {
    let Some(bumps) = &c.design.dies[i].bumps else { return };
    let sizes = bumps.sizes();
    if bumps.table.is_none() && (sizes.pitch <= Nm::ZERO || rules.line <= Nm::ZERO || rules.space <= Nm::ZERO)
    {
        return;
    }
    let gap = sizes.pitch - sizes.capture;
    let need = rules.line + rules.space * 2;
    if gap >= rules.space && gap < need {
        let finding = Finding::warning(
            "no-trace-passes",
            format!(
                "no trace passes between two bumps: the gap is {}, line and two spaces take {}",
                layout(gap),
                layout(need)
            ),
        )
        .allowed(format!("{} and more where traces must reach inner rows", layout(need)))
        .mend("use a larger pitch, smaller capture pads, or finer line and space");
        c.at(&format!("die[{i}].rdl.line"), finding);
    }
}

/// Landings against the die edge, and openings that the inset would close.
fn landings(c: &mut Checker, i: usize, rules: RdlRules) {
    let die = &c.design.dies[i];
    let path = format!("die[{i}].pads");
    let (width, height) = (nm(&die.width), nm(&die.height));
    let mut edge = Many::new();
    let (mut closed, mut smallest) = (0, Nm(i64::MAX));
    let seal = Nm::round_m(die.seal_ring_m());
    let beyond = rules.landing_beyond_pad();
    for (row, pad) in die.pad_list.iter().enumerate() {
        if pad.width <= Nm::ZERO || pad.height <= Nm::ZERO {
            continue;
        }
        let (half_x, half_y) = (Nm(pad.width.0 / 2) + beyond, Nm(pad.height.0 / 2) + beyond);
        let room_x = pad.x.min(width - pad.x) - half_x;
        let room_y = pad.y.min(height - pad.y) - half_y;
        let (room, column) = if room_x < room_y { (room_x, "x") } else { (room_y, "y") };
        // A pad whose opening is outside or in the seal ring is told as such.
        if room < rules.edge_clearance && room + beyond >= seal {
            let place = c.design.places.cell(&path, row, column);
            edge.push(c, place, || {
                Finding::error(
                    "landing-at-edge",
                    format!("the landing of pad `{}` ends {} from the die outline", pad.name, layout(room)),
                )
                .allowed(format!(
                    "{} and more, the edge clearance of the redistribution metal",
                    layout(rules.edge_clearance)
                ))
                .mend("write a smaller `edge_clearance` or `landing_enclosure` if the process allows it")
            });
        }
        if pad.width.min(pad.height) <= rules.pad_opening_inset * 2 {
            closed += 1;
            smallest = smallest.min(pad.width.min(pad.height));
        }
    }
    edge.close(c, &path, "landing-at-edge", "landings end too near the die outline");
    if closed > 0 {
        let what = format!(
            "an inset of {} closes the openings of {closed} of {} pads",
            layout(rules.pad_opening_inset),
            die.pad_list.len()
        );
        let finding = Finding::error("opening-closed", what)
            .allowed(format!("less than {}, half the smallest of them", layout(Nm(smallest.0 / 2))))
            .mend("write a smaller `pad_opening_inset`");
        c.at(&format!("die[{i}].rdl.pad_opening_inset"), finding);
    }
}

fn keep_out(c: &mut Checker, i: usize, j: usize) {
    let die = &c.design.dies[i];
    let keep: &KeepOut = &die.keep_outs[j];
    let at = format!("die[{i}].keep_out[{j}]");
    match (&keep.rectangle, &keep.polygon) {
        (None, None) => {
            let finding = Finding::error("keep-out-shape", "the keep-out has no shape")
                .allowed("a rectangle (x, y, x, y) or a polygon")
                .mend("add `rectangle = [\"0 um\", \"0 um\", \"100 um\", \"100 um\"]`");
            c.absent(&at, finding);
            return;
        }
        (Some(_), Some(_)) => {
            let finding = Finding::error("keep-out-shape", "the keep-out has both a rectangle and a polygon")
                .mend("keep one of them");
            c.at(&format!("{at}.polygon"), finding);
        }
        (None, Some(polygon)) if polygon.len() < 3 => {
            let finding = Finding::error(
                "keep-out-shape",
                format!("a polygon of {} corners has no area", polygon.len()),
            )
            .allowed("3 corners and more");
            c.at(&format!("{at}.polygon"), finding);
            return;
        }
        _ => {}
    }
    let corners = keep.corners_m();
    let area: f64 = corners
        .iter()
        .zip(corners.iter().cycle().skip(1))
        .map(|((x0, y0), (x1, y1))| x0 * y1 - x1 * y0)
        .sum::<f64>()
        .abs();
    let key = if keep.polygon.is_some() { "polygon" } else { "rectangle" };
    if area < 1e-18 {
        c.at(&format!("{at}.{key}"), Finding::error("keep-out-shape", "the keep-out has no area"));
    }
    let (width, height) = (die.width.si(), die.height.si());
    if corners.iter().all(|(x, y)| *x < 0.0 || *y < 0.0 || *x > width || *y > height) && area > 0.0 {
        let covers = corners.iter().any(|(x, _)| *x < width) && corners.iter().any(|(x, _)| *x > 0.0);
        if !covers {
            let finding = Finding::warning("keep-out-outside", "the keep-out lies outside the die")
                .allowed(format!("0 to {} in x and 0 to {} in y", die.width, die.height));
            c.at(&format!("{at}.{key}"), finding);
        }
    }
    let layers = die.rdl.as_ref().map_or(0, |r| r.layers());
    if let Some(layer) = keep.layer
        && (layer == 0 || layer > layers)
    {
        let finding = Finding::error("keep-out-layer", format!("there is no redistribution layer {layer}"))
            .allowed(match layers {
                0 => "no `layer`: the die has no redistribution".to_owned(),
                1 => "1, or no `layer`".to_owned(),
                n => format!("1 to {n}, or no `layer` for all"),
            });
        c.at(&format!("{at}.layer"), finding);
    }
}
