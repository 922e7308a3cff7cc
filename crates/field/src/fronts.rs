//! Symmetric positive definite systems that are sums of small dense matrices over the pieces of a grid, by Cholesky's
//! factorisation front by front.
//!
//! The grid is halved again and again (nested dissection: A. George, SIAM J. Numer. Anal. 10 (1973) 345). From the
//! single pieces up, two halves are added, the unknowns that no piece outside shares are eliminated from a dense
//! matrix, and what is left of it goes up (the multifrontal method: I. S. Duff, J. K. Reid, ACM Trans. Math. Softw. 9
//! (1983) 302). All work is in dense blocks that stay in the caches; the order of all sums is fixed.

use crate::NoConvergence;
use std::sync::Arc;

/// Columns that are eliminated at a time.
const BLOCK: usize = 32;

/// Which unknowns meet where: made once for a grid, used for every matrix on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// Parts of the grid, halves before wholes.
    nodes: Vec<Node>,
    /// Number of unknowns.
    count: usize,
    /// Unknowns of each piece.
    pieces: Vec<Vec<usize>>,
    /// Entries of a factor.
    entries: usize,
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct Node {
    /// Unknowns of the front: first those that are eliminated here.
    unknowns: Vec<usize>,
    /// Number of unknowns that are eliminated here.
    own: usize,
    from: From,
    /// Where its entries begin in the factor: rows of `own` columns.
    start: usize,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum From {
    /// A piece, and the place of each of its unknowns in the front.
    Piece(usize, Vec<usize>),
    /// Two halves, and the place of each unknown that they hand up.
    Halves([(usize, Vec<usize>); 2]),
}

/// The Cholesky factor of a matrix on a [`Plan`].
#[derive(Debug, Clone)]
pub struct Factor {
    plan: Arc<Plan>,
    entries: Vec<f64>,
}

/// What a part of the grid shares with the rest while the plan is made: unknown and number of pieces that hold it.
type Shared = Vec<(usize, usize)>;

impl Plan {
    /// A plan for a grid of pieces, listed with the second direction running faster; each has its unknowns, without
    /// repetition, from 0 to `count - 1`. A piece may have none.
    ///
    /// # Panics
    /// When the number of pieces is not that of the grid, or an unknown is not below `count`.
    pub fn new([nx, ny]: [usize; 2], pieces: Vec<Vec<usize>>, count: usize) -> Plan {
        assert_eq!(pieces.len(), nx * ny, "pieces of a grid of {nx} by {ny}");
        let mut total = vec![0; count];
        pieces.iter().flatten().for_each(|&u| total[u] += 1);
        let mut plan = Plan { nodes: Vec::new(), count, pieces, entries: 0 };
        if nx * ny > 0 {
            plan.part([0, nx], [0, ny], ny, &total);
        }
        plan.sort();
        plan
    }

    /// Brings every front into the order of elimination, so that what is handed up keeps its order there.
    fn sort(&mut self) {
        let mut rank = vec![0; self.count];
        let order = self.nodes.iter().flat_map(|n| &n.unknowns[..n.own]);
        order.enumerate().for_each(|(k, &u)| rank[u] = k);
        self.nodes.iter_mut().for_each(|n| n.unknowns.sort_unstable_by_key(|&u| rank[u]));
        for k in 0..self.nodes.len() {
            let own = &self.nodes[k].unknowns;
            let find = |u: &usize| own.partition_point(|v| rank[*v] < rank[*u]);
            let from = match &self.nodes[k].from {
                From::Piece(piece, _) => From::Piece(*piece, self.pieces[*piece].iter().map(find).collect()),
                From::Halves(halves) => From::Halves([0, 1].map(|h| {
                    let half = &self.nodes[halves[h].0];
                    (halves[h].0, half.unknowns[half.own..].iter().map(find).collect())
                })),
            };
            self.nodes[k].from = from;
        }
    }

    /// Plans a part of the grid and gives what it shares with the rest.
    fn part(&mut self, x: [usize; 2], y: [usize; 2], across: usize, total: &[usize]) -> Shared {
        let (nx, ny) = (x[1] - x[0], y[1] - y[0]);
        if nx * ny == 1 {
            let piece = x[0] * across + y[0];
            let mut held: Shared = self.pieces[piece].iter().map(|&u| (u, 1)).collect();
            held.sort_unstable();
            let (unknowns, own, shared) = split(&held, total);
            self.push(unknowns, own, From::Piece(piece, Vec::new()));
            return shared;
        }
        let halves = if nx > ny {
            let middle = (x[0] + x[1]) / 2;
            [([x[0], middle], y), ([middle, x[1]], y)]
        } else {
            let middle = (y[0] + y[1]) / 2;
            [(x, [y[0], middle]), (x, [middle, y[1]])]
        };
        let [one, two] = halves.map(|(x, y)| {
            let shared = self.part(x, y, across, total);
            (self.nodes.len() - 1, shared)
        });
        let (unknowns, own, shared) = split(&merged(&one.1, &two.1), total);
        let from = [one.0, two.0].map(|k| (k, Vec::new()));
        self.push(unknowns, own, From::Halves(from));
        shared
    }

    fn push(&mut self, unknowns: Vec<usize>, own: usize, from: From) {
        let start = self.entries;
        self.entries += unknowns.len() * own;
        self.nodes.push(Node { unknowns, own, from, start });
    }

    /// Number of unknowns.
    pub fn len(&self) -> usize {
        self.count
    }

    /// Whether there is no unknown.
    pub fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// Entries of a factor, those of both halves of its diagonal blocks counted.
    pub fn entries(&self) -> usize {
        self.entries
    }

    /// Multiplications and additions of one factorisation.
    pub fn operations(&self) -> f64 {
        let front = |n: &Node| {
            let (s, r) = (n.own as f64, (n.unknowns.len() - n.own) as f64);
            s * s * s / 3.0 + s * s * r + s * r * r
        };
        self.nodes.iter().map(front).sum()
    }

    /// The product of the sum of the pieces' matrices, as in [`Plan::factor`], with a vector of as many entries as there
    /// are unknowns.
    pub fn times(&self, matrices: &[impl AsRef<[f64]>], x: &[f64]) -> Vec<f64> {
        let mut product = vec![0.0; self.count];
        let (mut own, mut sum) = (Vec::new(), Vec::new());
        for (unknowns, m) in self.pieces.iter().zip(matrices) {
            let (n, m) = (unknowns.len(), m.as_ref());
            own.clear();
            own.extend(unknowns.iter().map(|&u| x[u]));
            sum.clear();
            sum.resize(n, 0.0);
            for i in 0..n {
                let row = &m[i * n..i * n + i];
                let value = own[i];
                sum[i] += m[i * n + i] * value + dot(row, &own[..i]);
                sum.iter_mut().zip(row).for_each(|(s, entry)| *s += entry * value);
            }
            unknowns.iter().zip(&sum).for_each(|(&u, s)| product[u] += s);
        }
        product
    }

    /// The Cholesky factor of the sum of the pieces' matrices: each square, row by row, in the order of the piece's
    /// unknowns; only the lower half is read.
    ///
    /// # Errors
    /// [`NoConvergence::Singular`] where a pivot falls below 1e-13 of its diagonal entry (the matrix is not positive
    /// definite in this precision) or the sizes do not fit, [`NoConvergence::NotFinite`] where an entry is not finite.
    pub fn factor(self: &Arc<Plan>, matrices: &[impl AsRef<[f64]>]) -> Result<Factor, NoConvergence> {
        let matrices: Vec<&[f64]> = matrices.iter().map(AsRef::as_ref).collect();
        let fits = |(u, m): (&Vec<usize>, &&[f64])| u.len() * u.len() == m.len();
        if matrices.len() != self.pieces.len() || !self.pieces.iter().zip(&matrices).all(fits) {
            return Err(NoConvergence::Singular);
        }
        let mut diagonal = vec![0.0; self.count];
        for (unknowns, m) in self.pieces.iter().zip(&matrices) {
            let n = unknowns.len();
            unknowns.iter().enumerate().for_each(|(k, &u)| diagonal[u] += m[k * n + k]);
        }
        if diagonal.contains(&0.0) {
            return Err(NoConvergence::Singular);
        }
        let mut entries = vec![0.0; self.entries];
        let mut handed: Vec<Vec<f64>> = vec![Vec::new(); self.nodes.len()];
        for (k, node) in self.nodes.iter().enumerate() {
            let (s, n) = (node.own, node.unknowns.len());
            let mut front = Front {
                own: s,
                others: n - s,
                panel: &mut entries[node.start..node.start + s * n],
                rest: vec![0.0; (n - s) * (n - s)],
            };
            match &node.from {
                From::Piece(piece, places) => front.add(matrices[*piece], places),
                From::Halves(halves) => {
                    for (half, places) in halves {
                        front.add_rising(&std::mem::take(&mut handed[*half]), places);
                    }
                }
            }
            front.eliminate(&node.unknowns, &diagonal)?;
            front.pass();
            handed[k] = front.rest;
        }
        Ok(Factor { plan: Arc::clone(self), entries })
    }
}

/// What two parts of the grid share with the rest, together.
fn merged(one: &Shared, two: &Shared) -> Shared {
    let mut all: Shared = one.iter().chain(two).copied().collect();
    all.sort_unstable();
    all.dedup_by(|next, kept| {
        let same = next.0 == kept.0;
        kept.1 += if same { next.1 } else { 0 };
        same
    });
    all
}

/// Unknowns of a front, those that no other piece holds first; how many they are; and what is shared with the rest.
fn split(held: &Shared, total: &[usize]) -> (Vec<usize>, usize, Shared) {
    let (own, shared): (Shared, Shared) = held.iter().partition(|(u, n)| *n == total[*u]);
    let unknowns = own.iter().chain(&shared).map(|h| h.0).collect();
    (unknowns, own.len(), shared)
}

/// A dense matrix while it is filled and eliminated from.
struct Front<'a> {
    /// Number of unknowns to eliminate, and of the others.
    own: usize,
    others: usize,
    /// Their columns: rows of `own` entries.
    panel: &'a mut [f64],
    /// The square of the others, its lower half.
    rest: Vec<f64>,
}

