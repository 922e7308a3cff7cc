//! Squares taken out of drawn shapes.

use crate::grow::region::{Ring, bounds, difference, polygon};
use facedown_layout::Shape;

/// A shape without what lies in the squares (counter-clockwise rings): itself where none touches it, else one shape a
/// piece that is left.
pub fn cut(shape: Shape, squares: &[Ring]) -> Vec<Shape> {
    let outline = super::rings(&shape.polygon);
    let around = bounds(&outline[0]);
    let near: Vec<&Ring> = squares.iter().filter(|s| super::meets(s, around)).collect();
    if near.is_empty() {
        return vec![shape];
    }
    difference(&outline, near)
        .iter()
        .filter_map(|piece| Some(Shape { polygon: polygon(piece)?, ..shape.clone() }))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grow::region::outer_ring;
    use facedown_layout::{Point, Polygon, ShapeKind};

    #[test]
    fn a_trace_cut_across_is_two_pieces_and_one_that_is_not_met_stays() {
        let block =
            |x: f64, y: f64, w: f64, h: f64| Polygon::rectangle(Point::um(x, y), Point::um(x + w, y + h));
        let trace = Shape::new(ShapeKind::Trace, Some("a"), block(0.0, 0.0, 100.0, 10.0));
        let square = outer_ring(&block(40.0, -5.0, 20.0, 20.0).outer);
        let pieces = cut(trace.clone(), &[square]);
        assert_eq!(pieces.len(), 2);
        assert!(pieces.iter().all(|p| p.kind == ShapeKind::Trace && p.net.as_deref() == Some("a")));
        let inner = outer_ring(&block(40.0, 4.0, 2.0, 2.0).outer);
        let holed = cut(trace.clone(), &[inner]);
        assert_eq!((holed.len(), holed[0].polygon.holes.len()), (1, 1));
        let far = outer_ring(&block(40.0, 40.0, 2.0, 2.0).outer);
        assert_eq!(cut(trace.clone(), &[far]), [trace]);
    }
}
