//! A micrograph in, voids with their uncertainty out.

use super::touching::{TouchedBump, touched};
use super::{Frame, find_die};
use facedown_raster::{Grey, Mask, background, label, smooth, threshold};

/// How voids look against underfill.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shade {
    /// Brighter: sound through the die, the usual case.
    Brighter,
    /// Darker: sound that passes through the whole package.
    Darker,
}

/// What is known of the die in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked<'a> {
    /// Width and height of the die as it lies in the picture, m.
    pub die_m: [f64; 2],
    /// Centres of the bumps from the die's lower-left corner as it lies in the picture, m.
    pub bumps: &'a [[f64; 2]],
    /// Diameter of a bump, m; zero without bumps.
    pub bump_diameter_m: f64,
    /// Corners of the die in the picture, pixels: lower left, lower right, upper right, upper left. Left out, the die is found.
    pub corners: Option<[[f64; 2]; 4]>,
    /// Width of the ring along the die's edge that is left out, m.
    pub edge_m: f64,
    /// How voids look.
    pub voids: Shade,
    /// Smaller voids are not counted: diameter, m. Never below that of a disc of [`LEAST_VOID`] pixels.
    pub least_diameter_m: f64,
}

/// Why voids were not counted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoVoids {
    /// No contrast.
    #[error("the micrograph is blank: nothing in it stands out")]
    Blank,
    /// No rectangle.
    #[error("the die was not found: no part of the picture stands out as a rectangle; give its four corners")]
    NoDie,
    /// The die leaves the picture.
    #[error(
        "the die is cut off by the frame; scan it with some margin, or give the corners of the part that is seen"
    )]
    DieCutOff,
    /// Too few pixels.
    #[error(
        "the die is too small in the picture: its shorter side has {side:.0} pixels, and {needed:.0} are needed"
    )]
    TooSmall {
        /// Shorter side, pixels.
        side: f64,
        /// Pixels needed.
        needed: f64,
    },
    /// The corners do not fit the die.
    #[error(
        "the rectangle in the picture does not fit the die: width over height is {seen:.3}, that of the die {die:.3}, corners lean by {lean_deg:.1} deg; check the die's size and how it lies, or give the corners"
    )]
    NotARectangle {
        /// Width over height in the picture.
        seen: f64,
        /// Width over height of the die.
        die: f64,
        /// How far from square the corners are, deg.
        lean_deg: f64,
    },
    /// Bumps have too few pixels.
    #[error(
        "a bump has {pixels:.1} pixels across, and 4 are needed to leave bumps out; scan with more points"
    )]
    BumpsTooSmall {
        /// Diameter of a bump, pixels.
        pixels: f64,
    },
    /// Hardly anything is left between bumps.
    #[error(
        "between the bumps and inside of the edge {share_percent:.1} % of the die are left to look at, and 5 % are needed; scan with more points, or check bump map and edge"
    )]
    NothingLeft {
        /// Share of the die that is left, percent.
        share_percent: f64,
    },
    /// A number that makes no sense.
    #[error(transparent)]
    OutOfRange(#[from] facedown_evidence::input::OutOfRange),
}

/// One void.
#[derive(Debug, Clone, PartialEq)]
pub struct Void {
    /// Its centre from the die's lower-left corner, m.
    pub centre_m: [f64; 2],
    /// Area that is seen outside of the bumps, m2.
    pub area_m2: f64,
    /// Diameter of the disc of that area, m.
    pub diameter_m: f64,
    /// Bumps that it touches, by their number in the bump map.
    pub bumps: Vec<usize>,
    /// Number of its region in [`VoidReading::parts`].
    pub region: usize,
}

/// Voids that were counted.
#[derive(Debug, Clone, PartialEq)]
pub struct VoidReading {
    /// Where the die lies.
    pub frame: Frame,
    /// Voids over what is looked at: the die without bumps and edge.
    pub share: f64,
    /// Its uncertainty: both parts below, as the root of their squares.
    pub uncertainty: f64,
    /// Part of it from the level: half the difference of the shares at both ends of its band.
    pub level_part: f64,
    /// Part of it from the pixels: perimeter of all voids times half a pixel.
    pub edge_part: f64,
    /// The voids, largest first.
    pub voids: Vec<Void>,
    /// Bumps that voids touch.
    pub touched: Vec<TouchedBump>,
    /// Diameter below which voids are not counted, m.
    pub least_diameter_m: f64,
    /// What is looked at over the whole die.
    pub looked_at: f64,
    /// How void and underfill are parted; levels over that of underfill.
    pub parting: threshold::Parting,
    /// The pixels that were looked at.
    pub area: Mask,
    /// All connected parts beyond the level; not all of them are large enough to be voids.
    pub parts: label::Components,
}

