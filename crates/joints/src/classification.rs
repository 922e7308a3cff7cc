//! The classification profile of J-STD-020, against which an assembly reflow is read.
//!
//! A part is qualified up to its classification temperature, which its maker must reach and its user must not exceed.
//! The table goes by thickness and volume of the body without balls. Limits of the profile: J-STD-020, revision D. It
//! is the profile of a qualification, not a recipe for a joint, so the least times of its preheat and of its time above
//! liquidus are not asked of the assembly; its largest ones are.

use crate::outcome::Clause;
use crate::problem::{Body, Reflow};
use crate::reflow::Curve;

/// Kelvin at 0 degC.
const ZERO_CELSIUS: f64 = 273.15;

/// Classification temperature, K, of a body of the given thickness in m and volume in m3 (J-STD-020, tables of
/// classification temperatures: lead-free since revision B; tin-lead 235 and 220 degC since revision D, the places of
/// the cells from memory).
pub fn temperature(thickness: f64, volume: f64, lead_free: bool) -> f64 {
    // The tables are in mm and mm3. Lead-free rows are "< 1.6", "1.6 - 2.5" and "> 2.5", columns "< 350", "350 - 2000" and
    // "> 2000"; the tin-lead table has "< 2.5" and ">= 2.5". A body that measures exactly the limit, whatever its last
    // digit, belongs where the standard puts it.
    let close = 1.0 + 1e-9;
    let (thickness, volume) = (thickness * 1e3, volume * 1e9);
    let column = if volume * close < 350.0 {
        0
    } else if volume <= 2000.0 * close {
        1
    } else {
        2
    };
    let celsius = if lead_free {
        let row = if thickness * close < 1.6 {
            [260.0, 260.0, 260.0]
        } else if thickness <= 2.5 * close {
            [260.0, 250.0, 245.0]
        } else {
            [250.0, 245.0, 245.0]
        };
        row[column]
    } else if thickness * close < 2.5 && column == 0 {
        235.0
    } else {
        220.0
    };
    celsius + ZERO_CELSIUS
}

/// The largest values of the classification profile, each against the reflow.
pub fn clauses(body: &Body, reflow: &Reflow, curve: &Curve, lead_free: bool) -> Vec<Clause> {
    let class = temperature(body.thickness, body.width * body.height * body.thickness, lead_free);
    let clause = |what: &str, value: f64, limit: f64, unit: &str| Clause {
        what: what.into(),
        value,
        limit,
        unit: unit.into(),
        // A value that was meant to be the limit is kept whatever its last digit.
        kept: value <= limit + 1e-9 * limit.abs(),
    };
    let (liquidus, near, climb) = if lead_free { (217.0, 30.0, 480.0) } else { (183.0, 20.0, 360.0) };
    vec![
        clause("peak temperature", reflow.peak - ZERO_CELSIUS, class - ZERO_CELSIUS, "degC"),
        clause("preheat time", reflow.preheat_time, 120.0, "s"),
        clause("heating rate", reflow.ramp_up, 3.0, "K/s"),
        clause("time above liquidus of the class", curve.time_above(liquidus + ZERO_CELSIUS), 150.0, "s"),
        clause("time within 5 K of the classification temperature", curve.time_above(class - 5.0), near, "s"),
        clause("cooling rate", reflow.ramp_down, 6.0, "K/s"),
        clause("time from 25 degC to peak", curve.time_to_peak(), climb, "s"),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cell_of_both_tables() {
        let celsius = |thickness: f64, volume: f64, lead_free| {
            (temperature(thickness * 1e-3, volume * 1e-9, lead_free) - ZERO_CELSIUS).round()
        };
        let rows = [
            (1.0, [260.0, 260.0, 260.0]),
            (1.6, [260.0, 250.0, 245.0]),
            (2.4, [260.0, 250.0, 245.0]),
            (2.5, [260.0, 250.0, 245.0]),
            (2.501, [250.0, 245.0, 245.0]),
            (4.0, [250.0, 245.0, 245.0]),
        ];
        for (thickness, row) in rows {
            for (volume, expected) in [100.0, 349.0].into_iter().map(|v| (v, row[0])).chain([
                (350.0, row[1]),
                (2000.0, row[1]),
                (2001.0, row[2]),
            ]) {
                assert_eq!(celsius(thickness, volume, true), expected, "{thickness} {volume}");
            }
        }
        assert_eq!(
            (celsius(2.4, 349.0, false), celsius(2.4, 350.0, false), celsius(2.5, 10.0, false)),
            (235.0, 220.0, 220.0)
        );
    }
}
