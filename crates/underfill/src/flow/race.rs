//! The race between the bump-free rim and the bump field, and the air that it may trap.
//!
//! The rim resists less and may draw less or more than the bumps. Two limits bound its lead. A rim that exchanges no liquid with
//! the field runs by its own mobility: `x (sqrt(ratio of mobilities) - 1)`. A narrow rim, however, leaks into the field, and
//! its lead grows only with the logarithm of the distance (derived below). The estimate is the second, never above the first.
//!
//! *Narrow rim.* Behind the front of the field the pressure falls by `G = P / x`. The rim carries the excess flow `r G (K_r - K_c f_r /
//! f_c)` (r width, K permeability, f free share), which enters the field at the rim's tip. A flat front that is fed behind by a
//! line source of strength e (per viscosity) relaxes mode by mode at the rate `v |k|` (the stable case of P. G. Saffman and G. I. Taylor,
//! Proc. R. Soc. Lond. A 245 (1958) 312), so that it bulges at the source by `(2 e / (pi f v)) ln(x / r)` and a constant. The
//! lead is `(2 / pi) r (K_r / K_c - f_r / f_c) ln(x / r)`: the constant comes out as nothing, for obstacle-problem solutions of the
//! two-dimensional front (ratios of permeability 1.5 to 4, x/r 10 to 40) give this lead within 15 %. *Unequal drive.* A rim that draws
//! less than the field lags where the field's pressure at its side is below what its meniscus holds, by `x (1 - P_r / P_c)`; one
//! that draws more runs ahead by `x (K_r f_c / (K_c f_r)) (P_r / P_c - 1)`.
//! A conservative front on a grid (a meniscus may stand still but never runs back) leads by up to 0.6 rim widths less than
//! this sum for driving pressures of 0.75 to 1.1 of the field's, so that the estimate errs on the side of air.

use super::Medium;

/// A rim beside a field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Race {
    /// Width of the rim, m.
    pub rim_width_m: f64,
    /// The rim.
    pub rim: Medium,
    /// The bump field.
    pub field: Medium,
}

/// Lead of the rim's front, m; negative where it lags.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lead {
    /// Estimate with leakage into the field.
    pub estimate_m: f64,
    /// Bound without leakage.
    pub bound_m: f64,
}

impl Race {
    /// The lead when the field's front has come `distance_m`. Both media must draw the liquid in.
    pub fn lead(&self, distance_m: f64) -> Lead {
        let bound_m = distance_m * ((self.rim.mobility() / self.field.mobility()).sqrt() - 1.0);
        if self.rim_width_m <= 0.0 {
            return Lead { estimate_m: bound_m.min(0.0), bound_m };
        }
        let ratio = self.rim.permeability_m2 / self.field.permeability_m2;
        let free = self.rim.free / self.field.free;
        let grown = (distance_m / self.rim_width_m).ln().max(0.0);
        let leak = 2.0 / std::f64::consts::PI * self.rim_width_m * (ratio - free) * grown;
        let drive = self.rim.pressure_pa / self.field.pressure_pa - 1.0;
        let pull = distance_m * drive * if drive > 0.0 { ratio / free } else { 1.0 };
        Lead { estimate_m: (leak + pull).min(bound_m.max(0.0)), bound_m }
    }

    /// Ratio of the mobilities of rim and field.
    pub fn ratio(&self) -> f64 {
        self.rim.mobility() / self.field.mobility()
    }
}

/// Way on which the rim must gain its lead until it closes off the field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Way {
    /// Distance that the front of the field goes along the rim, m.
    pub along_m: f64,
    /// Further way across the far side on which both rim fronts meet, m: half the far side after one line, nothing where they
    /// meet head-on.
    pub detour_m: f64,
}

/// Share of the fill, in fluidity time over that of filling, at which a rim with this lead closes off what is then dry; 1 or
/// more where it traps nothing. The detour is run at the rim's own mobility, which leaves out its leakage and so errs
/// on the side of air.
pub fn closing_time(lead_m: f64, way: Way, ratio: f64) -> f64 {
    let left = lead_m - way.detour_m / ratio;
    if left <= 0.0 || way.along_m <= 0.0 {
        return 1.0;
    }
    (1.0 - (left / way.along_m).min(1.0)).powi(2)
}

/// Volume of trapped air over its volume when it was closed off, at equal temperature: `p / (p + drive)`, from the pressure p in
/// which it was trapped, Pa (Boyle's law).
pub fn shrunken(ambient_pa: f64, drive_pa: f64) -> f64 {
    ambient_pa / (ambient_pa + drive_pa.max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn medium(k: f64, free: f64, p: f64) -> Medium {
        Medium { permeability_m2: k, free, pressure_pa: p }
    }

    proptest::proptest! {
        #[test]
        fn leakage_never_helps_the_rim(
            k in 1.0..10.0_f64, free in 1.0..1.5_f64, p in 0.3..2.0_f64, width in 1e-5..2e-3_f64, x in 1e-3..2e-2_f64,
        ) {
            let race = Race { rim_width_m: width, rim: medium(k, free, p), field: medium(1.0, 1.0, 1.0) };
            let lead = race.lead(x);
            proptest::prop_assert!(lead.estimate_m <= lead.bound_m.max(0.0) + 1e-15);
            let way = Way { along_m: x, detour_m: 0.0 };
            let time = closing_time(lead.estimate_m, way, race.ratio());
            proptest::prop_assert!((0.0..=1.0).contains(&time));
            let longer = closing_time(lead.estimate_m, Way { detour_m: 0.1, ..way }, race.ratio());
            proptest::prop_assert!(longer >= time);
        }
    }

    #[test]
    fn a_rim_like_the_field_neither_leads_nor_lags() {
        let same = medium(1e-10, 0.8, 900.0);
        let lead = Race { rim_width_m: 3e-4, rim: same, field: same }.lead(5e-3);
        assert!(lead.estimate_m.abs() < 1e-15 && lead.bound_m.abs() < 1e-15);
        assert_eq!(closing_time(0.0, Way { along_m: 1.0, detour_m: 0.0 }, 1.0), 1.0);
    }
}
