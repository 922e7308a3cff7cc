//! Control charts of readings over lots (W. A. Shewhart 1931; NIST/SEMATECH e-Handbook of Statistical Methods, sec. 6.3.2).
//!
//! Lots of two readings or more: means with limits by the mean standard deviation within lots, and those deviations
//! themselves. Lots of one reading: individuals with limits by the mean moving range. Lots of unlike size have limits of their
//! own. A point beyond three deviations, or eight in a row on one side of the middle (Western Electric 1956, rules 1 and 4),
//! asks for a look at the process.

use super::NoMap;
use facedown_evidence::input::within;
use facedown_field::distribution::log_gamma;

/// One lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// Its name or date.
    pub name: String,
    /// Its readings, rad.
    pub angles_rad: Vec<f64>,
}

/// Which chart it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Means of lots, and standard deviations within them.
    MeansAndDeviations,
    /// Single readings, and moving ranges.
    IndividualsAndRanges,
}

/// A signal that a point gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Signal {
    /// Beyond three deviations.
    BeyondLimits,
    /// The last of eight or more in a row on one side of the middle.
    EightOnOneSide,
    /// The scatter of the lot (or the step from the lot before) is beyond its limits.
    Scatter,
}

/// One point of a chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// The lot's name.
    pub name: String,
    /// Mean or single reading, rad.
    pub angle_rad: f64,
    /// Lower and upper limit for it, rad.
    pub limits_rad: [f64; 2],
    /// Standard deviation in the lot, or the step from the lot before, rad; nothing for a first single reading.
    pub scatter_rad: Option<f64>,
    /// Lower and upper limit for that, rad.
    pub scatter_limits_rad: [f64; 2],
    /// What it signals; empty where all is as usual.
    pub signals: Vec<Signal>,
}

/// A control chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// Which.
    pub kind: Kind,
    /// Middle line, rad.
    pub middle_rad: f64,
    /// Standard deviation of a single reading within lots, or from lot to lot, rad.
    pub deviation_rad: f64,
    /// The points in the order of the lots.
    pub points: Vec<Point>,
}

impl Chart {
    /// True where no point gives a signal.
    pub fn is_under_control(&self) -> bool {
        self.points.iter().all(|p| p.signals.is_empty())
    }
}

/// Mean of the standard deviation of `n` normal values over the true one: `sqrt(2 / (n - 1)) gamma(n / 2) / gamma((n - 1) / 2)`
/// (NIST/SEMATECH e-Handbook, sec. 6.3.2.1); for two values or more.
pub fn c4(n: usize) -> f64 {
    let n = n as f64;
    (2.0 / (n - 1.0)).sqrt() * (log_gamma(0.5 * n) - log_gamma(0.5 * (n - 1.0))).exp()
}

/// Mean and standard deviation of the range of two normal values of deviation one: `2 / sqrt(pi)` and
/// `sqrt(2 - 4 / pi)`.
pub fn range_of_two() -> [f64; 2] {
    use std::f64::consts::PI;
    [2.0 / PI.sqrt(), (2.0 - 4.0 / PI).sqrt()]
}

/// Fewest lots of a chart.
pub const FEWEST_LOTS: usize = 3;
/// Lots on one side of the middle that give a signal.
const IN_A_ROW: usize = 8;

