//! The bytes of a micrograph in, figures and marked pictures out: what a run makes of a picture.

use super::{Asked, NoVoids, Shade, VoidMap, VoidReading, beside, marked, read};
use facedown_evidence::Figure;
use facedown_raster::{Unreadable, Unwritable};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A micrograph with what is known of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Scan {
    /// Bytes of a PNG or JPEG file.
    pub bytes: Vec<u8>,
    /// Extent of the die along x and y, m.
    pub die_m: [f64; 2],
    /// Centres of the bumps from the lower left corner, m.
    pub bumps_m: Vec<[f64; 2]>,
    /// Diameter of a bump, m; zero without bumps.
    pub bump_diameter_m: f64,
    /// Corners of the die, pixels: lower left, lower right, upper right, upper left; left out, the die is found.
    pub corners: Option<[[f64; 2]; 4]>,
    /// Width of the ring along the die's edge that is left out, m.
    pub edge_m: f64,
    /// Whether voids are darker than underfill.
    pub darker: bool,
    /// Diameter below which voids are not counted, m.
    pub least_diameter_m: f64,
    /// Where the front predicts voids: columns, and cells in rows from the lower left.
    pub predicted: Option<(usize, Vec<bool>)>,
}

/// A void that was seen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SeenVoid {
    /// Its centre from the die's lower left corner, m.
    pub centre_m: [f64; 2],
    /// Area that is seen outside of the bumps, m2.
    pub area_m2: f64,
    /// Diameter of the disc of that area, m.
    pub diameter_m: f64,
    /// Number of bumps that it touches.
    pub bumps: usize,
}

/// A class of sizes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SizeClass {
    /// Diameters from and to, m; the last class has no end.
    pub from_m: f64,
    /// End of the class, m.
    pub to_m: Option<f64>,
    /// Voids in it.
    pub count: usize,
    /// Share of the area of all voids.
    pub share: f64,
}

/// Prediction against picture, shares of what is looked at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Compared {
    /// Predicted.
    pub predicted: f64,
    /// Seen.
    pub seen: f64,
    /// Both.
    pub both: f64,
    /// Both over either; nothing where there is neither.
    pub overlap: Option<f64>,
    /// Part of the predicted area where voids are seen.
    pub confirmed: Option<f64>,
    /// Part of the seen area where voids were predicted.
    pub foreseen: Option<f64>,
}

/// What a run keeps of a micrograph.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Judged {
    /// Figures.
    pub figures: Vec<Figure>,
    /// What sets a figure, as a clause.
    pub limits: BTreeMap<String, String>,
    /// Sentences.
    pub notes: Vec<String>,
    /// Share of voids.
    pub share: f64,
    /// Its uncertainty.
    pub uncertainty: f64,
    /// Voids, largest first.
    pub voids: Vec<SeenVoid>,
    /// Voids that join two bumps.
    pub bridging: usize,
    /// Sizes.
    pub sizes: Vec<SizeClass>,
    /// The picture beside what was predicted.
    pub compared: Option<Compared>,
    /// The picture with its voids marked, PNG in base 64; with the prediction to its left where there is one.
    pub marked_png: String,
    /// Size of that picture, pixels.
    pub marked_size: [usize; 2],
}

