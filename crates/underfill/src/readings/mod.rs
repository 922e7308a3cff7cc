//! Contact-angle readings of many places and lots: a map of the face with its uncertainty, and a control chart.
//!
//! [`regions`] takes the mean of the readings in each region of the face; [`map`] interpolates between places as a random
//! surface whose covariance is fitted by likelihood, and tells how uncertain the map is everywhere; [`chart`] says whether
//! readings over lots are under control.

pub mod chart;
pub mod map;
pub mod regions;

use facedown_evidence::input::OutOfRange;
use facedown_field::NoConvergence;

/// A reading at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Place on the face, m.
    pub place_m: [f64; 2],
    /// Contact angle, rad.
    pub angle_rad: f64,
    /// One standard deviation of the reading, rad.
    pub spread_rad: f64,
}

/// Why readings give no map or chart.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoMap {
    /// Too few readings.
    #[error("{given} readings are too few for {what}; {needed} are needed")]
    TooFew {
        /// What was asked for.
        what: &'static str,
        /// Readings given.
        given: usize,
        /// Readings needed.
        needed: usize,
    },
    /// More readings than the method is made for.
    #[error(
        "{given} readings are too many for one map; at most {most} are taken: take the mean of neighbours"
    )]
    TooMany {
        /// Readings given.
        given: usize,
        /// Most readings.
        most: usize,
    },
    /// All at one place.
    #[error("all readings are at one place; a map needs readings at different places")]
    OnePlace,
    /// A number outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// The numerics gave nothing.
    #[error("the map was not found: {0}")]
    NotFound(#[from] NoConvergence),
}

/// Refuses readings that make no sense.
pub(crate) fn check(readings: &[Placed]) -> Result<(), NoMap> {
    use facedown_evidence::input::within;
    for (i, r) in readings.iter().enumerate() {
        let what = |what: &str| format!("{what} of reading {}", i + 1);
        within(what("the angle"), r.angle_rad, 0.0, std::f64::consts::PI, "from 0 to 180 deg")?;
        within(what("the spread"), r.spread_rad, 0.0, 1.0, "from 0 to 57 deg")?;
        for v in r.place_m {
            within(what("the place"), v, -10.0, 10.0, "within 10 m")?;
        }
    }
    Ok(())
}
