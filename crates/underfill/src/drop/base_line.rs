//! Where the face lies in a picture of a drop: the line from one contact point to the other.
//!
//! Three ways, by what the picture shows. The edge runs on along the face to both sides of the frame: the straight line that
//! most of it follows on both sides. The drop and its reflection stand free: the line about which the outline is its own mirror
//! image. The drop stands free with a flat foot: the straight line through the foot.

use super::{Lies, NoReading, Outline};
use facedown_field::dense;

/// The line of the face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BaseLine {
    /// A place on it, pixels.
    pub point: [f64; 2],
    /// Its tilt in the picture, rad: positive where its right end is lower.
    pub tilt_rad: f64,
    /// One standard deviation of its height, pixels.
    pub spread_px: f64,
    /// How it was found, in words.
    pub found: &'static str,
}

/// Least standard deviation of a line that was found, pixels: edges of a face are seldom sharper than that.
const LEAST_SPREAD: f64 = 0.05;
/// Steepest line, as its slope.
const STEEPEST: f64 = 0.36;

impl BaseLine {
    /// The line through two places that somebody gave, with the standard deviation of its height.
    pub fn given(left: [f64; 2], right: [f64; 2], spread_px: f64) -> BaseLine {
        let (a, b) = if left[0] <= right[0] { (left, right) } else { (right, left) };
        BaseLine { point: a, tilt_rad: (b[1] - a[1]).atan2(b[0] - a[0]), spread_px, found: "given" }
    }

    /// Height of a place above the line, pixels.
    pub fn height(&self, p: [f64; 2]) -> f64 {
        let (sine, cosine) = self.tilt_rad.sin_cos();
        (p[0] - self.point[0]) * sine - (p[1] - self.point[1]) * cosine
    }

    /// The same line moved up, pixels.
    pub fn raised(&self, by: f64) -> BaseLine {
        let (sine, cosine) = self.tilt_rad.sin_cos();
        BaseLine { point: [self.point[0] + by * sine, self.point[1] - by * cosine], ..*self }
    }

    /// The mirror image of a place.
    fn mirrored(&self, p: [f64; 2]) -> [f64; 2] {
        let (sine, cosine) = self.tilt_rad.sin_cos();
        let h = 2.0 * self.height(p);
        [p[0] - h * sine, p[1] + h * cosine]
    }
}

/// The base line of an outline.
pub fn find(outline: &Outline) -> Result<BaseLine, NoReading> {
    let [width, height] = outline.frame;
    match outline.lies {
        Lies::AlongFace => face(&outline.points, width),
        Lies::Free => foot(&outline.points)
            .or_else(|| mirror(&outline.points, f64::INFINITY))
            .ok_or(NoReading::NoBaseLine("the drop shows neither a flat foot nor its reflection")),
        Lies::CutBelow => mirror(&outline.points, height - 2.0).ok_or(NoReading::NoBaseLine(
            "the lower end of the frame cuts the drop, or so much of its reflection that the rest does not tell",
        )),
    }
}

/// A straight line `y = at + slope (x - centre)` by least squares, with the standard deviation about it.
fn straight(points: &[[f64; 2]]) -> Option<(f64, f64, f64, f64)> {
    let n = points.len() as f64;
    let centre = points.iter().map(|p| p[0]).sum::<f64>() / n;
    let at = points.iter().map(|p| p[1]).sum::<f64>() / n;
    let (sxx, sxy) = points
        .iter()
        .fold((0.0, 0.0), |(a, b), p| (a + (p[0] - centre).powi(2), b + (p[0] - centre) * (p[1] - at)));
    let slope = sxy / sxx;
    let rest = points.iter().map(|p| (p[1] - at - slope * (p[0] - centre)).powi(2)).sum::<f64>() / (n - 2.0);
    (points.len() > 4 && slope.is_finite()).then_some((centre, at, slope, rest.sqrt()))
}