impl Front<'_> {
    /// Adds the lower half of a matrix whose unknowns have these places.
    fn add(&mut self, matrix: &[f64], places: &[usize]) {
        let n = places.len();
        for (i, &p) in places.iter().enumerate() {
            for (&value, &q) in matrix[i * n..=i * n + i].iter().zip(places) {
                let (row, column) = (p.max(q), p.min(q));
                if column < self.own {
                    self.panel[row * self.own + column] += value;
                } else {
                    self.rest[(row - self.own) * self.others + column - self.own] += value;
                }
            }
        }
    }

    /// The same for rising places.
    fn add_rising(&mut self, matrix: &[f64], places: &[usize]) {
        let (s, n) = (self.own, places.len());
        let inside = places.partition_point(|&q| q < s);
        for (i, &p) in places.iter().enumerate() {
            let row = &matrix[i * n..=i * n + i];
            let (own, others) = row.split_at(inside.min(i + 1));
            let to = &mut self.panel[p * s..p * s + s];
            own.iter().zip(places).for_each(|(value, &q)| to[q] += value);
            if p >= s {
                let to = &mut self.rest[(p - s) * self.others..][..self.others];
                others.iter().zip(&places[inside..]).for_each(|(value, &q)| to[q - s] += value);
            }
        }
    }

    /// Replaces the columns of the own unknowns by those of the factor.
    fn eliminate(&mut self, unknowns: &[usize], diagonal: &[f64]) -> Result<(), NoConvergence> {
        let s = self.own;
        for from in (0..s).step_by(BLOCK) {
            let to = (from + BLOCK).min(s);
            let (top, below) = self.panel.split_at_mut(to * s);
            for i in from..to {
                let (above, row) = top.split_at_mut(i * s);
                for j in from..i {
                    let other = &above[j * s..j * s + s];
                    row[j] = (row[j] - dot(&row[..j], &other[..j])) / other[j];
                }
                let (value, whole) = (row[i] - dot(&row[..i], &row[..i]), diagonal[unknowns[i]]);
                if !value.is_finite() {
                    return Err(NoConvergence::NotFinite);
                }
                if value <= 1e-13 * whole || value <= 0.0 {
                    return Err(NoConvergence::Singular);
                }
                row[i] = value.sqrt();
            }
            let mut pairs = below.chunks_exact_mut(2 * s);
            for pair in &mut pairs {
                let (a, b) = pair.split_at_mut(s);
                solve_rows([a, b], top, s, from, to);
            }
            let last = pairs.into_remainder();
            if !last.is_empty() {
                solve_rows([last], top, s, from, to);
            }
        }
        Ok(())
    }

    /// Takes from the others what the own unknowns carry.
    fn pass(&mut self) {
        let s = self.own;
        if s == 0 {
            return;
        }
        let low = &self.panel[s * s..];
        let r = low.len() / s;
        let row = |k: usize| &low[k * s..k * s + s];
        for from in (0..r).step_by(BLOCK) {
            let to = (from + BLOCK).min(r);
            let mut i = from;
            while i + 2 <= r {
                let end = to.min(i + 2);
                let mut j = from;
                while j + 4 <= end {
                    let sums = tile([row(i), row(i + 1)], [row(j), row(j + 1), row(j + 2), row(j + 3)]);
                    for (a, sums) in sums.iter().enumerate() {
                        let at = (i + a) * r + j;
                        self.rest[at..at + 4].iter_mut().zip(sums).for_each(|(v, s)| *v -= s);
                    }
                    j += 4;
                }
                for j in j..end {
                    for i in [i, i + 1] {
                        self.rest[i * r + j] -= dot(row(i), row(j));
                    }
                }
                i += 2;
            }
            if i < r {
                for j in from..to {
                    self.rest[i * r + j] -= dot(row(i), row(j));
                }
            }
        }
    }
}

