//! Strain of a joint between two parts that expand differently.
//!
//! Without underfill every joint bears the whole mismatch up to its place: shear is distance times mismatch over height
//! (the closed form of IPC-SM-785 and of W. Engelmaier 1983). With underfill both parts are held together: shear lags
//! in from the edge (W. T. Chen and C. W. Nelson, Thermal stress in bonded joints, IBM Journal of Research and Development
//! 23 (1979) 179), and what the underfill does across the gap, held in the plane, pulls the joint along its axis. Both
//! are joined to the shear that does the same von Mises work. Joints stiffen the layer, and what of its displacement comes to
//! their solder is told by [`crate::cell`], with one secant modulus of the solder for a cycle: that of the farthest joint.
//! The parts bend as they like, which gives way to part of the mismatch (E. Suhir, Stresses in bi-metal thermostats,
//! Journal of Applied Mechanics 53 (1986) 657); a lid or ring that holds them flat raises the shear, mostly by less than a
//! factor of two. Thick plates shear over their own thickness too, by Suhir's interfacial compliance; against finite
//! elements in plane strain the shear of the layer from 0.1 to 0.5 mm inside the edge then comes out from 25 % too low to
//! 30 % too high (`tests/oracle/test_life.py`). The fillet and the singular field at the corner are left out.

use crate::cell::{Cell, held_modulus, secant};
use crate::energy::sources;
use crate::problem::{Attachment, Cycle, Plate, Underfill};
use crate::table::value;

/// Shear strain of a bare joint: factor times relative displacement (m) over height (m).
pub fn bare_shear(factor: f64, displacement: f64, height: f64) -> f64 {
    factor * displacement / height
}

/// Equivalent shear strain `sqrt(gamma^2 + 3 epsilon^2)` of a shear and an axial strain at constant volume: the shear with
/// the same equivalent strain of von Mises.
pub fn equivalent_shear(shear: f64, axial: f64) -> f64 {
    shear.hypot(3.0_f64.sqrt() * axial)
}

/// Two elastic plates joined by a compliant layer (Chen and Nelson 1979); with the shear that the plates themselves have
/// over their thickness (Suhir 1986) where [`ShearLag::plate_shear`] is not zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShearLag {
    /// Shear modulus of the layer, Pa.
    pub layer_shear_modulus: f64,
    /// Thickness of the layer, m.
    pub layer_thickness: f64,
    /// Sum over both plates of [`plate_compliance`], and [`bending_compliance`] where they are free to bend, m/N.
    pub plate_compliance: f64,
    /// Sum over both plates of [`shear_compliance`], m/Pa.
    pub plate_shear: f64,
    /// Distance from the middle to the edge, m.
    pub half_length: f64,
}

/// In-plane compliance of a plate with equal strain in both directions, `(1 - nu) / (E t)`, m/N.
pub fn plate_compliance(modulus: f64, poisson: f64, thickness: f64) -> f64 {
    (1.0 - poisson) / (modulus * thickness)
}

/// Flexural rigidity of a plate that bends alike in both directions, `E t^3 / (12 (1 - nu))`, N m.
pub fn rigidity(modulus: f64, poisson: f64, thickness: f64) -> f64 {
    modulus * thickness.powi(3) / (12.0 * (1.0 - poisson))
}

/// What bending gives way to at the joint of two plates of these thicknesses (m) and rigidities (N m):
/// `(t1 + t2)^2 / (4 (D1 + D2))`, m/N (Suhir 1986).
pub fn bending_compliance(thicknesses: [f64; 2], rigidities: [f64; 2]) -> f64 {
    let total = thicknesses[0] + thicknesses[1];
    total * total / (4.0 * (rigidities[0] + rigidities[1]))
}

/// What a plate gives way at its face to a shear stress that changes along it, beyond its mean: `t / (3 G)`, m/Pa
/// (Suhir 1986).
pub fn shear_compliance(modulus: f64, poisson: f64, thickness: f64) -> f64 {
    thickness * 2.0 * (1.0 + poisson) / (3.0 * modulus)
}

