//! A block of curved bricks: a unit cube cut by three lists of edges and mapped into space.

/// A mapped block with its nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct Mesh {
    cells: [usize; 3],
    nodes: Vec<[f64; 3]>,
}

/// Why there is no mesh: an axis without a cell, or with edges that do not rise.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotAMesh(pub usize);

impl std::fmt::Display for NotAMesh {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "the edges along direction {} of the block do not rise", self.0 + 1)
    }
}

impl std::error::Error for NotAMesh {}

impl Mesh {
    /// A block from its edges along three directions, each rising, and the map of these coordinates into space. Nodes stand on
    /// edges and halfway between; where the map has a kink an edge belongs there.
    ///
    /// # Errors
    /// [`NotAMesh`] with the direction, 0 to 2, whose edges are fewer than two or do not rise.
    pub fn new(edges: [&[f64]; 3], map: impl Fn([f64; 3]) -> [f64; 3]) -> Result<Mesh, NotAMesh> {
        for (axis, line) in edges.iter().enumerate() {
            if line.len() < 2
                || line.windows(2).any(|w| !(w[1] > w[0] && w[0].is_finite() && w[1].is_finite()))
            {
                return Err(NotAMesh(axis));
            }
        }
        let fine = edges.map(|line| {
            let mut all = vec![line[0]];
            line.windows(2).for_each(|w| all.extend([0.5 * (w[0] + w[1]), w[1]]));
            all
        });
        let mut nodes = Vec::new();
        for &c in &fine[2] {
            for &b in &fine[1] {
                nodes.extend(fine[0].iter().map(|&a| map([a, b, c])));
            }
        }
        Ok(Mesh { cells: edges.map(|line| line.len() - 1), nodes })
    }

    /// Places of the nodes, the first direction fastest.
    pub fn nodes(&self) -> &[[f64; 3]] {
        &self.nodes
    }

    /// Largest index of a node along each direction: twice the number of bricks.
    pub fn last(&self) -> [usize; 3] {
        self.cells.map(|n| 2 * n)
    }

    /// Number of the node at an index.
    pub fn node(&self, index: [usize; 3]) -> usize {
        let last = self.last();
        index[0] + (last[0] + 1) * (index[1] + (last[1] + 1) * index[2])
    }

    /// Index of a node.
    pub fn index(&self, node: usize) -> [usize; 3] {
        let [a, b, _] = self.last().map(|n| n + 1);
        [node % a, node / a % b, node / (a * b)]
    }

    /// Nodes of every brick, the first direction fastest.
    pub(super) fn bricks(&self) -> impl Iterator<Item = [usize; 27]> + '_ {
        let [a, b, c] = self.cells;
        (0..a * b * c).map(move |brick| {
            let corner = [brick % a, brick / a % b, brick / (a * b)];
            std::array::from_fn(|k| {
                self.node([2 * corner[0] + k % 3, 2 * corner[1] + k / 3 % 3, 2 * corner[2] + k / 9])
            })
        })
    }
}

/// Edges from 0 to 1 whose `cells` cells grow from the first by one ratio, so that the first has the size `first`; even where that is
/// not smaller than even cells. The ratio ends at 3.
pub fn graded(cells: usize, first: f64) -> Vec<f64> {
    let n = cells.max(1);
    let sum = |q: f64| (0..n).map(|k| q.powi(k as i32)).sum::<f64>();
    let (mut low, mut high) = (1.0, 3.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if sum(middle) * first > 1.0 { high = middle } else { low = middle }
    }
    let q = 0.5 * (low + high);
    let whole = sum(q);
    let mut edges: Vec<f64> =
        (0..=n).map(|k| (0..k).map(|i| q.powi(i as i32)).sum::<f64>() / whole).collect();
    edges[n] = 1.0;
    edges
}
