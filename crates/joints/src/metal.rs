//! The metallisation of an array through its reflows and storage: what is left, and how much solder has reacted.

use crate::barrier::{Consumed, History, Range, Rates, consume, reserve};
use crate::equilibrium::Member;
use crate::problem::{Array, Layer, Metal};

/// A value with the least and largest of all sets of constants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Central estimate.
    pub value: f64,
    /// Least and largest.
    pub between: [f64; 2],
}

/// What becomes of the metal and of the solder.
#[derive(Debug, Clone, PartialEq)]
pub struct MetalStudy {
    /// Metal that reacts with tin and is left under the solder, m.
    pub left: Spread,
    /// Metal used, m.
    pub used: Spread,
    /// Metal left beyond the reserve, m.
    pub margin: Spread,
    /// Solder that has become compound, as a share of the joint's volume; may exceed one where there is too little.
    pub reacted: Spread,
    /// The central estimate of the upper pad.
    pub central: Consumed,
    /// True where the most severe set lets the solder through to a layer that it does not wet.
    pub may_get_through: bool,
}

/// Density of gold, kg/m3 (standard tables).
const GOLD_DENSITY: f64 = 19_300.0;

/// The study of an array; absent where its upper pad has no metal that reacts.
pub fn study(array: &Array, members: &[Member], history: &History) -> Option<MetalStudy> {
    let upper = &array.metallisation;
    let range = |metal: Metal| {
        let range = Range::of(metal)?;
        Some(array.consumed_per_reflow.map_or(range, |per_reflow| Range { per_reflow, ..range }))
    };
    if !upper.iter().any(|l| range(l.metal).is_some()) {
        return None;
    }
    let start: f64 = upper.iter().filter(|l| range(l.metal).is_some()).map(|l| l.thickness).sum();
    // The joint with the most pad for its solder.
    let (kind, member) = array
        .joints
        .iter()
        .zip(members)
        .filter(|(kind, _)| kind.count > 0)
        .max_by(|(_, a), (_, b)| share_of(a).total_cmp(&share_of(b)))?;
    let areas = [kind.upper_diameter, kind.lower_diameter].map(|d| std::f64::consts::FRAC_PI_4 * d * d);
    let run = |rates: &dyn Fn(Metal) -> Option<Rates>| {
        let above = consume(upper, history, rates);
        let below = consume(&array.lower_metallisation, history, rates);
        let reacted = (above.tin * areas[0] + below.tin * areas[1]) / member.joint.volume;
        let left = start - above.used;
        (above, left, reacted)
    };
    let (central, left, reacted) = run(&|metal| range(metal).map(|r| r.central()));
    // The same corner for every metal: all quick or all slow, so that the ends are ends.
    let corners = range(Metal::Copper).map_or(0, |r| r.corners().len());
    let all: Vec<(Consumed, f64, f64)> =
        (0..corners).map(|i| run(&|metal| range(metal).and_then(|r| r.corners().get(i).copied()))).collect();
    let spread = |value: f64, of: &dyn Fn(&(Consumed, f64, f64)) -> f64| {
        let ends = all.iter().map(of).fold([value, value], |[low, high], v| [low.min(v), high.max(v)]);
        Spread { value, between: ends }
    };
    Some(MetalStudy {
        left: spread(left, &|c| c.1),
        used: spread(central.used, &|c| c.0.used),
        margin: spread(left - reserve(central.used), &|c| c.1 - reserve(c.0.used)),
        reacted: spread(reacted, &|c| c.2),
        may_get_through: all.iter().any(|c| c.0.through),
        central,
    })
}

fn share_of(member: &Member) -> f64 {
    (member.joint.upper.powi(2) + member.joint.lower.powi(2)) / member.joint.volume
}

/// Mass of gold from both pads over the mass of solder, the largest of all kinds.
pub fn gold_share(array: &Array, members: &[Member]) -> f64 {
    let gold = |layers: &[Layer]| -> f64 {
        layers.iter().filter(|l| l.metal == Metal::Gold).map(|l| l.thickness).sum()
    };
    let (above, below) = (gold(&array.metallisation), gold(&array.lower_metallisation));
    members
        .iter()
        .filter(|m| m.count > 0.0)
        .map(|m| {
            let volume =
                std::f64::consts::PI * (m.joint.upper.powi(2) * above + m.joint.lower.powi(2) * below);
            let gold = GOLD_DENSITY * volume;
            gold / (gold + array.solder.density_liquid * m.joint.volume)
        })
        .fold(0.0, f64::max)
}
