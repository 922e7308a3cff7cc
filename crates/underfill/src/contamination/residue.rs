//! Residue on a face: where it lies, what it does to an angle, and how a plasma takes it away.
//!
//! The angle on a face that is partly covered follows the mean of the cosines by the shares (A. B. D. Cassie, Discuss. Faraday
//! Soc. 3 (1948) 11). Residue that is told as an amount in an area covers a share `1 - exp(-amount / monolayer)`: what falls at
//! random covers what is bare yet (derived: d share = (1 - share) d amount / monolayer). A plasma takes away the last layer
//! in proportion to what is there, so that amount or share falls as `exp(-rate dose)`; a thick film goes at a constant rate first, which
//! is not in it.

use super::dose::{FittedLaw, Read};
use super::{NoCleaning, NoLaw};
use crate::front::Map;
use crate::problem::Angle;
use crate::readings::map::AngleMap;
use crate::surface::rough;
use facedown_evidence::input::within;
use serde::{Deserialize, Serialize};

/// Residue over a face; places in m from the lower left corner of the die.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Residue {
    /// As the share of the face that it covers.
    Share {
        /// Share covered, 0 to 1.
        share: Map,
        /// One standard deviation of the share where there is any.
        spread: f64,
    },
    /// As an amount in an area.
    Amount {
        /// Amount, kg/m2.
        amount_kg_m2: Map,
        /// Amount of one layer, kg/m2.
        monolayer_kg_m2: f64,
        /// One standard deviation of the amount over the amount.
        spread: f64,
    },
}

/// The same map with other numbers.
pub(crate) fn through(map: &Map, f: impl Fn(f64) -> f64) -> Map {
    match map {
        Map::Uniform(v) => Map::Uniform(f(*v)),
        Map::Patches { ground, patches } => Map::Patches {
            ground: f(*ground),
            patches: patches.iter().map(|(shape, v)| (shape.clone(), f(*v))).collect(),
        },
        Map::Raster { low_m, step_m, count, values } => Map::Raster {
            low_m: *low_m,
            step_m: *step_m,
            count: *count,
            values: values.iter().map(|v| f(*v)).collect(),
        },
    }
}

impl Residue {
    /// A face without any.
    pub fn none() -> Residue {
        Residue::Share { share: Map::Uniform(0.0), spread: 0.0 }
    }

    /// Checks every number.
    pub(super) fn check(&self) -> Result<(), NoCleaning> {
        match self {
            Residue::Share { share, spread } => {
                if let Some(v) = share.fault(0.0..=1.0) {
                    within("a share covered by residue", v, 0.0, 1.0, "from 0 to 1")?;
                }
                within("the spread of the share", *spread, 0.0, 1.0, "from 0 to 1")?;
            }
            Residue::Amount { amount_kg_m2, monolayer_kg_m2, spread } => {
                if let Some(v) = amount_kg_m2.fault(0.0..=1e3) {
                    within("an amount of residue", v, 0.0, 1e3, "from 0 to 1000 kg/m2")?;
                }
                within("the amount of one layer", *monolayer_kg_m2, 1e-15, 1e3, "from 1 pg/m2 to 1 t/m2")?;
                within("the spread of the amount", *spread, 0.0, 10.0, "from 0 to 10 times the amount")?;
            }
        }
        Ok(())
    }

    /// The map that it is told by.
    pub fn map(&self) -> &Map {
        match self {
            Residue::Share { share, .. } => share,
            Residue::Amount { amount_kg_m2, .. } => amount_kg_m2,
        }
    }

    /// Share covered and one standard deviation of it, from a number of [`Residue::map`], when a share `left` of the residue is left that is
    /// known to `left_spread`.
    pub fn covered(&self, number: f64, left: f64, left_spread: f64) -> (f64, f64) {
        match self {
            Residue::Share { spread, .. } => {
                // A bare place has none to be uncertain of.
                let spread = if number > 0.0 { *spread } else { 0.0 };
                ((number * left).clamp(0.0, 1.0), (left * spread).hypot(number * left_spread))
            }
            Residue::Amount { monolayer_kg_m2, spread, .. } => {
                let layers = number * left / monolayer_kg_m2;
                let slope = (-layers).exp();
                let of_layers = layers * spread.hypot(left_spread / left.max(f64::MIN_POSITIVE));
                (1.0 - slope, slope * of_layers)
            }
        }
    }

