//! The process and the mission: temperatures in order, angles that wet.

use super::Checker;
use crate::form::Form;
use crate::process::{Reflow, Underfill};
use crate::values::Temperature;
use facedown_diagnostic::Finding;
use facedown_material::PropertyName;
use facedown_quantity::TemperatureDifference;

/// Least superheat of the coldest joint, K (common practice, no source).
const SUPERHEAT_K: f64 = 20.0;
/// Longest usual time between plasma and dispense, s (common practice, no source).
const QUEUE_S: f64 = 4.0 * 3600.0;

pub fn check(c: &mut Checker) {
    let design = c.design;
    if let Some(process) = &design.process {
        if let Some(reflow) = &process.reflow {
            self::reflow(c, reflow);
        }
        if let Some(underfill) = &process.underfill {
            self::underfill(c, underfill);
        }
        if let Some(clean) = &process.clean {
            if clean.plasma.is_none()
                && (clean.power.is_some() || clean.pressure.is_some() || clean.time.is_some())
            {
                let finding = Finding::warning(
                    "plasma-gas",
                    "power, pressure or time of a plasma are given, and no gas",
                )
                .mend("add `plasma = \"argon-oxygen\"`");
                c.absent("process.clean", finding);
            }
            if let Some(queue) = &clean.queue_time
                && queue.si() > QUEUE_S
            {
                let finding =
                    Finding::advice("queue-time", format!("{queue} pass between clean and underfill"))
                        .allowed("4 h and less (common practice): a cleaned surface ages")
                        .mend("measure the contact angle again before dispensing");
                c.at("process.clean.queue_time", finding);
            }
        }
        if let Some(cure) = &process.cure
            && cure.steps.is_empty()
            && cure.stress_free.is_none()
        {
            let finding = Finding::error("no-steps", "the cure has no steps")
                .mend("add a table [[process.cure.step]] with temperature and time");
            c.absent("process.cure", finding);
        }
    }
    if let Some(free) = design.process.as_ref().and_then(|p| p.cure.as_ref()).and_then(|x| x.stress_free) {
        cured(c, "process.cure.stress_free", &free, "without stress");
    }
    let variants = design.variants.iter().enumerate();
    let forms = variants.map(|(i, v)| (format!("variant[{i}].form"), &v.form));
    for (at, form) in design.form.iter().map(|f| ("form".to_owned(), f)).chain(forms) {
        let cure = match form {
            Form::Bare => None,
            Form::Ring(ring) => ring.adhesive_cure.as_ref(),
            Form::Lid(lid) => lid.adhesive_cure.as_ref(),
        };
        if let Some(cure) = cure {
            cured(c, &format!("{at}.adhesive_cure"), cure, "cured");
        }
    }
    if let Some(mission) = &design.mission {
        for (i, cycle) in mission.cycles.iter().enumerate() {
            rising(c, &format!("mission.cycle[{i}].high"), ("low", &cycle.low), ("high", &cycle.high));
            for (key, pair) in [("substrate", &cycle.substrate), ("board", &cycle.board)] {
                let Some([cold, hot]) = pair else { continue };
                let at = format!("mission.cycle[{i}].{key}");
                cooler(c, &at, key, [cold, hot], &cycle.high);
            }
            if let (Some(substrate), Some(board)) = (&cycle.substrate, &cycle.board) {
                let swing = |pair: &[Temperature; 2]| pair[1].si() - pair[0].si();
                if swing(substrate) >= 0.0 && swing(board) > swing(substrate) {
                    let [board, substrate] =
                        [board, substrate].map(|p| TemperatureDifference::from_si(swing(p)));
                    let finding = Finding::warning(
                        "part-swings",
                        format!("the board swings by {board} and the substrate above it by {substrate}"),
                    )
                    .allowed("a board that swings no more than the substrate that heats it")
                    .mend("write what heats the board as a cycle of its own");
                    c.at(&format!("mission.cycle[{i}].board"), finding);
                }
            }
            if cycle.count.si() <= 0.0 {
                c.at(
                    &format!("mission.cycle[{i}].count"),
                    Finding::error("count-zero", "the cycle never happens").allowed("more than 0 cycles"),
                );
            }
        }
        if mission.life.si() <= 0.0 {
            c.at(
                "mission.life",
                Finding::error("not-positive", format!("a life of {}", mission.life))
                    .allowed("a time above zero"),
            );
        }
    }
    if let Some(test) = design.qualification.as_ref().and_then(|q| q.test.as_ref()) {
        rising(c, "qualification.test.high", ("low", &test.low), ("high", &test.high));
        if test.failures.is_empty() && test.running.is_empty() {
            let finding =
                Finding::error("empty-test", "the finished test has neither failures nor packages without")
                    .mend("list the cycles of each package under `failures` or `running`");
            c.absent("qualification.test", finding);
        }
    }
}

