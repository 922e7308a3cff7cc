//! One angle for each region of the face: the mean of its readings, with what the mean and a further place are uncertain by.

use super::{NoMap, Placed, check};

/// The readings of one region.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RegionMean {
    /// Number of readings.
    pub count: usize,
    /// Mean angle, rad, each reading weighed by one over its variance together with that between places.
    pub angle_rad: f64,
    /// One standard deviation of the mean, rad.
    pub spread_of_mean_rad: f64,
    /// Standard deviation between places beyond the spread of the readings themselves, rad.
    pub between_places_rad: f64,
}

/// Means of regions: `region_of` gives the number of the region of a place, below `count`; readings without one are left out.
/// A region without readings has nothing. The variance between places is that of the moments (R. DerSimonian and N. Laird,
/// Controlled Clinical Trials 7 (1986) 177, eq. 8); with a single reading it is not known and taken as zero.
///
/// # Errors
/// [`NoMap::OutOfRange`] for a reading that makes no sense.
pub fn means(
    readings: &[Placed],
    count: usize,
    region_of: impl Fn([f64; 2]) -> Option<usize>,
) -> Result<Vec<Option<RegionMean>>, NoMap> {
    check(readings)?;
    let mut of = vec![Vec::new(); count];
    for r in readings {
        if let Some(list) = region_of(r.place_m).and_then(|i| of.get_mut(i)) {
            // A reading without spread is taken as good to a hundredth of a degree.
            list.push((r.angle_rad, r.spread_rad.max(1.7e-4)));
        }
    }
    Ok(of.iter().map(|list| mean(list)).collect())
}

fn mean(list: &[(f64, f64)]) -> Option<RegionMean> {
    let n = list.len();
    let weighed = |between: f64| {
        let weights: Vec<f64> = list.iter().map(|(_, s)| 1.0 / (s * s + between)).collect();
        let sum: f64 = weights.iter().sum();
        let mean = list.iter().zip(&weights).map(|((a, _), w)| a * w).sum::<f64>() / sum;
        (mean, sum, weights)
    };
    if n == 0 {
        return None;
    }
    let (first, sum, weights) = weighed(0.0);
    let q: f64 = list.iter().zip(&weights).map(|((a, _), w)| w * (a - first).powi(2)).sum();
    let scale = sum - weights.iter().map(|w| w * w).sum::<f64>() / sum;
    let between = if n > 1 { ((q - (n as f64 - 1.0)) / scale).max(0.0) } else { 0.0 };
    let (angle_rad, sum, _) = weighed(between);
    Some(RegionMean {
        count: n,
        angle_rad,
        spread_of_mean_rad: (1.0 / sum).sqrt(),
        between_places_rad: between.sqrt(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn placed(x: f64, angle_rad: f64, spread_rad: f64) -> Placed {
        Placed { place_m: [x, 0.0], angle_rad, spread_rad }
    }

    #[test]
    fn means_weigh_good_readings_more_and_empty_regions_have_none() {
        let readings = [
            placed(0.0, 0.50, 0.01),
            placed(0.1, 0.53, 0.03),
            placed(1.5, 1.0, 0.02),
            placed(9.0, 2.0, 0.02),
        ];
        let found = means(&readings, 3, |p| (p[0] < 5.0).then_some(p[0] as usize)).unwrap();
        let first = found[0].unwrap();
        // They agree within their spreads: weights 9 to 1.
        assert!((first.angle_rad - 0.503).abs() < 1e-12 && first.between_places_rad == 0.0);
        assert_eq!((first.count, found[1].unwrap().count, found[2]), (2, 1, None));
        let apart = [placed(0.0, 0.3, 0.001), placed(0.1, 0.7, 0.001), placed(0.2, 0.5, 0.001)];
        let found = means(&apart, 1, |_| Some(0)).unwrap()[0].unwrap();
        assert!((found.angle_rad - 0.5).abs() < 1e-9 && (found.between_places_rad - 0.2).abs() < 1e-3);
        assert!((found.spread_of_mean_rad - 0.2 / 3.0_f64.sqrt()).abs() < 1e-3);
        assert!(means(&[placed(0.0, f64::NAN, 0.1)], 1, |_| Some(0)).is_err());
    }
}
