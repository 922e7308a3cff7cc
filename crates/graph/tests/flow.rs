//! Flows against brute force over all cuts, and against each other; matchings against flows.
// Helpers of tests may unwrap as tests do.
#![allow(clippy::unwrap_used)]

use facedown_graph::flow::{FlowError, Network, maximum_flow, min_cost_flow, min_cost_maximum_flow};
use facedown_graph::matching::{Bipartite, maximum_matching};
use proptest::prelude::*;

type Arcs = Vec<(usize, usize, i64, i64)>;

fn network(nodes: usize, arcs: &Arcs) -> Network {
    let mut network = Network::new(nodes);
    for &(from, to, capacity, cost) in arcs {
        network.add_arc(from % nodes, to % nodes, capacity, cost);
    }
    network
}

fn balanced(network: &Network, flow: &[i64], supply: impl Fn(usize) -> i64) -> bool {
    let mut net: Vec<i64> = (0..network.nodes()).map(supply).collect();
    for (arc, f) in network.arcs().iter().zip(flow) {
        if *f < 0 || *f > arc.capacity {
            return false;
        }
        net[arc.from] -= f;
        net[arc.to] += f;
    }
    net.iter().all(|n| *n == 0)
}

fn supply_of(node: usize, nodes: usize, value: i64) -> i64 {
    match node {
        0 => value,
        n if n == nodes - 1 => -value,
        _ => 0,
    }
}

