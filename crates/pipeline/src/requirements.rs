//! The requirements of a design, those that every design has, and their verdicts over a run.

use crate::graph::{Absent, Run, StudyRun};
use crate::studies::REDISTRIBUTION;
use crate::verdict::{Bound, Judgement, Requirement, judge};
use facedown_evidence::Figure;
use facedown_package::figures::{self, KnownFigure};
use facedown_package::{Design, Limit};
use facedown_quantity::{Kind, Scale, all_kinds, kind, read_as};

/// One requirement of the design file before its limit is put into the figure's unit.
struct Asked<'a> {
    study: &'a str,
    figure: &'a str,
    bound: Bound,
    limit: &'a Limit,
}

/// Judges every requirement of the design in its order, then the built-in ones: each net routed, no rule violated.
/// A built-in one gives way when the design asks for the same figure itself.
pub fn judgements(design: &Design, run: &Run) -> Vec<Judgement> {
    let mut out: Vec<Judgement> = asked(design).map(|asked| judged(&asked, run)).collect();
    for requirement in built_in(run) {
        if !out
            .iter()
            .any(|j| j.requirement.study == requirement.study && j.requirement.figure == requirement.figure)
        {
            out.push(judge_over(requirement, run));
        }
    }
    out
}

fn asked(design: &Design) -> impl Iterator<Item = Asked<'_>> {
    design.requirements.iter().flat_map(|written| {
        let (study, figure) = written.figure.split_once('.').unwrap_or(("", written.figure.as_str()));
        // Of a signed figure a largest value alone asks that neither sign goes beyond it.
        let signed = figures::figure(study, figure).is_some_and(KnownFigure::signed);
        let most = if signed && written.min.is_none() { Bound::Within } else { Bound::AtMost };
        let side = move |bound, limit: &'_ Option<Limit>| limit.as_ref().map(|_| bound);
        [(side(most, &written.max), &written.max), (side(Bound::AtLeast, &written.min), &written.min)]
            .into_iter()
            .filter_map(move |(bound, limit)| {
                Some(Asked { study, figure, bound: bound?, limit: limit.as_ref()? })
            })
    })
}

fn judged(asked: &Asked<'_>, run: &Run) -> Judgement {
    let figure = figure_of(run, asked.study, asked.figure);
    let make = |limit: f64, unit: &str| Requirement {
        study: asked.study.to_owned(),
        figure: asked.figure.to_owned(),
        bound: asked.bound,
        limit,
        unit: unit.to_owned(),
        built_in: false,
    };
    match (figure, asked.limit) {
        (Some(figure), limit) => match limit_in(limit, &figure.unit) {
            Some(value) => judge_over(make(value, &figure.unit), run),
            None => {
                let (value, unit) = as_written(limit);
                let named = if figure.unit.is_empty() { "a plain number" } else { figure.unit.as_str() };
                let why = format!(
                    "The limit is given in {}, but the figure {} is {named}.",
                    if unit.is_empty() { "no unit" } else { &unit },
                    asked.figure
                );
                judge(make(value, &unit), None, &why, None)
            }
        },
        (None, limit) => {
            let (value, unit) = as_written(limit);
            judge_over(make(value, &unit), run)
        }
    }
}

fn built_in(run: &Run) -> Vec<Requirement> {
    let figure = |name| figure_of(run, REDISTRIBUTION, name);
    let make = |figure: &str, bound, limit| Requirement {
        study: REDISTRIBUTION.to_owned(),
        figure: figure.to_owned(),
        bound,
        limit,
        unit: String::new(),
        built_in: true,
    };
    let mut out = Vec::new();
    if let (Some(nets), Some(_)) = (figure("nets"), figure("routed_nets")) {
        out.push(make("routed_nets", Bound::AtLeast, nets.value));
    }
    if figure("violations").is_some() {
        out.push(make("violations", Bound::AtMost, 0.0));
    }
    out
}

fn judge_over(requirement: Requirement, run: &Run) -> Judgement {
    let figure = figure_of(run, &requirement.study, &requirement.figure);
    let limits = runs_of(run, &requirement.study).find_map(|r| r.limits.get(&requirement.figure));
    let why = why_absent(&requirement, run);
    judge(requirement, figure, &why, limits.map(String::as_str))
}

/// The studies that report under a name: the study itself and those that check it.
fn runs_of<'a, 'n>(run: &'a Run, study: &'n str) -> impl Iterator<Item = &'a StudyRun> + use<'a, 'n> {
    run.studies().filter(move |r| r.node.reported_under == study)
}

