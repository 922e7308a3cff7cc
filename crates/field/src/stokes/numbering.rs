//! Numbers of the unknown velocities: held components have none, tied ones share one, and the order keeps the envelope
//! narrow (reversed order of E. Cuthill, J. McKee, Proc. 24th ACM Conf. (1969) 157).

use super::mesh::Mesh;
use super::{Condition, Node};
use crate::NoConvergence;
use std::collections::VecDeque;

/// For each node and component, the unknown and its sign.
pub(super) struct Numbers {
    place: Vec<[(Option<usize>, f64); 3]>,
    pub unknowns: usize,
}

impl Numbers {
    /// Of the 81 velocities of a brick.
    pub fn of(&self, nodes: &[usize; 27]) -> [(Option<usize>, f64); 81] {
        std::array::from_fn(|a| self.place[nodes[a / 3]][a % 3])
    }

    /// Velocity of a node.
    pub fn at(&self, node: usize, x: &[f64]) -> [f64; 3] {
        self.place[node].map(|(i, sign)| i.map_or(0.0, |i| sign * x[i]))
    }

    /// Velocities of a brick.
    pub fn velocity(&self, nodes: &[usize; 27], x: &[f64]) -> [f64; 81] {
        let own = self.of(nodes);
        std::array::from_fn(|a| own[a].0.map_or(0.0, |i| own[a].1 * x[i]))
    }
}

pub(super) fn number(mesh: &Mesh, condition: impl Fn(Node) -> Condition) -> Result<Numbers, NoConvergence> {
    let count = mesh.nodes().len();
    let conditions: Vec<Condition> = (0..count)
        .map(|n| condition(Node { index: mesh.index(n), last: mesh.last(), place: mesh.nodes()[n] }))
        .collect();
    // Where a node's velocity lives.
    let mut home = Vec::with_capacity(count);
    for (n, c) in conditions.iter().enumerate() {
        home.push(match *c {
            Condition::Held(_) => (n, [1.0; 3]),
            Condition::Tied(index, signs) => {
                let inside = index.iter().zip(mesh.last()).all(|(i, last)| *i <= last);
                let to = if inside { mesh.node(index) } else { return Err(NoConvergence::Singular) };
                if matches!(conditions[to], Condition::Tied(..)) {
                    return Err(NoConvergence::Singular);
                }
                (to, signs)
            }
        });
    }
    let mut near = vec![Vec::new(); count];
    for nodes in mesh.bricks() {
        for a in nodes {
            near[home[a].0].extend(nodes.map(|b| home[b].0));
        }
    }
    for (n, list) in near.iter_mut().enumerate() {
        list.sort_unstable();
        list.dedup();
        list.retain(|&m| m != n);
    }
    // From a node at an end of the mesh: the farthest from the farthest.
    let mut start = home[0].0;
    let mut order = Vec::new();
    for _ in 0..3 {
        order = outwards(&near, start);
        start = *order.last().unwrap_or(&start);
    }
    let mut first = vec![[None; 3]; count];
    let mut unknowns = 0;
    for &n in order.iter().rev() {
        if let Condition::Held(held) = conditions[n] {
            for (slot, _) in first[n].iter_mut().zip(held).filter(|(_, held)| !held) {
                *slot = Some(unknowns);
                unknowns += 1;
            }
        }
    }
    let place = home.iter().map(|&(to, signs)| std::array::from_fn(|i| (first[to][i], signs[i]))).collect();
    Ok(Numbers { place, unknowns })
}

/// Nodes ring by ring from a start, each ring's own with the fewest neighbours first.
fn outwards(near: &[Vec<usize>], start: usize) -> Vec<usize> {
    let mut seen = vec![false; near.len()];
    let mut order = Vec::new();
    let mut queue = VecDeque::from([start]);
    seen[start] = true;
    while let Some(n) = queue.pop_front() {
        order.push(n);
        let mut next: Vec<usize> = near[n].iter().copied().filter(|m| !seen[*m]).collect();
        next.sort_by_key(|m| near[*m].len());
        for m in next {
            seen[m] = true;
            queue.push_back(m);
        }
    }
    order
}