/// Bellman-Ford cycle cancelling: slow, and shares nothing with the simplex method.
fn cancel_cycles(network: &Network, flow: &mut [i64]) {
    loop {
        let n = network.nodes();
        let (mut distance, mut by) = (vec![0i64; n], vec![None; n]);
        let mut hit = None;
        for _ in 0..n {
            hit = None;
            for (a, arc) in network.arcs().iter().enumerate() {
                for (from, to, cost, room, forward) in [
                    (arc.from, arc.to, arc.cost, arc.capacity - flow[a], true),
                    (arc.to, arc.from, -arc.cost, flow[a], false),
                ] {
                    if room > 0 && distance[from] + cost < distance[to] {
                        distance[to] = distance[from] + cost;
                        by[to] = Some((a, from, forward));
                        hit = Some(to);
                    }
                }
            }
        }
        let Some(mut node) = hit else { return };
        for _ in 0..n {
            node = by[node].unwrap().1;
        }
        let start = node;
        loop {
            let (a, from, forward) = by[node].unwrap();
            flow[a] += if forward { 1 } else { -1 };
            node = from;
            if node == start {
                break;
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn maximum_flow_equals_the_smallest_of_all_cuts(
        nodes in 2usize..8,
        arcs in prop::collection::vec((0usize..8, 0usize..8, 0i64..6, 0i64..1), 0..20),
    ) {
        let network = network(nodes, &arcs);
        let most = maximum_flow(&network, 0, nodes - 1).unwrap();
        let cut = |side: &dyn Fn(usize) -> bool| -> i64 {
            network.arcs().iter().filter(|a| side(a.from) && !side(a.to)).map(|a| a.capacity).sum()
        };
        let smallest = (0..1usize << (nodes - 2)).map(|set| cut(&|v| v == 0 || (v < nodes - 1 && set >> (v - 1) & 1 == 1))).min();
        prop_assert_eq!(Some(most.value), smallest);
        prop_assert_eq!(cut(&|v| most.source_side[v]), most.value);
        let value = most.value;
        let carried = balanced(&network, &most.flow, |v| supply_of(v, nodes, value));
        prop_assert!(carried);
    }

    #[test]
    fn simplex_agrees_with_cycle_cancelling(
        nodes in 2usize..8,
        arcs in prop::collection::vec((0usize..8, 0usize..8, 0i64..5, -6i64..9), 0..24),
    ) {
        let network = network(nodes, &arcs);
        let (value, best) = min_cost_maximum_flow(&network, 0, nodes - 1).unwrap();
        let mut flow = maximum_flow(&network, 0, nodes - 1).unwrap().flow;
        cancel_cycles(&network, &mut flow);
        let slow: i64 = network.arcs().iter().zip(&flow).map(|(a, f)| a.cost * f).sum();
        prop_assert_eq!(best.cost, slow as i128);
        let carried = balanced(&network, &best.flow, |v| supply_of(v, nodes, value));
        prop_assert!(carried);
        for (arc, flow) in network.arcs().iter().zip(&best.flow) {
            let reduced = arc.cost + best.potential[arc.from] - best.potential[arc.to];
            prop_assert!(*flow == arc.capacity || reduced >= 0);
            prop_assert!(*flow == 0 || reduced <= 0);
        }
    }

    #[test]
    fn a_supply_that_cannot_flow_is_named_with_its_cut(
        nodes in 3usize..7,
        arcs in prop::collection::vec((0usize..7, 0usize..7, 0i64..4, 0i64..5), 0..10),
        supply in 1i64..6,
    ) {
        let mut network = network(nodes, &arcs);
        network.set_supply(0, supply);
        network.set_supply(nodes - 1, -supply);
        let most = maximum_flow(&network, 0, nodes - 1).unwrap().value;
        match min_cost_flow(&network) {
            Ok(_) => prop_assert!(most >= supply),
            Err(FlowError::Infeasible { short, source_side }) => {
                prop_assert_eq!(short, supply - most);
                let inside = |v: usize| source_side.contains(&v);
                let out: i64 = network.arcs().iter().filter(|a| inside(a.from) && !inside(a.to)).map(|a| a.capacity).sum();
                let fed: i64 = source_side.iter().map(|&v| network.supplies()[v]).sum();
                prop_assert_eq!(fed - out, short);
            }
            Err(other) => prop_assert!(false, "{}", other),
        }
    }

    #[test]
    fn matching_is_as_large_as_the_flow(
        left in 1usize..9,
        right in 1usize..9,
        edges in prop::collection::vec((0usize..9, 0usize..9), 0..30),
    ) {
        let mut graph = Bipartite::new(left, right);
        let mut network = Network::new(left + right + 2);
        let (source, sink) = (left + right, left + right + 1);
        for l in 0..left { network.add_arc(source, l, 1, 0); }
        for r in 0..right { network.add_arc(left + r, sink, 1, 0); }
        for &(l, r) in &edges {
            graph.connect(l % left, r % right);
            network.add_arc(l % left, left + r % right, 1, 0);
        }
        let pairs = maximum_matching(&graph);
        let mut used: Vec<usize> = pairs.iter().flatten().copied().collect();
        prop_assert_eq!(used.len() as i64, maximum_flow(&network, source, sink).unwrap().value);
        used.sort_unstable();
        used.dedup();
        prop_assert_eq!(used.len(), pairs.iter().flatten().count());
        for (l, r) in pairs.iter().enumerate().filter_map(|(l, r)| r.map(|r| (l, r))) {
            prop_assert!(edges.iter().any(|e| (e.0 % left, e.1 % right) == (l, r)));
        }
    }
}

#[test]
fn a_limited_node_holds_back_what_it_cannot_pass() {
    let mut network = Network::new(2);
    let (entry, exit, _) = network.add_limited_node(3);
    network.add_arc(0, entry, 10, 0);
    network.add_arc(exit, 1, 10, 0);
    assert_eq!(maximum_flow(&network, 0, 1).unwrap().value, 3);
}

#[test]
fn bad_networks_are_refused() {
    let mut network = Network::new(2);
    network.set_supply(0, 1);
    assert_eq!(min_cost_flow(&network), Err(FlowError::Unbalanced { sum: 1 }));
    network.add_arc(0, 1, -1, 0);
    assert_eq!(min_cost_flow(&network), Err(FlowError::NegativeCapacity { arc: 0 }));
    assert!(matches!(maximum_flow(&Network::new(2), 1, 1), Err(FlowError::Terminals { .. })));
    let mut large = Network::new(2);
    large.add_arc(0, 1, i64::MAX, i64::MAX);
    large.add_arc(0, 1, i64::MAX, 1);
    assert_eq!(min_cost_flow(&large), Err(FlowError::TooLarge));
    assert_eq!(maximum_flow(&large, 0, 1), Err(FlowError::TooLarge));
}