/// The line through pairs of `from` and `to` that most of `points` follow within `reach`, then by least squares.
fn followed(points: &[[f64; 2]], from: &[[f64; 2]], to: &[[f64; 2]], reach: f64) -> Option<Vec<[f64; 2]>> {
    let some = |all: &[[f64; 2]]| all.iter().step_by((all.len() / 30).max(1)).copied().collect::<Vec<_>>();
    let on = |p: &[f64; 2], a: [f64; 2], slope: f64| (p[1] - a[1] - slope * (p[0] - a[0])).abs() < reach;
    let mut best = (0, [0.0; 2], 0.0);
    for a in some(from) {
        for b in some(to) {
            let slope = (b[1] - a[1]) / (b[0] - a[0]);
            if b[0] - a[0] < 4.0 || slope.is_nan() || slope.abs() > STEEPEST {
                continue;
            }
            let count = points.iter().filter(|p| on(p, a, slope)).count();
            if count > best.0 {
                best = (count, a, slope);
            }
        }
    }
    let (_, mut a, mut slope) = best;
    let mut inside = Vec::new();
    for _ in 0..3 {
        inside = points.iter().copied().filter(|p| on(p, a, slope)).collect();
        let (centre, at, s, _) = straight(&inside)?;
        (a, slope) = ([centre, at], s);
    }
    Some(inside)
}

fn face(points: &[[f64; 2]], width: f64) -> Result<BaseLine, NoReading> {
    let none = NoReading::NoBaseLine("the face is not seen as a straight edge on both sides of the drop");
    let third = points.len() / 3;
    let (left, right) = (&points[..third.max(1)], &points[points.len() - third.max(1)..]);
    let on = followed(points, left, right, 0.8).ok_or(none.clone())?;
    let (centre, at, slope, rest) = straight(&on).ok_or(none.clone())?;
    let line =
        |spread| BaseLine { point: [centre, at], tilt_rad: slope.atan(), spread_px: spread, found: "face" };
    // The drop is the longest stretch that stands above the line; the face must be seen beside it on both sides.
    let trial = line(0.0);
    let high: Vec<f64> = points.iter().filter(|p| trial.height(**p) > 3.0).map(|p| p[0]).collect();
    let (from, to) = high.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(*x), b.max(*x)));
    let beside: Vec<[f64; 2]> = on.iter().copied().filter(|p| p[0] < from - 4.0 || p[0] > to + 4.0).collect();
    let [l, r] = [beside.iter().filter(|p| p[0] < from).count(), beside.iter().filter(|p| p[0] > to).count()];
    if high.is_empty() {
        return Err(NoReading::NoDrop);
    }
    if l < 6 || r < 6 || from < 2.0 || to > width - 3.0 {
        return Err(none);
    }
    let (centre, at, slope, rest_beside) = straight(&beside).ok_or(none)?;
    let spread = (rest.max(rest_beside) * (6.0 / beside.len() as f64).sqrt()).max(LEAST_SPREAD);
    Ok(BaseLine { point: [centre, at], tilt_rad: slope.atan(), spread_px: spread, found: "face" })
}

fn extent(points: &[[f64; 2]], axis: usize) -> (f64, f64) {
    points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), p| (a.min(p[axis]), b.max(p[axis])))
}

fn foot(points: &[[f64; 2]]) -> Option<BaseLine> {
    let ((left, right), (top, bottom)) = (extent(points, 0), extent(points, 1));
    let (wide, middle) = (right - left, 0.5 * (left + right));
    let low: Vec<[f64; 2]> = points.iter().copied().filter(|p| p[1] > top + 0.6 * (bottom - top)).collect();
    let part = |right: bool| low.iter().copied().filter(|p| (p[0] > middle) == right).collect::<Vec<_>>();
    let on = followed(&low, &part(false), &part(true), 0.6)?;
    let (from, to) = extent(&on, 0);
    if to - from < 0.3 * wide.max(20.0) {
        return None;
    }
    // Corners are rounded by the optics; an arc that lies within the reach is curved over its whole length.
    let inner: Vec<[f64; 2]> = on
        .into_iter()
        .filter(|p| p[0] > from + 0.15 * (to - from) && p[0] < to - 0.15 * (to - from))
        .collect();
    let (centre, at, slope, rest) = straight(&inner)?;
    let half = 0.35 * (to - from);
    let bend = inner.iter().fold((0.0, 0.0), |(a, b), p| {
        let shape = ((p[0] - centre) / half).powi(2) - 1.0 / 3.0;
        (a + shape * (p[1] - at - slope * (p[0] - centre)), b + shape * shape)
    });
    let line = BaseLine {
        point: [centre, at],
        tilt_rad: slope.atan(),
        spread_px: (rest * (6.0 / inner.len() as f64).sqrt()).max(LEAST_SPREAD),
        found: "foot",
    };
    // Where the drop is thinner than an edge, at its rim, places may lie off.
    let below = points.iter().filter(|p| line.height(**p) < -1.5).count();
    ((bend.0 / bend.1).abs() < 0.25 && below * 20 < points.len()).then_some(line)
}

