//! Sums of first-order parts driven by a piecewise constant input, exactly.
//!
//! A chain of first-order parts answers a step with `sum gain (1 - exp(-t / time constant))`. Over a piece of constant
//! input each part moves by its own exponential, so that a trace of any length is followed without a step size and
//! without an error of its own. A periodic input has its periodic state in closed form.

use crate::{NoConvergence, root};

/// One first-order part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Relaxation {
    /// Final answer to an input of one; may be negative in a sum that is no driving-point response.
    pub gain: f64,
    /// Time constant, s; above zero.
    pub time_constant: f64,
}

/// Constant inputs for a while.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// How long, s; above zero.
    pub duration: f64,
    /// One input a source.
    pub inputs: Vec<f64>,
}

/// Extremes and mean of an answer over a trace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Largest answer.
    pub high: f64,
    /// When, s from the start of the trace.
    pub high_at: f64,
    /// Least answer.
    pub low: f64,
    /// When.
    pub low_at: f64,
    /// Mean over time.
    pub mean: f64,
}

/// The answer to a step of one, at a time.
pub fn step(parts: &[Relaxation], time: f64) -> f64 {
    parts.iter().map(|p| -p.gain * (-time / p.time_constant).exp_m1()).sum()
}

/// State of every part of an answer to one or several sources.
#[derive(Debug, Clone, PartialEq)]
pub struct State<'a> {
    sources: &'a [Vec<Relaxation>],
    /// Of the parts, source after source.
    values: Vec<f64>,
}

