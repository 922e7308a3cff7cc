//! Increasing and decreasing subsequences: which nets of two facing rows run side by side without crossing.
//!
//! Patience sorting (Schensted, 1961; Fredman, 1975), O(n log n). The least number of increasing subsequences that
//! cover a sequence equals the length of its longest decreasing one (Dilworth, 1950).

/// Places of a longest strictly increasing subsequence, in order.
///
/// ```
/// use facedown_graph::sequence::longest_increasing;
/// assert_eq!(longest_increasing(&[3, 1, 4, 2, 5]).len(), 3);
/// ```
pub fn longest_increasing<T: Ord>(sequence: &[T]) -> Vec<usize> {
    // tails[k]: place of the least value that ends an increasing subsequence of length k + 1.
    let mut tails: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = Vec::with_capacity(sequence.len());
    for (place, value) in sequence.iter().enumerate() {
        let length = tails.partition_point(|&t| sequence[t] < *value);
        before.push(length.checked_sub(1).map(|k| tails[k]));
        if length == tails.len() {
            tails.push(place);
        } else {
            tails[length] = place;
        }
    }
    let mut found = Vec::with_capacity(tails.len());
    let mut place = tails.last().copied();
    while let Some(p) = place {
        found.push(p);
        place = before[p];
    }
    found.reverse();
    found
}

/// Places of a longest strictly decreasing subsequence, in order.
pub fn longest_decreasing<T: Ord>(sequence: &[T]) -> Vec<usize> {
    let reversed: Vec<std::cmp::Reverse<&T>> = sequence.iter().map(std::cmp::Reverse).collect();
    longest_increasing(&reversed)
}

/// The layer of each value when as few layers as possible each hold a strictly increasing subsequence. Layers
/// count from zero; equal values never share a layer.
///
/// ```
/// use facedown_graph::sequence::increasing_layers;
/// assert_eq!(increasing_layers(&[3, 1, 4, 2, 5]), [0, 1, 0, 1, 0]);
/// ```
pub fn increasing_layers<T: Ord>(sequence: &[T]) -> Vec<usize> {
    // last[k]: place of the last value of layer k; values fall from layer to layer.
    let mut last: Vec<usize> = Vec::new();
    let mut layers = Vec::with_capacity(sequence.len());
    for (place, value) in sequence.iter().enumerate() {
        let layer = last.partition_point(|&l| sequence[l] >= *value);
        if layer == last.len() {
            last.push(place);
        } else {
            last[layer] = place;
        }
        layers.push(layer);
    }
    layers
}