/// The chart of lots in their order.
///
/// # Errors
/// [`NoMap::TooFew`] below [`FEWEST_LOTS`] lots or for a lot without readings; [`NoMap::OutOfRange`] for an angle that makes no
/// sense.
pub fn chart(lots: &[Lot]) -> Result<Chart, NoMap> {
    if lots.len() < FEWEST_LOTS {
        return Err(NoMap::TooFew {
            what: "lots of a control chart",
            given: lots.len(),
            needed: FEWEST_LOTS,
        });
    }
    for lot in lots {
        if lot.angles_rad.is_empty() {
            return Err(NoMap::TooFew { what: "a lot of a control chart", given: 0, needed: 1 });
        }
        for angle in &lot.angles_rad {
            let what = format!("an angle of lot {}", lot.name);
            within(what, *angle, 0.0, std::f64::consts::PI, "from 0 to 180 deg")?;
        }
    }
    let mut chart = if lots.iter().all(|l| l.angles_rad.len() > 1) { means(lots) } else { individuals(lots) };
    signals(&mut chart);
    Ok(chart)
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn means(lots: &[Lot]) -> Chart {
    let deviation = |l: &Lot| {
        let m = mean(&l.angles_rad);
        (l.angles_rad.iter().map(|a| (a - m).powi(2)).sum::<f64>() / (l.angles_rad.len() as f64 - 1.0)).sqrt()
    };
    // Lots of unlike size: each deviation freed of its own bias; the middle by all readings.
    let sizes = |l: &Lot| l.angles_rad.len();
    let inside = mean(&lots.iter().map(|l| deviation(l) / c4(sizes(l))).collect::<Vec<f64>>());
    let all: usize = lots.iter().map(sizes).sum();
    let middle = lots.iter().map(|l| l.angles_rad.iter().sum::<f64>()).sum::<f64>() / all as f64;
    let points = lots
        .iter()
        .map(|l| {
            let (n, c) = (sizes(l) as f64, c4(sizes(l)));
            let reach = 3.0 * inside / n.sqrt();
            let about = 3.0 * inside * (1.0 - c * c).sqrt();
            Point {
                name: l.name.clone(),
                angle_rad: mean(&l.angles_rad),
                limits_rad: [middle - reach, middle + reach],
                scatter_rad: Some(deviation(l)),
                scatter_limits_rad: [(c * inside - about).max(0.0), c * inside + about],
                signals: Vec::new(),
            }
        })
        .collect();
    Chart { kind: Kind::MeansAndDeviations, middle_rad: middle, deviation_rad: inside, points }
}

fn individuals(lots: &[Lot]) -> Chart {
    let values: Vec<f64> = lots.iter().map(|l| mean(&l.angles_rad)).collect();
    let steps: Vec<f64> = values.windows(2).map(|p| (p[1] - p[0]).abs()).collect();
    let [d2, d3] = range_of_two();
    let (middle, step) = (mean(&values), mean(&steps));
    let deviation = step / d2;
    let points = lots
        .iter()
        .zip(&values)
        .enumerate()
        .map(|(i, (l, v))| Point {
            name: l.name.clone(),
            angle_rad: *v,
            limits_rad: [middle - 3.0 * deviation, middle + 3.0 * deviation],
            scatter_rad: (i > 0).then(|| steps[i - 1]),
            scatter_limits_rad: [(step - 3.0 * d3 * deviation).max(0.0), step + 3.0 * d3 * deviation],
            signals: Vec::new(),
        })
        .collect();
    Chart { kind: Kind::IndividualsAndRanges, middle_rad: middle, deviation_rad: deviation, points }
}

fn signals(chart: &mut Chart) {
    let middle = chart.middle_rad;
    let mut run = (0_usize, false);
    for point in &mut chart.points {
        let outside = |v: f64, [low, high]: [f64; 2]| v < low || v > high;
        if outside(point.angle_rad, point.limits_rad) {
            point.signals.push(Signal::BeyondLimits);
        }
        let above = point.angle_rad > middle;
        run = match point.angle_rad == middle {
            true => (0, above),
            false if run.1 == above => (run.0 + 1, above),
            false => (1, above),
        };
        if run.0 >= IN_A_ROW {
            point.signals.push(Signal::EightOnOneSide);
        }
        if point.scatter_rad.is_some_and(|s| outside(s, point.scatter_limits_rad)) {
            point.signals.push(Signal::Scatter);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use facedown_raster::render::Noise;

    fn lots(number: usize, each: usize, drift: impl Fn(usize) -> f64) -> Vec<Lot> {
        let mut noise = Noise::new(5);
        (0..number)
            .map(|i| Lot {
                name: format!("lot {i}"),
                angles_rad: (0..each).map(|_| 0.4 + drift(i) + 0.02 * noise.normal()).collect(),
            })
            .collect()
    }

    #[test]
    fn a_steady_process_is_under_control_and_its_deviation_is_found() {
        for each in [1, 5] {
            let found = chart(&lots(60, each, |_| 0.0)).unwrap();
            let signals = found.points.iter().filter(|p| !p.signals.is_empty()).count();
            assert!(signals <= 2, "{signals}");
            assert!((found.deviation_rad / 0.02 - 1.0).abs() < 0.15, "{}", found.deviation_rad);
        }
    }

    #[test]
    fn a_dirty_lot_a_slow_drift_and_a_patchy_lot_are_told() {
        let jump = chart(&lots(25, 4, |i| if i == 12 { 0.1 } else { 0.0 })).unwrap();
        assert!(jump.points[12].signals.contains(&Signal::BeyondLimits) && !jump.is_under_control());
        let drift = chart(&lots(30, 4, |i| if i > 14 { 0.02 } else { 0.0 })).unwrap();
        assert!(drift.points.iter().any(|p| p.signals.contains(&Signal::EightOnOneSide)));
        let mut patchy = lots(20, 5, |_| 0.0);
        patchy[7].angles_rad = vec![0.2, 0.6, 0.4, 0.25, 0.55];
        assert!(chart(&patchy).unwrap().points[7].signals.contains(&Signal::Scatter));
    }

    #[test]
    fn too_few_lots_are_refused() {
        assert!(chart(&lots(2, 3, |_| 0.0)).is_err());
        assert!(chart(&lots(5, 0, |_| 0.0)).is_err());
        let mut wrong = lots(5, 2, |_| 0.0);
        wrong[3].angles_rad[0] = f64::NAN;
        assert!(chart(&wrong).unwrap_err().to_string().starts_with("an angle of lot lot 3 is NaN"));
    }
}