impl VoidReading {
    /// Voids that touch two bumps or more.
    pub fn bridging(&self) -> usize {
        self.voids.iter().filter(|v| v.bumps.len() > 1).count()
    }

    /// Voids that touch a bump.
    pub fn touching(&self) -> usize {
        self.voids.iter().filter(|v| !v.bumps.is_empty()).count()
    }

    /// The pixels of all voids.
    pub fn mask(&self) -> Mask {
        let mut counted = vec![false; self.parts.regions.len()];
        self.voids.iter().for_each(|v| counted[v.region] = true);
        self.parts.mask_where(|region| counted[region])
    }

    /// Numbers of voids and their share of the void area, by classes of diameter: below each of `limits_m` (rising) and above
    /// the last.
    pub fn sizes(&self, limits_m: &[f64]) -> Vec<(usize, f64)> {
        let mut classes = vec![(0, 0.0); limits_m.len() + 1];
        let all: f64 = self.voids.iter().map(|v| v.area_m2).sum();
        for void in &self.voids {
            let class = &mut classes[limits_m.partition_point(|l| *l <= void.diameter_m)];
            class.0 += 1;
            class.1 += void.area_m2 / all;
        }
        classes
    }
}

/// Smallest void, pixels.
pub const LEAST_VOID: usize = 6;
/// Smoothing before the level, pixels.
const SMOOTHING: f64 = 0.7;
/// Pixels around each bump that are left out with it: its edge is blurred.
const MARGIN: f64 = 2.0;
/// A void this many pixels outside of the margin still touches the bump.
const REACH: f64 = 1.5;
/// What stands out from underfill by less is not taken for a void, over the level of underfill.
const LEAST_CONTRAST: f64 = 0.08;

/// Counts the voids in a micrograph.
///
/// # Errors
/// [`NoVoids`] says why they cannot be counted.
pub fn read(picture: &Grey, asked: &Asked<'_>) -> Result<VoidReading, NoVoids> {
    use facedown_evidence::input::within;
    for (what, value) in [("the width of the die", asked.die_m[0]), ("the height of the die", asked.die_m[1])]
    {
        within(what, value, 1e-4, 0.2, "from 0.1 to 200 mm")?;
    }
    let shorter = asked.die_m[0].min(asked.die_m[1]);
    within("the diameter of a bump", asked.bump_diameter_m, 0.0, shorter, "from 0 to the size of the die")?;
    within("the edge that is left out", asked.edge_m, 0.0, 0.4 * shorter, "from 0 to 0.4 of the die")?;
    within(
        "the diameter of the smallest void",
        asked.least_diameter_m,
        0.0,
        shorter,
        "from 0 to the size of the die",
    )?;
    let (least, most) = picture.range();
    if most - least < 0.02 || most.is_nan() {
        return Err(NoVoids::Blank);
    }
    let corners = match asked.corners {
        Some(corners) => corners,
        None => find_die(picture)?,
    };
    let frame = Frame::of(asked.die_m, corners)?;
    let pixel = frame.pixel();
    let across = asked.bump_diameter_m / pixel;
    if !asked.bumps.is_empty() && across < 4.0 {
        return Err(NoVoids::BumpsTooSmall { pixels: across });
    }
    let (w, h) = (picture.width(), picture.height());
    // Without a stated edge, the pixel that the die's edge cuts is left out only where the die was found.
    let edge = if asked.corners.is_some() { asked.edge_m } else { asked.edge_m.max(MARGIN * pixel) };
    let inside = inside(&frame, w, h, edge);
    let bumps = discs(&frame, w, h, asked.bumps, 0.5 * across + MARGIN);
    let area = inside.and(&bumps.inverse());
    let die_pixels = asked.die_m[0] * asked.die_m[1] / (pixel * pixel);
    let looked_at = area.count() as f64 / die_pixels;
    if looked_at < 0.05 || area.count() < 400 {
        return Err(NoVoids::NothingLeft { share_percent: 100.0 * looked_at });
    }
    // Voids are made the bright ones.
    let own = match asked.voids {
        Shade::Brighter => picture.clone(),
        Shade::Darker => picture.map(|v| 1.0 - v),
    };
    let soft = smooth::gaussian(&own, SMOOTHING);
    let (flat, parting) =
        levelled(&soft, &area).ok_or(NoVoids::NothingLeft { share_percent: 100.0 * looked_at })?;
    let parts = label::components(&flat.above(parting.level).and(&area), label::Neighbours::Eight);
    let disc = |pixels: f64| (4.0 * pixels / std::f64::consts::PI).sqrt() * pixel;
    let least_diameter_m = asked.least_diameter_m.max(disc(LEAST_VOID as f64));
    let large = |area: usize| disc(area as f64) >= least_diameter_m * (1.0 - 1e-12);
    let mut order: Vec<usize> = (0..parts.regions.len()).filter(|i| large(parts.regions[*i].area)).collect();
    order.sort_by(|a, b| parts.regions[*b].area.cmp(&parts.regions[*a].area).then(a.cmp(b)));
    let mut void_of = vec![None; parts.regions.len()];
    order.iter().enumerate().for_each(|(void, region)| void_of[*region] = Some(void));
    let touched = touched(&frame, asked.bumps, asked.bump_diameter_m, MARGIN + REACH, &parts, &void_of);
    let mut voids: Vec<Void> = order
        .iter()
        .map(|region| {
            let r = &parts.regions[*region];
            Void {
                centre_m: frame.to_die(r.centroid),
                area_m2: r.area as f64 * pixel * pixel,
                diameter_m: disc(r.area as f64),
                bumps: Vec::new(),
                region: *region,
            }
        })
        .collect();
    for bump in &touched {
        bump.voids.iter().for_each(|v| voids[*v].bumps.push(bump.bump));
    }
    let all = area.count() as f64;
    let share_at = |level: f64| {
        let found = label::components(&flat.above(level).and(&area), label::Neighbours::Eight);
        found.regions.iter().filter(|r| large(r.area)).map(|r| r.area).sum::<usize>() as f64 / all
    };
    let (level_part, perimeter) = match parting.bright {
        Some(_) => (
            0.5 * (share_at(parting.band[0]) - share_at(parting.band[1])).abs(),
            order.iter().map(|i| parts.regions[*i].perimeter).sum::<f64>(),
        ),
        None => (0.0, 0.0),
    };
    let edge_part = 0.5 * perimeter / all;
    Ok(VoidReading {
        frame,
        share: order.iter().map(|i| parts.regions[*i].area).sum::<usize>() as f64 / all,
        uncertainty: level_part.hypot(edge_part),
        level_part,
        edge_part,
        voids,
        touched,
        least_diameter_m,
        looked_at,
        parting,
        area,
        parts,
    })
}

