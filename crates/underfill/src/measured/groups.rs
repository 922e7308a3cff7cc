//! Drops by face, liquid and state: the underfill's own angle, maps over the die, charts over lots.

use super::{DropFound, FaceMap, Found, LotChart, LotPoint, UNDERFILL};
use crate::problem::{Angle, Face, Problem};
use crate::readings::Placed;
use crate::readings::chart::{FEWEST_LOTS, Kind, Lot, Signal, chart};
use crate::readings::map::{AngleMap, FEWEST_READINGS};

/// Cells along the longer side of a map.
const CELLS: usize = 60;

/// Faces and liquids of the drops, each once, in their order.
fn kinds(drops: &[DropFound]) -> Vec<(Face, String)> {
    let mut kinds: Vec<(Face, String)> = Vec::new();
    for drop in drops {
        if !kinds.iter().any(|k| k.0 == drop.face && k.1 == drop.liquid) {
            kinds.push((drop.face, drop.liquid.clone()));
        }
    }
    kinds
}

/// Drops of a face and liquid as it is when the underfill is dispensed: after plasma where there is one and drops were read then.
fn at_dispense<'a>(problem: &Problem, drops: &'a [DropFound], kind: &(Face, String)) -> Vec<&'a DropFound> {
    let of: Vec<&DropFound> = drops.iter().filter(|d| d.face == kind.0 && d.liquid == kind.1).collect();
    let treated = problem.plasma.is_some() && of.iter().any(|d| d.dose_j > 0.0);
    let of = of.into_iter().filter(|d| (d.dose_j > 0.0) == treated);
    let Some(plasma) = problem.plasma.filter(|_| treated) else { return of.collect() };
    // Of several doses the one nearest to the step's.
    let of: Vec<&DropFound> = of.collect();
    let off = |d: &DropFound| (d.dose_j - plasma.power_w * plasma.time_s).abs();
    let least = of.iter().map(|d| off(d)).fold(f64::INFINITY, f64::min);
    of.into_iter().filter(|d| off(d) <= least + 1e-9 * d.dose_j).collect()
}

/// The angle of the underfill itself on each face, weighed by the deviations.
pub fn own(problem: &Problem, found: &mut Found) {
    for kind in kinds(&found.shown.drops).into_iter().filter(|k| k.1 == UNDERFILL) {
        let drops = at_dispense(problem, &found.shown.drops, &kind);
        // Of several ages the one nearest to the wait.
        let off = |d: &DropFound| (d.age_s - problem.queue_s).abs();
        let least = drops.iter().map(|d| off(d)).fold(f64::INFINITY, f64::min);
        let drops: Vec<&DropFound> = drops.into_iter().filter(|d| off(d) <= least).collect();
        let weight: f64 = drops.iter().map(|d| d.spread_rad.powi(-2)).sum();
        let angle_rad = drops.iter().map(|d| d.angle_rad * d.spread_rad.powi(-2)).sum::<f64>() / weight;
        // The scatter of the drops counts where it is larger than what each is known to.
        let n = drops.len() as f64;
        let scatter = (drops.iter().map(|d| (d.angle_rad - angle_rad).powi(2)).sum::<f64>() / n).sqrt();
        let spread_rad = weight.sqrt().recip().max(scatter);
        if angle_rad.is_finite() {
            found.own.push((kind.0, Angle { angle_rad, spread_rad }));
        }
    }
}

/// Maps where enough drops have places.
pub fn maps(problem: &Problem, found: &mut Found) {
    let size = [problem.die.width_m, problem.die.height_m];
    let longer = size[0].max(size[1]);
    let count = size.map(|s| ((CELLS as f64 * s / longer).round() as usize).max(2));
    for kind in kinds(&found.shown.drops) {
        let placed: Vec<Placed> = at_dispense(problem, &found.shown.drops, &kind)
            .into_iter()
            .filter_map(|d| {
                Some(Placed { place_m: d.place_m?, angle_rad: d.angle_rad, spread_rad: d.spread_rad })
            })
            .collect();
        if placed.len() < FEWEST_READINGS {
            continue;
        }
        match AngleMap::fitted(&placed) {
            Ok(map) => {
                let grid = map.grid([0.0; 2], size, count[0], count[1]);
                found.shown.maps.push(FaceMap {
                    face: kind.0,
                    liquid: kind.1,
                    count,
                    step_m: [0, 1].map(|k| size[k] / count[k] as f64),
                    angle_rad: grid.iter().map(|e| e.angle_rad as f32).collect(),
                    spread_rad: grid.iter().map(|e| e.spread_rad as f32).collect(),
                    places_m: placed.iter().map(|p| p.place_m).collect(),
                    length_m: map.covariance().length_m,
                });
            }
            Err(reason) => found.notes.push(format!(
                "The readings with {} on the {} give no map: {reason}.",
                kind.1,
                kind.0.words()
            )),
        }
    }
}

/// Charts where enough lots were read.
pub fn charts(found: &mut Found) {
    let mut charts = Vec::new();
    for kind in kinds(&found.shown.drops) {
        for treated in [false, true] {
            let mut lots: Vec<Lot> = Vec::new();
            let of = found.shown.drops.iter().filter(|d| d.face == kind.0 && d.liquid == kind.1);
            for drop in of.filter(|d| (d.dose_j > 0.0) == treated) {
                let Some(name) = &drop.lot else { continue };
                match lots.iter_mut().find(|l| l.name == *name) {
                    Some(lot) => lot.angles_rad.push(drop.angle_rad),
                    None => lots.push(Lot { name: name.clone(), angles_rad: vec![drop.angle_rad] }),
                }
            }
            if lots.len() < FEWEST_LOTS {
                continue;
            }
            match chart(&lots) {
                Ok(chart) => charts.push(LotChart {
                    face: kind.0,
                    liquid: kind.1.clone(),
                    treated,
                    means: chart.kind == Kind::MeansAndDeviations,
                    middle_rad: chart.middle_rad,
                    points: chart
                        .points
                        .iter()
                        .map(|p| LotPoint {
                            lot: p.name.clone(),
                            angle_rad: p.angle_rad,
                            limits_rad: p.limits_rad,
                            signals: p.signals.iter().map(|s| words(*s).to_owned()).collect(),
                        })
                        .collect(),
                }),
                Err(reason) => found.notes.push(format!(
                    "The lots read with {} on the {} give no chart: {reason}.",
                    kind.1,
                    kind.0.words()
                )),
            }
        }
    }
    for chart in &charts {
        let asking: Vec<&str> =
            chart.points.iter().filter(|p| !p.signals.is_empty()).map(|p| p.lot.as_str()).collect();
        if !asking.is_empty() {
            found.notes.push(format!(
                "The chart of {} on the {} {} asks for a look at lot {}.",
                chart.liquid,
                chart.face.words(),
                if chart.treated { "after plasma" } else { "before plasma" },
                asking.join(", ")
            ));
        }
    }
    found.shown.charts = charts;
}

fn words(signal: Signal) -> &'static str {
    match signal {
        Signal::BeyondLimits => "beyond three deviations",
        Signal::EightOnOneSide => "eight in a row on one side of the middle",
        Signal::Scatter => "scatter beyond its limits",
    }
}