    /// The map of the share covered when a share `left` is left.
    pub fn share(&self, left: f64) -> Map {
        through(self.map(), |v| self.covered(v, left, 0.0).0)
    }

    /// From a map of angles that were read before any plasma, on `count` places along x and y of a face of a size (m): what covers it, if
    /// the face has the angle `bare` and the residue `covered`. The spread is the mean one of the places.
    ///
    /// # Errors
    /// [`NoCleaning::Alike`] where both angles are the same.
    pub fn of_angles(
        angles: &AngleMap,
        size_m: [f64; 2],
        count: [usize; 2],
        bare: Angle,
        covered: Angle,
    ) -> Result<Residue, NoCleaning> {
        let count = count.map(|n| n.max(1));
        let step_m = [0, 1].map(|k| size_m[k] / count[k] as f64);
        let (mut values, mut spreads) = (Vec::new(), 0.0);
        for read in angles.grid([0.0; 2], size_m, count[0], count[1]) {
            let angle = Angle { angle_rad: read.angle_rad, spread_rad: read.spread_rad };
            let (share, spread) = share_of(angle, bare, covered)?;
            values.push(share.clamp(0.0, 1.0));
            spreads += spread.min(1.0);
        }
        let spread = spreads / values.len() as f64;
        let share = Map::Raster { low_m: step_m.map(|s| 0.5 * s), step_m, count, values };
        Ok(Residue::Share { share, spread })
    }
}

/// The angle on a face of which a share is covered, with its deviation: the mean of the cosines. Each of the three enters with its own
/// deviation, by half the way between the angles at one deviation of the cosine to both sides.
pub fn angle_of(share: (f64, f64), bare: Angle, covered: Angle) -> Angle {
    let part = share.0.clamp(0.0, 1.0);
    let mean = rough::patches(&[(1.0 - part, bare.angle_rad), (part, covered.angle_rad)]);
    let angle_rad = mean.unwrap_or(bare.angle_rad);
    let of_bare = (1.0 - part) * cosine_spread(bare);
    let of_covered = part * cosine_spread(covered);
    let of_share = (bare.angle_rad.cos() - covered.angle_rad.cos()) * share.1;
    let spread = of_bare.hypot(of_covered).hypot(of_share);
    Angle { angle_rad, spread_rad: angle_spread(angle_rad.cos(), spread) }
}

/// Deviation of the cosine of an angle; near 0 and 180 deg, where its slope is none, by its curvature.
pub(super) fn cosine_spread(angle: Angle) -> f64 {
    let at = |d: f64| (angle.angle_rad + d).clamp(0.0, std::f64::consts::PI).cos();
    0.5 * (at(-angle.spread_rad) - at(angle.spread_rad)).abs()
}

/// Deviation of an angle from that of its cosine.
pub(super) fn angle_spread(cosine: f64, spread: f64) -> f64 {
    let at = |c: f64| c.clamp(-1.0, 1.0).acos();
    0.5 * (at(cosine - spread) - at(cosine + spread))
}

/// The share that is covered, with its deviation, from the angle on a place; outside of 0 to 1 where the angle lies outside of both.
///
/// # Errors
/// [`NoCleaning::Alike`] where bare and covered face have one angle.
pub fn share_of(angle: Angle, bare: Angle, covered: Angle) -> Result<(f64, f64), NoCleaning> {
    let (b, c, a) = (bare.angle_rad.cos(), covered.angle_rad.cos(), angle.angle_rad.cos());
    let between = b - c;
    if between.abs() < 1e-6 {
        return Err(NoCleaning::Alike { degrees: bare.angle_rad.to_degrees() });
    }
    let share = (b - a) / between;
    let spread =
        cosine_spread(angle).hypot((1.0 - share) * cosine_spread(bare)).hypot(share * cosine_spread(covered));
    Ok((share, (spread / between).abs()))
}

