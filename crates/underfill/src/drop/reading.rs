//! A picture in, a contact angle with its uncertainty out.

use super::base_line::{self, BaseLine};
use super::fit::{Fit, Free, Shape, fit};
use super::outline::{Lies, Outline, outline};
use facedown_raster::Grey;

/// What is known of the picture and the liquid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// Size of a pixel, m, where it is known; sizes are told in m then.
    pub pixel_m: Option<f64>,
    /// How the drop's weight counts.
    pub gravity: Gravity,
    /// Two places on the base line, pixels, where it is given.
    pub base_line: Option<[[f64; 2]; 2]>,
}

/// How the drop's weight counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Gravity {
    /// By a capillary length, m, with one standard deviation; needs the size of a pixel.
    Known {
        /// Capillary length, m.
        length_m: f64,
        /// One standard deviation, m.
        spread_m: f64,
    },
    /// The capillary length is one of the unknowns.
    Fitted,
    /// The drop is a spherical cap; what its weight would change is part of the uncertainty.
    Neglected,
}

/// Why there is no reading.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoReading {
    /// No contrast.
    #[error("the picture is blank: nothing in it stands out from its background")]
    Blank,
    /// A picture of a few pixels.
    #[error("the picture is too small: both sides must have {needed} pixels or more")]
    SmallPicture {
        /// Least side, pixels.
        needed: usize,
    },
    /// Nothing of a drop's size.
    #[error(
        "no drop was found: nothing stands out from the background as one part with a clear edge; light it from behind"
    )]
    NoDrop,
    /// The drop leaves the frame.
    #[error(
        "the drop is cut off by the frame at its {0}; take the picture again with the whole drop and some background around it"
    )]
    CutOff(&'static str),
    /// No line to read the angle at.
    #[error("the base line was not found: {0}; give two places on it")]
    NoBaseLine(&'static str),
    /// The base line does not cross the drop.
    #[error(
        "the base line does not cross the outline of the drop on both sides; check the places that were given"
    )]
    OffTheDrop,
    /// Too few pixels.
    #[error(
        "the drop is too small to be read: it is {height:.0} pixels high above its base line, and {needed:.0} are needed"
    )]
    TooSmall {
        /// Height above the base line, pixels.
        height: f64,
        /// Height needed, pixels.
        needed: f64,
    },
    /// The fit did not come to rest.
    #[error("the profile of a drop could not be laid through the outline: the fit did not come to rest")]
    NotConverged,
    /// The outline is not that of a drop at rest.
    #[error(
        "the outline is not that of one drop at rest: it lies {residual:.1} pixels from the best profile, and {allowed:.1} are allowed"
    )]
    NotADrop {
        /// Standard deviation of the places, pixels.
        residual: f64,
        /// Largest allowed, pixels.
        allowed: f64,
    },
    /// A number that makes no sense.
    #[error("{0}")]
    BadNumber(&'static str),
}

/// Parts of the uncertainty of an angle, each one standard deviation, rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertainty {
    /// Scatter of the outline about the profile.
    pub outline_rad: f64,
    /// Height of the base line.
    pub base_line_rad: f64,
    /// What is not known of the drop's weight.
    pub gravity_rad: f64,
}

impl Uncertainty {
    /// All together.
    pub fn total_rad(&self) -> f64 {
        self.outline_rad.hypot(self.base_line_rad).hypot(self.gravity_rad)
    }
}

/// One side of the drop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side {
    /// Contact point, pixels.
    pub contact: [f64; 2],
    /// Contact angle by this side's outline, rad.
    pub angle_rad: f64,
    /// One standard deviation of it, rad.
    pub spread_rad: f64,
}

/// A drop that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct DropReading {
    /// Contact angle by the whole outline, rad.
    pub angle_rad: f64,
    /// Its uncertainty.
    pub uncertainty: Uncertainty,
    /// Left side.
    pub left: Side,
    /// Right side.
    pub right: Side,
    /// Contact angle by the spherical cap through the same outline, rad.
    pub cap_rad: f64,
    /// Change of the angle for a base line one pixel higher, rad.
    pub rad_per_px: f64,
    /// Standard deviation of the outline about the profile, pixels.
    pub residual_px: f64,
    /// The base line.
    pub base_line: BaseLine,
    /// Distance of the contacts, pixels.
    pub base_px: f64,
    /// Height of the apex above the base line, pixels.
    pub height_px: f64,
    /// Volume by the profile, pixels cubed.
    pub volume_px3: f64,
    /// Capillary length of the profile, pixels; nothing for a spherical cap.
    pub capillary_length_px: Option<f64>,
    /// Size of a pixel, m, as it was told.
    pub pixel_m: Option<f64>,
    /// The profile from the left contact over the apex to the right one, pixels.
    pub profile: Vec<[f64; 2]>,
    /// The places of the outline that were fitted, pixels.
    pub outline: Vec<[f64; 2]>,
}

