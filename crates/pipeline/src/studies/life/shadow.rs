//! What lies above the balls: the largest die or the interposer, and how far the ball side below it expands.

use super::Known;
use crate::graph::Absent;
use crate::studies::joints::INTERPOSER;
use crate::studies::placing::{centre, footprint};
use crate::studies::plates;
use crate::studies::properties::{self, ROOM};
use facedown_life::problem as life;
use facedown_package::Mount;
use facedown_warpage::problem::{Layer, Plate};

impl Known<'_> {
    /// The largest die (or the interposer) above the balls, with the expansion of the ball side below it.
    pub(super) fn shadow(&self, notes: &mut Vec<String>) -> Result<Option<life::Shadow>, Absent> {
        let design = self.design;
        let Some(substrate) = &design.substrate else { return Ok(None) };
        let size = [substrate.width.si(), substrate.height.si()];
        let below = plates::stack(design, &substrate.layers, size, "substrate")?.layers;
        let corner =
            |size: [f64; 2], at: [f64; 2]| (0.5 * size[0] + at[0].abs()).hypot(0.5 * size[1] + at[1].abs());
        let mut widest: Option<(f64, Vec<Layer>)> = None;
        if let Some(part) = &design.interposer {
            let size = [part.width.si(), part.height.si()];
            let at = part.at.map_or([0.0; 2], |at| at.map(|x| x.si()));
            let above = plates::stack(design, &part.layers, size, INTERPOSER)?.layers;
            widest = Some((corner(size, at), above));
        } else {
            for die in design.dies.iter().filter(|d| d.mount() == Mount::Flip) {
                let (size, _) = footprint(die)?;
                let reach = corner(size, centre(die));
                if widest.as_ref().is_none_or(|w| w.0 < reach) {
                    widest = Some((reach, plates::die(design, die, size)?.layers));
                }
            }
        }
        let Some((reach, above)) = widest else { return Ok(None) };
        let layers: Vec<Layer> = below.into_iter().chain(above).collect();
        let flat = plates::membrane(&Plate { width_m: size[0], height_m: size[1], layers: layers.clone() });
        let bent = plates::expansion_below(&layers)?;
        let at = |table: &properties::Table, k| properties::at(table, k).unwrap_or(f64::NAN);
        notes.push(format!(
            "Above the balls, die and substrate expand by {:.1} ppm/K held flat and by {:.1} ppm/K where they bend as they \
             like, at 25 degC on the ball side; ring, lid and board hold them in between, and the mean is taken (common \
             practice, no source) unless the balls would outlive both limits by it; both are run beside it.",
            1e6 * at(&flat.expansion, ROOM),
            1e6 * at(&bent, ROOM)
        ));
        let mean = bent.iter().map(|&(k, free)| (k, 0.5 * (free + at(&flat.expansion, k)))).collect();
        let limits = [("held flat", flat.expansion), ("bent as they like", bent)]
            .map(|(name, expansion)| life::ShadowLimit { name: name.into(), expansion });
        Ok(Some(life::Shadow { reach, expansion: mean, limits: limits.into() }))
    }
}
