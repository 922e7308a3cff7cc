//! Cuts over capacity: closed rings and straight lines through bumps that more nets must cross than fit between the bumps.
//!
//! A net that has terminals strictly on both sides of such a cut and none of its bumps on it must pass a gap between two
//! bumps of the cut. Traces that pass a segment of length G between two capture pads need at least
//! `n line + (n + 1) space` of it, at any angle; landings and other metal in the way only take room. Rings are the
//! convex layers of the bumps in use (for a full array its concentric rings), lines are its rows and columns.

use super::least_width;
use crate::assignment::Tree;
use crate::capacity::gap_capacity;
use crate::outcome::Certificate;
use crate::problem::{AssignmentMode, Problem};
use facedown_layout::Point;
use facedown_quantity::Nm;
use std::collections::{BTreeMap, BTreeSet};

/// A cut: which side a point is on, the gaps with what their two ends keep clear together, and its name.
struct Cut {
    words: String,
    gaps: Vec<Gap>,
    /// Sites whose bumps stand on it.
    on: Vec<usize>,
}

/// Room between two capture pads, or (`edge`) between one and the die outline.
struct Gap {
    length: f64,
    edge: bool,
}

pub(super) fn overfull(problem: &Problem, trees: &[Tree]) -> Vec<Certificate> {
    let mut used: Vec<usize> = trees.iter().flat_map(|t| t.sites.iter().copied()).collect();
    used.sort_unstable();
    used.dedup();
    let mut found = Vec::new();
    for (k, ring) in convex_layers(problem, &used).iter().enumerate() {
        let places: Vec<Point> = ring.iter().map(|&s| problem.sites[s].at).collect();
        let gaps = (0..ring.len()).map(|i| gap(problem, places[i], places[(i + 1) % ring.len()])).collect();
        let first = &problem.sites[ring[0]].name;
        let words = format!("ring {} of the bumps, through {first}", k + 1);
        let cut = Cut { words, gaps, on: ring.clone() };
        found.extend(judge(problem, trees, &cut, |p| side_of_ring(&places, p)));
    }
    let mut lines: BTreeMap<(bool, Nm), Vec<usize>> = BTreeMap::new();
    for &s in &used {
        let at = problem.sites[s].at;
        lines.entry((false, at.y)).or_default().push(s);
        lines.entry((true, at.x)).or_default().push(s);
    }
    for ((upright, place), mut on) in lines {
        if on.len() < 2 {
            continue;
        }
        let along = |p: Point| if upright { p.y } else { p.x };
        on.sort_by_key(|&s| along(problem.sites[s].at));
        let (first, last) = (on[0], on[on.len() - 1]);
        let radius = problem.rules.capture.nm() / 2.0;
        let end = if upright { problem.height } else { problem.width };
        let mut gaps: Vec<Gap> =
            on.windows(2).map(|w| gap(problem, problem.sites[w[0]].at, problem.sites[w[1]].at)).collect();
        for room in [along(problem.sites[first].at), end - along(problem.sites[last].at)] {
            gaps.push(Gap { length: room.nm() - radius, edge: true });
        }
        let words = format!(
            "the {} line through bumps {} to {}",
            if upright { "upright" } else { "level" },
            problem.sites[first].name,
            problem.sites[last].name
        );
        let cut = Cut { words, gaps, on };
        let side = |p: Point| match (if upright { p.x } else { p.y }).cmp(&place) {
            std::cmp::Ordering::Less => Some(true),
            std::cmp::Ordering::Equal => None,
            std::cmp::Ordering::Greater => Some(false),
        };
        found.extend(judge(problem, trees, &cut, side));
    }
    found
}

fn gap(problem: &Problem, a: Point, b: Point) -> Gap {
    let distance = (a.x - b.x).nm().hypot((a.y - b.y).nm());
    Gap { length: distance - problem.rules.capture.nm(), edge: false }
}

/// Traces that fit all gaps at a line and space, nm.
fn capacity(problem: &Problem, gaps: &[Gap], line: f64, space: f64) -> usize {
    // At the outline a trace keeps the edge clearance instead of a space.
    let clearance = problem.rules.edge_clearance.nm();
    let one = |g: &Gap| {
        let length = if g.edge { g.length - clearance + space } else { g.length };
        gap_capacity(length, line, space, space)
    };
    gaps.iter().map(one).fold(0, usize::saturating_add)
}

