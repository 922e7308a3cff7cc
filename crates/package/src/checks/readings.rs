//! Contact-angle readings: angles that exist, doses that are known, liquids that can tell a surface energy, changes that
//! go the way of plasma and ageing.

use super::{Checker, Many};
use crate::process::Clean;
use crate::readings::{AngleReading, ProbeLiquid, WettedFace};
use facedown_diagnostic::Finding;
use facedown_quantity::{Power, Time};

/// Path of the table.
const PATH: &str = "process.clean.readings";

pub fn check(c: &mut Checker) {
    let Some(clean) = c.design.process.as_ref().and_then(|p| p.clean.as_ref()) else { return };
    if clean.readings.is_none() {
        return;
    }
    if clean.reading_list.is_empty() {
        let finding = Finding::warning("no-readings", "the table of contact-angle readings has no rows")
            .mend("add a row a drop, or remove `readings`");
        c.absent(PATH, finding);
    }
    for (row, reading) in clean.reading_list.iter().enumerate() {
        dose(c, clean, row, reading);
        way(c, clean, row, reading);
    }
    numbers(c, clean);
    let missing: Vec<&str> = [
        ("plasma", clean.plasma.is_none()),
        ("power", clean.power.is_none()),
        ("time", clean.time.is_none()),
    ]
    .iter()
    .filter(|m| m.1)
    .map(|m| m.0)
    .collect();
    if !missing.is_empty()
        && !c.design.incomplete
        && let Some(row) = clean.reading_list.iter().position(AngleReading::is_treated)
    {
        let finding = Finding::warning(
            "plasma-not-planned",
            "readings after plasma are not used: the design does not say the plasma before underfill",
        )
        .allowed("plasma, power and time in [process.clean]")
        .mend(format!("add {} to [process.clean], or remove these readings", missing.join(", ")));
        place(c, row, "plasma", finding);
    }
    liquids(c, clean);
    order(c, clean);
}

/// Numbers of single readings.
fn numbers(c: &mut Checker, clean: &Clean) {
    let (mut angles, mut negative) = (Many::new(), Many::new());
    let design = c.design;
    let cell = |row: usize, column: &str| design.places.cell(PATH, row, column);
    for (row, r) in clean.reading_list.iter().enumerate() {
        let degrees = r.angle_rad.unwrap_or(0.0).to_degrees();
        if !(0.0..=180.0).contains(&degrees) {
            angles.push(c, cell(row, "angle"), || {
                Finding::error("angle-range", format!("{degrees:.1} deg is not a contact angle"))
                    .allowed("0 deg to 180 deg, measured through the liquid")
            });
        }
        let spread = r.spread_rad.to_degrees();
        for (column, value, what) in [
            ("spread", r.spread_rad, format!("a spread of {spread:.1} deg")),
            ("plasma", r.plasma_s, format!("a plasma of {}", Time::from_si(r.plasma_s))),
            ("age", r.age_s, format!("an age of {}", Time::from_si(r.age_s))),
        ] {
            if value < 0.0 {
                negative.push(c, cell(row, column), || {
                    Finding::error("negative", format!("{what} is below zero")).allowed("zero or more")
                });
            }
        }
    }
    angles.close(c, PATH, "angle-range", "readings are no contact angles");
    negative.close(c, PATH, "negative", "readings have numbers below zero");
}

