//! A straight front through regions one after the other: rim, bump field, rim.
//!
//! Darcy's law with one flow through all: in region i the front needs the fluidity time `free / pressure [R (x - x0) + (x -
//! x0)^2 / (2 K)]`, with R the sum of `length / K` of the regions that it has passed.

use super::Medium;

/// Regions in the order of the flow: medium and length, m. Lengths of zero are allowed.
#[derive(Debug, Clone, PartialEq)]
pub struct Regions(pub Vec<(Medium, f64)>);

impl Regions {
    /// Length of all, m.
    pub fn length(&self) -> f64 {
        self.0.iter().map(|r| r.1).sum()
    }

    /// Fluidity time, 1/Pa, until the front has come `distance_m`; nothing where a region on the way does not draw it in.
    pub fn fluidity_to(&self, distance_m: f64) -> Option<f64> {
        let (mut time, mut resistance, mut start) = (0.0, 0.0, 0.0);
        for &(medium, length) in &self.0 {
            let way = (distance_m - start).clamp(0.0, length);
            if way > 0.0 {
                if medium.pressure_pa <= 0.0 {
                    return None;
                }
                let k = medium.permeability_m2;
                time += medium.free / medium.pressure_pa * (resistance * way + way * way / (2.0 * k));
                resistance += length / k;
            }
            start += length;
        }
        Some(time)
    }

    /// Mobility (m2 Pa) of the uniform medium that fills the same length in the same time.
    pub fn mean_mobility(&self) -> Option<f64> {
        let length = self.length();
        Some(length * length / (2.0 * self.fluidity_to(length)?)).filter(|m| m.is_finite() && *m > 0.0)
    }

    /// Share of the free volume that lies before `distance_m`.
    pub fn share_to(&self, distance_m: f64) -> f64 {
        let (mut filled, mut whole, mut start) = (0.0, 0.0, 0.0);
        for &(medium, length) in &self.0 {
            filled += medium.free * (distance_m - start).clamp(0.0, length);
            whole += medium.free * length;
            start += length;
        }
        if whole > 0.0 { filled / whole } else { 1.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    proptest::proptest! {
        #[test]
        fn cutting_a_region_changes_nothing(cut in 0.01..0.99_f64, k in 1e-11..1e-9_f64, p in 10.0..5000.0_f64) {
            let medium = Medium { permeability_m2: k, free: 0.8, pressure_pa: p };
            let whole = Regions(vec![(medium, 1e-2)]);
            let parts = Regions(vec![(medium, cut * 1e-2), (medium, (1.0 - cut) * 1e-2)]);
            for x in [1e-3, 5e-3, 1e-2] {
                let (a, b) = (whole.fluidity_to(x).unwrap(), parts.fluidity_to(x).unwrap());
                proptest::prop_assert!((a / b - 1.0).abs() < 1e-12);
                proptest::prop_assert!((whole.share_to(x) - parts.share_to(x)).abs() < 1e-12);
            }
            proptest::prop_assert!((whole.mean_mobility().unwrap() / medium.mobility() - 1.0).abs() < 1e-12);
        }
    }
}
