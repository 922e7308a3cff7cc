//! Heat in a rectangular plate of layers: the series for rectangular sources on a finite compound plate.
//!
//! The temperature of the heated face is a double cosine series; each mode sees the layers below it as one surface
//! impedance, which is built from the bottom up. Any number of layers, each with its own conductivity in the plane
//! and through it, costs one hyperbolic tangent a layer and a mode, and nothing overflows. Several sources add up.
//! (M. M. Yovanovich, Y. S. Muzychka, J. R. Culham, J. Thermophysics and Heat Transfer 13 (1999) 495-500; Y. S.
//! Muzychka, J. R. Culham, M. M. Yovanovich, J. Electronic Packaging 125 (2003) 178-185, eccentric sources; from
//! memory, derived again and compared with a finite-difference solution in the oracle tests.)
//!
//! Sides are adiabatic. Time and memory go with the number of modes, about `6 L/a` in each direction for a source of
//! width `a` on a plate of width `L`.

use crate::sheet::Sheet;
use std::f64::consts::PI;

/// A rectangle on the face of a plate, metres from its lower-left corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rectangle {
    /// Left and right edge.
    pub x: [f64; 2],
    /// Lower and upper edge.
    pub y: [f64; 2],
}

impl Rectangle {
    /// A rectangle of that size around a centre, m.
    pub fn centred(centre: [f64; 2], width: f64, height: f64) -> Rectangle {
        Rectangle {
            x: [centre[0] - width / 2.0, centre[0] + width / 2.0],
            y: [centre[1] - height / 2.0, centre[1] + height / 2.0],
        }
    }

    /// Area, m2.
    pub fn area(&self) -> f64 {
        (self.x[1] - self.x[0]) * (self.y[1] - self.y[0])
    }
}

/// Where heat enters a plate, spread evenly: a rectangle, or a rectangular frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Patch {
    /// Rectangles with the weight of each in the mean; the weights add up to one.
    pieces: Vec<(Rectangle, f64)>,
    /// Area, m2.
    pub area: f64,
}

impl Patch {
    /// A rectangle.
    pub fn rectangle(rectangle: Rectangle) -> Patch {
        Patch { pieces: vec![(rectangle, 1.0)], area: rectangle.area() }
    }

    /// A frame between two rectangles; `inner` lies inside `outer`.
    pub fn frame(outer: Rectangle, inner: Rectangle) -> Patch {
        let area = outer.area() - inner.area();
        Patch { pieces: vec![(outer, outer.area() / area), (inner, -inner.area() / area)], area }
    }

    fn least_width(&self) -> [f64; 2] {
        self.pieces.iter().fold([f64::INFINITY; 2], |least, (r, _)| {
            [least[0].min(r.x[1] - r.x[0]), least[1].min(r.y[1] - r.y[0])]
        })
    }
}

/// A plate, seen from its heated face.
#[derive(Debug, Clone, PartialEq)]
pub struct Plate {
    /// Size in x, m.
    pub width_m: f64,
    /// Size in y, m.
    pub height_m: f64,
    /// Layers from the heated face on.
    pub layers: Vec<Sheet>,
    /// What lies under the plate and reaches farther than it (a board under a substrate): part of what uneven heat
    /// sees; the even part of the heat sees [`Plate::mean_resistance`] instead.
    pub beneath: Vec<Sheet>,
    /// Film under the last layer that uneven heat sees, W/(m2 K); zero insulates.
    pub film: f64,
    /// Resistance under `layers` that the even part of the heat sees, m2 K/W.
    pub mean_resistance: f64,
    /// Film on the whole heated face, W/(m2 K).
    pub face_film: f64,
}

impl Plate {
    /// A plate that ends at a film, W/(m2 K) above zero, with an adiabatic face around the sources.
    pub fn on_film(width_m: f64, height_m: f64, layers: Vec<Sheet>, film: f64) -> Plate {
        Plate {
            width_m,
            height_m,
            layers,
            beneath: Vec::new(),
            film,
            mean_resistance: 1.0 / film,
            face_film: 0.0,
        }
    }

