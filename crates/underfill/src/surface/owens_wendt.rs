//! Dispersive and polar part from two or more probe liquids, by the geometric mean.
//!
//! D. K. Owens and R. C. Wendt, J. Appl. Polym. Sci. 13 (1969) 1741, eq. 4, for two liquids; D. H. Kaelble, J. Adhesion 2
//! (1970) 66, and W. Rabel, Farbe und Lack 77 (1971) 997, for the straight line through more. In the square roots of the
//! solid's parts the system is linear. A negative root is not physical: it is set to zero, the other is fitted again,
//! and the result says so.

use super::{NoEnergy, Parts};
use facedown_field::dense;

/// An angle read with a liquid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Read {
    /// The liquid's parts, N/m.
    pub liquid: Parts,
    /// Angle, rad.
    pub angle_rad: f64,
    /// One standard deviation, rad.
    pub spread_rad: f64,
}

/// A surface energy with its quality.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// The solid's parts, J/m2.
    pub parts: Parts,
    /// One standard deviation of dispersive part, polar part and total, J/m2, by first-order propagation of the spreads.
    pub spread: [f64; 3],
    /// Root of the mean square of `tension (1 + cos angle) / (2 sqrt d)` against the line, (J/m2)^0.5; zero for two liquids
    /// whose roots are both positive.
    pub residual: f64,
    /// True where a negative root was set to zero.
    pub clamped: bool,
    /// Ratio of the larger to the smaller singular value of the system: how much it amplifies errors of the readings.
    pub condition: f64,
}

/// Fits the parts to the readings, all with equal weight. Readings with the same liquid may repeat.
///
/// # Errors
/// [`NoEnergy`] for fewer than two readings, liquids that are too alike, or values that are not physical.
pub fn fit(reads: &[Read]) -> Result<Fit, NoEnergy> {
    if reads.len() < 2 {
        return Err(NoEnergy::TooFew { given: reads.len(), needed: 2 });
    }
    let physical = |r: &Read| {
        (0.0..=std::f64::consts::PI).contains(&r.angle_rad)
            && r.spread_rad.is_finite()
            && r.liquid.dispersive > 0.0
            && r.liquid.polar >= 0.0
            && r.liquid.total().is_finite()
    };
    if !reads.iter().all(physical) {
        return Err(NoEnergy::NotPhysical);
    }
    let angles: Vec<f64> = reads.iter().map(|r| r.angle_rad).collect();
    let (x, y, clamped) = roots(reads, &angles)?;
    let parts_at = |angles: &[f64]| roots(reads, angles).map(|(x, y, _)| [x * x, y * y, x * x + y * y]);
    let mut variance = [0.0; 3];
    for i in 0..reads.len() {
        let shifted = |by: f64| {
            let mut angles = angles.clone();
            angles[i] += by;
            parts_at(&angles)
        };
        let step = 1e-5;
        let (up, down) = (shifted(step)?, shifted(-step)?);
        for k in 0..3 {
            variance[k] += ((up[k] - down[k]) / (2.0 * step) * reads[i].spread_rad).powi(2);
        }
    }
    let residual = (reads.iter().map(|r| (left(r, r.angle_rad) - x - y * slope(r)).powi(2)).sum::<f64>()
        / reads.len() as f64)
        .sqrt();
    let (s0, s1, s2) = reads.iter().fold((0.0, 0.0, 0.0), |(a, b, c), r| {
        let s = slope(r);
        (a + 1.0, b + s, c + s * s)
    });
    let half = 0.5 * (s0 + s2);
    let root = (0.25 * (s0 - s2).powi(2) + s1 * s1).sqrt();
    let condition = ((half + root) / (half - root).max(f64::MIN_POSITIVE)).sqrt();
    Ok(Fit {
        parts: Parts { dispersive: x * x, polar: y * y },
        spread: variance.map(f64::sqrt),
        residual,
        clamped,
        condition,
    })
}

fn left(read: &Read, angle: f64) -> f64 {
    read.liquid.total() * (1.0 + angle.cos()) / (2.0 * read.liquid.dispersive.sqrt())
}

fn slope(read: &Read) -> f64 {
    (read.liquid.polar / read.liquid.dispersive).sqrt()
}

/// Square roots of the dispersive and the polar part, and whether one was set to zero.
fn roots(reads: &[Read], angles: &[f64]) -> Result<(f64, f64, bool), NoEnergy> {
    let rows: Vec<f64> = reads.iter().flat_map(|r| [1.0, slope(r)]).collect();
    let right: Vec<f64> = reads.iter().zip(angles).map(|(r, a)| left(r, *a)).collect();
    let solution = dense::least_squares(&rows, 2, &right)?;
    let (x, y) = (solution[0], solution[1]);
    if x >= 0.0 && y >= 0.0 {
        return Ok((x, y, false));
    }
    let alone = |column: usize| {
        let (mut over, mut under) = (0.0, 0.0);
        for (i, r) in right.iter().enumerate() {
            over += rows[2 * i + column] * r;
            under += rows[2 * i + column].powi(2);
        }
        if under > 0.0 { (over / under).max(0.0) } else { 0.0 }
    };
    Ok(if y < 0.0 { (alone(0), 0.0, true) } else { (0.0, alone(1), true) })
}

#[cfg(test)]
mod tests {
    use super::*;

    const WATER: Parts = Parts { dispersive: 0.0218, polar: 0.051 };
    const OIL: Parts = Parts { dispersive: 0.0508, polar: 0.0 };

    fn read(liquid: Parts, degrees: f64) -> Read {
        Read { liquid, angle_rad: degrees.to_radians(), spread_rad: 2.0_f64.to_radians() }
    }

    #[test]
    fn a_negative_root_is_clamped_and_said() {
        let fit = fit(&[read(WATER, 120.0), read(OIL, 20.0)]).unwrap();
        assert!(fit.clamped && fit.parts.polar == 0.0 && fit.parts.dispersive > 0.0 && fit.residual > 0.0);
    }

    #[test]
    fn what_cannot_be_told_is_refused() {
        assert_eq!(fit(&[read(WATER, 60.0)]), Err(NoEnergy::TooFew { given: 1, needed: 2 }));
        assert_eq!(fit(&[read(WATER, 60.0), read(WATER, 62.0)]), Err(NoEnergy::Alike));
        assert_eq!(fit(&[read(WATER, f64::NAN), read(OIL, 30.0)]), Err(NoEnergy::NotPhysical));
        assert_eq!(fit(&[read(WATER, 190.0), read(OIL, 30.0)]), Err(NoEnergy::NotPhysical));
    }

    #[test]
    fn the_spread_grows_with_that_of_the_readings_and_with_likeness() {
        let glycol = Parts { dispersive: 0.029, polar: 0.019 };
        let good = fit(&[read(WATER, 60.0), read(OIL, 35.0)]).unwrap();
        let alike = fit(&[read(WATER, 60.0), read(glycol, 35.0)]).unwrap();
        assert!(
            good.spread[2] > 0.0
                && alike.spread[0] > 2.0 * good.spread[0]
                && alike.condition > good.condition
        );
        let wide = |r: Read| Read { spread_rad: 2.0 * r.spread_rad, ..r };
        let doubled = fit(&[wide(read(WATER, 60.0)), wide(read(OIL, 35.0))]).unwrap();
        assert!((doubled.spread[2] / good.spread[2] - 2.0).abs() < 1e-9);
    }
}
