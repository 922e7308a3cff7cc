//! Which pads of a net share a bump: consecutive groups along the die outline, on one layer without crossings.

use super::{Net, centre, point};
use crate::boundary::{Side, nearest_side, ring_place};
use crate::problem::{AssignmentMode, Problem};
use facedown_graph::assignment::Distance;
use facedown_graph::chords::crossing_nets;
use facedown_quantity::Nm;
use std::collections::BTreeMap;

/// Splits the pads of a net into as many consecutive groups as it has bumps, sizes as equal as can be, cut where the
/// groups stay most compact. With more bumps than pads, pads repeat: each then looks for several bumps.
pub(super) fn groups_of(problem: &Problem, net: &Net) -> Vec<Vec<usize>> {
    let (pads, bumps) = (net.pads.len(), net.bumps);
    if bumps >= pads {
        return (0..bumps).map(|k| vec![net.pads[k * pads / bumps]]).collect();
    }
    let split = |start: usize| -> Vec<Vec<usize>> {
        (0..bumps)
            .map(|k| {
                (k * pads / bumps..(k + 1) * pads / bumps).map(|p| net.pads[(start + p) % pads]).collect()
            })
            .collect()
    };
    let spread = |groups: &[Vec<usize>]| -> f64 {
        groups
            .iter()
            .map(|g| {
                let c = centre(problem, g);
                g.iter()
                    .map(|&p| Distance::Euclidean.between(point(problem.pads[p].at), c).powi(2))
                    .sum::<f64>()
            })
            .sum()
    };
    let mut best = (f64::INFINITY, Vec::new());
    for start in 0..pads.div_ceil(bumps) {
        let groups = split(start);
        let spread = spread(&groups);
        if spread < best.0 {
            best = (spread, groups);
        }
    }
    best.1
}

/// Splits groups that would cross each other on one layer, as long as sites are left: where pads of two supplies
/// alternate along the outline, not both can share bumps. Every split gives its net one bump more than wanted.
pub(super) fn untangle(problem: &Problem, nets: &[Net], groups: &mut [Vec<Vec<usize>>]) {
    let by_side = problem.assignment == AssignmentMode::BySide;
    let part = |at| if by_side { nearest_side(at, problem.width, problem.height).0 } else { Side::South };
    let mut room: BTreeMap<Side, i64> = BTreeMap::new();
    for site in problem.sites.iter().filter(|s| s.net.is_none()) {
        *room.entry(part(site.at)).or_default() += 1;
    }
    for (net, groups) in nets.iter().zip(groups.iter()) {
        for group in groups.iter().skip(net.given.len()) {
            *room.entry(part(problem.pads[group[0]].at)).or_default() -= 1;
        }
    }
    let may_split = |net: &Net| {
        problem.assignment != AssignmentMode::Fixed
            && net.supply
            && !net.one_piece
            && net.bumps < net.pads.len()
    };
    // The outline as the pads of nets with several of them, each with its group (all of them as one where they must be one).
    let mut around: Vec<(Nm, usize, usize)> = Vec::new();
    let mut owner: Vec<(usize, usize)> = Vec::new();
    for (n, net) in nets.iter().enumerate().filter(|(_, net)| net.pads.len() > 1) {
        for (g, group) in groups[n].iter().enumerate() {
            if g == 0 || !net.one_piece {
                owner.push((n, g));
            }
            let place = |p: usize| ring_place(problem.pads[p].at, problem.width, problem.height);
            around.extend(group.iter().map(|&p| (place(p), p, owner.len() - 1)));
        }
    }
    around.sort_unstable();
    // A pad that looks for several bumps stands there once.
    around.dedup_by_key(|a| a.1);
    let mut labels: Vec<usize> = around.iter().map(|a| a.2).collect();
    while let Some(crossing) = crossing_nets(&labels) {
        let [_, b, c, _] = crossing.places;
        let size = |label: usize| labels.iter().filter(|l| **l == label).count();
        let (first, second) = crossing.nets;
        // The first net is cut behind `b`, the second behind `c`; the smaller group first, which
        // keeps the number of splits low.
        let mut ways = [(first, b), (second, c)];
        ways.sort_by_key(|w| size(w.0));
        let way = ways.into_iter().find(|&(label, cut)| {
            let next = (cut + 1..labels.len()).find(|&k| labels[k] == label);
            let side = next.map(|k| part(problem.pads[around[k].1].at));
            may_split(&nets[owner[label].0]) && side.is_some_and(|s| room.get(&s).is_some_and(|r| *r > 0))
        });
        let Some((label, cut)) = way else { return };
        let (net, group) = owner[label];
        let far: Vec<usize> = (cut + 1..labels.len()).filter(|&k| labels[k] == label).collect();
        let moved: Vec<usize> = far.iter().map(|&k| around[k].1).collect();
        if let Some(&p) = moved.first() {
            *room.entry(part(problem.pads[p].at)).or_default() -= 1;
        }
        for k in far {
            labels[k] = owner.len();
        }
        owner.push((net, groups[net].len()));
        groups[net][group].retain(|p| !moved.contains(p));
        groups[net].push(moved);
    }
}
