//! The whole study: pairing, certificates, routing on one or two layers, metal, figures.

use crate::assignment::{Pairing, Refusal, Tree, assign};
use crate::draw::draw;
use crate::figures::{figures, reports};
use crate::layer::{LayerRoute, Stands, route_layer};
use crate::outcome::{Certificate, Outcome, PlacedBump};
use crate::problem::{AssignmentMode, Problem};
use crate::route::mesh::{MeshError, NONE};
use std::collections::BTreeMap;

/// Why the study gives no outcome at all.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SolveError {
    /// Pads and sites cannot be paired.
    #[error("pads and bumps cannot be paired: {}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Pairing(Vec<Refusal>),
    /// Terminals that the mesh cannot hold.
    #[error("the layout cannot be meshed: {0}")]
    Mesh(#[from] MeshError),
    /// The caller asked to stop.
    #[error("stopped")]
    Stopped,
    /// More layers than the router knows.
    #[error("{0} RDL layers are asked for; 1 or 2 can be routed")]
    Layers(u8),
}

/// Routes a problem. `go_on` is told the share done (0..1) now and then; when it returns false the work stops with
/// [`SolveError::Stopped`].
///
/// An outcome may be incomplete: then its certificates name what could not be routed, and why.
///
/// # Errors
/// See [`SolveError`].
pub fn solve(problem: &Problem, go_on: &mut dyn FnMut(f64) -> bool) -> Result<Outcome, SolveError> {
    if problem.layers == 0 || problem.layers > 2 {
        return Err(SolveError::Layers(problem.layers));
    }
    let pairing = assign(problem).map_err(SolveError::Pairing)?;
    if !go_on(0.05) {
        return Err(SolveError::Stopped);
    }
    let proofs = if problem.layers == 1 {
        crate::certificate::certificates(problem, &pairing.trees)
    } else {
        Vec::new()
    };
    if !proofs.is_empty() {
        return Ok(refused(problem, &pairing, proofs));
    }
    let mut trees = pairing.trees.clone();
    let names: Vec<&str> = trees.iter().map(|t| t.net.as_str()).collect();
    let mut number: BTreeMap<&str, u32> = BTreeMap::new();
    for n in &names {
        let next = number.len() as u32;
        number.entry(n).or_insert(next);
    }
    let net_of: Vec<u32> = names.iter().map(|n| number[n]).collect();
    let class_of = classes(problem, &trees);
    let mut stopped = false;
    let mut watch = |share: f64| {
        let on = go_on(0.05 + 0.8 * share);
        stopped |= !on;
        on
    };
    let layers = route_layers(problem, &trees, &net_of, &class_of, &mut watch)?;
    if stopped {
        return Err(SolveError::Stopped);
    }
    take_exchanges(&mut trees, &layers);
    let drawing = draw(problem, &trees, &net_of, &layers);
    if !go_on(0.95) {
        return Err(SolveError::Stopped);
    }
    let nets = reports(problem, &trees, &layers);
    let certificates = unrouted(problem, &trees, &nets, &layers);
    let figures = figures(problem, &pairing, &nets, &layers);
    let bumps = placed(problem, &trees);
    go_on(1.0);
    Ok(Outcome { figures, certificates, nets, bumps, drawing })
}

/// Trees that may exchange bumps: one pad, one bump, and neither given by the problem.
fn classes(problem: &Problem, trees: &[Tree]) -> Vec<u32> {
    trees
        .iter()
        .map(|t| {
            let free = t.pads.len() == 1 && t.sites.len() == 1 && problem.sites[t.sites[0]].net.is_none();
            match problem.assignment {
                AssignmentMode::Free if free => 0,
                AssignmentMode::BySide if free => {
                    1 + crate::boundary::nearest_side(
                        problem.pads[t.pads[0]].at,
                        problem.width,
                        problem.height,
                    )
                    .0 as u32
                }
                _ => NONE,
            }
        })
        .collect()
}

