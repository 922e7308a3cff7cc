//! The outline of a drop in a picture from the side, to a part of a pixel.
//!
//! The background is what the top of the frame shows; the drop differs from it. A light smoothing, the level of Otsu, the
//! line of equal grey around the largest connected part that is not the background, and then each of its places moved along
//! its normal to where the grey is half way between what it is on both sides there, so that uneven light does not shift
//! it.

use super::NoReading;
use facedown_raster::{Grey, Mask, contour, label, smooth, threshold};

/// What was found of a drop before anything is fitted; pixels, x right and y down.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Places along the edge in order, from the left over the top to the right where it is open.
    pub points: Vec<[f64; 2]>,
    /// How it lies in the frame.
    pub lies: Lies,
    /// Columns and rows of the picture.
    pub frame: [f64; 2],
}

/// How an outline lies in the frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lies {
    /// The drop with its reflection, or with its flat foot, stands free.
    Free,
    /// The edge runs on along the face to both sides of the frame.
    AlongFace,
    /// The lower end of the frame cuts what is below the drop's apex: as a rule its reflection.
    CutBelow,
}

/// Smoothing of the picture before edges are sought, pixels.
const SMOOTHING: f64 = 1.0;
/// How far to both sides of an edge its levels are read, pixels; the first that sees an edge of full contrast counts.
const REACHES: [f64; 3] = [5.0, 3.5, 2.5];
/// Least contrast of a drop and its background.
const LEAST_CONTRAST: f64 = 0.04;
/// Shortest side of a picture, pixels.
const LEAST_SIDE: usize = 40;
/// Least area of a drop, pixels.
const LEAST_AREA: usize = 400;

/// The outline of the one drop in a picture.
///
/// # Errors
/// [`NoReading::Blank`] without contrast, [`NoReading::NoDrop`] where nothing stands out enough, [`NoReading::CutOff`]
/// where it leaves the frame at its top or at one side.
pub fn outline(picture: &Grey) -> Result<Outline, NoReading> {
    let (w, h) = (picture.width(), picture.height());
    if w.min(h) < LEAST_SIDE {
        return Err(NoReading::SmallPicture { needed: LEAST_SIDE });
    }
    let soft = smooth::gaussian(picture, SMOOTHING);
    let level = threshold::otsu(soft.values()).ok_or(NoReading::Blank)?;
    let mean = |part: bool| {
        let (sum, n) = soft
            .values()
            .iter()
            .filter(|v| (f64::from(**v) > level) == part)
            .fold((0.0, 0_usize), |(s, n), v| (s + f64::from(*v), n + 1));
        sum / n.max(1) as f64
    };
    let contrast = mean(true) - mean(false);
    if contrast.is_nan()
        || contrast < LEAST_CONTRAST
        || contrast < 3.0 * noise(picture) / SMOOTHING.max(1.0) / 3.5
    {
        return Err(NoReading::Blank);
    }
    // What most of the uppermost rows show is background.
    let top = (h / 20).max(2);
    let bright_above = soft.above(level).pixels()[..top * w].iter().filter(|b| **b).count() * 2 > top * w;
    let ground = soft.above(level);
    let part = if bright_above { ground.inverse() } else { ground };
    let part = part.filled();
    let found = label::components(&part, label::Neighbours::Eight);
    let largest = found.regions.iter().enumerate().max_by_key(|(_, r)| r.area).map(|(i, r)| (i, r.clone()));
    let (number, region) = largest.filter(|(_, r)| r.area >= LEAST_AREA).ok_or(NoReading::NoDrop)?;
    let [left, above, right, below] = region.bounds;
    let sides = (left == 0, right == w - 1);
    if above == 0 {
        return Err(NoReading::CutOff("top (or a needle is still in it)"));
    }
    let lies = match sides {
        (false, false) if below == h - 1 => Lies::CutBelow,
        (false, false) => Lies::Free,
        (true, true) => Lies::AlongFace,
        (true, false) => return Err(NoReading::CutOff("left side")),
        (false, true) => return Err(NoReading::CutOff("right side")),
    };
    let mask = found.mask_of(number);
    let rough = rough(&soft, level, &mask, lies).ok_or(NoReading::NoDrop)?;
    let least = 0.25 * contrast;
    let points: Vec<[f64; 2]> = refined(&soft, &rough, lies == Lies::Free, least);
    if points.len() < 40 {
        return Err(NoReading::NoDrop);
    }
    Ok(Outline { points, lies, frame: [w as f64, h as f64] })
}

/// Standard deviation of the pixel noise, by the median of differences of neighbours.
fn noise(picture: &Grey) -> f64 {
    let mut steps: Vec<f64> =
        picture.values().windows(2).step_by(7).map(|p| f64::from((p[1] - p[0]).abs())).collect();
    threshold::median(&mut steps).unwrap_or(0.0) * 1.4826 / std::f64::consts::SQRT_2
}

