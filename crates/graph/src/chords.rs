//! Chords of a circle: which nets between points of a closed boundary can lie in one plane without crossing.
//!
//! A chord joins two points of the circle; two chords cross when their ends alternate around it. A net with more
//! than two points behaves as the polygon of its points.

/// A chord between two different points, given by their places around the circle.
pub type Chord = (usize, usize);

/// True when the ends of the two chords alternate around the circle. Chords that share a point do not cross.
pub fn chords_cross(a: Chord, b: Chord) -> bool {
    let (low, high) = (a.0.min(a.1), a.0.max(a.1));
    let inside = |p: usize| low < p && p < high;
    let on = |p: usize| p == low || p == high;
    !on(b.0) && !on(b.1) && inside(b.0) != inside(b.1)
}

/// Two chords share a point, or a chord begins and ends at the same point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("chord {chord} ends at place {place}, where a chord already ends")]
pub struct SharedPoint {
    /// The chord.
    pub chord: usize,
    /// The place.
    pub place: usize,
}

/// A largest set of chords without a crossing (Supowit, 1987, "Finding a maximum planar subset of a set of nets in a
/// channel", IEEE Trans. CAD 6(1), 93-94), as rising chord numbers. O(n^2) time, 8 n^2 bytes.
///
/// # Errors
/// [`SharedPoint`] unless all chords end at points of their own.
///
/// ```
/// use facedown_graph::chords::largest_planar_subset;
/// assert_eq!(largest_planar_subset(&[(1, 4), (2, 3), (5, 8), (6, 7)]).unwrap().len(), 4);
/// assert_eq!(largest_planar_subset(&[(1, 5), (2, 6), (3, 7), (4, 8)]).unwrap().len(), 1);
/// ```
pub fn largest_planar_subset(chords: &[Chord]) -> Result<Vec<usize>, SharedPoint> {
    let mut ends: Vec<(usize, usize)> =
        chords.iter().enumerate().flat_map(|(c, &(a, b))| [(a, c), (b, c)]).collect();
    ends.sort_unstable();
    if let Some(pair) = ends.windows(2).find(|pair| pair[0].0 == pair[1].0) {
        return Err(SharedPoint { chord: pair[1].1, place: pair[1].0 });
    }
    let points = ends.len();
    let mut partner = vec![0; points];
    let mut seen = vec![usize::MAX; chords.len()];
    for (p, &(_, c)) in ends.iter().enumerate() {
        if seen[c] != usize::MAX {
            partner[p] = seen[c];
            partner[seen[c]] = p;
        }
        seen[c] = p;
    }
    // size(i, j): most chords with both ends in i..=j. Row i needs only rows above it, filled from the last up; entries
    // of row i start at j = i.
    let row_start = |i: usize| i * points - i * (i + 1) / 2 + i;
    let mut size = vec![0u32; if points == 0 { 0 } else { row_start(points - 1) + 1 }];
    let get = |size: &[u32], i: usize, j: usize| {
        if j == usize::MAX || i > j { 0 } else { size[row_start(i) + j - i] }
    };
    for i in (0..points).rev() {
        for j in i..points {
            let mut best = if j > i { get(&size, i, j - 1) } else { 0 };
            let k = partner[j];
            if i <= k && k < j {
                let left = if k > i { get(&size, i, k - 1) } else { 0 };
                best = best.max(left + 1 + get(&size, k + 1, j - 1));
            }
            size[row_start(i) + j - i] = best;
        }
    }
    let mut chosen = Vec::new();
    let mut open: Vec<(usize, usize)> = Vec::new();
    if points > 0 {
        open.push((0, points - 1));
    }
    while let Some((i, mut j)) = open.pop() {
        // Strip ends that add nothing, then the chord that ends at j is part of a best set.
        while j > i && get(&size, i, j) == get(&size, i, j - 1) {
            j -= 1;
        }
        if get(&size, i, j) == 0 {
            continue;
        }
        let k = partner[j];
        chosen.push(ends[j].1);
        if k > i {
            open.push((i, k - 1));
        }
        if k + 1 < j {
            open.push((k + 1, j - 1));
        }
    }
    chosen.sort_unstable();
    Ok(chosen)
}

