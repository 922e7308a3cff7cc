//! Flows in networks with whole-number capacities and costs.
//!
//! [`maximum_flow`] (with the cut that proves it) and [`min_cost_flow`] (with the node potentials that prove it). A node
//! that may pass only so much is two nodes and an arc: [`Network::add_limited_node`].

mod maximum;
mod network_simplex;
mod spanning_tree;

pub use maximum::{MaximumFlow, maximum_flow};
pub use network_simplex::{MinCostFlow, min_cost_flow, min_cost_maximum_flow};

/// A directed arc.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Arc {
    /// Tail node.
    pub from: usize,
    /// Head node.
    pub to: usize,
    /// Most flow, zero or above.
    pub capacity: i64,
    /// Cost of one unit of flow, any sign.
    pub cost: i64,
}

/// A network: nodes with supplies, and arcs. Several arcs between the same nodes are fine.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Network {
    supplies: Vec<i64>,
    arcs: Vec<Arc>,
}

impl Network {
    /// A network of so many nodes without supplies and arcs.
    pub fn new(nodes: usize) -> Network {
        Network { supplies: vec![0; nodes], arcs: Vec::new() }
    }

    /// Adds a node and returns its number.
    pub fn add_node(&mut self) -> usize {
        self.supplies.push(0);
        self.supplies.len() - 1
    }

    /// Adds a node that passes at most `capacity` units; returns its entry (head of arcs that come in) and its exit
    /// (tail of arcs that go out). The two are joined by the arc with the number that is returned last.
    pub fn add_limited_node(&mut self, capacity: i64) -> (usize, usize, usize) {
        let (entry, exit) = (self.add_node(), self.add_node());
        let arc = self.add_arc(entry, exit, capacity, 0);
        (entry, exit, arc)
    }

    /// Adds an arc and returns its number.
    ///
    /// # Panics
    /// When a node does not exist.
    pub fn add_arc(&mut self, from: usize, to: usize, capacity: i64, cost: i64) -> usize {
        let nodes = self.supplies.len();
        assert!(from < nodes && to < nodes, "arc {from} -> {to} in a network of {nodes} nodes");
        self.arcs.push(Arc { from, to, capacity, cost });
        self.arcs.len() - 1
    }

    /// Sets what a node feeds in (positive) or takes out (negative).
    ///
    /// # Panics
    /// When the node does not exist.
    pub fn set_supply(&mut self, node: usize, supply: i64) {
        self.supplies[node] = supply;
    }

    /// Number of nodes.
    pub fn nodes(&self) -> usize {
        self.supplies.len()
    }

    /// The arcs in the order in which they were added.
    pub fn arcs(&self) -> &[Arc] {
        &self.arcs
    }

    /// The supply of each node.
    pub fn supplies(&self) -> &[i64] {
        &self.supplies
    }

    fn check(&self) -> Result<(), FlowError> {
        match self.arcs.iter().position(|a| a.capacity < 0) {
            Some(arc) => Err(FlowError::NegativeCapacity { arc }),
            None => Ok(()),
        }
    }
}

/// Why there is no flow.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FlowError {
    /// An arc has a negative capacity.
    #[error("arc {arc} has a negative capacity")]
    NegativeCapacity {
        /// Arc number.
        arc: usize,
    },
    /// Supplies and demands do not cancel.
    #[error("the supplies of all nodes add up to {sum}; they must cancel")]
    Unbalanced {
        /// Their sum.
        sum: i64,
    },
    /// Source and sink are the same node, or do not exist.
    #[error("source {source_node} and sink {sink} must be two nodes of the network")]
    Terminals {
        /// Source.
        source_node: usize,
        /// Sink.
        sink: usize,
    },
    /// Costs or supplies so large that sums of them would not fit in 64 bits.
    #[error("costs, capacities or supplies are too large to be added in 64 bits")]
    TooLarge,
    /// The arcs cannot carry the supplies.
    #[error("{short} units of supply find no way out of a set of {} nodes", source_side.len())]
    Infeasible {
        /// Units that cannot be carried.
        short: i64,
        /// Nodes of a set that feeds in `short` units more than the arcs that leave it can carry.
        source_side: Vec<usize>,
    },
}
