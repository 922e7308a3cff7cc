//! Which pad goes to which bump site.
//!
//! Nets that stand at sites keep them. The pads of a net with several bumps are split into consecutive groups along
//! the die outline, one for each bump, because neighbours on the outline can share a bump without crossing others. Signals and
//! groups then compete for the free sites in one exact linear assignment of straight distances, so no exchange of sites
//! could shorten the sum.

mod groups;

use crate::boundary::{Side, nearest_side, ring_place};
use crate::problem::{AssignmentMode, NetSpec, Problem};
use facedown_graph::assignment::{AssignmentError, CostMatrix, Distance, assign_dense, assign_points};
use groups::{groups_of, untangle};
use std::collections::BTreeMap;

/// Above this number of pairs a cost matrix is avoided: groups of pads then count as their centre.
const MOST_MATRIX_PAIRS: usize = 4_000_000;

/// Terminals that are joined on the RDL.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tree {
    /// Net.
    pub net: String,
    /// Pads, by their place in the problem.
    pub pads: Vec<usize>,
    /// Sites, by their place in the problem.
    pub sites: Vec<usize>,
}

/// All trees with the lengths that they cannot go below.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pairing {
    /// Trees, by the first pad of their net, pieces of a net in the order of the outline.
    pub trees: Vec<Tree>,
    /// Least possible sum, m, of the straight distances of all signal nets that were free to choose, over every way to give
    /// them free sites. For a net with several pads its farthest pad counts.
    pub free_bound_m: f64,
    /// Sum, m, of the straight distances of the signal nets whose one bump was given (farthest pad).
    pub fixed_bound_m: f64,
}

impl Pairing {
    /// Lower bound, m, on the length of all signal traces.
    pub fn bound_m(&self) -> f64 {
        self.free_bound_m + self.fixed_bound_m
    }
}

/// Why pads and sites cannot be paired.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// A site carries a net that no pad has.
    #[error("site {site} is given to net {net}, which has no pad")]
    SiteNetUnknown {
        /// Site name.
        site: String,
        /// Net name.
        net: String,
    },
    /// A net with wishes has no pad.
    #[error("net {net} has wishes of its own but no pad")]
    NetUnknown {
        /// Net name.
        net: String,
    },
    /// All bumps are to be given, and a net has none.
    #[error("net {net} has no bump site; with a fixed assignment every net needs one")]
    NetWithoutSite {
        /// Net name.
        net: String,
    },
    /// More bumps are wanted than there are free sites.
    #[error("{wanted} bumps are wanted {}and {available} free sites are there; left over: {}",
        side.map_or(String::new(), |s| format!("on the {s} side ")), nets.join(", "))]
    TooFewSites {
        /// The side, where nets must stay on their side.
        side: Option<Side>,
        /// Bumps wanted beyond the given ones.
        wanted: usize,
        /// Free sites.
        available: usize,
        /// The nets for whose bumps there is no site.
        nets: Vec<String>,
    },
    /// The solver refused the numbers.
    #[error("the assignment could not be solved: {reason}")]
    Unsolved {
        /// Its words.
        reason: String,
    },
}

impl From<AssignmentError> for Refusal {
    fn from(error: AssignmentError) -> Refusal {
        Refusal::Unsolved { reason: error.to_string() }
    }
}

/// One net during the assignment.
struct Net<'a> {
    name: &'a str,
    /// Pads in the order of the outline.
    pads: Vec<usize>,
    given: Vec<usize>,
    bumps: usize,
    supply: bool,
    one_piece: bool,
}

/// Pads that share a bump that is still to be found.
struct Seeker {
    net: usize,
    pads: Vec<usize>,
    /// Counts in the bound: a signal net with a single bump.
    signal: bool,
}

