//! The step itself: a face with residue, a plasma, a wait, and the map of angles at dispensing.

use super::ageing::Ageing;
use super::dose::{FittedLaw, smallest};
use super::residue::{Removal, Residue, angle_of, through};
use super::{NoCleaning, OutOfRange};
use crate::front::Map;
use crate::problem::{Angle, Plasma, PlasmaGas};
use facedown_evidence::input::within;
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// What a gas does to a face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GasLaw {
    /// Gas.
    pub gas: PlasmaGas,
    /// Angle of the bare face over dose, J.
    pub bare: FittedLaw,
    /// Residue over dose.
    pub removal: Removal,
}

/// A face to be cleaned.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CleanTask {
    /// Extent of the face along x and y, m.
    pub size_m: [f64; 2],
    /// Residue before.
    pub residue: Residue,
    /// Angle where residue covers everything.
    pub covered: Angle,
    /// Angle of the bare face without any plasma, used where there is no step.
    pub untreated: Angle,
    /// What was found for each gas; may be empty where there is no step.
    pub gases: Vec<GasLaw>,
    /// The step; none leaves the face as it is.
    pub plasma: Option<Plasma>,
    /// Time from the step to dispensing, s.
    pub queue_s: f64,
    /// How the face ages after the step.
    pub ageing: Ageing,
    /// What the angle must keep.
    pub limit: Limit,
}

/// A limit of the angle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Limit {
    /// Largest angle at dispensing, rad.
    pub angle_rad: f64,
    /// One-sided confidence, 0.5 to 0.9999.
    pub confidence: f64,
}

impl Default for Limit {
    /// 30 deg of water (common practice, no source) with 95 %.
    fn default() -> Limit {
        Limit { angle_rad: PI / 6.0, confidence: 0.95 }
    }
}

/// The face after the step and the wait. Maps are of the kind of the residue's: patches keep their edges.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CleanOutcome {
    /// Dose, J.
    pub dose_j: f64,
    /// Share covered before.
    pub share_before: Map,
    /// Share covered after.
    pub share_after: Map,
    /// Angle before the step, rad.
    pub before: Map,
    /// Angle right after it, rad.
    pub fresh: Map,
    /// Angle at dispensing, rad: what the front reads.
    pub at_dispense: Map,
    /// One standard deviation of it, rad.
    pub spread: Map,
    /// Bare face at dispensing.
    pub bare: Angle,
    /// Worst place before the step.
    pub worst_before: Angle,
    /// Worst place at dispensing.
    pub worst: Angle,
    /// Share of the face where the limit is not kept with its confidence.
    pub above_limit: f64,
}

impl CleanTask {
    fn law(&self) -> Result<Option<(&GasLaw, f64)>, NoCleaning> {
        let Some(plasma) = self.plasma else { return Ok(None) };
        let law = self.gases.iter().find(|g| g.gas == plasma.gas);
        Ok(Some((law.ok_or(NoCleaning::NoGas(plasma.gas))?, plasma.power_w * plasma.time_s)))
    }