/// Distance of a place from the outline along the normal of its nearest piece, and that normal.
fn apart(points: &[[f64; 2]], p: [f64; 2]) -> (f64, [f64; 2]) {
    let n = points.len();
    let square = |q: &[f64; 2]| (q[0] - p[0]).powi(2) + (q[1] - p[1]).powi(2);
    let near = (0..n).min_by(|a, b| square(&points[*a]).total_cmp(&square(&points[*b]))).unwrap_or(0);
    let (a, b) = (points[(near + n - 2) % n], points[(near + 2) % n]);
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let long = dx.hypot(dy).max(1e-9);
    let normal = [dy / long, -dx / long];
    ((p[0] - points[near][0]) * normal[0] + (p[1] - points[near][1]) * normal[1], normal)
}

/// The line about which the outline is its own mirror image, as far as that lies above the row `lowest`.
fn mirror(points: &[[f64; 2]], lowest: f64) -> Option<BaseLine> {
    let ((left, right), (top, bottom)) = (extent(points, 0), extent(points, 1));
    let centre = 0.5 * (left + right);
    let some: Vec<[f64; 2]> = points.iter().step_by((points.len() / 240).max(1)).copied().collect();
    let line = |at: f64, tilt: f64| BaseLine {
        point: [centre, at],
        tilt_rad: tilt,
        spread_px: LEAST_SPREAD,
        found: "reflection",
    };
    // A quarter of the outline with its image must be seen, else a round drop is mirrored about its belly.
    let rest = |l: &BaseLine| {
        let images = some.iter().map(|p| l.mirrored(*p)).filter(|p| p[1] < lowest);
        let (sum, n) = images.fold((0.0, 0), |(s, n), p| (s + apart(&some, p).0.powi(2).min(25.0), n + 1));
        if n * 4 < some.len() { f64::INFINITY } else { sum / f64::from(n as u32) }
    };
    let rows = (0..=60).map(|i| top + (bottom - top) * (0.2 + 0.01 * f64::from(i)));
    let begins = rows.flat_map(|row| [-4.0_f64, -2.0, 0.0, 2.0, 4.0].map(|t| line(row, t.to_radians())));
    let begin = begins.map(|l| (rest(&l), l)).min_by(|a, b| a.0.total_cmp(&b.0))?.1;
    let (mut at, mut tilt) = (begin.point[1], begin.tilt_rad);
    // Places near the corners are rounded by the optics but mirrored all the same.
    let mut spread = f64::INFINITY;
    let mut cut = 10.0;
    for _ in 0..40 {
        let l = line(at, tilt);
        // The mirror image moves by twice the height of the line, and by twice the lever of its tilt.
        let (mut normal, mut to) = ([0.0; 4], [0.0; 2]);
        let (mut sum, mut count) = (0.0, 0_usize);
        for p in &some {
            let image = l.mirrored(*p);
            let (r, n) = apart(points, image);
            if r.abs() > cut || image[1] >= lowest {
                continue;
            }
            let eps = 1e-4;
            let of = |q: [f64; 2]| ((q[0] - image[0]) * n[0] + (q[1] - image[1]) * n[1]) / eps;
            let row = [of(line(at + eps, tilt).mirrored(*p)), of(line(at, tilt + eps).mirrored(*p))];
            for i in 0..2 {
                to[i] -= row[i] * r;
                for j in 0..2 {
                    normal[2 * i + j] += row[i] * row[j];
                }
            }
            sum += r * r;
            count += 1;
        }
        if count * 5 < some.len() {
            return None;
        }
        // A round outline is its own image about every line through its middle: a level face is the weak guess, 2 deg.
        let weak = (sum / count as f64).max(0.01) / 2.0_f64.to_radians().powi(2);
        normal[3] += weak;
        to[1] -= weak * tilt;
        let step = dense::solve(&normal, &to).ok()?;
        at += step[0];
        tilt += step[1];
        let rms = (sum / count as f64).sqrt();
        cut = (4.0 * rms).clamp(1.5, 10.0);
        // Each place counts twice, once as its own image, and neighbours share pixels; steep sides tell little of the height.
        let inverse = dense::solve(&normal, &[1.0, 0.0]).map_or(f64::INFINITY, |x| x[0]);
        spread = rms * (2.0 * 6.0 * inverse).sqrt();
        if step[0].abs() < 1e-4 && step[1].abs() < 1e-6 {
            break;
        }
    }
    let l = line(at, tilt);
    let good = rest(&l).sqrt() < 1.0 && tilt.tan().abs() < STEEPEST;
    good.then_some(BaseLine { spread_px: spread.max(LEAST_SPREAD), ..l })
}
