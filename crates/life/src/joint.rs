//! One joint through temperature cycles until it settles: stress, inelastic strain and work by a constitutive law.
//!
//! The joint is one point. Its total equivalent strain follows the temperature, `stress = M (total - inelastic)` with
//! the elastic stiffness `M` of the joint (three times its shear modulus, in series with what gives way around it), and
//! the law gives the inelastic rate. A joint of a real package is not evenly strained: what solders show in the layer at
//! the pad is more than this mean, so energies here rank designs and show the spread of models better than they give a
//! life. The rates are stiff; they are marched by [`facedown_field::stiff`] from kink to kink.

use crate::anand::Anand;
use crate::creep::Creep;
use facedown_field::NoConvergence;
use facedown_field::stiff::{Accuracy, march};

/// The constitutive law of the solder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Law {
    /// Viscoplastic with one inner resistance.
    Anand(Anand),
    /// Steady creep.
    Creep(Creep),
}

impl Law {
    /// Alloy with source.
    pub fn name(&self) -> &'static str {
        match self {
            Law::Anand(law) => law.name,
            Law::Creep(law) => law.name,
        }
    }

    /// Young modulus at a temperature (K), Pa; held at a tenth of its value at 0 K where the line falls below that.
    pub fn modulus(&self, temperature: f64) -> f64 {
        let (at_zero, fall) = match self {
            Law::Anand(law) => (law.modulus, law.modulus_fall),
            Law::Creep(law) => (law.modulus, law.modulus_fall),
        };
        (at_zero - fall * temperature).max(0.1 * at_zero)
    }

    /// Poisson ratio.
    pub fn poisson(&self) -> f64 {
        match self {
            Law::Anand(law) => law.poisson,
            Law::Creep(law) => law.poisson,
        }
    }

    /// Equivalent stress (Pa) of steady flow at an equivalent strain rate (1/s) and a temperature (K); zero at rest.
    pub fn steady_stress(&self, rate: f64, temperature: f64) -> f64 {
        match self {
            Law::Anand(law) => law.steady_stress(rate, temperature),
            Law::Creep(law) => law.steady_stress(rate, temperature),
        }
    }

    fn rates(&self, stress: f64, resistance: f64, temperature: f64) -> (f64, f64) {
        match self {
            Law::Anand(law) => law.rates(stress, resistance, temperature),
            Law::Creep(law) => (law.rate(stress, temperature), 0.0),
        }
    }
}

/// How the joint answers elastically.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Elastic {
    /// Pulled along its axis: the Young modulus of the law.
    Axial,
    /// Sheared: three times the shear modulus of the law.
    Shear {
        /// What gives way in series: relative shear of the joint's height by a shear stress of 1 Pa, 1/Pa; zero for
        /// stiff parts.
        compliance: f64,
    },
}

/// A temperature cycle and the strain that it forces on the joint.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Temperature (K) in rising order and total equivalent strain from the cold end; at least two points.
    pub path: Vec<(f64, f64)>,
    /// Time of each ramp, s; above zero.
    pub ramp: f64,
    /// Time at the hot end, s.
    pub hot_dwell: f64,
    /// Time at the cold end, s.
    pub cold_dwell: f64,
}

/// The last cycle of the integration.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// Time in the cycle (s), temperature (K), total equivalent strain, equivalent stress (Pa), from the cold end.
    pub points: Vec<[f64; 4]>,
    /// Equivalent stress at the ends of ramp up, hot dwell, ramp down, cold dwell, Pa.
    pub ends: [f64; 4],
    /// Accumulated equivalent inelastic strain of the cycle.
    pub inelastic: f64,
    /// Inelastic work of the cycle, J/m3.
    pub work: f64,
    /// Inner resistance at the end, Pa; zero for a law without one.
    pub resistance: f64,
    /// Cycles integrated.
    pub cycles: usize,
    /// True when the work of the last two cycles differs by less than the asked share.
    pub settled: bool,
}

/// When to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effort {
    /// Error of each step relative to the values.
    pub accuracy: f64,
    /// Change of the work from cycle to cycle that counts as settled.
    pub settled: f64,
    /// Most cycles.
    pub cycles: usize,
}

