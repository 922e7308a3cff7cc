//! Properties over temperature: value, mean over an interval, and the strain of an expansion table.

use crate::problem::{Solid, Table};

/// The value at a temperature, K: linear between the points, constant beyond the ends.
pub fn at(table: &Table, kelvin: f64) -> f64 {
    let Some(&(first, value)) = table.first() else { return f64::NAN };
    if kelvin <= first {
        return value;
    }
    for w in table.windows(2) {
        let ((t0, v0), (t1, v1)) = (w[0], w[1]);
        if kelvin <= t1 {
            return v0 + (v1 - v0) * (kelvin - t0) / (t1 - t0);
        }
    }
    table.last().map_or(f64::NAN, |&(_, v)| v)
}

/// The integral from one temperature to another, in the unit of the table times K; exact for the broken line.
pub fn integral(table: &Table, from_k: f64, to_k: f64) -> f64 {
    if to_k < from_k {
        return -integral(table, to_k, from_k);
    }
    let mut knots = vec![from_k];
    knots.extend(table.iter().map(|p| p.0).filter(|&t| t > from_k && t < to_k));
    knots.push(to_k);
    knots.windows(2).map(|w| (w[1] - w[0]) * (at(table, w[0]) + at(table, w[1])) / 2.0).sum()
}

/// The mean over an interval; the value where the interval has no length.
pub fn mean(table: &Table, from_k: f64, to_k: f64) -> f64 {
    if to_k == from_k { at(table, from_k) } else { integral(table, from_k, to_k) / (to_k - from_k) }
}

/// Elastic constants over an interval of temperature, with the free strain across it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Elastic {
    /// Young's modulus, Pa.
    pub modulus: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Free strain from the start to the end of the interval.
    pub strain: f64,
}

impl Elastic {
    /// A solid over an interval: mean modulus, integral of the expansion.
    pub fn of(solid: &Solid, from_k: f64, to_k: f64) -> Elastic {
        Elastic {
            modulus: mean(&solid.modulus, from_k, to_k),
            poisson: solid.poisson,
            strain: integral(&solid.expansion, from_k, to_k),
        }
    }

    /// Shear modulus, Pa.
    pub fn shear(&self) -> f64 {
        self.modulus / (2.0 * (1.0 + self.poisson))
    }

    /// Biaxial modulus E / (1 - nu), Pa.
    pub fn biaxial(&self) -> f64 {
        self.modulus / (1.0 - self.poisson)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_broken_line_is_integrated_exactly() {
        let table = vec![(300.0, 1.0), (400.0, 3.0)];
        assert_eq!(at(&table, 200.0), 1.0);
        assert_eq!(at(&table, 350.0), 2.0);
        assert_eq!(at(&table, 500.0), 3.0);
        assert!((integral(&table, 200.0, 500.0) - (100.0 + 200.0 + 300.0)).abs() < 1e-9);
        assert!((integral(&table, 500.0, 200.0) + 600.0).abs() < 1e-9);
        assert_eq!(mean(&table, 350.0, 350.0), 2.0);
    }
}