/// The picture over its uneven light, and what parts voids from underfill in it.
///
/// The light is taken from most pixels, robustly; where voids are too many for that, from the darker of two heaps of pixels,
/// which is kept if the underfill is much evener by it. Then once more from what is no void.
fn levelled(soft: &Grey, area: &Mask) -> Option<(Grey, threshold::Parting)> {
    let part_by = |counts: &dyn Fn(usize, usize) -> bool| {
        let in_area = |x: usize, y: usize| area.has(x as isize, y as isize) && counts(x, y);
        let flat = background::flattened(soft, &background::surface(soft, 2, in_area).ok()?, 0.02);
        let seen: Vec<f32> =
            flat.values().iter().zip(area.pixels()).filter(|(_, a)| **a).map(|(v, _)| *v).collect();
        threshold::part(&seen, 6.0, LEAST_CONTRAST).map(|parting| (flat, parting))
    };
    let grey = |picture: &Grey, x: usize, y: usize| f64::from(picture.at(x as isize, y as isize));
    let mut best = part_by(&|_, _| true)?;
    let seen: Vec<f32> =
        soft.values().iter().zip(area.pixels()).filter(|(_, a)| **a).map(|(v, _)| *v).collect();
    if let Some(level) = threshold::otsu(&seen)
        && let Some(darker) = part_by(&|x, y| grey(soft, x, y) <= level)
        && darker.1.bright.is_some()
        && darker.1.noise < 0.7 * best.1.noise
    {
        best = darker;
    }
    let level = best.1.level;
    let flat = best.0.clone();
    part_by(&|x, y| grey(&flat, x, y) <= level).or(Some(best))
}

/// The pixels of the die without a ring along its edge.
fn inside(frame: &Frame, w: usize, h: usize, edge: f64) -> Mask {
    let [wide, high] = frame.size();
    Mask::from_fn(w, h, |x, y| {
        let [u, v] = frame.to_die([x as f64, y as f64]);
        u >= edge && v >= edge && u <= wide - edge && v <= high - edge
    })
}

/// The pixels within a radius of each bump.
pub(super) fn discs(frame: &Frame, w: usize, h: usize, bumps: &[[f64; 2]], radius: f64) -> Mask {
    let mut set = vec![false; w * h];
    for bump in bumps {
        let [x, y] = frame.to_picture(*bump);
        let range = |c: f64, n: usize| {
            let from = (c - radius).ceil().max(0.0) as usize;
            from..((c + radius).floor().max(-1.0) + 1.0).min(n as f64) as usize
        };
        for j in range(y, h) {
            for i in range(x, w) {
                set[j * w + i] |= (i as f64 - x).hypot(j as f64 - y) <= radius;
            }
        }
    }
    Mask::from_fn(w, h, |x, y| set[y * w + x])
}
