//! The rooted spanning tree that the network simplex method keeps: parents, depths, potentials, and children as linked
//! lists so that a subtree can be re-hung in time proportional to its size.
//!
//! One record a node, because re-hanging reads all of it and large networks do not fit the cache.

pub(super) const NONE: u32 = u32::MAX;

#[derive(Clone, Copy)]
pub(super) struct Node {
    /// Price of the node.
    pub(super) potential: i64,
    pub(super) parent: u32,
    /// The arc between the node and its parent.
    pub(super) arc: u32,
    pub(super) depth: u32,
    first_child: u32,
    next_sibling: u32,
    previous_sibling: u32,
}

pub(super) struct SpanningTree {
    pub(super) nodes: Vec<Node>,
    /// True when the arc to the parent points from the node to its parent.
    pub(super) upward: Vec<bool>,
    stack: Vec<(u32, u32)>,
}

impl SpanningTree {
    /// A star: every node hangs on the last one.
    pub(super) fn star(nodes: usize) -> SpanningTree {
        let root = nodes - 1;
        let node = Node {
            potential: 0,
            parent: NONE,
            arc: NONE,
            depth: 0,
            first_child: NONE,
            next_sibling: NONE,
            previous_sibling: NONE,
        };
        let mut tree =
            SpanningTree { nodes: vec![node; nodes], upward: vec![true; nodes], stack: Vec::new() };
        for node in 0..root {
            tree.hang(node as u32, root as u32);
            tree.nodes[node].depth = 1;
        }
        tree
    }

    pub(super) fn node(&self, node: u32) -> &Node {
        &self.nodes[node as usize]
    }

    fn hang(&mut self, node: u32, parent: u32) {
        let next = self.node(parent).first_child;
        let record = &mut self.nodes[node as usize];
        record.parent = parent;
        record.next_sibling = next;
        record.previous_sibling = NONE;
        if next != NONE {
            self.nodes[next as usize].previous_sibling = node;
        }
        self.nodes[parent as usize].first_child = node;
    }

    fn unhang(&mut self, node: u32) {
        let Node { parent, previous_sibling: before, next_sibling: after, .. } = *self.node(node);
        if before == NONE {
            self.nodes[parent as usize].first_child = after;
        } else {
            self.nodes[before as usize].next_sibling = after;
        }
        if after != NONE {
            self.nodes[after as usize].previous_sibling = before;
        }
    }

    /// Cuts the tree above `out` and hangs the loose part, re-rooted at `inside`, below `outside` with `arc` (`upward`: the
    /// arc points from `inside` to `outside`). Depths are renewed and `shift` is added to the potentials of the part.
    pub(super) fn rehang(&mut self, out: u32, inside: u32, outside: u32, arc: (u32, bool), shift: i64) {
        let (mut node, mut parent) = (inside, outside);
        let (mut arc, mut upward) = arc;
        loop {
            let (old_parent, old_arc) = (self.node(node).parent, self.node(node).arc);
            let old_upward = self.upward[node as usize];
            self.unhang(node);
            self.hang(node, parent);
            self.nodes[node as usize].arc = arc;
            self.upward[node as usize] = upward;
            if node == out {
                break;
            }
            (parent, node, arc, upward) = (node, old_parent, old_arc, !old_upward);
        }
        self.stack.push((inside, self.node(outside).depth + 1));
        while let Some((node, depth)) = self.stack.pop() {
            let record = &mut self.nodes[node as usize];
            record.depth = depth;
            record.potential += shift;
            let mut child = record.first_child;
            while child != NONE {
                self.stack.push((child, depth + 1));
                child = self.nodes[child as usize].next_sibling;
            }
        }
    }
}
