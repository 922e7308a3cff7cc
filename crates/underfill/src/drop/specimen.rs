//! Drops of known angle as pictures, for examples and tests: invented, drawn from the computed profile.

use super::profile;
use facedown_raster::render::{Noise, covered};
use facedown_raster::{Grey, smooth};

/// What lies below the base line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Below {
    /// A dark face across the picture.
    DarkFace,
    /// A bright face that mirrors the drop.
    Reflection,
    /// The background goes on: the drop has a flat foot.
    Nothing,
}

/// A drop to draw; lengths in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scene {
    /// Columns and rows.
    pub size: [usize; 2],
    /// Middle of the base.
    pub foot: [f64; 2],
    /// Diameter of the base.
    pub base: f64,
    /// Contact angle, rad.
    pub angle_rad: f64,
    /// Capillary length; infinite for a sphere.
    pub capillary_length: f64,
    /// Tilt of face and drop together, rad, positive where the right side is lower.
    pub tilt_rad: f64,
    /// What lies below.
    pub below: Below,
    /// Standard deviation of the blur.
    pub blur: f64,
    /// Standard deviation of the grey noise.
    pub noise: f64,
    /// Change of the background from left to right, as a share of it.
    pub uneven: f64,
    /// A bright spot in the middle, as lenses make of light from behind.
    pub spot: bool,
}

impl Scene {
    /// A drop of an angle (deg) that fills a picture of 480 x 360 pixels well: sharp, level, without noise, on a dark face.
    pub fn of(degrees: f64) -> Scene {
        let angle_rad = degrees.to_radians();
        // Width of a drop above 90 deg is that of its belly.
        let base = 260.0 * if degrees > 90.0 { angle_rad.sin().max(0.2) } else { 1.0 };
        Scene {
            size: [480, 360],
            foot: [238.3, 290.4],
            base,
            angle_rad,
            capillary_length: f64::INFINITY,
            tilt_rad: 0.0,
            below: Below::DarkFace,
            blur: 1.0,
            noise: 0.0,
            uneven: 0.0,
            spot: false,
        }
    }

    /// The picture.
    pub fn picture(&self) -> Grey {
        let (outline, height) = self.profile();
        let half = |depth: f64| {
            let i = outline.partition_point(|p| p[1] < depth).clamp(1, outline.len() - 1);
            let (a, b) = (outline[i - 1], outline[i]);
            a[0] + (b[0] - a[0]) * ((depth - a[1]) / (b[1] - a[1])).clamp(0.0, 1.0)
        };
        let (sine, cosine) = self.tilt_rad.sin_cos();
        let own = |x: f64, y: f64| {
            let (u, v) = (x - self.foot[0], y - self.foot[1]);
            // Along the face to the right, and up from it.
            (u * cosine + v * sine, u * sine - v * cosine)
        };
        let drop = |along: f64, up: f64| up >= 0.0 && up <= height && along.abs() < half(height - up);
        let [w, h] = self.size;
        let liquid = covered(w, h, 12, |x, y| {
            let (along, up) = own(x, y);
            drop(along, up)
        });
        let face = covered(w, h, 12, |x, y| own(x, y).1 < 0.0);
        let image = covered(w, h, 12, |x, y| {
            let (along, up) = own(x, y);
            up < 0.0 && drop(along, -up)
        });
        let spot = covered(w, h, 8, |x, y| {
            let (along, up) = own(x, y);
            self.spot && along.hypot(up - 0.45 * height) < 0.12 * height.min(self.base)
        });
        let picture = Grey::from_fn(w, h, |x, y| {
            let i = y * w + x;
            let light = 0.85 * (1.0 + self.uneven * (x as f64 / w as f64 - 0.5)) as f32;
            let ground = match self.below {
                Below::Nothing => light,
                Below::DarkFace => light + (0.12 - light) * face.values()[i],
                Below::Reflection => {
                    let bright = 0.82 * light;
                    light + (bright - light) * face.values()[i] + (0.22 - bright) * image.values()[i]
                }
            };
            let dark = 0.1 + (0.75 - 0.1) * spot.values()[i];
            ground + (dark - ground) * liquid.values()[i]
        });
        let soft = smooth::gaussian(&picture, self.blur);
        if self.noise > 0.0 { Noise::new(7).over(&soft, self.noise) } else { soft }
    }

    /// The half profile as distance from the axis and depth, closely spaced, and the height; pixels.
    fn profile(&self) -> (Vec<[f64; 2]>, f64) {
        let half = 0.5 * self.base;
        // The radius at the apex whose profile has this base: a few steps of a fixed point from the sphere's.
        let mut b = half / self.angle_rad.sin();
        let beta = |b: f64| {
            if self.capillary_length.is_finite() { (b / self.capillary_length).powi(2) } else { 0.0 }
        };
        for _ in 0..200 {
            let x = profile::at_slope(beta(b), self.angle_rad).map_or(1.0, |p| p.x);
            b = 0.5 * b + 0.5 * half / x;
        }
        let points: Vec<[f64; 2]> = std::iter::once([0.0; 2])
            .chain((1..=1200).filter_map(|i| {
                let phi = (self.angle_rad * f64::from(i) / 1200.0).max(profile::SLOPES[0]);
                profile::at_slope(beta(b), phi).ok().map(|p| [b * p.x, b * p.z])
            }))
            .collect();
        let height = points.last().map_or(0.0, |p| p[1]);
        (points, height)
    }
}
