//! Which voids touch which bumps: a ring of places just outside of each bump, each asked for the void that it lies in.

use super::Frame;
use facedown_raster::label::Components;
use std::collections::BTreeSet;

/// Places around a bump.
const AROUND: usize = 72;

/// A bump that voids touch.
#[derive(Debug, Clone, PartialEq)]
pub struct TouchedBump {
    /// Its number in the bump map.
    pub bump: usize,
    /// Share of its perimeter that lies against voids.
    pub share: f64,
    /// The voids, by their number in the reading.
    pub voids: Vec<usize>,
}

/// All bumps that lie against a void: a ring `reach` pixels outside of the bump. `void_of` is the number of a region's void.
pub fn touched(
    frame: &Frame,
    bumps: &[[f64; 2]],
    diameter_m: f64,
    reach: f64,
    parts: &Components,
    void_of: &[Option<usize>],
) -> Vec<TouchedBump> {
    let outside = reach * frame.pixel();
    let ring: Vec<[f64; 2]> = (0..AROUND)
        .map(|i| {
            let (sine, cosine) = (std::f64::consts::TAU * i as f64 / AROUND as f64).sin_cos();
            let radius = 0.5 * diameter_m + outside;
            [radius * cosine, radius * sine]
        })
        .collect();
    bumps
        .iter()
        .enumerate()
        .filter_map(|(bump, centre)| {
            let mut voids = BTreeSet::new();
            let hits = ring.iter().filter(|step| {
                let [x, y] = frame.to_picture([centre[0] + step[0], centre[1] + step[1]]);
                let region = parts.at(x.round() as isize, y.round() as isize);
                let void = region.and_then(|r| void_of.get(r).copied().flatten());
                voids.extend(void);
                void.is_some()
            });
            let share = hits.count() as f64 / AROUND as f64;
            (share > 0.0).then(|| TouchedBump { bump, share, voids: voids.into_iter().collect() })
        })
        .collect()
}