fn judge(
    problem: &Problem,
    trees: &[Tree],
    cut: &Cut,
    side: impl Fn(Point) -> Option<bool>,
) -> Option<Certificate> {
    let (line, space) = (least_width(problem).nm(), problem.rules.space.nm());
    let capacity_now = capacity(problem, &cut.gaps, line, space);
    if capacity_now >= trees.len() {
        return None;
    }
    let mut on = vec![false; problem.sites.len()];
    for &s in &cut.on {
        on[s] = true;
    }
    let mut nets: Vec<String> = Vec::new();
    for tree in trees.iter().filter(|t| t.sites.iter().all(|&s| !on[s])) {
        let pads = tree.pads.iter().map(|&p| problem.pads[p].at);
        let bumps = tree.sites.iter().map(|&s| problem.sites[s].at);
        let (mut inside, mut outside) = (false, false);
        for at in pads.chain(bumps) {
            inside |= side(at) == Some(true);
            outside |= side(at) == Some(false);
        }
        if inside && outside {
            nets.push(tree.net.clone());
        }
    }
    // A net with a bump or a landing on the cut may cross on its own metal. Pieces of one net may share a trace. The
    // landing is taken generously, around the whole pad opening: a net too many is only one that the cut does not count.
    let grown = problem.rules.landing_enclosure;
    let straddles = |p: usize| {
        let pad = &problem.pads[p];
        let (x, y) = (pad.width / 2 + grown, pad.height / 2 + grown);
        let corners =
            [(x, y), (-x, y), (x, -y), (-x, -y)].map(|(x, y)| side(Point::new(pad.at.x + x, pad.at.y + y)));
        corners.iter().any(|c| c.is_none() || *c != corners[0])
    };
    let owners: BTreeSet<&str> = trees
        .iter()
        .filter(|t| t.sites.iter().any(|&s| on[s]) || t.pads.iter().any(|&p| straddles(p)))
        .map(|t| t.net.as_str())
        .collect();
    nets.retain(|n| !owners.contains(n.as_str()));
    nets.sort();
    nets.dedup();
    let demand = nets.len();
    if demand <= capacity_now {
        return None;
    }
    let mend = mend(problem, cut, demand, line, space);
    Some(Certificate::Cut { cut: cut.words.clone(), demand, capacity: capacity_now, nets, mend })
}

/// What would give the cut room: a finer line and space, a wider pitch, another layer, another assignment.
fn mend(problem: &Problem, cut: &Cut, demand: usize, line: f64, space: f64) -> String {
    let mut ways = Vec::new();
    let fits = |share: f64| capacity(problem, &cut.gaps, line * share, space * share) >= demand;
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if fits(middle) { low = middle } else { high = middle }
    }
    // Rounded down to 0.1 um, which keeps the fit.
    let (finer_line, finer_space) =
        ((line * low / 100.0).floor() / 10.0, (space * low / 100.0).floor() / 10.0);
    if finer_line > 0.0 && finer_space > 0.0 {
        ways.push(format!("line and space of {finer_line} and {finer_space} um"));
    }
    let inner: Vec<&Gap> = cut.gaps.iter().filter(|g| !g.edge).collect();
    if !inner.is_empty() {
        let each = demand.div_ceil(inner.len()) as f64;
        let needed = each * line + (each + 1.0) * space;
        let widest = inner.iter().map(|g| g.length).fold(0.0, f64::max);
        if needed > widest {
            let pitch = ((needed + problem.rules.capture.nm()) / 1e3).ceil();
            ways.push(format!("bumps of the cut {pitch} um apart"));
        }
    }
    ways.push("a second RDL layer".into());
    ways.push(match problem.assignment {
        AssignmentMode::Fixed => "bumps of these nets moved across the cut".into(),
        _ => "another assignment with fewer of these nets across the cut".into(),
    });
    let last = ways.pop().unwrap_or_default();
    format!("Any one of these gives room: {}, or {last}.", ways.join(", "))
}

/// Convex layers of the sites, outermost first, each counter-clockwise with the sites that lie on its edges; only layers
/// that enclose an area.
fn convex_layers(problem: &Problem, used: &[usize]) -> Vec<Vec<usize>> {
    let at = |s: usize| problem.sites[s].at;
    let mut left: Vec<usize> = used.to_vec();
    left.sort_by_key(|&s| (at(s), s));
    left.dedup_by_key(|s| at(*s));
    let mut layers = Vec::new();
    while left.len() >= 3 {
        let half = |points: &mut dyn Iterator<Item = usize>| {
            let mut hull: Vec<usize> = Vec::new();
            for s in points {
                while let [.., a, b] = hull[..]
                    && turn(at(a), at(b), at(s)) < 0
                {
                    hull.pop();
                }
                hull.push(s);
            }
            hull
        };
        let mut lower = half(&mut left.iter().copied());
        let mut upper = half(&mut left.iter().rev().copied());
        lower.pop();
        upper.pop();
        // Points that all lie on one line appear in both halves and enclose nothing.
        if lower.iter().any(|s| upper.contains(s)) {
            break;
        }
        lower.extend(upper);
        let mut taken = lower.clone();
        taken.sort_unstable();
        left.retain(|s| taken.binary_search(s).is_err());
        layers.push(lower);
    }
    layers
}

/// Twice the signed area of a triangle, nm^2.
fn turn(a: Point, b: Point, c: Point) -> i128 {
    let d = |p: Nm, q: Nm| (q - p).0 as i128;
    d(a.x, b.x) * d(a.y, c.y) - d(a.y, b.y) * d(a.x, c.x)
}

/// Inside (true), outside (false) or on a convex counter-clockwise ring.
fn side_of_ring(ring: &[Point], p: Point) -> Option<bool> {
    let mut touching = false;
    for (k, &a) in ring.iter().enumerate() {
        match turn(a, ring[(k + 1) % ring.len()], p) {
            t if t < 0 => return Some(false),
            0 => touching = true,
            _ => {}
        }
    }
    (!touching).then_some(true)
}