/// Entries `from..to` of rows below a diagonal block of the factor.
fn solve_rows<const R: usize>(rows: [&mut [f64]; R], top: &[f64], s: usize, from: usize, to: usize) {
    let mut rows = rows;
    let upper = |k: usize| &top[k * s..k * s + from];
    let mut j = from;
    while j + 4 <= to {
        let own = rows.each_ref().map(|r| &r[..from]);
        let sums = tile(own, [upper(j), upper(j + 1), upper(j + 2), upper(j + 3)]);
        for (row, sums) in rows.iter_mut().zip(&sums) {
            row[j..j + 4].iter_mut().zip(sums).for_each(|(v, s)| *v -= s);
        }
        j += 4;
    }
    for j in j..to {
        rows.iter_mut().for_each(|row| row[j] -= dot(&row[..from], upper(j)));
    }
    for j in from..to {
        let other = &top[j * s + from..=j * s + j];
        let (pivot, before) = (other[j - from], &other[..j - from]);
        for row in &mut rows {
            row[j] = (row[j] - dot(&row[from..j], before)) / pivot;
        }
    }
}

/// Sums of products of each of some rows with each of others, all of one length.
#[inline(always)]
fn tile<const R: usize, const C: usize>(a: [&[f64]; R], b: [&[f64]; C]) -> [[f64; C]; R] {
    let n = a[0].len() / 2;
    let pairs = |row: &'_ [f64]| row.len() / 2 >= n;
    debug_assert!(a.iter().chain(&b).all(|r| pairs(r)));
    let (even_a, even_b) = (a.map(|r| &r.as_chunks::<2>().0[..n]), b.map(|r| &r.as_chunks::<2>().0[..n]));
    let mut sums = [[[0.0; 2]; C]; R];
    for k in 0..n {
        for i in 0..R {
            for j in 0..C {
                for l in 0..2 {
                    sums[i][j][l] += even_a[i][k][l] * even_b[j][k][l];
                }
            }
        }
    }
    let odd = a[0].len() % 2 == 1;
    let mut out = [[0.0; C]; R];
    for i in 0..R {
        for j in 0..C {
            out[i][j] = sums[i][j][0] + sums[i][j][1] + if odd { a[i][2 * n] * b[j][2 * n] } else { 0.0 };
        }
    }
    out
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut strands = [0.0; 4];
    let ((a4, a_tail), (b4, b_tail)) = (a.as_chunks::<4>(), b.as_chunks::<4>());
    let tail: f64 = a_tail.iter().zip(b_tail).map(|(x, y)| x * y).sum();
    for (x, y) in a4.iter().zip(b4) {
        for k in 0..4 {
            strands[k] += x[k] * y[k];
        }
    }
    (strands[0] + strands[1]) + (strands[2] + strands[3]) + tail
}

