//! Air that the race of the rim traps.

use super::void_share;
use crate::solve::Work;
use facedown_evidence::Figure;
use std::collections::BTreeMap;

pub(super) fn write(
    work: &Work<'_>,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    let Some(air) = &work.air else { return };
    let Some((estimate, bound)) = void_share(work) else {
        limits.insert(
            "void_area_fraction".into(),
            "not judged, as the front is held back behind the bumps and no closed form gives the voids there"
                .into(),
        );
        return;
    };
    let mut figure = Figure::hand(
        "void_area_fraction",
        100.0 * estimate,
        "%",
        "air closed off by the rim's front: lead of a narrow leaking rim (derived from Saffman and Taylor 1958), high value without leakage; shrunk by Boyle's law",
    )
    .between(100.0 * estimate, 100.0 * bound.max(estimate));
    let race = &air.race;
    let ratio = race.rim.permeability_m2 / race.field.permeability_m2;
    if race.rim_width_m > 0.0 && (ratio > 4.0 || air.distance < 10.0 * race.rim_width_m) {
        figure = figure.outside(&format!(
            "The rim is {ratio:.1} times as permeable as the field and 1/{:.0} of the way wide; the estimate is checked up to 4 times and 1/10.",
            air.distance / race.rim_width_m
        ));
    }
    if work.problem.bumps.is_some_and(|b| b.regularity < 0.8) {
        figure = figure.outside("Bunched bumps leave channels that the mean field does not know.");
    }
    figures.push(figure);
    let run = if air.lead >= 0.0 { "leads by" } else { "lags by" };
    limits.insert(
        "void_area_fraction".into(),
        format!(
            "set by the rim's front, which {run} {:.2} mm after {:.1} mm",
            air.lead.abs() * 1e3,
            air.distance * 1e3
        ),
    );
    if bound > estimate + 1e-12 {
        notes.push(format!(
            "A rim that lost nothing to the bump field would close off {:.1} % of the die; with leakage the estimate is {:.1} %. Between both only a \
             flow solver on the bump map decides.",
            100.0 * bound,
            100.0 * estimate
        ));
    }
    notes.push(format!(
        "Trapped air does not go away by itself: a driving pressure of {:.0} Pa shrinks it by {:.1} %.",
        work.field.pressure_pa,
        100.0 * (1.0 - crate::flow::race::shrunken(work.problem.ambient_pa, work.field.pressure_pa))
    ));
}