impl Effort {
    /// Steps to 1e-6, work to 1 %, 40 cycles.
    pub const USUAL: Effort = Effort { accuracy: 1e-6, settled: 0.01, cycles: 40 };
}

/// Stress scale of the numbers that are marched, Pa.
const SCALE: f64 = 1e6;

/// Elastic stiffness between equivalent strain and equivalent stress, Pa.
fn stiffness(law: &Law, elastic: Elastic, temperature: f64) -> f64 {
    let young = law.modulus(temperature);
    match elastic {
        Elastic::Axial => young,
        Elastic::Shear { compliance } => {
            // tau = G (gamma - compliance tau); equivalents put sqrt(3) on both sides.
            3.0 / (2.0 * (1.0 + law.poisson()) / young + compliance)
        }
    }
}

/// A time of straight temperature and strain.
struct Piece {
    duration: f64,
    temperatures: [f64; 2],
    strains: [f64; 2],
    /// Which of the four ends of a cycle it reaches.
    end: Option<usize>,
}

/// Runs a joint, free of stress at the cold end, through cycles until its work settles.
///
/// # Errors
/// [`NoConvergence`] from the march, or [`NoConvergence::NotFinite`] for a course with fewer than two points.
pub fn cycle(
    law: &Law,
    elastic: Elastic,
    course: &Course,
    effort: &Effort,
) -> Result<Settled, NoConvergence> {
    let (Some(&(low, _)), Some(&(high, _))) = (course.path.first(), course.path.last()) else {
        return Err(NoConvergence::NotFinite);
    };
    if course.path.len() < 2 || !(course.ramp > 0.0 && high > low) {
        return Err(NoConvergence::NotFinite);
    }
    let mut pieces: Vec<Piece> = Vec::new();
    let along = |a: &(f64, f64), b: &(f64, f64), end| {
        let duration = course.ramp * (b.0 - a.0).abs() / (high - low);
        Piece { duration, temperatures: [a.0, b.0], strains: [a.1, b.1], end }
    };
    let still = |p: (f64, f64), duration, end| Piece {
        duration,
        temperatures: [p.0; 2],
        strains: [p.1; 2],
        end: Some(end),
    };
    let count = course.path.len();
    for (i, pair) in course.path.windows(2).enumerate() {
        pieces.push(along(&pair[0], &pair[1], (i + 2 == count).then_some(0)));
    }
    let hot = course.path[count - 1];
    pieces.push(still(hot, course.hot_dwell, 1));
    for (i, pair) in course.path.windows(2).rev().enumerate() {
        pieces.push(along(&pair[1], &pair[0], (i + 2 == count).then_some(2)));
    }
    let cold = course.path[0];
    pieces.push(still(cold, course.cold_dwell, 3));
    pieces.retain(|p| p.duration > 0.0 || p.end.is_some());

    let initial = match law {
        Law::Anand(law) => law.initial,
        Law::Creep(_) => SCALE,
    };
    // Inelastic strain, resistance, accumulated inelastic strain, work (MPa): all smooth over a change of the modulus.
    let mut y = [0.0, initial / SCALE, 0.0, 0.0];
    let range = course.path.iter().map(|p| p.1.abs()).fold(0.0, f64::max).max(1e-12);
    let accuracy = Accuracy {
        relative: effort.accuracy,
        absolute: [
            effort.accuracy * 0.01 * range,
            effort.accuracy,
            effort.accuracy * range,
            effort.accuracy * range * 10.0,
        ],
    };
    let mut before: Option<f64> = None;
    for number in 1..=effort.cycles {
        (y[2], y[3]) = (0.0, 0.0);
        let mut points = Vec::new();
        let mut ends = [0.0; 4];
        let mut clock = 0.0;
        for &Piece { duration, temperatures, strains, end } in &pieces {
            let at = |t: f64| {
                let share = if duration > 0.0 { (t / duration).clamp(0.0, 1.0) } else { 1.0 };
                (
                    temperatures[0] + share * (temperatures[1] - temperatures[0]),
                    strains[0] + share * (strains[1] - strains[0]),
                )
            };
            let stress = |t: f64, y: &[f64; 4]| {
                let (temperature, strain) = at(t);
                stiffness(law, elastic, temperature) * (strain - y[0])
            };
            let rate = |t: f64, y: &[f64; 4]| {
                let sigma = stress(t, y);
                let (flow, hardening) = law.rates(sigma, (y[1] * SCALE).max(1.0), at(t).0);
                [flow, hardening / SCALE, flow.abs(), flow * sigma / SCALE]
            };
            let mut seen = |t: f64, y: &[f64; 4]| {
                let (temperature, strain) = at(t);
                points.push([clock + t, temperature, strain, stress(t, y)]);
            };
            seen(0.0, &y);
            if duration > 0.0 {
                y = march(rate, (0.0, duration), y, &accuracy, 0.02 * duration, &mut seen)?;
            }
            if let Some(end) = end {
                ends[end] = stress(duration, &y);
            }
            clock += duration;
        }
        let work = y[3] * SCALE;
        let settled =
            before.is_some_and(|before| (work - before).abs() <= effort.settled * work.abs().max(1e-300));
        before = Some(work);
        if settled || number == effort.cycles {
            return Ok(Settled {
                points,
                ends,
                inelastic: y[2],
                work,
                resistance: if matches!(law, Law::Anand(_)) { y[1] * SCALE } else { 0.0 },
                cycles: number,
                settled,
            });
        }
    }
    Err(NoConvergence::TooSlow)
}