    fn check(&self) -> Result<(), OutOfRange> {
        let angle = |what: &str, a: Angle| {
            within(what, a.angle_rad, 0.0, PI, "from 0 to 180 deg")?;
            within(format!("the spread of {what}"), a.spread_rad, 0.0, PI, "from 0 to 180 deg")
        };
        for (k, what) in ["the width of the face", "the height of the face"].iter().enumerate() {
            within(*what, self.size_m[k], 1e-6, 10.0, "from 1 um to 10 m")?;
        }
        angle("the angle on residue", self.covered)?;
        angle("the angle of the untreated face", self.untreated)?;
        angle("the angle of the aged face", self.ageing.aged)?;
        for l in &self.ageing.lives {
            within("the share of a life", l.share, 0.0, 1.0, "from 0 to 1")?;
            within("a life", l.life_s, 1e-3, 1e12, "from 1 ms to 1e12 s")?;
            within("the spread of a life", l.spread_s, 0.0, 1e12, "from 0 to 1e12 s")?;
        }
        let shares: f64 = self.ageing.lives.iter().map(|l| l.share).sum();
        within("the sum of the shares of all lives", shares, 0.0, 1.0 + 1e-9, "from 0 to 1")?;
        within("the queue time", self.queue_s, 0.0, 1e12, "from 0 to 1e12 s")?;
        for g in &self.gases {
            within("the rate of removal", g.removal.rate_per_j, 0.0, 1e12, "from 0 to 1e12 per J")?;
            let spread = g.removal.spread_per_j;
            within("the spread of the rate of removal", spread, 0.0, 1e12, "from 0 to 1e12 per J")?;
            within("the rate of activation", g.bare.law.rate, 0.0, 1e12, "from 0 to 1e12 per J")?;
            for number in g.bare.covariance.iter().flatten() {
                within("a covariance of the dose law", *number, -1e12, 1e12, "a number")?;
            }
        }
        if let Some(p) = self.plasma {
            within("the power of the plasma", p.power_w, 0.0, 1e6, "from 0 to 1 MW")?;
            within("the time of the plasma", p.time_s, 0.0, 1e6, "from 0 to 1e6 s")?;
        }
        within("the limit of the angle", self.limit.angle_rad, 0.0, PI, "from 0 to 180 deg")?;
        within("the confidence", self.limit.confidence, 0.5, 0.9999, "from 0.5 to 0.9999")
    }

    /// The angle at a place with a number of the residue's map, after a dose of a gas and a wait.
    fn angle(&self, number: f64, gas: Option<(&GasLaw, f64)>, queue_s: f64) -> Angle {
        let (bare, left) = match gas {
            None => (self.untreated, (1.0, 0.0)),
            Some((law, dose)) => (self.ageing.after(law.bare.after(dose), queue_s), law.removal.left(dose)),
        };
        angle_of(self.residue.covered(number, left.0, left.1), bare, self.covered)
    }

    /// The largest number of the residue's map on the face: the worst place where residue repels.
    fn most(&self) -> f64 {
        match self.residue.map() {
            Map::Uniform(v) => *v,
            Map::Patches { ground, patches } => patches.iter().map(|p| p.1).fold(*ground, f64::max),
            Map::Raster { values, .. } => values.iter().copied().fold(0.0, f64::max),
        }
    }
}

/// Samples of the face along each side, for the share above the limit.
const SAMPLES: usize = 96;

/// The maps of a face after its step and its wait.
///
/// # Errors
/// [`NoCleaning`]: a number that cannot be, or a gas of which nothing was read.
pub fn clean(task: &CleanTask) -> Result<CleanOutcome, NoCleaning> {
    task.check()?;
    task.residue.check()?;
    let gas = task.law()?;
    let map = task.residue.map();
    let angles =
        |gas: Option<(&GasLaw, f64)>, queue: f64| through(map, |v| task.angle(v, gas, queue).angle_rad);
    let left = gas.map_or(1.0, |(law, dose)| law.removal.left(dose).0);
    let at = |v: f64| task.angle(v, gas, task.queue_s);
    let limit = task.limit;
    let quantile = facedown_field::distribution::normal_quantile(limit.confidence).unwrap_or(0.0);
    let mut above = 0;
    for k in 0..SAMPLES * SAMPLES {
        let place = [k % SAMPLES, k / SAMPLES].map(|i| (i as f64 + 0.5) / SAMPLES as f64);
        let here = at(map.at([place[0] * task.size_m[0], place[1] * task.size_m[1]]));
        above += usize::from(here.angle_rad + quantile * here.spread_rad > limit.angle_rad);
    }
    // The worst place is that with most residue, or a bare one where residue wets better.
    let worst = |gas: Option<(&GasLaw, f64)>| {
        let ends = [0.0, task.most()].map(|v| task.angle(v, gas, task.queue_s));
        if ends[0].angle_rad > ends[1].angle_rad { ends[0] } else { ends[1] }
    };
    Ok(CleanOutcome {
        dose_j: gas.map_or(0.0, |g| g.1),
        share_before: task.residue.share(1.0),
        share_after: task.residue.share(left),
        before: angles(None, 0.0),
        fresh: angles(gas, 0.0),
        at_dispense: angles(gas, task.queue_s),
        spread: through(map, |v| at(v).spread_rad),
        bare: at(0.0),
        worst_before: worst(None),
        worst: worst(gas),
        above_limit: above as f64 / (SAMPLES * SAMPLES) as f64,
    })
}

