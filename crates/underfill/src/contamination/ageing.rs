//! How a cleaned face goes back while it waits.
//!
//! After a plasma the angle goes from its fresh value towards an aged one, of first order with one life or more: the share of the
//! gain that is left after a time t is `sum share exp(-t / life)`. Two lives describe the turning and the diffusion of polar groups
//! (a two-process model of hydrophobic recovery was published in 2012). Lives come from the user's own readings over time; where
//! there are none, [`Ageing::polyimide`] and [`Ageing::nitride`] are published and [`Ageing::starting`] is a labelled starting value.

use super::dose::{FittedLaw, Read, smallest};
use super::residue::{angle_spread, cosine_spread};
use crate::problem::Angle;
use crate::treatment::NoLaw;
use serde::{Deserialize, Serialize};

/// A share of what was gained, with its life.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Life {
    /// Share, 0 to 1; shares of an ageing that add up to less than 1 leave the rest lost at once.
    pub share: f64,
    /// Time until 1/e of it is left, s.
    pub life_s: f64,
    /// One standard deviation of the life, s.
    pub spread_s: f64,
}

/// What falls as the lives say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Follows {
    /// The angle.
    Angle,
    /// The cosine of the angle.
    Cosine,
}

/// How a face ages.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Ageing {
    /// Where it ends.
    pub aged: Angle,
    /// Lives.
    pub lives: Vec<Life>,
    /// Covariance of the end with the life of a single one that was fitted with it, rad s: readings that end early tell neither
    /// well, and both together well. Zero where both are known apart.
    #[serde(default)]
    pub together: f64,
    /// What falls.
    pub follows: Follows,
    /// Where the numbers come from, in words.
    pub source: String,
}

impl Ageing {
    /// From angles over time after a step (readings of age 0 among them), with the angle of the untreated face as the end where the ages
    /// do not show one.
    ///
    /// # Errors
    /// [`NoLaw`] where the readings do not age.
    pub fn of(readings: &[Read], untreated: Angle) -> Result<Ageing, NoLaw> {
        let fit = FittedLaw::of(readings, untreated)?;
        let life_s = fit.law.rate.recip();
        let aged = Angle { angle_rad: fit.law.end_rad, spread_rad: fit.covariance[1][1].sqrt() };
        let spread_s = fit.covariance[2][2].sqrt() * life_s * life_s;
        Ok(Ageing {
            aged,
            lives: vec![Life { share: 1.0, life_s, spread_s }],
            // The life is one over the rate.
            together: -fit.covariance[1][2] * life_s * life_s,
            follows: Follows::Angle,
            source: "fitted to readings over time".into(),
        })
    }

    /// Polyimide after a short corona discharge: the cosine of the angle falls with a share of 0.16 in 17 h and one of 0.81 in
    /// 3140 h (S. I. Ivanov and others, Bulg. J. Phys. 19 (1992) 89, from 12 min to 500 h). The source gives no deviations; a fifth
    /// of each life is a starting value.
    pub fn polyimide(untreated: Angle) -> Ageing {
        let life = |share: f64, hours: f64| Life { share, life_s: 3600.0 * hours, spread_s: 720.0 * hours };
        Ageing {
            aged: untreated,
            lives: vec![life(0.16, 17.0), life(0.81, 3140.0)],
            together: 0.0,
            follows: Follows::Cosine,
            source: "polyimide after a corona discharge, two lives: Ivanov and others, Bulg. J. Phys. 19 (1992) 89"
                .into(),
        }
    }

    /// Silicon nitride and oxynitride: after about 10 h in air all gases had ended at the same angle (L. Gaddam, PhD thesis, University of
    /// North Texas, 2014, as its abstract says). Taken as three lives; half of that is a starting value of its deviation.
    pub fn nitride(untreated: Angle) -> Ageing {
        let life_s = 36e3 / 3.0;
        Ageing {
            aged: untreated,
            lives: vec![Life { share: 1.0, life_s, spread_s: 0.5 * life_s }],
            together: 0.0,
            follows: Follows::Angle,
            source: "silicon nitride, carbon from the air within about 10 h: Gaddam, PhD thesis UNT, 2014"
                .into(),
        }
    }

    /// A labelled starting value for a face of which nothing is known: a life of 12 h, known to a half (common practice, no source: what
    /// makes 4 h the usual limit).
    pub fn starting(untreated: Angle) -> Ageing {
        Ageing {
            aged: untreated,
            lives: vec![Life { share: 1.0, life_s: 43_200.0, spread_s: 21_600.0 }],
            together: 0.0,
            follows: Follows::Angle,
            source: "starting value: a life of 12 h (common practice, no source)".into(),
        }
    }

    /// Share of the gain that is left after a time (s), and one standard deviation of it.
    pub fn left(&self, time_s: f64) -> (f64, f64) {
        let (mut left, mut variance) = (0.0, 0.0);
        for l in &self.lives {
            let part = l.share * (-time_s / l.life_s).exp();
            left += part;
            variance += (part * time_s / l.life_s / l.life_s * l.spread_s).powi(2);
        }
        (left, variance.sqrt())
    }