/// The angle is read, or follows from the size or the picture of the drop: one of them.
fn way(c: &mut Checker, clean: &Clean, row: usize, r: &AngleReading) {
    let size = r.volume_m3.is_some() || r.diameter_m.is_some();
    let ways = [("angle", r.angle_rad.is_some()), ("volume", size), ("picture", r.picture.is_some())];
    let given: Vec<&str> = ways.iter().filter(|w| w.1).map(|w| w.0).collect();
    let allowed = "an angle, or volume and diameter of the drop, or its picture";
    match given[..] {
        // A column that is misspelt has been told already.
        [] if !c.design.incomplete || clean.reading_list.iter().any(|o| o.angle_rad.is_some()) => {
            let finding = Finding::error(
                "reading-empty",
                "the row has no angle and nothing that an angle follows from",
            );
            place(c, row, "liquid", finding.allowed(allowed));
        }
        [first, second, ..] => {
            let what = format!("the angle is written by `{first}` and again by `{second}`");
            let finding = Finding::error("reading-twice", what).allowed(allowed);
            place(c, row, second, finding.mend(format!("empty the cell `{first}` or `{second}`")));
        }
        ["volume"] if r.volume_m3.is_none() || r.diameter_m.is_none() => {
            let (has, lacks) =
                if r.volume_m3.is_some() { ("volume", "diameter") } else { ("diameter", "volume") };
            let finding = Finding::error("reading-half", format!("the drop has a {has} and no {lacks}"));
            place(
                c,
                row,
                has,
                finding.mend(format!("add the {lacks} of its base").replace("volume of its base", "volume")),
            );
        }
        ["volume"] => {
            for (column, value) in [("volume", r.volume_m3), ("diameter", r.diameter_m)] {
                if value.is_some_and(|v| v <= 0.0) {
                    let finding =
                        Finding::error("not-positive", format!("a {column} of zero or less is none"));
                    place(c, row, column, finding.allowed("more than zero"));
                }
            }
        }
        _ => {}
    }
    if r.pixel_m.is_some_and(|p| p <= 0.0) {
        let finding = Finding::error("not-positive", "a pixel of zero or less is none");
        place(c, row, "pixel", finding.allowed("a length above zero"));
    }
}

/// Plasma before one reading.
fn dose(c: &mut Checker, clean: &Clean, row: usize, r: &AngleReading) {
    let cell = |column: &str| c.design.places.cell(PATH, row, column);
    let (place, finding) = if !r.is_treated() && r.age_s > 0.0 {
        let age = Time::from_si(r.age_s);
        let finding = Finding::error(
            "age-without-plasma",
            format!("the drop was read {age} after plasma, and its time under plasma is zero"),
        )
        .allowed("an age on rows whose `plasma` is above zero")
        .mend("write the time under plasma, or leave the age empty for the untreated face");
        (cell("age"), finding)
    } else if r.is_treated() && r.power_w.or(clean.power.map(|p| p.si())).is_none() {
        let finding =
            Finding::error("plasma-power", "the power of the plasma before this reading is not known")
                .allowed("a column `power`, or `power` in [process.clean]")
                .mend("add the power: the dose is power times time");
        (cell("plasma"), finding)
    } else if r.is_treated() && r.power_w.is_some_and(|p| p <= 0.0) {
        let power = Power::from_si(r.power_w.unwrap_or(0.0));
        let finding = Finding::error("plasma-power", format!("a plasma of {power} is none"))
            .allowed("a power above zero")
            .mend("write the power, or a time under plasma of zero for the untreated face");
        (cell("power"), finding)
    } else {
        return;
    };
    c.place(place, finding);
}

/// The readings of one face, untreated or treated, with their rows.
fn of(clean: &Clean, face: WettedFace, treated: bool) -> Vec<(usize, &AngleReading)> {
    let list = clean.reading_list.iter().enumerate();
    list.filter(|(_, r)| r.face == face && r.is_treated() == treated).collect()
}

