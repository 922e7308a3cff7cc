//! An array of joints of several kinds under a rigid part: where it comes to rest.
//!
//! Every joint pushes with the force of its own shape at its own height, which is the gap of the two faces at its place
//! less the metal of its pads. The part rests where the forces add up to its weight. Small or high-lying joints may then
//! hang in tension; those whose bump does not reach across the gap are left out and the rest is solved again, until the
//! set of touching joints stands still. The solder's own weight counts half, which is its effect to first order in the
//! Bond number (the centre of the liquid rises by half of what the upper pad rises).

use crate::gap::Levels;
use crate::joint::{Branch, Joint, Reach, Shape};
use crate::problem::{Array, Kind};
use crate::{sphere, volume};
use facedown_field::root;

/// Standard gravity, m/s2 (3rd CGPM, 1901).
pub const GRAVITY: f64 = 9.806_65;

/// A kind of joint, ready to be shaped.
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// Liquid and pads.
    pub joint: Joint,
    /// Number of joints.
    pub count: f64,
    /// Metal between the faces and the solder, both sides, m.
    pub metal: f64,
    /// Height that the solder bridges before joining: bump on the upper pad and deposit on the lower one, m.
    pub free_height: f64,
}

impl Member {
    /// The kind with its volumes added up.
    pub fn new(kind: &Kind) -> Member {
        let (upper, lower) = (0.5 * kind.upper_diameter, 0.5 * kind.lower_diameter);
        let (above, below) = (volume::total(&kind.upper_solder), volume::total(&kind.lower_solder));
        Member {
            joint: Joint { lower, upper, volume: above + below },
            count: f64::from(kind.count),
            metal: kind.upper_metal + kind.lower_metal,
            free_height: sphere::cap_height(upper, above) + sphere::cap_height(lower, below),
        }
    }
}

/// Where an array rests.
#[derive(Debug, Clone, PartialEq)]
pub struct Rest {
    /// Mean gap between both faces, m.
    pub gap: f64,
    /// Load on the array with half of the solder's weight, N.
    pub load: f64,
    /// Number of joints that do not touch.
    pub open: f64,
    /// Sum of the vertical stiffnesses of the joints that touch, N/m.
    pub vertical: f64,
    /// True where some joints are pressed until the solder runs over a pad's edge; their forces are continued in a
    /// straight line.
    pub overrun: bool,
}

/// Why an array does not rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoRest {
    /// The joints cannot hold what lifts the part.
    LiftsOff,
    /// No joint touches.
    NoneTouches,
    /// Some joint would be pressed below half of the height at which its solder runs over a pad's edge.
    Crushed,
    /// The numbers are too extreme for the method.
    Lost,
}

struct Place {
    member: usize,
    deviation: f64,
    number: f64,
    touches: bool,
}

/// Force over surface tension and stiffness of one joint at a height, continued beyond the ends of its branch.
fn law(branch: &Branch, height: f64) -> (f64, f64, bool) {
    match branch.at_height(height) {
        Reach::Shape(shape) => (shape.force(), shape.vertical_stiffness(), false),
        Reach::Overruns(last) => {
            let stiffness = last.vertical_stiffness();
            (last.force() + stiffness * (last.height - height), stiffness, true)
        }
        Reach::Parts(_) => (0.0, 0.0, false),
    }
}

/// Finds the rest of an array whose liquid has the surface tension `tension` in N/m.
///
/// # Errors
/// [`NoRest`] says why there is none.
pub fn rest(array: &Array, members: &[Member], levels: &Levels, tension: f64) -> Result<Rest, NoRest> {
    let mut places: Vec<Place> = members
        .iter()
        .enumerate()
        .flat_map(|(member, m)| {
            levels.levels.iter().map(move |level| Place {
                member,
                deviation: level.deviation,
                number: m.count * level.share,
                touches: true,
            })
        })
        .filter(|place| place.number > 0.0)
        .collect();
    let solder_weight: f64 =
        members.iter().map(|m| m.count * m.joint.volume * array.solder.density_liquid * GRAVITY).sum();
    let load = array.carried_mass * GRAVITY + array.extra_force + 0.5 * solder_weight;
    let branches: Vec<Branch> = members.iter().map(|m| Branch::new(m.joint)).collect();
    let members: Vec<(&Member, &Branch)> = members.iter().zip(&branches).collect();
    let mut found = settle(&members, &places, load / tension)?;
    // A joint that does not reach hangs on the part if it is counted; without it the part rises, so that none comes back
    // and every round but the last leaves one out at least.
    let mut rounds = places.len();
    loop {
        let mut changed = false;
        for place in &mut places {
            let (m, branch) = members[place.member];
            let height = found + place.deviation - m.metal;
            let parted = || matches!(branch.at_height(height), Reach::Parts(_));
            let touches = height <= m.free_height && !parted();
            changed |= touches != place.touches;
            place.touches = touches;
        }
        if !changed {
            break;
        }
        rounds = rounds.checked_sub(1).ok_or(NoRest::Lost)?;
        found = settle(&members, &places, load / tension)?;
    }
    if places.iter().filter(|p| p.touches).any(|p| crushed(members[p.member], found + p.deviation)) {
        return Err(NoRest::Crushed);
    }
    let (_, stiffness, overrun) = sum(&members, &places, found);
    Ok(Rest {
        gap: found,
        load,
        open: places.iter().filter(|p| !p.touches).map(|p| p.number).fold(0.0, |sum, n| sum + n),
        vertical: stiffness * tension,
        overrun,
    })
}

