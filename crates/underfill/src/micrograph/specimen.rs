//! Micrographs of known voids, for examples and tests: invented.

use super::{Asked, Frame, Shade};
use facedown_raster::render::{Noise, covered};
use facedown_raster::{Grey, smooth};
use std::collections::BTreeMap;

/// A round void: centre from the die's lower-left corner and radius, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Round {
    /// Centre, m.
    pub centre_m: [f64; 2],
    /// Radius, m.
    pub radius_m: f64,
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// A micrograph to draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// Columns and rows.
    pub size: [usize; 2],
    /// Width and height of the die, m.
    pub die_m: [f64; 2],
    /// Side of a pixel, m.
    pub pixel_m: f64,
    /// Tilt of the die, rad, positive where its right side is lower.
    pub tilt_rad: f64,
    /// Centres of the bumps, m.
    pub bumps: Vec<[f64; 2]>,
    /// Diameter of a bump, m.
    pub bump_diameter_m: f64,
    /// The voids.
    pub voids: Vec<Round>,
    /// Change of the light from left to right and from top to bottom, as shares.
    pub uneven: [f64; 2],
    /// Standard deviation of the blur, pixels.
    pub blur: f64,
    /// Standard deviation of the grey noise.
    pub noise: f64,
}

impl Scene {
    /// A die of 4.8 x 4 mm with a field of bumps of 300 um pitch, some voids, tilted, with uneven light and noise.
    pub fn usual() -> Scene {
        let bumps = (0..13).flat_map(|j| {
            (0..15).map(move |i| [0.3e-3 + 0.3e-3 * f64::from(i), 0.2e-3 + 0.3e-3 * f64::from(j)])
        });
        let round = |x: f64, y: f64, r: f64| Round { centre_m: [x * 1e-3, y * 1e-3], radius_m: r * 1e-3 };
        Scene {
            size: [620, 520],
            die_m: [4.8e-3, 4.0e-3],
            pixel_m: 1e-5,
            tilt_rad: 2.0_f64.to_radians(),
            bumps: bumps.collect(),
            bump_diameter_m: 0.12e-3,
            voids: vec![
                round(1.35, 1.25, 0.06),
                round(3.45, 2.75, 0.22),
                round(2.50, 0.86, 0.085),
                round(0.75, 3.05, 0.05),
                round(4.05, 0.65, 0.10),
            ],
            uneven: [0.3, -0.2],
            blur: 0.9,
            noise: 0.02,
        }
    }

    /// Where the die lies.
    pub fn corners(&self) -> [[f64; 2]; 4] {
        let (sine, cosine) = self.tilt_rad.sin_cos();
        let middle = [0.5 * self.size[0] as f64 - 0.37, 0.5 * self.size[1] as f64 - 0.71];
        let [w, h] = self.die_m.map(|s| 0.5 * s / self.pixel_m);
        [[-w, h], [w, h], [w, -h], [-w, -h]]
            .map(|[x, y]| [middle[0] + x * cosine - y * sine, middle[1] + x * sine + y * cosine])
    }

    /// What is known of it, with the corners left to be found.
    pub fn asked(&self) -> Asked<'_> {
        Asked {
            die_m: self.die_m,
            bumps: &self.bumps,
            bump_diameter_m: self.bump_diameter_m,
            corners: None,
            edge_m: 0.0,
            voids: Shade::Brighter,
            least_diameter_m: 0.0,
        }
    }

    /// True where a place on the die is in a void and not in a bump.
    pub fn is_void(&self, p: [f64; 2]) -> bool {
        self.in_void(p) && !self.bumps.iter().any(|c| apart(*c, p) < 0.5 * self.bump_diameter_m)
    }

    fn in_void(&self, p: [f64; 2]) -> bool {
        self.voids.iter().any(|v| apart(v.centre_m, p) < v.radius_m)
    }

    /// Whether a place is in a bump, by looking at the bumps nearby only.
    fn bump_at(&self) -> impl Fn([f64; 2]) -> bool {
        let side = self.bump_diameter_m.max(self.pixel_m);
        let cell = move |p: [f64; 2]| p.map(|v| (v / side).floor() as i64);
        let mut near: BTreeMap<[i64; 2], Vec<[f64; 2]>> = BTreeMap::new();
        for bump in &self.bumps {
            let [i, j] = cell(*bump);
            for k in 0..9 {
                near.entry([i + k % 3 - 1, j + k / 3 - 1]).or_default().push(*bump);
            }
        }
        let radius = 0.5 * self.bump_diameter_m;
        move |p| near.get(&cell(p)).is_some_and(|bumps| bumps.iter().any(|c| apart(*c, p) < radius))
    }

    /// The picture; nothing where the die has no size in it.
    pub fn picture(&self) -> Option<Grey> {
        let frame = Frame::of(self.die_m, self.corners()).ok()?;
        let [w, h] = self.size;
        let on_die =
            |p: [f64; 2]| p[0] >= 0.0 && p[1] >= 0.0 && p[0] <= self.die_m[0] && p[1] <= self.die_m[1];
        let die = covered(w, h, 8, |x, y| on_die(frame.to_die([x, y])));
        let is_bump = self.bump_at();
        let bump = covered(w, h, 8, |x, y| is_bump(frame.to_die([x, y])));
        let void = covered(w, h, 8, |x, y| {
            let p = frame.to_die([x, y]);
            self.in_void(p) && !is_bump(p)
        });
        let picture = Grey::from_fn(w, h, |x, y| {
            let i = y * w + x;
            let light = 1.0
                + self.uneven[0] * (x as f64 / w as f64 - 0.5)
                + self.uneven[1] * (y as f64 / h as f64 - 0.5);
            let mix = |from: f32, to: f32, share: &Grey| from + (to - from) * share.values()[i];
            // Underfill sends back 0.62 of the sound and a void all of it; solder little.
            let inside = mix(mix(0.42, 0.42 / 0.62, &void), 0.2, &bump);
            mix(0.08, inside * light as f32, &die)
        });
        let soft = smooth::gaussian(&picture, self.blur);
        Some(if self.noise > 0.0 { Noise::new(3).over(&soft, self.noise) } else { soft })
    }

    /// True share of voids: over the die without its bumps, by points half a pixel apart.
    pub fn share(&self) -> f64 {
        let step = 0.5 * self.pixel_m;
        let count = |s: f64| (s / step).floor() as usize;
        let is_bump = self.bump_at();
        let (mut all, mut void) = (0_usize, 0_usize);
        for j in 0..count(self.die_m[1]) {
            for i in 0..count(self.die_m[0]) {
                let p = [(i as f64 + 0.5) * step, (j as f64 + 0.5) * step];
                if !is_bump(p) {
                    all += 1;
                    void += usize::from(self.in_void(p));
                }
            }
        }
        void as f64 / all as f64
    }
}