/// Whether chords fit on two pages (two layers without vias).
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TwoPages {
    /// The page of each chord.
    Pages(Vec<bool>),
    /// Chords of which each crosses the next and the last crosses the first, odd in number: the proof that two
    /// pages are not enough.
    OddCycle(Vec<usize>),
}

/// Puts chords on two pages, or finds an odd cycle of crossings. O(n^2).
///
/// ```
/// use facedown_graph::chords::{TwoPages, two_pages};
/// assert!(matches!(two_pages(&[(1, 3), (2, 5), (4, 6)]), TwoPages::Pages(_)));
/// assert_eq!(two_pages(&[(1, 4), (2, 5), (3, 6)]), TwoPages::OddCycle(vec![1, 0, 2]));
/// ```
pub fn two_pages(chords: &[Chord]) -> TwoPages {
    let n = chords.len();
    let mut page: Vec<Option<bool>> = vec![None; n];
    let mut parent = vec![usize::MAX; n];
    for start in 0..n {
        if page[start].is_some() {
            continue;
        }
        page[start] = Some(false);
        let mut queue = vec![start];
        let mut at = 0;
        while let Some(&c) = queue.get(at) {
            at += 1;
            for other in 0..n {
                if !chords_cross(chords[c], chords[other]) {
                    continue;
                }
                match page[other] {
                    None => {
                        page[other] = page[c].map(|p| !p);
                        parent[other] = c;
                        queue.push(other);
                    }
                    Some(p) if Some(p) == page[c] => return TwoPages::OddCycle(cycle(&parent, c, other)),
                    Some(_) => {}
                }
            }
        }
    }
    TwoPages::Pages(page.into_iter().map(|p| p.unwrap_or(false)).collect())
}

/// The cycle that the edge between `a` and `b` closes in the search tree.
fn cycle(parent: &[usize], a: usize, b: usize) -> Vec<usize> {
    let path = |mut node: usize| {
        let mut path = vec![node];
        while parent[node] != usize::MAX {
            node = parent[node];
            path.push(node);
        }
        path
    };
    let (mut up, mut down) = (path(a), path(b));
    while up.len() > 1 && down.len() > 1 && up[up.len() - 2] == down[down.len() - 2] {
        up.pop();
        down.pop();
    }
    down.pop();
    up.extend(down.into_iter().rev());
    up
}

/// Two nets whose points alternate around a circle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Crossing {
    /// The two nets.
    pub nets: (usize, usize),
    /// Four places in rising order: of the first net, the second, the first, the second.
    pub places: [usize; 4],
}

/// Finds two nets that cross, given the net of every point around a circle; none when all nets can lie in the plane. O(n).
///
/// ```
/// use facedown_graph::chords::crossing_nets;
/// assert!(crossing_nets(&[7, 3, 3, 7, 9, 7]).is_none());
/// assert_eq!(crossing_nets(&[7, 3, 7, 3]).unwrap().places, [0, 1, 2, 3]);
/// ```
pub fn crossing_nets(net_of_point: &[usize]) -> Option<Crossing> {
    let mut nets: Vec<usize> = net_of_point.to_vec();
    nets.sort_unstable();
    nets.dedup();
    let number: Vec<usize> = net_of_point.iter().map(|n| nets.partition_point(|m| m < n)).collect();
    let (mut first, mut last) = (vec![usize::MAX; nets.len()], vec![0; nets.len()]);
    for (place, &n) in number.iter().enumerate() {
        first[n] = first[n].min(place);
        last[n] = place;
    }
    // Nets that have begun and not ended, innermost last: a point of any other but the innermost is a crossing.
    let mut open: Vec<usize> = Vec::new();
    for (place, &n) in number.iter().enumerate() {
        if first[n] == place {
            open.push(n);
        }
        let inner = *open.last()?;
        if inner != n {
            return Some(Crossing {
                nets: (nets[n], nets[inner]),
                places: [first[n], first[inner], place, last[inner]],
            });
        }
        if last[n] == place {
            open.pop();
        }
    }
    None
}
