//! Junctions over a power trace: the answers to a step of each course of the trace, put together.
//!
//! Films and conductivities are held as service has settled them, so that the model is linear: every course has its own
//! answer at every place that is watched, found like the warming of the whole package ([`super::transient`]) at the cost
//! of one such model a course, and what does not follow the trace keeps its share of service. The trace is then followed
//! exactly ([`facedown_field::relaxation`]), from its first powers or from its periodic state on.

use super::case::{Case, Spot};
use super::mesh::Cut;
use super::transient::{ERROR, TIMES_S, without_capacity};
use crate::network::Setting;
use crate::problem::{Problem, Trace};
use crate::valid::Refusal;
use facedown_field::conduction::{Probe, Span};
use facedown_field::relaxation::{Piece, Relaxation, State, range};

/// Time constant of what follows a power at once, s.
const AT_ONCE_S: f64 = 1e-9;
/// Longer than any time constant of a package, s.
const SETTLED_S: f64 = 1e12;
/// Points of a curve at least, and kept at most.
const POINTS: usize = 240;
const KEPT: usize = 1200;

/// A place that was watched.
#[derive(Debug, Clone, PartialEq)]
pub struct TracedPlace {
    /// The course whose hottest place in service it is.
    pub course: usize,
    /// Hottest moment: rise, K, and time from the start of the trace, s.
    pub hottest: [f64; 2],
    /// Time, s, and rise over the ambient, K.
    pub curve: Vec<[f64; 2]>,
    /// Rise in service, K.
    pub in_service: f64,
}

/// The places of a trace.
#[derive(Debug, Clone, PartialEq)]
pub struct Traced {
    /// One place a course at most, in their order.
    pub places: Vec<TracedPlace>,
    /// Largest error of the answers over their steady values.
    pub error: f64,
    /// Rise of the hottest place in service on this grid, K.
    pub junction: f64,
    /// Systems solved.
    pub shifts: usize,
    /// Cells.
    pub cells: usize,
}

/// Follows the trace of a problem; `None` where it has none, or where a part has no heat capacity given.
///
/// # Errors
/// [`Refusal`] as for the steady case, and where an answer is not reached.
pub fn traced(problem: &Problem, setting: &Setting, fineness: f64) -> Result<Option<Traced>, Refusal> {
    let Some(trace) = &problem.trace else { return Ok(None) };
    let power: f64 = setting.powers_w.iter().sum();
    if !without_capacity(problem, setting).is_empty() {
        return Ok(None);
    }
    let mut case = Case::solve(problem, setting, Cut { fineness, early: true }, None)?;
    let rises: Vec<f64> = case.spots.iter().map(|s| s.rise(&case.body, &case.field)).collect();
    let shapes: Vec<Vec<(usize, f64)>> =
        trace.courses.iter().map(|c| case.shape(problem, c.die, c.block)).collect();
    // Hottest place of each course in service, each once.
    let mut watched: Vec<(usize, usize)> = Vec::new();
    for (course, shape) in shapes.iter().enumerate() {
        let hottest = shape.iter().map(|s| s.0).max_by(|a, b| rises[*a].total_cmp(&rises[*b]));
        if let Some(spot) = hottest.filter(|spot| watched.iter().all(|w| w.1 != *spot)) {
            watched.push((course, spot));
        }
    }
    let mut answers: Vec<Vec<Vec<Relaxation>>> = vec![Vec::new(); watched.len()];
    let (mut error, mut shifts) = (0.0_f64, 0);
    let capacities = case.capacities();
    for shape in &shapes {
        let mut load = case.body.zero();
        for (spot, weight) in shape {
            for (cell, share) in case.spots[*spot].shared() {
                case.body.add_at(&mut load, cell, weight * share);
            }
        }
        let probes: Vec<Probe> = watched.iter().map(|(_, at)| probe(&case.spots[*at], *at, shape)).collect();
        let span = Span { times: TIMES_S, error: ERROR };
        let answer = case
            .body
            .response(&case.films, &capacities, &load, &probes, span)
            .map_err(|_| Refusal::Unsettled { power_w: power })?;
        error = error.max(answer.error);
        shifts += answer.shifts;
        for ((own, parts), direct) in answers.iter_mut().zip(&answer.parts).zip(&answer.direct) {
            let mut parts = parts.clone();
            if *direct != 0.0 {
                parts.push(Relaxation { gain: *direct, time_constant: AT_ONCE_S });
            }
            own.push(parts);
        }
    }
    let design: Vec<f64> = trace.courses.iter().map(|c| of_design(problem, c.die, c.block)).collect();
    let places = watched
        .iter()
        .zip(&answers)
        .map(|((course, spot), sources)| {
            let steady = sources.iter().map(|parts| parts.iter().map(|p| p.gain).sum::<f64>());
            let own: f64 = steady.zip(&design).map(|(z, p)| z * p).sum();
            let rest = rises[*spot] - own;
            let (hottest, curve) =
                follow(trace, sources, rest).ok_or(Refusal::Unsettled { power_w: power })?;
            Ok(TracedPlace { course: *course, hottest, curve, in_service: rises[*spot] })
        })
        .collect::<Result<Vec<TracedPlace>, Refusal>>()?;
    let junction = rises.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Ok(Some(Traced { places, error, junction, shifts, cells: case.body.count() }))
}

