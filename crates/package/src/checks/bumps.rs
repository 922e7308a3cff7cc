//! Bump technology against pitch, and the sizes of one bump against each other and against the pitch.

use super::{Checker, layout, length};
use crate::bump_rules::{MICRO_LIMIT_M, MICRO_USUAL_M, PILLAR_LIMIT_M, SOLDER_LIMIT_M, SOLDER_PITCH_M};
use crate::bumps::{BumpTechnology, Bumps};
use crate::rdl_rules::RdlRules;
use facedown_diagnostic::Finding;
use facedown_quantity::Nm;

pub fn check(c: &mut Checker) {
    let design = c.design;
    for (i, die) in design.dies.iter().enumerate() {
        if let Some(bumps) = &die.bumps {
            let at = format!("die[{i}].bumps");
            technology(c, &at, bumps);
            sizes(c, &at, bumps, die.rdl_rules());
        }
    }
    if let Some(bumps) = design.interposer.as_ref().and_then(|x| x.bumps.as_ref()) {
        technology(c, "interposer.bumps", bumps);
        sizes(c, "interposer.bumps", bumps, None);
    }
}

fn technology(c: &mut Checker, at: &str, bumps: &Bumps) {
    let pitch = bumps.pitch.si();
    if pitch <= 0.0 {
        return;
    }
    let below = |limit: f64| pitch < limit * (1.0 - 1e-9);
    let path = format!("{at}.pitch");
    let word = bumps.technology().word();
    let what = format!("a pitch of {} is too small for a {word}", length(pitch));
    match bumps.technology() {
        BumpTechnology::SolderBump | BumpTechnology::Auto => {
            if below(SOLDER_LIMIT_M) {
                let finding = Finding::error("pitch-too-small", what)
                    .allowed("130 um and more (M.-J. Lee, IPC APEX 2014); 200 um and more is standard")
                    .mend("write `technology = \"copper pillar\"`, or a larger pitch");
                c.at(&path, finding);
            } else if below(SOLDER_PITCH_M) {
                let finding = Finding::warning(
                    "pitch-small",
                    format!("a pitch of {} is below the standard one of solder bumps", length(pitch)),
                )
                .allowed("200 um and more (common practice); down to 130 um plated")
                .mend("ask the bumping house, or write `technology = \"copper pillar\"`");
                c.at(&path, finding);
            }
        }
        BumpTechnology::CopperPillar => {
            if below(PILLAR_LIMIT_M) {
                let finding = Finding::error("pitch-too-small", what)
                    .allowed("40 um and more (M.-J. Lee, IPC APEX 2014); 60 to 125 um is usual")
                    .mend("write `technology = \"micro bump\"`, or a larger pitch");
                c.at(&path, finding);
            } else if !below(SOLDER_PITCH_M) {
                let finding = Finding::advice(
                    "pitch-large",
                    format!("a pitch of {} also takes solder bumps", length(pitch)),
                )
                .allowed("copper pillars are usual from 40 to 130 um (common practice)");
                c.at(&path, finding);
            }
        }
        BumpTechnology::MicroBump => {
            if below(MICRO_LIMIT_M) {
                let finding = Finding::error("pitch-too-small", what)
                    .allowed("10 um and more; below it only direct copper bonds are made (common practice)");
                c.at(&path, finding);
            } else if pitch > MICRO_USUAL_M * (1.0 + 1e-9) {
                let finding = Finding::advice(
                    "pitch-large",
                    format!("a pitch of {} is more than micro bumps are made for", length(pitch)),
                )
                .allowed("20 to 60 um (common practice)")
                .mend("copper pillars stand higher and flow is easier under them");
                c.at(&path, finding);
            }
        }
    }
}

fn sizes(c: &mut Checker, at: &str, bumps: &Bumps, rules: Option<RdlRules>) {
    let s = bumps.sizes();
    let pitch = Nm(bumps.neighbour_distance_nm().round() as i64);
    if pitch <= Nm::ZERO {
        return;
    }
    // A value by rule has no place of its own; the finding then stands at the table.
    let key = |name: &str| format!("{at}.{name}");
    if let Some(rules) = rules {
        if s.capture + rules.space > pitch {
            let largest = pitch - rules.space;
            let finding = Finding::error(
                "capture-too-large",
                format!(
                    "capture pads of {} at a pitch of {} leave {}",
                    layout(s.capture),
                    layout(pitch),
                    layout(pitch - s.capture)
                ),
            )
            .allowed(format!(
                "capture pads up to {}: the pitch less one space of {}",
                layout(largest),
                layout(rules.space)
            ))
            .mend("use a larger pitch or a smaller capture_diameter");
            c.at(&key("capture_diameter"), finding);
        }
        if s.ubm > s.capture {
            let finding = Finding::error(
                "ubm-over-capture",
                format!(
                    "the UBM of {} is wider than its capture pad of {}",
                    layout(s.ubm),
                    layout(s.capture)
                ),
            )
            .allowed("a UBM not wider than the pad under it")
            .mend("use a larger capture_diameter; 20 um more than the UBM is common");
            c.at(&key("ubm_diameter"), finding);
        }
    }
    if s.opening >= s.ubm {
        let finding = Finding::error(
            "opening-over-ubm",
            format!("the opening of {} is not covered by the UBM of {}", layout(s.opening), layout(s.ubm)),
        )
        .allowed("an opening smaller than the UBM")
        .mend("use a smaller opening_diameter; 30 um less than the UBM is common for solder bumps");
        c.at(&key("opening_diameter"), finding);
    }
    if s.bump >= pitch {
        let finding = Finding::error(
            "bumps-touch",
            format!("bumps of {} at a pitch of {} touch each other", layout(s.bump), layout(pitch)),
        )
        .allowed("bumps smaller than the pitch")
        .mend("use a smaller bump_diameter or height, or a larger pitch");
        c.at(&key("bump_diameter"), finding);
    } else if (pitch - s.bump).nm() < 0.25 * pitch.nm() {
        let gap = pitch - s.bump;
        let finding = Finding::warning(
            "bumps-near",
            format!(
                "bumps of {} at a pitch of {} leave a gap of {}",
                layout(s.bump),
                layout(pitch),
                layout(gap)
            ),
        )
        .allowed("a gap of a quarter of the pitch and more, against bridging (common practice)");
        c.at(&key("bump_diameter"), finding);
    }
    if s.bump < s.ubm {
        let finding = Finding::error(
            "bump-under-ubm",
            format!("the bump of {} is narrower than its UBM of {}", layout(s.bump), layout(s.ubm)),
        )
        .allowed("a bump at least as wide as its UBM, which it wets to the rim");
        c.at(&key("bump_diameter"), finding);
    }
    if s.pillar >= s.height && s.pillar > Nm::ZERO {
        let finding = Finding::error(
            "no-cap",
            format!(
                "the pillar of {} leaves nothing of the height of {} for its cap",
                layout(s.pillar),
                layout(s.height)
            ),
        )
        .allowed("a pillar lower than the whole bump")
        .mend("use a larger height or a smaller pillar_height");
        c.at(&key("pillar_height"), finding);
    }
}
