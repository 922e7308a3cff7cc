//! Resistance from junction to case by two transients: the transient dual interface method of JESD51-14.
//!
//! The same device is heated twice on a cold plate, once with a poor contact at its case (dry) and once with a good one
//! (greased). The two step responses are one curve until the heat has reached the case, and part there; the resistance
//! passed by then is that from the junction to the case. JESD51-14 (November 2010) knows two ways to see where they
//! part: by the difference of their slopes over the logarithm of time, divided by the difference of their final
//! values, or by their cumulative structure functions. The rule of the first is its straight
//! line of thresholds (from memory); the second takes a stated difference of capacity (common practice, no source).
//!
//! The standard keeps the first way for dies attached by solder and the second for dies attached by glue (from memory),
//! and known one-dimensional stacks show why: slopes part as soon as the base warms, which is 5 to 20 % too early under a
//! soldered die and up to half too early under a glued one, where structure functions find the case within 10 %. Under a
//! soldered die structure functions part late, since the grease stores nothing: its own resistance is passed before
//! anything differs. A grease of a tenth of the resistance sought or less is needed for either.

use facedown_field::step_response::StepResponse;
use facedown_field::structure::{Place, capacity_at};

/// Threshold of the scaled difference of slopes over the resistance, `0.0045 theta/(K/W) + 0.003` (JESD51-14, 2010; from
/// memory; meant there for dies attached by solder).
const THRESHOLD_SLOPE: f64 = 0.0045;
const THRESHOLD_START: f64 = 0.003;

/// Difference of the two curves where they part, as a share, above which they never were one curve.
const DIFFERENT_FROM_THE_START: f64 = 0.05;

/// Where the curves part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parting {
    /// Resistance from junction to case, K/W.
    pub theta_jc_k_w: f64,
    /// Time, s; absent where structure functions part.
    pub time_s: Option<f64>,
}

/// Why no resistance is given.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoParting {
    /// The curves are not on one grid.
    #[error("the two responses are not sampled at the same times")]
    OtherTimes,
    /// The final values do not differ enough.
    #[error("the final values are {dry} and {greased} K/W; the dry one must be the larger, by at least 2 %")]
    SameEnd {
        /// Final value without grease, K/W.
        dry: f64,
        /// Final value with grease, K/W.
        greased: f64,
    },
    /// The curves differ too much where they should part.
    #[error(
        "the curves already differ by {0:.1} % where their slopes part; up to 5 % is taken for the same device"
    )]
    DifferentDevices(f64),
    /// The curves differ from the first point on.
    #[error("the curves differ from their first point on")]
    FromTheStart,
    /// The structure functions do not part by the stated share.
    #[error("the structure functions do not part")]
    Never,
}

/// By the difference of slopes: going back from its peak, the place where it falls below the threshold.
///
/// # Errors
/// [`NoParting`] says what the pair of curves lacks.
pub fn by_slopes(dry: &StepResponse, greased: &StepResponse) -> Result<Parting, NoParting> {
    let count = dry.values.len();
    let same = count == greased.values.len()
        && (dry.start - greased.start).abs() < 1e-9
        && (dry.step - greased.step).abs() < 1e-9 * dry.step;
    if !same || count < 3 {
        return Err(NoParting::OtherTimes);
    }
    let (end, greased_end) = (dry.values[count - 1], greased.values[count - 1]);
    let apart = end - greased_end;
    if apart.is_nan() || apart < 0.02 * greased_end {
        return Err(NoParting::SameEnd { dry: end, greased: greased_end });
    }
    let theta = |i: usize| 0.5 * (dry.values[i] + greased.values[i]);
    let over: Vec<f64> = (0..count)
        .map(|i| (dry.slopes[i] - greased.slopes[i]) / apart - (THRESHOLD_SLOPE * theta(i) + THRESHOLD_START))
        .collect();
    let peak = (0..count).max_by(|&a, &b| over[a].total_cmp(&over[b])).unwrap_or(0);
    let before = (0..peak).rev().find(|&i| over[i] < 0.0).ok_or(NoParting::FromTheStart)?;
    let share = over[before] / (over[before] - over[before + 1]);
    let theta_jc_k_w = theta(before) + share * (theta(before + 1) - theta(before));
    let difference = (dry.values[before] - greased.values[before]).abs() / theta(before);
    if difference > DIFFERENT_FROM_THE_START {
        return Err(NoParting::DifferentDevices(100.0 * difference));
    }
    let time_s = (dry.log_time(before) + share * dry.step).exp();
    Ok(Parting { theta_jc_k_w, time_s: Some(time_s) })
}

