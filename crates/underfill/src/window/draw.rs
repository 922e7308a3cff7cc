//! One draw: from the knobs, viscosity, tension and temperature to a verdict and a time.

use super::clocks::Clocks;
use super::response::{Response, Setting, Told};
use facedown_field::proportion;
use facedown_field::random::Sequence;
use serde::{Deserialize, Serialize};

/// Tolerances as one standard deviation each; zero for what does not vary.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Tolerances {
    /// Angles on die, substrate and bumps, rad.
    pub angles_rad: [f64; 3],
    /// Gap, over the gap.
    pub gap: f64,
    /// Viscosity, over the viscosity; its logarithm is what is normal.
    pub viscosity: f64,
    /// Surface tension, over the tension.
    pub tension: f64,
    /// Flow temperature, K.
    pub temperature_k: f64,
    /// Dispensed volume, over the volume.
    pub volume: f64,
}

/// What becomes of a fill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Verdict {
    /// Full, without more voids than allowed, before the gel.
    Fills,
    /// More voids than allowed: trapped between fronts.
    Voids,
    /// More than allowed does not draw the liquid in.
    DoesNotWet,
    /// It gels before it is full, or before the margin asked for.
    Gels,
    /// Less liquid than the gap takes.
    RunsDry,
}

/// How likely something is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Probability {
    /// Share of the draws.
    pub share: f64,
    /// Interval of the probability by the confidence asked for (E. B. Wilson 1927).
    pub between: [f64; 2],
    /// Draws in which it happened.
    pub hits: u64,
    /// Draws.
    pub draws: u64,
}

impl Probability {
    /// Of a count.
    pub fn of(hits: u64, draws: u64, confidence: f64) -> Probability {
        let between = proportion::wilson(hits, draws, confidence).unwrap_or([0.0, 1.0]);
        Probability { share: hits as f64 / draws.max(1) as f64, between, hits, draws }
    }
}

/// The dispensing, as far as draws need it: what all lines of a pass give together.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Passes {
    /// Begin (s) and volume (m3), in the order of time.
    pub passes: Vec<(f64, f64)>,
    pub allowed: f64,
    pub gel_margin: f64,
}

/// All that varies.
#[derive(Debug, Clone, Copy)]
pub(super) struct Draw {
    pub setting: Setting,
    pub viscosity: f64,
    pub tension: f64,
    pub temperature_k: f64,
    pub volume: f64,
}

/// Numbers that a draw takes from its sequence.
const NUMBERS: u64 = 8;
/// Beyond that many standard deviations nothing is drawn: parts that far off are sorted out, and a gap stays one.
const FARTHEST: f64 = 4.0;

impl Draw {
    /// The point itself.
    pub fn middle(setting: Setting, temperature_k: f64) -> Draw {
        Draw { setting, viscosity: 1.0, tension: 1.0, temperature_k, volume: 1.0 }
    }

    /// Draw number `n` about a point.
    pub fn of(point: &Draw, tolerances: &Tolerances, sequence: Sequence, n: u64) -> Draw {
        let z = |k: u64, spread: f64| {
            if spread > 0.0 {
                spread * sequence.normal(n * NUMBERS + k).clamp(-FARTHEST, FARTHEST)
            } else {
                0.0
            }
        };
        let t = tolerances;
        let mut setting = point.setting;
        for (k, spread) in t.angles_rad.iter().enumerate() {
            setting[k] += z(k as u64, *spread);
        }
        // The gap's spread is over the gap of the point.
        setting[3] = (1.0 + setting[3]) * (1.0 + z(3, t.gap)).max(0.05) - 1.0;
        Draw {
            setting,
            viscosity: point.viscosity * z(4, t.viscosity).exp(),
            tension: point.tension * (1.0 + z(5, t.tension)).max(0.05),
            temperature_k: point.temperature_k + z(6, t.temperature_k),
            volume: point.volume * (1.0 + z(7, t.volume)).max(0.0),
        }
    }

    /// What becomes of it: verdict, fill time (s) where it fills, and gel over fill time less 1 where it gels at all.
    pub fn judge(
        &self,
        response: &Response,
        clocks: &Clocks,
        passes: &Passes,
    ) -> (Verdict, Option<f64>, Option<f64>) {
        let told: Told = response.at(&self.setting);
        if told.drive <= 0.0 {
            return (Verdict::DoesNotWet, None, None);
        }
        let Some(fluidity) = told.fluidity else { return (Verdict::DoesNotWet, None, None) };
        // A viscosity that is higher throughout asks for as much more of the clock's fluidity time.
        let whole = fluidity * self.viscosity / self.tension;
        let (mut time, mut given, mut done) = (0.0_f64, 0.0, 0.0);
        for (begin, volume) in &passes.passes {
            given += volume * self.volume;
            let filled = (given / told.free).min(1.0);
            let next = whole * response.time_share(filled);
            let from = time.max(*begin);
            let Some(end) =
                clocks.time(self.temperature_k, clocks.fluidity(self.temperature_k, from) + next - done)
            else {
                return (Verdict::Gels, None, None);
            };
            (time, done) = (end, next);
            if filled >= 1.0 {
                break;
            }
        }
        if given < told.free {
            return (Verdict::RunsDry, None, None);
        }
        let margin = clocks.gel(self.temperature_k).map(|(gel, _)| gel / time - 1.0);
        let verdict = if told.raced > passes.allowed {
            Verdict::Voids
        } else if margin.is_some_and(|m| m < passes.gel_margin - 1.0) {
            Verdict::Gels
        } else {
            Verdict::Fills
        };
        (verdict, Some(time), margin)
    }
}
