//! Permeability of a gap with bumps: a slab between two faces, crossed by an array of cylinders.
//!
//! Two exact limits are known. In a tall gap the bumps alone resist, `K2D`: the transverse Stokes flow past an array (A. S.
//! Sangani and A. Acrivos, Int. J. Multiphase Flow 8 (1982) 193, table 1). In a thin gap the faces resist and the bumps
//! are islands in a flow of potential type, `gap^2 / 12` times the conductivity of a plane with insulating discs (W. T.
//! Perrins, D. R. McKenzie and R. C. McPhedran, Proc. R. Soc. Lond. A 369 (1979) 207). Between both the profile over the
//! gap is that of a Brinkman slab whose effective viscosity ratio was fitted to three-dimensional Stokes solutions of the
//! unit cell (square arrays, diameter to pitch 0.2 to 0.7, gap to pitch 0.1 to 1.5: within 0.5 %).

use crate::problem::Lattice;
use std::f64::consts::PI;

/// An array of cylinders between two faces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Arrangement.
    pub lattice: Lattice,
    /// Distance of neighbours, m.
    pub pitch_m: f64,
    /// Diameter, m; smaller than the pitch.
    pub diameter_m: f64,
    /// Gap, m.
    pub gap_m: f64,
}

/// Solid shares of [`DRAG_SQUARE`] and [`DRAG_HEXAGONAL`]: 0.05 to 0.65 in steps of 0.05.
const FIRST_SHARE: f64 = 0.05;

/// Drag per length over viscosity and superficial velocity, square array, at solid shares 0.05, 0.10, ... 0.65. Stokes flow in
/// the unit cell by least-squares collocation (36 terms); at 0.05 to 0.6 these are the printed values of Sangani and
/// Acrivos 1982, table 1.
const DRAG_SQUARE: [f64; 13] = [
    15.557822, 24.831675, 36.300281, 51.526948, 72.614679, 102.88131, 147.93922, 217.8944, 332.3013,
    532.5495, 917.250, 1763.5, 4067.0,
];

/// The same for the hexagonal array, by the same method.
const DRAG_HEXAGONAL: [f64; 13] = [
    15.737733, 25.132025, 36.522217, 51.147625, 70.509965, 96.793354, 133.38471, 185.76973, 263.22198,
    382.2101, 573.813, 901.54, 1510.3,
];

impl Cell {
    /// Share of the plan area that bumps cover.
    pub fn solid(self) -> f64 {
        PI * self.diameter_m * self.diameter_m / (4.0 * self.area())
    }

    /// Plan area of a cell, m2.
    pub fn area(self) -> f64 {
        self.lattice.cell_share() * self.pitch_m * self.pitch_m
    }

    /// Permeability, m2, over the superficial velocity.
    ///
    /// Valid for square arrays with diameter to pitch up to 0.7 and gap to pitch 0.1 to 1.5, and hexagonal ones up to a solid
    /// share of 0.15 (0.8 %); [`Cell::outside`] says when it is not.
    pub fn permeability(self) -> f64 {
        let c = self.solid();
        let drag = drag(self.lattice, c);
        let across = self.area() / drag;
        let islands = plane_with_discs(self.lattice, c);
        let tall = 1.0 + 0.9034 * c.sqrt() + 0.9037 * c + 5.402 * c * c;
        let ratio =
            tall - (tall - 1.0 / islands) * (-2.803 * self.gap_m / (self.pitch_m - self.diameter_m)).exp();
        let a = self.gap_m / (2.0 * (ratio * across).sqrt());
        // 1 - tanh(a)/a loses digits for small a; its series there.
        let profile = if a < 0.02 { a * a / 3.0 - 2.0 * a.powi(4) / 15.0 } else { 1.0 - a.tanh() / a };
        across * profile
    }

    /// A sentence when the cell lies outside of the range of [`Cell::permeability`].
    pub fn outside(self) -> Option<String> {
        let (tight, slender) = (self.diameter_m / self.pitch_m, self.gap_m / self.pitch_m);
        if tight > 0.7 {
            return Some(format!(
                "The bumps take {:.0} % of their pitch; the permeability is fitted up to 70 %.",
                100.0 * tight
            ));
        }
        if !(0.1..=1.5).contains(&slender) {
            return Some(format!(
                "The gap is {slender:.2} of the pitch; the permeability is fitted from 0.1 to 1.5."
            ));
        }
        (self.lattice == Lattice::Hexagonal && self.solid() > 0.15).then(|| {
            format!(
                "The bumps take {:.0} % of the plan; for a hexagonal array the permeability is checked up to 15 %.",
                100.0 * self.solid()
            )
        })
    }
}

/// Solid share at which neighbours touch.
fn touching(lattice: Lattice) -> f64 {
    PI / (4.0 * lattice.cell_share())
}