/// Decides the trees of a problem. Pads with an empty net name are not connected. On one layer a supply whose
/// pieces are joined elsewhere gets one bump a pad where free sites allow it, and where they do not, more bumps than wanted when
/// its groups of pads would cross those of another.
///
/// # Errors
/// Every reason found for which no pairing exists, see [`Refusal`].
pub fn assign(problem: &Problem) -> Result<Pairing, Vec<Refusal>> {
    let mut refusals = Vec::new();
    let mut nets = nets_of(problem, &mut refusals);
    if !refusals.is_empty() {
        return Err(refusals);
    }
    if problem.layers == 1 {
        one_bump_a_pad(problem, &mut nets);
    }
    let one = |error: AssignmentError| vec![Refusal::from(error)];
    let mut pieces: Vec<Vec<Piece>> = vec![Vec::new(); nets.len()];
    let mut seekers = Vec::new();
    let mut pairing = Pairing::default();
    let mut groups: Vec<Vec<Vec<usize>>> = nets.iter().map(|net| groups_of(problem, net)).collect();
    if problem.layers == 1 {
        untangle(problem, &nets, &mut groups);
    }
    for (number, net) in nets.iter().enumerate() {
        if net.bumps == 1
            && !net.supply
            && let [site] = net.given[..]
        {
            pairing.fixed_bound_m += farthest(problem, &net.pads, site) * 1e-9;
        }
        if net.given.len() > net.pads.len() {
            // More given bumps than pads: each pad takes its bump, the other bumps are strapped below.
            pieces[number] = match_given(problem, &each_alone(&net.pads), &net.given).map_err(one)?.0;
            for extra in 0..net.bumps - net.given.len() {
                let pads = vec![net.pads[extra % net.pads.len()]];
                seekers.push(Seeker { net: number, pads, signal: false });
            }
            continue;
        }
        let (found, rest) = match_given(problem, &groups[number], &net.given).map_err(one)?;
        pieces[number] = found;
        for group in rest {
            let signal = net.bumps == 1 && !net.supply;
            seekers.push(Seeker { net: number, pads: groups[number][group].clone(), signal });
        }
    }
    let sites = settle(problem, &nets, &seekers, &mut pairing)?;
    for (seeker, site) in seekers.into_iter().zip(sites) {
        pieces[seeker.net].push((seeker.pads, vec![site]));
    }
    for (net, pieces) in nets.iter().zip(pieces) {
        pairing.trees.extend(trees_of(problem, net, pieces));
    }
    Ok(pairing)
}

/// Gives supplies whose pieces are joined elsewhere one bump a pad while free sites allow it, smallest need first: two
/// pads that share a bump shut in the pads between them, which one layer can seldom afford.
fn one_bump_a_pad(problem: &Problem, nets: &mut [Net]) {
    if problem.assignment == AssignmentMode::Fixed {
        return;
    }
    let wanted: usize = nets.iter().map(|n| n.bumps - n.given.len()).sum();
    let free = problem.sites.iter().filter(|s| s.net.is_none()).count();
    let mut spare = free.saturating_sub(wanted);
    let mut order: Vec<usize> = (0..nets.len()).collect();
    order.sort_by_key(|&n| nets[n].pads.len().saturating_sub(nets[n].bumps));
    for n in order {
        let net = &mut nets[n];
        let more = net.pads.len().saturating_sub(net.bumps);
        if net.supply && !net.one_piece && more <= spare {
            net.bumps += more;
            spare -= more;
        }
    }
}

fn nets_of<'a>(problem: &'a Problem, refusals: &mut Vec<Refusal>) -> Vec<Net<'a>> {
    let mut number: BTreeMap<&str, usize> = BTreeMap::new();
    let mut nets: Vec<Net> = Vec::new();
    for (p, pad) in problem.pads.iter().enumerate().filter(|(_, pad)| !pad.net.is_empty()) {
        let n = *number.entry(&pad.net).or_insert_with(|| {
            nets.push(Net {
                name: &pad.net,
                pads: Vec::new(),
                given: Vec::new(),
                bumps: 1,
                supply: false,
                one_piece: true,
            });
            nets.len() - 1
        });
        nets[n].pads.push(p);
    }
    for (s, site) in problem.sites.iter().enumerate() {
        let Some(net) = &site.net else { continue };
        match number.get(net.as_str()) {
            Some(&n) => nets[n].given.push(s),
            None => refusals.push(Refusal::SiteNetUnknown { site: site.name.clone(), net: net.clone() }),
        }
    }
    for NetSpec { name, supply, bumps, one_piece, .. } in &problem.nets {
        match number.get(name.as_str()) {
            Some(&n) => {
                nets[n].bumps = (*bumps).max(1);
                nets[n].supply = *supply;
                nets[n].one_piece = *one_piece;
            }
            None => refusals.push(Refusal::NetUnknown { net: name.clone() }),
        }
    }
    for net in &mut nets {
        net.pads.sort_by_key(|&p| (ring_place(problem.pads[p].at, problem.width, problem.height), p));
        if problem.assignment == AssignmentMode::Fixed {
            net.bumps = net.given.len();
            if net.given.is_empty() {
                refusals.push(Refusal::NetWithoutSite { net: net.name.to_owned() });
            }
        }
        net.bumps = net.bumps.max(net.given.len());
    }
    nets
}

