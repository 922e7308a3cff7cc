//! The die in a micrograph: the largest rectangle that differs from the rest, its sides found to a part of a pixel.

use super::NoVoids;
use facedown_raster::{Grey, contour, label, smooth, threshold};

/// Largest tilt that is looked for, deg.
const MOST_TILT: f64 = 15.0;

/// Corners of the die: lower left, lower right, upper right, upper left, pixels.
///
/// # Errors
/// [`NoVoids::Blank`] without contrast; [`NoVoids::NoDie`] where no part has the shape of a rectangle; [`NoVoids::DieCutOff`]
/// where it reaches the frame.
pub fn find_die(picture: &Grey) -> Result<[[f64; 2]; 4], NoVoids> {
    let (w, h) = (picture.width(), picture.height());
    if w.min(h) < 40 {
        return Err(NoVoids::TooSmall { side: w.min(h) as f64, needed: 40.0 });
    }
    let soft = smooth::gaussian(picture, 1.0);
    let frame: Vec<f64> = (0..w)
        .flat_map(|x| [(x, 0), (x, h - 1)])
        .chain((0..h).flat_map(|y| [(0, y), (w - 1, y)]))
        .map(|(x, y)| f64::from(soft.at(x as isize, y as isize)))
        .collect();
    let (ground, spread) = threshold::middle_and_spread(&frame).ok_or(NoVoids::Blank)?;
    // What differs from the frame to either side; half way to the middle level of what does.
    let limit = (6.0 * spread).max(0.03);
    let mut apart: Vec<f64> =
        soft.values().iter().map(|v| (f64::from(*v) - ground).abs()).filter(|d| *d > limit).collect();
    if apart.len() * 20 < w * h {
        return Err(if apart.is_empty() { NoVoids::Blank } else { NoVoids::NoDie });
    }
    let contrast = threshold::median(&mut apart).ok_or(NoVoids::Blank)?;
    let different =
        soft.map(|v| (f64::from(v) - ground).abs() as f32).above((0.5 * contrast).max(limit)).filled();
    let found = label::components(&different, label::Neighbours::Four);
    let (number, region) =
        found.regions.iter().enumerate().max_by_key(|(_, r)| r.area).ok_or(NoVoids::NoDie)?;
    let [left, top, right, bottom] = region.bounds;
    if left == 0 || top == 0 || right + 1 == w || bottom + 1 == h {
        return Err(NoVoids::DieCutOff);
    }
    let outline = contour::outline(&found.mask_of(number)).ok_or(NoVoids::NoDie)?.points;
    // The tilt whose bounding rectangle is smallest.
    let bounds = |tilt: f64| {
        let (sine, cosine) = tilt.sin_cos();
        outline.iter().fold([f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY], |b, p| {
            let (u, v) = (p[0] * cosine + p[1] * sine, p[1] * cosine - p[0] * sine);
            [b[0].min(u), b[1].max(u), b[2].min(v), b[3].max(v)]
        })
    };
    let area = |b: [f64; 4]| (b[1] - b[0]) * (b[3] - b[2]);
    let tilts = (0..=300).map(|i| MOST_TILT.to_radians() * (f64::from(i) / 150.0 - 1.0));
    let tilt = tilts.min_by(|a, b| area(bounds(*a)).total_cmp(&area(bounds(*b)))).ok_or(NoVoids::NoDie)?;
    let b = bounds(tilt);
    if (region.area as f64) < 0.85 * area(b) {
        return Err(NoVoids::NoDie);
    }
    let (sine, cosine) = tilt.sin_cos();
    let place = |u: f64, v: f64| [u * cosine - v * sine, u * sine + v * cosine];
    // Corners of the rough rectangle in the order asked for; rows run down, so the lower side is the larger v.
    let rough = [place(b[0], b[3]), place(b[1], b[3]), place(b[1], b[2]), place(b[0], b[2])];
    let sides = [0, 1, 2, 3].map(|i| side(&soft, rough[i], rough[(i + 1) % 4], 0.3 * contrast));
    let [Some(lower), Some(right), Some(upper), Some(left)] = sides else { return Err(NoVoids::NoDie) };
    let corners =
        [crossing(left, lower), crossing(lower, right), crossing(right, upper), crossing(upper, left)];
    let [Some(a), Some(b), Some(c), Some(d)] = corners else { return Err(NoVoids::NoDie) };
    Ok([a, b, c, d])
}

/// A line as its unit normal and distance from the origin.
type Line = ([f64; 2], f64);

/// The edge along a rough side: places across it to a part of a pixel, and the line through most of them.
fn side(soft: &Grey, from: [f64; 2], to: [f64; 2], least: f64) -> Option<Line> {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let long = dx.hypot(dy);
    let (along, across) = ([dx / long, dy / long], [dy / long, -dx / long]);
    let number = (long / 3.0).clamp(20.0, 400.0) as usize;
    let mut places: Vec<[f64; 2]> = (0..number)
        .filter_map(|i| {
            let s = long * (0.06 + 0.88 * (i as f64 + 0.5) / number as f64);
            let p = [from[0] + s * along[0], from[1] + s * along[1]];
            let edge = contour::edge(soft, p, across, 5.0, least)?;
            (edge.offset.abs() < 4.5).then_some([s, edge.offset])
        })
        .collect();
    if places.len() * 2 < number {
        return None;
    }
    let (mut at, mut slope) = (0.0, 0.0);
    for _ in 0..6 {
        let n = places.len() as f64;
        let (ms, mo) = places.iter().fold((0.0, 0.0), |(a, b), p| (a + p[0] / n, b + p[1] / n));
        let (sxx, sxy) = places
            .iter()
            .fold((0.0, 0.0), |(a, b), p| (a + (p[0] - ms).powi(2), b + (p[0] - ms) * (p[1] - mo)));
        (slope, at) = (sxy / sxx, mo - sxy / sxx * ms);
        let rest = |p: &[f64; 2]| p[1] - at - slope * p[0];
        let (middle, spread) = threshold::middle_and_spread(&places.iter().map(rest).collect::<Vec<f64>>())?;
        let before = places.len();
        places.retain(|p| (rest(p) - middle).abs() < (3.0 * spread).max(0.15));
        if places.len() == before {
            break;
        }
        if places.len() < 10 {
            return None;
        }
    }
    let start = [from[0] + at * across[0], from[1] + at * across[1]];
    let way = [along[0] + slope * across[0], along[1] + slope * across[1]];
    let size = way[0].hypot(way[1]);
    let normal = [way[1] / size, -way[0] / size];
    slope.is_finite().then(|| (normal, normal[0] * start[0] + normal[1] * start[1]))
}

fn crossing((n, a): Line, (m, b): Line) -> Option<[f64; 2]> {
    let turn = n[0] * m[1] - n[1] * m[0];
    (turn.abs() > 0.1).then(|| [(a * m[1] - b * n[1]) / turn, (b * n[0] - a * m[0]) / turn])
}
