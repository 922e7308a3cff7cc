//! Pads from a GDSII layout: every shape on the layer of the openings is a pad, and the text inside it is its net.

use super::{Box2, unique_name};
use crate::files::TABLE_LIMIT;
use crate::limits;
use crate::near::{BUDGET, Near};
use crate::pads::{Pad, PadGdsii};
use crate::read::bytes_of;
use crate::read::node::Reader;
use facedown_diagnostic::{Finding, nearest};
use facedown_layout::Point;
use facedown_maskdata::gdsii::{Flat, FlatText, Limits, read};
use facedown_quantity::Nm;
use std::collections::{BTreeMap, BTreeSet};

/// What a layout may expand to, so that a small file cannot fill the memory.
const EXPANSION: Limits = Limits { elements: 1_000_000, points: 8_000_000, depth: 64 };

/// The pads of the layout that the value at `path` names.
pub fn pads(reader: &mut Reader, path: &str, source: &PadGdsii) -> Vec<Pad> {
    let file = source.gdsii.as_str();
    let place = reader.places.value(&format!("{path}.gdsii"));
    let Some(bytes) = bytes_of(reader, file, TABLE_LIMIT, place.clone()) else { return Vec::new() };
    let flat = read(&bytes).map_err(|fault| Box::new(fault.finding(file))).and_then(|library| {
        let cell = cell(&library.top_cells(), source, file)?;
        library.flatten(&cell, &EXPANSION).map_err(|fault| Box::new(fault.finding(file)))
    });
    match flat {
        Ok(flat) => from_flat(reader, path, source, &flat),
        Err(finding) => {
            reader.report(Finding { place, ..*finding });
            Vec::new()
        }
    }
}

fn cell(tops: &[&str], source: &PadGdsii, file: &str) -> Result<String, Box<Finding>> {
    let finding = match (&source.cell, tops) {
        (Some(cell), _) => return Ok(cell.clone()),
        (None, [one]) => return Ok((*one).to_owned()),
        (None, []) => {
            Finding::error("gdsii-no-cell", format!("{file} holds no cell that is not placed in another"))
        }
        (None, many) => {
            let what = format!("{file} has {} top cells, and the design names none", many.len());
            Finding::error("gdsii-no-cell", what)
                .allowed(many.iter().take(8).copied().collect::<Vec<_>>().join(", "))
                .mend(format!("add `cell = \"{}\"`", many[0]))
        }
    };
    Err(Box::new(finding))
}

fn from_flat(reader: &mut Reader, path: &str, source: &PadGdsii, flat: &Flat) -> Vec<Pad> {
    let wanted = (source.openings.layer, source.openings.datatype);
    let shapes = flat.polygons.iter().filter(|p| (p.layer, p.datatype) == wanted);
    // The same opening drawn twice, as overlapping cells do, is one pad.
    let mut seen = BTreeSet::new();
    let boxes: Vec<Box2> =
        shapes.filter_map(|p| Box2::around(&p.points)).filter(|b| seen.insert(*b)).collect();
    let place = reader.places.value(&format!("{path}.openings"));
    if boxes.is_empty() {
        let layers: BTreeSet<String> =
            flat.polygons.iter().map(|p| format!("{}/{}", p.layer, p.datatype)).collect();
        let list: Vec<&str> = layers.iter().map(String::as_str).take(40).collect();
        let finding = Finding::error(
            "gdsii-no-openings",
            format!("there is no shape on layer {} of {}", source.openings, source.gdsii),
        )
        .allowed(format!("layers with shapes: {}", list.join(", ")));
        let finding = match nearest(&source.openings.to_string(), list.iter().copied()) {
            Some(right) => finding.mend(format!("write \"{right}\" if that is meant")),
            None => finding,
        };
        reader.report(Finding { place, ..finding });
        return Vec::new();
    }
    if boxes.len() > limits::PADS {
        let finding =
            Finding::error("too-many-pads", format!("layer {} has {} shapes", source.openings, boxes.len()))
                .allowed(format!("at most {} pads", limits::PADS))
                .mend("name the layer of the passivation openings");
        reader.report(Finding { place, ..finding });
        return Vec::new();
    }
    let is_label = |t: &&FlatText| match source.labels {
        Some(labels) => (t.layer, t.texttype) == (labels.layer, labels.datatype),
        None => t.layer == source.openings.layer,
    };
    let labels: Vec<&FlatText> = flat.texts.iter().filter(is_label).collect();
    let Some(nets) = label_boxes(&boxes, &labels) else {
        let finding = Finding::error(
            "gdsii-crowded",
            format!("the shapes on layer {} are too large and too many to be pads", source.openings),
        )
        .mend("name the layer of the passivation openings");
        reader.report(Finding { place, ..finding });
        return Vec::new();
    };
    tell_unlabelled(reader, path, source, &boxes, &nets);
    let origin = source
        .origin
        .map_or(Point::default(), |[x, y]| Point::new(crate::bump_rules::nm(&x), crate::bump_rules::nm(&y)));
    named(&boxes, &nets, origin)
}

