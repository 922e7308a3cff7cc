//! The form: ring and lid find room, the lid meets what it should cool, interfaces fill their gaps.

use super::stack::{body, interposer};
use super::{Checker, length};
use crate::die::Die;
use crate::form::{Form, Interface, Lid};
use facedown_diagnostic::{Finding, nearest};

/// Largest die edge of a bare form, m (common practice, no source).
const BARE_DIE_M: f64 = 8e-3;

pub fn check(c: &mut Checker) {
    let design = c.design;
    one(c, &design.form(), &design.interfaces, "form", "");
    for (i, variant) in design.variants.iter().enumerate() {
        one(c, &variant.form, &variant.interfaces, &format!("variant[{i}].form"), &format!("variant[{i}]."));
    }
}

fn one(c: &mut Checker, form: &Form, interfaces: &[Interface], at: &str, prefix: &str) {
    names(c, form, interfaces, prefix);
    match form {
        Form::Bare => {
            let edge = |die: &Die| die.width.si().max(die.height.si());
            let largest =
                c.design.dies.iter().enumerate().max_by(|(_, a), (_, b)| edge(a).total_cmp(&edge(b)));
            if let Some((index, die)) = largest.filter(|(_, d)| edge(d) > BARE_DIE_M * (1.0 + 1e-9)) {
                let finding = Finding::advice(
                    "bare-large",
                    format!(
                        "the die `{}` of {} x {} is large for a bare form",
                        die.name, die.width, die.height
                    ),
                )
                .allowed("about 8 mm and less (common practice); larger dies take a stiffener ring or a lid");
                let written = c.design.places.written(at);
                let place = if written { at.to_owned() } else { format!("die[{index}].name") };
                c.at(&place, finding);
            }
        }
        Form::Ring(ring) => {
            room(c, at, "ring", ring.band.si(), ring.setback.map_or(0.0, |s| s.si()));
        }
        Form::Lid(lid) => {
            room(c, at, "lid", lid.band.si(), lid.setback.map_or(0.0, |s| s.si()));
            gaps(c, lid, interfaces, at, prefix);
        }
    }
}

/// The band of a ring or lid leaves room for what stands inside it.
fn room(c: &mut Checker, at: &str, word: &str, band: f64, setback: f64) {
    let design = c.design;
    let Some(substrate) = &design.substrate else {
        let finding =
            Finding::error("no-support", format!("the {word} stands on the substrate, and there is none"))
                .mend("add a table [substrate]");
        c.absent(at, finding);
        return;
    };
    let inner = (substrate.width.si() / 2.0 - setback - band, substrate.height.si() / 2.0 - setback - band);
    if inner.0 <= 0.0 || inner.1 <= 0.0 {
        let finding = Finding::error(
            "band-too-wide",
            format!(
                "a band of {} on a substrate of {} x {} leaves no opening",
                length(band),
                substrate.width,
                substrate.height
            ),
        );
        c.at(&format!("{at}.band"), finding);
        return;
    }
    let mut parts: Vec<_> = design
        .dies
        .iter()
        .filter_map(|d| body(design, d).map(|b| (format!("the die `{}`", d.name), b)))
        .collect();
    parts.extend(interposer(design).map(|b| ("the interposer".to_owned(), b)));
    for (name, b) in parts {
        let free = (inner.0 - b.x.abs() - b.half_x).min(inner.1 - b.y.abs() - b.half_y);
        if free < 0.0 {
            let finding = Finding::error(
                "band-meets-die",
                format!("the band of the {word} meets {name}: they overlap by {}", length(-free)),
            )
            .allowed(format!("a band up to {}", length((band + free).max(0.0))))
            .mend("use a narrower band or a larger substrate");
            c.at(&format!("{at}.band"), finding);
        }
    }
}