fn route_layers(
    problem: &Problem,
    trees: &[Tree],
    net_of: &[u32],
    class_of: &[u32],
    watch: &mut dyn FnMut(f64) -> bool,
) -> Result<Vec<LayerRoute>, SolveError> {
    let top = problem.layers;
    // A second layer is used only when one does not do.
    let all = vec![top; trees.len()];
    let first = route_layer(problem, trees, net_of, class_of, &all, top, watch)?;
    if top == 1 || complete(&first) {
        return Ok(vec![first]);
    }
    let open = |l: &[LayerRoute]| l.iter().map(|x| failed(x).len()).sum::<usize>();
    let mut best: Option<Vec<LayerRoute>> = None;
    for mut on_layer in crate::layers::splits(problem, trees, &first) {
        let mut times = vec![0; trees.len()];
        for _ in 0..6 {
            let mut both = Vec::new();
            for number in 1..=2 {
                both.push(route_layer(problem, trees, net_of, class_of, &on_layer, number, watch)?);
            }
            let moved = crate::layers::rebalance(&both, &mut on_layer, &mut times);
            if best.as_ref().is_none_or(|b| open(&both) < open(b)) {
                best = Some(both);
            }
            if best.as_ref().is_some_and(|b| open(b) == 0) || !watch(0.5) {
                return Ok(best.unwrap_or_default());
            }
            if !moved {
                break;
            }
        }
    }
    Ok(best.unwrap_or_default())
}

/// True when every wire of a layer has its course and keeps its distance.
pub(crate) fn complete(l: &LayerRoute) -> bool {
    failed(l).is_empty()
}

/// Places (in `l.tree`) of trees that are not fully and cleanly routed.
pub(crate) fn failed(l: &LayerRoute) -> Vec<usize> {
    let r = &l.routed;
    let mut bad: Vec<usize> =
        (0..r.courses.len()).filter(|&w| r.courses[w].is_none()).map(|w| r.tree_of[w] as usize).collect();
    bad.extend(r.missing.iter().map(|m| r.tree_of[m.1 as usize] as usize));
    bad.sort_unstable();
    bad.dedup();
    bad
}

/// Writes the bumps that free trees exchanged during routing back into the trees.
fn take_exchanges(trees: &mut [Tree], layers: &[LayerRoute]) {
    for l in layers {
        for (k, t) in l.routed.trees.iter().enumerate() {
            if t.class != NONE
                && let Some(Stands::Site(s)) = t.vertices.get(1).map(|&v| l.stands[v as usize])
            {
                trees[l.tree[k]].sites = vec![s];
            }
        }
    }
}

fn placed(problem: &Problem, trees: &[Tree]) -> Vec<PlacedBump> {
    let mut net: Vec<Option<String>> = vec![None; problem.sites.len()];
    for t in trees {
        for &s in &t.sites {
            net[s] = Some(t.net.clone());
        }
    }
    problem.sites.iter().zip(net).map(|(s, net)| PlacedBump { name: s.name.clone(), at: s.at, net }).collect()
}

fn refused(problem: &Problem, pairing: &Pairing, certificates: Vec<Certificate>) -> Outcome {
    let nets = reports(problem, &pairing.trees, &[]);
    let figures = figures(problem, pairing, &nets, &[]);
    let drawing = draw(problem, &pairing.trees, &vec![0; pairing.trees.len()], &[]);
    Outcome { figures, certificates, nets, bumps: placed(problem, &pairing.trees), drawing }
}

/// What is left open, and by what: nets that stand in the way, and the first place where room is short.
fn unrouted(
    problem: &Problem,
    trees: &[Tree],
    nets: &[crate::outcome::NetReport],
    layers: &[LayerRoute],
) -> Vec<Certificate> {
    let mut names: Vec<String> = nets.iter().filter(|n| !n.routed).map(|n| n.net.clone()).collect();
    names.sort();
    names.dedup();
    if names.is_empty() {
        return Vec::new();
    }
    let mut why = String::new();
    for l in layers {
        for (tree, across) in &l.routed.blocked {
            let mut others: Vec<&str> =
                across.iter().map(|&k| trees[l.tree[k as usize]].net.as_str()).collect();
            others.sort_unstable();
            others.dedup();
            if !others.is_empty() && why.len() < 400 {
                why += &format!(
                    "net {} is cut off by {}; ",
                    trees[l.tree[*tree as usize]].net,
                    others.join(", ")
                );
            }
        }
    }
    if let Some(p) = layers.iter().flat_map(|l| l.routed.pinches.iter()).next() {
        why += &format!("room is short, first near x {:.1} um, y {:.1} um; ", p.at[0] / 1e3, p.at[1] / 1e3);
    }
    vec![Certificate::Unrouted {
        nets: names,
        mend: format!(
            "{why}a larger pitch, a smaller capture pad, finer line and space{} or another assignment would free it",
            if problem.layers == 1 { ", a second RDL layer" } else { "" }
        ),
    }]
}