/// How quickly a plasma takes residue away.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Removal {
    /// Rate, 1/J.
    pub rate_per_j: f64,
    /// One standard deviation of it, 1/J.
    pub spread_per_j: f64,
}

impl Removal {
    /// From readings at places with residue before and after (doses in J): each angle gives the share covered beside a bare face that
    /// the same dose has activated (`bare`), and the shares fall to nothing, of first order. The deviation is that of the linearised estimate.
    ///
    /// # Errors
    /// [`NoCleaning`] where the readings do not show residue going.
    pub fn of(readings: &[Read], bare: &FittedLaw, covered: Angle) -> Result<Removal, NoCleaning> {
        let mut shares = Vec::new();
        for r in readings {
            let spread_rad = if r.spread_rad > 0.0 { r.spread_rad } else { super::dose::READING_SPREAD };
            let angle = Angle { angle_rad: r.angle_rad, spread_rad };
            let (share, spread) = share_of(angle, bare.after(r.dose), covered)?;
            // Shares are read as angles of the law, which is the same.
            shares.push(Read { dose: r.dose, angle_rad: share, spread_rad: spread });
        }
        let start: Vec<f64> = shares.iter().filter(|s| s.dose == 0.0).map(|s| s.angle_rad).collect();
        let most = shares.iter().map(|s| s.dose).fold(0.0, f64::max);
        if start.is_empty() || most <= 0.0 {
            return Err(NoLaw::OneSided.into());
        }
        let end = Angle { angle_rad: 0.0, spread_rad: 0.0 };
        // Each dose by itself beside the start, weighed by what its rate is uncertain by: an end of nothing is never fitted away.
        let mut doses: Vec<f64> = shares.iter().map(|s| s.dose).filter(|d| *d > 0.0).collect();
        doses.sort_by(f64::total_cmp);
        doses.dedup();
        let (mut weights, mut sum) = (0.0, 0.0);
        for dose in doses {
            let pair: Vec<Read> =
                shares.iter().copied().filter(|s| s.dose == 0.0 || s.dose == dose).collect();
            let Ok(fit) = FittedLaw::of(&pair, end) else { continue };
            let weight = fit.covariance[2][2].recip();
            if weight.is_finite() && weight > 0.0 {
                weights += weight;
                sum += weight * fit.law.rate;
            }
        }
        if weights <= 0.0 {
            return Err(NoLaw::WrongWay.into());
        }
        // All doses share the start, so that their rates are not independent: the deviation is that of the joint estimate.
        let law = crate::treatment::FirstOrder {
            start_rad: start.iter().sum::<f64>() / start.len() as f64,
            end_rad: 0.0,
            rate: sum / weights,
        };
        let read: Vec<(f64, f64)> = shares.iter().map(|s| (s.dose, s.spread_rad)).collect();
        let covariance = super::dose::covariance(law, &read, [true, false, true], 0.0);
        let spread_per_j = covariance.map_or(weights.recip().sqrt(), |c| c[2][2].sqrt());
        Ok(Removal { rate_per_j: law.rate, spread_per_j: spread_per_j.max(weights.recip().sqrt()) })
    }

