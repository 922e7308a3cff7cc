//! The profile of a drop laid through the places of its outline, by least squares on the distances along its normals.
//!
//! Unknown are the apex, the radius of curvature there, one over the square of the capillary length, and the tilt of the axis;
//! each may be held. Gauss-Newton steps, shortened after Levenberg and Marquardt where they would not help; places far off
//! count less (P. J. Huber, Ann. Math. Stat. 35 (1964) 73, beyond 2.5 deviations).

use super::BaseLine;
use facedown_field::dense;

/// A profile in the picture; lengths in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Place of the apex.
    pub apex: [f64; 2],
    /// Radius of curvature at the apex.
    pub radius: f64,
    /// One over the square of the capillary length; zero for a sphere.
    pub weight: f64,
    /// Tilt of the axis, rad: positive where the right side is lower.
    pub tilt: f64,
}

/// What is unknown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Free {
    /// One over the square of the capillary length.
    pub weight: bool,
    /// Tilt, about that of the base line with this standard deviation, rad; nothing to hold it.
    pub tilt: Option<f64>,
}

/// A profile with what the fit knows of itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The profile.
    pub shape: Shape,
    /// Standard deviation of the places about it, pixels.
    pub residual: f64,
    /// Covariance of the unknowns (apex x and y, logarithm of the radius, weight, tilt), 5 x 5; zero where held.
    pub covariance: Vec<f64>,
    /// Steps taken.
    pub steps: usize,
}

/// Most steps of a fit.
const MOST_STEPS: usize = 80;

/// A node of the profile: distance from the axis, depth, slope, curvature.
#[derive(Debug, Clone, Copy)]
struct Node {
    x: f64,
    z: f64,
    slope: f64,
    bend: f64,
}

impl Shape {
    fn with(&self, unknown: usize, by: f64) -> Shape {
        let mut s = *self;
        match unknown {
            0 => s.apex[0] += by,
            1 => s.apex[1] += by,
            2 => s.radius *= by.exp(),
            3 => s.weight += by,
            _ => s.tilt += by,
        }
        s
    }

    /// Step for slopes by differences: some thousandths of a pixel at the outline.
    fn small(&self, unknown: usize) -> f64 {
        match unknown {
            0 | 1 => 1e-3,
            2 => 1e-3 / self.radius,
            3 => 1e-3 / self.radius.powi(3),
            _ => 1e-3 / self.radius,
        }
    }

    /// Distance from the axis (to the right) and depth below the apex.
    fn own(&self, p: [f64; 2]) -> [f64; 2] {
        let (sine, cosine) = self.tilt.sin_cos();
        let (x, y) = (p[0] - self.apex[0], p[1] - self.apex[1]);
        [x * cosine + y * sine, y * cosine - x * sine]
    }

    /// The place of a point of the profile in the picture; `side` is 1 to the right, -1 to the left.
    fn place(&self, n: &Node, side: f64) -> [f64; 2] {
        let (sine, cosine) = self.tilt.sin_cos();
        let x = side * n.x;
        [self.apex[0] + x * cosine - n.z * sine, self.apex[1] + x * sine + n.z * cosine]
    }

    /// The profile down to a depth, by Runge-Kutta steps of about half a pixel.
    fn nodes(&self, depth: f64) -> Vec<Node> {
        let h = (self.radius / 200.0).clamp(0.1, 0.5);
        let bend = |x: f64, z: f64, slope: f64| {
            let around = if x < 1e-9 * self.radius { 1.0 / self.radius } else { slope.sin() / x };
            2.0 / self.radius + self.weight * z - around
        };
        let rate = |x: f64, z: f64, slope: f64| [slope.cos(), slope.sin(), bend(x, z, slope)];
        let mut nodes = vec![Node { x: 0.0, z: 0.0, slope: 0.0, bend: 1.0 / self.radius }];
        let (mut x, mut z, mut slope) = (0.0, 0.0, 0.0);
        while z < depth && slope < 3.1 && nodes.len() < 40_000 {
            let a = rate(x, z, slope);
            let b = rate(x + 0.5 * h * a[0], z + 0.5 * h * a[1], slope + 0.5 * h * a[2]);
            let c = rate(x + 0.5 * h * b[0], z + 0.5 * h * b[1], slope + 0.5 * h * b[2]);
            let d = rate(x + h * c[0], z + h * c[1], slope + h * c[2]);
            let of = |i: usize| h / 6.0 * (a[i] + 2.0 * b[i] + 2.0 * c[i] + d[i]);
            (x, z, slope) = (x + of(0), z + of(1), slope + of(2));
            if !(x > 0.0 && slope.is_finite() && slope > -0.1) {
                break;
            }
            nodes.push(Node { x, z, slope, bend: bend(x, z, slope) });
        }
        nodes
    }

