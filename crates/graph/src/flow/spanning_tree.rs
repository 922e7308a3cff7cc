//! The rooted spanning tree that the network simplex method keeps: parents, depths, and children as linked lists so
//! that a subtree can be re-hung in time proportional to its size.

pub(super) const NONE: u32 = u32::MAX;

pub(super) struct SpanningTree {
    pub(super) parent: Vec<u32>,
    /// The arc between a node and its parent.
    pub(super) arc: Vec<u32>,
    /// True when that arc points from the node to its parent.
    pub(super) upward: Vec<bool>,
    pub(super) depth: Vec<u32>,
    first_child: Vec<u32>,
    next_sibling: Vec<u32>,
    previous_sibling: Vec<u32>,
    stack: Vec<u32>,
}

impl SpanningTree {
    /// A star: every node hangs on the last one.
    pub(super) fn star(nodes: usize) -> SpanningTree {
        let root = nodes - 1;
        let mut tree = SpanningTree {
            parent: vec![NONE; nodes],
            arc: vec![NONE; nodes],
            upward: vec![true; nodes],
            depth: vec![0; nodes],
            first_child: vec![NONE; nodes],
            next_sibling: vec![NONE; nodes],
            previous_sibling: vec![NONE; nodes],
            stack: Vec::new(),
        };
        for node in 0..root {
            tree.hang(node as u32, root as u32);
            tree.depth[node] = 1;
        }
        tree
    }

    fn hang(&mut self, node: u32, parent: u32) {
        let next = self.first_child[parent as usize];
        self.parent[node as usize] = parent;
        self.next_sibling[node as usize] = next;
        self.previous_sibling[node as usize] = NONE;
        if next != NONE {
            self.previous_sibling[next as usize] = node;
        }
        self.first_child[parent as usize] = node;
    }

    fn unhang(&mut self, node: u32) {
        let (before, after) = (self.previous_sibling[node as usize], self.next_sibling[node as usize]);
        if before == NONE {
            self.first_child[self.parent[node as usize] as usize] = after;
        } else {
            self.next_sibling[before as usize] = after;
        }
        if after != NONE {
            self.previous_sibling[after as usize] = before;
        }
    }

    /// Cuts the tree above `out` and hangs the loose part, re-rooted at `inside`, below `outside` with `arc` (`upward`: the
    /// arc points from `inside` to `outside`). Depths are renewed and `shift` is added to the potentials of the part.
    pub(super) fn rehang(
        &mut self,
        out: u32,
        inside: u32,
        outside: u32,
        arc: (u32, bool),
        shift: i64,
        potential: &mut [i64],
    ) {
        let (mut node, mut parent) = (inside, outside);
        let (mut arc, mut upward) = arc;
        loop {
            let (old_parent, old_arc, old_upward) =
                (self.parent[node as usize], self.arc[node as usize], self.upward[node as usize]);
            self.unhang(node);
            self.hang(node, parent);
            self.arc[node as usize] = arc;
            self.upward[node as usize] = upward;
            if node == out {
                break;
            }
            (parent, node, arc, upward) = (node, old_parent, old_arc, !old_upward);
        }
        self.stack.push(inside);
        while let Some(node) = self.stack.pop() {
            self.depth[node as usize] = self.depth[self.parent[node as usize] as usize] + 1;
            potential[node as usize] += shift;
            let mut child = self.first_child[node as usize];
            while child != NONE {
                self.stack.push(child);
                child = self.next_sibling[child as usize];
            }
        }
    }
}