/// A figure of a study.
pub(crate) fn figure_of<'a>(run: &'a Run, study: &str, name: &str) -> Option<&'a Figure> {
    runs_of(run, study).flat_map(|r| &r.figures).find(|f| f.name == name)
}

fn why_absent(requirement: &Requirement, run: &Run) -> String {
    let Requirement { study, figure, .. } = requirement;
    let mut runs = runs_of(run, study).peekable();
    if runs.peek().is_none() {
        return format!("No study named {study} has run.");
    }
    for run in runs {
        match &run.absent {
            Some(Absent::NotInDesign(why) | Absent::Impossible(why)) => return why.clone(),
            None => {
                if let Some(part) = run.parts.iter().find(|p| p.failure().is_some()) {
                    let what = part.failure().map(ToString::to_string).unwrap_or_default();
                    return format!("The study {} has no result for {}: {what}.", run.node.name, part.name);
                }
            }
        }
    }
    format!("The study {study} gives no figure {figure} for this design.")
}

/// The number of a limit in the unit of its figure; nothing when it is of another kind. A figure whose unit is no unit of any kind (none, `squares`) is a
/// plain number; a share is one too.
fn limit_in(limit: &Limit, unit: &str) -> Option<f64> {
    let plain = all_kinds().iter().all(|kind| kind.unit(unit).is_none());
    let text = match limit {
        Limit::Number(value) => return plain.then_some(*value),
        Limit::Text(text) => text,
    };
    if plain {
        return read_as(text, kind::Fraction::TABLE).ok().map(|read| read.si);
    }
    all_kinds().iter().find_map(|kind| {
        let scale = kind.unit(unit)?.scale;
        let si = read_as(text, kind).ok()?.si;
        // Dividing by the decimal factor keeps 150 um at 150 where the SI number is the nearest to 150e-6.
        let value = if scale == Scale::Celsius { si - 273.15 } else { si / scale.factor() };
        Some((value * 1e12).round() / 1e12)
            .filter(|v| (v - value).abs() <= value.abs() * 1e-12)
            .or(Some(value))
    })
}

/// Number and unit as the design writes them, for a limit that nothing is held against.
fn as_written(limit: &Limit) -> (f64, String) {
    match limit {
        Limit::Number(value) => (*value, String::new()),
        Limit::Text(text) => {
            let text = text.trim();
            let split = text
                .char_indices()
                .find(|(i, c)| !(c.is_ascii_digit() || ".+-".contains(*c) || exponent(text, *i)))
                .map_or(text.len(), |(i, _)| i);
            let (number, unit) = text.split_at(split);
            (number.trim().parse().unwrap_or(0.0), unit.trim().to_owned())
        }
    }
}

/// True for an `e` that is followed by a number, as in `1e-3`.
fn exponent(text: &str, at: usize) -> bool {
    let rest = &text.as_bytes()[at..];
    matches!(rest.first(), Some(b'e' | b'E'))
        && rest.get(1).is_some_and(|c| c.is_ascii_digit() || matches!(c, b'+' | b'-'))
}

#[cfg(test)]
mod tests {
    use super::{as_written, limit_in};
    use facedown_package::Limit;

    fn text(text: &str) -> Limit {
        Limit::Text(text.into())
    }

    #[test]
    fn limits_come_in_the_unit_of_the_figure() {
        assert_eq!(limit_in(&text("150 um"), "um"), Some(150.0));
        assert_eq!(limit_in(&text("0.5 m"), "mm"), Some(500.0));
        assert_eq!(limit_in(&text("125 degC"), "degC"), Some(125.0));
        assert_eq!(limit_in(&Limit::Number(1.06), ""), Some(1.06));
        assert_eq!(limit_in(&Limit::Number(1.06), "mm"), None);
        assert_eq!(limit_in(&text("5 K/W"), "mm"), None);
    }

    #[test]
    fn a_limit_that_nothing_judges_is_kept_as_written() {
        assert_eq!(as_written(&text("150 um")), (150.0, "um".into()));
        assert_eq!(as_written(&text("1e-3 m")), (0.001, "m".into()));
        assert_eq!(as_written(&text("0.31 K/W")), (0.31, "K/W".into()));
        assert_eq!(as_written(&text("3 eV")), (3.0, "eV".into()));
    }
}
