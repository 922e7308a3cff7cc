//! The grid over the die: cells cut at its edges, faces between them, pieces of the edges.
//!
//! The grid may be turned against the die; cells at the edges are then cut polygons. Each has its area and centroid, each face
//! its length inside, each piece of an edge its length and distance. Aligned, the cells fit the die exactly.

use crate::problem::Edge;

/// A piece of an edge in a cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Cell.
    pub cell: usize,
    /// Edge.
    pub edge: Edge,
    /// From and to along the edge, m.
    pub stretch: [f64; 2],
    /// Distance of the cell's centroid from the edge, m.
    pub distance: f64,
}

/// A face between two cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Face {
    /// West or south of it.
    pub from: usize,
    /// East or north of it.
    pub to: usize,
    /// Length over the distance of the centroids.
    pub shape: f64,
}

/// Places along a side of a cell where it is looked at.
pub const SIDE: usize = 4;

/// Cells, faces and edges. Cells are numbered in rows, those outside left out.
#[derive(Debug, Clone)]
pub struct Grid {
    /// Cells along both axes of the grid.
    pub count: [usize; 2],
    /// Their sides, m.
    pub step: [f64; 2],
    /// Column and row of each cell.
    pub position: Vec<[usize; 2]>,
    /// Centroid of each cell, m in the frame of the die.
    pub centre: Vec<[f64; 2]>,
    /// Area of each cell inside the die, m2.
    pub area: Vec<f64>,
    /// Faces, by the first cell.
    pub faces: Vec<Face>,
    /// Pieces of edges.
    pub pieces: Vec<Piece>,
    turn: (f64, f64),
    middle: [f64; 2],
}

impl Grid {
    /// A grid of cells with sides of about `cell_m` over a die, turned about its middle; `open` says whether a place can be
    /// filled at all. Cells without a place that can are left out.
    pub fn new(size: [f64; 2], cell_m: f64, turned_rad: f64, open: impl Fn([f64; 2]) -> bool) -> Grid {
        let (sine, cosine) = turned_rad.sin_cos();
        // A quarter turn leaves a rounding error that would cut cells.
        let (sine, cosine) = if sine.abs() < 1e-12 { (0.0, cosine.signum()) } else { (sine, cosine) };
        let (s, c) = (sine.abs(), cosine.abs());
        let span = [c * size[0] + s * size[1], s * size[0] + c * size[1]];
        let count = span.map(|w| ((w / cell_m - 1e-9).ceil() as usize).max(1));
        let step = [span[0] / count[0] as f64, span[1] / count[1] as f64];
        let mut grid = Grid {
            count,
            step,
            position: Vec::new(),
            centre: Vec::new(),
            area: Vec::new(),
            faces: Vec::new(),
            pieces: Vec::new(),
            turn: (sine, cosine),
            middle: size.map(|w| 0.5 * w),
        };
        let whole = step[0] * step[1];
        let mut number = vec![usize::MAX; count[0] * count[1]];
        for j in 0..count[1] {
            for i in 0..count[0] {
                let corners = [[0, 0], [1, 0], [1, 1], [0, 1]].map(|[a, b]| grid.corner(i + a, j + b));
                let polygon = clip(&corners, size);
                let (area, centre) = measure(&polygon);
                let samples = grid.samples([i, j], size, SIDE);
                let share = samples.iter().filter(|p| open(**p)).count() as f64 / samples.len().max(1) as f64;
                if area < 1e-6 * whole || (!samples.is_empty() && share == 0.0) {
                    continue;
                }
                let cell = grid.area.len();
                number[j * count[0] + i] = cell;
                grid.position.push([i, j]);
                grid.centre.push(centre);
                grid.area.push(area * if samples.is_empty() { 1.0 } else { share });
                pieces(&polygon, size, |edge, stretch| {
                    let distance = match edge {
                        Edge::Left => centre[0],
                        Edge::Right => size[0] - centre[0],
                        Edge::Bottom => centre[1],
                        Edge::Top => size[1] - centre[1],
                    };
                    // A sliver of a cell would have no resistance at all.
                    let distance = distance.max(0.1 * step[0].min(step[1]));
                    grid.pieces.push(Piece { cell, edge, stretch, distance });
                });
            }
        }
        for cell in 0..grid.area.len() {
            let [i, j] = grid.position[cell];
            for (along, [a, b]) in [[1, 0], [0, 1]].into_iter().enumerate() {
                if i + a >= count[0] || j + b >= count[1] {
                    continue;
                }
                let to = number[(j + b) * count[0] + i + a];
                let ends = [grid.corner(i + a, j + b), grid.corner(i + 1, j + 1)];
                let length = inside(ends, size);
                if to == usize::MAX || length <= 1e-9 * step[1 - along] {
                    continue;
                }
                let (p, q) = (grid.centre[cell], grid.centre[to]);
                let distance = (p[0] - q[0]).hypot(p[1] - q[1]).max(0.1 * step[along]);
                grid.faces.push(Face { from: cell, to, shape: length / distance });
            }
        }
        grid
    }

    /// Corner of the grid, m in the frame of the die.
    fn corner(&self, i: usize, j: usize) -> [f64; 2] {
        self.place(i as f64, j as f64)
    }

    /// Place at columns and rows from the grid's corner, m in the frame of the die.
    pub fn place(&self, i: f64, j: f64) -> [f64; 2] {
        let u = (i - 0.5 * self.count[0] as f64) * self.step[0];
        let v = (j - 0.5 * self.count[1] as f64) * self.step[1];
        let (s, c) = self.turn;
        [self.middle[0] + c * u - s * v, self.middle[1] + s * u + c * v]
    }

