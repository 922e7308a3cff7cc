//! What the readings say of the cleaning step: time under plasma, residue that is left, how well angle and wait are known.

use crate::problem::{Face, Problem};
use crate::solve::Work;
use facedown_evidence::Figure;
use std::collections::BTreeMap;

pub(super) fn write(
    work: &Work<'_>,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    left(work, figures, limits);
    // The face that is mostly read; without readings there, another.
    let Some((face, sheet)) = work.cleaning.iter().find_map(|c| Some((c, c.sheet.as_ref()?))) else { return };
    if face.face == Face::Substrate {
        for figure in figures.iter_mut() {
            match (figure.name.as_str(), sheet.longest_queue_s) {
                ("water_angle", _) => figure.error = Some(face.at_dispense.spread_rad.to_degrees()),
                ("queue_limit", Some(sure)) => {
                    let sure_h = sure / 3600.0;
                    if sure_h < figure.value {
                        let at_once = std::mem::replace(figure, Figure::hand("queue_limit", 0.0, "h", ""));
                        let value = at_once.value;
                        *figure = at_once.between(sure_h, value);
                        figure
                            .basis
                            .push_str("; the shorter one with 95 % by what the readings are uncertain by");
                    }
                }
                _ => {}
            }
        }
    }
    let law = &face.law;
    let deviation = |k: usize| law.covariance[k][k].max(0.0).sqrt();
    let of = face.face.words();
    match (sheet.time_s, sheet.bare_dose) {
        (Some(time), bare) => {
            let mut figure = Figure::hand(
                "plasma_time",
                time,
                "s",
                "time under this plasma with which water at the worst place is at most 30 deg when dispensing, with 95 % (limit: common \
                 practice); first order in the dose, linearised estimate (Seber and Wild 1989, sec. 2.1.2)",
            );
            figure.hand = bare.map(|b| b.best / face.plasma.power_w);
            figures.push(figure);
            limits.insert(
                "plasma_time".into(),
                format!(
                    "set by water on the {of}, which falls to 1/e with {:.1} +- {:.1} kJ, from {:.0} +- {:.1} deg to {:.0} +- {:.1} deg",
                    1e-3 / law.law.rate,
                    1e-3 * deviation(2) / law.law.rate.powi(2),
                    law.law.start_rad.to_degrees(),
                    deviation(0).to_degrees(),
                    law.law.end_rad.to_degrees(),
                    deviation(1).to_degrees()
                ),
            );
            if time > face.plasma.time_s {
                notes.push(format!(
                    "The plasma of {:.0} s is shorter than the {time:.0} s with which water on the {of} is at most 30 deg when dispensing, with 95 %.",
                    face.plasma.time_s
                ));
            }
        }
        (None, _) => {
            limits.insert(
                "plasma_time".into(),
                format!("no time under this plasma keeps water on the {of} below 30 deg until dispensing, with 95 %"),
            );
            notes.push(format!(
                "No time under this plasma keeps water on the {of} below 30 deg after a wait of {:.1} h, with 95 %: wait less, or read more drops.",
                face.queue_s / 3600.0
            ));
        }
    }
}

/// Residue that the step leaves, on the face where most is left.
fn left(work: &Work<'_>, figures: &mut Vec<Figure>, limits: &mut BTreeMap<String, String>) {
    let problem: &Problem = work.problem;
    if problem.plasma.is_none() || problem.residues.is_empty() {
        return;
    }
    let faces = [Face::Die, Face::Substrate, Face::Bump];
    let dirty = faces.into_iter().filter(|f| crate::filling::residue::lies_on(problem, *f));
    let left = dirty.map(|f| (f, crate::filling::residue::left(problem, &work.cleaning, f)));
    let Some((face, left)) = left.max_by(|a, b| a.1.share.total_cmp(&b.1.share)) else { return };
    let mut figure = Figure::hand("residue_left", 100.0 * left.share, "%", left.basis);
    figure.error = left.spread.map(|s| 100.0 * s);
    figures.push(figure);
    limits.insert("residue_left".into(), format!("on the {}", face.words()));
}
