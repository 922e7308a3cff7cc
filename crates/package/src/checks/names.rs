//! Names: unique, not reserved, fit for what is made of them.

use super::{Checker, Many};
use facedown_diagnostic::{Finding, Place};
use std::collections::{BTreeMap, BTreeSet};

/// Names that other parts of the package have.
const RESERVED: &[&str] = &["substrate", "interposer", "lid", "ring", "board", "heat sink"];

pub fn check(c: &mut Checker) {
    let name = c.design.heading.name.as_str();
    if !name.chars().all(|x| x.is_ascii_lowercase() || x.is_ascii_digit() || matches!(x, '-' | '_')) {
        let finding = Finding::error("bad-design-name", format!("`{name}` cannot name the output folder"))
            .allowed("lower-case letters, digits, - and _");
        c.at("design.name", finding);
    }
    let dies: Vec<_> = c
        .design
        .dies
        .iter()
        .enumerate()
        .map(|(i, d)| (format!("die[{i}].name"), d.name.to_string()))
        .collect();
    for (path, name) in &dies {
        if RESERVED.contains(&name.as_str()) {
            let finding = Finding::error("reserved-name", format!("a die cannot be called `{name}`"))
                .allowed(format!("any name but {}", RESERVED.join(", ")))
                .mend("give the die a name of its own");
            c.at(path, finding);
        }
    }
    unique(c, &dies, "die");
    let interfaces: Vec<_> = c
        .design
        .interfaces
        .iter()
        .enumerate()
        .map(|(i, x)| (format!("interface[{i}].name"), x.name.to_string()))
        .collect();
    unique(c, &interfaces, "thermal interface");
    let variants: Vec<_> = c
        .design
        .variants
        .iter()
        .enumerate()
        .map(|(i, x)| (format!("variant[{i}].name"), x.name.to_string()))
        .collect();
    unique(c, &variants, "variant");
    for index in 0..c.design.dies.len() {
        pads_and_bumps(c, index);
        nets(c, index);
    }
}

fn unique(c: &mut Checker, names: &[(String, String)], what: &str) {
    let mut seen: BTreeMap<&str, &str> = BTreeMap::new();
    for (path, name) in names {
        match seen.get(name.as_str()) {
            Some(first) => {
                let finding =
                    Finding::error("duplicate-name", format!("there are two {what}s called `{name}`"))
                        .mend("rename one of them");
                let finding = also(finding, c.design.places.value(first));
                c.at(path, finding);
            }
            None => {
                seen.insert(name, path);
            }
        }
    }
}

fn also(finding: Finding, first: Option<Place>) -> Finding {
    match first {
        Some(place) => finding.also(place, "first here"),
        None => finding,
    }
}

fn pads_and_bumps(c: &mut Checker, index: usize) {
    let die = &c.design.dies[index];
    let pads: Vec<&str> = die.pad_list.iter().map(|p| p.name.as_str()).collect();
    repeated(c, &pads, &format!("die[{index}].pads"), "pad");
    let bumps: Vec<&str> = c.design.dies[index].bump_list.iter().map(|b| b.name.as_str()).collect();
    repeated(c, &bumps, &format!("die[{index}].bumps.table"), "bump");
}

fn repeated(c: &mut Checker, names: &[&str], path: &str, what: &str) {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut many = Many::new();
    for (row, name) in names.iter().enumerate() {
        if let Some(first) = seen.get(name) {
            let first = c.design.places.cell(path, *first, "name");
            let place = c.design.places.cell(path, row, "name");
            many.push(c, place, || {
                also(
                    Finding::error("duplicate-name", format!("there are two {what}s called `{name}`"))
                        .mend("rename one of them"),
                    first,
                )
            });
        } else {
            seen.insert(name, row);
        }
    }
    many.close(c, path, "duplicate-name", &format!("{what} names stand twice"));
}

/// Nets that differ only in case, and nets that are listed twice.
fn nets(c: &mut Checker, index: usize) {
    let die = &c.design.dies[index];
    let listed: Vec<_> = die
        .nets
        .iter()
        .enumerate()
        .map(|(i, n)| (format!("die[{index}].net[{i}].name"), n.name.to_string()))
        .collect();
    unique(c, &listed, "net table");
    let die = &c.design.dies[index];
    let path = format!("die[{index}].pads");
    let mut seen: BTreeMap<String, (usize, &str)> = BTreeMap::new();
    let mut collisions = Vec::new();
    let mut told = BTreeSet::new();
    for (row, pad) in die.pad_list.iter().enumerate().filter(|(_, p)| !p.net.is_empty()) {
        let (first, spelling) = *seen.entry(pad.net.to_lowercase()).or_insert((row, pad.net.as_str()));
        if spelling != pad.net && told.insert(pad.net.as_str()) {
            collisions.push((first, row, spelling.to_owned(), pad.net.clone()));
        }
    }
    let mut many = Many::new();
    for (first, row, spelling, net) in collisions {
        let first = c.design.places.cell(&path, first, "net");
        let place = c.design.places.cell(&path, row, "net");
        many.push(c, place, || {
            let finding = Finding::error(
                "net-case",
                format!("the nets `{spelling}` and `{net}` differ only in capital letters"),
            )
            .allowed("net names that differ in more than case: layout formats and readers take these for one")
            .mend(format!("write `{spelling}` if one net is meant"));
            also(finding, first)
        });
    }
    many.close(c, &path, "net-case", "nets differ only in capital letters");
}
