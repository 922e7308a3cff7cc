//! Min-cost flow by the network simplex method with block pricing (Kiraly and Kovacs, 2012, "Efficient implementations
//! of minimum-cost flow algorithms", Acta Univ. Sapientiae Informatica 4, 67-118; strongly feasible trees after
//! Cunningham, 1976, as told by Ahuja, Magnanti and Orlin, 1993, "Network Flows", sections 11.5 and 11.6).
//!
//! All in whole numbers, so the optimum is exact. Tens of thousands of nodes and hundreds of thousands of arcs take
//! seconds.

use super::spanning_tree::{NONE, SpanningTree};
use super::{FlowError, Network, maximum_flow};

/// A cheapest flow with its proof.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MinCostFlow {
    /// Flow on each arc.
    pub flow: Vec<i64>,
    /// Total cost.
    pub cost: i128,
    /// A price for each node such that `cost + potential[from] - potential[to]` is not negative on arcs with
    /// room left and not positive on arcs with flow: the proof of the optimum.
    pub potential: Vec<i64>,
}

/// The cheapest flow that carries all supplies.
///
/// # Errors
/// On unbalanced supplies, negative capacities, numbers too large, and when the arcs cannot carry the supplies
/// ([`FlowError::Infeasible`], with the set of nodes that cannot get rid of theirs).
///
/// ```
/// use facedown_graph::flow::{Network, min_cost_flow};
/// let mut network = Network::new(3);
/// network.set_supply(0, 2);
/// network.set_supply(2, -2);
/// network.add_arc(0, 2, 1, 1);
/// network.add_arc(0, 1, 2, 2);
/// network.add_arc(1, 2, 2, 2);
/// let best = min_cost_flow(&network).unwrap();
/// assert_eq!((best.cost, best.flow), (5, vec![1, 1, 1]));
/// ```
pub fn min_cost_flow(network: &Network) -> Result<MinCostFlow, FlowError> {
    network.check()?;
    let too_large = FlowError::TooLarge;
    let sum = network.supplies().iter().try_fold(0i64, |s, x| s.checked_add(*x)).ok_or(too_large.clone())?;
    if sum != 0 {
        return Err(FlowError::Unbalanced { sum });
    }
    let supply = network.supplies().iter().try_fold(0i64, |s, x| s.checked_add(x.checked_abs()?));
    let supply = supply.ok_or(too_large.clone())?;
    let largest_cost = network.arcs().iter().map(|a| a.cost.unsigned_abs()).max().unwrap_or(0);
    // Dearer than any path, so artificial arcs keep flow only when nothing else can carry it.
    let artificial = (largest_cost as u128 + 1) * (network.nodes() as u128 + 1);
    let capacity = network.arcs().iter().try_fold(0i64, |s, a| s.checked_add(a.capacity));
    if artificial > 1 << 60 || capacity.is_none_or(|c| c.checked_add(supply).is_none()) {
        return Err(too_large);
    }
    let mut simplex = Simplex::new(network, artificial as i64);
    simplex.run();
    let arcs = network.arcs().len();
    let short: i64 = simplex.flow[arcs..].iter().sum();
    if short > 0 {
        return Err(infeasible(network)?);
    }
    simplex.flow.truncate(arcs);
    let potential = simplex.tree.nodes[..network.nodes()].iter().map(|n| n.potential).collect();
    let cost = network.arcs().iter().zip(&simplex.flow).map(|(a, f)| a.cost as i128 * *f as i128).sum();
    Ok(MinCostFlow { flow: simplex.flow, cost, potential })
}

/// The cheapest among the largest flows from `source` to `sink` (supplies are not looked at), with its value.
///
/// # Errors
/// As [`maximum_flow`] and [`min_cost_flow`].
pub fn min_cost_maximum_flow(
    network: &Network,
    source: usize,
    sink: usize,
) -> Result<(i64, MinCostFlow), FlowError> {
    let value = maximum_flow(network, source, sink)?.value;
    let mut demand = network.clone();
    for node in 0..network.nodes() {
        demand.set_supply(node, 0);
    }
    demand.set_supply(source, value);
    demand.set_supply(sink, -value);
    Ok((value, min_cost_flow(&demand)?))
}

/// Finds the cut that stops the supplies.
fn infeasible(network: &Network) -> Result<FlowError, FlowError> {
    let mut extended = network.clone();
    let (source, sink) = (extended.add_node(), extended.add_node());
    let mut wanted = 0;
    for (node, &supply) in network.supplies().iter().enumerate() {
        if supply > 0 {
            extended.add_arc(source, node, supply, 0);
            wanted += supply;
        } else if supply < 0 {
            extended.add_arc(node, sink, -supply, 0);
        }
    }
    let most = maximum_flow(&extended, source, sink)?;
    let source_side = (0..network.nodes()).filter(|&n| most.source_side[n]).collect();
    Ok(FlowError::Infeasible { short: wanted - most.value, source_side })
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    Lower,
    Tree,
    Upper,
}

struct Simplex {
    from: Vec<u32>,
    to: Vec<u32>,
    capacity: Vec<i64>,
    cost: Vec<i64>,
    flow: Vec<i64>,
    state: Vec<State>,
    tree: SpanningTree,
    /// Arcs that pricing looks at: all but the artificial ones.
    priced: usize,
    next: usize,
}