    /// Distances of places from the profile along its normals, positive outside.
    fn distances(&self, points: &[[f64; 2]]) -> Vec<f64> {
        let own: Vec<[f64; 2]> = points.iter().map(|p| self.own(*p)).collect();
        let deepest = own.iter().map(|p| p[1]).fold(0.0, f64::max);
        let nodes = self.nodes(deepest + 3.0);
        let mut near = 0;
        own.iter()
            .enumerate()
            .map(|(i, p)| {
                let (x, z) = (p[0].abs(), p[1]);
                let square = |n: &Node| (n.x - x).powi(2) + (n.z - z).powi(2);
                if i == 0 {
                    near = (0..nodes.len())
                        .min_by(|a, b| square(&nodes[*a]).total_cmp(&square(&nodes[*b])))
                        .unwrap_or(0);
                }
                // Places follow each other along the outline, and so do their nearest nodes.
                while near + 1 < nodes.len() && square(&nodes[near + 1]) < square(&nodes[near]) {
                    near += 1;
                }
                while near > 0 && square(&nodes[near - 1]) < square(&nodes[near]) {
                    near -= 1;
                }
                let n = nodes[near];
                let (sine, cosine) = n.slope.sin_cos();
                let (u, v) = (x - n.x, z - n.z);
                let (along, across) = (u * cosine + v * sine, u * sine - v * cosine);
                // Distance from the circle that touches there.
                let k = n.bend;
                (k * (along * along + across * across) + 2.0 * across)
                    / ((k * along).hypot(k * across + 1.0) + 1.0)
            })
            .collect()
    }

    /// Where the profile meets the base line on a side, and the contact angle there, rad; nothing where it does not.
    pub fn contact(&self, line: &BaseLine, side: f64) -> Option<([f64; 2], f64)> {
        let depth =
            line.height(self.apex) + (line.tilt_rad - self.tilt).abs().sin() * 4.0 * self.radius + 5.0;
        let nodes = self.nodes(depth.max(1.0));
        let height = |n: &Node| line.height(self.place(n, side));
        nodes.windows(2).find(|pair| height(&pair[0]) >= 0.0 && height(&pair[1]) < 0.0).map(|pair| {
            let (a, b) = (height(&pair[0]), height(&pair[1]));
            let t = a / (a - b);
            let mix = |f: fn(&Node) -> f64| f(&pair[0]) + t * (f(&pair[1]) - f(&pair[0]));
            let at = Node { x: mix(|n| n.x), z: mix(|n| n.z), slope: mix(|n| n.slope), bend: 0.0 };
            (self.place(&at, side), at.slope + side * (self.tilt - line.tilt_rad))
        })
    }

    /// The profile above the base line as places in the picture, from the left contact over the apex to the right one.
    pub fn course(&self, line: &BaseLine) -> Vec<[f64; 2]> {
        let nodes = self.nodes(line.height(self.apex).max(1.0) * 1.5 + 5.0);
        let side = |side: f64| {
            let mut places: Vec<[f64; 2]> =
                nodes.iter().map(|n| self.place(n, side)).take_while(|p| line.height(*p) >= 0.0).collect();
            places.extend(self.contact(line, side).map(|(p, _)| p));
            places
        };
        let mut left = side(-1.0);
        left.reverse();
        left.extend(side(1.0).into_iter().skip(1));
        left
    }

    /// Volume above a plane across the axis through the mean of both contacts, pixels cubed.
    pub fn volume(&self, depth: f64) -> f64 {
        self.nodes(depth)
            .windows(2)
            .map(|p| {
                let (a, b) = (p[0], p[1]);
                let z = b.z.min(depth);
                std::f64::consts::PI / 3.0 * (a.x * a.x + a.x * b.x + b.x * b.x) * (z - a.z).max(0.0)
            })
            .sum()
    }
}

/// Lays a profile through places, beginning with `start`. Nothing where it does not come to rest.
pub fn fit(points: &[[f64; 2]], start: Shape, free: Free, line_tilt: f64) -> Option<Fit> {
    let unknown: Vec<usize> =
        (0..5).filter(|i| (*i != 3 || free.weight) && (*i != 4 || free.tilt.is_some())).collect();
    let m = unknown.len();
    if points.len() < 3 * m {
        return None;
    }
    let mut shape = start;
    let mut damping = 1e-3;
    let mut distances = shape.distances(points);
    let mut spread = robust(&distances);
    let cost = |d: &[f64], spread: f64, s: &Shape| -> f64 {
        let k = 2.5 * spread;
        let far = |r: f64| if r.abs() < k { r * r } else { k * (2.0 * r.abs() - k) };
        let weak = free.tilt.map_or(0.0, |deviation| (spread * (s.tilt - line_tilt) / deviation).powi(2));
        d.iter().map(|r| far(*r)).sum::<f64>() + weak
    };
    for step in 1..=MOST_STEPS {
        let (normal, to) = equations(&shape, points, &distances, spread, &unknown, free, line_tilt);
        let mut moved = None;
        for _ in 0..12 {
            let mut damped = normal.clone();
            (0..m).for_each(|i| damped[i * m + i] *= 1.0 + damping);
            let Ok(by) = dense::solve(&damped, &to) else {
                damping *= 10.0;
                continue;
            };
            let mut next = unknown.iter().zip(&by).fold(shape, |s, (i, b)| s.with(*i, *b));
            // A drop at rest is pressed by its weight, never lifted.
            next.weight = next.weight.max(0.0);
            let sound = next.radius.is_finite() && (1.0..1e5).contains(&next.radius) && next.tilt.abs() < 0.6;
            let d = if sound { next.distances(points) } else { vec![f64::INFINITY] };
            if cost(&d, spread, &next) <= cost(&distances, spread, &shape) * (1.0 + 1e-12) {
                let size: Vec<f64> =
                    unknown.iter().zip(&by).map(|(i, b)| (b / shape.small(*i)).abs()).collect();
                moved = Some(size.iter().copied().fold(0.0, f64::max));
                (shape, distances) = (next, d);
                damping = (damping * 0.2).max(1e-9);
                break;
            }
            damping *= 10.0;
        }
        // At rest when no unknown moves the outline by a tenth of a thousandth of a pixel, or no step helps any more.
        let rests = moved.is_none_or(|size| size < 0.1);
        if rests && step > 2 {
            return finished(shape, points, &distances, &unknown, free, line_tilt, step);
        }
        // Held after a while, so that what is far and what is not cannot take turns.
        if step < 25 {
            spread = robust(&distances);
        }
    }
    None
}