fn reflow(c: &mut Checker, reflow: &Reflow) {
    let design = c.design;
    if let (Some(from), Some(to)) = (&reflow.preheat_from, &reflow.preheat_to) {
        rising(c, "process.reflow.preheat_to", ("preheat_from", from), ("preheat_to", to));
    }
    if let Some(to) = &reflow.preheat_to {
        rising(c, "process.reflow.peak", ("preheat_to", to), ("peak", &reflow.peak));
    }
    let mut solders: Vec<&str> =
        design.dies.iter().filter_map(|d| d.bumps.as_ref()).map(|b| b.solder()).collect();
    solders.extend(design.interposer.iter().filter_map(|i| i.bumps.as_ref()).map(|b| b.solder()));
    solders.sort_unstable();
    solders.dedup();
    for name in solders {
        let Ok(solder) = design.materials.library.get(name) else { continue };
        let peak = reflow.peak.si();
        let Ok(liquidus) = solder.value(PropertyName::Liquidus, peak) else { continue };
        let melts = facedown_quantity::Temperature::from_si(liquidus);
        if peak <= liquidus {
            let finding = Finding::error(
                "peak-below-liquidus",
                format!("`{name}` does not melt at a peak of {}", reflow.peak),
            )
            .allowed(format!(
                "above its liquidus of {melts}; 20 K above at the coldest joint is common practice"
            ))
            .mend("raise the peak, or use another solder");
            c.at("process.reflow.peak", finding);
        } else if reflow.peak.band().0 < liquidus + SUPERHEAT_K {
            let finding = Finding::warning(
                "little-superheat",
                format!("the peak of {} is little above the liquidus of `{name}`, {melts}", reflow.peak),
            )
            .allowed("20 K and more at the coldest joint (common practice)");
            c.at("process.reflow.peak", finding);
        }
    }
}

fn underfill(c: &mut Checker, underfill: &Underfill) {
    let design = c.design;
    let at = "process.underfill";
    for (key, angle) in [
        ("angle_die", &underfill.angle_die),
        ("angle_substrate", &underfill.angle_substrate),
        ("angle_bump", &underfill.angle_bump),
    ] {
        let Some(angle) = angle else { continue };
        let degrees = angle.si().to_degrees();
        if !(0.0..=180.0).contains(&degrees) {
            c.at(
                &format!("{at}.{key}"),
                Finding::error("angle-range", format!("{angle} is not a contact angle"))
                    .allowed("0 deg to 180 deg"),
            );
        } else if degrees >= 90.0 {
            let finding = Finding::warning(
                "does-not-wet",
                format!("at {angle} the underfill does not wet and is not drawn in"),
            )
            .allowed("below 90 deg; 40 deg and less is usual on a clean surface (common practice)")
            .mend("clean again, and measure");
            c.at(&format!("{at}.{key}"), finding);
        }
    }
    if underfill.passes == Some(0) {
        c.at(
            &format!("{at}.passes"),
            Finding::error("count-zero", "the underfill is dispensed in 0 passes").allowed("1 or more"),
        );
    }
    for (i, name) in underfill.dies.iter().enumerate() {
        if design.die(name.as_str()).is_none() {
            let names: Vec<&str> = design.dies.iter().map(|d| d.name.as_str()).collect();
            let finding =
                Finding::error("part-unknown", format!("there is no die `{name}`")).allowed(names.join(", "));
            c.absent(&format!("{at}.dies[{i}]"), finding);
        }
    }
    let cure = design.process.as_ref().and_then(|p| p.cure.as_ref()).and_then(|x| x.steps.first());
    if let Some(step) = cure
        && underfill.temperature.si() >= step.temperature.si()
    {
        let finding = Finding::warning(
            "cures-while-flowing",
            format!("the underfill flows at {} and cures from {}", underfill.temperature, step.temperature),
        )
        .allowed("a flow temperature below the cure")
        .mend("lower `temperature`, or the flow may gel before it is done");
        c.at(&format!("{at}.temperature"), finding);
    }
}

/// A lower part through a power cycle: not hotter at the cold end, and mostly not hotter than the dies.
fn cooler(c: &mut Checker, at: &str, part: &str, [cold, hot]: [&Temperature; 2], dies: &Temperature) {
    if cold.si() > hot.si() {
        let finding = Finding::error(
            "temperatures-order",
            format!("the {part} is at {cold} when the dies are cold and at {hot} when they are hot"),
        )
        .allowed("the temperature at the cold end first, the one at the hot end not below it");
        c.at(at, finding);
    } else if hot.si() > dies.si() {
        let finding = Finding::warning(
            "part-hotter",
            format!("at the hot end the {part} is at {hot} and the dies are at {dies}"),
        )
        .allowed("a lower part that is no hotter than the dies that heat it")
        .mend("look at the order of the two temperatures, or name what heats it in the cycle's `name`");
        c.at(at, finding);
    }
}

/// A temperature at which a polymer hardens.
fn cured(c: &mut Checker, at: &str, temperature: &Temperature, what: &str) {
    if !(273.15..=573.15).contains(&temperature.si()) {
        let finding =
            Finding::error("cure-range", format!("no underfill or adhesive is {what} at {temperature}"))
                .allowed("0 degC to 300 degC; 120 degC to 180 degC is usual (common practice)");
        c.at(at, finding);
    }
}

fn rising(c: &mut Checker, path: &str, low: (&str, &Temperature), high: (&str, &Temperature)) {
    if low.1.si() >= high.1.si() {
        let finding = Finding::error(
            "temperatures-order",
            format!("{} is {} and {} is {}", low.0, low.1, high.0, high.1),
        )
        .allowed(format!("{} above {}", high.0, low.0));
        c.at(path, finding);
    }
}
