//! The numbers of cleaning for the process sheet: dose, wait, limits and how it is inspected.

use super::NoCleaning;
use super::dose::DoseNeeded;
use super::step::{CleanTask, clean, dose_for_limit};
use crate::outcome::SheetLine;
use serde::{Deserialize, Serialize};

/// What the process sheet says of cleaning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CleaningSheet {
    /// Dose that brings the bare face to the limit, fresh, J; absent without a step, or where it never gets there.
    pub bare_dose: Option<DoseNeeded>,
    /// Dose with which the worst place keeps the limit after the wait, with its confidence, J.
    pub dose_j: Option<f64>,
    /// Time of it at the power of the step, s.
    pub time_s: Option<f64>,
    /// Longest wait after the planned step for the bare face, s; absent where it may wait for ever, or without a step.
    pub longest_queue_s: Option<f64>,
    /// Angle that must be kept, rad.
    pub limit_rad: f64,
    /// Readings of which the mean shows, with that confidence, that the face keeps the limit; absent where it does not.
    pub readings: Option<u32>,
    /// Lines for the sheet.
    pub lines: Vec<SheetLine>,
}

/// Fewest places that are read (common practice, no source).
const FEWEST: u32 = 5;
/// Most places that make sense.
const MOST: f64 = 100.0;

/// The cleaning part of the process sheet.
///
/// # Errors
/// As [`clean`].
pub fn sheet(task: &CleanTask) -> Result<CleaningSheet, NoCleaning> {
    let outcome = clean(task)?;
    let dose_j = dose_for_limit(task)?;
    let limit = task.limit;
    let law = task.plasma.and_then(|p| Some((p, task.gases.iter().find(|g| g.gas == p.gas)?)));
    let bare_dose = law.and_then(|(_, g)| g.bare.dose_for(limit.angle_rad, limit.confidence));
    let longest_queue_s = law.and_then(|(p, g)| {
        let fresh = g.bare.after(p.power_w * p.time_s);
        task.ageing.longest(fresh, limit.angle_rad, limit.confidence)
    });
    let time_s = dose_j.zip(law).map(|(dose, (p, _))| dose / p.power_w).filter(|t| t.is_finite());
    // The mean of n readings is known to one over the root of n of a reading's deviation.
    let quantile = facedown_field::distribution::normal_quantile(limit.confidence).unwrap_or(0.0);
    let room = limit.angle_rad - outcome.worst.angle_rad;
    let needed = (quantile * super::dose::READING_SPREAD / room).powi(2).ceil();
    let readings = (room > 0.0 && needed <= MOST).then(|| (needed as u32).max(FEWEST));

    let mut lines = Vec::new();
    let mut line = |step: &str, setting: String, limit: String, inspection: String, caution: &str| {
        lines.push(SheetLine { step: step.into(), setting, limit, inspection, caution: caution.into() });
    };
    let kept = format!(
        "at most {:.0} deg at dispense, with {:.0} %",
        limit.angle_rad.to_degrees(),
        100.0 * limit.confidence
    );
    if let Some((plasma, _)) = law {
        let needs = match (dose_j, time_s) {
            (Some(dose), Some(time)) => {
                format!("the worst place needs {:.1} kJ, {time:.0} s at that power", dose * 1e-3)
            }
            _ => "no dose makes the worst place keep the limit: clean it another way first".into(),
        };
        line(
            "plasma dose",
            format!("{}, {:.1} kJ", plasma.gas.words(), outcome.dose_j * 1e-3),
            format!("{kept}; {needs}"),
            "angles on a witness part before and after, the places of most residue among them".into(),
            "A longer step heats the part and roughens polymers: keep the maker's instructions, local codes and licensed practice.",
        );
        let longest = match longest_queue_s {
            Some(t) if t > 0.0 => {
                format!("at most {:.1} h by how the bare face ages ({})", t / 3600.0, task.ageing.source)
            }
            Some(_) => "the fresh face does not keep the limit: no wait is short enough".into(),
            None => format!("no limit by how the bare face ages ({})", task.ageing.source),
        };
        line(
            "queue limit",
            format!("{:.1} h", task.queue_s / 3600.0),
            longest,
            "time stamp of plasma and dispense".into(),
            "",
        );
    }
    let places = match readings {
        Some(n) => format!("{n} readings at the worst place show it"),
        None => "the worst place does not keep it".into(),
    };
    line(
        "inspect the surface",
        format!(
            "worst place {:.0} deg, bare face {:.0} deg",
            outcome.worst.angle_rad.to_degrees(),
            outcome.bare.angle_rad.to_degrees()
        ),
        format!("{kept}; {:.1} % of the face does not keep it", 100.0 * outcome.above_limit),
        format!("angles along the rows of bumps where flux was; {places}"),
        "Probe liquids can be harmful: follow their safety data sheets.",
    );
    Ok(CleaningSheet {
        bare_dose,
        dose_j,
        time_s,
        longest_queue_s,
        limit_rad: limit.angle_rad,
        readings,
        lines,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::contamination::specimen;

    #[test]
    fn the_sheet_tells_the_dose_and_the_wait_or_why_there_is_none() {
        let mut task = specimen::streak();
        let told = sheet(&task).unwrap();
        assert_eq!(
            told.lines.iter().map(|l| l.step.as_str()).collect::<Vec<_>>(),
            ["plasma dose", "queue limit", "inspect the surface"]
        );
        assert!(told.time_s.unwrap() > 0.0 && told.longest_queue_s.unwrap() > 3600.0);
        assert!(told.bare_dose.unwrap().sure.unwrap() > told.bare_dose.unwrap().best);
        // The bare face is at the limit where the sheet says.
        let law = task.gases[0].bare;
        let at = law.after(told.bare_dose.unwrap().best);
        assert!((at.angle_rad - task.limit.angle_rad).abs() < 1e-9);
        task.limit.angle_rad = 0.05;
        let told = sheet(&task).unwrap();
        assert!(told.dose_j.is_none() && told.lines[0].limit.contains("no dose") && told.readings.is_none());
        task.plasma = None;
        assert_eq!(sheet(&task).unwrap().lines.len(), 1);
    }
}
