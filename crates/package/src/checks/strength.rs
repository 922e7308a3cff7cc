//! Strength of dies: numbers that a bending test can give.

use super::Checker;
use crate::values::Strength;
use facedown_diagnostic::Finding;

/// Characteristic strengths of thinned silicon, Pa; outside, the unit is wrong.
const USUAL_PA: std::ops::RangeInclusive<f64> = 20e6..=10e9;
/// Shapes that strength tests of brittle pieces show (common practice, no source).
const USUAL_SHAPE: std::ops::RangeInclusive<f64> = 1.0..=40.0;

pub fn check(c: &mut Checker) {
    let design = c.design;
    for (i, die) in design.dies.iter().enumerate() {
        let Some(strength) = &die.strength else { continue };
        let at = |key: &str| format!("die[{i}].strength.{key}");
        if let Some(back) = &strength.back {
            weibull(c, &at("back"), &back.characteristic, back.shape);
            if back.area.band().0 <= 0.0 {
                let finding =
                    Finding::error("not-positive", format!("{} is no area under stress", back.area)).allowed(
                        "an area above zero: that under the stress in the test, not the piece's whole back",
                    );
                c.at(&at("back.area"), finding);
            }
        }
        if let Some(edge) = &strength.edge {
            weibull(c, &at("edge"), &edge.characteristic, edge.shape);
            super::sizes::positive(c, &at("edge.length"), Some(&edge.length));
        }
        if strength.back.is_none() && strength.edge.is_none() {
            let finding =
                Finding::warning("no-strength", format!("the strength of die `{}` says nothing", die.name))
                    .mend("add [die.strength.back] or [die.strength.edge], or remove the table");
            c.absent(&at("back"), finding);
        }
    }
}

fn weibull(c: &mut Checker, at: &str, characteristic: &Strength, shape: f64) {
    if characteristic.band().0 <= 0.0 {
        let finding = Finding::error("not-positive", format!("{characteristic} is no strength"))
            .allowed("a stress above zero, with its tolerance");
        c.at(&format!("{at}.characteristic"), finding);
    } else if !USUAL_PA.contains(&characteristic.si()) {
        let finding = Finding::warning(
            "strength-range",
            format!("a strength of {characteristic} is not that of a die"),
        )
        .allowed("about 100 MPa to 1 GPa for ground and polished backs (common practice)")
        .mend("look at the unit: MPa may be meant");
        c.at(&format!("{at}.characteristic"), finding);
    }
    if !(0.5..=100.0).contains(&shape) {
        let finding = Finding::error("shape-range", format!("a Weibull shape of {shape} is none"))
            .allowed("a number from 0.5 to 100");
        c.at(&format!("{at}.shape"), finding);
    } else if !USUAL_SHAPE.contains(&shape) {
        let finding = Finding::warning("shape-range", format!("a Weibull shape of {shape} is unusual"))
            .allowed("1 to 40; 3 to 10 for dies (common practice)");
        c.at(&format!("{at}.shape"), finding);
    }
}
