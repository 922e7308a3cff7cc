//! Sector conflicts: two connected trees whose places on the wall alternate around the die.
//!
//! Proof. Let tree A hang on the outline by chains ([`super::wall`]) at two feet, tree B at two others, alternating. A's
//! metal with its two chains joins A's feet, B's joins B's feet, so the two sets must meet somewhere in the die (a path
//! between two boundary points of a disc separates it). Metal of A and B may not meet; B's metal cannot cross a link
//! of A's chains unless B owns an end of it, and the other way round; and chains that share a body or touch are not
//! used. So one layer cannot hold both.

use super::wall::{Chain, Wall, lines_meet};
use crate::assignment::Tree;
use crate::outcome::Certificate;
use crate::problem::Problem;
use std::collections::BTreeMap;

/// Above this many trees on the wall only bodies next to the outline are compared, to stay within milliseconds.
const MOST_TREES: usize = 1500;

/// Terminals of two nets that alternate around the rim.
struct Witness {
    separating: [String; 2],
    cut: [String; 2],
}

struct Anchored {
    tree: usize,
    chains: Vec<Chain>,
}

pub(super) fn conflicts(problem: &Problem, trees: &[Tree]) -> Vec<Certificate> {
    let wall = Wall::new(problem, trees);
    let mut anchored = anchored_trees(&wall, trees, usize::MAX);
    if anchored.len() > MOST_TREES {
        anchored = anchored_trees(&wall, trees, 1);
    }
    let mut cut_by: BTreeMap<&str, BTreeMap<&str, Witness>> = BTreeMap::new();
    for (k, a) in anchored.iter().enumerate() {
        for b in &anchored[..k] {
            let (net_a, net_b) = (trees[a.tree].net.as_str(), trees[b.tree].net.as_str());
            if net_a == net_b || cut_by.get(net_a).is_some_and(|cut| cut.contains_key(net_b)) {
                continue;
            }
            if let Some((of_a, of_b)) = alternate(&wall, trees, a, b) {
                let words = |bodies: [usize; 2]| bodies.map(|b| wall.bodies[b].words.clone());
                let (of_a, of_b) = (words(of_a), words(of_b));
                let witness = |separating: &[String; 2], cut: &[String; 2]| Witness {
                    separating: separating.clone(),
                    cut: cut.clone(),
                };
                cut_by.entry(net_a).or_default().insert(net_b, witness(&of_a, &of_b));
                cut_by.entry(net_b).or_default().insert(net_a, witness(&of_b, &of_a));
            }
        }
    }
    name(problem, cut_by)
}

/// Trees that hang on the wall at two places or more, with their chains in the order of the outline.
fn anchored_trees(wall: &Wall, trees: &[Tree], most_links: usize) -> Vec<Anchored> {
    let mut chains: Vec<Vec<Chain>> = vec![Vec::new(); trees.len()];
    for (b, body) in wall.bodies.iter().enumerate() {
        if let Some(chain) = wall.chain(b).filter(|c| c.bodies.len() <= most_links) {
            chains[body.tree].push(chain);
        }
    }
    let several = chains.into_iter().enumerate().filter(|(_, c)| c.len() >= 2);
    several
        .map(|(tree, mut chains)| {
            chains.sort_by_key(|c| (c.foot, c.bodies.len()));
            Anchored { tree, chains }
        })
        .collect()
}

