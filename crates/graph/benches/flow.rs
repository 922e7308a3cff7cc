//! Min-cost flow on grids and on random networks up to 50,000 nodes and 250,000 arcs.
//!
//! `cargo bench -p facedown-graph --bench flow`.

use facedown_graph::flow::{Network, min_cost_flow};
use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::Rng;
use std::time::Instant;

/// A square grid of tiles; units start on the rim and end at random tiles inside, as redistribution has it.
fn grid(side: usize, random: &mut Pcg64Mcg) -> Network {
    let mut network = Network::new(side * side);
    let at = |x: usize, y: usize| y * side + x;
    for y in 0..side {
        for x in 0..side {
            for (nx, ny, length) in [(x + 1, y, 100), (x, y + 1, 100), (x + 1, y + 1, 141)] {
                if nx < side && ny < side {
                    let cost = length + i64::from(random.next_u32() % 20);
                    network.add_arc(at(x, y), at(nx, ny), 3, cost);
                    network.add_arc(at(nx, ny), at(x, y), 3, cost);
                }
            }
        }
    }
    for k in 0..side {
        network.set_supply(at(k, 0), 1);
        network.set_supply(at(k, side - 1), 1);
    }
    let mut left = 2 * side as i64;
    while left > 0 {
        let (x, y) = (random.next_u32() as usize % side, 1 + random.next_u32() as usize % (side - 2));
        if network.supplies()[at(x, y)] == 0 {
            network.set_supply(at(x, y), -1);
            left -= 1;
        }
    }
    network
}

/// A ring that guarantees a flow, and random arcs.
fn scattered(nodes: usize, arcs: usize, random: &mut Pcg64Mcg) -> Network {
    let mut network = Network::new(nodes);
    for node in 0..nodes {
        network.add_arc(node, (node + 1) % nodes, 1_000_000, 10_000);
    }
    for _ in nodes..arcs {
        let (a, b) = (random.next_u32() as usize % nodes, random.next_u32() as usize % nodes);
        network.add_arc(a, b, 1 + i64::from(random.next_u32() % 1000), i64::from(random.next_u32() % 10_000));
    }
    for node in 0..nodes / 4 {
        let supply = i64::from(random.next_u32() % 100);
        network.set_supply(node, supply);
        network.set_supply(nodes - 1 - node, -supply);
    }
    network
}

fn main() {
    let mut random = Pcg64Mcg::new(7);
    println!("{:>8} {:>8} {:<10} {:>9}", "nodes", "arcs", "kind", "s");
    for (kind, network) in [
        ("grid", grid(60, &mut random)),
        ("grid", grid(204, &mut random)),
        ("scattered", scattered(5_000, 25_000, &mut random)),
        ("scattered", scattered(50_000, 250_000, &mut random)),
    ] {
        let start = Instant::now();
        let cost = min_cost_flow(&network).map(|f| f.cost);
        let seconds = start.elapsed().as_secs_f64();
        println!(
            "{:>8} {:>8} {kind:<10} {seconds:>9.3}  cost {cost:?}",
            network.nodes(),
            network.arcs().len()
        );
    }
}
