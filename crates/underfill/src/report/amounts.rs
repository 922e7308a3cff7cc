//! Volume, fillet, passes, and the cure.

use crate::solve::Work;
use facedown_evidence::Figure;
use std::collections::BTreeMap;

pub(super) fn write(
    work: &Work<'_>,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    let given = work.problem.dispense.volume_m3.is_some();
    figures.push(Figure::hand(
        "dispense_volume",
        work.dispensed * 1e9,
        "mm3",
        if given {
            "as given"
        } else {
            "gap less bumps, plus a straight fillet on four sides with its corners"
        },
    ));
    limits.insert(
        "dispense_volume".into(),
        format!(
            "{:.2} mm3 for the gap, {:.2} mm3 for the fillets",
            work.gap_volume * 1e9,
            work.fillet_volume * 1e9
        ),
    );
    let basis = if given {
        "what the given volume leaves for a straight fillet of the wanted slope"
    } else if work.problem.fillet.is_some() {
        "as given"
    } else {
        "60 % of the die's thickness (50 to 75 %, common practice)"
    };
    let mut height = Figure::hand("fillet_height", work.fillet.0 * 1e6, "um", basis);
    let thickness = work.problem.die.thickness_m;
    if work.fillet.0 > thickness + work.problem.gap_m {
        height = height.outside("The fillet would be higher than the die: underfill runs onto its back.");
        notes.push(format!(
            "The given volume would make a fillet of {:.0} um on a die of {:.0} um: dispense less.",
            work.fillet.0 * 1e6,
            thickness * 1e6
        ));
    }
    figures.push(height);
    figures.push(Figure::hand("fillet_width", work.fillet.1 * 1e6, "um", basis));
    if given && work.fillet.0 < 0.5 * thickness && work.fillet_volume > 0.0 {
        notes.push(format!(
            "The given volume leaves a fillet of {:.0} % of the die's thickness; 50 to 75 % is common practice.",
            100.0 * work.fillet.0 / thickness
        ));
    }
    if let Some(most) = work.most_a_pass {
        let passes = (work.dispensed / most).ceil().max(1.0);
        figures.push(Figure::hand(
            "dispense_passes",
            passes,
            "",
            "volume over that of half-round beads that just reach the die's edge (common practice)",
        ));
        if passes > f64::from(work.problem.dispense.passes) {
            notes.push(format!(
                "{:.2} mm3 a pass ({} set) is more than the half-round bead of {:.2} mm3 that the offset allows; {passes:.0} passes would keep it off the die and its neighbours.",
                work.dispensed * 1e9 / f64::from(work.problem.dispense.passes),
                work.problem.dispense.passes,
                most * 1e9
            ));
        }
    }
}

pub(super) fn cure(
    work: &Work<'_>,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    if work.problem.cure.is_empty() {
        notes.push("No cure is given, so the degree of cure is not judged.".into());
        return;
    }
    let given = work.problem.liquid.kinetics.is_some();
    let mut figure = Figure::hand(
        "cure_degree",
        100.0 * work.degree[0],
        "%",
        if given {
            "given kinetics, integrated over the cure (form of Sourour and Kamal 1976)"
        } else {
            "starting values of the cure (from memory), integrated over the cure (form of Sourour and Kamal 1976)"
        },
    );
    if !given {
        figure = figure
            .between(100.0 * work.degree[1].min(work.degree[2]), 100.0 * work.degree[1].max(work.degree[2]))
            .outside("The material gives no cure kinetics; starting values stand for them.");
    }
    figures.push(figure);
    let hottest = work.problem.cure.iter().map(|s| s.temperature_k).fold(f64::NEG_INFINITY, f64::max);
    limits.insert("cure_degree".into(), format!("set by the hold at {:.0} degC", hottest - 273.15));
    match work.gel_temperature {
        Some(gel) => figures.push(Figure::hand(
            "gel_temperature",
            gel - 273.15,
            "degC",
            "temperature in the cure at which the degree of gel is reached; stress builds up from there",
        )),
        None => notes.push("The underfill does not reach gel in the cure: it stays liquid.".into()),
    }
    if let Some(glass) = work.problem.liquid.glass_transition_k
        && hottest < glass
    {
        notes.push(format!(
            "The hottest cure step of {:.0} degC lies below the glass transition of {:.0} degC: the cure slows down and stops before it is complete.",
            hottest - 273.15,
            glass - 273.15
        ));
    }
}
