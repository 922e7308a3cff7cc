//! Nets: each has a bump, and supplies have as many as their current needs.

use super::{Checker, Many};
use crate::die::Mount;
use crate::nets::{AssignmentMode, NetClass};
use facedown_diagnostic::{Finding, nearest};
use facedown_quantity::Current;
use std::collections::{BTreeMap, BTreeSet};

pub fn check(c: &mut Checker) {
    for i in 0..c.design.dies.len() {
        listed(c, i);
        classes(c, i);
        without_net(c, i);
        if c.design.dies[i].mount() == Mount::Flip && c.design.dies[i].bumps.is_some() {
            bumps(c, i);
        }
    }
}

/// Pads of each net.
fn pads_of(c: &Checker, i: usize) -> BTreeMap<String, usize> {
    let mut nets = BTreeMap::new();
    for pad in c.resolved[i].pads.iter().filter(|p| !p.net.is_empty()) {
        *nets.entry(pad.net.clone()).or_insert(0) += 1;
    }
    nets
}

/// Nets with a table of their own, and those of the current table, that no pad has.
fn listed(c: &mut Checker, i: usize) {
    let nets = pads_of(c, i);
    if nets.is_empty() {
        return;
    }
    let design = c.design;
    let die = &design.dies[i];
    let unknown = |name: &str| {
        let finding =
            Finding::error("net-unknown", format!("no pad of the die `{}` has the net `{name}`", die.name));
        match nearest(name, nets.keys().map(String::as_str)) {
            Some(right) => finding.mend(format!("write `{right}`")),
            None => finding.mend("correct the name, or remove it"),
        }
    };
    for (j, net) in die.nets.iter().enumerate() {
        if !nets.contains_key(net.name.as_str()) {
            let finding = unknown(net.name.as_str());
            c.absent(&format!("die[{i}].net[{j}].name"), finding);
        }
    }
    let path = format!("die[{i}].currents");
    let mut many = Many::new();
    for (row, current) in die.current_list.iter().enumerate() {
        if !nets.contains_key(&current.net) && !design.incomplete {
            let place = design.places.cell(&path, row, "net");
            many.push(c, place, || unknown(&current.net));
        }
    }
    many.close(c, &path, "net-unknown", "nets of the table of currents have no pad");
}

/// Pads of one net that say different things of what it is for.
fn classes(c: &mut Checker, i: usize) {
    let design = c.design;
    let die = &design.dies[i];
    let path = format!("die[{i}].pads");
    let written: BTreeMap<&str, NetClass> =
        die.nets.iter().filter_map(|n| Some((n.name.as_str(), n.class?))).collect();
    let mut first: BTreeMap<&str, (NetClass, usize)> = BTreeMap::new();
    let mut many = Many::new();
    for (row, pad) in die.pad_list.iter().enumerate() {
        let Some(class) = pad.class else { continue };
        let (other, earlier) = *first.entry(pad.net.as_str()).or_insert((class, row));
        let (other, where_else) = match written.get(pad.net.as_str()) {
            Some(net) => (*net, None),
            None => (other, Some(earlier)),
        };
        if other == class || many.counted() {
            continue;
        }
        let also = match where_else {
            Some(earlier) => design.places.cell(&path, earlier, "class").map(|p| (p, "this pad")),
            None => {
                let at = die.nets.iter().position(|n| n.name.as_str() == pad.net).unwrap_or(0);
                design.places.value(&format!("die[{i}].net[{at}].class")).map(|p| (p, "the net's own table"))
            }
        };
        let place = design.places.cell(&path, row, "class");
        many.push(c, place, || {
            let what =
                format!("the net `{}` is {} here and {} elsewhere", pad.net, class.word(), other.word());
            let finding = Finding::error("net-class", what).mend("give the net one class");
            match also {
                Some((place, word)) => finding.also(place, word),
                None => finding,
            }
        });
    }
    many.close(c, &path, "net-class", "pads with another class than their net");
}

/// Pads that are connected to nothing.
fn without_net(c: &mut Checker, i: usize) {
    let design = c.design;
    let resolved = c.resolved.clone();
    let pads = &resolved[i].pads;
    let open = pads.iter().filter(|p| p.net.is_empty()).count();
    if open == 0 || design.incomplete {
        return;
    }
    let path = format!("die[{i}].pads");
    if open == pads.len() {
        let finding = Finding::error(
            "no-nets",
            format!("none of the {open} pads of `{}` has a net", design.dies[i].name),
        )
        .mend("fill the column `net`; for pads at bumps, the column `net` of the bump table or a net_tile");
        c.at(&path, finding);
    } else {
        let row = design.dies[i].pad_list.iter().position(|p| p.net.is_empty());
        let place =
            row.map_or_else(|| design.places.value(&path), |row| design.places.cell(&path, row, "name"));
        let what = format!("pads without a net, which stay unconnected: {open} of {}", pads.len());
        c.place(place, Finding::advice("pad-without-net", what));
    }
}

