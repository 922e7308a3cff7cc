//! Pads from LEF/DEF: the placed pins of a design and of its pad cells.

use super::{Box2, unique_name};
use crate::files::TABLE_LIMIT;
use crate::limits;
use crate::pads::{Pad, PadDef};
use crate::read::node::Reader;
use crate::read::text_of;
use facedown_diagnostic::Finding;
use facedown_layout::Point;
use facedown_maskdata::lefdef::{Def, Lef, Pin, pins, read_def, read_lef};
use std::collections::{BTreeMap, BTreeSet};

/// The pads of the placed design that the value at `path` names.
pub fn pads(reader: &mut Reader, path: &str, source: &PadDef) -> Vec<Pad> {
    let (Some(def), Some(lef)) = (def(reader, path, source), lef(reader, path, source)) else {
        return Vec::new();
    };
    let place = reader.places.value(&format!("{path}.def"));
    let list = match pins(&lef, &def, source.layer.as_deref()) {
        Ok(list) => list,
        Err(fault) => {
            let finding = fault.finding(source.def.as_str());
            reader.report(Finding { place: finding.place.clone().or(place), ..finding });
            return Vec::new();
        }
    };
    for (name, count) in &list.missing_macros {
        let finding = Finding::warning(
            "lef-macro-missing",
            format!("{count} components of the macro `{name}` are left out: no LEF file holds it"),
        )
        .mend("add the LEF file of the pad cells to `lef`, if these are pads");
        reader.report(Finding { place: place.clone(), ..finding });
    }
    if list.unplaced > 0 {
        let finding = Finding::warning(
            "def-unplaced",
            format!(
                "{} pins and components of {} are not placed and are left out",
                list.unplaced, source.def
            ),
        );
        reader.report(Finding { place: place.clone(), ..finding });
    }
    let layers: BTreeSet<&str> = list.pins.iter().map(|p| p.layer.as_str()).collect();
    let finding = if list.pins.is_empty() {
        let what = match &source.layer {
            Some(layer) => format!("no pin of {} has a shape on layer `{layer}`", source.def),
            None => format!("{} has no placed pins", source.def),
        };
        Some(
            Finding::error("def-no-pins", what)
                .allowed("placed pins, or placed pad cells whose LEF is named in `lef`"),
        )
    } else if layers.len() > 1 {
        let all: Vec<&str> = layers.iter().copied().collect();
        let what = format!("the pins have shapes on {} layers", all.len());
        let finding = Finding::error("def-layers", what).allowed(all.join(", "));
        Some(finding.mend(format!("add `layer = \"{}\"`, the layer of the pads", all[all.len() - 1])))
    } else if list.pins.len() > limits::PADS {
        let what = format!("{} pin shapes are on that layer", list.pins.len());
        Some(Finding::error("too-many-pads", what).allowed(format!("at most {} pads", limits::PADS)))
    } else {
        None
    };
    match finding {
        Some(finding) => {
            reader.report(Finding { place, ..finding });
            Vec::new()
        }
        None => named(&list.pins, &def),
    }
}

fn def(reader: &mut Reader, path: &str, source: &PadDef) -> Option<Def> {
    let place = reader.places.value(&format!("{path}.def"));
    let text = text_of(reader, source.def.as_str(), TABLE_LIMIT, place.clone())?;
    match read_def(&text) {
        Ok(def) => Some(def),
        Err(fault) => {
            let finding = fault.finding(source.def.as_str());
            reader.report(Finding { place: finding.place.clone().or(place), ..finding });
            None
        }
    }
}

fn lef(reader: &mut Reader, path: &str, source: &PadDef) -> Option<Lef> {
    let mut all = Lef { units_per_um: None, macros: BTreeMap::new() };
    for (i, file) in source.lef.iter().enumerate() {
        let place = reader.places.value(&format!("{path}.lef[{i}]"));
        let text = text_of(reader, file.as_str(), TABLE_LIMIT, place.clone())?;
        match read_lef(&text) {
            Ok(lef) => all.macros.extend(lef.macros),
            Err(fault) => {
                let finding = fault.finding(file.as_str());
                reader.report(Finding { place: finding.place.clone().or(place), ..finding });
                return None;
            }
        }
    }
    Some(all)
}

/// Pads named after their component, or after the pin where the design itself has it.
fn named(list: &[Pin], def: &Def) -> Vec<Pad> {
    let origin = Box2::around(&def.die).map_or(Point::default(), |b| b.low);
    let word = |pin: &Pin| pin.instance.clone().unwrap_or_else(|| pin.name.clone());
    let mut count: BTreeMap<String, usize> = BTreeMap::new();
    for pin in list {
        *count.entry(word(pin)).or_insert(0) += 1;
    }
    let mut taken: BTreeSet<String> =
        count.iter().filter(|(_, c)| **c == 1).map(|(n, _)| n.clone()).collect();
    let mut numbers = BTreeMap::new();
    let mut pads = Vec::new();
    for pin in list {
        let own = word(pin);
        let name = match (count.get(&own), &pin.instance) {
            (Some(1), _) => own,
            (_, Some(instance)) => unique_name(&format!("{instance}.{}", pin.name), &mut taken, &mut numbers),
            (_, None) => unique_name(&own, &mut taken, &mut numbers),
        };
        let net = pin.net.clone().unwrap_or_default();
        pads.push(Box2 { low: pin.low, high: pin.high }.pad(name, net, origin));
    }
    pads
}