/// The smallest dose, J, of the gas of the step after which the worst place keeps the limit with its confidence when it has waited; absent
/// where no dose does. Without a step nothing.
///
/// # Errors
/// As [`clean`].
pub fn dose_for_limit(task: &CleanTask) -> Result<Option<f64>, NoCleaning> {
    task.check()?;
    task.residue.check()?;
    let Some((law, _)) = task.law()? else { return Ok(None) };
    let most = task.most();
    let unit = [law.bare.law.rate, law.removal.rate_per_j].into_iter().filter(|r| *r > 0.0).map(f64::recip);
    let unit = unit.fold(0.0, f64::max);
    let at = |dose: f64| task.angle(most, Some((law, dose)), task.queue_s);
    Ok(smallest(at, task.limit.angle_rad, task.limit.confidence, unit))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::contamination::specimen;
    use proptest::prelude::*;

    #[test]
    fn patches_keep_their_edges_and_the_limit_s_dose_is_the_edge() {
        let mut task = specimen::streak();
        let outcome = clean(&task).unwrap();
        assert!(matches!(outcome.at_dispense, Map::Patches { .. }));
        let dose = dose_for_limit(&task).unwrap().unwrap();
        let set = |task: &mut CleanTask, dose: f64| {
            if let Some(p) = &mut task.plasma {
                p.time_s = dose / p.power_w;
            }
        };
        set(&mut task, 1.001 * dose);
        assert_eq!(clean(&task).unwrap().above_limit, 0.0);
        set(&mut task, 0.999 * dose);
        assert!(clean(&task).unwrap().above_limit > 0.0);
        task.plasma = None;
        assert_eq!(dose_for_limit(&task).unwrap(), None);
        let left = clean(&task).unwrap();
        assert_eq!(left.at_dispense, left.before);
        assert!((left.bare.angle_rad - task.untreated.angle_rad).abs() < 1e-12);
        // Half the way between both sides of the cosine, against the deviation itself: of third order.
        assert!((left.bare.spread_rad / task.untreated.spread_rad - 1.0).abs() < 1e-3);
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        let mut task = specimen::streak();
        if let Some(p) = &mut task.plasma {
            p.gas = PlasmaGas::NitrogenHydrogen;
        }
        let words = clean(&task).unwrap_err().to_string();
        assert!(words.starts_with("no readings show what nitrogen and hydrogen does"), "{words}");
        task.queue_s = f64::NAN;
        assert_eq!(
            clean(&task).unwrap_err().to_string(),
            "the queue time is NaN; it must be from 0 to 1e12 s"
        );
    }

    proptest! {
        #[test]
        fn more_dose_cleans_and_more_waiting_never_does(
            dose in 0.0..2e5_f64, more in 1.0..5.0_f64, queue in 0.0..4e5_f64, amount in any::<bool>(), share in 0.0..1.0_f64,
        ) {
            let mut task = specimen::streak();
            if amount {
                task.residue = Residue::Amount { amount_kg_m2: Map::Uniform(4e-6 * share), monolayer_kg_m2: 1e-6, spread: 0.2 };
            } else {
                task.residue = Residue::Share { share: Map::Uniform(share), spread: 0.05 };
            }
            let run = |dose: f64, queue: f64| {
                let mut task = task.clone();
                task.queue_s = queue;
                if let Some(p) = &mut task.plasma { p.time_s = dose / p.power_w; }
                clean(&task).unwrap().worst
            };
            let (a, b, c) = (run(dose, queue), run(more * dose, queue), run(dose, more * queue));
            prop_assert!(b.angle_rad <= a.angle_rad + 1e-12 && c.angle_rad >= a.angle_rad - 1e-12);
            for at in [a, b, c] {
                prop_assert!((0.0..=PI).contains(&at.angle_rad) && at.spread_rad.is_finite() && at.spread_rad >= 0.0);
            }
        }
    }
}