/// Heights below this many pixels above the base line are left out: optics and smoothing round the corner there.
const CLEAR: f64 = 4.0;
/// Least height of a drop, pixels.
const LEAST_HEIGHT: f64 = 12.0;
/// Most places in a fit.
const MOST_PLACES: usize = 700;

/// Reads the angle from a picture.
///
/// # Errors
/// [`NoReading`] says why there is none.
pub fn read(picture: &Grey, asked: &Asked) -> Result<DropReading, NoReading> {
    let outline = outline(picture)?;
    read_outline(&outline, asked)
}

/// Reads the angle from an outline.
///
/// # Errors
/// [`NoReading`] says why there is none.
pub fn read_outline(outline: &Outline, asked: &Asked) -> Result<DropReading, NoReading> {
    let line = match asked.base_line {
        Some([a, b]) if a.iter().chain(&b).all(|v| v.is_finite()) && (a[0] - b[0]).abs() > 1.0 => {
            BaseLine::given(a, b, 0.5)
        }
        Some(_) => {
            return Err(NoReading::BadNumber("the two places on the base line must lie apart, side by side"));
        }
        None => base_line::find(outline)?,
    };
    if asked.pixel_m.is_some_and(|p| !(1e-9..=1e-2).contains(&p)) {
        return Err(NoReading::BadNumber("the size of a pixel must be from 1 nm to 10 mm"));
    }
    let known = match asked.gravity {
        Gravity::Known { length_m, spread_m } => {
            let pixel = asked.pixel_m.ok_or(NoReading::BadNumber(
                "a known capillary length needs the size of a pixel; give it, or fit the length",
            ))?;
            if !((1e-5..=1.0).contains(&length_m) && (0.0..=length_m).contains(&spread_m)) {
                return Err(NoReading::BadNumber(
                    "the capillary length must be from 0.01 mm to 1 m, its spread not above it",
                ));
            }
            Some((length_m / pixel, spread_m / length_m))
        }
        _ => None,
    };
    let points = above(outline, &line)?;
    let start = start(&points, &line);
    let free = |weight| Free { weight, tilt: Some(1.5_f64.to_radians()) };
    let cap = fit(&points, start, free(false), line.tilt_rad).ok_or(NoReading::NotConverged)?;
    let heavy = match asked.gravity {
        Gravity::Neglected => None,
        Gravity::Fitted => Some(
            fit(
                &points,
                Shape { weight: 0.2 / cap.shape.radius.powi(2), ..cap.shape },
                free(true),
                line.tilt_rad,
            )
            .ok_or(NoReading::NotConverged)?,
        ),
        Gravity::Known { .. } => {
            let weight = known.map_or(0.0, |(length, _)| 1.0 / (length * length));
            // Towards the true weight in steps, so that a large flat drop is not lost on the way.
            let mut found = cap.clone();
            for share in [0.25, 1.0] {
                let from = Shape { weight: share * weight, ..found.shape };
                found = fit(&points, from, free(false), line.tilt_rad).ok_or(NoReading::NotConverged)?;
            }
            Some(found)
        }
    };
    let best = heavy.as_ref().unwrap_or(&cap);
    let height = line.height(best.shape.apex);
    let allowed = (0.02 * height).max(2.0);
    if best.residual > allowed {
        return Err(NoReading::NotADrop { residual: best.residual, allowed });
    }
    let mean = |s: &Shape, l: &BaseLine| Some(0.5 * (s.contact(l, -1.0)?.1 + s.contact(l, 1.0)?.1));
    let angle_rad = mean(&best.shape, &line).ok_or(NoReading::OffTheDrop)?;
    let cap_rad = mean(&cap.shape, &line).ok_or(NoReading::OffTheDrop)?;
    let raised = |by: f64| mean(&best.shape, &line.raised(by)).ok_or(NoReading::OffTheDrop);
    let rad_per_px = raised(0.5)? - raised(-0.5)?;
    let gravity_rad = match (asked.gravity, known) {
        // The weight goes with the square of the length.
        (Gravity::Known { .. }, Some((_, relative))) => (angle_rad - cap_rad).abs() * 2.0 * relative,
        (Gravity::Neglected, _) => {
            let from = Shape { weight: 0.2 / cap.shape.radius.powi(2), ..cap.shape };
            let told = fit(&points, from, free(true), line.tilt_rad).and_then(|f| mean(&f.shape, &line));
            told.map_or(0.0, |a| (a - cap_rad).abs())
        }
        _ => 0.0,
    };
    let uncertainty = Uncertainty {
        outline_rad: best.spread_of(|s| mean(s, &line)),
        base_line_rad: rad_per_px.abs() * line.spread_px,
        gravity_rad,
    };
    let [left, right] = [-1.0, 1.0].map(|side| one_side(&points, best, &line, side, &uncertainty));
    let (left, right) = (left.ok_or(NoReading::NotConverged)?, right.ok_or(NoReading::NotConverged)?);
    let ends = [-1.0, 1.0].map(|side| best.shape.contact(&line, side).map_or([0.0; 2], |(p, _)| p));
    Ok(DropReading {
        angle_rad,
        uncertainty,
        left,
        right,
        cap_rad,
        rad_per_px,
        residual_px: best.residual,
        base_line: line,
        base_px: (ends[1][0] - ends[0][0]).hypot(ends[1][1] - ends[0][1]),
        height_px: height,
        volume_px3: best.shape.volume(height),
        capillary_length_px: (best.shape.weight > 0.0).then(|| 1.0 / best.shape.weight.sqrt()),
        pixel_m: asked.pixel_m,
        profile: best.shape.course(&line),
        outline: points,
    })
}

