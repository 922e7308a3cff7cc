//! Figures of the front on the bump map. What the closed forms say of the same stands beside as the hand check.

use super::Filling;
use crate::front::End;
use crate::problem::Face;
use crate::solve::{Fill, Work};
use facedown_evidence::Figure;
use std::collections::BTreeMap;

const BASIS: &str =
    "front on the bump map, Darcy's law averaged over the gap, conservative implicit steps (docs/flow.md)";
/// Figures that the front decides.
const DECIDED: [&str; 5] =
    ["fill_time", "gel_margin", "void_area_fraction", "largest_void", "voids_touching_bumps"];

/// Puts the front's figures in the place of those by hand.
pub(crate) fn write(
    work: &Work<'_>,
    filling: &Filling,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    for face in [Face::Die, Face::Substrate, Face::Bump] {
        if super::residue::lies_on(work.problem, face) {
            notes.extend(super::residue::left(work.problem, &work.cleaning, face).told);
        }
    }
    let hand: BTreeMap<String, Figure> = figures
        .iter()
        .filter(|f| DECIDED.contains(&f.name.as_str()))
        .map(|f| (f.name.clone(), f.clone()))
        .collect();
    figures.retain(|f| !DECIDED.contains(&f.name.as_str()));
    let solved = |name: &str, value: f64, unit: &str, basis: &str, error: Option<f64>| {
        let mut figure = Figure::solved(name, value, unit, basis);
        figure.error = error;
        figure.hand = hand.get(name).map(|h| h.value);
        for sentence in crate::report::flow_range(work, true) {
            figure = figure.outside(&sentence);
        }
        figure
    };
    figures.push(Figure {
        error: None,
        ..Figure::solved(
            "volume_error",
            filling.volume_error,
            "",
            "largest error of a step of the front, over the filled volume",
        )
    });
    let Some(time) = filling.fill_time_s else {
        let why = why_not(work, filling);
        notes.push(format!("Does not fill: {why}."));
        for name in DECIDED {
            limits.insert(name.into(), format!("does not fill, as {why}"));
        }
        return;
    };
    figures.push(solved("fill_time", time, "s", BASIS, filling.fill_time_error_s));
    limits.insert("fill_time".into(), time_limit(work, filling));
    if let Some(gel) = work.gel[0] {
        let mut margin = solved(
            "gel_margin",
            gel / time,
            "",
            "time to gel over the fill time of the front on the bump map",
            None,
        );
        margin.error = filling.fill_time_error_s.map(|e| (gel / time * e / time).abs());
        if let Some(h) = hand.get("gel_margin") {
            margin.outside.clone_from(&h.outside);
            margin.between = h.between.map(|b| b.map(|v| v * margin.value / h.value));
        }
        figures.push(margin);
        limits.insert(
            "gel_margin".into(),
            format!("set by gel after {:.1} min against {time:.1} s of flow", gel / 60.0),
        );
    }
    voids(work, filling, &solved, figures, limits, notes);
}

/// Makes a solved figure with its hand check from name, value, unit, basis and error.
type Solved<'a> = dyn Fn(&str, f64, &str, &str, Option<f64>) -> Figure + 'a;

fn voids(
    work: &Work<'_>,
    filling: &Filling,
    solved: &Solved<'_>,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    let die = work.problem.die;
    let area = die.width_m * die.height_m;
    let trapped = "air closed off by the front on the bump map, compressed as an ideal gas";
    figures.push(solved(
        "void_area_fraction",
        100.0 * filling.void_area_fraction,
        "%",
        trapped,
        Some(100.0 * filling.void_area_error_m2 / area),
    ));
    let largest = filling.voids.first();
    figures.push(solved("largest_void", 1e6 * largest.map_or(0.0, |v| v.area_m2), "mm2", trapped, None));
    figures.push(solved("voids_touching_bumps", filling.voids_touching() as f64, "", trapped, Some(0.0)));
    let Some(largest) = largest else {
        limits.insert("void_area_fraction".into(), "no air is closed off on the bump map".into());
        return;
    };
    let place = format!(
        "{:.2}, {:.2} mm from the die's lower left corner",
        1e3 * largest.place_m[0],
        1e3 * largest.place_m[1]
    );
    limits.insert(
        "void_area_fraction".into(),
        format!("set by the void of {:.3} mm2 at {place}", 1e6 * largest.area_m2),
    );
    limits.insert("largest_void".into(), format!("set by air closed off at {place}"));
    limits.insert(
        "voids_touching_bumps".into(),
        format!(
            "{} of {} voids join bumps; {} bumps are touched",
            filling.voids_bridging(),
            filling.voids.len(),
            filling.bumps_touched
        ),
    );
    notes.push(format!(
        "{} of air {} trapped, the largest of {:.3} mm2 at {place}; {} bumps are touched. Trapped air does not go away by itself.",
        if filling.voids.len() == 1 { "One pocket".into() } else { format!("{} pockets", filling.voids.len()) },
        if filling.voids.len() == 1 { "is" } else { "are" },
        1e6 * largest.area_m2,
        filling.bumps_touched,
    ));
}

/// What sets the fill time.
fn time_limit(work: &Work<'_>, filling: &Filling) -> String {
    let last = filling.last_place_m.map_or(String::new(), |[x, y]| {
        format!("; the last place is {:.2}, {:.2} mm from the lower left corner", 1e3 * x, 1e3 * y)
    });
    if let Fill::Full { time, waited } = work.fill
        && waited > time - waited
    {
        return format!("set by the wait between passes{last}");
    }
    format!(
        "set by a viscosity of {:.3} Pa s over {:.1} mm by {:.1} mm{last}",
        work.viscosity,
        1e3 * work.sides.0,
        1e3 * work.sides.1
    )
}

/// Why the gap does not fill, as a clause.
fn why_not(work: &Work<'_>, filling: &Filling) -> String {
    let share = 100.0 * filling.filled;
    match filling.end {
        End::RanDry => format!(
            "{:.2} mm3 are dispensed for a gap of {:.2} mm3 and the front stops at {share:.0} %",
            1e9 * work.dispensed,
            1e9 * filling.free_volume_m3
        ),
        End::DoesNotWet => format!(
            "{:.3} mm2 do not draw the underfill in; the front stops at {share:.0} %",
            1e6 * filling.unfilled_area_m2
        ),
        End::Gelled | End::Full | End::Voids => {
            format!("the underfill gels when {share:.0} % of the gap is full")
        }
    }
}
