//! From a problem to its outcome: check, reflow, class, then each array.

use crate::barrier::History;
use crate::check::{Refusal, check};
use crate::classification;
use crate::figures::{Naming, report_array};
use crate::outcome::{ClassOutcome, Outcome, ReflowOutcome};
use crate::problem::{Array, Problem};
use crate::reflow::Curve;
use facedown_evidence::Figure;

/// Solves a problem.
///
/// # Errors
/// [`Refusal`] where a number has no meaning or nothing is there to be solved. A design that is legal but does not work
/// (a peak below the liquidus, joints that cannot carry the part) is no error: its figures are left out, and notes and
/// limits say why.
pub fn solve(problem: &Problem) -> Result<Outcome, Refusal> {
    check(problem)?;
    let mut out = Outcome::default();
    let arrays = [&problem.bumps, &problem.balls];
    let highest = arrays
        .iter()
        .filter_map(|a| a.as_ref())
        .max_by(|a, b| a.solder.liquidus.total_cmp(&b.solder.liquidus))
        .map(|a| &a.solder);
    let mut curve = None;
    if let (Some(reflow), Some(solder)) = (&problem.reflow, highest) {
        curve = Some(Curve::new(reflow, solder.liquidus));
    }
    if let (Some(_), Some(curve)) = (&problem.reflow, &curve) {
        report_reflow(problem, curve, &mut out);
    }
    if let Some(array) = &problem.bumps {
        let naming = Naming::Bumps;
        out.bumps = report_array(array, naming, melting(problem, array, curve.as_ref()), &mut out);
    }
    if let Some(array) = &problem.balls {
        let naming = Naming::Balls;
        out.balls = report_array(array, naming, melting(problem, array, curve.as_ref()), &mut out);
    }
    if arrays.iter().filter_map(|a| a.as_ref()).any(|a| a.solder.leaded) {
        out.notes.push("This solder contains lead: follow its safety data sheet, local codes on lead, and licensed practice.".into());
    }
    out.notes.push(
        "Hot reflow and flux fumes harm: exhaust them, and follow safety data sheets, local codes and licensed practice."
            .into(),
    );
    Ok(out)
}

/// Whether an array's solder melts, and what its metal goes through.
pub(crate) struct Melting {
    /// Peak less liquidus, K, where there is a reflow.
    pub superheat: Option<f64>,
    /// Reflows and storage; absent where neither is known.
    pub history: Option<History>,
    /// Peak, K.
    pub peak: Option<f64>,
}

fn melting(problem: &Problem, array: &Array, curve: Option<&Curve>) -> Melting {
    let superheat = problem.reflow.as_ref().map(|r| r.peak - array.solder.liquidus);
    let time = curve.map_or(0.0, |c| c.time_above(array.solder.liquidus));
    let reflows = problem.reflow.as_ref().map_or(0, |r| r.count);
    let known = problem.reflow.is_some() || !problem.storage.is_empty();
    let history = known.then(|| History { reflows, time, storage: problem.storage.clone() });
    Melting { superheat, history, peak: problem.reflow.as_ref().map(|r| r.peak) }
}

fn report_reflow(problem: &Problem, curve: &Curve, out: &mut Outcome) {
    let Some(reflow) = &problem.reflow else { return };
    let solders: Vec<_> =
        [&problem.bumps, &problem.balls].into_iter().flatten().map(|array| &array.solder).collect();
    let Some(solder) = solders.iter().max_by(|a, b| a.liquidus.total_cmp(&b.liquidus)) else { return };
    let time = curve.time_above(solder.liquidus);
    let superheat = reflow.peak - solder.liquidus;
    out.reflow = Some(ReflowOutcome {
        profile: curve.points.clone(),
        liquidus: solder.liquidus,
        time_above_liquidus: time,
    });
    out.figures.push(Figure::hand(
        "time_above_liquidus",
        time,
        "s",
        "straight pieces of the reflow profile above the solder's liquidus",
    ));
    out.figures.push(Figure::hand(
        "peak_over_liquidus",
        superheat,
        "K",
        "peak of the reflow less the solder's liquidus",
    ));
    let melts = format!("set by {}, liquid above {:.0} degC", solder.name, solder.liquidus - 273.15);
    out.limits.insert("peak_over_liquidus".into(), melts.clone());
    out.limits.insert("time_above_liquidus".into(), melts);
    if curve.ramps_too_slow {
        out.notes.push(format!(
            "The ramps of {:.1} K/s and {:.1} K/s alone keep the solder liquid for {time:.0} s, longer than the {:.0} s that are wanted: raise the rates, lower the peak, or allow more time.",
            reflow.ramp_up,
            reflow.ramp_down,
            reflow.time_above_liquidus.unwrap_or_default()
        ));
    }
    if superheat > 0.0 && superheat < 20.0 {
        out.advice.push(format!(
            "The peak is {superheat:.0} K above the liquidus; 20 K and more at the coldest joint is common practice."
        ));
    }
    if superheat > 0.0 && !(45.0..=90.0).contains(&time) {
        out.advice.push(format!(
            "The solder is liquid for {time:.0} s; 45 to 90 s is common practice at chip attach."
        ));
    }
    if reflow.count > 3 {
        out.advice.push(format!(
            "The joint sees {} reflows; parts are usually classified for three (common practice).",
            reflow.count
        ));
    }
    let Some(body) = &problem.body else { return };
    let lead_free = reflow.lead_free.unwrap_or_else(|| solders.iter().all(|s| !s.leaded));
    let volume = body.width * body.height * body.thickness;
    let class = classification::temperature(body.thickness, volume, lead_free);
    let clauses = classification::clauses(body, reflow, curve, lead_free);
    let broken: Vec<_> = clauses.iter().filter(|c| !c.kept).collect();
    out.figures.push(Figure::hand(
        "reflow_class",
        broken.len() as f64,
        "",
        "largest values of the J-STD-020 classification profile that the reflow exceeds, of seven",
    ));
    out.figures.push(Figure::hand(
        "classification_temperature",
        class - 273.15,
        "degC",
        "J-STD-020, table of classification temperatures by thickness and volume of the body",
    ));
    out.figures.push(Figure::hand(
        "classification_margin",
        class - reflow.peak,
        "K",
        "classification temperature less the peak of the reflow",
    ));
    out.limits.insert(
        "classification_temperature".into(),
        format!("set by a body {:.2} mm thick of {:.0} mm3", body.thickness * 1e3, volume * 1e9),
    );
    if let Some(first) = broken.first() {
        out.limits.insert(
            "reflow_class".into(),
            format!(
                "set by the {}, {:.0} {} against {:.0} {}",
                first.what, first.value, first.unit, first.limit, first.unit
            ),
        );
    }
    out.notes.push(
        "The classification profile of J-STD-020 is that of a qualification: the reflow is held against its largest values only."
            .into(),
    );
    out.classification = Some(ClassOutcome { temperature: class, volume, clauses });
}