fn point(at: facedown_layout::Point) -> [f64; 2] {
    [at.x.nm(), at.y.nm()]
}

/// Straight distance between a pad and a site, nm.
fn straight(problem: &Problem, pad: usize, site: usize) -> f64 {
    Distance::Euclidean.between(point(problem.pads[pad].at), point(problem.sites[site].at))
}

fn farthest(problem: &Problem, pads: &[usize], site: usize) -> f64 {
    pads.iter().map(|&p| straight(problem, p, site)).fold(0.0, f64::max)
}

fn sum(problem: &Problem, pads: &[usize], site: usize) -> f64 {
    pads.iter().map(|&p| straight(problem, p, site)).sum()
}

fn each_alone(pads: &[usize]) -> Vec<Vec<usize>> {
    pads.iter().map(|&p| vec![p]).collect()
}

fn centre(problem: &Problem, pads: &[usize]) -> [f64; 2] {
    let mut c = [0.0; 2];
    for &p in pads {
        let at = point(problem.pads[p].at);
        c = [c[0] + at[0] / pads.len() as f64, c[1] + at[1] / pads.len() as f64];
    }
    c
}

/// Pads joined to sites.
type Piece = (Vec<usize>, Vec<usize>);

/// Gives the given sites of a net to its groups at the least sum of distances. Returns the pieces, and the groups that got
/// no site. With more sites than groups the sites that stay over become pieces without pads.
fn match_given(
    problem: &Problem,
    groups: &[Vec<usize>],
    given: &[usize],
) -> Result<(Vec<Piece>, Vec<usize>), AssignmentError> {
    if given.is_empty() {
        return Ok((Vec::new(), (0..groups.len()).collect()));
    }
    let costs = CostMatrix::from_fn(groups.len(), given.len(), |g, s| sum(problem, &groups[g], given[s]))?;
    let best = assign_dense(&costs)?;
    let (mut pieces, mut rest) = (Vec::new(), Vec::new());
    let mut used = vec![false; given.len()];
    for (g, site) in best.column_of_row.iter().enumerate() {
        match site {
            Some(s) => {
                used[*s] = true;
                pieces.push((groups[g].clone(), vec![given[*s]]));
            }
            None => rest.push(g),
        }
    }
    let loose = given.iter().zip(&used).filter(|(_, used)| !**used);
    pieces.extend(loose.map(|(&site, _)| (Vec::new(), vec![site])));
    Ok((pieces, rest))
}

/// Finds a free site for every seeker; adds the bound of the signals.
fn settle(
    problem: &Problem,
    nets: &[Net],
    seekers: &[Seeker],
    pairing: &mut Pairing,
) -> Result<Vec<usize>, Vec<Refusal>> {
    let free: Vec<usize> = (0..problem.sites.len()).filter(|&s| problem.sites[s].net.is_none()).collect();
    let side_of = |at| nearest_side(at, problem.width, problem.height).0;
    let mut found = vec![usize::MAX; seekers.len()];
    let mut refusals = Vec::new();
    let by_side = problem.assignment == AssignmentMode::BySide;
    let parts: Vec<Option<Side>> = if by_side { Side::ALL.map(Some).to_vec() } else { vec![None] };
    for side in parts {
        let here = |at| side.is_none_or(|s| side_of(at) == s);
        let group: Vec<usize> =
            (0..seekers.len()).filter(|&k| here(problem.pads[seekers[k].pads[0]].at)).collect();
        let sites: Vec<usize> = free.iter().copied().filter(|&s| here(problem.sites[s].at)).collect();
        if group.len() > sites.len() {
            refusals.push(too_few(side, nets, seekers, &group, sites.len()));
            continue;
        }
        match solve_part(problem, seekers, &group, &sites) {
            Ok((chosen, bound_nm)) => {
                pairing.free_bound_m += bound_nm * 1e-9;
                for (k, site) in group.into_iter().zip(chosen) {
                    found[k] = site;
                }
            }
            Err(error) => refusals.push(error.into()),
        }
    }
    if refusals.is_empty() { Ok(found) } else { Err(refusals) }
}

