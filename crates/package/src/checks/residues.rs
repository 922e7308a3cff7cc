//! Residue before plasma: every patch with one shape, under a die that is there, covering no more than all of the face.

use super::{Checker, length};
use crate::limits;
use crate::process::Residue;
use facedown_diagnostic::{Finding, nearest};

pub fn check(c: &mut Checker) {
    let Some(clean) = c.design.process.as_ref().and_then(|p| p.clean.as_ref()) else { return };
    if clean.residues.len() > limits::RESIDUES {
        let what = format!("the design has {} patches of residue", clean.residues.len());
        let finding =
            Finding::error("too-many-residues", what).allowed(format!("up to {}", limits::RESIDUES));
        c.at("process.clean.residue", finding.mend("write them as one `map`"));
        return;
    }
    if let Some(left) = clean.residue_left.as_ref() {
        share(c, "process.clean.residue_left", left.si(), &left.to_string());
        if clean.residues.is_empty() {
            let finding =
                Finding::warning("no-residue", "the plasma leaves a share of residue, and there is none")
                    .mend("add a table [[process.clean.residue]], or remove `residue_left`");
            c.at("process.clean.residue_left", finding);
        }
    }
    for (k, residue) in clean.residues.iter().enumerate() {
        let at = format!("process.clean.residue[{k}]");
        if let Some(cover) = &residue.cover {
            share(c, &format!("{at}.cover"), cover.si(), &cover.to_string());
        }
        let degrees = residue.angle.si().to_degrees();
        if !(0.0..=180.0).contains(&degrees) {
            let finding = Finding::error("angle-range", format!("{} is not a contact angle", residue.angle))
                .allowed("0 deg to 180 deg, measured through the liquid");
            c.at(&format!("{at}.angle"), finding);
        }
        shape(c, residue, &at);
        place(c, residue, &at);
    }
}

fn share(c: &mut Checker, path: &str, value: f64, written: &str) {
    if !(0.0..=1.0).contains(&value) {
        let finding = Finding::error("share-range", format!("{written} is not a share of a face"));
        c.at(path, finding.allowed("0 % to 100 %"));
    }
}

/// One shape: a rectangle, a disc or a map.
fn shape(c: &mut Checker, residue: &Residue, at: &str) {
    let given = [
        ("size", residue.size.is_some()),
        ("diameter", residue.diameter.is_some()),
        ("map", residue.map.is_some()),
    ];
    let given: Vec<&str> = given.iter().filter(|g| g.1).map(|g| g.0).collect();
    match given[..] {
        [] => {
            let finding = Finding::error("residue-shape", "the residue has no extent")
                .allowed("`at` with `size`, `at` with `diameter`, or `map`")
                .mend("add where it lies and how large it is");
            c.at(&format!("{at}.angle"), finding);
        }
        [first, second, ..] => {
            let what = format!("the extent of the residue is written as `{first}` and again as `{second}`");
            let finding =
                Finding::error("residue-shape", what).mend(format!("remove `{first}` or `{second}`"));
            c.at(&format!("{at}.{second}"), finding);
        }
        ["map"] if residue.at.is_some() => {
            let finding =
                Finding::error("residue-shape", "a map covers the whole die and has no place of its own")
                    .mend("remove `at`");
            c.at(&format!("{at}.at"), finding);
        }
        [key] if key != "map" && residue.at.is_none() => {
            let finding = Finding::error("residue-shape", "the residue has an extent and no place")
                .mend("add `at = [\"0 mm\", \"0 mm\"]`, its middle from the centre of the die");
            c.at(&format!("{at}.{key}"), finding);
        }
        _ => {}
    }
    let sizes = residue
        .size
        .iter()
        .flatten()
        .map(|l| ("size", l))
        .chain(residue.diameter.iter().map(|l| ("diameter", l)));
    for (key, size) in sizes {
        if size.si() <= 0.0 {
            let finding = Finding::error("not-positive", format!("{size} is not a size"));
            c.at(&format!("{at}.{key}"), finding.allowed("a length above zero"));
            return;
        }
    }
}

/// Under a die that is there, with its middle on it.
fn place(c: &mut Checker, residue: &Residue, at: &str) {
    let design = c.design;
    let dies: Vec<_> = match &residue.die {
        Some(name) => match design.die(name.as_str()) {
            Some((_, die)) => vec![die],
            None => {
                let names = design.dies.iter().map(|d| d.name.as_str());
                let finding = Finding::error("die-unknown", format!("there is no die `{name}`"));
                let finding = match nearest(name.as_str(), names) {
                    Some(right) => finding.mend(format!("write `{right}`")),
                    None => finding,
                };
                c.at(&format!("{at}.die"), finding);
                return;
            }
        },
        None => design.dies.iter().collect(),
    };
    let Some(middle) = &residue.at else { return };
    let on_one = dies.iter().any(|die| {
        let turned = die.rotation.is_some_and(|r| r.si().sin().abs() > 0.5);
        let (w, h) = (die.width.si(), die.height.si());
        let half = if turned { [h / 2.0, w / 2.0] } else { [w / 2.0, h / 2.0] };
        (0..2).all(|a| middle[a].si().abs() <= half[a] + 1e-9)
    });
    if let Some(die) = dies.first().filter(|_| !on_one) {
        let finding =
            Finding::error("residue-outside", "the middle of the residue does not lie under the die");
        let finding = finding.allowed(format!(
            "up to {} in x and {} in y from the centre of `{}`, seen from above",
            length(die.width.si() / 2.0),
            length(die.height.si() / 2.0),
            die.name
        ));
        c.at(&format!("{at}.at"), finding);
    }
}
