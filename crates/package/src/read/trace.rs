//! Reading a power trace: a column of time and one of power for each die or block that follows it.

use crate::die::Die;
use crate::files::TABLE_LIMIT;
use crate::limits;
use crate::places::cell_range;
use crate::power_trace::{PowerCourse, PowerTrace};
use crate::read::node::Reader;
use crate::read::text_of;
use crate::read::values::of_quantity;
use facedown_diagnostic::{Finding, Place, nearest};
use facedown_quantity::{Kind, KindTable, kind, read_as};

const TIME: &KindTable = kind::Time::TABLE;
const POWER: &KindTable = kind::Power::TABLE;
/// Findings of one trace that are shown one by one.
const SHOWN: usize = 10;
/// Path of its name in the design.
const PATH: &str = "power_trace.table";

/// Reads the table that a trace names.
pub fn load(reader: &mut Reader, trace: &mut PowerTrace, dies: &[Die]) {
    let file = trace.table.as_str().to_owned();
    let named_at = reader.places.value(PATH);
    let Some(text) = text_of(reader, &file, TABLE_LIMIT, named_at.clone()) else { return };
    let mut records = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .flexible(true)
        .has_headers(false)
        .trim(csv::Trim::All)
        .from_reader(std::io::Cursor::new(text.as_bytes().to_vec()));
    let mut record = csv::StringRecord::new();
    let mut units: Vec<String> = Vec::new();
    let (mut times, mut courses): (Vec<f64>, Vec<PowerCourse>) = (Vec::new(), Vec::new());
    let mut found = 0;
    let mut fault = |reader: &mut Reader, finding: Finding| {
        found += 1;
        if found <= SHOWN {
            reader.report(finding);
        }
        reader.incomplete = true;
    };
    loop {
        let start = usize::try_from(records.position().byte()).unwrap_or(usize::MAX);
        let at = |index: Option<usize>| Place::new(&file, cell_range(&text, start, index));
        match records.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(error) => {
                let finding = Finding::error("not-csv", format!("{file} cannot be read further: {error}"));
                fault(reader, finding.at(at(None)));
                return;
            }
        }
        if units.is_empty() {
            let Some((read, named)) = heading(reader, &record, &at, dies) else { return };
            (units, courses) = (read, named);
            continue;
        }
        if times.len() >= limits::TRACE {
            let finding =
                Finding::error("too-many-rows", format!("{file} has more than {} rows", limits::TRACE));
            let finding = finding.at(at(None)).allowed(format!("at most {} rows", limits::TRACE));
            fault(reader, finding.mend("leave out rows whose powers are those of the row before"));
            return;
        }
        if record.len() < units.len() {
            let what = format!("the row has {} cells, the heading {}", record.len(), units.len());
            let finding = Finding::error("short-row", what).at(at(None));
            fault(reader, finding.mend("add the missing cells, or the comma that separates them"));
            continue;
        }
        let mut values = Vec::with_capacity(units.len());
        for (index, unit) in units.iter().enumerate() {
            let (cell, kind) = (record.get(index).unwrap_or(""), if index == 0 { TIME } else { POWER });
            let read = if cell.parse::<f64>().is_ok() {
                read_as(&format!("{cell} {unit}"), kind)
            } else {
                read_as(cell, kind)
            };
            match read {
                Ok(read) if index > 0 && read.si < 0.0 => {
                    let finding = Finding::error("negative", format!("`{cell}` is below zero"));
                    fault(reader, finding.at(at(Some(index))).allowed("a power of zero or more"));
                }
                Ok(read) => values.push(read.si),
                Err(error) => fault(reader, of_quantity(&error).at(at(Some(index)))),
            }
        }
        if values.len() < units.len() {
            continue;
        }
        if let Some(last) = times.last()
            && values[0] <= *last
        {
            let finding =
                Finding::error("time-back", "the time of this row is not after that of the row before");
            fault(reader, finding.at(at(Some(0))).allowed("times that rise from row to row"));
            continue;
        }
        times.push(values[0]);
        courses.iter_mut().zip(&values[1..]).for_each(|(course, power)| course.powers_w.push(*power));
    }
    if found > SHOWN {
        let what = format!("{file} has {} further faults", found - SHOWN);
        reader.report(Finding::error("more-faults", what).mend("mend the first ones and check again"));
    }
    if found == 0 && times.len() < 2 {
        let rows = if times.is_empty() { "no rows" } else { "a single row" };
        let finding = Finding::error("record-too-short", format!("the trace {file} has {rows}")).allowed(
            "two rows and more: the powers of a row hold until the next one, the last row ends the trace",
        );
        reader.report(Finding { place: named_at, ..finding });
        return;
    }
    if found == 0 {
        (trace.times_s, trace.courses) = (times, courses);
    }
}