/// Names the nets that stay over: signals and first bumps come before further bumps of the same net.
fn too_few(side: Option<Side>, nets: &[Net], seekers: &[Seeker], group: &[usize], sites: usize) -> Refusal {
    let mut seen: BTreeMap<usize, usize> = BTreeMap::new();
    let mut order: Vec<(usize, usize)> = Vec::new();
    for &k in group {
        let turn = seen.entry(seekers[k].net).or_insert(0);
        order.push((*turn, seekers[k].net));
        *turn += 1;
    }
    order.sort_by_key(|o| o.0);
    let mut left: Vec<usize> = order[sites..].iter().map(|o| o.1).collect();
    left.sort_unstable();
    left.dedup();
    Refusal::TooFewSites {
        side,
        wanted: group.len(),
        available: sites,
        nets: left.into_iter().map(|n| nets[n].name.to_owned()).collect(),
    }
}

/// The site of each seeker of a part, and the bound of its signals in nm.
fn solve_part(
    problem: &Problem,
    seekers: &[Seeker],
    group: &[usize],
    sites: &[usize],
) -> Result<(Vec<usize>, f64), AssignmentError> {
    let single = |k: &usize| seekers[*k].pads.len() == 1;
    let places: Vec<[f64; 2]> = sites.iter().map(|&s| point(problem.sites[s].at)).collect();
    let solve = |group: &[usize], cost: &dyn Fn(&[usize], usize) -> f64| {
        if group.iter().all(single) || group.len() * sites.len() > MOST_MATRIX_PAIRS {
            let centres: Vec<[f64; 2]> = group.iter().map(|&k| centre(problem, &seekers[k].pads)).collect();
            assign_points(&centres, &places, Distance::Euclidean)
        } else {
            let costs = CostMatrix::from_fn(group.len(), sites.len(), |i, j| {
                cost(&seekers[group[i]].pads, sites[j])
            })?;
            assign_dense(&costs)
        }
    };
    let best = solve(group, &|pads, site| sum(problem, pads, site))?;
    let signals: Vec<usize> = group.iter().copied().filter(|&k| seekers[k].signal).collect();
    let bound = if signals.len() == group.len() && group.iter().all(single) {
        best.total
    } else {
        // The distance to the centre of several pads is never above that to the farthest, so both forms bound the tree.
        solve(&signals, &|pads, site| farthest(problem, pads, site))?.total
    };
    let chosen = best.column_of_row.into_iter().flatten().map(|j| sites[j]).collect();
    Ok((chosen, bound))
}

/// Joins the pieces of a net to trees: one where it must be one piece; otherwise pieces that share a pad are one, and bumps
/// without a pad are strapped to the nearest tree.
fn trees_of(problem: &Problem, net: &Net, pieces: Vec<Piece>) -> Vec<Tree> {
    let mut trees: Vec<Tree> = Vec::new();
    let mut loose = Vec::new();
    for (pads, sites) in pieces {
        if pads.is_empty() {
            loose.extend(sites);
            continue;
        }
        let shared = trees.iter_mut().find(|t| net.one_piece || pads.iter().any(|p| t.pads.contains(p)));
        match shared {
            Some(tree) => {
                tree.pads.extend(pads);
                tree.sites.extend(sites);
            }
            None => trees.push(Tree { net: net.name.to_owned(), pads, sites }),
        }
    }
    // Nearest first, so that a far bump can hang on a bump that was strapped before it.
    let gap = |a: usize, b: usize| {
        Distance::Euclidean.between(point(problem.sites[a].at), point(problem.sites[b].at))
    };
    while !loose.is_empty() {
        let mut best = (f64::INFINITY, 0, 0);
        for (l, &site) in loose.iter().enumerate() {
            for (t, tree) in trees.iter().enumerate() {
                let near = tree.sites.iter().map(|&s| gap(s, site)).fold(f64::INFINITY, f64::min);
                if near < best.0 {
                    best = (near, l, t);
                }
            }
        }
        let site = loose.remove(best.1);
        match trees.get_mut(best.2) {
            Some(tree) => tree.sites.push(site),
            None => break,
        }
    }
    let place = |p: usize| (ring_place(problem.pads[p].at, problem.width, problem.height), p);
    for tree in &mut trees {
        tree.pads.sort_by_key(|&p| place(p));
        tree.pads.dedup();
        tree.sites.sort_unstable();
    }
    trees.sort_by_key(|t| t.pads.first().map(|&p| place(p)));
    trees
}
