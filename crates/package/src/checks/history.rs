//! A recorded temperature: time that goes on, temperatures that a package can have, repeats that fit into the life.

use super::{Checker, Many};
use crate::mission::{Mission, TemperatureHistory};
use facedown_diagnostic::Finding;
use facedown_quantity::{Temperature, TemperatureDifference, Time};

/// Path of the table's name.
const PATH: &str = "mission.history.table";
/// Temperatures between which a package is recorded, K: -200 to 250 degC. Outside, kelvins were read as degrees or degrees as
/// kelvins.
const RECORDED_K: std::ops::RangeInclusive<f64> = 73.15..=523.15;

pub fn check(c: &mut Checker) {
    let Some(mission) = &c.design.mission else { return };
    let Some(history) = &mission.history else { return };
    numbers(c, history);
    if history.points.len() < 2 {
        let rows = match history.points.len() {
            0 => "no rows",
            _ => "a single row",
        };
        let finding =
            Finding::error("record-too-short", format!("the record of `{}` has {rows}", history.table))
                .allowed("two rows and more: a cycle goes from one temperature to another")
                .mend("export more of the record, or write the cycle as a table [[mission.cycle]]");
        c.absent(PATH, finding);
        return;
    }
    if rows(c, history) {
        length(c, mission, history);
        swings(c, history);
    }
}

/// The numbers beside the record.
fn numbers(c: &mut Checker, history: &TemperatureHistory) {
    if let Some(repeats) = history.repeats
        && repeats.si() <= 0.0
    {
        let finding = Finding::error("count-zero", format!("the record is repeated {repeats}"))
            .allowed("more than 0 cycles; left out, the life over the length of the record");
        c.at("mission.history.repeats", finding);
    }
    if let Some(gate) = history.gate
        && gate.si() < 0.0
    {
        let finding = Finding::error("negative", format!("a gate of {gate} is below zero"))
            .allowed("zero or more; swings below it are not counted");
        c.at("mission.history.gate", finding);
    }
}

/// Single rows; true where time goes on and temperatures are those of a package.
fn rows(c: &mut Checker, history: &TemperatureHistory) -> bool {
    let (mut back, mut odd) = (Many::new(), Many::new());
    let design = c.design;
    let cell = |row: usize, column: &str| design.places.cell(PATH, row, column);
    for (row, pair) in history.points.windows(2).enumerate() {
        if pair[1].time_s < pair[0].time_s {
            back.push(c, cell(row + 1, "time"), || {
                let [from, to] = [pair[0], pair[1]].map(|p| Time::from_si(p.time_s));
                Finding::error("times-order", format!("time goes back from {from} to {to}"))
                    .allowed("times that rise from row to row")
                    .mend("sort the rows by time; a record of several days counts its hours on")
            });
        }
    }
    for (row, point) in history.points.iter().enumerate() {
        if !RECORDED_K.contains(&point.temperature_k) {
            odd.push(c, cell(row, "temperature"), || {
                let what =
                    format!("{} is no temperature of a package", Temperature::from_si(point.temperature_k));
                Finding::error("temperature-range", what)
                    .allowed("-200 degC to 250 degC")
                    .mend("look at the unit of the column: degC or K may be meant")
            });
        }
    }
    let sound = back.count + odd.count == 0;
    back.close(c, PATH, "times-order", "times that go back");
    odd.close(c, PATH, "temperature-range", "temperatures that no package has");
    sound
}

/// The length of the record against the life.
fn length(c: &mut Checker, mission: &Mission, history: &TemperatureHistory) {
    let (length, life) = (history.length_s(), mission.life.si());
    if length <= 0.0 {
        let finding = Finding::error("record-too-short", "all rows of the record have one time")
            .allowed("a record that takes time")
            .mend("write the time of each row");
        c.at(PATH, finding);
        return;
    }
    if life <= 0.0 {
        return;
    }
    let repeats = history.repeats(life);
    if repeats * length > 1.01 * life {
        let finding = Finding::warning(
            "record-longer",
            format!(
                "the record of {} repeated {repeats:.0} times takes longer than the life of {}",
                Time::from_si(length),
                mission.life
            ),
        )
        .allowed(format!("{:.1} repeats fill the life", life / length))
        .mend("leave `repeats` out to fill the life with the record");
        c.at(if history.repeats.is_some() { "mission.history.repeats" } else { PATH }, finding);
    } else if length > life {
        let finding = Finding::warning(
            "record-longer",
            format!(
                "the record of {} is longer than the life of {}: {repeats:.2} of its cycles are counted",
                Time::from_si(length),
                mission.life
            ),
        )
        .mend("look at the units of time and life");
        c.at(PATH, finding);
    }
}

/// What of the record is counted.
fn swings(c: &mut Checker, history: &TemperatureHistory) {
    let Some((low, high)) = history.ends_k() else { return };
    let gate = history.gate_k();
    if gate >= high - low {
        let finding = Finding::warning(
            "nothing-counted",
            format!(
                "the widest swing of the record is {}, and the gate is {}: no cycle is counted",
                TemperatureDifference::from_si(high - low),
                TemperatureDifference::from_si(gate)
            ),
        )
        .allowed("a gate well below the swings that do damage");
        c.at("mission.history.gate", finding);
        return;
    }
    let (Some(first), Some(last)) = (history.points.first(), history.points.last()) else { return };
    let jump = (last.temperature_k - first.temperature_k).abs();
    if jump > gate {
        let finding = Finding::warning(
            "record-jumps",
            format!(
                "the record ends at {} and begins at {}; repeated, this step of {} is counted as a swing",
                Temperature::from_si(last.temperature_k),
                Temperature::from_si(first.temperature_k),
                TemperatureDifference::from_si(jump)
            ),
        )
        .allowed(format!(
            "ends that differ by less than the gate of {}",
            TemperatureDifference::from_si(gate)
        ))
        .mend("cut the record where it passes its first temperature again");
        let place = c.design.places.cell(PATH, history.points.len() - 1, "temperature");
        c.place(place, finding);
    }
}