/// A surface energy needs two liquids.
fn liquids(c: &mut Checker, clean: &Clean) {
    for (_, face) in WettedFace::WORDS {
        for (treated, state) in [(false, "before plasma"), (true, "after plasma")] {
            let readings = of(clean, *face, treated);
            let Some((row, first)) = readings.first() else { continue };
            // The underfill itself tells the flow what it needs without a surface energy.
            if readings.iter().any(|(_, r)| r.liquid != first.liquid || r.liquid == ProbeLiquid::Underfill) {
                continue;
            }
            let other = match first.liquid {
                ProbeLiquid::Diiodomethane | ProbeLiquid::Bromonaphthalene => ProbeLiquid::Water,
                _ => ProbeLiquid::Diiodomethane,
            };
            let finding = Finding::advice(
                "one-probe-liquid",
                format!("on the {} only {} was read {state}", face.word(), first.liquid.word()),
            )
            .allowed("two different liquids and more, where a surface energy is to come of them")
            .mend(format!("read {} too", other.word()));
            if !c.design.incomplete {
                place(c, *row, "liquid", finding);
            }
        }
    }
}

/// Plasma lowers an angle and age raises it again; readings that say otherwise give no law.
fn order(c: &mut Checker, clean: &Clean) {
    for (_, face) in WettedFace::WORDS {
        let (before, after) = (of(clean, *face, false), of(clean, *face, true));
        for (word, liquid) in ProbeLiquid::WORDS {
            let pick = |list: &[(usize, &AngleReading)], dose: Option<f64>| -> Vec<(usize, f64, f64)> {
                let picked = list
                    .iter()
                    .filter(|(_, r)| r.liquid == *liquid && (dose.is_none() || r.dose_j(clean) == dose));
                picked.filter_map(|(row, r)| Some((*row, r.age_s, r.angle_rad?.to_degrees()))).collect()
            };
            let Some(fresh) = youngest(&pick(&after, None)) else { continue };
            if let Some(untreated) = youngest(&pick(&before, None))
                && fresh.angle >= untreated.angle
            {
                let finding = Finding::warning(
                    "readings-order",
                    format!(
                        "{word} on the {} reads {:.0} deg before plasma and {:.0} deg after it",
                        face.word(),
                        untreated.angle,
                        fresh.angle
                    ),
                )
                .allowed("a smaller angle after plasma; else no rate of the plasma comes of the readings")
                .mend("check which rows have a time under plasma, or measure again");
                place(c, fresh.row, "angle", finding);
            }
            let of_liquid = after.iter().filter(|(_, r)| r.liquid == *liquid);
            let Some((_, oldest)) = of_liquid.max_by(|a, b| a.1.age_s.total_cmp(&b.1.age_s)) else {
                continue;
            };
            // What age does is seen on faces of one dose.
            let same = pick(&after, oldest.dose_j(clean));
            let old: Vec<_> = same.iter().copied().filter(|r| r.1 == oldest.age_s).collect();
            let (Some(fresh), Some(old)) = (youngest(&same), youngest(&old)) else { continue };
            if old.age > fresh.age && old.angle < fresh.angle {
                let finding = Finding::warning(
                    "readings-order",
                    format!(
                        "{word} on the {} reads {:.0} deg at {} after plasma and {:.0} deg at {}",
                        face.word(),
                        fresh.angle,
                        Time::from_si(fresh.age),
                        old.angle,
                        Time::from_si(old.age)
                    ),
                )
                .allowed("an angle that rises with age; else no ageing comes of the readings")
                .mend("check the ages, or measure again");
                place(c, old.row, "age", finding);
            }
        }
    }
}

fn place(c: &mut Checker, row: usize, column: &str, finding: Finding) {
    let place = c.design.places.cell(PATH, row, column);
    c.place(place, finding);
}

/// Readings of one age: the first row, the age in s and the mean angle in degrees.
struct Mean {
    row: usize,
    age: f64,
    angle: f64,
}

/// The mean of the youngest readings (row, age, angle).
fn youngest(readings: &[(usize, f64, f64)]) -> Option<Mean> {
    let age = readings.iter().map(|r| r.1).min_by(f64::total_cmp)?;
    let same: Vec<_> = readings.iter().filter(|r| r.1 == age).collect();
    let angle = same.iter().map(|r| r.2).sum::<f64>() / same.len() as f64;
    Some(Mean { row: same.first()?.0, age, angle })
}
