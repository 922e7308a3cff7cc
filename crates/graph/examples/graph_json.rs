//! Solves graph problems from standard input: one JSON object a line in, one a line out.
//!
//! Run it with `echo '{"assign": [[4, 1, 3], [2, 0, 5]]}' | cargo run -p facedown-graph --example graph_json`; it
//! prints `{"total":3.0,"bound":3.0,"column_of_row":[1,0]}`. Other tasks: `{"assign_points": [rows, columns]}`, `{"bottleneck":
//! costs}`, `{"maximum_flow": network}`, `{"min_cost_maximum_flow": network}`, where a network is `{"nodes": 3, "source": 0, "sink":
//! 2, "arcs": [[from, to, capacity, cost], ...]}`, `{"matching": [left, right, [[l, r], ...]]}`, `{"planar": chords}`, `{"two_pages": chords}`,
//! `{"longest_increasing": sequence}`, `{"layers": sequence}`.

use facedown_graph::assignment::{CostMatrix, Distance, assign_bottleneck, assign_dense, assign_points};
use facedown_graph::chords::{TwoPages, largest_planar_subset, two_pages};
use facedown_graph::flow::{Network, maximum_flow, min_cost_maximum_flow};
use facedown_graph::matching::{Bipartite, maximum_matching};
use facedown_graph::sequence::{increasing_layers, longest_increasing};
use serde::Deserialize;
use serde_json::{Value, json};
use std::error::Error;
use std::io::BufRead;

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum Task {
    Assign(Vec<Vec<f64>>),
    AssignPoints(Vec<[f64; 2]>, Vec<[f64; 2]>),
    Bottleneck(Vec<Vec<f64>>),
    MaximumFlow(Graph),
    MinCostMaximumFlow(Graph),
    Matching(usize, usize, Vec<(usize, usize)>),
    Planar(Vec<(usize, usize)>),
    TwoPages(Vec<(usize, usize)>),
    LongestIncreasing(Vec<i64>),
    Layers(Vec<i64>),
}

#[derive(Deserialize)]
struct Graph {
    nodes: usize,
    source: usize,
    sink: usize,
    arcs: Vec<(usize, usize, i64, i64)>,
}

impl Graph {
    fn network(&self) -> Network {
        let mut network = Network::new(self.nodes);
        for &(from, to, capacity, cost) in &self.arcs {
            network.add_arc(from, to, capacity, cost);
        }
        network
    }
}

fn matrix(rows: &[Vec<f64>]) -> Result<CostMatrix, Box<dyn Error>> {
    Ok(CostMatrix::new(rows.len(), rows.first().map_or(0, Vec::len), rows.concat())?)
}

fn solve(task: Task) -> Result<Value, Box<dyn Error>> {
    Ok(match task {
        Task::Assign(costs) => {
            let best = assign_dense(&matrix(&costs)?)?;
            json!({"total": best.total, "bound": best.bound(), "column_of_row": best.column_of_row})
        }
        Task::AssignPoints(rows, columns) => {
            let best = assign_points(&rows, &columns, Distance::Euclidean)?;
            json!({"total": best.total, "bound": best.bound(), "column_of_row": best.column_of_row})
        }
        Task::Bottleneck(costs) => json!({"largest": assign_bottleneck(&matrix(&costs)?)?.largest}),
        Task::MaximumFlow(graph) => {
            let most = maximum_flow(&graph.network(), graph.source, graph.sink)?;
            json!({"value": most.value, "flow": most.flow})
        }
        Task::MinCostMaximumFlow(graph) => {
            let (value, best) = min_cost_maximum_flow(&graph.network(), graph.source, graph.sink)?;
            json!({"value": value, "cost": i64::try_from(best.cost)?, "flow": best.flow})
        }
        Task::Matching(left, right, edges) => {
            let mut graph = Bipartite::new(left, right);
            for (l, r) in edges {
                graph.connect(l, r);
            }
            json!({"size": maximum_matching(&graph).iter().flatten().count()})
        }
        Task::Planar(chords) => json!({"size": largest_planar_subset(&chords)?.len()}),
        Task::TwoPages(chords) => json!({"fit": matches!(two_pages(&chords), TwoPages::Pages(_))}),
        Task::LongestIncreasing(sequence) => json!({"length": longest_increasing(&sequence).len()}),
        Task::Layers(sequence) => {
            json!({"layers": increasing_layers(&sequence).iter().max().map_or(0, |l| l + 1)})
        }
    })
}

fn main() -> Result<(), Box<dyn Error>> {
    for line in std::io::stdin().lock().lines() {
        println!("{}", solve(serde_json::from_str(&line?)?)?);
    }
    Ok(())
}
