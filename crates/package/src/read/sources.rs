//! The tables, grids and layouts that a design names: pads, bumps, power maps and grids, power traces, voids, currents,
//! contact-angle readings, recorded temperatures.

use crate::bumps::BumpSite;
use crate::design::Design;
use crate::die::Die;
use crate::files::PICTURE_LIMIT;
use crate::form::Interface;
use crate::grid::{PowerGrid, PowerGridSource};
use crate::limits;
use crate::mission::RecordedTemperature;
use crate::nets::NetClass;
use crate::pads::{NetCurrent, Pad, PadSource, PowerBlock};
use crate::read::bytes_of;
use crate::read::grid::{Held, grid};
use crate::read::node::Reader;
use crate::read::table::{Column, Table};
use crate::read::trace;
use crate::read::values::either;
use crate::readings::{AngleReading, ProbeLiquid, WettedFace};
use facedown_diagnostic::{Finding, Place, nearest};
use facedown_quantity::{Kind, KindTable, Nm, kind};

const LENGTH: &KindTable = kind::Length::TABLE;
const CURRENT: &KindTable = kind::Current::TABLE;
const POWER: &KindTable = kind::Power::TABLE;
const ANGLE: &KindTable = kind::Angle::TABLE;
const VOLUME: &KindTable = kind::Volume::TABLE;
const TIME: &KindTable = kind::Time::TABLE;
const TEMPERATURE: &KindTable = kind::Temperature::TABLE;

const PADS: &[Column] = &[
    Column::text("name", true),
    Column::text("net", true),
    Column::quantity("x", &[], LENGTH, true),
    Column::quantity("y", &[], LENGTH, true),
    Column::quantity("width", &["w"], LENGTH, false),
    Column::quantity("height", &["h"], LENGTH, false),
    Column::text("class", false),
    Column::quantity("current", &[], CURRENT, false),
];

const BUMPS: &[Column] = &[
    Column::text("name", true),
    Column::quantity("x", &[], LENGTH, true),
    Column::quantity("y", &[], LENGTH, true),
    Column::text("net", false),
];

const BLOCKS: &[Column] = &[
    Column::text("name", false),
    Column::quantity("x", &[], LENGTH, true),
    Column::quantity("y", &[], LENGTH, true),
    Column::quantity("width", &["w"], LENGTH, true),
    Column::quantity("height", &["h"], LENGTH, true),
    Column::quantity("power", &[], POWER, true),
];

const CURRENTS: &[Column] = &[Column::text("net", true), Column::quantity("current", &[], CURRENT, true)];

const READINGS: &[Column] = &[
    Column::text("face", true),
    Column::text("liquid", true),
    Column::quantity("angle", &[], ANGLE, false),
    Column::quantity("volume", &[], VOLUME, false),
    Column::quantity("diameter", &[], LENGTH, false),
    Column::text("picture", false),
    Column::quantity("pixel", &[], LENGTH, false),
    Column::quantity("x", &[], LENGTH, false),
    Column::quantity("y", &[], LENGTH, false),
    Column::text("lot", false),
    Column::quantity("spread", &[], ANGLE, false),
    Column::quantity("plasma", &["plasma time", "plasma_time"], TIME, false),
    Column::quantity("power", &[], POWER, false),
    Column::quantity("age", &[], TIME, false),
];

const HISTORY: &[Column] =
    &[Column::quantity("time", &[], TIME, true), Column::quantity("temperature", &[], TEMPERATURE, true)];