    /// Area, m2.
    pub fn area(&self) -> f64 {
        self.width_m * self.height_m
    }

    /// What uneven heat of wave number `beta` (1/m, above zero) sees of the plate from its face: flux over
    /// temperature, W/(m2 K), without the film on the face.
    pub fn admittance(&self, beta: f64) -> f64 {
        let sheets = || self.layers.iter().chain(&self.beneath);
        // A layer that lies deeper than a few wavelengths is not felt: exp(-40) is below the last digit.
        let mut depth = 0.0;
        let mut felt = 0;
        let mut reached = false;
        for sheet in sheets() {
            felt += 1;
            depth += beta * sheet.stretched_thickness();
            if depth > 20.0 {
                reached = true;
                break;
            }
        }
        let count = self.layers.len();
        let at = |i: usize| if i < count { &self.layers[i] } else { &self.beneath[i - count] };
        let mut y = if reached { beta * at(felt - 1).mean_conductivity() } else { self.film };
        for i in (0..felt).rev() {
            y = at(i).seen_through(beta, y);
        }
        y
    }

    /// What the even part of the heat sees, W/(m2 K), without the film on the face.
    pub fn mean_admittance(&self) -> f64 {
        1.0 / (self.mean_resistance + self.layers.iter().map(Sheet::resistance).sum::<f64>())
    }

    /// Share of the temperature of the heated face that arrives at the far face of `layers` for wave number `beta`
    /// (1/m), for a plate without layers beneath; `None` for the even part of the heat.
    fn transmitted(&self, beta: Option<f64>) -> f64 {
        let Some(beta) = beta else { return self.mean_resistance * self.mean_admittance() };
        let mut y = self.film;
        let mut share = 1.0;
        for sheet in self.layers.iter().rev() {
            let gt = beta * sheet.stretched_thickness();
            let y0 = beta * sheet.mean_conductivity();
            let after_contact = y / (1.0 + y * sheet.contact);
            share /= (1.0 + y * sheet.contact) * gt.cosh() * (1.0 + after_contact * gt.tanh() / y0);
            y = sheet.seen_through(beta, y);
        }
        share
    }
}

/// Which face of the plate a temperature is asked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// The face that the sources heat.
    Heated,
    /// The far face of the plate's own layers.
    Far,
}

/// The modes of one plate with their impedances.
#[derive(Debug, Clone)]
pub struct Modes {
    size: [f64; 2],
    count: [usize; 2],
    heated: Vec<f64>,
    far: Option<Vec<f64>>,
}

/// Means of the cosines of one plate over one patch.
#[derive(Debug, Clone)]
pub struct Waves(Vec<(f64, Vec<f64>, Vec<f64>)>);

impl Modes {
    /// Modes of a plate, `count` beyond the even one in x and in y. `far` keeps the far face too.
    pub fn new(plate: &Plate, count: [usize; 2], far: bool) -> Modes {
        let all = (count[0] + 1) * (count[1] + 1);
        let mut modes = Modes {
            size: [plate.width_m, plate.height_m],
            count,
            heated: vec![0.0; all],
            far: far.then(|| vec![0.0; all]),
        };
        modes.refresh(plate, count);
        modes
    }

    /// As many modes as the smallest patch needs, `per_patch` for each of its widths in the plate, at least 16 and at
    /// most `limit` in each direction. Ten per patch keep the mean to about 0.02 %.
    pub fn count_for(plate: &Plate, patches: &[Patch], per_patch: f64, limit: usize) -> [usize; 2] {
        let least = patches.iter().fold([f64::INFINITY; 2], |l, p| {
            let w = p.least_width();
            [l[0].min(w[0]), l[1].min(w[1])]
        });
        let needed = |length: f64, width: f64| {
            let n = (per_patch * length / width).ceil();
            if n.is_finite() { (n as usize).clamp(16.min(limit), limit) } else { 16.min(limit) }
        };
        [needed(plate.width_m, least[0]), needed(plate.height_m, least[1])]
    }