/// Whether a joint is pressed so far that the straight continuation of its force says nothing any more.
fn crushed((member, branch): (&Member, &Branch), gap: f64) -> bool {
    let height = gap - member.metal;
    match branch.at_height(height) {
        Reach::Overruns(last) => height < 0.5 * last.height,
        Reach::Shape(_) | Reach::Parts(_) => false,
    }
}

fn sum(members: &[(&Member, &Branch)], places: &[Place], gap: f64) -> (f64, f64, bool) {
    let mut total = (0.0, 0.0, false);
    for place in places.iter().filter(|p| p.touches) {
        let (m, branch) = members[place.member];
        let (force, stiffness, overrun) = law(branch, gap + place.deviation - m.metal);
        total.0 += place.number * force;
        total.1 += place.number * stiffness;
        total.2 |= overrun;
    }
    total
}

/// The gap at which the touching joints carry `load` (over surface tension, m).
fn settle(members: &[(&Member, &Branch)], places: &[Place], load: f64) -> Result<f64, NoRest> {
    let touching: f64 = places.iter().filter(|p| p.touches).map(|p| p.number).sum();
    if touching <= 0.0 {
        return Err(NoRest::NoneTouches);
    }
    let free = |p: &Place| members[p.member].1.free_height();
    let weighted = |f: &dyn Fn(&Place) -> f64| {
        places.iter().filter(|p| p.touches).map(|p| p.number * f(p)).sum::<f64>() / touching
    };
    let start = weighted(&|p| free(p) + members[p.member].0.metal - p.deviation);
    let scale = weighted(&free);
    let excess = |gap: f64| sum(members, places, gap).0 - load;
    let (force, stiffness, _) = sum(members, places, start);
    let (mut here, mut value) = (start, force - load);
    // A little beyond where Newton's method would go, so that the rest lies between as a rule.
    let ahead = 1.2 * value / stiffness;
    let near = ahead.abs() < 0.2 * scale && ahead * value > 0.0;
    let mut step = if near { ahead } else { 0.01 * scale * value.signum() };
    for _ in 0..60 {
        if value == 0.0 {
            return Ok(here);
        }
        let next = here + step;
        let there = excess(next);
        if !there.is_finite() {
            return Err(NoRest::Lost);
        }
        if (there > 0.0) != (value > 0.0) {
            return root::bracketed(excess, here.min(next), here.max(next), 1e-14).map_err(|_| NoRest::Lost);
        }
        // Beyond a few free heights nothing holds any more; below, the straight continuation always ends the search.
        if next > start + 3.0 * scale + 1e3 * f64::EPSILON {
            return Err(NoRest::LiftsOff);
        }
        (here, value) = (next, there);
        step *= 1.5;
    }
    Err(NoRest::Lost)
}

/// The shape of a member where the gap deviates by `deviation`; the last shape of its branch where it has none.
pub fn shape_at(member: &Member, rest: &Rest, deviation: f64) -> (Shape, Ends) {
    match member.joint.at_height(rest.gap + deviation - member.metal) {
        Reach::Shape(shape) => (shape, Ends::Holds),
        Reach::Overruns(shape) => (shape, Ends::Overruns),
        Reach::Parts(shape) => (shape, Ends::Parts),
    }
}

/// Whether a joint holds its shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// It does.
    Holds,
    /// The solder runs over the edge of a pad.
    Overruns,
    /// It parts.
    Parts,
}
