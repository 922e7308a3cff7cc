//! Angles and surface energies.

use crate::problem::Face;
use crate::solve::Work;
use facedown_evidence::Figure;
use std::collections::BTreeMap;

/// Water angle after plasma that is usually still accepted, rad (30 deg, common practice).
const WATER_LIMIT: f64 = 30.0 * std::f64::consts::PI / 180.0;

pub(super) fn write(
    work: &Work<'_>,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    // The last energy of the substrate is the one at dispense, where there is one.
    let substrate = work.faces.energies.iter().rfind(|e| e.face == Face::Substrate);
    if let Some(e) = substrate {
        let mut figure = Figure::hand(
            "surface_energy",
            e.total_j_m2 * 1e3,
            "mJ/m2",
            "substrate, from contact angles by the geometric mean (Owens and Wendt 1969, eq. 4)",
        );
        figure.error = Some(e.spread_j_m2 * 1e3);
        if let Some(other) = e.acid_base_total_j_m2 {
            figure = figure.between(e.total_j_m2.min(other) * 1e3, e.total_j_m2.max(other) * 1e3);
            figure
                .basis
                .push_str("; the second value by the acid-base method (van Oss, Chaudhury and Good 1988)");
        }
        figures.push(figure);
        limits.insert(
            "surface_energy".into(),
            format!(
                "{:.1} mJ/m2 of it polar, {} state",
                e.polar_j_m2 * 1e3,
                if e.state == "untreated" { "in the untreated" } else { "in the dispensing" }
            ),
        );
    }
    let flat: Vec<_> = work.faces.angles.iter().filter(|a| a.face != Face::Bump).collect();
    let mean = 0.5 * flat.iter().map(|a| a.angle_rad).sum::<f64>();
    let spread = 0.5 * flat.iter().map(|a| a.spread_rad.powi(2)).sum::<f64>().sqrt();
    let mut figure = Figure::hand(
        "contact_angle",
        mean.to_degrees(),
        "deg",
        "mean of the underfill's angles on die and substrate",
    );
    figure.error = (spread > 0.0).then_some(spread.to_degrees());
    figure.hand = substrate.map(|e| {
        let die = work.faces.angle(Face::Die);
        0.5 * (die + e.predicted_angle_rad).to_degrees()
    });
    figures.push(figure);
    let words: Vec<String> = work
        .faces
        .angles
        .iter()
        .map(|a| format!("{} {:.0} deg ({})", a.face.words(), a.angle_rad.to_degrees(), a.from))
        .collect();
    limits.insert("contact_angle".into(), words.join(", "));
    if let Some((water, ageing)) = &work.faces.water {
        figures.push(Figure::hand(
            "water_angle",
            water.to_degrees(),
            "deg",
            "water on the substrate when dispensing, first order in dose and in queue time, from the readings",
        ));
        if let Some(law) = ageing {
            match law.dose_for(WATER_LIMIT).filter(|t| *t > 0.0) {
                Some(time) => figures.push(Figure::hand(
                    "queue_limit",
                    time / 3600.0,
                    "h",
                    "time after plasma at which water reaches 30 deg (limit: common practice), first order from the readings",
                )),
                None => notes.push(format!(
                    "Water on the substrate goes from {:.0} deg to {:.0} deg as it ages: it never crosses 30 deg, so there is no queue limit.",
                    law.start_rad.to_degrees(),
                    law.end_rad.to_degrees()
                )),
            }
        }
    }
    notes.push("Angles and surface energies hold for clean, even faces at the temperature of the reading; a patch that does not wet is not in these forms.".into());
}