    /// Takes the impedances of a plate of the same size anew, for the modes up to `count` in x and in y; higher ones
    /// keep theirs. Higher modes do not feel a film that lies below many layers.
    pub fn refresh(&mut self, plate: &Plate, count: [usize; 2]) {
        let rows = self.count[1] + 1;
        for m in 0..=count[0].min(self.count[0]) {
            for n in 0..=count[1].min(self.count[1]) {
                // A square plate is the same when x and y change places.
                if n < m
                    && self.size[0] == self.size[1]
                    && self.far.is_none()
                    && m <= self.count[1].min(count[1])
                    && n <= count[0]
                {
                    self.heated[m * rows + n] = self.heated[n * rows + m];
                    continue;
                }
                let [kx, ky] = [PI * m as f64 / self.size[0], PI * n as f64 / self.size[1]];
                let beta = (kx * kx + ky * ky).sqrt();
                let y = if m + n == 0 { plate.mean_admittance() } else { plate.admittance(beta) };
                let z = 1.0 / (y + plate.face_film);
                self.heated[m * rows + n] = z;
                if let Some(far) = &mut self.far {
                    far[m * rows + n] = z * plate.transmitted((m + n > 0).then_some(beta));
                }
            }
        }
    }

    /// Takes impedances from a function of the wave number (1/m; zero for the even part) that gives temperature over
    /// flux, m2 K/W.
    pub fn from_impedance(size: [f64; 2], count: [usize; 2], impedance: impl Fn(f64) -> f64) -> Modes {
        let rows = count[1] + 1;
        let mut heated = vec![0.0; (count[0] + 1) * rows];
        for m in 0..=count[0] {
            for n in 0..=count[1] {
                heated[m * rows + n] = impedance((PI * m as f64 / size[0]).hypot(PI * n as f64 / size[1]));
            }
        }
        Modes { size, count, heated, far: None }
    }

    /// Mean over one interval of the cosines in one direction.
    fn means(&self, axis: usize, interval: [f64; 2]) -> Vec<f64> {
        let width = interval[1] - interval[0];
        (0..=self.count[axis])
            .map(|m| {
                let k = PI * m as f64 / self.size[axis];
                // The difference of sines as a product keeps its digits for narrow intervals.
                let half = k * width / 2.0;
                let sinc = if half.abs() < 1e-8 { 1.0 } else { half.sin() / half };
                (k * (interval[0] + interval[1]) / 2.0).cos() * sinc
            })
            .collect()
    }

    /// Sum over the modes up to `upto`; all of them without it.
    fn sum(&self, z: &[f64], x: [&[f64]; 2], y: [&[f64]; 2], upto: Option<[usize; 2]>) -> f64 {
        let rows = self.count[1] + 1;
        let fold = |a: &[f64], b: &[f64], upto: Option<usize>| -> Vec<f64> {
            let take = upto.map_or(usize::MAX, |u| u + 1);
            let two = |i: usize| if i == 0 { 1.0 } else { 2.0 };
            a.iter().zip(b).take(take).enumerate().map(|(i, (a, b))| two(i) * a * b).collect()
        };
        let (fx, fy) = (fold(x[0], x[1], upto.map(|u| u[0])), fold(y[0], y[1], upto.map(|u| u[1])));
        let total: f64 = fx
            .iter()
            .zip(z.chunks_exact(rows))
            .map(|(fx, row)| fx * row.iter().zip(&fy).map(|(z, fy)| z * fy).sum::<f64>())
            .sum();
        total / (self.size[0] * self.size[1])
    }

    /// The means of all cosines over a patch, to be kept where a patch is asked for again and again.
    pub fn waves(&self, patch: &Patch) -> Waves {
        Waves(patch.pieces.iter().map(|(r, w)| (*w, self.means(0, r.x), self.means(1, r.y))).collect())
    }

    /// Mean temperature of patch `seen` for one watt spread evenly over patch `heated`, K/W, by the modes up to `upto` in x
    /// and in y (all of them without it). Symmetric in the two.
    pub fn mean_of(&self, heated: &Waves, seen: &Waves, upto: Option<[usize; 2]>) -> f64 {
        let mut total = 0.0;
        for (wa, ax, ay) in &heated.0 {
            for (wb, bx, by) in &seen.0 {
                total += wa * wb * self.sum(&self.heated, [ax, bx], [ay, by], upto);
            }
        }
        total
    }