/// Drag per length of a cylinder in an array over viscosity and superficial velocity, at a solid share.
///
/// Below a share of 0.05 by J. E. Drummond and M. I. Tahir, Int. J. Multiphase Flow 10 (1984) 515 (from memory); above, the table,
/// interpolated after its growth towards touching bumps, a power of 5/2, is taken out. Above 0.65 extrapolated.
pub fn drag(lattice: Lattice, solid: f64) -> f64 {
    if solid < FIRST_SHARE {
        let c = solid;
        let log = (1.0 / c).ln();
        return 8.0 * PI
            / match lattice {
                Lattice::Square => {
                    log - 1.4763 + (2.0 * c - 0.7959 * c * c) / (1.0 + 0.4892 * c - 1.6049 * c * c)
                }
                Lattice::Hexagonal => log - 1.4975 + 2.0 * c - 0.5 * c * c,
            };
    }
    let table = match lattice {
        Lattice::Square => &DRAG_SQUARE,
        Lattice::Hexagonal => &DRAG_HEXAGONAL,
    };
    let smooth = |c: f64| (1.0 - (c / touching(lattice)).sqrt()).max(1e-6).powf(2.5);
    // Cubic through the four nearest entries, in the root of the share.
    let first = (((solid / FIRST_SHARE).floor() as usize).saturating_sub(2)).min(table.len() - 4);
    let share = |i: usize| FIRST_SHARE * (i as f64 + 1.0);
    let s = solid.sqrt();
    let mut log = 0.0;
    for (i, drag) in table.iter().enumerate().skip(first).take(4) {
        let mut weight = 1.0;
        for j in (first..first + 4).filter(|j| *j != i) {
            weight *= (s - share(j).sqrt()) / (share(i).sqrt() - share(j).sqrt());
        }
        log += weight * (drag * smooth(share(i))).ln();
    }
    log.exp() / smooth(solid)
}

/// Conductivity of a plane with insulating discs over that of the bare plane (Perrins, McKenzie and McPhedran 1979, from
/// memory), at a solid share.
pub fn plane_with_discs(lattice: Lattice, solid: f64) -> f64 {
    let c = solid;
    let lower = match lattice {
        Lattice::Square => {
            1.0 + c - 0.305827 * c.powi(4) / (1.0 - 1.402958 * c.powi(8)) - 0.013362 * c.powi(8)
        }
        Lattice::Hexagonal => {
            1.0 + c - 0.075422 * c.powi(6) / (1.0 - 1.060283 * c.powi(12)) - 0.000076 * c.powi(12)
        }
    };
    (1.0 - 2.0 * c / lower).max(1e-6)
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOTH: [Lattice; 2] = [Lattice::Square, Lattice::Hexagonal];

    #[test]
    fn the_two_laws_of_drag_meet() {
        for lattice in BOTH {
            let (below, above) = (drag(lattice, FIRST_SHARE - 1e-9), drag(lattice, FIRST_SHARE));
            assert!((below / above - 1.0).abs() < 1e-3, "{lattice:?} {below} {above}");
        }
    }

    proptest::proptest! {
        #[test]
        fn bumps_always_resist_and_more_bumps_resist_more(
            tight in 0.02..0.97_f64, slender in 0.01..10.0_f64, hexagonal: bool,
        ) {
            let lattice = BOTH[usize::from(hexagonal)];
            let cell = |tight: f64| Cell { lattice, pitch_m: 1e-4, diameter_m: tight * 1e-4, gap_m: slender * 1e-4 };
            let bare = cell(tight).gap_m.powi(2) / 12.0;
            let (some, more) = (cell(tight).permeability(), cell(tight * 1.02).permeability());
            proptest::prop_assert!(some > 0.0 && some < bare, "{some} {bare}");
            proptest::prop_assert!(more < some, "{more} {some}");
        }

        #[test]
        fn permeability_scales_with_the_square_of_lengths(tight in 0.1..0.7_f64, k in 0.1..10.0_f64) {
            let cell = Cell { lattice: Lattice::Square, pitch_m: 1e-4, diameter_m: tight * 1e-4, gap_m: 6e-5 };
            let scaled = Cell { pitch_m: k * 1e-4, diameter_m: k * tight * 1e-4, gap_m: k * 6e-5, ..cell };
            proptest::prop_assert!((scaled.permeability() / cell.permeability() / (k * k) - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn thin_and_tall_gaps_reach_the_exact_limits() {
        for lattice in BOTH {
            let cell = |gap_m| Cell { lattice, pitch_m: 1e-4, diameter_m: 4e-5, gap_m };
            let thin = cell(1e-9);
            let limit = thin.gap_m.powi(2) / 12.0 * plane_with_discs(lattice, thin.solid());
            assert!((thin.permeability() / limit - 1.0).abs() < 1e-3);
            let tall = cell(1.0);
            assert!((tall.permeability() / (tall.area() / drag(lattice, tall.solid())) - 1.0).abs() < 1e-3);
            assert!(tall.outside().is_some() && cell(5e-5).outside().is_none());
        }
    }
}
