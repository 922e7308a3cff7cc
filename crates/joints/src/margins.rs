//! Margins against bridging and against joints that never touch, and the pull that a joint bears.

use crate::equilibrium::{Member, Rest, shape_at};
use crate::gap::Levels;
use crate::joint::{Joint, Reach, Shape};
use crate::problem::{Array, Kind};
use crate::{sphere, volume};
use facedown_field::root;

/// A margin in m and the kind of joint that sets it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margin {
    /// Free distance; negative where it is used up.
    pub distance: f64,
    /// Index of the kind.
    pub kind: usize,
    /// True where the bump before joining sets it, not the joint.
    pub before_joining: bool,
}

/// Least free distance between neighbours of the widest kinds, at the narrowest gap and with the part misplaced: before
/// joining (bumps on their pads) and after it.
pub fn bridging(array: &Array, members: &[Member], rest: &Rest, levels: &Levels) -> Option<Margin> {
    let joined = members.iter().map(|m| shape_at(m, rest, levels.least).0.outline.extremes().0);
    let bumped = array.joints.iter().map(|kind| {
        0.5 * bump_width(&kind.upper_solder, kind.upper_diameter)
            .max(bump_width(&kind.lower_solder, kind.lower_diameter))
    });
    let widest = |radii: Vec<f64>, before_joining: bool| {
        let mut order: Vec<usize> = (0..radii.len()).filter(|&i| array.joints[i].count > 0).collect();
        order.sort_by(|&i, &j| radii[j].total_cmp(&radii[i]));
        let &first = order.first()?;
        let second = match order.get(1) {
            _ if array.joints[first].count > 1 => radii[first],
            Some(&next) => radii[next],
            // A single joint has no neighbour.
            None => return None,
        };
        // Once wetted, surface tension moves the part home; bumps on the two parts meet before that.
        let slip = if before_joining { 0.0 } else { array.misplacement };
        Some(Margin { distance: array.pitch - radii[first] - second - slip, kind: first, before_joining })
    };
    let after = widest(joined.collect(), false);
    let before = widest(bumped.collect(), true);
    after.into_iter().chain(before).min_by(|a, b| a.distance.total_cmp(&b.distance))
}

fn bump_width(supplies: &[crate::problem::Supply], pad: f64) -> f64 {
    let radius = 0.5 * pad;
    sphere::cap_width(radius, sphere::cap_height(radius, volume::total(supplies)))
}

/// Least reach of any bump beyond the gap that it must bridge at first melt: height of bump and deposit, less the
/// shortfall of the lowest bump, less the widest local gap at rest.
pub fn touching(array: &Array, members: &[Member], rest: &Rest, levels: &Levels) -> Option<Margin> {
    (0..members.len())
        .filter(|&i| members[i].count > 0.0)
        .map(|kind| {
            let m = &members[kind];
            let height = rest.gap + levels.most - m.metal;
            let distance = m.free_height - array.height_shortfall - height;
            Margin { distance, kind, before_joining: true }
        })
        .min_by(|a, b| a.distance.total_cmp(&b.distance))
}

/// The shape at which a wetted joint pulls hardest; pulled further with a constant force it parts.
pub fn hardest_pull(joint: &Joint) -> Option<Shape> {
    let start = joint.unloaded();
    let stiffness = |height: f64| match joint.at_height(height) {
        Reach::Shape(shape) => shape.vertical_stiffness(),
        Reach::Overruns(_) | Reach::Parts(_) => -1.0,
    };
    let mut height = start.height;
    for _ in 0..60 {
        let next = 1.06 * height;
        if stiffness(next) <= 0.0 {
            let place = root::bracketed(stiffness, height, next, 1e-10).ok()?;
            // Where the branch ends before the force turns, the bracket closes on its end from either side.
            return match joint.at_height(place) {
                Reach::Shape(shape) | Reach::Parts(shape) => Some(shape),
                Reach::Overruns(_) => None,
            };
        }
        height = next;
    }
    None
}

/// Solder volume over the volume at which the joint touches an equal neighbour without load; absent for unequal pads
/// or pads that touch.
pub fn bridging_volume_share(kind: &Kind, member: &Member, pitch: f64) -> Option<f64> {
    if kind.upper_diameter != kind.lower_diameter {
        return None;
    }
    Some(member.joint.volume / sphere::bridging_volume(member.joint.lower, pitch)?)
}