    /// Share of the residue that is left after a dose (J), and one standard deviation of it.
    pub fn left(&self, dose_j: f64) -> (f64, f64) {
        let left = (-self.rate_per_j * dose_j).exp();
        (left, dose_j * left * self.spread_per_j)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::treatment::FirstOrder;

    fn angle(degrees: f64, spread: f64) -> Angle {
        Angle { angle_rad: degrees.to_radians(), spread_rad: spread.to_radians() }
    }

    proptest::proptest! {
        #[test]
        fn an_angle_gives_back_its_share(share in 0.0..1.0_f64, bare in 5.0..60.0_f64, more in 15.0..80.0_f64) {
            let (bare, covered) = (angle(bare, 2.0), angle(bare + more, 2.0));
            let mixed = angle_of((share, 0.05), bare, covered);
            let (found, spread) = share_of(mixed, bare, covered).unwrap();
            proptest::prop_assert!((found - share).abs() < 1e-9);
            proptest::prop_assert!(spread > 0.0 && mixed.spread_rad > 0.0);
            proptest::prop_assert!(mixed.angle_rad >= bare.angle_rad - 1e-9 && mixed.angle_rad <= covered.angle_rad + 1e-9);
        }

        #[test]
        fn removal_finds_its_rate(rate in 0.2..3.0_f64, share in 0.3..0.95_f64) {
            let rate = rate / 9e3;
            let law = FirstOrder { start_rad: 1.2, end_rad: 0.3, rate: 1.0 / 5e3 };
            let bare = FittedLaw { law, covariance: [[0.0; 3]; 3], scatter: 1.0, freedom: 3, end_fitted: true };
            let covered = angle(100.0, 1.0);
            let readings: Vec<Read> = [0.0, 4e3, 9e3]
                .map(|dose| {
                    let left = (-rate * dose).exp();
                    let at = angle_of((share * left, 0.0), bare.after(dose), covered);
                    Read { dose, angle_rad: at.angle_rad, spread_rad: 0.02 }
                })
                .to_vec();
            let found = Removal::of(&readings, &bare, covered).unwrap();
            proptest::prop_assert!((found.rate_per_j / rate - 1.0).abs() < 1e-6, "{found:?}");
            proptest::prop_assert!(found.spread_per_j > 0.0);
        }
    }

    #[test]
    fn amounts_cover_like_rain_and_alike_faces_are_refused() {
        let residue =
            Residue::Amount { amount_kg_m2: Map::Uniform(2e-6), monolayer_kg_m2: 1e-6, spread: 0.1 };
        // One over e twice over: the share of squares that no drop hits (Poisson).
        let (share, spread) = residue.covered(2e-6, 1.0, 0.0);
        assert!(
            (share - (1.0 - (-2.0_f64).exp())).abs() < 1e-15
                && (spread - 0.2 * (-2.0_f64).exp()).abs() < 1e-15
        );
        assert!(residue.share(0.0).uniform() == Some(0.0));
        assert!(matches!(
            share_of(angle(30.0, 1.0), angle(40.0, 1.0), angle(40.0, 1.0)),
            Err(NoCleaning::Alike { .. })
        ));
        let wrong = Residue::Share { share: Map::Uniform(1.2), spread: 0.0 };
        assert_eq!(
            wrong.check().unwrap_err().to_string(),
            "a share covered by residue is 1.2; it must be from 0 to 1"
        );
    }

    #[test]
    fn angles_that_were_read_give_the_residue() {
        use crate::readings::Placed;
        use crate::readings::map::Covariance;
        let readings: Vec<Placed> = (0..16)
            .map(|k| {
                let place_m = [f64::from(k % 4) * 2e-3 + 1e-3, f64::from(k / 4) * 2e-3 + 1e-3];
                let dirty = place_m[0] > 4e-3;
                let angle_rad = if dirty { 60_f64.to_radians() } else { 20_f64.to_radians() };
                Placed { place_m, angle_rad, spread_rad: 0.02 }
            })
            .collect();
        let map = AngleMap::with(&readings, Covariance { variance: 0.2, length_m: 2e-3 }).unwrap();
        let residue =
            Residue::of_angles(&map, [8e-3, 8e-3], [8, 8], angle(20.0, 1.0), angle(80.0, 1.0)).unwrap();
        let share = |x: f64| residue.map().at([x, 3e-3]);
        let expected =
            (20_f64.to_radians().cos() - 0.5) / (20_f64.to_radians().cos() - 80_f64.to_radians().cos());
        assert!(
            share(1e-3) < 0.05 && (share(7e-3) - expected).abs() < 0.05,
            "{} {}",
            share(1e-3),
            share(7e-3)
        );
    }
}