impl Factor {
    /// The plan that it was made by.
    pub fn plan(&self) -> &Arc<Plan> {
        &self.plan
    }

    /// The solution for one right side.
    ///
    /// # Errors
    /// [`NoConvergence::Singular`] when the sizes do not fit, [`NoConvergence::NotFinite`] when the solution is not
    /// finite.
    pub fn solve(&self, right: &[f64]) -> Result<Vec<f64>, NoConvergence> {
        if right.len() != self.plan.count {
            return Err(NoConvergence::Singular);
        }
        let mut x = right.to_vec();
        let mut own = Vec::new();
        for node in &self.plan.nodes {
            let (s, panel) = self.panel(node);
            let (top, below) = panel.split_at(s * s);
            own.clear();
            for i in 0..s {
                let row = &top[i * s..=i * s + i];
                own.push((x[node.unknowns[i]] - dot(&row[..i], &own)) / row[i]);
            }
            node.unknowns.iter().zip(&own).for_each(|(&u, v)| x[u] = *v);
            if s > 0 {
                for (row, &u) in below.chunks_exact(s).zip(&node.unknowns[s..]) {
                    x[u] -= dot(row, &own);
                }
            }
        }
        for node in self.plan.nodes.iter().rev().filter(|n| n.own > 0) {
            let (s, panel) = self.panel(node);
            let (top, below) = panel.split_at(s * s);
            own.clear();
            own.extend(node.unknowns[..s].iter().map(|&u| x[u]));
            let take = |row: &[f64], value: f64, own: &mut [f64]| {
                own.iter_mut().zip(row).for_each(|(v, entry)| *v -= entry * value);
            };
            for (row, &u) in below.chunks_exact(s).zip(&node.unknowns[s..]) {
                take(row, x[u], &mut own);
            }
            for i in (0..s).rev() {
                own[i] /= top[i * s + i];
                let value = own[i];
                take(&top[i * s..i * s + i], value, &mut own[..i]);
            }
            node.unknowns.iter().zip(&own).for_each(|(&u, v)| x[u] = *v);
        }
        if x.iter().all(|v| v.is_finite()) { Ok(x) } else { Err(NoConvergence::NotFinite) }
    }

