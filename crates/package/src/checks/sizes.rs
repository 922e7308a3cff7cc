//! Sizes, shares and counts that make sense by themselves.

use super::{Checker, length};
use crate::form::{Form, Interface};
use crate::limits::LENGTH_M;
use crate::stack::StackLayer;
use crate::values::{Fraction, Length};
use facedown_diagnostic::Finding;

pub fn check(c: &mut Checker) {
    let design = c.design;
    for (i, die) in design.dies.iter().enumerate() {
        let at = |key: &str| format!("die[{i}].{key}");
        positive(c, &at("width"), Some(&die.width));
        positive(c, &at("height"), Some(&die.height));
        positive(c, &at("thickness"), Some(&die.thickness));
        not_negative(c, &at("seal_ring"), die.seal_ring.as_ref());
        if let Some(power) = &die.power
            && power.si() < 0.0
        {
            c.at(
                &at("power"),
                Finding::error("negative", format!("the power is {power}"))
                    .allowed("a power of at least zero"),
            );
        }
        if let Some(b) = &die.bumps {
            bumps(c, &at("bumps"), b);
        }
        for (j, layer) in die.ubm.iter().enumerate() {
            positive(c, &at(&format!("ubm[{j}].thickness")), Some(&layer.thickness));
        }
        if let Some(rdl) = &die.rdl {
            positive(c, &at("rdl.line"), Some(&rdl.line));
            positive(c, &at("rdl.space"), Some(&rdl.space));
            positive(c, &at("rdl.thickness"), rdl.thickness.as_ref());
            positive(c, &at("rdl.via"), rdl.via.as_ref());
            positive(c, &at("rdl.max_metal_width"), rdl.max_metal_width.as_ref());
            positive(c, &at("rdl.slot"), rdl.slot.as_ref());
            if let Some(wanted) = &rdl.metal_share {
                positive(c, &at("rdl.metal_share.window"), Some(&wanted.window));
                positive(c, &at("rdl.metal_share.step"), wanted.step.as_ref());
                share(c, &at("rdl.metal_share.least"), wanted.least.as_ref());
                share(c, &at("rdl.metal_share.most"), wanted.most.as_ref());
            }
            for (key, value) in [
                ("edge_clearance", &rdl.edge_clearance),
                ("landing_enclosure", &rdl.landing_enclosure),
                ("pad_opening_inset", &rdl.pad_opening_inset),
                ("via_enclosure", &rdl.via_enclosure),
            ] {
                not_negative(c, &at(&format!("rdl.{key}")), value.as_ref());
            }
            for (j, d) in rdl.dielectrics.iter().enumerate() {
                positive(c, &at(&format!("rdl.dielectric[{j}].thickness")), Some(&d.thickness));
            }
        }
        for (j, net) in die.nets.iter().enumerate() {
            positive(c, &at(&format!("net[{j}].width")), net.width.as_ref());
            positive(c, &at(&format!("net[{j}].mesh_line")), net.mesh_line.as_ref());
            positive(c, &at(&format!("net[{j}].mesh_opening")), net.mesh_opening.as_ref());
            if net.bumps == Some(0) {
                let finding =
                    Finding::error("count-zero", format!("the net `{}` is given 0 bumps", net.name))
                        .allowed("1 or more");
                c.at(&at(&format!("net[{j}].bumps")), finding);
            }
        }
        if let Some(wires) = &die.wires {
            positive(c, &at("wires.diameter"), Some(&wires.diameter));
            positive(c, &at("wires.loop_height"), Some(&wires.loop_height));
        }
        positive(c, &at("attach.thickness"), die.attach.as_ref().map(|a| &a.thickness));
    }
    if let Some(substrate) = &design.substrate {
        positive(c, "substrate.width", Some(&substrate.width));
        positive(c, "substrate.height", Some(&substrate.height));
        positive(c, "substrate.bump_pad", substrate.bump_pad.as_ref());
        bow(c, substrate);
        layers(c, "substrate", &substrate.layers);
    }
    if let Some(interposer) = &design.interposer {
        positive(c, "interposer.width", Some(&interposer.width));
        positive(c, "interposer.height", Some(&interposer.height));
        layers(c, "interposer", &interposer.layers);
        if let Some(b) = &interposer.bumps {
            bumps(c, "interposer.bumps", b);
        }
    }
    if let Some(balls) = &design.balls {
        positive(c, "balls.pitch", Some(&balls.pitch));
        positive(c, "balls.diameter", Some(&balls.diameter));
        positive(c, "balls.land", balls.land.as_ref());
        positive(c, "balls.stand_off", balls.stand_off.as_ref());
    }
    if let Some(board) = &design.board {
        positive(c, "board.width", Some(&board.width));
        positive(c, "board.height", Some(&board.height));
        layers(c, "board", &board.layers);
    }
    form(c, "form", design.form.as_ref());
    interfaces(c, "", &design.interfaces);
    for (i, variant) in design.variants.iter().enumerate() {
        form(c, &format!("variant[{i}].form"), Some(&variant.form));
        interfaces(c, &format!("variant[{i}]."), &variant.interfaces);
    }
    if let Some(environment) = &design.environment {
        share(c, "environment.humidity", environment.humidity.as_ref());
    }
    if let Some(process) = &design.process {
        let underfill = process.underfill.as_ref();
        share(c, "process.underfill.dispersive_share", underfill.and_then(|u| u.dispersive_share.as_ref()));
        if let Some(tension) = underfill.and_then(|u| u.surface_tension)
            && tension.band().0 <= 0.0
        {
            let finding = Finding::error("not-positive", format!("a surface tension of {tension}"))
                .allowed("above zero; about 25 mN/m to 45 mN/m for an epoxy (common practice)");
            c.at("process.underfill.surface_tension", finding);
        }
        let cure = process.cure.as_ref();
        share(c, "process.cure.joints_crept", cure.and_then(|cure| cure.joints_crept.as_ref()));
    }
    if let Some(mission) = &design.mission {
        share(c, "mission.powered", mission.powered.as_ref());
        share(c, "mission.failed", mission.failed.as_ref());
    }
    if let Some(qualification) = &design.qualification {
        share(c, "qualification.confidence", qualification.confidence.as_ref());
    }
}