/// A place on an active face, for a course of that shape.
fn probe(spot: &Spot, at: usize, shape: &[(usize, f64)]) -> Probe {
    let own: f64 = shape.iter().filter(|s| s.0 == at).map(|s| s.1).sum();
    Probe { cells: spot.shared().collect(), direct: own / spot.conductance() }
}

/// Power in service of what follows a course, W.
pub(crate) fn of_design(problem: &Problem, die: usize, block: Option<usize>) -> f64 {
    let die = &problem.dies[die];
    let own = die.power_w - die.even_w - die.joule_w();
    match block {
        None => own,
        // Blocks keep their shape where the power of their die is written beside them.
        Some(block) => {
            let listed: f64 = die.blocks.iter().map(|b| b.power_w).sum();
            die.blocks.get(block).map_or(0.0, |b| if listed > 0.0 { own * b.power_w / listed } else { 0.0 })
        }
    }
}

/// Hottest moment and curve of a place; `rest` is what does not follow the trace, K.
fn follow(trace: &Trace, sources: &[Vec<Relaxation>], rest: f64) -> Option<([f64; 2], Vec<[f64; 2]>)> {
    let pieces: Vec<Piece> = trace
        .durations_s
        .iter()
        .enumerate()
        .map(|(row, &duration)| Piece {
            duration,
            inputs: trace.courses.iter().map(|c| c.powers_w[row]).collect(),
        })
        .collect();
    let mut state = if trace.repeats {
        State::periodic(sources, &pieces)
    } else {
        let mut state = State::rest(sources);
        state.advance(&pieces.first()?.inputs, SETTLED_S);
        state
    };
    let each = (POINTS / pieces.len()).max(4);
    let mut curve = vec![[0.0, rest + state.answer()]];
    let mut start = 0.0;
    // The piece with the hottest of all points, and the state that it begins in.
    let mut best = (curve[0][1], 0, state.clone(), 0.0);
    for (index, piece) in pieces.iter().enumerate() {
        let (begin, mut passed) = (state.clone(), 0.0);
        for k in 1..=each {
            // Dense where the change is quickest.
            let time = piece.duration * (k as f64 / each as f64).powi(2);
            state.advance(&piece.inputs, time - passed);
            passed = time;
            let rise = rest + state.answer();
            curve.push([start + time, rise]);
            if rise > best.0 {
                best = (rise, index, begin.clone(), start);
            }
        }
        start += piece.duration;
    }
    let (_, index, begin, from) = best;
    let within = range(begin, &pieces[index..=index]).ok()?;
    let hottest = [rest + within.high, from + within.high_at];
    Some((hottest, thinned(curve)))
}

/// At most so many points; the highest and the lowest of each stretch stay.
fn thinned(curve: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    if curve.len() <= KEPT {
        return curve;
    }
    let stretch = (2 * curve.len()).div_ceil(KEPT);
    let mut out = Vec::with_capacity(KEPT + 2);
    for part in curve.chunks(stretch) {
        let high = part.iter().max_by(|a, b| a[1].total_cmp(&b[1]));
        let low = part.iter().min_by(|a, b| a[1].total_cmp(&b[1]));
        let mut two: Vec<[f64; 2]> = [low, high].into_iter().flatten().copied().collect();
        two.sort_by(|a, b| a[0].total_cmp(&b[0]));
        out.extend(two);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Course;
    use crate::pulses::pulse_train_peak;

    fn parts() -> Vec<Relaxation> {
        [(0.08, 9e-4), (0.3, 0.03), (0.6, 3.0)]
            .map(|(gain, time_constant)| Relaxation { gain, time_constant })
            .to_vec()
    }

    fn trace(repeats: bool, rows: &[(f64, f64)]) -> Trace {
        let course =
            Course { name: "core".into(), die: 0, block: None, powers_w: rows.iter().map(|r| r.1).collect() };
        Trace { repeats, durations_s: rows.iter().map(|r| r.0).collect(), courses: vec![course] }
    }

    #[test]
    fn pulses_reach_the_peak_of_their_geometric_series() {
        let train = trace(true, &[(0.01, 4.0), (0.04, 0.0)]);
        let ([rise, at], curve) = follow(&train, &[parts()], 1.5).unwrap();
        assert!((rise - 1.5 - 4.0 * pulse_train_peak(&parts(), 0.05, 0.2)).abs() < 1e-12);
        assert!((at - 0.01).abs() < 1e-12);
        // It ends as it began.
        assert!((curve[0][1] - curve[curve.len() - 1][1]).abs() < 1e-9);
    }

    #[test]
    fn a_trace_begins_settled_at_its_first_powers() {
        let ([rise, _], curve) = follow(&trace(false, &[(1e-3, 2.0), (1e-3, 2.0)]), &[parts()], 0.0).unwrap();
        assert!((rise - 2.0 * 0.98).abs() < 1e-9 && (curve[0][1] - 2.0 * 0.98).abs() < 1e-9);
    }

    #[test]
    fn a_long_curve_is_thinned_and_keeps_its_peak() {
        let rows: Vec<(f64, f64)> = (0..3000).map(|i| (1e-3, if i == 1500 { 9.0 } else { 1.0 })).collect();
        let ([rise, at], curve) = follow(&trace(false, &rows), &[parts()], 0.0).unwrap();
        assert!(curve.len() <= KEPT + 2);
        assert!((at - 1.501).abs() < 1e-9);
        assert!(curve.iter().any(|p| (p[1] - rise).abs() < 1e-9));
    }
}