/// Two bodies of each tree whose feet alternate on chains that prove the conflict.
fn alternate(wall: &Wall, trees: &[Tree], a: &Anchored, b: &Anchored) -> Option<([usize; 2], [usize; 2])> {
    // Most pairs end here: all feet of one tree lie between two neighbouring feet of the other.
    let place = |c: &Chain| a.chains.partition_point(|own| own.foot < c.foot) % a.chains.len();
    if b.chains.iter().all(|c| place(c) == place(&b.chains[0])) {
        return None;
    }
    let (net_a, net_b) = (&trees[a.tree].net, &trees[b.tree].net);
    let usable = |own: &Anchored, foreign: &String| -> Vec<usize> {
        (0..own.chains.len())
            .filter(|&c| {
                own.chains[c].bodies.iter().all(|&body| trees[wall.bodies[body].tree].net != *foreign)
            })
            .collect()
    };
    let (of_a, of_b) = (usable(a, net_b), usable(b, net_a));
    // The feet of both trees in the order of the outline, cut into runs of one tree.
    let mut feet: Vec<(facedown_quantity::Nm, bool, usize)> =
        of_a.iter().map(|&c| (a.chains[c].foot, true, c)).collect();
    feet.extend(of_b.iter().map(|&c| (b.chains[c].foot, false, c)));
    feet.sort_unstable();
    let mut runs: Vec<Vec<usize>> = Vec::new();
    let mut owner: Vec<bool> = Vec::new();
    for (_, is_a, chain) in feet {
        if owner.last() == Some(&is_a)
            && let Some(run) = runs.last_mut()
        {
            run.push(chain);
        } else {
            owner.push(is_a);
            runs.push(vec![chain]);
        }
    }
    // Any four consecutive runs alternate; within a run the ends stand for all.
    let ends = |run: &[usize]| [run[0], run[run.len() - 1]];
    for (runs, owner) in runs.windows(4).zip(owner.windows(4)) {
        let apart = |x: usize, y: usize| {
            let (of_a, of_b) = if owner[0] { (x, y) } else { (y, x) };
            chains_apart(&a.chains[of_a], &b.chains[of_b])
        };
        for p in ends(&runs[0]) {
            for q in ends(&runs[1]).into_iter().filter(|&q| apart(p, q)) {
                for r in ends(&runs[2]).into_iter().filter(|&r| apart(r, q)) {
                    for s in ends(&runs[3]) {
                        if apart(p, s) && apart(r, s) {
                            let (of_a, of_b) = if owner[0] { ([p, r], [q, s]) } else { ([q, s], [p, r]) };
                            let body = |own: &Anchored, c: usize| own.chains[c].bodies[0];
                            return Some((of_a.map(|c| body(a, c)), of_b.map(|c| body(b, c))));
                        }
                    }
                }
            }
        }
    }
    None
}

fn chains_apart(a: &Chain, b: &Chain) -> bool {
    a.foot != b.foot && a.bodies.iter().all(|x| !b.bodies.contains(x)) && !lines_meet(&a.line, &b.line)
}

/// Names as few separating nets as explain all conflicts: the one with most conflicts first, then supplies and nets with
/// many pads.
fn name(problem: &Problem, mut cut_by: BTreeMap<&str, BTreeMap<&str, Witness>>) -> Vec<Certificate> {
    let supply = |net: &str| problem.nets.iter().any(|n| n.name == net && n.supply);
    let pads = |net: &str| problem.pads.iter().filter(|p| p.net == net).count();
    let mut found = Vec::new();
    loop {
        let worst = cut_by
            .iter()
            .filter(|(_, cut)| !cut.is_empty())
            .max_by_key(|(net, cut)| (cut.len(), supply(net), pads(net), std::cmp::Reverse(**net)))
            .map(|(net, _)| *net);
        let Some(separating) = worst else { return found };
        let cut = cut_by.remove(separating).unwrap_or_default();
        for other in cut_by.values_mut() {
            other.remove(separating);
        }
        let sides = cut.iter().next().map_or(String::new(), |(net, w)| {
            let ([a, b], [c, d]) = (&w.separating, &w.cut);
            format!("{a} and {b} of {separating} hold the rim of the die, {c} and {d} of {net} lie on either side. ")
        });
        let mend = format!(
            "{}Free it by exchanging the places of one of these, by letting {separating} be two pieces that the die or \
             the substrate joins, or by a second RDL layer.",
            capitalised(&sides)
        );
        let cut = cut.into_keys().map(str::to_owned).collect();
        found.push(Certificate::Sector { separating: separating.to_owned(), cut, mend });
    }
}

fn capitalised(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
