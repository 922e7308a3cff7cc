//! One array solved for one surface tension: every number that its figures are made of.

use crate::equilibrium::{Ends, GRAVITY, Member, NoRest, Rest, rest, shape_at};
use crate::gap::Levels;
use crate::margins::{self, Margin};
use crate::outcome::KindOutcome;
use crate::problem::Array;

/// An array at rest. SI units, angles in rad.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Settled {
    pub rest: Rest,
    pub kinds: Vec<KindOutcome>,
    /// Height of the lowest joint at the narrowest gap, and of the highest at the widest.
    pub heights: [f64; 2],
    pub width: f64,
    pub neck: f64,
    pub angle: f64,
    pub touching: f64,
    pub vertical: f64,
    pub lateral: f64,
    pub vertical_total: f64,
    pub lateral_total: f64,
    pub bridging: Option<Margin>,
    pub non_wet: Option<Margin>,
    pub pull: Option<f64>,
    /// Joints of some kind that pull at the mean gap although the part is not lifted.
    pub pulling: Option<usize>,
    pub height_error: Option<f64>,
    /// Estimate of the height of the only kind and of the gap by the closed forms of the sphere, where its pads are equal.
    pub by_sphere: Option<[f64; 2]>,
    pub ends: Ends,
}

/// Points of an outline.
const POINTS: usize = 41;

pub(crate) fn settle(
    array: &Array,
    members: &[Member],
    levels: &Levels,
    tension: f64,
) -> Result<Settled, NoRest> {
    let rest = rest(array, members, levels, tension)?;
    let total: f64 = members.iter().map(|m| m.count).sum();
    let touching = total - rest.open;
    let present: Vec<usize> = (0..members.len()).filter(|&i| members[i].count > 0.0).collect();
    let mut kinds = Vec::with_capacity(members.len());
    let mut lateral_sum = 0.0;
    let mut vertical_sum = 0.0;
    let mut ends = Ends::Holds;
    for (member, kind) in members.iter().zip(&array.joints) {
        let (shape, how) = shape_at(member, &rest, 0.0);
        if member.count > 0.0 && how != Ends::Holds {
            ends = how;
        }
        let (widest, narrowest) = shape.outline.extremes();
        let lateral = member.joint.lateral_stiffness(&shape) * tension;
        lateral_sum += member.count * lateral;
        vertical_sum += member.count * shape.vertical_stiffness() * tension;
        kinds.push(KindOutcome {
            name: kind.name.clone(),
            count: kind.count,
            volume: member.joint.volume,
            height: shape.height,
            height_unloaded: member.joint.unloaded().height,
            height_free: member.free_height,
            width: 2.0 * widest,
            neck: 2.0 * narrowest,
            angle_upper: shape.angle_upper,
            angle_lower: shape.angle_lower(),
            pressure: shape.outline.pressure * tension,
            force: shape.force() * tension,
            vertical_stiffness: shape.vertical_stiffness() * tension,
            lateral_stiffness: lateral,
            profile: shape.outline.trace(POINTS),
        });
    }
    let mut heights = [f64::INFINITY, f64::NEG_INFINITY];
    let (mut width, mut neck, mut angle) = (0.0_f64, f64::INFINITY, 0.0_f64);
    for &i in &present {
        let m = &members[i];
        for deviation in [levels.least, levels.most] {
            let (shape, how) = shape_at(m, &rest, deviation);
            if how == Ends::Overruns {
                ends = how;
            }
            let (widest, narrowest) = shape.outline.extremes();
            width = width.max(2.0 * widest);
            neck = neck.min(2.0 * narrowest);
            angle = angle.max(shape.angle_largest());
            let height = rest.gap + deviation - m.metal;
            heights = [heights[0].min(height), heights[1].max(height)];
        }
    }
    if rest.overrun {
        ends = Ends::Overruns;
    }
    let commonest = present
        .iter()
        .copied()
        .max_by(|&i, &j| members[i].count.total_cmp(&members[j].count).then(j.cmp(&i)));
    let pull = present
        .iter()
        .filter_map(|&i| margins::hardest_pull(&members[i].joint))
        .map(|shape| -shape.force() * tension)
        .reduce(f64::min);
    Ok(Settled {
        heights,
        width,
        neck,
        angle,
        touching,
        vertical: vertical_sum / total,
        lateral: lateral_sum / total,
        vertical_total: rest.vertical,
        lateral_total: lateral_sum * touching / total,
        bridging: margins::bridging(array, members, &rest, levels),
        non_wet: margins::touching(array, members, &rest, levels),
        pull,
        pulling: present.iter().copied().find(|&i| kinds[i].force < -1e-12).filter(|_| rest.load >= 0.0),
        height_error: commonest.and_then(|i| shape_at(&members[i], &rest, 0.0).0.height_error()),
        by_sphere: commonest.and_then(|i| by_sphere(&members[i], present.len(), &rest, touching, tension)),
        ends,
        kinds,
        rest,
    })
}

/// The closed-form estimate of height and gap: height of the sphere less the load of one joint over its stiffness.
fn by_sphere(member: &Member, kinds: usize, rest: &Rest, touching: f64, tension: f64) -> Option<[f64; 2]> {
    if kinds != 1 || member.joint.lower != member.joint.upper || touching <= 0.0 {
        return None;
    }
    let free = member.joint.unloaded().height;
    let stiffness = crate::sphere::vertical_stiffness(member.joint.lower, free, tension);
    let height = free - rest.load / touching / stiffness;
    Some([height, height + member.metal])
}

/// Bond number of the largest pad: density, gravity and pad radius squared over surface tension.
pub(crate) fn bond_number(array: &Array, members: &[Member]) -> f64 {
    let radius = members
        .iter()
        .filter(|m| m.count > 0.0)
        .map(|m| m.joint.lower.max(m.joint.upper))
        .fold(0.0, f64::max);
    array.solder.density_liquid * GRAVITY * radius * radius / array.solder.surface_tension
}
