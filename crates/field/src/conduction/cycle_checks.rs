//! The plain cycle as an operator: symmetric and positive, so that conjugate gradients may use it.

use super::body::{Body, Medium};
use super::couplings::{Pair, inner, zeros};
use super::hierarchy::{Cycle, Hierarchy};
use crate::grid::Grid;

struct Patches;

impl Medium for Patches {
    fn conductivity(&self, [x, y, z]: [usize; 3]) -> Option<[f64; 3]> {
        let hole = x > 4 && x < 7 && y > 3 && z > 2;
        let k = if (x / 3 + y / 4) % 2 == 0 { 1.0 } else { 50.0 };
        (!hole).then_some([k, 2.0 * k, 0.1 + z as f64])
    }
}

fn body() -> Body {
    let line = |n: usize, bend: f64| (0..=n).map(|i| (i as f64 / n as f64).powf(bend)).collect::<Vec<f64>>();
    let grid = Grid::new([line(21, 1.6), line(17, 1.0), line(6, 1.3)]).unwrap();
    let mut body = Body::new(grid, &Patches, 1 << 30).unwrap();
    let films: Vec<f64> = (0..body.exposed().len()).map(|i| if i % 3 == 0 { 0.4 } else { 0.0 }).collect();
    body.set_ground(&films, None);
    body
}

fn cycled(hierarchy: &Hierarchy, right: &Pair<f32>) -> Pair<f32> {
    let mut rooms = hierarchy.rooms(Cycle::Plain);
    rooms[0].right.clone_from(right);
    hierarchy.cycle(&mut rooms);
    rooms[0].x.clone()
}

#[test]
fn the_plain_cycle_is_symmetric_and_positive() {
    let body = body();
    let strips = &body.finest().strips;
    assert!(body.hierarchy.levels.len() > 4);
    let field = |seed: f32| -> Pair<f32> {
        let mut field = zeros(strips);
        for (colour, values) in field.iter_mut().enumerate() {
            for (i, v) in values.iter_mut().enumerate() {
                // Places in a strip where no cell is stay zero, as they do in a residual.
                let exists = body.finest().inverse[colour][i] > 0.0;
                *v = if exists { (seed * (i + 7 * colour) as f32).sin() } else { 0.0 };
            }
        }
        field
    };
    for (one, other) in [(0.7, 1.3), (2.1, 0.37), (0.011, 0.9)] {
        let (u, v) = (field(one), field(other));
        let (mu, mv) = (cycled(&body.hierarchy, &u), cycled(&body.hierarchy, &v));
        let (a, b) = (inner(strips, &v, &mu), inner(strips, &u, &mv));
        let (uu, vv) = (inner(strips, &u, &mu), inner(strips, &v, &mv));
        assert!(uu > 0.0 && vv > 0.0);
        // Single precision over some thousand cells.
        assert!((a - b).abs() < 1e-5 * (uu * vv).sqrt(), "{a} {b} against {uu} {vv}");
    }
}
