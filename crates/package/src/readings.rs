//! Contact-angle readings: one drop of a probe liquid on one face, before or after plasma.
//!
//! They stand in the table that `process.clean.readings` names. The probe liquids are those whose split of surface tension
//! the underfill study knows, and the underfill itself; a test of the pipeline holds the two lists together.

use crate::process::Clean;
use crate::read::record::words;
use serde::Serialize;

words! {
    /// A face that the underfill wets.
    pub enum WettedFace: "a face that the underfill wets" {
        /// The die's face.
        Die = "die",
        /// The substrate's face.
        Substrate = "substrate",
        /// The bumps.
        Bump = "bump",
    }
}

words! {
    /// A liquid of known surface tension for contact angles.
    pub enum ProbeLiquid: "a probe liquid" {
        /// Water.
        Water = "water",
        /// Diiodomethane.
        Diiodomethane = "diiodomethane",
        /// Ethylene glycol.
        EthyleneGlycol = "ethylene glycol",
        /// Formamide.
        Formamide = "formamide",
        /// Glycerol.
        Glycerol = "glycerol",
        /// 1-bromonaphthalene.
        Bromonaphthalene = "1-bromonaphthalene",
        /// Dimethyl sulfoxide.
        DimethylSulfoxide = "dimethyl sulfoxide",
        /// The underfill itself, on a hot stage.
        Underfill = "underfill",
    }
}

/// A drop that was read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AngleReading {
    /// Where.
    pub face: WettedFace,
    /// With what.
    pub liquid: ProbeLiquid,
    /// Contact angle, rad, where it was read; else it follows from the size or the picture of the drop.
    pub angle_rad: Option<f64>,
    /// Volume of the drop, m3.
    pub volume_m3: Option<f64>,
    /// Diameter of its base, m.
    pub diameter_m: Option<f64>,
    /// Picture of the drop from the side: file and bytes.
    pub picture: Option<(String, Vec<u8>)>,
    /// Size of a pixel of that picture, m.
    pub pixel_m: Option<f64>,
    /// Place from the centre of the die, m, seen from above.
    pub place_m: Option<[f64; 2]>,
    /// Name of the lot.
    pub lot: Option<String>,
    /// One standard deviation, rad; zero where the table gives none.
    pub spread_rad: f64,
    /// Time under plasma before the reading, s; zero for the untreated face.
    pub plasma_s: f64,
    /// Power of that plasma, W, where the table gives it; else it is that of the cleaning step.
    pub power_w: Option<f64>,
    /// Time between plasma and reading, s.
    pub age_s: f64,
}

impl AngleReading {
    /// True for a face that had plasma before it was read.
    pub fn is_treated(&self) -> bool {
        self.plasma_s > 0.0
    }

    /// Dose of the plasma before the reading, power times time, J; nothing where neither the table nor the cleaning step
    /// says the power.
    pub fn dose_j(&self, clean: &Clean) -> Option<f64> {
        if !self.is_treated() {
            return Some(0.0);
        }
        Some(self.plasma_s * self.power_w.or(clean.power.map(|p| p.si()))?)
    }
}
