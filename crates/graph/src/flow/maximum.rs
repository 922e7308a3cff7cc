//! Maximum flow by blocking flows in layered networks (Dinic, 1970; as in Ahuja, Magnanti and Orlin, 1993,
//! "Network Flows", section 7.5), O(nodes^2 arcs) at worst and far less on the sparse networks met here.

use super::{FlowError, Network};

/// A largest flow and a smallest cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MaximumFlow {
    /// Units from source to sink.
    pub value: i64,
    /// Flow on each arc.
    pub flow: Vec<i64>,
    /// True for nodes on the source's side of a smallest cut: the capacities of the arcs that leave this side add up to
    /// `value`, which proves that no flow is larger.
    pub source_side: Vec<bool>,
}

/// The largest flow from `source` to `sink`; supplies and costs are not looked at.
///
/// # Errors
/// On a negative capacity, on capacities too large to be added, and when source and sink are not two nodes.
///
/// ```
/// use facedown_graph::flow::{Network, maximum_flow};
/// let mut network = Network::new(3);
/// network.add_arc(0, 1, 5, 0);
/// network.add_arc(1, 2, 3, 0);
/// assert_eq!(maximum_flow(&network, 0, 2).unwrap().value, 3);
/// ```
pub fn maximum_flow(network: &Network, source: usize, sink: usize) -> Result<MaximumFlow, FlowError> {
    network.check()?;
    let nodes = network.nodes();
    if source == sink || source >= nodes || sink >= nodes {
        return Err(FlowError::Terminals { source_node: source, sink });
    }
    let total = network.arcs().iter().try_fold(0i64, |sum, a| sum.checked_add(a.capacity));
    total.ok_or(FlowError::TooLarge)?;
    let mut search = Search::new(network);
    let mut value = 0;
    while search.layers(source, sink) {
        value += search.blocking_flow(source, sink);
    }
    // The last layering found no way to the sink: what it reached is the source's side of a smallest cut.
    Ok(MaximumFlow {
        value,
        flow: (0..network.arcs().len()).map(|a| search.room[2 * a + 1]).collect(),
        source_side: search.level.iter().map(|&l| l != UNREACHED).collect(),
    })
}

const UNREACHED: u32 = u32::MAX;

/// Residual network: half-arc `2a` is arc `a`, half-arc `2a + 1` its reverse.
struct Search {
    first: Vec<u32>,
    half_arcs: Vec<u32>,
    head: Vec<u32>,
    room: Vec<i64>,
    level: Vec<u32>,
    next: Vec<u32>,
}

impl Search {
    fn new(network: &Network) -> Search {
        let nodes = network.nodes();
        let mut first = vec![0u32; nodes + 1];
        for arc in network.arcs() {
            first[arc.from + 1] += 1;
            first[arc.to + 1] += 1;
        }
        for node in 0..nodes {
            first[node + 1] += first[node];
        }
        let mut place = first.clone();
        let mut half_arcs = vec![0; 2 * network.arcs().len()];
        let (mut head, mut room) = (Vec::new(), Vec::new());
        for (a, arc) in network.arcs().iter().enumerate() {
            for (half, from, to, capacity) in
                [(2 * a, arc.from, arc.to, arc.capacity), (2 * a + 1, arc.to, arc.from, 0)]
            {
                half_arcs[place[from] as usize] = half as u32;
                place[from] += 1;
                head.push(to as u32);
                room.push(capacity);
            }
        }
        Search { first, half_arcs, head, room, level: vec![UNREACHED; nodes], next: vec![0; nodes] }
    }

    fn layers(&mut self, source: usize, sink: usize) -> bool {
        self.level.fill(UNREACHED);
        self.level[source] = 0;
        let mut queue = vec![source as u32];
        let mut at = 0;
        while let Some(&node) = queue.get(at) {
            at += 1;
            let range = self.first[node as usize] as usize..self.first[node as usize + 1] as usize;
            for &half in &self.half_arcs[range] {
                let to = self.head[half as usize];
                if self.room[half as usize] > 0 && self.level[to as usize] == UNREACHED {
                    self.level[to as usize] = self.level[node as usize] + 1;
                    queue.push(to);
                }
            }
        }
        self.level[sink] != UNREACHED
    }

    fn blocking_flow(&mut self, source: usize, sink: usize) -> i64 {
        self.next.copy_from_slice(&self.first[..self.level.len()]);
        let mut value = 0;
        let mut path: Vec<u32> = Vec::new();
        let mut node = source;
        loop {
            if node == sink {
                let least = path.iter().map(|&h| self.room[h as usize]).min().unwrap_or(0);
                value += least;
                // Go on from the tail of the first arc that is now full.
                let mut keep = path.len();
                for (k, &half) in path.iter().enumerate().rev() {
                    self.room[half as usize] -= least;
                    self.room[half as usize ^ 1] += least;
                    if self.room[half as usize] == 0 {
                        keep = k;
                    }
                }
                node = self.head[path[keep] as usize ^ 1] as usize;
                path.truncate(keep);
                continue;
            }
            if self.next[node] == self.first[node + 1] {
                let Some(half) = path.pop() else {
                    return value;
                };
                node = self.head[half as usize ^ 1] as usize;
                self.next[node] += 1;
                continue;
            }
            let half = self.half_arcs[self.next[node] as usize];
            let to = self.head[half as usize] as usize;
            if self.room[half as usize] > 0 && self.level[to] == self.level[node] + 1 {
                path.push(half);
                node = to;
            } else {
                self.next[node] += 1;
            }
        }
    }
}
