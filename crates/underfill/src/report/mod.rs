//! What the figures say, what limits them, and what a reader must know.

mod amounts;
mod cleaning;
mod flow;
pub(crate) use flow::flow_range;
mod surfaces;
mod voids;

use crate::problem::Pattern;
use crate::solve::Work;
use facedown_evidence::Figure;
use std::collections::BTreeMap;

/// Figures, limits, notes and advice.
type Words = (Vec<Figure>, BTreeMap<String, String>, Vec<String>, Vec<String>);

/// Estimate and bound of the trapped share of the die's area; nothing where it cannot be judged.
pub(crate) fn void_share(work: &Work<'_>) -> Option<(f64, f64)> {
    let air = work.air.as_ref()?;
    (!pins(work)).then_some((air.estimate, air.bound))
}

fn pins(work: &Work<'_>) -> bool {
    work.least_pa.is_some_and(|p| p <= 0.0)
}

pub(crate) fn write(work: &Work<'_>) -> Words {
    let mut figures = Vec::new();
    let mut limits: BTreeMap<String, String> = BTreeMap::new();
    let mut notes = work.faces.notes.clone();
    surfaces::write(work, &mut figures, &mut limits, &mut notes);
    cleaning::write(work, &mut figures, &mut limits, &mut notes);
    flow::write(work, &mut figures, &mut limits, &mut notes);
    voids::write(work, &mut figures, &mut limits, &mut notes);
    amounts::write(work, &mut figures, &mut limits, &mut notes);
    amounts::cure(work, &mut figures, &mut limits, &mut notes);
    let advice = advice(work);
    // A closed form may overflow on an extreme problem; what is not a number is no figure.
    for figure in figures.iter().filter(|f| !f.value.is_finite()) {
        notes.push(format!("The figure {} is too large to be given.", figure.name));
    }
    figures.retain(|f| f.value.is_finite() && f.between.is_none_or(|b| b.iter().all(|v| v.is_finite())));
    (figures, limits, notes, advice)
}

fn advice(work: &Work<'_>) -> Vec<String> {
    let p = work.problem;
    let mut advice = vec![
        "Common practice: water below 20 to 30 deg on mask and passivation after plasma, and at most 4 h from plasma to dispense; clean again above 40 deg.".to_string(),
        "Common practice: voids up to 5 % of the area (1 to 2 % for high reliability), none that bridges two bumps, none in the outer corner rows.".to_string(),
        "Against tests, the best of seven published closed forms missed single fill times by up to 26 % (Ng and Abas 2021).".to_string(),
        "Common practice: fillet height 50 to 75 % of the die's thickness, on all four sides.".to_string(),
        "A low angle right after plasma is no proof of adhesion after humidity: wetting was not the controlling factor in a published study (Luo and Wong, IEEE Trans. Compon. Packag. Technol. 24 (2001) 43).".to_string(),
    ];
    if matches!(p.dispense.pattern, Pattern::U | Pattern::TwoLines) {
        advice.push("Experiments show more voids for a U than for an L (Abas et al., Sadhana 43 (2018)): leave a side open until the front has come through.".into());
    }
    if let Some(b) = p.bumps {
        let clearance = (b.pitch_m - b.diameter_m) * 1e6;
        if clearance < 70.0 {
            advice.push(format!(
                "The clearance between bumps is {clearance:.0} um; below 60 to 70 um the bumps' resistance counts (Wan and Bergstrom 2007)."
            ));
        }
    }
    advice
}