impl<'a> State<'a> {
    /// At rest. The parts are given for each source.
    pub fn rest(sources: &'a [Vec<Relaxation>]) -> State<'a> {
        State { sources, values: vec![0.0; sources.iter().map(Vec::len).sum()] }
    }

    /// The state in which a trace that repeats for ever begins each time.
    pub fn periodic(sources: &'a [Vec<Relaxation>], trace: &[Piece]) -> State<'a> {
        let mut once = State::rest(sources);
        for piece in trace {
            once.advance(&piece.inputs, piece.duration);
        }
        let period: f64 = trace.iter().map(|p| p.duration).sum();
        for (value, part) in once.values.iter_mut().zip(sources.iter().flatten()) {
            *value /= -(-period / part.time_constant).exp_m1();
        }
        once
    }

    /// The answer now.
    pub fn answer(&self) -> f64 {
        self.values.iter().sum()
    }

    /// Goes on by a time under constant inputs; a source without an input has none.
    pub fn advance(&mut self, inputs: &[f64], time: f64) {
        let ends: Vec<_> = ends(self.sources, inputs).collect();
        for (value, (end, tau)) in self.values.iter_mut().zip(ends) {
            *value += (end - *value) * -(-time / tau).exp_m1();
        }
    }

    /// Value, final value and time constant of every part.
    fn each<'b>(&'b self, inputs: &'b [f64]) -> impl Iterator<Item = (f64, f64, f64)> + 'b {
        self.values.iter().zip(ends(self.sources, inputs)).map(|(v, (end, tau))| (*v, end, tau))
    }

    fn ahead(&self, inputs: &[f64], time: f64) -> f64 {
        self.each(inputs).map(|(v, end, tau)| v + (end - v) * -(-time / tau).exp_m1()).sum()
    }

    fn slope(&self, inputs: &[f64], time: f64) -> f64 {
        self.each(inputs).map(|(v, end, tau)| (end - v) / tau * (-time / tau).exp()).sum()
    }

    /// Integral of the answer over the next `time`.
    fn integral(&self, inputs: &[f64], time: f64) -> f64 {
        let each = self.each(inputs);
        each.map(|(v, end, tau)| end * time + (v - end) * tau * -(-time / tau).exp_m1()).sum()
    }
}

/// Final value and time constant of every part under constant inputs.
fn ends<'b>(sources: &'b [Vec<Relaxation>], inputs: &'b [f64]) -> impl Iterator<Item = (f64, f64)> + 'b {
    sources.iter().enumerate().flat_map(move |(s, parts)| {
        let input = inputs.get(s).copied().unwrap_or(0.0);
        parts.iter().map(move |p| (input * p.gain, p.time_constant))
    })
}

/// Points looked at in a decade of time for a turn of the answer.
const LOOKS: f64 = 12.0;

/// Extremes and mean of the answer over a trace, from a state on.
///
/// Within a piece the answer may turn, since quick parts follow before slow ones; turns are looked for at twelve
/// points in a decade between a hundredth of the shortest time constant and the length of the piece, and found exactly
/// between two of them.
///
/// # Errors
/// [`NoConvergence::NotFinite`] when the trace is empty, holds a duration that is not above zero or another number of
/// inputs than there are sources, or a number on the way is not finite.
pub fn range(mut state: State<'_>, trace: &[Piece]) -> Result<Range, NoConvergence> {
    let period: f64 = trace.iter().map(|p| p.duration).sum();
    let sources = state.sources.len();
    let usable = |p: &Piece| p.duration > 0.0 && p.inputs.len() == sources;
    if !trace.iter().all(usable) || trace.is_empty() || !period.is_finite() {
        return Err(NoConvergence::NotFinite);
    }
    let shortest = state.sources.iter().flatten().map(|p| p.time_constant).fold(f64::INFINITY, f64::min);
    let first = state.answer();
    let mut range = Range { high: first, high_at: 0.0, low: first, low_at: 0.0, mean: 0.0 };
    let mut start = 0.0;
    for piece in trace {
        let mut before = 0.0;
        let mut see = |time: f64, answer: f64| {
            if answer > range.high {
                (range.high, range.high_at) = (answer, start + time);
            }
            if answer < range.low {
                (range.low, range.low_at) = (answer, start + time);
            }
        };
        for time in looks(shortest, piece.duration) {
            let (a, b) = (state.slope(&piece.inputs, before), state.slope(&piece.inputs, time));
            if a * b < 0.0 {
                let turn = root::bracketed(|t| state.slope(&piece.inputs, t), before, time, 1e-12)?;
                see(turn, state.ahead(&piece.inputs, turn));
            }
            before = time;
        }
        range.mean += state.integral(&piece.inputs, piece.duration) / period;
        state.advance(&piece.inputs, piece.duration);
        see(piece.duration, state.answer());
        start += piece.duration;
    }
    if [range.high, range.low, range.mean].iter().all(|v| v.is_finite()) {
        Ok(range)
    } else {
        Err(NoConvergence::NotFinite)
    }
}

fn looks(shortest: f64, duration: f64) -> impl Iterator<Item = f64> {
    let from = (0.01 * shortest).min(0.1 * duration).max(1e-12 * duration);
    let count = ((duration / from).log10() * LOOKS).ceil() as usize;
    (0..=count).map(move |i| if i == count { duration } else { from * 10f64.powf(i as f64 / LOOKS) })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts() -> [Vec<Relaxation>; 1] {
        [[(0.08, 9e-4), (0.3, 0.03), (0.6, 3.0)]
            .map(|(gain, time_constant)| Relaxation { gain, time_constant })
            .to_vec()]
    }

    fn piece(duration: f64, input: f64) -> Piece {
        Piece { duration, inputs: vec![input] }
    }

    #[test]
    fn a_train_of_pulses_is_followed_to_its_periodic_state() {
        let (parts, train) = (parts(), [piece(0.02, 5.0), piece(0.13, 0.5)]);
        let mut state = State::rest(&parts);
        for piece in std::iter::repeat_n(&train, 400).flatten() {
            state.advance(&piece.inputs, piece.duration);
        }
        let periodic = State::periodic(&parts, &train);
        assert!((state.answer() - periodic.answer()).abs() < 1e-8);
        let range = range(periodic, &train).unwrap();
        assert!((range.high_at - 0.02).abs() < 1e-15);
        // The mean is that of the mean input, whatever the time constants.
        assert!((range.mean - 0.98 * (5.0 * 0.02 + 0.5 * 0.13) / 0.15).abs() < 1e-12);
    }

    #[test]
    fn a_turn_inside_a_piece_is_found() {
        // A quick part falls while a slow part of the other sign has hardly begun: exp(-t) - exp(-10 t) after a step.
        let slow = vec![Relaxation { gain: -1.0, time_constant: 1.0 }];
        let parts = [slow, vec![Relaxation { gain: 1.0, time_constant: 0.1 }]];
        let both = |duration: f64| Piece { duration, inputs: vec![1.0, 1.0] };
        let found = range(State::rest(&parts), &[both(20.0)]).unwrap();
        let at = 10.0_f64.ln() / 9.0;
        assert!((found.high_at - at).abs() < 1e-9);
        assert!((found.high - ((-at).exp() - (-10.0 * at).exp())).abs() < 1e-12);
        assert!(range(State::rest(&parts), &[]).is_err());
        assert!(range(State::rest(&parts), &[both(0.0)]).is_err());
        assert!(range(State::rest(&parts), &[piece(1.0, 1.0)]).is_err());
    }

    proptest::proptest! {
        #[test]
        fn cutting_a_piece_changes_nothing(cut in 0.001..0.999_f64, input in -3.0..3.0_f64) {
            let parts = parts();
            let mut whole = State::rest(&parts);
            whole.advance(&[2.0], 0.01);
            let mut pieces = whole.clone();
            whole.advance(&[input], 0.2);
            pieces.advance(&[input], 0.2 * cut);
            pieces.advance(&[input], 0.2 * (1.0 - cut));
            proptest::prop_assert!((whole.answer() - pieces.answer()).abs() < 1e-14);
        }
    }
}
