//! Every material that the design names exists.

use super::Checker;
use crate::form::{Form, Interface};
use crate::stack::StackLayer;
use crate::values::MaterialName;
use facedown_diagnostic::Finding;
use facedown_material::PropertyName;

pub fn check(c: &mut Checker) {
    let mut named: Vec<(String, &MaterialName)> = Vec::new();
    let design = c.design;
    for (i, die) in design.dies.iter().enumerate() {
        let at = |key: &str| format!("die[{i}].{key}");
        named.extend(die.material.as_ref().map(|m| (at("material"), m)));
        if let Some(bumps) = &die.bumps {
            named.extend(bumps.solder.as_ref().map(|m| (at("bumps.solder"), m)));
        }
        named.extend(
            die.ubm.iter().enumerate().map(|(j, u)| (at(&format!("ubm[{j}].material")), &u.material)),
        );
        if let Some(rdl) = &die.rdl {
            named.extend(rdl.material.as_ref().map(|m| (at("rdl.material"), m)));
            named.extend(
                rdl.dielectrics
                    .iter()
                    .enumerate()
                    .map(|(j, d)| (at(&format!("rdl.dielectric[{j}].material")), &d.material)),
            );
        }
        named.extend(die.wires.as_ref().map(|w| (at("wires.material"), &w.material)));
        named.extend(die.attach.as_ref().map(|a| (at("attach.material"), &a.material)));
    }
    if let Some(substrate) = &design.substrate {
        named.extend(substrate.finish.as_ref().map(|m| ("substrate.finish".into(), m)));
        layers(&mut named, "substrate", &substrate.layers);
    }
    if let Some(interposer) = &design.interposer {
        layers(&mut named, "interposer", &interposer.layers);
        if let Some(bumps) = &interposer.bumps {
            named.extend(bumps.solder.as_ref().map(|m| ("interposer.bumps.solder".into(), m)));
        }
    }
    if let Some(balls) = &design.balls {
        named.push(("balls.solder".into(), &balls.solder));
    }
    if let Some(board) = &design.board {
        layers(&mut named, "board", &board.layers);
    }
    form(&mut named, "form", design.form.as_ref());
    interfaces(&mut named, "", &design.interfaces);
    for (i, variant) in design.variants.iter().enumerate() {
        form(&mut named, &format!("variant[{i}].form"), Some(&variant.form));
        interfaces(&mut named, &format!("variant[{i}]."), &variant.interfaces);
    }
    if let Some(underfill) = design.process.as_ref().and_then(|p| p.underfill.as_ref()) {
        named.push(("process.underfill.material".into(), &underfill.material));
    }
    if let Some(underfill) = design.process.as_ref().and_then(|p| p.underfill.as_ref()) {
        shear(c, &underfill.material);
    }
    for (path, name) in named {
        if let Err(unknown) = design.materials.library.get(name.as_str()) {
            let finding = Finding::error("material-unknown", format!("there is no material `{name}`"))
                .allowed("the materials that `facedown materials` lists, and those of this design's own [material.NAME] tables");
            let finding = match unknown.nearest {
                Some(right) => finding.mend(format!("write \"{right}\", or add a table [material.{name}]")),
                None => finding
                    .mend(format!("add a table [material.{name}] with its properties and their source")),
            };
            c.at(&path, finding);
        }
    }
}

/// A power law needs the shear rate that its viscosity was read at.
fn shear(c: &mut Checker, name: &MaterialName) {
    let Ok(resin) = c.design.materials.library.get(name.as_str()) else { return };
    let has = |p: PropertyName| resin.properties.contains_key(&p);
    let (is, lacks) = match (has(PropertyName::ShearIndex), has(PropertyName::ShearRate)) {
        (true, false) => ("shear_index", "shear_rate"),
        (false, true) => ("shear_rate", "shear_index"),
        _ => return,
    };
    let finding =
        Finding::error("shear-half", format!("the underfill `{name}` has a `{is}` and no `{lacks}`"))
            .allowed("both, or none for a viscosity that does not depend on shear")
            .mend(format!("add `{lacks}` to [material.{name}], or remove `{is}`"));
    c.at("process.underfill.material", finding);
}

fn layers<'d>(named: &mut Vec<(String, &'d MaterialName)>, at: &str, layers: &'d [StackLayer]) {
    for (i, layer) in layers.iter().enumerate() {
        named.push((format!("{at}.layer[{i}].material"), &layer.material));
        named.extend(layer.fill.as_ref().map(|m| (format!("{at}.layer[{i}].fill"), m)));
    }
}

fn form<'d>(named: &mut Vec<(String, &'d MaterialName)>, at: &str, form: Option<&'d Form>) {
    let (material, adhesive) = match form {
        Some(Form::Ring(ring)) => (&ring.material, &ring.adhesive),
        Some(Form::Lid(lid)) => (&lid.material, &lid.adhesive),
        _ => return,
    };
    named.push((format!("{at}.material"), material));
    named.push((format!("{at}.adhesive"), adhesive));
}

fn interfaces<'d>(named: &mut Vec<(String, &'d MaterialName)>, at: &str, interfaces: &'d [Interface]) {
    named.extend(
        interfaces.iter().enumerate().map(|(i, x)| (format!("{at}interface[{i}].material"), &x.material)),
    );
}