    /// Mean temperature of patch `seen` for one watt spread evenly over patch `heated`, K/W. Symmetric in the two.
    pub fn mean(&self, heated: &Patch, seen: &Patch) -> f64 {
        self.mean_of(&self.waves(heated), &self.waves(seen), None)
    }

    /// Temperature at a point of a face for one watt spread evenly over a patch, K/W. Zero for the far face where
    /// [`Modes::new`] was not asked to keep it.
    pub fn at(&self, heated: &Patch, point: [f64; 2], face: Face) -> f64 {
        let z = match (face, &self.far) {
            (Face::Heated, _) => &self.heated,
            (Face::Far, Some(far)) => far,
            (Face::Far, None) => return 0.0,
        };
        let px = self.means(0, [point[0]; 2]);
        let py = self.means(1, [point[1]; 2]);
        heated
            .pieces
            .iter()
            .map(|(a, w)| w * self.sum(z, [&self.means(0, a.x), &px], [&self.means(1, a.y), &py], None))
            .sum()
    }

    /// Temperatures at points for several sources at once, K: the sources are summed by modes first.
    pub fn field(&self, sources: &[(Rectangle, f64)], points: &[[f64; 2]]) -> Vec<f64> {
        let rows = self.count[1] + 1;
        let mut modal = vec![0.0; self.heated.len()];
        for (rectangle, power) in sources {
            let (sx, sy) = (self.means(0, rectangle.x), self.means(1, rectangle.y));
            for (m, sx) in sx.iter().enumerate() {
                let scale = power * sx * if m == 0 { 1.0 } else { 2.0 };
                for (n, sy) in sy.iter().enumerate() {
                    modal[m * rows + n] += scale * sy * if n == 0 { 1.0 } else { 2.0 };
                }
            }
        }
        for (value, z) in modal.iter_mut().zip(&self.heated) {
            *value *= z / (self.size[0] * self.size[1]);
        }
        points
            .iter()
            .map(|p| {
                let (px, py) = (self.means(0, [p[0]; 2]), self.means(1, [p[1]; 2]));
                px.iter()
                    .zip(modal.chunks_exact(rows))
                    .map(|(px, row)| px * row.iter().zip(&py).map(|(a, b)| a * b).sum::<f64>())
                    .sum()
            })
            .collect()
    }
}

