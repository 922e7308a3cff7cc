//! Planes, meshes, slots and shares of metal against the rules of the redistribution.

use super::{Checker, layout};
use crate::nets::{Net, PlaneKind};
use crate::rdl_rules::RdlRules;
use facedown_diagnostic::Finding;
use facedown_quantity::Nm;

pub fn check(c: &mut Checker) {
    for i in 0..c.design.dies.len() {
        let rules = c.design.dies[i].rdl_rules();
        if let Some(rules) = &rules {
            slots(c, i, rules);
            shares(c, i);
        }
        for j in 0..c.design.dies[i].nets.len() {
            plane(c, &format!("die[{i}].net[{j}]"), &c.design.dies[i].nets[j], rules.as_ref());
        }
    }
}

/// One net's wish for a plane.
fn plane(c: &mut Checker, at: &str, net: &Net, rules: Option<&RdlRules>) {
    let grows = net.grow == Some(true);
    let Some(rules) = rules else {
        if grows {
            let finding = Finding::warning(
                "plane-not-used",
                format!("`{}` cannot grow: the die has no redistribution", net.name),
            )
            .mend("add [die.rdl], or remove `grow`");
            c.at(&format!("{at}.grow"), finding);
        }
        return;
    };
    let written = [
        ("plane", net.plane.is_some()),
        ("plane_layer", net.plane_layer.is_some()),
        ("mesh_line", net.mesh_line.is_some()),
        ("mesh_opening", net.mesh_opening.is_some()),
    ];
    if !grows {
        if let Some((key, _)) = written.iter().find(|w| w.1) {
            let finding = Finding::error(
                "plane-not-grown",
                format!("`{key}` is written, and `{}` does not grow", net.name),
            )
            .allowed("planes and meshes of nets with `grow = true`")
            .mend(format!("add `grow = true`, or remove `{key}`"));
            c.at(&format!("{at}.{key}"), finding);
        }
        return;
    }
    if let Some(layer) = net.plane_layer
        && (layer == 0 || layer > rules.layers)
    {
        let finding = Finding::error("plane-layer", format!("there is no redistribution layer {layer}"))
            .allowed(if rules.layers == 1 {
                "1, or no `plane_layer`".to_owned()
            } else {
                format!("1 to {}, or no `plane_layer` for all", rules.layers)
            });
        c.at(&format!("{at}.plane_layer"), finding);
    }
    if net.plane() == PlaneKind::Solid {
        if let Some((key, _)) = written[2..].iter().find(|w| w.1) {
            let finding = Finding::warning(
                "mesh-not-used",
                format!("`{key}` is used in a mesh only; the plane is solid"),
            )
            .mend(format!("write `plane = \"mesh\"`, or remove `{key}`"));
            c.at(&format!("{at}.{key}"), finding);
        }
        return;
    }
    let (line, opening) = net.mesh_sizes(rules);
    if line < rules.line && line > Nm::ZERO {
        let what = format!("the bars of the mesh are {} wide", layout(line));
        let finding = Finding::error("mesh-line-small", what)
            .allowed(format!("{} and more, the line of the redistribution", layout(rules.line)));
        c.at(&format!("{at}.mesh_line"), finding);
    }
    if opening < rules.space && opening > Nm::ZERO {
        let what = format!("the openings of the mesh are {} wide", layout(opening));
        let finding = Finding::error("mesh-opening-small", what)
            .allowed(format!("{} and more, the space of the redistribution", layout(rules.space)));
        c.at(&format!("{at}.mesh_opening"), finding);
    }
}

fn slots(c: &mut Checker, i: usize, rules: &RdlRules) {
    let at = format!("die[{i}].rdl");
    let slot_written = c.design.dies[i].rdl.as_ref().is_some_and(|r| r.slot.is_some());
    let Some(widest) = rules.max_metal_width else {
        if slot_written {
            let finding =
                Finding::warning("slot-not-used", "`slot` is used with `max_metal_width` only").mend(
                    "add `max_metal_width`, the widest metal that the process allows without slots, or remove `slot`",
                );
            c.at(&format!("{at}.slot"), finding);
        }
        return;
    };
    if rules.slot < rules.space && rules.slot > Nm::ZERO {
        let finding = Finding::error("slot-small", format!("the slots are {} wide", layout(rules.slot)))
            .allowed(format!("{} and more, the space of the redistribution", layout(rules.space)));
        c.at(&format!("{at}.slot"), finding);
    }
    let least = rules.least_metal_width();
    if widest < least && widest > Nm::ZERO {
        let what = format!(
            "slots of {} and bars of {} cannot keep all metal below {}",
            layout(rules.slot),
            layout(rules.line),
            layout(widest)
        );
        let finding = Finding::error("metal-width-small", what)
            .allowed(format!("{} and more, so that a slot fits into metal of any outline", layout(least)))
            .mend("write a larger `max_metal_width`, or use smaller slots");
        c.at(&format!("{at}.max_metal_width"), finding);
    }
}

fn shares(c: &mut Checker, i: usize) {
    let die = &c.design.dies[i];
    let Some(wanted) = die.rdl.as_ref().and_then(|r| r.metal_share.as_ref()) else { return };
    let at = format!("die[{i}].rdl.metal_share");
    let (least, most) =
        (wanted.least.as_ref().map_or(0.0, |f| f.si()), wanted.most.as_ref().map_or(1.0, |f| f.si()));
    let mut findings = Vec::new();
    if least > most {
        let finding = Finding::error("metal-share", "no share of metal is both at least and at most that")
            .allowed("`least` up to `most`");
        findings.push(("least", finding));
    }
    if wanted.window.si() > die.width.si().min(die.height.si()) {
        let what = format!("the window of {} is larger than the die", wanted.window);
        let finding = Finding::error("metal-share-window", what)
            .allowed(format!("windows within {} x {}", die.width, die.height));
        findings.push(("window", finding));
    }
    if let Some(step) = wanted.step.as_ref().filter(|s| s.si() > wanted.window.si()) {
        let what = format!("windows of {} every {step} leave metal between them unjudged", wanted.window);
        findings.push((
            "step",
            Finding::warning("metal-share-step", what).allowed(format!("steps up to {}", wanted.window)),
        ));
    }
    for (key, finding) in findings {
        c.at(&format!("{at}.{key}"), finding);
    }
}
