//! Disjoint sets of numbers: what is joined with what.

/// Disjoint sets.
pub(crate) struct Sets {
    parent: Vec<u32>,
}

impl Sets {
    pub(crate) fn new(count: usize) -> Sets {
        Sets { parent: (0..count as u32).collect() }
    }

    pub(crate) fn find(&mut self, mut i: u32) -> u32 {
        while self.parent[i as usize] != i {
            self.parent[i as usize] = self.parent[self.parent[i as usize] as usize];
            i = self.parent[i as usize];
        }
        i
    }

    /// Joins two sets; the smaller number stays the root, so that roots do not depend on the order of joining.
    pub(crate) fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.find(a), self.find(b));
        self.parent[a.max(b) as usize] = a.min(b);
    }

    /// Set number of each element, numbered from 0 in order of first appearance, and the number of sets.
    pub(crate) fn numbered(&mut self) -> (Vec<u32>, u32) {
        let mut number = vec![u32::MAX; self.parent.len()];
        let mut count = 0;
        let sets = (0..self.parent.len() as u32)
            .map(|i| {
                let root = self.find(i) as usize;
                if number[root] == u32::MAX {
                    number[root] = count;
                    count += 1;
                }
                number[root]
            })
            .collect();
        (sets, count)
    }
}