    /// The angle after a time (s) from a fresh one, with its deviation. A face that is fresh already as bad as aged does not age.
    pub fn after(&self, fresh: Angle, time_s: f64) -> Angle {
        if fresh.angle_rad >= self.aged.angle_rad {
            return fresh;
        }
        let (left, spread) = self.left(time_s.max(0.0));
        match self.follows {
            Follows::Angle => {
                let gain = fresh.angle_rad - self.aged.angle_rad;
                let slope = match self.lives[..] {
                    [l] => {
                        gain * l.share * (-time_s.max(0.0) / l.life_s).exp() * time_s.max(0.0)
                            / l.life_s.powi(2)
                    }
                    _ => 0.0,
                };
                let variance = (left * fresh.spread_rad).powi(2)
                    + ((1.0 - left) * self.aged.spread_rad).powi(2)
                    + (gain * spread).powi(2)
                    + 2.0 * (1.0 - left) * slope * self.together;
                // Of end and life together no more than nothing is left, beside what the fresh face is uncertain by.
                let least = (left * fresh.spread_rad).powi(2);
                Angle { angle_rad: self.aged.angle_rad + gain * left, spread_rad: variance.max(least).sqrt() }
            }
            Follows::Cosine => {
                let (new, old) = (fresh.angle_rad.cos(), self.aged.angle_rad.cos());
                let cosine = old + (new - old) * left;
                let of_all = (left * cosine_spread(fresh))
                    .hypot((1.0 - left) * cosine_spread(self.aged))
                    .hypot((new - old) * spread);
                Angle { angle_rad: cosine.clamp(-1.0, 1.0).acos(), spread_rad: angle_spread(cosine, of_all) }
            }
        }
    }

    /// The longest wait, s, after which the angle lies below a limit (rad) with a one-sided confidence. Zero where it does not even when
    /// fresh; absent where it does for ever.
    pub fn longest(&self, fresh: Angle, limit_rad: f64, confidence: f64) -> Option<f64> {
        let longest = self.lives.iter().map(|l| l.life_s).fold(0.0, f64::max);
        // Above the limit as seen from below: the turned angle falls below the turned limit.
        let quantile = facedown_field::distribution::normal_quantile(confidence)?;
        let turned = |time: f64| {
            let at = self.after(fresh, time);
            Angle { angle_rad: -(at.angle_rad + quantile * at.spread_rad), spread_rad: 0.0 }
        };
        smallest(turned, -limit_rad, 0.5, longest)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn angle(degrees: f64, spread: f64) -> Angle {
        Angle { angle_rad: degrees.to_radians(), spread_rad: spread.to_radians() }
    }

    #[test]
    fn readings_over_time_give_back_their_life() {
        let life = 30.0 * 3600.0;
        let readings: Vec<Read> = [0.0, 10.0, 30.0, 60.0, 120.0]
            .map(|h| {
                let dose: f64 = h * 3600.0;
                let angle_rad = (60.0 - 45.0 * (-dose / life).exp()).to_radians();
                Read { dose, angle_rad, spread_rad: 0.02 }
            })
            .to_vec();
        let ageing = Ageing::of(&readings, angle(75.0, 3.0)).unwrap();
        assert!((ageing.lives[0].life_s / life - 1.0).abs() < 1e-5, "{ageing:?}");
        assert!((ageing.aged.angle_rad.to_degrees() - 60.0).abs() < 1e-3 && ageing.lives[0].spread_s > 0.0);
        // t = life ln((aged - fresh) / (aged - limit)).
        let longest = ageing.longest(angle(15.0, 0.0), 30_f64.to_radians(), 0.5).unwrap();
        assert!((longest / (life * 1.5_f64.ln()) - 1.0).abs() < 1e-4, "{longest}");
        assert!(ageing.longest(angle(15.0, 2.0), 30_f64.to_radians(), 0.95).unwrap() < longest);
        assert_eq!(ageing.longest(angle(40.0, 0.0), 30_f64.to_radians(), 0.95), Some(0.0));
        assert_eq!(ageing.longest(angle(15.0, 0.0), 70_f64.to_radians(), 0.5), None);
    }

    #[test]
    fn what_was_read_early_is_known_there_however_little_its_end_is() {
        let read = |hours: f64, degrees: f64| Read {
            dose: 3600.0 * hours,
            angle_rad: degrees.to_radians(),
            spread_rad: 0.04,
        };
        let readings = [read(0.0, 24.0), read(0.0, 25.0), read(6.0, 38.0), read(24.0, 59.0)];
        let ageing = Ageing::of(&readings, angle(76.0, 3.0)).unwrap();
        let fit = FittedLaw::of(&readings, angle(76.0, 3.0)).unwrap();
        let fresh = Angle { angle_rad: fit.law.start_rad, spread_rad: fit.covariance[0][0].sqrt() };
        for hours in [2.0, 6.0, 12.0, 24.0] {
            let (at, whole) = (ageing.after(fresh, 3600.0 * hours), fit.after(3600.0 * hours));
            assert!((at.angle_rad - whole.angle_rad).abs() < 1e-9);
            // The start of the fit goes with end and life as well, which an ageing from another fresh angle does not know.
            assert!(at.spread_rad < 3.0 * whole.spread_rad, "{hours} {at:?} {whole:?}");
        }
    }

    #[test]
    fn a_face_never_ages_beyond_its_end() {
        for ageing in [
            Ageing::polyimide(angle(73.0, 2.0)),
            Ageing::nitride(angle(50.0, 2.0)),
            Ageing::starting(angle(60.0, 2.0)),
        ] {
            let mut before = 0.0;
            for hours in [0.0, 1.0, 4.0, 24.0, 1e3, 1e5] {
                let at = ageing.after(angle(20.0, 1.0), 3600.0 * hours);
                assert!(at.angle_rad >= before && at.angle_rad <= ageing.aged.angle_rad + 1e-12);
                assert!(at.spread_rad.is_finite() && at.spread_rad > 0.0);
                before = at.angle_rad;
            }
            assert!((before - ageing.aged.angle_rad).abs() < 1e-6);
            assert_eq!(ageing.after(angle(80.0, 1.0), 1e9), angle(80.0, 1.0));
        }
    }
}
