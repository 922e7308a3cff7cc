//! The stack under the bump: in order, able to do its work, fit for the solder.

use super::{Checker, length};
use crate::bumps::BumpTechnology;
use crate::die::{Die, Mount};
use crate::ubm::UbmRole;
use facedown_diagnostic::Finding;
use facedown_material::Role;

/// Copper that a tin-rich solder may not consume in several reflows, m (common practice, no source).
const LASTING_COPPER_M: f64 = 5e-6;
/// Thickest gold that leaves a joint ductile on a flash-finished pad, m (common practice, no source).
const THICK_GOLD_M: f64 = 0.3e-6;

pub fn check(c: &mut Checker) {
    let design = c.design;
    for (i, die) in design.dies.iter().enumerate() {
        if die.bumps.is_none() || die.mount() != Mount::Flip {
            continue;
        }
        if die.ubm.is_empty() {
            let finding = Finding::warning(
                "no-ubm",
                format!("nothing is said of the metallisation under the bumps of `{}`", die.name),
            )
            .mend(
                "add tables [[die.ubm]]: adhesion, barrier, wetting, oxidation barrier, from the pad outward",
            );
            c.absent(&format!("die[{i}].bumps"), finding);
            continue;
        }
        order(c, i, die);
        roles(c, i, die);
        fit(c, i, die);
    }
}

fn rank(role: UbmRole) -> u8 {
    match role {
        UbmRole::Adhesion => 0,
        UbmRole::Barrier => 1,
        UbmRole::Wetting => 2,
        UbmRole::OxidationBarrier => 3,
    }
}

fn order(c: &mut Checker, i: usize, die: &Die) {
    for (j, pair) in die.ubm.windows(2).enumerate() {
        if rank(pair[0].role) > rank(pair[1].role) {
            let path = format!("die[{i}].ubm[{}].role", j + 1);
            let mut finding = Finding::error(
                "ubm-order",
                format!(
                    "the {} layer ({}) stands outside the {} layer ({})",
                    pair[1].role.word(),
                    pair[1].material,
                    pair[0].role.word(),
                    pair[0].material
                ),
            )
            .allowed("from the pad outward: adhesion, barrier, wetting, oxidation barrier")
            .mend("change the order of the [[die.ubm]] tables");
            if let Some(place) = c.design.places.value(&format!("die[{i}].ubm[{j}].role")) {
                finding = finding.also(place, "this one lies nearer the pad");
            }
            c.at(&path, finding);
        }
    }
    if rank(die.ubm[0].role) > 1 && die.ubm.iter().all(|l| rank(l.role) > 1) {
        let finding =
            Finding::error("ubm-no-adhesion", "the stack has no layer that sticks to pad and passivation")
                .allowed("an adhesion or barrier layer first: titanium, titanium_tungsten, chromium")
                .mend("add a [[die.ubm]] table with `role = \"adhesion\"` before the others");
        c.absent(&format!("die[{i}].ubm[0].role"), finding);
    }
    if die.ubm.iter().all(|l| l.role != UbmRole::Wetting) {
        let finding = Finding::error("ubm-no-wetting", "the stack has no layer that the solder wets")
            .allowed("a wetting layer: copper, nickel, nickel_vanadium, nickel_phosphorus")
            .mend("add a [[die.ubm]] table with `role = \"wetting\"`");
        c.absent(&format!("die[{i}].ubm[{}].role", die.ubm.len() - 1), finding);
    }
}

fn roles(c: &mut Checker, i: usize, die: &Die) {
    for (j, layer) in die.ubm.iter().enumerate() {
        let role = match layer.role {
            UbmRole::Adhesion => Role::Adhesion,
            UbmRole::Barrier => Role::Barrier,
            UbmRole::Wetting => Role::Wetting,
            UbmRole::OxidationBarrier => Role::OxidationBarrier,
        };
        let library = &c.design.materials.library;
        let Ok(material) = library.get(layer.material.as_str()) else { continue };
        if material.can_be(role) {
            continue;
        }
        let able: Vec<&str> =
            library.materials().filter(|m| m.can_be(role)).map(|m| m.name.as_str()).collect();
        let finding = Finding::error(
            "ubm-role",
            format!("`{}` is not known as {} layer", layer.material, with_article(layer.role.word())),
        )
        .allowed(able.join(", "))
        .mend("use one of these, or add a [material] table that states the role and its source");
        c.at(&format!("die[{i}].ubm[{j}].material"), finding);
    }
}

fn fit(c: &mut Checker, i: usize, die: &Die) {
    let Some(bumps) = &die.bumps else { return };
    let library = &c.design.materials.library;
    let Ok(solder) = library.get(bumps.solder()) else { return };
    // A layer of unknown material may be the very barrier that is missed here.
    if die.ubm.iter().any(|l| library.get(l.material.as_str()).is_err()) {
        return;
    }
    let nickel = |name: &str| name.starts_with("nickel");
    let has_nickel = die.ubm.iter().any(|l| nickel(l.material.as_str()));
    let copper: f64 =
        die.ubm.iter().filter(|l| l.material.as_str().starts_with("copper")).map(|l| l.thickness.si()).sum();
    let wets_copper =
        die.ubm.iter().any(|l| l.role == UbmRole::Wetting && l.material.as_str().starts_with("copper"));
    // A pillar is its own store of copper.
    let pillar = matches!(bumps.technology(), BumpTechnology::CopperPillar);
    let sparse = wets_copper && !has_nickel && copper < LASTING_COPPER_M && !pillar;
    let name = solder.name.clone();
    if solder.is_high_tin() && sparse {
        let finding = Finding::error("ubm-unfit", format!("`{name}` consumes the {} of copper under it in a few reflows", length(copper)))
            .allowed("a nickel barrier, or 5 um of copper and more (common practice); thin copper suits high-lead solder only")
            .mend("add a nickel layer of 2 um or more before the copper, or thicken the copper");
        let at = die.ubm.iter().position(|l| l.role == UbmRole::Wetting).unwrap_or(0);
        c.at(&format!("die[{i}].ubm[{at}].thickness"), finding);
    }
    for (j, layer) in die.ubm.iter().enumerate() {
        if layer.material.as_str() == "gold" && layer.thickness.si() > THICK_GOLD_M {
            let finding = Finding::warning(
                "ubm-gold",
                format!("{} of gold dissolve in the joint and may embrittle it", layer.thickness),
            )
            .allowed("0.3 um and less (common practice); gold in the joint below 3 % by weight");
            c.at(&format!("die[{i}].ubm[{j}].thickness"), finding);
        }
    }
}

fn with_article(word: &str) -> String {
    let article = if word.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {word}")
}