/// The bow of the received substrate, which has a sign.
fn bow(c: &mut Checker, substrate: &crate::stack::Substrate) {
    let Some(bow) = &substrate.received_bow else { return };
    let most = 0.1 * substrate.width.si().min(substrate.height.si());
    let (low, high) = bow.band();
    if low.abs().max(high.abs()) > most && most > 0.0 {
        let finding = Finding::error("too-large", format!("a received bow of {bow} folds the substrate"))
            .allowed(format!("within {} on both sides, a tenth of its smaller side", length(most)))
            .mend("look at the unit: um may be meant");
        c.at("substrate.received_bow", finding);
    }
}

fn bumps(c: &mut Checker, at: &str, bumps: &crate::bumps::Bumps) {
    positive(c, &format!("{at}.pitch"), Some(&bumps.pitch));
    for (key, value) in [
        ("row_pitch", &bumps.row_pitch),
        ("height", &bumps.height),
        ("pillar_height", &bumps.pillar_height),
        ("ubm_diameter", &bumps.ubm_diameter),
        ("capture_diameter", &bumps.capture_diameter),
        ("opening_diameter", &bumps.opening_diameter),
        ("bump_diameter", &bumps.bump_diameter),
    ] {
        positive(c, &format!("{at}.{key}"), value.as_ref());
    }
    not_negative(c, &format!("{at}.edge_distance"), bumps.edge_distance.as_ref());
    if let Some(contact) = &bumps.contact_resistance
        && contact.band().0 < 0.0
    {
        let finding = Finding::error("negative", format!("a contact resistance of {contact} is below zero"))
            .allowed("zero or more; about 1e-9 ohm cm2 to 1e-7 ohm cm2 (from memory)");
        c.at(&format!("{at}.contact_resistance"), finding);
    }
    if bumps.matrix.is_some_and(|[x, y]| x == 0 || y == 0) {
        let finding =
            Finding::error("count-zero", "the array has no columns or no rows").allowed("1 or more of each");
        c.at(&format!("{at}.matrix"), finding);
    }
}

fn layers(c: &mut Checker, at: &str, layers: &[StackLayer]) {
    for (i, layer) in layers.iter().enumerate() {
        positive(c, &format!("{at}.layer[{i}].thickness"), Some(&layer.thickness));
        share(c, &format!("{at}.layer[{i}].copper"), layer.copper.as_ref());
    }
}

fn form(c: &mut Checker, at: &str, form: Option<&Form>) {
    match form {
        Some(Form::Ring(ring)) => {
            positive(c, &format!("{at}.band"), Some(&ring.band));
            positive(c, &format!("{at}.thickness"), Some(&ring.thickness));
            positive(c, &format!("{at}.adhesive_thickness"), Some(&ring.adhesive_thickness));
            not_negative(c, &format!("{at}.setback"), ring.setback.as_ref());
        }
        Some(Form::Lid(lid)) => {
            positive(c, &format!("{at}.band"), Some(&lid.band));
            positive(c, &format!("{at}.thickness"), Some(&lid.thickness));
            positive(c, &format!("{at}.foot_height"), Some(&lid.foot_height));
            positive(c, &format!("{at}.adhesive_thickness"), Some(&lid.adhesive_thickness));
            not_negative(c, &format!("{at}.setback"), lid.setback.as_ref());
        }
        _ => {}
    }
}

fn interfaces(c: &mut Checker, at: &str, interfaces: &[Interface]) {
    for (i, interface) in interfaces.iter().enumerate() {
        positive(c, &format!("{at}interface[{i}].thickness"), interface.thickness.as_ref());
        share(c, &format!("{at}interface[{i}].voids"), interface.voids.as_ref());
    }
}

pub(super) fn positive(c: &mut Checker, path: &str, value: Option<&Length>) {
    let Some(value) = value else { return };
    if value.si() <= 0.0 {
        c.at(
            path,
            Finding::error("not-positive", format!("{value} is not a size")).allowed("a length above zero"),
        );
    } else if value.band().0 <= 0.0 {
        let finding = Finding::error(
            "tolerance-wider",
            format!("the tolerance of {value} reaches down to {}", length(value.band().0)),
        )
        .allowed("a tolerance smaller than the value");
        c.at(path, finding);
    }
    large(c, path, value);
}

fn not_negative(c: &mut Checker, path: &str, value: Option<&Length>) {
    let Some(value) = value else { return };
    if value.si() < 0.0 {
        c.at(path, Finding::error("negative", format!("{value} is negative")).allowed("zero or more"));
    }
    large(c, path, value);
}

fn large(c: &mut Checker, path: &str, value: &Length) {
    if value.si().abs() > LENGTH_M {
        let finding = Finding::error("too-large", format!("{value} is larger than any package"))
            .allowed("lengths up to 1 m")
            .mend("look at the unit: um, mm or mil may be meant");
        c.at(path, finding);
    }
}

fn share(c: &mut Checker, path: &str, value: Option<&Fraction>) {
    let Some(value) = value else { return };
    if !(0.0..=1.0).contains(&value.si()) {
        c.at(
            path,
            Finding::error("share-range", format!("{value} is not a share of a whole"))
                .allowed("0 % to 100 %"),
        );
    }
}
