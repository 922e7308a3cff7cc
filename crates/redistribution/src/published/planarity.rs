//! Planar subsets and layers of small nets.

use super::{Source, Table};
use facedown_evidence::Basis;
use facedown_graph::chords::{Chord, TwoPages, largest_planar_subset, two_pages};
use facedown_graph::sequence::{increasing_layers, longest_increasing};

const SUBSEQUENCE: Source =
    Source("networkx 3.6 max_weight_clique of the order graph (reference library)", Basis::ReferenceLibrary);
const CONFLICTS: Source = Source(
    "networkx 3.6 max_weight_clique and is_bipartite of the crossing graph (reference library)",
    Basis::ReferenceLibrary,
);

pub(super) fn rows(table: &mut Table) {
    let layers = |sequence: &[i32]| increasing_layers(sequence).iter().max().map_or(0, |l| l + 1) as f64;
    for (id, sequence, one_layer, all) in
        [("rows-31425", [3, 1, 4, 2, 5], 3.0, 2.0), ("rows-54321", [5, 4, 3, 2, 1], 1.0, 5.0)]
    {
        let planar = longest_increasing(&sequence).len() as f64;
        table.exact(&format!("{id}-one-layer"), SUBSEQUENCE, one_layer, planar);
        table.exact(&format!("{id}-layers"), SUBSEQUENCE, all, layers(&sequence));
    }
    let planar = |chords: &[Chord]| largest_planar_subset(chords).map_or(f64::NAN, |s| s.len() as f64);
    let crossing = [(1, 5), (2, 6), (3, 7), (4, 8)];
    table.exact("chords-all-crossing-planar", CONFLICTS, 1.0, planar(&crossing));
    // Seen as two rows 1 2 3 4 and 8 7 6 5 that face each other.
    table.exact("chords-all-crossing-layers", CONFLICTS, 4.0, layers(&[4, 3, 2, 1]));
    table.exact("chords-nested-planar", CONFLICTS, 4.0, planar(&[(1, 4), (2, 3), (5, 8), (6, 7)]));
    let two = matches!(two_pages(&[(1, 3), (2, 5), (4, 6)]), TwoPages::Pages(_));
    table.exact("chords-path-two-pages", CONFLICTS, 1.0, f64::from(two));
    let odd = matches!(two_pages(&crossing), TwoPages::OddCycle(cycle) if cycle.len() == 3);
    table.exact("chords-all-crossing-odd-cycle", CONFLICTS, 1.0, f64::from(odd));
}