/// A rectangular source in the middle of a plate whose rim is held at one temperature through all its layers, the far
/// face insulated: mean of the source and a point of the heated face over the rim for one watt, K/W. `size` of the plate
/// and of the source, and the point from the middle of the plate, m. The modes are the cosines that vanish at the rim
/// (derived like the series with adiabatic sides).
pub fn held_rim(size: [f64; 2], source: [f64; 2], layers: &[Sheet], point: [f64; 2]) -> (f64, f64) {
    let plate =
        Plate { film: 0.0, mean_resistance: 0.0, ..Plate::on_film(size[0], size[1], layers.to_vec(), 1.0) };
    let count = |axis: usize| ((6.0 * size[axis] / source[axis]).ceil().min(200.0) as usize).max(24);
    let mode = |axis: usize, m: usize| {
        let k = (2 * m + 1) as f64 * PI / size[axis];
        let half = k * source[axis] / 2.0;
        (k, half.sin() / half, (k * point[axis]).cos())
    };
    let y: Vec<_> = (0..count(1)).map(|n| mode(1, n)).collect();
    let (mut mean, mut at) = (0.0, 0.0);
    for m in 0..count(0) {
        let (kx, sx, cx) = mode(0, m);
        for (ky, sy, cy) in &y {
            let z = 1.0 / plate.admittance(kx.hypot(*ky));
            mean += sx * sx * sy * sy * z;
            at += sx * sy * cx * cy * z;
        }
    }
    let scale = 4.0 / (size[0] * size[1]);
    (scale * mean, scale * at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn plate(ratio: f64) -> Plate {
        let layers = vec![
            Sheet { contact: 1e-5, ..Sheet::isotropic(2e-3, 390.0) },
            Sheet { thickness: 1e-3, in_plane: 20.0, through: 20.0 / ratio, contact: 0.0 },
        ];
        Plate::on_film(0.04, 0.03, layers, 800.0)
    }

    #[test]
    fn a_source_over_the_whole_plate_is_a_plane_wall() {
        let plate = plate(40.0);
        let modes = Modes::new(&plate, [30, 30], true);
        let all = Patch::rectangle(Rectangle { x: [0.0, 0.04], y: [0.0, 0.03] });
        let wall = (2e-3 / 390.0 + 1e-5 + 1e-3 / 0.5 + 1.0 / 800.0) / plate.area();
        assert!((modes.mean(&all, &all) / wall - 1.0).abs() < 1e-12);
        assert!((modes.at(&all, [0.01, 0.02], Face::Far) * 800.0 * plate.area() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_frame_and_its_inside_make_the_whole() {
        let plate = plate(3.0);
        let modes = Modes::new(&plate, [60, 60], false);
        let outer = Rectangle { x: [0.002, 0.038], y: [0.002, 0.028] };
        let inner = Rectangle { x: [0.008, 0.032], y: [0.008, 0.022] };
        let seen = Patch::rectangle(Rectangle::centred([0.02, 0.015], 0.01, 0.01));
        let frame = Patch::frame(outer, inner);
        let (whole, inside) = (Patch::rectangle(outer), Patch::rectangle(inner));
        let sum = frame.area * modes.mean(&frame, &seen) + inside.area * modes.mean(&inside, &seen);
        assert!((sum / (whole.area * modes.mean(&whole, &seen)) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_held_strip_is_a_parabola() {
        // Long in y, heated all over (24 modes leave 0.8 % of the even part along y): T = q (L^2/4 - x^2) / (2 k t), mean q L^2 / (12 k t), for a thin good conductor.
        let (length, wide) = (0.01, 10.0);
        let (mean, middle) =
            held_rim([length, wide], [length, wide], &[Sheet::isotropic(1e-4, 400.0)], [0.0, 0.0]);
        let flux = 1.0 / (length * wide);
        assert!((mean / (flux * length * length / (12.0 * 0.04)) - 1.0).abs() < 1e-2, "{mean}");
        assert!((middle / (flux * length * length / (8.0 * 0.04)) - 1.0).abs() < 2e-2, "{middle}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]
        #[test]
        fn influence_is_symmetric_and_falls_with_film(
            x in 0.003..0.037_f64, y in 0.003..0.027_f64, w in 0.001..0.006_f64, film in 1.0..1e5_f64,
        ) {
            let near = Patch::rectangle(Rectangle::centred([x, y], w, w));
            let other = Patch::rectangle(Rectangle::centred([0.02, 0.015], 0.008, 0.004));
            let of = |film| Modes::new(&Plate::on_film(0.04, 0.03, vec![Sheet::isotropic(1e-3, 150.0)], film), [40, 40], false);
            let (low, high) = (of(film), of(film * 2.0));
            prop_assert!((low.mean(&near, &other) - low.mean(&other, &near)).abs() < 1e-9 * low.mean(&near, &near));
            prop_assert!(low.mean(&near, &near) > high.mean(&near, &near));
            prop_assert!(low.mean(&near, &near) >= low.mean(&near, &other));
        }

        #[test]
        fn summed_modes_give_the_same_field(x in 0.005..0.035_f64, y in 0.005..0.025_f64) {
            let modes = Modes::new(&plate(10.0), [30, 24], false);
            let a = Rectangle::centred([x, y], 0.004, 0.006);
            let b = Rectangle::centred([0.02, 0.015], 0.01, 0.01);
            let field = modes.field(&[(a, 3.0), (b, 2.0)], &[[0.011, 0.007]]);
            let one = 3.0 * modes.at(&Patch::rectangle(a), [0.011, 0.007], Face::Heated)
                + 2.0 * modes.at(&Patch::rectangle(b), [0.011, 0.007], Face::Heated);
            prop_assert!((field[0] - one).abs() < 1e-12 * one.abs());
        }
    }
}