/// By structure functions: the resistance from which the capacities differ by more than a share (0.1 is usual), on the
/// way to three times that share.
///
/// # Errors
/// [`NoParting::Never`] where they stay together, [`NoParting::FromTheStart`] where they never were.
pub fn by_structure(dry: &[Place], greased: &[Place], share: f64) -> Result<Parting, NoParting> {
    let end = |path: &[Place]| path.last().map_or(0.0, |p| p.resistance);
    let (end, steps) = (end(dry).min(end(greased)), 2000);
    let difference = |i: usize| {
        let at = end * i as f64 / steps as f64;
        Some((capacity_at(dry, at)? / capacity_at(greased, at)?).ln().abs())
    };
    let clear = (1..steps).find(|&i| difference(i).is_some_and(|d| d > (1.0 + 3.0 * share).ln()));
    let clear = clear.ok_or(NoParting::Never)?;
    let parted = (1..clear).rev().find(|&i| difference(i).is_some_and(|d| d < (1.0 + share).ln()));
    let parted = parted.ok_or(NoParting::FromTheStart)?;
    Ok(Parting { theta_jc_k_w: end * parted as f64 / steps as f64, time_s: None })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stack::{Slab, Stack};
    use crate::transient_path::{TransientPath, transient_path};
    use facedown_field::deconvolution::Asked;
    use facedown_field::step_response::Resampling;

    const AREA: f64 = 0.2e-4;

    fn slab(thickness_m: f64, conductivity: f64, capacity_j_m3_k: f64) -> Slab {
        Slab { thickness_m, conductivity, capacity_j_m3_k, contact_m2_k_w: 0.0 }
    }

    /// Silicon, die attach and copper base on a cold plate, by conductivity of the attach and contact at the case
    /// (m2 K/W).
    fn device(attach: f64, contact_m2_k_w: f64) -> TransientPath {
        let base = Slab { contact_m2_k_w, ..slab(1e-3, 390.0, 8960.0 * 385.0) };
        let plate = slab(10e-3, 390.0, 3.45e6);
        let layers = vec![slab(0.3e-3, 120.0, 2330.0 * 712.0), slab(25e-6, attach, 2e6), base, plate];
        let stack = Stack { layers, film: 2e4 };
        let times: Vec<f64> = (0..=450).map(|i| 10f64.powf(-6.0 + i as f64 / 50.0)).collect();
        let rises: Vec<f64> = times.iter().map(|t| stack.step_response(*t).unwrap() / AREA).collect();
        transient_path(&times, &rises, Resampling::default(), &Asked::default()).unwrap()
    }

    fn known(attach: f64) -> f64 {
        (0.3e-3 / 120.0 + 25e-6 / attach + 1e-3 / 390.0) / AREA
    }

    #[test]
    fn slopes_find_the_case_under_solder_and_structure_functions_under_glue() {
        let (solder, glue) = (50.0, 0.7);
        let soldered = by_slopes(&device(solder, 60e-6).response, &device(solder, 2e-6).response).unwrap();
        let share = soldered.theta_jc_k_w / known(solder);
        assert!((0.80..1.05).contains(&share), "{share} {soldered:?}");
        let glued = by_structure(&device(glue, 60e-6).structure, &device(glue, 2e-6).structure, 0.1).unwrap();
        let share = glued.theta_jc_k_w / known(glue);
        assert!((0.90..1.10).contains(&share), "{share} {glued:?}");
    }

    #[test]
    fn curves_that_never_part_or_never_were_one_give_nothing() {
        let (dry, greased) = (device(50.0, 60e-6), device(50.0, 2e-6));
        assert!(matches!(by_slopes(&greased.response, &dry.response), Err(NoParting::SameEnd { .. })));
        assert!(matches!(by_slopes(&dry.response, &dry.response), Err(NoParting::SameEnd { .. })));
        assert_eq!(by_structure(&dry.structure, &dry.structure, 0.1), Err(NoParting::Never));
        let mut other = greased.response.clone();
        other.start += 0.1;
        assert_eq!(by_slopes(&dry.response, &other), Err(NoParting::OtherTimes));
        let mut scaled = greased.response.clone();
        scaled.values.iter_mut().chain(&mut scaled.slopes).for_each(|v| *v *= 0.8);
        assert!(by_slopes(&dry.response, &scaled).is_err());
    }
}
