//! Prints the layer map, for `docs/layer-map.md`.
//!
//! Run: `cargo run -p facedown-exchange --example print_layer_map`

fn main() {
    print!("{}", facedown_exchange::layer_map::table());
}
