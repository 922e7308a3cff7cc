//! Largest matching of a bipartite graph (Hopcroft and Karp, 1973, "An n^5/2 algorithm for maximum matchings in
//! bipartite graphs", SIAM J. Comput. 2, 225-231), O(edges sqrt(nodes)).

const NONE: usize = usize::MAX;

/// A bipartite graph, stored as the right neighbours of each left node.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bipartite {
    neighbours: Vec<Vec<usize>>,
    right: usize,
}

impl Bipartite {
    /// A graph without edges.
    pub fn new(left: usize, right: usize) -> Bipartite {
        Bipartite { neighbours: vec![Vec::new(); left], right }
    }

    /// Adds an edge.
    ///
    /// # Panics
    /// When a node is out of range.
    pub fn connect(&mut self, left: usize, right: usize) {
        assert!(right < self.right, "right node {right} of {}", self.right);
        self.neighbours[left].push(right);
    }
}

/// The right partner of each left node in a largest matching.
///
/// ```
/// use facedown_graph::matching::{Bipartite, maximum_matching};
/// let mut graph = Bipartite::new(2, 2);
/// graph.connect(0, 0);
/// graph.connect(0, 1);
/// graph.connect(1, 0);
/// assert_eq!(maximum_matching(&graph), [Some(1), Some(0)]);
/// ```
pub fn maximum_matching(graph: &Bipartite) -> Vec<Option<usize>> {
    maximum_matching_from(graph, vec![None; graph.neighbours.len()])
}

/// As [`maximum_matching`], starting from a matching that is already there (edges of the graph, no node twice).
pub fn maximum_matching_from(graph: &Bipartite, start: Vec<Option<usize>>) -> Vec<Option<usize>> {
    let left = graph.neighbours.len();
    let mut search = Search {
        graph,
        right_of: start.into_iter().map(|r| r.unwrap_or(NONE)).collect(),
        left_of: vec![NONE; graph.right],
        level: vec![0; left],
        next_edge: vec![0; left],
    };
    for l in 0..left {
        if search.right_of[l] != NONE {
            search.left_of[search.right_of[l]] = l;
        }
    }
    while search.layers() {
        search.next_edge.fill(0);
        for l in 0..left {
            if search.right_of[l] == NONE {
                search.extend(l);
            }
        }
    }
    search.right_of.into_iter().map(|r| (r != NONE).then_some(r)).collect()
}

struct Search<'a> {
    graph: &'a Bipartite,
    right_of: Vec<usize>,
    left_of: Vec<usize>,
    level: Vec<usize>,
    next_edge: Vec<usize>,
}

impl Search<'_> {
    /// Breadth-first layers from the free left nodes; true when a free right node is in reach.
    fn layers(&mut self) -> bool {
        let mut queue = Vec::with_capacity(self.level.len());
        for (l, r) in self.right_of.iter().enumerate() {
            self.level[l] = if *r == NONE { 0 } else { NONE };
            if *r == NONE {
                queue.push(l);
            }
        }
        let (mut head, mut reach) = (0, false);
        while let Some(&l) = queue.get(head) {
            head += 1;
            for &r in &self.graph.neighbours[l] {
                match self.left_of[r] {
                    NONE => reach = true,
                    next if self.level[next] == NONE => {
                        self.level[next] = self.level[l] + 1;
                        queue.push(next);
                    }
                    _ => {}
                }
            }
        }
        reach
    }

    /// Depth-first search for an augmenting path along the layers, with a stack of its own so that long paths do
    /// not exhaust the thread's.
    fn extend(&mut self, start: usize) {
        let mut path = vec![start];
        while let Some(&l) = path.last() {
            let Some(&r) = self.graph.neighbours[l].get(self.next_edge[l]) else {
                // A dead end: no path of this round may come here again.
                self.level[l] = NONE;
                path.pop();
                if let Some(&before) = path.last() {
                    self.next_edge[before] += 1;
                }
                continue;
            };
            match self.left_of[r] {
                NONE => {
                    for &l in path.iter().rev() {
                        let r = self.graph.neighbours[l][self.next_edge[l]];
                        self.right_of[l] = r;
                        self.left_of[r] = l;
                        self.next_edge[l] += 1;
                    }
                    return;
                }
                next if self.level[next] != NONE && self.level[next] == self.level[l] + 1 => path.push(next),
                _ => self.next_edge[l] += 1,
            }
        }
    }
}