/// Reads everything that the design names.
pub fn load(design: &mut Design, reader: &mut Reader) {
    if design.dies.len() > limits::DIES {
        let finding = Finding::error("too-many-dies", format!("the design has {} dies", design.dies.len()));
        reader.report(finding.allowed(format!("at most {}", limits::DIES)));
        design.dies.truncate(limits::DIES);
    }
    for (index, die) in design.dies.iter_mut().enumerate() {
        let at = format!("die[{index}]");
        let corners: usize = die.keep_outs.iter().map(|k| k.polygon.as_ref().map_or(4, Vec::len)).sum();
        if corners > limits::KEEP_OUT_CORNERS {
            let finding = Finding::error(
                "too-many-corners",
                format!("the keep-outs of `{}` have {corners} corners", die.name),
            )
            .allowed(format!("up to {} corners a die", limits::KEEP_OUT_CORNERS))
            .mend("join keep-outs, or use rectangles");
            let place = reader.places.value(&format!("{at}.keep_out"));
            reader.report(Finding { place, ..finding });
            die.keep_outs.clear();
        }
        if let Some(bumps) = &die.bumps
            && let Some(table) = &bumps.table
        {
            die.bump_list = bump_table(reader, &format!("{at}.bumps.table"), table.as_str());
        }
        if let Some(source) = die.pads.clone() {
            die.pad_list = pads(reader, &format!("{at}.pads"), &source);
        }
        if let Some(table) = &die.power_map {
            die.power_blocks = power_blocks(reader, &format!("{at}.power_map"), table.as_str());
        }
        if let Some(source) = die.power_grid.clone() {
            die.power_cells = power_grid(reader, &format!("{at}.power_grid"), &source, die);
        }
        if let Some(table) = &die.currents {
            die.current_list = currents(reader, &format!("{at}.currents"), table.as_str());
        }
    }
    void_maps(reader, "", &mut design.interfaces);
    for (index, variant) in design.variants.iter_mut().enumerate() {
        void_maps(reader, &format!("variant[{index}]."), &mut variant.interfaces);
    }
    if let Some(course) = &mut design.power_trace {
        trace::load(reader, course, &design.dies);
    }
    if let Some(clean) = design.process.as_mut().and_then(|p| p.clean.as_mut())
        && let Some(table) = &clean.readings
    {
        clean.reading_list = readings(reader, "process.clean.readings", table.as_str());
    }
    if let Some(clean) = design.process.as_mut().and_then(|p| p.clean.as_mut()) {
        for (index, residue) in clean.residues.iter_mut().enumerate() {
            if let Some(map) = &residue.map {
                let path = format!("process.clean.residue[{index}].map");
                residue.cells = grid(reader, &path, map.as_str(), RESIDUE_CELLS).map(|(_, cells)| cells);
            }
        }
    }
    if let Some(fill) = design.process.as_mut().and_then(|p| p.underfill.as_mut()) {
        for (index, scan) in fill.micrographs.iter_mut().enumerate() {
            let place = reader.places.value(&format!("process.underfill.micrograph[{index}].picture"));
            scan.bytes = bytes_of(reader, scan.picture.as_str(), PICTURE_LIMIT, place).unwrap_or_default();
        }
    }
    if let Some(history) = design.mission.as_mut().and_then(|m| m.history.as_mut()) {
        history.points = recorded(reader, "mission.history.table", history.table.as_str());
    }
}

fn pads(reader: &mut Reader, path: &str, source: &PadSource) -> Vec<Pad> {
    match source {
        // The pads of an array are made from its sites, once these are known.
        PadSource::AtBumps(_) => Vec::new(),
        PadSource::Path(file) => pad_table(reader, path, file.as_str(), None),
        PadSource::Table(table) => {
            let opening = table.opening.and_then(|[w, h]| Some((w.value().to_nm()?, h.value().to_nm()?)));
            pad_table(reader, path, table.csv.as_str(), opening)
        }
        PadSource::Gdsii(source) => crate::mask::gdsii::pads(reader, path, source),
        PadSource::Def(source) => crate::mask::lefdef::pads(reader, path, source),
    }
}

fn pad_table(reader: &mut Reader, path: &str, file: &str, opening: Option<(Nm, Nm)>) -> Vec<Pad> {
    let mut pads = Vec::new();
    let Some(mut table) = Table::open(reader, path, file, PADS) else { return pads };
    let sized = table.has("width") && table.has("height");
    if !sized && opening.is_none() && !table.is_misspelt() {
        let finding =
            Finding::error("missing-column", format!("{file} does not say how large its openings are"))
                .at(table.place("name"))
                .allowed("columns width and height, or one opening for all pads in the design file")
                .mend(format!("write `pads = {{ csv = \"{file}\", opening = [\"60 um\", \"60 um\"] }}`"));
        table.fault(finding);
    }
    let mut rows = 0;
    while table.next(rows, limits::PADS) {
        rows += 1;
        let name = table.name("name");
        let net = table.text("net").unwrap_or("").to_owned();
        let (x, y) = (table.length("x"), table.length("y"));
        let (width, height) =
            if sized { (table.length("width"), table.length("height")) } else { (None, None) };
        let class = class(&mut table);
        let current_a = table.quantity("current");
        let default = opening.filter(|_| !sized || (width.is_none() && height.is_none()));
        let size = width.zip(height).or(default);
        if let (Some(name), Some(x), Some(y), Some((width, height))) = (name, x, y, size) {
            pads.push(Pad { name, net, x, y, width, height, class, current_a });
            table.keep();
        }
    }
    table.close();
    pads
}

