//! Solder volumes by process.

use crate::problem::Supply;
use crate::sphere;
use std::f64::consts::PI;

impl Supply {
    /// Volume of solder metal, m3.
    ///
    /// * Plated: stud, the disc above it, and a quarter circle revolved about the edge of the opening (Pappus' second
    ///   theorem): `pi/4 D^2 (t + u) + pi^2/4 D u^2 + 2 pi/3 u^3`.
    /// * Pillar cap: a disc. Paste: aperture times stencil times release times metal share. Ball: a sphere.
    /// * Reflowed: cap of a sphere on its pad (L. S. Goldmann, IBM J. Res. Dev. 13, 1969, 251).
    pub fn volume(&self) -> f64 {
        match *self {
            Supply::Volume(volume) => volume,
            Supply::Plated { opening: d, thickness: t, overgrowth: u } => {
                PI / 4.0 * d * d * (t + u) + PI * PI / 4.0 * d * u * u + 2.0 * PI / 3.0 * u * u * u
            }
            Supply::PillarCap { diameter, thickness } => PI / 4.0 * diameter * diameter * thickness,
            Supply::Paste { aperture_area, stencil, transfer, metal, .. } => {
                aperture_area * stencil * transfer * metal
            }
            Supply::Ball { diameter } => PI / 6.0 * diameter.powi(3),
            Supply::Reflowed { pad, height } => sphere::cap_volume(0.5 * pad, height),
        }
    }

    /// Area of the aperture over the area of its walls; absent for anything but paste. Release gets uncertain below
    /// 0.66 (IPC-7525, from memory).
    pub fn area_ratio(&self) -> Option<f64> {
        match *self {
            Supply::Paste { aperture_area, aperture_perimeter, stencil, .. } => {
                Some(aperture_area / (aperture_perimeter * stencil))
            }
            _ => None,
        }
    }

    /// What is wrong with its numbers, as a clause; absent where all is well.
    pub(crate) fn fault(&self) -> Option<String> {
        let positive = |name: &str, value: f64| {
            (!(value.is_finite() && value > 0.0))
                .then(|| format!("{name} is {value:e}; it must be above zero"))
        };
        let share = |name: &str, value: f64| {
            (!(value > 0.0 && value <= 1.0))
                .then(|| format!("{name} is {value}; it must lie above 0 and up to 1"))
        };
        match *self {
            Supply::Volume(volume) => positive("the volume in m3", volume),
            Supply::Plated { opening, thickness, overgrowth } => positive("the opening in m", opening)
                .or_else(|| positive("the plated thickness in m", thickness))
                .or_else(|| {
                    (!(overgrowth.is_finite() && overgrowth >= 0.0))
                        .then(|| format!("the overgrowth in m is {overgrowth:e}; it must not be negative"))
                }),
            Supply::PillarCap { diameter, thickness } => positive("the pillar's diameter in m", diameter)
                .or_else(|| positive("the cap's thickness in m", thickness)),
            Supply::Paste { aperture_area, aperture_perimeter, stencil, transfer, metal } => {
                positive("the aperture's area in m2", aperture_area)
                    .or_else(|| positive("the aperture's perimeter in m", aperture_perimeter))
                    .or_else(|| positive("the stencil's thickness in m", stencil))
                    .or_else(|| share("the released share of the paste", transfer))
                    .or_else(|| share("the metal share of the paste", metal))
            }
            Supply::Ball { diameter } => positive("the ball's diameter in m", diameter),
            Supply::Reflowed { pad, height } => positive("the pad's diameter in m", pad)
                .or_else(|| positive("the bump's height in m", height)),
        }
    }
}

/// Volume of all supplies together, m3.
pub fn total(supplies: &[Supply]) -> f64 {
    supplies.iter().map(Supply::volume).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mushroom_is_a_revolved_quarter_circle() {
        // Disc integration of the mushroom alone: radius D/2 + sqrt(u^2 - y^2) over the height y from 0 to u.
        let (d, t, u) = (80e-6, 50e-6, 20e-6);
        let slices = 200_000;
        let step = u / f64::from(slices);
        let mushroom: f64 = (0..slices)
            .map(|i| {
                let y = (f64::from(i) + 0.5) * step;
                PI * (d / 2.0 + (u * u - y * y).sqrt()).powi(2) * step
            })
            .sum();
        let stud = PI / 4.0 * d * d * t;
        let whole = Supply::Plated { opening: d, thickness: t, overgrowth: u }.volume();
        assert!((whole / (stud + mushroom) - 1.0).abs() < 1e-7);
        let flush = Supply::Plated { opening: d, thickness: t, overgrowth: 0.0 }.volume();
        assert!((flush / Supply::PillarCap { diameter: d, thickness: t }.volume() - 1.0).abs() < 1e-14);
    }

    #[test]
    fn paste_is_what_the_aperture_holds_times_its_shares() {
        let paste = Supply::Paste {
            aperture_area: 0.01e-6,
            aperture_perimeter: 0.4e-3,
            stencil: 50e-6,
            transfer: 0.8,
            metal: 0.5,
        };
        assert!((paste.volume() - 0.2e-12).abs() < 1e-24);
        assert!((paste.area_ratio().unwrap() - 0.5).abs() < 1e-12);
        assert_eq!(Supply::Ball { diameter: 1.0 }.area_ratio(), None);
    }

    #[test]
    fn numbers_without_meaning_are_named() {
        for supply in [
            Supply::Volume(f64::NAN),
            Supply::Volume(0.0),
            Supply::Plated { opening: 1e-4, thickness: -1e-5, overgrowth: 0.0 },
            Supply::Plated { opening: 1e-4, thickness: 1e-5, overgrowth: -1e-6 },
            Supply::Ball { diameter: f64::INFINITY },
            Supply::Reflowed { pad: 1e-4, height: 0.0 },
        ] {
            assert!(supply.fault().is_some(), "{supply:?}");
        }
        assert_eq!(Supply::Ball { diameter: 1e-4 }.fault(), None);
    }
}