/// The names that an interface joins.
fn names(c: &mut Checker, form: &Form, interfaces: &[Interface], prefix: &str) {
    let design = c.design;
    let mut known: Vec<&str> = design.dies.iter().map(|d| d.name.as_str()).collect();
    known.extend(["interposer", "heat sink", "lid"]);
    for (i, interface) in interfaces.iter().enumerate() {
        for (j, name) in interface.between.iter().enumerate() {
            let path = format!("{prefix}interface[{i}].between[{j}]");
            if !known.contains(&name.as_str()) {
                let finding =
                    Finding::error("part-unknown", format!("`{name}` is no part that an interface can join"))
                        .allowed("a die, the interposer, the lid or the heat sink");
                let finding = match nearest(name.as_str(), known.iter().copied()) {
                    Some(right) => finding.mend(format!("write \"{right}\"")),
                    None => finding,
                };
                c.absent(&path, finding);
            } else if name.as_str() == "lid" && form.word() != "lid" {
                let finding = Finding::error(
                    "no-lid",
                    format!(
                        "the interface `{}` meets a lid, and the form is {}",
                        interface.name,
                        form.word()
                    ),
                )
                .mend("write a lid form, or let the interface meet the heat sink");
                c.at(&path, finding);
            }
        }
        if interface.between[0] == interface.between[1] {
            let finding = Finding::error(
                "part-unknown",
                format!("the interface `{}` joins `{}` to itself", interface.name, interface.between[0]),
            )
            .allowed("two different parts");
            c.at(&format!("{prefix}interface[{i}].between"), finding);
        }
    }
}

/// Every gap between lid and die is filled by its interface.
fn gaps(c: &mut Checker, lid: &Lid, interfaces: &[Interface], at: &str, prefix: &str) {
    let design = c.design;
    let cavity = lid.adhesive_thickness.si() + lid.foot_height.si();
    let tolerance = |l: &crate::values::Length| l.tolerance().map_or(0.0, |t| t.half_width());
    let mut met = false;
    for (i, die) in design.dies.iter().enumerate() {
        let Some(top) = body(design, die).map(|b| b.top) else { continue };
        let gap = cavity - top;
        if gap <= 0.0 {
            let what = format!(
                "the top of the die `{}` stands {} over the substrate, the lid's inside {}",
                die.name,
                length(top),
                length(cavity)
            );
            let mut finding = Finding::error("lid-too-low", what)
                .allowed(format!("a foot of more than {}", length(top - lid.adhesive_thickness.si())))
                .mend("use a larger foot_height: adhesive and foot together reach over bumps, die and interface");
            if let Some(place) = design.places.value(&format!("die[{i}].thickness")) {
                finding = finding.also(place, "this die");
            }
            c.at(&format!("{at}.foot_height"), finding);
            met = true;
            continue;
        }
        let joins = |x: &&Interface| {
            let names = x.between.each_ref().map(|n| n.as_str());
            names.contains(&die.name.as_str()) && names.contains(&"lid")
        };
        let Some((j, interface)) = interfaces.iter().enumerate().find(|(_, x)| joins(x)) else { continue };
        met = true;
        // A paste that is pressed until it stands takes the gap that it needs; the foot's adhesive follows.
        let Some(thickness) = &interface.thickness else { continue };
        let bond = thickness.si();
        let joint = die.bumps.as_ref().and_then(|b| b.height.as_ref());
        let slack = tolerance(thickness)
            + tolerance(&lid.adhesive_thickness)
            + tolerance(&lid.foot_height)
            + tolerance(&die.thickness)
            + joint.map_or(0.0, tolerance)
            + 5e-6;
        if (bond - gap).abs() > slack {
            let less = bond < gap;
            let what = format!(
                "the gap between `{}` and the lid is {}, the bond line of `{}` {}",
                die.name,
                length(gap),
                interface.name,
                length(bond)
            );
            let finding = if less {
                Finding::error("stack-gap", what)
            } else {
                Finding::warning("bond-line-squeezed", what)
            };
            let finding = finding
                .allowed(format!(
                    "a bond line of {} within {} of all tolerances together",
                    length(gap),
                    length(slack)
                ))
                .mend(format!(
                    "write a foot_height of {}, or the bond line of the gap",
                    length(top + bond - lid.adhesive_thickness.si())
                ));
            c.at(&format!("{prefix}interface[{j}].thickness"), finding);
        }
    }
    if !met && !design.dies.is_empty() {
        let finding = Finding::error("stack-gap", "the lid touches no die: no interface joins the two")
            .mend("add a table [[interface]] with `between = [\"DIE\", \"lid\"]`, material and thickness");
        c.absent(at, finding);
    }
}