/// The line of equal grey that follows the border of the mask, turned to run from left to right over the top where it is
/// open.
fn rough(soft: &Grey, level: f64, mask: &Mask, lies: Lies) -> Option<Vec<[f64; 2]>> {
    let near = |p: &[f64; 2]| {
        let (x, y) = (p[0].round() as isize, p[1].round() as isize);
        (-1..=1).any(|j| (-1..=1).any(|i| mask.has(x + i, y + j)))
    };
    let lines = contour::lines(soft, level);
    let closed = lies == Lies::Free;
    let around = lines
        .into_iter()
        .filter(|l| {
            l.closed == closed && l.points.iter().filter(|p| near(p)).count() * 10 > l.points.len() * 9
        })
        .filter(|l| {
            let spans = |edge: f64| l.points.iter().any(|p| (p[0] - edge).abs() < 1.5);
            lies != Lies::AlongFace || (spans(0.0) && spans(soft.width() as f64 - 1.0))
        });
    // The outermost of all lines of the part: the largest extent.
    let extent = |l: &contour::Line| {
        let (least, most) =
            l.points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), p| (a.min(p[0]), b.max(p[0])));
        let top = l.points.iter().map(|p| p[1]).fold(f64::INFINITY, f64::min);
        (most - least) - 1e-3 * top
    };
    let mut best = around.max_by(|a, b| extent(a).total_cmp(&extent(b)))?.points;
    if !closed && best.first()?[0] > best.last()?[0] {
        best.reverse();
    }
    Some(best)
}

/// Every place moved along the normal to the half of the levels on both sides; places without an edge are left out.
///
/// From the apex down both sides, as far as the edge faces up, the inside has one level for all: near a flat rim the drop
/// is thinner than the reach, and what lies beyond would be read for its inside.
fn refined(soft: &Grey, rough: &[[f64; 2]], closed: bool, least: f64) -> Vec<[f64; 2]> {
    let n = rough.len() as isize;
    let index = |i: isize| if closed { i.rem_euclid(n) } else { i.clamp(0, n - 1) };
    let at = |i: isize| rough[index(i) as usize];
    // Normals to the same hand everywhere; those at the apex point up or down.
    let normal = |i: isize| {
        let (before, behind) = (at(i - 4), at(i + 4));
        let (dx, dy) = (behind[0] - before[0], behind[1] - before[1]);
        let long = dx.hypot(dy);
        (long > 1.0).then(|| [dy / long, -dx / long])
    };
    let apex = (0..n).min_by(|a, b| at(*a)[1].total_cmp(&at(*b)[1])).unwrap_or(0);
    // 1 where the normals point out of the drop.
    let out = if normal(apex).is_some_and(|v| v[1] > 0.0) { -1.0 } else { 1.0 };
    let mut faces_up = vec![false; rough.len()];
    for way in [1, -1] {
        for k in 0..n {
            let i = apex + way * k;
            if (!closed && index(i) != i) || !normal(i).is_some_and(|v| -v[1] * out > 0.05) {
                break;
            }
            faces_up[index(i) as usize] = true;
        }
    }
    let found = |i: isize| {
        let (p, v) = (at(i), normal(i)?);
        let edges = REACHES.map(|reach| contour::edge(soft, p, v, reach, least));
        let clear = |e: &contour::Edge| (e.levels[1] - e.levels[0]).abs() > 2.4 * least;
        edges.iter().flatten().find(|e| clear(e)).or_else(|| edges.iter().flatten().next()).copied()
    };
    let side = |e: &contour::Edge, inner: bool| e.levels[usize::from((out > 0.0) != inner)];
    let mut inner: Vec<f64> =
        (0..n).filter(|i| faces_up[*i as usize]).filter_map(found).map(|e| side(&e, true)).collect();
    let inner = threshold::median(&mut inner);
    (0..n)
        .filter_map(|i| {
            let (p, v) = (at(i), normal(i)?);
            if !soft.holds(p[0], p[1], 1.5) {
                return None;
            }
            let offset = match inner.filter(|_| faces_up[i as usize]) {
                None => found(i)?.offset,
                Some(inner) => {
                    let beyond = |s: f64| soft.sample(p[0] + out * s * v[0], p[1] + out * s * v[1]);
                    let outer = (beyond(5.0) + beyond(6.0) + beyond(7.0)) / 3.0;
                    ((outer - inner).abs() > least)
                        .then(|| contour::crossing(soft, p, v, 3.5, 0.5 * (inner + outer)))??
                }
            };
            (offset.abs() < 2.5).then_some([p[0] + offset * v[0], p[1] + offset * v[1]])
        })
        .collect()
}
