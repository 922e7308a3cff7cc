//! The printed layer map is the one of the code.

use facedown_exchange::layer_map::{LayerMap, table};
use facedown_layout::Role;
use std::collections::BTreeSet;

#[test]
fn the_document_holds_the_table_of_the_code() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/layer-map.md");
    let document = std::fs::read_to_string(path).unwrap();
    for part in table().split("\n\n") {
        assert!(document.contains(part.trim_end()), "docs/layer-map.md lacks this table:\n{part}");
    }
}

#[test]
fn no_two_layers_share_a_number() {
    let map = LayerMap::own();
    let pairs: BTreeSet<(i16, Option<i16>)> = map.shapes.iter().map(|l| (l.layer, l.datatype)).collect();
    assert_eq!(pairs.len(), map.shapes.len());
    assert!(map.shapes.iter().all(|l| (1..=254).contains(&l.layer)));
    assert!(map.shapes.iter().any(|l| l.role == Role::Rdl(20)));
}
