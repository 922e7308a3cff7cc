//! The numerical error of a reading from its companion grids.
//!
//! The observed order is that of the differences of three grids (L. F. Richardson, Phil. Trans. R. Soc. A 210 (1911)
//! 307; P. J. Roache, J. Fluids Engineering 116 (1994) 405). Where it is between one and two and the differences have
//! one sign, the value is extrapolated and the error is the whole step of the extrapolation. Where they tell no order,
//! the value is that of the finest grid, and the error what the lowest order would leave, widened by Roache's 1.25.

/// A value with what its grids tell of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Value.
    pub value: f64,
    /// Numerical error, same unit.
    pub error: f64,
    /// Observed order; absent where the differences tell none.
    pub order: Option<f64>,
}

/// Orders that are believed of finite volumes with edges and corners.
const ORDERS: [f64; 2] = [1.0, 2.0];

/// A value from three grids, coarse to fine, whose spacings fall by `ratio` (above 1) each.
pub fn estimate([coarse, middle, fine]: [f64; 3], ratio: f64) -> Estimate {
    let (first, last) = (middle - coarse, fine - middle);
    if first == 0.0 && last == 0.0 {
        return Estimate { value: fine, error: 0.0, order: None };
    }
    let order = (first / last).abs().ln() / ratio.ln();
    if first * last > 0.0 && order > ORDERS[0] - 1e-6 {
        return extrapolated([middle, fine], ratio, order.min(ORDERS[1]));
    }
    let lowest = ratio.powf(ORDERS[0]) - 1.0;
    Estimate { value: fine, error: 1.25 * last.abs().max(first.abs()) / lowest, order: None }
}

/// A value from two grids with a known order.
pub fn extrapolated([middle, fine]: [f64; 2], ratio: f64, order: f64) -> Estimate {
    let step = (fine - middle) / (ratio.powf(order) - 1.0);
    Estimate { value: fine + step, error: step.abs(), order: Some(order) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_power_law_is_found_with_its_order() {
        for order in [1.0_f64, 1.5, 2.0] {
            let at = |h: f64| 5.0 + 0.3 * h.powf(order);
            let found = estimate([at(2.0), at(2_f64.sqrt()), at(1.0)], 2_f64.sqrt());
            assert!((found.order.unwrap() - order).abs() < 1e-9);
            assert!((found.value - 5.0).abs() < 1e-12 && (found.error - 0.3).abs() < 1e-9);
        }
    }

    #[test]
    fn differences_that_tell_no_order_are_not_extrapolated() {
        assert_eq!(estimate([1.0, 1.0, 1.0], 2.0).error, 0.0);
        for values in [[0.9, 1.0, 1.0], [1.0, 1.1, 1.3], [1.0, 1.2, 1.1], [1.0, 1.1, 1.199]] {
            let found = estimate(values, 1.5);
            assert!(found.order.is_none() && found.value == values[2]);
            assert!(found.error >= 1.25 * (values[2] - values[1]).abs() && found.error > 0.1);
        }
    }
}
