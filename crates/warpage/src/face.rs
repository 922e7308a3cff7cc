//! Expansion of the lower face of a stack that bends as it likes: what joints below it feel of the parts above.

use crate::mixture;
use crate::problem::{Layer, Table};
use crate::section::{Section, stacked};
use facedown_field::NoConvergence;

/// Half the interval over which a coefficient of expansion is taken, K.
const HALF_STEP: f64 = 5.0;

/// Instantaneous expansion of the lower face in its plane, 1/K, at some temperatures (K), for layers from the bottom up
/// that are bonded and that nothing else holds (classical lamination theory, R. M. Jones, Mechanics of Composite
/// Materials, 2nd ed. 1999, section 4.3). It holds some two thicknesses away from edges.
///
/// # Errors
/// [`NoConvergence`] for layers without stiffness.
pub fn expansion_below(layers: &[Layer], kelvins: &[f64]) -> Result<Table, NoConvergence> {
    let mut table = Table::new();
    for &kelvin in kelvins {
        let (from, to) = (kelvin - HALF_STEP, kelvin + HALF_STEP);
        let plies: Vec<_> = layers.iter().map(|l| (l.thickness_m, mixture::layer(l, from, to))).collect();
        let free = Section::of(&stacked(0.0, &plies)).free()?;
        table.push((kelvin, (free.strain[0] + free.strain[1]) / 2.0 / (to - from)));
    }
    Ok(table)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Solid;

    #[test]
    fn a_pair_bends_as_timoshenko_says() {
        // S. Timoshenko 1925: two strips of equal thickness and modulus, curvature 3 (a2 - a1) / (2 h) a kelvin for the
        // whole height h; the middle plane expands by the mean, so a face by mean -+ 3/4 of the difference.
        let layer = |name: &str, a: f64| Layer::plain(name, 1e-3, Solid::constant(name, 1e11, 0.3, a));
        let table = expansion_below(&[layer("low", 10e-6), layer("high", 20e-6)], &[300.0]).unwrap();
        assert!((table[0].1 - (15e-6 - 0.75 * 10e-6)).abs() < 1e-12, "{table:?}");
        let alone = expansion_below(&[layer("low", 10e-6)], &[250.0, 350.0]).unwrap();
        assert!(alone.iter().all(|p| (p.1 - 10e-6).abs() < 1e-15));
    }
}