impl ShearLag {
    /// Displacement between both plates by a shear stress, `k = h / G + plate_shear`, m/Pa.
    fn compliance(&self) -> f64 {
        self.layer_thickness / self.layer_shear_modulus + self.plate_shear
    }

    /// How fast shear falls from the edge, `lambda = sqrt(plate_compliance / k)`, 1/m.
    pub fn decay(&self) -> f64 {
        (self.plate_compliance / self.compliance()).sqrt()
    }

    /// Shear strain of the layer at a distance (m) from the middle for a free mismatch strain:
    /// `mismatch sinh(lambda x) / (lambda k G cosh(lambda L))`; beyond the edge that of the edge.
    pub fn shear(&self, mismatch: f64, at: f64) -> f64 {
        let decay = self.decay();
        let (x, edge) = (decay * at.min(self.half_length), decay * self.half_length);
        if edge < 1e-6 {
            // So soft a layer that nothing is held back: the mismatch adds up from the middle.
            return mismatch * at.min(self.half_length) / (self.compliance() * self.layer_shear_modulus);
        }
        // sinh(x) / cosh(edge) without overflow.
        let ratio = ((x - edge).exp() - (-x - edge).exp()) / (1.0 + (-2.0 * edge).exp());
        mismatch * ratio / (decay * self.compliance() * self.layer_shear_modulus)
    }

    /// Shear stress at the edge, Pa: `mismatch tanh(lambda L) / (lambda k)`.
    pub fn edge_stress(&self, mismatch: f64) -> f64 {
        self.layer_shear_modulus * self.shear(mismatch, self.half_length)
    }
}

/// Strain across a thin layer whose in-plane strain is held: `free + 2 nu / (1 - nu) (free - held)` for a free expansion
/// strain and the held in-plane strain (plane Hooke's law with no stress across the layer). Valid for a layer much
/// thinner than wide and a Poisson ratio below 0.5.
pub fn across_thin_layer(free: f64, held: f64, poisson: f64) -> f64 {
    free + 2.0 * poisson / (1.0 - poisson) * (free - held)
}

/// One temperature of a path of strains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct At {
    /// Temperature of the joint, K.
    pub temperature: f64,
    /// Shear strain from the cold end.
    pub shear: f64,
    /// Axial strain from the cold end.
    pub axial: f64,
}

/// A short step of a temperature cycle: what does not depend on the place.
struct Step {
    temperature: f64,
    /// Free strains of the upper part, of its stiffened part, and of the lower part.
    upper: f64,
    shadow: f64,
    lower: f64,
    lag: Option<ShearLag>,
    /// Shear modulus of the underfill alone, Pa.
    underfill: f64,
    axial: f64,
}

/// The strains of all joints of an attachment through one temperature cycle from its cold to its hot end.
pub struct Paths<'a> {
    attachment: &'a Attachment,
    low: f64,
    solder: f64,
    steps: Vec<Step>,
}

/// Least number of steps between the ends.
const STEPS: usize = 16;