fn class(table: &mut Table) -> Option<NetClass> {
    choice(table, "class", "a class of nets", NetClass::WORDS)
}

/// The word in a cell, in upper or lower case; a finding where it is none of `words`.
fn choice<T: Copy>(
    table: &mut Table,
    column: &'static str,
    kind: &str,
    words: &[(&'static str, T)],
) -> Option<T> {
    let word = table.text(column)?.to_lowercase();
    let known = words.iter().find(|(w, _)| *w == word);
    if known.is_none() {
        let words: Vec<&str> = words.iter().map(|(w, _)| *w).collect();
        let finding = Finding::error("unknown-word", format!("`{word}` is not {kind}"))
            .at(table.place(column))
            .allowed(either(&words));
        let finding = match nearest(&word, words.iter().copied()) {
            Some(right) => finding.mend(format!("write `{right}`")),
            None => finding,
        };
        table.fault(finding);
    }
    known.map(|(_, value)| *value)
}

/// The same where a word must stand.
fn needed<T: Copy>(
    table: &mut Table,
    column: &'static str,
    kind: &str,
    words: &[(&'static str, T)],
) -> Option<T> {
    if table.text(column).is_none() && !table.is_short() {
        let allowed: Vec<&str> = words.iter().map(|(w, _)| *w).collect();
        let finding =
            Finding::error("empty-cell", format!("the cell `{column}` is empty; {kind} belongs here"))
                .at(table.place(column))
                .allowed(either(&allowed));
        table.fault(finding);
    }
    choice(table, column, kind, words)
}

fn bump_table(reader: &mut Reader, path: &str, file: &str) -> Vec<BumpSite> {
    let mut bumps = Vec::new();
    let Some(mut table) = Table::open(reader, path, file, BUMPS) else { return bumps };
    let mut rows = 0;
    while table.next(rows, limits::SITES) {
        rows += 1;
        let name = table.name("name");
        let (x, y) = (table.length("x"), table.length("y"));
        let net = table.text("net").map(str::to_owned);
        if let (Some(name), Some(x), Some(y)) = (name, x, y) {
            bumps.push(BumpSite { name, x, y, net });
            table.keep();
        }
    }
    table.close();
    bumps
}

fn power_blocks(reader: &mut Reader, path: &str, file: &str) -> Vec<PowerBlock> {
    let mut blocks = Vec::new();
    let Some(mut table) = Table::open(reader, path, file, BLOCKS) else { return blocks };
    let mut rows = 0;
    while table.next(rows, limits::POWER_BLOCKS) {
        rows += 1;
        let name = table.text("name").map(str::to_owned);
        let (x, y) = (table.length("x"), table.length("y"));
        let (width, height) = (table.length("width"), table.length("height"));
        let power_w = table.quantity("power");
        if let (Some(x), Some(y), Some(width), Some(height), Some(power_w)) = (x, y, width, height, power_w) {
            blocks.push(PowerBlock { name, x, y, width, height, power_w });
            table.keep();
        }
    }
    table.close();
    blocks
}

const POWER_CELLS: &[Held] = &[
    Held { name: "power", kind: POWER, bare: false, most: None },
    Held { name: "power density", kind: kind::PowerDensity::TABLE, bare: false, most: None },
];

const VOID_CELLS: &[Held] = &[Held {
    name: "void",
    kind: kind::Fraction::TABLE,
    bare: true,
    most: Some((1.0, "1, a cell that is all void")),
}];

const RESIDUE_CELLS: &[Held] = &[Held {
    name: "residue",
    kind: kind::Fraction::TABLE,
    bare: true,
    most: Some((1.0, "1, a cell that is all covered")),
}];

/// Power by cell, W.
fn power_grid(reader: &mut Reader, path: &str, source: &PowerGridSource, die: &Die) -> Option<PowerGrid> {
    let (at, origin_m, size_m) = match source {
        PowerGridSource::Path(_) => (path.to_owned(), [0.0; 2], [die.width.si(), die.height.si()]),
        PowerGridSource::Placed(placed) => {
            (format!("{path}.csv"), placed.origin.map(|v| v.si()), placed.size.map(|v| v.si()))
        }
    };
    let (what, mut cells) = grid(reader, &at, source.path(), POWER_CELLS)?;
    if what == 1 {
        let area = size_m[0] * size_m[1] / (cells.columns * cells.rows) as f64;
        cells.values.iter_mut().for_each(|v| *v *= area);
    }
    Some(PowerGrid { origin_m, size_m, cells })
}

fn void_maps(reader: &mut Reader, prefix: &str, interfaces: &mut [Interface]) {
    for (index, interface) in interfaces.iter_mut().enumerate() {
        if let Some(map) = &interface.void_map {
            let path = format!("{prefix}interface[{index}].void_map");
            interface.void_cells = grid(reader, &path, map.as_str(), VOID_CELLS).map(|(_, cells)| cells);
        }
    }
}

fn currents(reader: &mut Reader, path: &str, file: &str) -> Vec<NetCurrent> {
    let mut list = Vec::new();
    let Some(mut table) = Table::open(reader, path, file, CURRENTS) else { return list };
    let mut rows = 0;
    while table.next(rows, limits::PADS) {
        rows += 1;
        let (net, current_a) = (table.name("net"), table.quantity("current"));
        if let (Some(net), Some(current_a)) = (net, current_a) {
            list.push(NetCurrent { net, current_a });
            table.keep();
        }
    }
    table.close();
    list
}

fn readings(reader: &mut Reader, path: &str, file: &str) -> Vec<AngleReading> {
    let (mut list, mut pictures): (Vec<AngleReading>, Vec<(usize, Place)>) = (Vec::new(), Vec::new());
    let Some(mut table) = Table::open(reader, path, file, READINGS) else { return list };
    let mut rows = 0;
    while table.next(rows, limits::READINGS) {
        rows += 1;
        let face = needed(&mut table, "face", "a face that the underfill wets", WettedFace::WORDS);
        let liquid = needed(&mut table, "liquid", "a probe liquid", ProbeLiquid::WORDS);
        let angle_rad = table.quantity("angle");
        let (volume_m3, diameter_m) = (table.quantity("volume"), table.quantity("diameter"));
        let picture = table.text("picture").map(|p| (p.to_owned(), table.place("picture")));
        let pixel_m = table.quantity("pixel");
        let place_m = table.quantity("x").zip(table.quantity("y")).map(<[f64; 2]>::from);
        let lot = table.text("lot").map(str::to_owned);
        let (spread, plasma) = (table.quantity("spread"), table.quantity("plasma"));
        let (power_w, age) = (table.quantity("power"), table.quantity("age"));
        if let (Some(face), Some(liquid)) = (face, liquid) {
            pictures.extend(picture.as_ref().map(|(_, place)| (list.len(), place.clone())));
            list.push(AngleReading {
                face,
                liquid,
                angle_rad,
                volume_m3,
                diameter_m,
                picture: picture.map(|(file, _)| (file, Vec::new())),
                pixel_m,
                place_m,
                lot,
                spread_rad: spread.unwrap_or(0.0),
                plasma_s: plasma.unwrap_or(0.0),
                power_w,
                age_s: age.unwrap_or(0.0),
            });
            table.keep();
        }
    }
    table.close();
    for (row, place) in pictures {
        if let Some((file, bytes)) = list.get_mut(row).and_then(|r| r.picture.as_mut()) {
            *bytes = bytes_of(reader, file, PICTURE_LIMIT, Some(place)).unwrap_or_default();
        }
    }
    list
}

fn recorded(reader: &mut Reader, path: &str, file: &str) -> Vec<RecordedTemperature> {
    let mut list = Vec::new();
    let Some(mut table) = Table::open(reader, path, file, HISTORY) else { return list };
    let mut rows = 0;
    while table.next(rows, limits::HISTORY) {
        rows += 1;
        let (time, temperature) = (table.quantity("time"), table.quantity("temperature"));
        if let (Some(time_s), Some(temperature_k)) = (time, temperature) {
            list.push(RecordedTemperature { time_s, temperature_k });
            table.keep();
        }
    }
    table.close();
    list
}
