//! Subsequences and chords against brute force.
use facedown_graph::chords::{TwoPages, chords_cross, crossing_nets, largest_planar_subset, two_pages};
use facedown_graph::sequence::{increasing_layers, longest_decreasing, longest_increasing};
use proptest::prelude::*;

fn chord_sets() -> impl Strategy<Value = Vec<(usize, usize)>> {
    (0usize..8)
        .prop_flat_map(|n| Just((0..2 * n).collect::<Vec<_>>()).prop_shuffle())
        .prop_map(|ends| ends.chunks(2).map(|e| (e[0] * 3, e[1] * 3)).collect())
}

fn planar(chords: &[(usize, usize)], set: &[usize]) -> bool {
    set.iter().all(|&a| set.iter().all(|&b| !chords_cross(chords[a], chords[b])))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn planar_subset_is_planar_and_largest(chords in chord_sets()) {
        let found = largest_planar_subset(&chords).unwrap();
        prop_assert!(planar(&chords, &found));
        let best = (0..1usize << chords.len())
            .map(|set| (0..chords.len()).filter(|c| set >> c & 1 == 1).collect::<Vec<_>>())
            .filter(|set| planar(&chords, set))
            .map(|set| set.len())
            .max();
        prop_assert_eq!(Some(found.len()), best);
    }

    #[test]
    fn two_pages_are_clean_or_an_odd_cycle_forbids_them(chords in chord_sets()) {
        match two_pages(&chords) {
            TwoPages::Pages(page) => for a in 0..chords.len() {
                for b in 0..a {
                    prop_assert!(page[a] != page[b] || !chords_cross(chords[a], chords[b]));
                }
            },
            TwoPages::OddCycle(cycle) => {
                prop_assert_eq!(cycle.len() % 2, 1);
                for k in 0..cycle.len() {
                    prop_assert!(chords_cross(chords[cycle[k]], chords[cycle[(k + 1) % cycle.len()]]));
                }
                let mut once = cycle.clone();
                once.sort_unstable();
                once.dedup();
                prop_assert_eq!(once.len(), cycle.len());
            }
        }
    }

    #[test]
    fn crossing_nets_are_found_exactly_when_there_are_any(ring in prop::collection::vec(0usize..5, 0..14)) {
        let mut any = false;
        for a in 0..ring.len() { for b in a..ring.len() { for c in b..ring.len() { for d in c..ring.len() {
            any |= ring[a] == ring[c] && ring[b] == ring[d] && ring[a] != ring[b];
        }}}}
        match crossing_nets(&ring) {
            None => prop_assert!(!any),
            Some(found) => {
                let [a, b, c, d] = found.places;
                prop_assert!(a < b && b < c && c < d);
                prop_assert_eq!([ring[a], ring[b], ring[c], ring[d]],
                    [found.nets.0, found.nets.1, found.nets.0, found.nets.1]);
                prop_assert!(found.nets.0 != found.nets.1);
            }
        }
    }

    #[test]
    fn subsequences_are_longest_and_layers_fewest(sequence in prop::collection::vec(0i32..9, 0..11)) {
        let longest = |rising: bool| (0..1usize << sequence.len()).filter(|set| {
            let picked: Vec<i32> = (0..sequence.len()).filter(|k| set >> k & 1 == 1).map(|k| sequence[k]).collect();
            picked.windows(2).all(|w| if rising { w[0] < w[1] } else { w[0] > w[1] })
        }).map(|set| set.count_ones() as usize).max().unwrap_or(0);
        let rising = longest_increasing(&sequence);
        prop_assert!(rising.windows(2).all(|w| w[0] < w[1] && sequence[w[0]] < sequence[w[1]]));
        prop_assert_eq!(rising.len(), longest(true));
        let falling = longest_decreasing(&sequence);
        prop_assert!(falling.windows(2).all(|w| w[0] < w[1] && sequence[w[0]] > sequence[w[1]]));
        prop_assert_eq!(falling.len(), longest(false));
        let layers = increasing_layers(&sequence);
        for a in 0..layers.len() { for b in 0..a {
            prop_assert!(layers[a] != layers[b] || sequence[b] < sequence[a]);
        }}
        // Equal values conflict as falling ones do, so the bound is the longest non-increasing subsequence.
        let keyed: Vec<(i32, std::cmp::Reverse<usize>)> =
            sequence.iter().enumerate().map(|(k, v)| (*v, std::cmp::Reverse(k))).collect();
        prop_assert_eq!(layers.iter().max().map_or(0, |l| l + 1), longest_decreasing(&keyed).len());
    }
}

#[test]
fn shared_points_are_refused() {
    let error = largest_planar_subset(&[(0, 2), (2, 3)]).unwrap_err();
    assert_eq!((error.chord, error.place), (1, 2));
}
