//! What a power trace does to the junctions: the figure, the curves, and what they rest on.

use crate::judge::round;
use crate::outcome::{Followed, FollowedPlace, Outcome};
use crate::problem::{Problem, Trace};
use crate::solid::{Traced, of_design};
use facedown_evidence::Figure;

const ZERO_CELSIUS: f64 = 273.15;

/// Adds the figure and the curves; `junction` is the rise of the hottest place in service by the grids of service, K.
pub(crate) fn follow(
    problem: &Problem,
    trace: &Trace,
    traced: &Traced,
    junction: f64,
    outcome: &mut Outcome,
) {
    let ambient = problem.service.ambient_k;
    let hottest = traced.places.iter().enumerate().max_by(|a, b| a.1.hottest[0].total_cmp(&b.1.hottest[0]));
    let Some((index, place)) = hottest else { return };
    let [rise, at_s] = place.hottest;
    let basis = format!(
        "hottest of {} over the power trace{}; each course of the trace by its own step response, {} systems on {} cells in \
         all, films and conductivities as settled in service; error of the responses, and of their grid by the junction in \
         service",
        places(traced.places.len()),
        if trace.repeats { " in its periodic state" } else { ", whose first powers held before it" },
        traced.shifts,
        traced.cells
    );
    let mut figure = Figure::solved("junction_trace_max", ambient - ZERO_CELSIUS + rise, "degC", &basis);
    let grid =
        if traced.junction > 0.0 { ((traced.junction - junction) / traced.junction).abs() } else { 0.0 };
    figure.error = Some((traced.error + grid) * rise.abs());
    outcome.figures.push(figure);
    let name = |course: usize| trace.courses.get(course).map_or_else(String::new, |c| c.name.clone());
    outcome.limits.insert(
        "junction_trace_max".into(),
        format!("in {} at {} of the trace", name(place.course), moment(at_s)),
    );
    let highest: f64 = total(problem, trace).into_iter().fold(f64::NEG_INFINITY, f64::max);
    if highest > 2.0 * problem.power_w() {
        outcome.notes.push(format!(
            "The trace goes up to {} W where service has {} W; films of air that follow their temperature would carry more.",
            round(highest),
            round(problem.power_w())
        ));
    }
    let followed = Followed {
        repeats: trace.repeats,
        places: traced
            .places
            .iter()
            .map(|p| FollowedPlace {
                name: name(p.course),
                max_k: ambient + p.hottest[0],
                at_s: p.hottest[1],
                service_k: ambient + p.in_service,
                curve: p.curve.iter().map(|[t, rise]| [*t, ambient + rise]).collect(),
            })
            .collect(),
        hottest: index,
        power: steps(trace, &total(problem, trace)),
        error: traced.error,
        cells: traced.cells,
        shifts: traced.shifts,
    };
    if let Some(solid) = &mut outcome.solid {
        solid.trace = Some(followed);
    }
}

fn places(count: usize) -> String {
    if count == 1 {
        "the one place that is watched".into()
    } else {
        format!("{count} places that are watched")
    }
}

/// A time with the unit that suits it.
fn moment(seconds: f64) -> String {
    let (value, unit) = match seconds.abs() {
        s if s >= 1.0 || s == 0.0 => (seconds, "s"),
        s if s >= 1e-3 => (1e3 * seconds, "ms"),
        _ => (1e6 * seconds, "us"),
    };
    format!("{} {unit}", round(value))
}

/// Heat of all dies in each piece, W.
fn total(problem: &Problem, trace: &Trace) -> Vec<f64> {
    let following: f64 = trace.courses.iter().map(|c| of_design(problem, c.die, c.block)).sum();
    let rest = problem.power_w() - following;
    let each = |row: usize| rest + trace.courses.iter().map(|c| c.powers_w[row]).sum::<f64>();
    (0..trace.durations_s.len()).map(each).collect()
}

/// A course of steps: both ends of each piece, of long traces the highest of some.
fn steps(trace: &Trace, powers: &[f64]) -> Vec<[f64; 2]> {
    let together = powers.len().div_ceil(600).max(1);
    let (mut time, mut out) = (0.0, Vec::new());
    for (durations, powers) in trace.durations_s.chunks(together).zip(powers.chunks(together)) {
        let end = time + durations.iter().sum::<f64>();
        let power = powers.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        out.extend([[time, power], [end, power]]);
        time = end;
    }
    out
}
