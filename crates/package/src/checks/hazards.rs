//! Cautions where the work can hurt. They defer to local codes, safety data sheets and licensed practice.

use super::Checker;
use crate::process::{Clean, Flux};
use crate::readings::ProbeLiquid;
use facedown_diagnostic::Finding;
use std::collections::BTreeMap;

pub fn check(c: &mut Checker) {
    let design = c.design;
    lead(c);
    let Some(process) = &design.process else { return };
    if let Some(clean) = &process.clean
        && clean.plasma.is_some()
    {
        let finding = Finding::advice("caution-plasma", "plasma chambers work with radio-frequency power, low pressure and reactive gas")
            .mend("only trained staff, interlocks in order, exhaust drawn off; follow the maker's instructions and local codes");
        c.at("process.clean.plasma", finding);
    }
    if let Some(clean) = &process.clean {
        probe_liquids(c, clean);
    }
    if process.underfill.is_some() {
        let finding = Finding::advice("caution-epoxy", "uncured epoxy irritates and sensitises skin")
            .mend("gloves and drawn-off air; follow the safety data sheet of the material and local codes");
        c.at("process.underfill.material", finding);
    }
    if let Some(reflow) = &process.reflow {
        let fumes = reflow.flux.is_none_or(|f| f != Flux::None);
        let (what, mend) = if fumes {
            (
                "a reflow oven is hot and flux gives off fumes",
                "draw the fumes off, guard hot parts; follow the safety data sheets and local codes",
            )
        } else {
            ("a reflow oven is hot", "guard hot parts; follow the maker's instructions and local codes")
        };
        let finding = Finding::advice("caution-reflow", what).mend(mend);
        c.at("process.reflow.peak", finding);
    }
}

/// Probe liquids that harm. Formamide: toxic to reproduction, category 1B (Regulation (EC) No 1272/2008, Annex VI).
fn probe_liquids(c: &mut Checker, clean: &Clean) {
    // The underfill has a caution of its own.
    let harmless = [ProbeLiquid::Water, ProbeLiquid::Glycerol, ProbeLiquid::Underfill];
    let mut harmful: Vec<ProbeLiquid> =
        clean.reading_list.iter().map(|r| r.liquid).filter(|l| !harmless.contains(l)).collect();
    harmful.sort_unstable();
    harmful.dedup();
    if harmful.is_empty() {
        return;
    }
    let words: Vec<&str> = harmful.iter().map(|l| l.word()).collect();
    let unborn =
        if harmful.contains(&ProbeLiquid::Formamide) { "formamide may harm an unborn child; " } else { "" };
    let finding = Finding::advice(
        "caution-probe-liquids",
        format!("probe liquids can harm: {}", words.join(", ")),
    )
    .mend(format!(
        "{unborn}gloves, eye protection and drawn-off air; follow the safety data sheets and local codes"
    ));
    c.at("process.clean.readings", finding);
}

/// Solders with lead, by the first place that names each.
fn lead(c: &mut Checker) {
    let design = c.design;
    let mut solders: BTreeMap<&str, String> = BTreeMap::new();
    for (i, bumps) in design.dies.iter().enumerate().filter_map(|(i, d)| d.bumps.as_ref().map(|b| (i, b))) {
        solders.entry(bumps.solder()).or_insert(format!("die[{i}].bumps.solder"));
    }
    if let Some(bumps) = design.interposer.as_ref().and_then(|i| i.bumps.as_ref()) {
        solders.entry(bumps.solder()).or_insert("interposer.bumps.solder".into());
    }
    if let Some(balls) = &design.balls {
        solders.entry(balls.solder.as_str()).or_insert("balls.solder".into());
    }
    for (name, path) in solders {
        let Ok(solder) = design.materials.library.get(name) else { continue };
        if solder.contains_lead() {
            let finding = Finding::advice("caution-lead", format!("`{name}` contains lead, which is toxic and restricted in many products"))
                .allowed("up to 0.1 % by mass where Directive 2011/65/EU applies, and its exemptions")
                .mend("check that an exemption applies; no food or drink at the work place, wash hands; follow the safety data sheet and local codes");
            c.at(&path, finding);
        }
    }
}