/// Units of all columns, and what follows the trace.
fn heading(
    reader: &mut Reader,
    record: &csv::StringRecord,
    at: &dyn Fn(Option<usize>) -> Place,
    dies: &[Die],
) -> Option<(Vec<String>, Vec<PowerCourse>)> {
    let (mut units, mut courses): (Vec<String>, Vec<PowerCourse>) = (Vec::new(), Vec::new());
    let mut sound = true;
    let mut refuse = |reader: &mut Reader, finding: Finding| {
        sound = false;
        reader.report(finding);
    };
    if record.len() < 2 {
        let finding = Finding::error("missing-column", "the trace has no column of power");
        let finding = finding
            .at(at(None))
            .allowed("`time (ms)` and a column such as `core (W)` for each that follows it");
        reader.report(finding);
        return None;
    }
    for (index, cell) in record.iter().enumerate() {
        let kind = if index == 0 { TIME } else { POWER };
        let bracket = cell.rfind(['(', '[']).filter(|_| cell.ends_with([')', ']']));
        let (name, unit) = match bracket {
            Some(from) => (cell[..from].trim(), cell[from + 1..cell.len() - 1].trim()),
            None => (cell, ""),
        };
        if index == 0 && !name.eq_ignore_ascii_case("time") {
            let finding =
                Finding::error("missing-column", format!("the first column is `{cell}`, not the time"));
            refuse(reader, finding.at(at(Some(0))).allowed("`time (ms)` first").mend("write `time (ms)`"));
        }
        if kind.unit(unit).is_none() {
            let what = if unit.is_empty() {
                Finding::error(
                    "unit-missing",
                    format!("`{cell}` names no unit; {} belongs here", kind.a_name),
                )
            } else {
                Finding::error("unit-unknown", format!("`{unit}` is not a unit of {}", kind.a_name))
            };
            let mend = format!("write `{name} ({})`", kind.customary);
            refuse(reader, what.at(at(Some(index))).allowed(kind.unit_list()).mend(mend));
        }
        units.push(unit.to_owned());
        if index == 0 {
            continue;
        }
        match found(name, dies) {
            Ok((die, block)) => {
                let meets = |c: &&PowerCourse| {
                    c.die == die && (c.block == block || c.block.is_none() || block.is_none())
                };
                if let Some(other) = courses.iter().find(meets) {
                    let what = format!("`{name}` has its power from `{}` already", other.name);
                    let finding = Finding::error("power-twice", what).at(at(Some(index)));
                    refuse(
                        reader,
                        finding
                            .allowed("each block once, or its whole die")
                            .mend("remove one of the two columns"),
                    );
                }
                courses.push(PowerCourse { name: name.into(), die, block, powers_w: Vec::new() });
            }
            Err(finding) => refuse(reader, (*finding).at(at(Some(index)))),
        }
    }
    if courses.len() > limits::COURSES {
        let what = format!("{} dies and blocks follow the trace", courses.len());
        let finding = Finding::error("too-many-columns", what).at(at(None));
        let finding =
            finding.allowed(format!("up to {}: each is followed by a model of its own", limits::COURSES));
        refuse(reader, finding.mend("join blocks that go together, or take the whole die"));
    }
    sound.then_some((units, courses))
}

/// The die or block of a name.
fn found(name: &str, dies: &[Die]) -> Result<(usize, Option<usize>), Box<Finding>> {
    let whole = |wanted: &str| dies.iter().position(|d| d.name.as_str() == wanted);
    let block =
        |die: &Die, wanted: &str| die.power_blocks.iter().position(|b| b.name.as_deref() == Some(wanted));
    if let Some(die) = whole(name) {
        return Ok((die, None));
    }
    if let Some((die, part)) = name.split_once('.')
        && let Some(die) = whole(die)
        && let Some(part) = block(&dies[die], part)
    {
        return Ok((die, Some(part)));
    }
    let having: Vec<(usize, usize)> =
        dies.iter().enumerate().filter_map(|(i, d)| block(d, name).map(|b| (i, b))).collect();
    match having.as_slice() {
        [(die, part)] => return Ok((*die, Some(*part))),
        [] => {}
        [(first, _), ..] => {
            let finding =
                Finding::error("name-ambiguous", format!("{} dies have a block `{name}`", having.len()));
            let mend = format!("write `{}.{name}`, with the die that is meant", dies[*first].name);
            return Err(Box::new(finding.mend(mend)));
        }
    }
    let mut known: Vec<String> = dies.iter().map(|d| d.name.to_string()).collect();
    for die in dies {
        let names = die.power_blocks.iter().filter_map(|b| b.name.as_ref());
        known.extend(names.flat_map(|b| [b.clone(), format!("{}.{b}", die.name)]));
    }
    let finding =
        Finding::error("block-unknown", format!("no die and no block of a power map is called `{name}`"))
            .allowed("names of dies, and of blocks that a power map names in its column `name`");
    let finding = match nearest(name, known.iter().map(String::as_str)) {
        Some(right) => finding.mend(format!("write `{right}`")),
        None => finding,
    };
    Err(Box::new(finding))
}