/// The places above the base line and clear of it, in order from left to right over the top, not more than fit needs.
fn above(outline: &Outline, line: &BaseLine) -> Result<Vec<[f64; 2]>, NoReading> {
    let top = outline.points.iter().map(|p| line.height(*p)).fold(0.0, f64::max);
    if top < LEAST_HEIGHT {
        return Err(NoReading::TooSmall { height: top, needed: LEAST_HEIGHT });
    }
    // Over a free foot the drop ends in a thin rim, and both its edges blur into each other.
    let clear = if outline.lies == Lies::Free && line.found == "foot" {
        (2.0 * CLEAR).min(0.35 * top)
    } else {
        CLEAR.min(0.2 * top)
    };
    let is_clear = |p: &[f64; 2]| line.height(*p) > clear;
    // The longest run of places above: a speck on the face is not the drop.
    let n = outline.points.len();
    let first = (0..n).find(|i| !is_clear(&outline.points[*i])).ok_or(NoReading::OffTheDrop)?;
    let mut runs: Vec<Vec<[f64; 2]>> = vec![Vec::new()];
    let order: Vec<usize> = if outline.lies == Lies::Free {
        (first..first + n).map(|i| i % n).collect()
    } else {
        (0..n).collect()
    };
    for i in order {
        let p = outline.points[i];
        match runs.last_mut() {
            Some(run) if is_clear(&p) => run.push(p),
            Some(run) if !run.is_empty() => runs.push(Vec::new()),
            _ => {}
        }
    }
    let mut run = runs.into_iter().max_by_key(Vec::len).unwrap_or_default();
    let ends = run.first().zip(run.last()).ok_or(NoReading::OffTheDrop)?;
    if ends.0[0] > ends.1[0] {
        run.reverse();
    }
    let low = |p: &[f64; 2]| line.height(*p) < clear + 0.25 * (top - clear) + 3.0;
    if run.len() < 30 || !run.first().is_some_and(low) || !run.last().is_some_and(low) {
        return Err(NoReading::OffTheDrop);
    }
    let every = run.len().div_ceil(MOST_PLACES);
    Ok(run.into_iter().step_by(every).collect())
}

/// A spherical cap through the ends and the top of the places.
fn start(points: &[[f64; 2]], line: &BaseLine) -> Shape {
    // Circle by the linear least squares of x^2 + y^2 (I. Kasa, IEEE Trans. Instrum. Meas. 25 (1976) 8).
    let centre =
        points.iter().fold([0.0; 2], |c, p| [c[0] + p[0], c[1] + p[1]]).map(|v| v / points.len() as f64);
    let rows: Vec<f64> = points.iter().flat_map(|p| [p[0] - centre[0], p[1] - centre[1], 1.0]).collect();
    let right: Vec<f64> =
        points.iter().map(|p| (p[0] - centre[0]).powi(2) + (p[1] - centre[1]).powi(2)).collect();
    let (x, y, radius) = match facedown_field::dense::least_squares(&rows, 3, &right) {
        Ok(f) => {
            let (x, y) = (0.5 * f[0], 0.5 * f[1]);
            (x + centre[0], y + centre[1], (f[2] + x * x + y * y).max(1.0).sqrt())
        }
        Err(_) => (centre[0], centre[1], 100.0),
    };
    let (sine, cosine) = line.tilt_rad.sin_cos();
    Shape { apex: [x + radius * sine, y - radius * cosine], radius, weight: 0.0, tilt: line.tilt_rad }
}

/// The angle of one side by its own outline, with the cap around the apex in common.
fn one_side(points: &[[f64; 2]], whole: &Fit, line: &BaseLine, side: f64, all: &Uncertainty) -> Option<Side> {
    let (sine, cosine) = whole.shape.tilt.sin_cos();
    let across = |p: &[f64; 2]| (p[0] - whole.shape.apex[0]) * cosine + (p[1] - whole.shape.apex[1]) * sine;
    let widest = points.iter().map(|p| across(p).abs()).fold(0.0, f64::max);
    let own: Vec<[f64; 2]> = points.iter().copied().filter(|p| side * across(p) > -0.3 * widest).collect();
    let found = fit(&own, whole.shape, Free { weight: false, tilt: None }, line.tilt_rad)?;
    let (contact, angle_rad) = found.shape.contact(line, side)?;
    let outline_rad = found.spread_of(|s| s.contact(line, side).map(|(_, a)| a));
    let spread_rad = outline_rad.max(all.outline_rad).hypot(all.base_line_rad).hypot(all.gravity_rad);
    Some(Side { contact, angle_rad, spread_rad })
}