impl<'a> Paths<'a> {
    /// Prepares a cycle whose ramp and dwell take that long together, s: with underfill the solder has the secant modulus
    /// that the farthest joint settles to by the first law of its alloy.
    pub fn settled(attachment: &'a Attachment, cycle: &Cycle, duration: f64) -> Paths<'a> {
        let far = attachment.places.iter().map(|p| p.distance).fold(0.0, f64::max);
        let modulus = match (&attachment.underfill, sources(attachment.alloy).first()) {
            (Some(_), Some(source)) => secant(source.law(), duration, [cycle.low, cycle.high], |modulus| {
                range(&Paths::new(attachment, cycle, modulus).at(far))
            }),
            // Bare solder takes the whole displacement whatever its modulus.
            _ => 1e10,
        };
        Paths::new(attachment, cycle, modulus)
    }

    /// Prepares a cycle for a shear modulus of the solder, Pa, which counts with underfill only.
    pub fn new(attachment: &'a Attachment, cycle: &Cycle, solder: f64) -> Paths<'a> {
        let cell = Cell::of(attachment);
        let (low, high) = (cycle.low, cycle.high);
        let (lower_low, lower_high) = cycle.lower_part.unwrap_or((low, high));
        let share_of = |t: f64, from: f64, to: f64| (t - from) / (to - from);
        // Kinks of the tables, as shares of the way up.
        let plain = attachment.underfill.is_none()
            && [Some(&attachment.upper), Some(&attachment.lower)]
                .into_iter()
                .flatten()
                .all(|p| p.expansion.len() == 1)
            && attachment.shadow.as_ref().is_none_or(|s| s.expansion.len() == 1);
        let count = if plain { 1 } else { STEPS };
        let mut shares: Vec<f64> = (0..=count).map(|i| i as f64 / count as f64).collect();
        let mut knots = |table: &[(f64, f64)], from: f64, to: f64| {
            if from != to {
                shares.extend(table.iter().map(|p| share_of(p.0, from, to)).filter(|s| *s > 0.0 && *s < 1.0));
            }
        };
        let underfill = attachment.underfill.as_ref();
        knots(&attachment.upper.expansion, low, high);
        attachment.shadow.iter().for_each(|s| knots(&s.expansion, low, high));
        knots(&attachment.lower.expansion, lower_low, lower_high);
        if let Some(u) = underfill {
            let (from, to) = (0.5 * (low + lower_low), 0.5 * (high + lower_high));
            knots(&u.expansion, from, to);
            knots(&u.modulus, from, to);
            knots(&attachment.upper.modulus, low, high);
            knots(&attachment.lower.modulus, lower_low, lower_high);
        }
        shares.sort_unstable_by(f64::total_cmp);
        shares.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        let half_length =
            attachment.places.iter().map(|p| p.distance).fold(0.0, f64::max) + attachment.edge_margin;
        let steps = shares
            .windows(2)
            .map(|pair| {
                // Tables are read in the middle of a step, free of the sides of a jump.
                let (middle, width) = (0.5 * (pair[0] + pair[1]), pair[1] - pair[0]);
                let t_up = low + middle * (high - low);
                let t_low = lower_low + middle * (lower_high - lower_low);
                let (d_up, d_low) = (width * (high - low), width * (lower_high - lower_low));
                let upper = value(&attachment.upper.expansion, t_up) * d_up;
                let shadow = attachment.shadow.as_ref().map_or(upper, |s| value(&s.expansion, t_up) * d_up);
                let lower = value(&attachment.lower.expansion, t_low) * d_low;
                let mut step = Step {
                    temperature: low + pair[1] * (high - low),
                    upper,
                    shadow,
                    lower,
                    lag: None,
                    underfill: 0.0,
                    axial: 0.0,
                };
                if let Some(u) = underfill {
                    let t = 0.5 * (t_up + t_low);
                    step.axial = axial(attachment, u, &step, solder, [t_up, t, t_low], [d_up, d_low]);
                    step.underfill = value(&u.modulus, t) / (2.0 * (1.0 + u.poisson));
                    step.lag = Some(ShearLag {
                        layer_shear_modulus: cell.layer(solder, step.underfill),
                        layer_thickness: attachment.gap,
                        plate_compliance: compliance(&attachment.upper, t_up)
                            + compliance(&attachment.lower, t_low)
                            + bending_compliance(
                                [attachment.upper.thickness, attachment.lower.thickness],
                                [stiff(&attachment.upper, t_up), stiff(&attachment.lower, t_low)],
                            ),
                        plate_shear: sheared(&attachment.upper, t_up) + sheared(&attachment.lower, t_low),
                        half_length,
                    });
                }
                step
            })
            .collect();
        Paths { attachment, low, solder, steps }
    }

    /// What pads and pillar give way to in series with the solder in underfill: relative shear of the solder's height by a
    /// shear stress of 1 Pa, 1/Pa; and how much more strain than the solder's the joint as a whole is given.
    pub fn series(&self) -> (f64, f64) {
        let compliance = Cell::of(self.attachment).give() / self.attachment.solder_height;
        (compliance, 1.0 + compliance * self.solder)
    }

    /// The path of the joint at a distance (m) from the neutral point; its first point is the cold end.
    pub fn at(&self, distance: f64) -> Vec<At> {
        let a = self.attachment;
        let cell = Cell::of(a);
        let reach = a.shadow.as_ref().map_or(0.0, |s| s.reach);
        let mut now = At { temperature: self.low, shear: 0.0, axial: 0.0 };
        let mut path = vec![now];
        for step in &self.steps {
            now.temperature = step.temperature;
            now.shear += match &step.lag {
                Some(lag) => {
                    let upper = if distance <= reach { step.shadow } else { step.upper };
                    let displacement = lag.shear(upper - step.lower, distance) * a.gap;
                    cell.shear(displacement, self.solder, step.underfill)
                }
                None => {
                    let moved = step.shadow * distance.min(reach) + step.upper * (distance - reach).max(0.0);
                    bare_shear(a.strain_factor, moved - step.lower * distance, a.solder_height)
                }
            };
            now.axial += step.axial;
            path.push(now);
        }
        path
    }
}

fn stiff(plate: &Plate, temperature: f64) -> f64 {
    rigidity(value(&plate.modulus, temperature), plate.poisson, plate.thickness)
}

fn sheared(plate: &Plate, temperature: f64) -> f64 {
    shear_compliance(value(&plate.modulus, temperature), plate.poisson, plate.thickness)
}

fn compliance(plate: &Plate, temperature: f64) -> f64 {
    plate_compliance(value(&plate.modulus, temperature), plate.poisson, plate.thickness)
}

/// Axial strain of the solder in a step: the underfill, its in-plane strain held at the common strain of both parts, and
/// the joints open the gap together. Solder is taken to keep its volume, so its Young modulus is three times its shear
/// modulus.
fn axial(
    a: &Attachment,
    underfill: &Underfill,
    step: &Step,
    solder: f64,
    [t_up, t, t_low]: [f64; 3],
    [d_up, d_low]: [f64; 2],
) -> f64 {
    let (soft_up, soft_low) = (compliance(&a.upper, t_up), compliance(&a.lower, t_low));
    // Membranes that share one strain: each counts by its stiffness.
    let held = (step.upper / soft_up + step.lower / soft_low) / (1.0 / soft_up + 1.0 / soft_low);
    let d = 0.5 * (d_up + d_low);
    let across = across_thin_layer(value(&underfill.expansion, t) * d, held, underfill.poisson);
    let pillar = (a.gap - a.solder_height).max(0.0);
    let own = (pillar * a.pillar_expansion + a.solder_height * a.solder_expansion) * d;
    let column = held_modulus(value(&underfill.modulus, t), underfill.poisson);
    Cell::of(a).axial(a.gap * across, column, own, 3.0 * solder)
}

/// The largest equivalent shear strain between any two points of a path.
pub fn range(path: &[At]) -> f64 {
    let mut most = 0.0_f64;
    for (i, a) in path.iter().enumerate() {
        for b in &path[i + 1..] {
            // The square of [`equivalent_shear`], whose root is taken once.
            let (shear, axial) = (b.shear - a.shear, b.axial - a.axial);
            most = most.max(shear * shear + 3.0 * axial * axial);
        }
    }
    most.sqrt()
}

/// A path as temperature and equivalent strain (shear over the root of three) from the cold end, with the points left out
/// that lie on a straight line to a thousandth of the range.
pub fn course(path: &[At]) -> Vec<(f64, f64)> {
    let all: Vec<(f64, f64)> = path
        .iter()
        .map(|p| {
            (
                p.temperature,
                equivalent_shear(p.shear - path[0].shear, p.axial - path[0].axial) / 3.0_f64.sqrt(),
            )
        })
        .collect();
    let most = all.iter().map(|p| p.1).fold(0.0, f64::max);
    let mut kept = Vec::new();
    thin(&all, 1e-3 * most, &mut kept);
    kept.extend(all.last());
    kept
}

/// Keeps the first point and those that the line to the last misses by more than `reach` (D. H. Douglas and T. K. Peucker,
/// Cartographica 10 (1973) 112).
fn thin(points: &[(f64, f64)], reach: f64, kept: &mut Vec<(f64, f64)>) {
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return };
    let off = |p: &(f64, f64)| {
        let share = if last.0 > first.0 { (p.0 - first.0) / (last.0 - first.0) } else { 0.0 };
        (p.1 - first.1 - share * (last.1 - first.1)).abs()
    };
    let far =
        (1..points.len().saturating_sub(1)).max_by(|&i, &j| off(&points[i]).total_cmp(&off(&points[j])));
    match far.filter(|&i| off(&points[i]) > reach) {
        Some(i) => {
            thin(&points[..=i], reach, kept);
            thin(&points[i..], reach, kept);
        }
        None => kept.push(*first),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_soft_layer_lags_not_and_a_long_one_does() {
        let lag = |modulus| ShearLag {
            layer_shear_modulus: modulus,
            layer_thickness: 80e-6,
            plate_compliance: 4e-8,
            plate_shear: 0.0,
            half_length: 7.5e-3,
        };
        let free = 2e-3 * 7.5e-3 / 80e-6;
        assert!((lag(1e-6).shear(2e-3, 7.5e-3) / free - 1.0).abs() < 1e-6);
        assert!((lag(1e3).shear(2e-3, 7.5e-3) / free - 1.0).abs() < 1e-3);
        let stiff = lag(3e9);
        assert!(stiff.shear(2e-3, 7.5e-3) < 0.2 * free);
        assert!(stiff.shear(2e-3, 6e-3) < stiff.shear(2e-3, 7.5e-3));
        assert!(lag(1e15).shear(2e-3, 7.0e-3).is_finite());
        assert_eq!(stiff.shear(2e-3, 9e-3), stiff.shear(2e-3, 7.5e-3));
    }

    #[test]
    fn what_lies_above_sets_the_mismatch_below_it() {
        use crate::problem::Shadow;
        let cycle = crate::specimen::cycle("c", 0.0, 100.0, 1.0);
        let mut filled = crate::specimen::bumps();
        let plain = Paths::new(&filled, &cycle, 3e9).at(2e-3);
        // A part above that expands like the lower one leaves no shear within its reach, and all of it outside.
        filled.shadow =
            Some(Shadow { reach: 3e-3, expansion: filled.lower.expansion.clone(), limits: Vec::new() });
        let paths = Paths::new(&filled, &cycle, 3e9);
        assert_eq!(paths.at(2e-3).last().map(|p| p.shear), Some(0.0));
        assert!(plain.last().is_some_and(|p| p.shear != 0.0));
        let outside = Paths::new(&crate::specimen::bumps(), &cycle, 3e9).at(4e-3);
        assert_eq!(paths.at(4e-3), outside);
    }

    #[test]
    fn straight_paths_thin_to_their_ends_and_bends_stay() {
        let at = |t: f64, shear: f64| At { temperature: t, shear, axial: 0.0 };
        let line: Vec<At> = (0..=20).map(|i| at(300.0 + f64::from(i), 1e-3 * f64::from(i))).collect();
        assert_eq!(course(&line).len(), 2);
        let bent: Vec<At> =
            (0..=20).map(|i| at(300.0 + f64::from(i), 1e-3 * f64::from(i).max(10.0))).collect();
        let bent = course(&bent);
        assert_eq!(bent.len(), 3);
        assert_eq!(bent[1].0, 310.0);
        assert!((range(&line) - 0.02).abs() < 1e-15);
    }
}