/// The texts inside each box, different ones once; `None` when boxes and texts are too crowded to be compared.
fn label_boxes(boxes: &[Box2], labels: &[&FlatText]) -> Option<Vec<BTreeSet<String>>> {
    let widest = boxes.iter().map(|b| (b.high.x - b.low.x).max(b.high.y - b.low.y)).max().unwrap_or(Nm::ZERO);
    let near = Near::new(boxes.iter().map(|b| (b.centre().x, b.centre().y)), widest);
    let mut nets = vec![BTreeSet::new(); boxes.len()];
    let mut budget = BUDGET;
    for label in labels {
        for i in near.around(label.at.x, label.at.y) {
            budget = budget.checked_sub(1)?;
            if boxes[i].holds(label.at) {
                nets[i].insert(label.string.trim().to_owned());
            }
        }
    }
    Some(nets)
}

fn tell_unlabelled(
    reader: &mut Reader,
    path: &str,
    source: &PadGdsii,
    boxes: &[Box2],
    nets: &[BTreeSet<String>],
) {
    let place = reader
        .places
        .value(&format!("{path}.{}", if source.labels.is_some() { "labels" } else { "openings" }));
    let without: Vec<&Box2> = boxes.iter().zip(nets).filter(|(_, n)| n.is_empty()).map(|(b, _)| b).collect();
    if let Some(first) = without.first() {
        let at = first.centre();
        let what = format!(
            "{} of {} openings hold no label, the first at ({}, {})",
            without.len(),
            boxes.len(),
            at.x,
            at.y
        );
        let finding = Finding::error("gdsii-no-label", what)
            .allowed("one text inside each opening, its net")
            .mend("name the layer and text type of the labels: `labels = \"37/10\"`");
        reader.report(Finding { place: place.clone(), ..finding });
    }
    let many = boxes.iter().zip(nets).find(|(_, n)| n.len() > 1);
    if let Some((first, texts)) = many {
        let at = first.centre();
        let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
        let count = nets.iter().filter(|n| n.len() > 1).count();
        let what = format!(
            "{count} openings hold several labels, the first at ({}, {}): {}",
            at.x,
            at.y,
            texts.join(", ")
        );
        let finding = Finding::error("gdsii-labels", what).allowed("one text inside each opening, its net");
        reader.report(Finding { place, ..finding });
    }
}

/// Pads named after their nets; where a net has several, numbered in the order of the file.
fn named(boxes: &[Box2], nets: &[BTreeSet<String>], origin: Point) -> Vec<Pad> {
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    for net in nets.iter().filter_map(|n| n.first()) {
        *count.entry(net).or_insert(0) += 1;
    }
    let mut taken: BTreeSet<String> =
        count.iter().filter(|(_, c)| **c == 1).map(|(n, _)| (*n).to_owned()).collect();
    let mut numbers = BTreeMap::new();
    let mut pads = Vec::new();
    for (b, net) in boxes.iter().zip(nets) {
        let Some(net) = net.first() else { continue };
        let name = if count.get(net.as_str()) == Some(&1) {
            net.clone()
        } else {
            unique_name(net, &mut taken, &mut numbers)
        };
        pads.push(b.pad(name, net.clone(), origin));
    }
    pads
}
