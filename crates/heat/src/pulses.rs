//! Power that comes in pulses or as a trace, on time constants and resistances that a transient has given.
//!
//! A train of equal pulses has its hottest moment at the end of a pulse, `sum R (1 - exp(-D T/tau)) / (1 - exp(-T/tau))`
//! (geometric series of the single pulse; the curves of data sheets over pulse width at fixed duty are this sum). Any
//! other trace, of one or several sources, is followed exactly by [`facedown_field::relaxation::range`] from rest or
//! from its periodic state.

use facedown_field::relaxation::Relaxation;

/// Rise over power at the end of each pulse of an endless train, K/W: period s, duty above 0 to 1. At a duty of one it
/// is the whole resistance; with a long period it is the single pulse.
pub fn pulse_train_peak(parts: &[Relaxation], period_s: f64, duty: f64) -> f64 {
    let rest = |time: f64, tau: f64| -(-time / tau).exp_m1();
    parts
        .iter()
        .map(|p| p.gain * rest(duty * period_s, p.time_constant) / rest(period_s, p.time_constant))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use facedown_field::relaxation::{Piece, State, range, step};

    #[test]
    fn the_closed_form_is_the_trace_and_has_its_limits() {
        let parts: Vec<Relaxation> = [(0.08, 9e-4), (0.3, 0.03), (0.6, 3.0)]
            .map(|(gain, time_constant)| Relaxation { gain, time_constant })
            .to_vec();
        let sources = [parts.clone()];
        for (period, duty) in [(1e-3, 0.5), (0.1, 0.2), (10.0, 0.01)] {
            let train = [
                Piece { duration: duty * period, inputs: vec![1.0] },
                Piece { duration: (1.0 - duty) * period, inputs: vec![0.0] },
            ];
            let followed = range(State::periodic(&sources, &train), &train).unwrap();
            assert!((followed.high / pulse_train_peak(&parts, period, duty) - 1.0).abs() < 1e-12);
        }
        assert!((pulse_train_peak(&parts, 1.0, 1.0) - 0.98).abs() < 1e-12);
        assert!((pulse_train_peak(&parts, 1e6, 1e-7) - step(&parts, 0.1)).abs() < 1e-12);
        // So quick that only the mean power is felt.
        assert!((pulse_train_peak(&parts, 1e-7, 0.3) - 0.3 * 0.98).abs() < 1e-4);
    }
}