/// Why a micrograph gives nothing.
#[derive(Debug, thiserror::Error)]
pub enum NoJudgement {
    /// The file.
    #[error(transparent)]
    Unreadable(#[from] Unreadable),
    /// The picture.
    #[error(transparent)]
    NoVoids(#[from] NoVoids),
    /// The marked picture.
    #[error(transparent)]
    Unwritable(#[from] Unwritable),
}

/// Limits of the classes of size, m.
const CLASSES: [f64; 4] = [50e-6, 100e-6, 200e-6, 400e-6];

/// Reads a micrograph and keeps what a report needs.
///
/// # Errors
/// [`NoJudgement`] for a file or picture in which no voids can be counted; the words say why and how to mend it.
pub fn judge(scan: &Scan) -> Result<Judged, NoJudgement> {
    let picture = facedown_raster::read(&scan.bytes)?;
    let asked = Asked {
        die_m: scan.die_m,
        bumps: &scan.bumps_m,
        bump_diameter_m: scan.bump_diameter_m,
        corners: scan.corners,
        edge_m: scan.edge_m,
        voids: if scan.darker { Shade::Darker } else { Shade::Brighter },
        least_diameter_m: scan.least_diameter_m,
    };
    let reading = read(&picture, &asked)?;
    let side_by_side = scan.predicted.as_ref().and_then(|(columns, cells)| {
        let map = VoidMap { columns: *columns, cells: cells.clone() };
        beside(&picture, &reading, &map, &scan.bumps_m, scan.bump_diameter_m).ok()
    });
    let canvas = match &side_by_side {
        Some(found) => found.picture.clone(),
        None => marked(&picture, &reading, &scan.bumps_m, scan.bump_diameter_m),
    };
    let png = canvas.png()?;
    let compared = side_by_side.map(|b| Compared {
        predicted: b.predicted,
        seen: b.seen,
        both: b.both,
        overlap: b.overlap,
        confirmed: b.confirmed,
        foreseen: b.foreseen,
    });
    let (figures, limits) = figures(&reading, compared.as_ref());
    let limits_m = |k: usize| CLASSES.get(k).copied();
    let sizes = reading.sizes(&CLASSES).into_iter().enumerate().map(|(k, (count, share))| SizeClass {
        from_m: k.checked_sub(1).and_then(limits_m).unwrap_or(0.0),
        to_m: limits_m(k),
        count,
        share: if share.is_finite() { share } else { 0.0 },
    });
    Ok(Judged {
        figures,
        limits,
        notes: Vec::new(),
        share: reading.share,
        uncertainty: reading.uncertainty,
        voids: reading
            .voids
            .iter()
            .map(|v| SeenVoid {
                centre_m: v.centre_m,
                area_m2: v.area_m2,
                diameter_m: v.diameter_m,
                bumps: v.bumps.len(),
            })
            .collect(),
        bridging: reading.bridging(),
        sizes: sizes.collect(),
        compared,
        marked_png: base64::Engine::encode(&base64::engine::general_purpose::STANDARD, png),
        marked_size: [canvas.width(), canvas.height()],
    })
}

fn figures(reading: &VoidReading, compared: Option<&Compared>) -> (Vec<Figure>, BTreeMap<String, String>) {
    let basis = "micrograph: light flattened, level half way between both kinds, bumps and edge left out";
    let mut share = Figure::solved("seen_void_fraction", 100.0 * reading.share, "%", basis);
    share.error = Some(100.0 * reading.uncertainty);
    let largest = reading.voids.first();
    let mut figures = vec![
        share,
        Figure::solved("seen_largest_void", 1e6 * largest.map_or(0.0, |v| v.area_m2), "mm2", basis),
        Figure::solved("seen_voids_touching", reading.touching() as f64, "", basis),
        Figure::solved("seen_voids_bridging", reading.bridging() as f64, "", basis),
    ];
    if let Some(foreseen) = compared.and_then(|c| c.foreseen) {
        let basis = "part of the void area seen where the front on the bump map predicts voids";
        figures.push(Figure::solved("seen_foreseen", 100.0 * foreseen, "%", basis));
    }
    let mut limits = BTreeMap::new();
    if let Some(v) = largest {
        let words = format!(
            "{} voids are seen, the largest of {:.0} um at {:.2}, {:.2} mm from the die's lower left corner",
            reading.voids.len(),
            1e6 * v.diameter_m,
            1e3 * v.centre_m[0],
            1e3 * v.centre_m[1]
        );
        limits.insert("seen_void_fraction".into(), words);
    }
    (figures, limits)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::micrograph::specimen::Scene;
    use facedown_raster::png_of_grey;

    fn scan(scene: &Scene) -> Scan {
        Scan {
            bytes: png_of_grey(&scene.picture().unwrap()).unwrap(),
            die_m: scene.die_m,
            bumps_m: scene.bumps.clone(),
            bump_diameter_m: scene.bump_diameter_m,
            corners: None,
            edge_m: 0.0,
            darker: false,
            least_diameter_m: 0.0,
            predicted: None,
        }
    }

    #[test]
    fn a_scene_gives_its_share_with_a_marked_picture() {
        let scene = Scene::usual();
        let judged = judge(&scan(&scene)).unwrap();
        assert!((judged.share - scene.share()).abs() < judged.uncertainty + 1e-3, "{}", judged.share);
        assert_eq!(judged.sizes.iter().map(|c| c.count).sum::<usize>(), judged.voids.len());
        assert!((judged.sizes.iter().map(|c| c.share).sum::<f64>() - 1.0).abs() < 1e-9);
        // Base 64 of the first bytes of every PNG.
        assert!(judged.marked_png.starts_with("iVBORw0KGgo"));
        assert!(judged.compared.is_none());
    }

    #[test]
    fn a_prediction_stands_beside_the_picture() {
        let scene = Scene::usual();
        let (columns, rows) = (48, 40);
        let at = |k: usize, n: usize, size: f64| (k as f64 + 0.5) / n as f64 * size;
        let cells = (0..columns * rows)
            .map(|k| {
                scene.is_void([
                    at(k % columns, columns, scene.die_m[0]),
                    at(k / columns, rows, scene.die_m[1]),
                ])
            })
            .collect();
        let judged = judge(&Scan { predicted: Some((columns, cells)), ..scan(&scene) }).unwrap();
        let compared = judged.compared.unwrap();
        assert!(compared.overlap.unwrap() > 0.6, "{compared:?}");
        assert!(judged.figures.iter().any(|f| f.name == "seen_foreseen" && f.value > 60.0));
        assert!(judged.marked_size[0] > 2 * scene.size[0]);
    }

    #[test]
    fn what_is_no_picture_says_so() {
        let scene = Scene::usual();
        let text = Scan { bytes: b"face,angle".to_vec(), ..scan(&scene) };
        assert!(judge(&text).unwrap_err().to_string().contains("neither as PNG nor as JPEG"));
        let blank = png_of_grey(&facedown_raster::Grey::from_fn(64, 64, |_, _| 0.5)).unwrap();
        assert!(judge(&Scan { bytes: blank, ..scan(&scene) }).unwrap_err().to_string().contains("blank"));
    }
}
