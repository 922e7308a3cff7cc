//! Requirements: the figure exists, the limit has its kind, and the design holds what the study needs.

use super::Checker;
use crate::design::Design;
use crate::die::Mount;
use crate::figures::{FIGURES, KnownFigure, STUDIES, figure};
use crate::read::values::{either, of_quantity};
use crate::requirement::{Limit, Requirement};
use facedown_diagnostic::{Finding, nearest};
use facedown_quantity::read_as;

pub fn check(c: &mut Checker) {
    let design = c.design;
    for (i, requirement) in design.requirements.iter().enumerate() {
        let at = format!("requirement[{i}]");
        let Some(known) = named(c, &at, requirement) else { continue };
        let limits = [("max", &requirement.max), ("min", &requirement.min)];
        let values: Vec<Option<f64>> = limits
            .iter()
            .map(|(key, limit)| limit.as_ref().and_then(|l| read(c, &format!("{at}.{key}"), known, l)))
            .collect();
        if let (Some(max), Some(min)) = (values[0], values[1])
            && min > max
        {
            let finding = Finding::error(
                "limits-crossed",
                format!("the smallest value allowed of {} is above the largest", requirement.figure),
            )
            .allowed("min not above max");
            c.at(&format!("{at}.min"), finding);
        }
        if let Some((what, mend)) = lacking(design, known) {
            let finding =
                Finding::warning("not-judged", format!("no study can judge {}: {what}", requirement.figure))
                    .mend(mend);
            c.absent(&format!("{at}.figure"), finding);
        }
    }
}

fn named(c: &mut Checker, at: &str, requirement: &Requirement) -> Option<&'static KnownFigure> {
    let path = format!("{at}.figure");
    if requirement.max.is_none() && requirement.min.is_none() {
        let finding =
            Finding::error("no-limit", format!("the requirement on {} has no limit", requirement.figure))
                .mend("add `max = ...` or `min = ...`");
        c.absent(&path, finding);
    }
    let text = requirement.figure.as_str();
    let Some((study, name)) = text.split_once('.') else {
        let finding =
            Finding::error("figure-unknown", format!("`{text}` does not name a study and a figure"))
                .allowed("study and figure with a point between, `heat.theta_ja`");
        let full = FIGURES.iter().find(|f| f.name == text);
        let finding = match full {
            Some(f) => finding.mend(format!("write \"{}.{}\"", f.study, f.name)),
            None => finding,
        };
        c.at(&path, finding);
        return None;
    };
    if !STUDIES.contains(&study) {
        let all: Vec<&str> = STUDIES.to_vec();
        let finding =
            Finding::error("figure-unknown", format!("there is no study `{study}`")).allowed(either(&all));
        let finding = match nearest(study, all.iter().copied()) {
            Some(right) => finding.mend(format!("write \"{right}.{name}\"")),
            None => finding,
        };
        c.at(&path, finding);
        return None;
    }
    let known = figure(study, name);
    if known.is_none() {
        let names: Vec<&str> = FIGURES.iter().filter(|f| f.study == study).map(|f| f.name).collect();
        let finding = Finding::error("figure-unknown", format!("the study {study} has no figure `{name}`"))
            .allowed(names.join(", "));
        let finding = match nearest(name, names.iter().copied()) {
            Some(right) => finding.mend(format!("write \"{study}.{right}\"")),
            None => finding,
        };
        c.at(&path, finding);
    }
    known
}

/// A limit in SI; a finding when it has the wrong kind.
fn read(c: &mut Checker, path: &str, known: &KnownFigure, limit: &Limit) -> Option<f64> {
    match (limit, known.kind) {
        (Limit::Number(value), None) => Some(*value),
        (Limit::Number(value), Some(kind)) => {
            let finding = Finding::error(
                "unit-missing",
                format!("`{value}` has no unit; {}.{} is {}", known.study, known.name, kind.a_name),
            )
            .allowed(format!("{} in {}", kind.a_name, kind.unit_list()))
            .mend(format!("write \"{value} {}\" or the unit that is meant", kind.customary));
            c.at(path, finding);
            None
        }
        (Limit::Text(text), Some(kind)) => match read_as(text, kind) {
            Ok(read) => Some(read.si),
            Err(error) => {
                c.at(path, of_quantity(&error));
                None
            }
        },
        (Limit::Text(text), None) => {
            let finding = Finding::error(
                "limit-number",
                format!("`{text}` is text; {}.{} is a count or a ratio", known.study, known.name),
            )
            .allowed("a bare number")
            .mend("write the number without quotes and unit");
            c.at(path, finding);
            None
        }
    }
}

/// What a study lacks in this design, and how to add it.
fn lacking(design: &Design, known: &KnownFigure) -> Option<(String, String)> {
    let lacks = |what: &str, mend: &str| Some((what.to_owned(), mend.to_owned()));
    let flips = || design.dies.iter().filter(|d| d.mount() == Mount::Flip);
    match known.study {
        "redistribution" if flips().all(|d| d.rdl.is_none() && d.bumps.is_none()) => {
            lacks("no die is redistributed", "add [die.bumps] and [die.rdl]")
        }
        "joints" | "life"
            if (known.name.starts_with("ball_") || known.name == "life_balls") && design.balls.is_none() =>
        {
            lacks("there are no balls", "add a table [balls]")
        }
        "life"
            if design.mission.is_none()
                && !matches!(known.name, "qualification_cycles" | "sample_size" | "current_density_max") =>
        {
            lacks("nothing is said of its service", "add a table [mission] with life and cycles")
        }
        "heat" if design.dies.iter().all(|d| d.power_w().is_none()) => {
            lacks("no die has a power", "add `power = \"...\"` or a power_map to a die")
        }
        "heat" if matches!(known.name, "theta_jb" | "psi_jb" | "heat_to_board") && design.board.is_none() => {
            lacks("there is no board", "add a table [board] with its layers")
        }
        "heat" | "warpage" if design.substrate.is_none() => {
            lacks("there is no substrate", "add a table [substrate] with its layers")
        }
        "underfill" if design.process.as_ref().is_none_or(|p| p.underfill.is_none()) => lacks(
            "nothing is said of the underfill",
            "add a table [process.underfill] with material and temperature",
        ),
        "warpage"
            if matches!(known.name, "ball_coplanarity" | "permissible_warpage") && design.balls.is_none() =>
        {
            lacks("there are no balls", "add a table [balls]")
        }
        "warpage"
            if known.name == "bond_line_spread"
                && design.form().word() != "lid"
                && !design.variants.iter().any(|v| v.form.word() == "lid") =>
        {
            lacks("the form has no lid", "write a lid form, or remove the requirement")
        }
        _ => None,
    }
}