    fn panel(&self, node: &Node) -> (usize, &[f64]) {
        (node.own, &self.entries[node.start..node.start + node.own * node.unknowns.len()])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pieces between the points of a grid, some unknowns at each point, and symmetric matrices with a heavy diagonal.
    fn grid(nx: usize, ny: usize, each: usize) -> (Arc<Plan>, Vec<Vec<f64>>) {
        let point = |x: usize, y: usize| (0..each).map(move |k| (y * (nx + 1) + x) * each + k);
        let mut pieces = Vec::new();
        for x in 0..nx {
            for y in 0..ny {
                let corners = [(x, y), (x + 1, y + 1), (x + 1, y), (x, y + 1)];
                pieces.push(corners.into_iter().flat_map(|(x, y)| point(x, y)).collect::<Vec<usize>>());
            }
        }
        let entry = |p: usize, i: usize, j: usize| {
            let (i, j) = (i.max(j), i.min(j));
            if i == j {
                7.0 * each as f64 + i as f64
            } else {
                ((p * 5 + i * 7 + j * 3) % 11) as f64 / 5.0 - 1.0
            }
        };
        let n = 4 * each;
        let matrix = |p: usize| (0..n * n).map(|k| entry(p, k / n, k % n)).collect();
        let matrices = (0..pieces.len()).map(matrix).collect();
        (Arc::new(Plan::new([nx, ny], pieces, (nx + 1) * (ny + 1) * each)), matrices)
    }

    #[test]
    fn a_grid_is_solved_like_a_dense_matrix() {
        for (nx, ny, each) in [(1, 1, 1), (5, 3, 2), (2, 7, 1), (3, 3, 5)] {
            let (plan, matrices) = grid(nx, ny, each);
            let n = plan.len();
            let mut rows = vec![0.0; n * n];
            for (unknowns, m) in plan.pieces.iter().zip(&matrices) {
                for (i, &u) in unknowns.iter().enumerate() {
                    for (j, &v) in unknowns.iter().enumerate() {
                        rows[u * n + v] += m[i * unknowns.len() + j];
                    }
                }
            }
            let right: Vec<f64> = (0..n).map(|i| (i as f64).sin()).collect();
            let x = plan.factor(&matrices).unwrap().solve(&right).unwrap();
            for (a, b) in plan.times(&matrices, &x).iter().zip(&right) {
                assert!((a - b).abs() < 1e-12, "{nx} {ny} {each}: {a} {b}");
            }
            for (a, b) in x.iter().zip(crate::dense::solve(&rows, &right).unwrap()) {
                assert!((a - b).abs() < 1e-13, "{nx} {ny} {each}: {a} {b}");
            }
        }
    }

    #[test]
    fn what_cannot_be_factored_is_refused() {
        let (plan, mut matrices) = grid(3, 2, 2);
        assert_eq!(plan.factor(&matrices[1..]).err(), Some(NoConvergence::Singular));
        matrices[3][9] = -99.0;
        assert_eq!(plan.factor(&matrices).err(), Some(NoConvergence::Singular));
        matrices[3][9] = f64::NAN;
        assert_eq!(plan.factor(&matrices).err(), Some(NoConvergence::NotFinite));
        let lonely = Arc::new(Plan::new([1, 1], vec![vec![0]], 2));
        assert_eq!(
            lonely.factor(&[vec![1.0]]).err(),
            Some(NoConvergence::Singular),
            "one unknown is nowhere"
        );
    }
}