impl Simplex {
    fn new(network: &Network, artificial: i64) -> Simplex {
        let (nodes, arcs) = (network.nodes(), network.arcs().len());
        let mut simplex = Simplex {
            from: network.arcs().iter().map(|a| a.from as u32).collect(),
            to: network.arcs().iter().map(|a| a.to as u32).collect(),
            capacity: network.arcs().iter().map(|a| a.capacity).collect(),
            cost: network.arcs().iter().map(|a| a.cost).collect(),
            flow: vec![0; arcs],
            state: vec![State::Lower; arcs],
            tree: SpanningTree::star(nodes + 1),
            priced: arcs,
            next: 0,
        };
        let root = nodes as u32;
        for (node, &supply) in network.supplies().iter().enumerate() {
            let upward = supply >= 0;
            let (from, to) = if upward { (node as u32, root) } else { (root, node as u32) };
            simplex.tree.nodes[node].arc = simplex.from.len() as u32;
            simplex.tree.upward[node] = upward;
            // Reduced cost is cost + potential[from] - potential[to]; tree arcs have zero.
            simplex.tree.nodes[node].potential = if upward { -artificial } else { artificial };
            simplex.from.push(from);
            simplex.to.push(to);
            simplex.capacity.push(i64::MAX);
            simplex.cost.push(artificial);
            simplex.flow.push(supply.abs());
            simplex.state.push(State::Tree);
        }
        simplex
    }

    fn run(&mut self) {
        while let Some(arc) = self.entering_arc() {
            self.pivot(arc);
        }
    }

    fn reduced_cost(&self, arc: usize) -> i64 {
        self.cost[arc] + self.tree.node(self.from[arc]).potential - self.tree.node(self.to[arc]).potential
    }

    /// The arc that violates its optimality condition most within the first block of arcs that has one.
    fn entering_arc(&mut self) -> Option<u32> {
        // Four times the usual block: moving subtrees costs more than looking at arcs.
        let block = (4.0 * (self.priced as f64).sqrt()) as usize + 20;
        let (mut worst, mut found, mut in_block) = (0, None, 0);
        for _ in 0..self.priced {
            let a = self.next;
            self.next = if a + 1 == self.priced { 0 } else { a + 1 };
            let sign = match self.state[a] {
                State::Tree => 0,
                State::Lower => 1,
                State::Upper => -1,
            };
            let reduced = sign * self.reduced_cost(a);
            if reduced < worst {
                worst = reduced;
                found = Some(a as u32);
            }
            in_block += 1;
            if in_block == block {
                if found.is_some() {
                    return found;
                }
                in_block = 0;
            }
        }
        found
    }

    /// How much more may flow between a node and its parent, toward the parent or away from it.
    fn room(&self, node: u32, toward_parent: bool) -> i64 {
        let arc = self.tree.node(node).arc as usize;
        if self.tree.upward[node as usize] == toward_parent {
            self.capacity[arc] - self.flow[arc]
        } else {
            self.flow[arc]
        }
    }

    fn pivot(&mut self, entering: u32) {
        let e = entering as usize;
        // The cycle runs along the entering arc where it fills, against it where it empties.
        let filling = self.state[e] == State::Lower;
        let (first, second) = if filling { (self.from[e], self.to[e]) } else { (self.to[e], self.from[e]) };
        let join = self.join(first, second);
        // Leaving arc: the last blocking arc along the cycle from the join, which keeps the tree strongly feasible and
        // so rules out endless degenerate pivots.
        let mut most = self.capacity[e];
        let mut leaving: Option<(u32, bool)> = None;
        let mut node = first;
        while node != join {
            let room = self.room(node, false);
            if room < most {
                (most, leaving) = (room, Some((node, true)));
            }
            node = self.tree.node(node).parent;
        }
        node = second;
        while node != join {
            let room = self.room(node, true);
            if room <= most {
                (most, leaving) = (room, Some((node, false)));
            }
            node = self.tree.node(node).parent;
        }
        if most > 0 {
            self.flow[e] += if filling { most } else { -most };
            for (start, toward_parent) in [(first, false), (second, true)] {
                let mut node = start;
                while node != join {
                    let arc = self.tree.node(node).arc as usize;
                    let with = self.tree.upward[node as usize] == toward_parent;
                    self.flow[arc] += if with { most } else { -most };
                    node = self.tree.node(node).parent;
                }
            }
        }
        let Some((out, on_first_side)) = leaving else {
            self.state[e] = if filling { State::Upper } else { State::Lower };
            return;
        };
        let left = self.tree.node(out).arc as usize;
        self.state[left] = if self.flow[left] == 0 { State::Lower } else { State::Upper };
        self.state[e] = State::Tree;
        let (inside, outside) = if on_first_side { (first, second) } else { (second, first) };
        let upward = self.from[e] == inside;
        let reduced = self.reduced_cost(e);
        let shift = if upward { -reduced } else { reduced };
        self.tree.rehang(out, inside, outside, (entering, upward), shift);
    }

    fn join(&self, a: u32, b: u32) -> u32 {
        let (mut a, mut b) = (a, b);
        while a != b {
            if self.tree.node(a).depth >= self.tree.node(b).depth {
                a = self.tree.node(a).parent;
            } else {
                b = self.tree.node(b).parent;
            }
            debug_assert!(a != NONE && b != NONE);
        }
        a
    }
}