    /// Places spread evenly over the part of a cell that lies on the die, so many along each side of a whole cell.
    pub fn samples(&self, [i, j]: [usize; 2], size: [f64; 2], side: usize) -> Vec<[f64; 2]> {
        let offset = |k: usize| (k as f64 + 0.5) / side as f64;
        (0..side * side)
            .map(|k| self.place(i as f64 + offset(k % side), j as f64 + offset(k / side)))
            .filter(|p| (0.0..=size[0]).contains(&p[0]) && (0.0..=size[1]).contains(&p[1]))
            .collect()
    }
}

/// The part of a polygon on the die.
fn clip(corners: &[[f64; 2]; 4], size: [f64; 2]) -> Vec<[f64; 2]> {
    let mut polygon = corners.to_vec();
    for (axis, sign, bound) in [(0, 1.0, 0.0), (0, -1.0, -size[0]), (1, 1.0, 0.0), (1, -1.0, -size[1])] {
        // Rounding of an aligned grid must not cut anything off.
        let over = |p: [f64; 2]| sign * p[axis] - bound + 1e-12 * size[axis];
        let mut kept = Vec::with_capacity(polygon.len() + 1);
        for (k, &p) in polygon.iter().enumerate() {
            let q = polygon[(k + 1) % polygon.len()];
            let (a, b) = (over(p), over(q));
            if a >= 0.0 {
                kept.push(p);
            }
            if (a >= 0.0) != (b >= 0.0) {
                let t = a / (a - b);
                let mut cut = [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])];
                cut[axis] = sign * bound;
                kept.push(cut);
            }
        }
        polygon = kept;
    }
    polygon
}

/// Area and centroid of a polygon.
fn measure(polygon: &[[f64; 2]]) -> (f64, [f64; 2]) {
    let Some(&origin) = polygon.first() else { return (0.0, [0.0; 2]) };
    let (mut area, mut moment) = (0.0, [0.0; 2]);
    for w in polygon.windows(2) {
        let [a, b] = [0, 1].map(|k| [w[k][0] - origin[0], w[k][1] - origin[1]]);
        let twice = a[0] * b[1] - a[1] * b[0];
        area += 0.5 * twice;
        (0..2).for_each(|k| moment[k] += twice * (a[k] + b[k]) / 6.0);
    }
    if area <= 0.0 {
        return (0.0, origin);
    }
    (area, [origin[0] + moment[0] / area, origin[1] + moment[1] / area])
}

/// Tells the sides of a polygon that lie on an edge of the die.
fn pieces(polygon: &[[f64; 2]], size: [f64; 2], mut tell: impl FnMut(Edge, [f64; 2])) {
    for (k, p) in polygon.iter().enumerate() {
        let q = polygon[(k + 1) % polygon.len()];
        for (edge, axis, at) in
            [(Edge::Left, 0, 0.0), (Edge::Right, 0, size[0]), (Edge::Bottom, 1, 0.0), (Edge::Top, 1, size[1])]
        {
            let near = |v: f64| (v - at).abs() <= 1e-10 * size[axis];
            let (a, b) = (p[1 - axis].min(q[1 - axis]), p[1 - axis].max(q[1 - axis]));
            if near(p[axis]) && near(q[axis]) && b > a {
                tell(edge, [a, b]);
            }
        }
    }
}

/// Length of a segment inside of the die.
fn inside([p, q]: [[f64; 2]; 2], size: [f64; 2]) -> f64 {
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for axis in 0..2 {
        let way = q[axis] - p[axis];
        let slack = 1e-12 * size[axis];
        if way.abs() < slack {
            if p[axis] < -slack || p[axis] > size[axis] + slack {
                return 0.0;
            }
            continue;
        }
        let (a, b) = ((-slack - p[axis]) / way, (size[axis] + slack - p[axis]) / way);
        low = low.max(a.min(b));
        high = high.min(a.max(b));
    }
    (high - low).max(0.0) * (q[0] - p[0]).hypot(q[1] - p[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    proptest::proptest! {
        #[test]
        fn a_turned_grid_has_the_area_and_the_edges_of_the_die(turn in -3.2..3.2_f64, w in 0.5..2.0_f64, cell in 0.05..0.3_f64) {
            let size = [w * 1e-2, 1e-2];
            let grid = Grid::new(size, cell * 1e-2, turn, |_| true);
            let area: f64 = grid.area.iter().sum();
            proptest::prop_assert!((area / (size[0] * size[1]) - 1.0).abs() < 1e-4, "{area}");
            for (edge, length) in [(Edge::Left, size[1]), (Edge::Right, size[1]), (Edge::Bottom, size[0]), (Edge::Top, size[0])] {
                let sum: f64 = grid.pieces.iter().filter(|p| p.edge == edge).map(|p| p.stretch[1] - p.stretch[0]).sum();
                proptest::prop_assert!((sum / length - 1.0).abs() < 1e-2, "{edge:?} {sum}");
            }
        }
    }

    #[test]
    fn an_aligned_grid_fits_exactly() {
        let grid = Grid::new([7.2e-3, 6.4e-3], 1e-4, 0.0, |_| true);
        assert_eq!(grid.count, [72, 64]);
        assert_eq!((grid.area.len(), grid.faces.len()), (72 * 64, 71 * 64 + 72 * 63));
        assert!(grid.area.iter().all(|a| (a / 1e-8 - 1.0).abs() < 1e-9));
        assert!(grid.faces.iter().all(|f| (f.shape - 1.0).abs() < 1e-9));
        assert_eq!(grid.pieces.len(), 2 * (72 + 64));
        let half = Grid::new([1.0, 1.0], 0.1, 0.0, |p| p[0] < 0.5);
        assert_eq!(half.area.len(), 50);
    }
}