/// Stress (Pa) of a bar pulled at a lasting strain rate (1/s) at one temperature (K) up to a strain.
///
/// # Errors
/// [`NoConvergence`] from the march.
pub fn pull(
    law: &Anand,
    modulus: f64,
    rate: f64,
    temperature: f64,
    strain: f64,
) -> Result<f64, NoConvergence> {
    let accuracy = Accuracy { relative: 1e-8, absolute: [1e-8, 1e-8] };
    let rates = |_: f64, y: &[f64; 2]| {
        let (flow, hardening) = law.rates(y[0] * SCALE, (y[1] * SCALE).max(1.0), temperature);
        [modulus * (rate - flow) / SCALE, hardening / SCALE]
    };
    let start = [0.0, law.initial / SCALE];
    Ok(march(rates, (0.0, strain / rate), start, &accuracy, 0.0, |_, _| {})?[0] * SCALE)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::anand::MYSORE;
    use crate::creep::{SCHUBERT, WIESE};

    fn course(dwell: f64) -> Course {
        Course { path: vec![(273.15, 0.0), (373.15, 5e-3)], ramp: 900.0, hot_dwell: dwell, cold_dwell: dwell }
    }

    #[test]
    fn more_compliance_means_less_work() {
        let run = |compliance| {
            cycle(&Law::Creep(SCHUBERT), Elastic::Shear { compliance }, &course(900.0), &Effort::USUAL)
                .unwrap()
                .work
        };
        assert!(run(1e-9) < run(1e-10) && run(1e-10) < run(0.0));
    }

    #[test]
    fn no_dwell_and_no_strain_are_fine() {
        for law in [Law::Anand(MYSORE), Law::Creep(SCHUBERT), Law::Creep(WIESE)] {
            let short = cycle(&law, Elastic::Axial, &course(0.0), &Effort::USUAL).unwrap();
            let long = cycle(&law, Elastic::Axial, &course(3600.0), &Effort::USUAL).unwrap();
            assert!(short.work > 0.0 && long.inelastic > short.inelastic);
            let still = Course { path: vec![(273.15, 0.0), (373.15, 0.0)], ..course(60.0) };
            let still = cycle(&law, Elastic::Axial, &still, &Effort::USUAL).unwrap();
            assert_eq!((still.work, still.inelastic, still.settled), (0.0, 0.0, true));
        }
        let flat = Course { path: vec![(300.0, 0.0), (300.0, 0.0)], ..course(60.0) };
        assert!(cycle(&Law::Creep(WIESE), Elastic::Axial, &flat, &Effort::USUAL).is_err());
    }
}
