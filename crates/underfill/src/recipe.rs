//! The process sheet: steps with setting, limit, inspection and caution, in the order of the work.
//!
//! Limits without a source are common practice and say so. Cautions defer to safety data sheets, makers' instructions, local codes
//! and licensed practice.

use crate::outcome::SheetLine;
use crate::problem::{Edge, Face, Pattern, PlasmaGas};
use crate::solve::Work;

const EPOXY: &str = "Uncured epoxy irritates and sensitises skin: gloves and drawn-off air; follow the safety data sheet and local codes.";
const HEAT: &str =
    "Hot plates, parts and ovens burn; guard them and follow the maker's instructions and local codes.";

struct Sheet(Vec<SheetLine>);

impl Sheet {
    fn line(&mut self, step: &str, setting: String, limit: String, inspection: &str, caution: &str) {
        self.0.push(SheetLine {
            step: step.into(),
            setting,
            limit,
            inspection: inspection.into(),
            caution: caution.into(),
        });
    }
}

pub(crate) fn sheet(work: &Work<'_>, full: Option<f64>) -> Vec<SheetLine> {
    let p = work.problem;
    let celsius = |k: f64| format!("{:.0} degC", k - 273.15);
    let mut sheet = Sheet(Vec::new());
    if let Some((temperature, time)) = p.bake {
        sheet.line(
            "bake",
            format!("{} for {:.1} h", celsius(temperature), time / 3600.0),
            "125 degC for 2 to 24 h (common practice)".into(),
            "weigh a witness part before and after",
            HEAT,
        );
    }
    if let Some(plasma) = p.plasma {
        let pressure = plasma.pressure_pa.map_or(String::new(), |pa| format!(" at {pa:.0} Pa"));
        let gas = match plasma.gas {
            PlasmaGas::Oxygen | PlasmaGas::ArgonOxygen => "oxygen attacks bare copper, silver and solder",
            PlasmaGas::Argon => "argon alone may leave a conducting film on polyimide",
            PlasmaGas::ArgonHydrogen | PlasmaGas::NitrogenHydrogen => {
                "hydrogen reduces oxides and removes organics slowly"
            }
        };
        sheet.line(
            "plasma",
            format!("{}, {:.0} W{pressure}, {:.0} s", plasma.gas.words(), plasma.power_w, plasma.time_s),
            format!("100 to 500 W, 13 to 53 Pa, 30 to 300 s (common practice); {gas}"),
            "water angle on a witness part before and after, five places",
            "Radio-frequency power, low pressure and reactive gas: trained staff only, interlocks in order, exhaust drawn off; flammable \
             gas needs its own safeguards; follow the maker's instructions, local codes and licensed practice.",
        );
        sheet.line(
            "queue",
            format!("{:.1} h from plasma to dispense", p.queue_s / 3600.0),
            "at most 4 h, water angle at most 30 deg (common practice)".into(),
            "water angle on a witness part when dispensing; clean again above 40 deg",
            "",
        );
    }
    let heating = p
        .dispense
        .heating
        .map_or(String::new(), |(from, rate)| format!(", from {} at {:.1} K/s", celsius(from), rate));
    for cleaning in &work.cleaning {
        let Some(of) = &cleaning.sheet else { continue };
        for line in &of.lines {
            let step = match cleaning.face {
                Face::Substrate => line.step.clone(),
                other => format!("{}, {}", line.step, other.words()),
            };
            sheet.0.push(SheetLine { step, ..line.clone() });
        }
    }
    sheet.line(
        "preheat",
        format!("substrate at {}{heating}", celsius(p.dispense.temperature_k)),
        format!("viscosity {:.3} Pa s there", work.viscosity),
        "thermocouple on the substrate beside the die",
        HEAT,
    );
    let edge = match p.dispense.edge {
        Some(Edge::Left) => "left edge first",
        Some(Edge::Right) => "right edge first",
        Some(Edge::Bottom) => "bottom edge first",
        Some(Edge::Top) => "top edge first",
        None => "longest edge first",
    };
    let passes = p.dispense.passes;
    let a_pass = work.dispensed * 1e9 / f64::from(passes);
    let offset = p.dispense.offset_m.map_or(String::new(), |m| format!(", {:.2} mm from the edge", m * 1e3));
    let wait = if passes > 1 { format!(", every {:.0} s", p.dispense.wait_s) } else { String::new() };
    let limit = match work.most_a_pass {
        Some(most) => format!(
            "at most {:.2} mm3 a pass by the offset; volume within 5 to 10 % (common practice)",
            most * 1e9
        ),
        None => "volume within 5 to 10 % (common practice)".into(),
    };
    sheet.line(
        "dispense",
        format!(
            "{} along the {edge}{offset}: {passes} x {a_pass:.2} mm3{wait}",
            if p.dispense.pattern == Pattern::Line {
                "a line".into()
            } else {
                format!("pattern {}", p.dispense.pattern.words())
            }
        ),
        limit,
        "weigh each shot; look for beads on the die's back",
        EPOXY,
    );
    let (setting, limit) = match full {
        Some(time) => (
            format!("hold {} for {:.0} s", celsius(p.dispense.temperature_k), time),
            work.gel[0].map_or("does not gel in that time".to_string(), |gel| {
                format!("gel after {:.0} min at that temperature", gel / 60.0)
            }),
        ),
        None => (
            "does not fill: do not release this recipe".into(),
            "a positive driving pressure, enough volume, no gel".into(),
        ),
    };
    sheet.line("flow out", setting, limit, "all four sides show underfill before the next step", EPOXY);
    if p.dispense.pattern != Pattern::Line {
        sheet.line(
            "vent",
            "leave the last side open until the front has come through, then seal it".into(),
            "no bead on an open side before (common practice)".into(),
            "look along the open side",
            EPOXY,
        );
    }
    sheet.line(
        "fillet",
        format!("{:.0} um high, {:.0} um wide", work.fillet.0 * 1e6, work.fillet.1 * 1e6),
        "50 to 75 % of the die's thickness on all four sides (common practice)".into(),
        "microscope from the side, four sides and corners",
        EPOXY,
    );
    for (i, step) in p.cure.iter().enumerate() {
        sheet.line(
            &format!("cure, step {}", i + 1),
            format!(
                "{:.0} min ramp to {}, {:.0} min hold",
                step.ramp_s / 60.0,
                celsius(step.temperature_k),
                step.hold_s / 60.0
            ),
            if i + 1 == p.cure.len() {
                format!("{:.1} % cured at the end", 100.0 * work.degree[0])
            } else {
                String::from("oven within 5 K (common practice)")
            },
            "degree of cure of a witness sample by calorimetry",
            "Curing epoxy gives off vapour and heat: draw the air off; follow the safety data sheet, the maker's instructions and local codes.",
        );
    }
    sheet.line(
        "inspect",
        "acoustic micrograph of the die's interface".into(),
        "voids up to 5 % of the area, none that bridges two bumps (common practice)".into(),
        "first parts of a lot, then a sample",
        "",
    );
    sheet.0
}
