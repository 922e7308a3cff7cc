//! Driving pressure between bumps: its mean over a cell, and its least value as the front passes a row.
//!
//! The mean follows from the surface energy that the filling of a cell sets free (the approach of X. Yao, J. Fang et al., J.
//! Electron. Packag. 144 (2022) 041003, derived here): `tension [(cos d + cos s)(A - bump) + cos b S]` over the free volume, S
//! the wetted side of the bump. Within a cell the pressure swings: the bumps pull while the channel narrows, and hold the
//! front back behind their widest place.

use super::permeability::Cell;
use super::plates::Gap;
use crate::problem::BumpShape;
use std::f64::consts::PI;

/// A bump in its cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bump {
    /// Cell; its diameter is the largest of the bump.
    pub cell: Cell,
    /// Shape.
    pub shape: BumpShape,
}

impl Bump {
    /// Volume between the faces, m3: a cylinder, or a symmetric truncated sphere `pi h (R^2 - h^2 / 12)`. Nothing where
    /// a sphere of that diameter is lower than the gap.
    pub fn volume(self) -> Option<f64> {
        let (r, h) = (0.5 * self.cell.diameter_m, self.cell.gap_m);
        match self.shape {
            BumpShape::Cylinder => Some(PI * r * r * h),
            BumpShape::TruncatedSphere => (h <= 2.0 * r).then(|| PI * h * (r * r - h * h / 12.0)),
        }
    }

    /// Area of the side, m2; the zone of a sphere has that of the cylinder around it.
    pub fn side(self) -> f64 {
        PI * self.cell.diameter_m * self.cell.gap_m
    }

    /// Area of a foot on a face, m2.
    pub fn foot(self) -> f64 {
        let (r, h) = (0.5 * self.cell.diameter_m, self.cell.gap_m);
        match self.shape {
            BumpShape::Cylinder => PI * r * r,
            BumpShape::TruncatedSphere => PI * (r * r - 0.25 * h * h).max(0.0),
        }
    }

    /// The cylinder of equal volume, which stands for the bump in the permeability; for a sphere that is good to
    /// about 10 %.
    pub fn equal_cylinder(self) -> Option<Cell> {
        let diameter_m = (4.0 * self.volume()? / (PI * self.cell.gap_m)).sqrt();
        Some(Cell { diameter_m, ..self.cell })
    }

    /// Mean driving pressure, Pa, with the angle of the liquid on the bumps (rad).
    pub fn mean_pressure(self, gap: Gap, angle_bump_rad: f64) -> Option<f64> {
        let faces = (gap.angles_rad[0].cos() + gap.angles_rad[1].cos()) * (self.cell.area() - self.foot());
        let free = self.cell.area() * self.cell.gap_m - self.volume()?;
        Some(gap.tension_n_m * (faces + angle_bump_rad.cos() * self.side()) / free)
    }

    /// Least driving pressure, Pa, of a straight front that passes a row of cylinders of the largest diameter, touching both
    /// neighbours at the angle psi from their upstream poles: `tension (cos d + cos s) / gap + 2 tension cos(b + psi - 90 deg)
    /// / (pitch - diameter sin psi)` (derived; the idea of W.-B. Young, Compos. A 35 (2004), capillary impregnation
    /// into cylinder banks). Below zero the front pins there.
    pub fn least_pressure(self, gap: Gap, angle_bump_rad: f64) -> f64 {
        let (p, d) = (self.cell.pitch_m, self.cell.diameter_m);
        let row = |psi: f64| 2.0 * (angle_bump_rad + psi - 0.5 * PI).cos() / (p - d * psi.sin());
        // Smooth in psi: a scan and a parabola through the lowest three.
        let steps = 180;
        let at = |i: usize| row(PI * i as f64 / steps as f64);
        let lowest = (0..=steps).min_by(|&i, &j| at(i).total_cmp(&at(j))).unwrap_or(0);
        let mut least = at(lowest);
        if lowest > 0 && lowest < steps {
            let (a, b, c) = (at(lowest - 1), at(lowest), at(lowest + 1));
            let bend = a - 2.0 * b + c;
            if bend > 0.0 {
                least = b - (a - c).powi(2) / (8.0 * bend);
            }
        }
        gap.pressure() + gap.tension_n_m * least
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Lattice;

    proptest::proptest! {
        #[test]
        fn mean_and_least_pressure_keep_their_order(
            face in 0.0..100.0_f64, bump in 0.0..120.0_f64, tight in 0.1..0.8_f64, slender in 0.1..1.0_f64,
        ) {
            let cell = Cell { lattice: Lattice::Square, pitch_m: 1e-4, diameter_m: tight * 1e-4, gap_m: slender * 1e-4 };
            let b = Bump { cell, shape: BumpShape::Cylinder };
            let gap = Gap { gap_m: cell.gap_m, tension_n_m: 0.03, angles_rad: [face.to_radians(); 2] };
            let mean = b.mean_pressure(gap, bump.to_radians()).unwrap();
            proptest::prop_assert!(b.least_pressure(gap, bump.to_radians()) <= mean + 1e-9);
            // Bumps at 90 deg neither pull nor push; the mean is then that of the faces.
            let neutral = b.mean_pressure(gap, 0.5 * PI).unwrap();
            proptest::prop_assert!((neutral - gap.pressure()).abs() < 1e-9 * (1.0 + neutral.abs()));
            // Steps of half a degree leave the least value within a thousandth of its scale.
            let fine = (0..=20_000).map(|i| {
                let psi = PI * f64::from(i) / 20_000.0;
                gap.pressure() + 0.03 * 2.0 * (bump.to_radians() + psi - 0.5 * PI).cos() / (1e-4 - tight * 1e-4 * psi.sin())
            }).fold(f64::INFINITY, f64::min);
            proptest::prop_assert!((b.least_pressure(gap, bump.to_radians()) - fine).abs() < 1e-3 * 600.0);
        }
    }

    #[test]
    fn a_sphere_lower_than_the_gap_is_no_joint() {
        let cell = Cell { lattice: Lattice::Square, pitch_m: 2e-4, diameter_m: 8e-5, gap_m: 9e-5 };
        assert_eq!(Bump { cell, shape: BumpShape::TruncatedSphere }.volume(), None);
        let cell = Cell { gap_m: 8e-5, ..cell };
        let ball = Bump { cell, shape: BumpShape::TruncatedSphere };
        assert!((ball.volume().unwrap() - PI * 8e-5_f64.powi(3) / 6.0).abs() < 1e-20);
        assert!(ball.foot() < 1e-20 && ball.equal_cylinder().unwrap().diameter_m < 8e-5);
    }
}