fn robust(distances: &[f64]) -> f64 {
    let mut sizes: Vec<f64> = distances.iter().map(|d| d.abs()).collect();
    (1.4826 * facedown_raster::threshold::median(&mut sizes).unwrap_or(0.0)).max(0.02)
}

#[allow(clippy::too_many_arguments)]
fn equations(
    shape: &Shape,
    points: &[[f64; 2]],
    distances: &[f64],
    spread: f64,
    unknown: &[usize],
    free: Free,
    line_tilt: f64,
) -> (Vec<f64>, Vec<f64>) {
    let m = unknown.len();
    let slopes: Vec<Vec<f64>> = unknown
        .iter()
        .map(|i| {
            let h = shape.small(*i);
            let (up, down) = (shape.with(*i, h).distances(points), shape.with(*i, -h).distances(points));
            up.iter().zip(&down).map(|(a, b)| (a - b) / (2.0 * h)).collect()
        })
        .collect();
    let (mut normal, mut to) = (vec![0.0; m * m], vec![0.0; m]);
    for (k, r) in distances.iter().enumerate() {
        let weight = (2.5 * spread / r.abs().max(1e-12)).min(1.0);
        for i in 0..m {
            to[i] -= weight * slopes[i][k] * r;
            for j in 0..m {
                normal[i * m + j] += weight * slopes[i][k] * slopes[j][k];
            }
        }
    }
    if let (Some(deviation), Some(i)) = (free.tilt, unknown.iter().position(|i| *i == 4)) {
        let weak = (spread / deviation).powi(2);
        normal[i * m + i] += weak;
        to[i] -= weak * (shape.tilt - line_tilt);
    }
    (normal, to)
}

fn finished(
    shape: Shape,
    points: &[[f64; 2]],
    distances: &[f64],
    unknown: &[usize],
    free: Free,
    line_tilt: f64,
    steps: usize,
) -> Option<Fit> {
    let m = unknown.len();
    let n = distances.len();
    let spread = robust(distances);
    let (normal, _) = equations(&shape, points, distances, spread, unknown, free, line_tilt);
    let squares: f64 = distances.iter().map(|r| r * r).sum();
    let residual = (squares / (n - m) as f64).sqrt();
    // Neighbours share pixels: their distances go together, and there are fewer independent ones than places.
    let mut together = 1.0;
    for lag in 1..(n / 4).min(60) {
        let product: f64 = (lag..n).map(|i| distances[i] * distances[i - lag]).sum();
        let share = product / squares.max(1e-30);
        if share < 0.05 {
            break;
        }
        together += 2.0 * share;
    }
    let mut covariance = vec![0.0; 25];
    for (j, column) in unknown.iter().enumerate() {
        let unit: Vec<f64> = (0..m).map(|i| f64::from(i == j)).collect();
        let solved = dense::solve(&normal, &unit).ok()?;
        for (i, row) in unknown.iter().enumerate() {
            covariance[row * 5 + column] = solved[i] * residual.max(0.01).powi(2) * together;
        }
    }
    Some(Fit { shape, residual, covariance, steps })
}

impl Fit {
    /// One standard deviation of what a function of the profile gives.
    pub fn spread_of(&self, value: impl Fn(&Shape) -> Option<f64>) -> f64 {
        let slopes: Vec<f64> = (0..5)
            .map(|i| {
                if self.covariance[i * 6] == 0.0 {
                    return 0.0;
                }
                let h = self.shape.small(i) * 10.0;
                let ends = value(&self.shape.with(i, h)).zip(value(&self.shape.with(i, -h)));
                ends.map_or(0.0, |(a, b)| (a - b) / (2.0 * h))
            })
            .collect();
        let sum: f64 = (0..25).map(|k| slopes[k / 5] * slopes[k % 5] * self.covariance[k]).sum();
        sum.max(0.0).sqrt()
    }
}