fn bumps(c: &mut Checker, i: usize) {
    let nets = pads_of(c, i);
    let design = c.design;
    let die = &design.dies[i];
    let resolved = c.resolved.clone();
    let sites = &resolved[i].sites.sites;
    if nets.is_empty() || sites.is_empty() || design.incomplete {
        return;
    }
    let mut given: BTreeMap<&str, usize> = BTreeMap::new();
    for net in sites.iter().filter_map(|s| s.net.as_deref()) {
        *given.entry(net).or_insert(0) += 1;
    }
    let mode = die.assignment_mode();
    let mode_path = format!("die[{i}].assignment.mode");
    if matches!(mode, AssignmentMode::ByNet | AssignmentMode::Mixed) && given.is_empty() {
        let finding = Finding::error(
            "no-bump-nets",
            format!("the assignment is `{}`, and no bump has a net", mode.word()),
        )
        .allowed("nets in the column `net` of the bump table, a net_tile, or pads drawn under the bumps")
        .mend("add the column `net` to the bump table, or write `mode = \"free\"`");
        c.at(&mode_path, finding);
        return;
    }
    if mode == AssignmentMode::ByNet {
        let missing: Vec<&str> = nets.keys().map(String::as_str).filter(|n| !given.contains_key(n)).collect();
        if let Some(first) = missing.first() {
            let path = format!("die[{i}].pads");
            let row = die.pad_list.iter().position(|p| p.net == *first);
            let place =
                row.map_or_else(|| design.places.value(&path), |row| design.places.cell(&path, row, "net"));
            let more = match missing.len() - 1 {
                0 => String::new(),
                1 => ", nor has one other".into(),
                n => format!(", nor have {n} others"),
            };
            let finding = Finding::error("net-without-bump", format!("the net `{first}` has no bump{more}"))
                .allowed("at least one bump a net in the assignment `by net`")
                .mend("add it to the bump table, or write `mode = \"mixed\"` to leave it free");
            c.place(place, finding);
        }
    }
    unused_bumps(c, i, &nets);
    let needed = die.bumps_by_net();
    let free = sites.len() - given.values().sum::<usize>();
    let wanted: usize = nets
        .keys()
        .filter(|n| !given.contains_key(n.as_str()))
        .map(|n| *needed.get(n.as_str()).unwrap_or(&1) as usize)
        .sum();
    if mode != AssignmentMode::ByNet && wanted > free {
        let supplies: BTreeSet<&str> =
            die.nets.iter().filter(|n| n.is_supply()).map(|n| n.name.as_str()).collect();
        let signals = nets.keys().filter(|n| !supplies.contains(n.as_str())).count();
        let what = format!(
            "{wanted} bumps are needed, {signals} for signals and {} for supplies by their currents; {free} sites are free",
            wanted.saturating_sub(signals)
        );
        let finding = Finding::error("too-few-bumps", what)
            .allowed(format!("up to {free} bumps"))
            .mend("use a smaller pitch or edge_distance, more columns and rows, or fewer bumps a supply");
        c.at(&format!("die[{i}].bumps"), finding);
    }
    currents(c, i, &given, mode);
}

/// Bumps whose net no pad has.
fn unused_bumps(c: &mut Checker, i: usize, nets: &BTreeMap<String, usize>) {
    let design = c.design;
    let die = &design.dies[i];
    let path = format!("die[{i}].bumps.table");
    let mut many = Many::new();
    let mut told = BTreeSet::new();
    for (row, bump) in die.bump_list.iter().enumerate() {
        let Some(net) = &bump.net else { continue };
        if nets.contains_key(net) || !told.insert(net.clone()) {
            continue;
        }
        let place = design.places.cell(&path, row, "net");
        many.push(c, place, || {
            let finding = Finding::error(
                "bump-without-pad",
                format!("bump `{}` has the net `{net}`, which no pad has", bump.name),
            );
            match nearest(net, nets.keys().map(String::as_str)) {
                Some(right) => finding.mend(format!("write `{right}`")),
                None => finding.mend("clear the cell if the bump is only mechanical"),
            }
        });
    }
    many.close(c, &path, "bump-without-pad", "nets of bumps have no pad");
}

/// Supplies whose bumps carry more current than one bump may.
fn currents(c: &mut Checker, i: usize, given: &BTreeMap<&str, usize>, mode: AssignmentMode) {
    let die = &c.design.dies[i];
    let Some(most) = die.bumps.as_ref().map(|b| b.sizes().max_current_a) else { return };
    let (currents, needed) = (die.current_by_net(), die.bumps_by_net());
    let mut findings = Vec::new();
    for (j, net) in die.nets.iter().enumerate() {
        let Some(current) = currents.get(net.name.as_str()).copied() else {
            if net.is_supply() && net.bumps.is_none() {
                let finding = Finding::warning(
                    "no-current",
                    format!(
                        "the current of the {} `{}` is not given; it gets one bump",
                        net.class().word(),
                        net.name
                    ),
                )
                .mend("add `current = \"...\"`, or `bumps = ...`");
                findings.push((format!("die[{i}].net[{j}].name"), finding));
            }
            continue;
        };
        let fixed = matches!(mode, AssignmentMode::ByNet | AssignmentMode::Mixed);
        let count = match given.get(net.name.as_str()) {
            Some(count) if fixed => *count as f64,
            _ => f64::from(*needed.get(net.name.as_str()).unwrap_or(&1)),
        };
        let each = current / count;
        if each > most * (1.0 + 1e-9) {
            let (each, most) = (Current::from_si(round(each)), Current::from_si(round(most)));
            let finding = Finding::error(
                "bump-current",
                format!("each of the {count} bumps of `{}` carries {each}", net.name),
            )
            .allowed(format!("up to {most} a bump"))
            .mend("give the net more bumps, or larger ones");
            findings.push((format!("die[{i}].net[{j}].name"), finding));
        }
    }
    for (path, finding) in findings {
        c.at(&path, finding);
    }
}

/// To three significant digits, for sentences.
fn round(x: f64) -> f64 {
    format!("{x:.2e}").parse().unwrap_or(x)
}
