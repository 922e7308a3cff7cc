//! Thin plates on rectangles of the body, one over the other: deflection and displacement for given free strains.
//!
//! Everything that moves as one section belongs to one plate: substrate, dies on it and what lies between add their
//! stiffness over their own rectangles (Kirchhoff's plates with stretching, bending and the coupling of both). A ring
//! or lid is a second plate; glue and thermal interface between the two are springs against shear and against
//! opening. The body is free.
//!
//! Energy is least over the shape functions of [`grid`](crate::grid). A design that is its own mirror image is solved
//! on its half or quarter.

mod series;
mod unknowns;

use crate::grid::{Lines, Products, values};
use crate::section::{Ply, Section};
use facedown_field::NoConvergence;
use facedown_field::fronts::{Factor, Plan};
use std::sync::Arc;
use unknowns::{Numbering, lines, number};

pub use series::Series;
pub(crate) use series::{Solved, changed};
pub(crate) use unknowns::mirrors;
pub use unknowns::quartered;

/// A rectangle, m: from and to in x and y.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// From and to in x.
    pub x: [f64; 2],
    /// From and to in y.
    pub y: [f64; 2],
}

impl Area {
    /// A rectangle of that size around a place.
    pub fn around(at: [f64; 2], width: f64, height: f64) -> Area {
        Area {
            x: [at[0] - width / 2.0, at[0] + width / 2.0],
            y: [at[1] - height / 2.0, at[1] + height / 2.0],
        }
    }

    fn holds(&self, x: f64, y: f64) -> bool {
        x > self.x[0] && x < self.x[1] && y > self.y[0] && y < self.y[1]
    }
}

/// Where a part lies: a rectangle, less another one for a frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Region {
    /// Outer edge.
    pub outer: Area,
    /// Opening of a frame.
    pub opening: Option<Area>,
}

impl Region {
    /// A full rectangle.
    pub fn full(outer: Area) -> Region {
        Region { outer, opening: None }
    }

    fn holds(&self, x: f64, y: f64) -> bool {
        self.outer.holds(x, y) && !self.opening.is_some_and(|o| o.holds(x, y))
    }
}

/// Layers over a region, in plate 0 (substrate and what is one with it) or plate 1 (ring or lid).
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// 0 or 1.
    pub plate: usize,
    /// Where.
    pub region: Region,
    /// Layers; heights from the common plane of all parts of that plate.
    pub plies: Vec<Ply>,
}

/// A layer between plate 0 and plate 1 that shears and opens.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spring {
    /// Where.
    pub region: Region,
    /// Height of its lower face in plate 0 and of its upper face in plate 1, m.
    pub heights: [f64; 2],
    /// Stiffness against shear, Pa/m.
    pub shear: f64,
    /// Stiffness against opening, Pa/m.
    pub normal: f64,
    /// Opening without load, m.
    pub opening: f64,
}

/// The body with its parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Assembly {
    /// Size of the body, centred at the origin, m.
    pub size: [f64; 2],
    /// Parts.
    pub parts: Vec<Part>,
    /// Springs between plate 0 and 1.
    pub springs: Vec<Spring>,
    /// Longest side of a rectangle of the grid, m.
    pub step: f64,
}

/// A displacement of a plate, differentiated: the unit of which strains and jumps are made.
#[derive(Debug, Clone, Copy)]
struct Term {
    plate: usize,
    /// 0 displacement in x, 1 in y, 2 deflection.
    field: usize,
    /// Times differentiated in x and y.
    order: [usize; 2],
    factor: f64,
}

const fn term(plate: usize, field: usize, order: [usize; 2], factor: f64) -> Term {
    Term { plate, field, order, factor }
}

impl Term {
    /// Index of its shape function in x and y, as [`Products`] counts.
    fn kinds(&self) -> [usize; 2] {
        let from = if self.field == 2 { 2 } else { 0 };
        [from + self.order[0], from + self.order[1]]
    }

    fn count(&self) -> usize {
        if self.field == 2 { 4 } else { 3 }
    }
}

/// Strains of the common plane and curvatures of a plate: x, y, shear; x, y, twist.
fn strains(plate: usize) -> [Vec<Term>; 6] {
    [
        vec![term(plate, 0, [1, 0], 1.0)],
        vec![term(plate, 1, [0, 1], 1.0)],
        vec![term(plate, 0, [0, 1], 1.0), term(plate, 1, [1, 0], 1.0)],
        vec![term(plate, 2, [2, 0], -1.0)],
        vec![term(plate, 2, [0, 2], -1.0)],
        vec![term(plate, 2, [1, 1], -2.0)],
    ]
}

/// How far plate 1 opens from plate 0.
const OPEN: [Term; 2] = [term(1, 2, [0, 0], 1.0), term(0, 2, [0, 0], -1.0)];

/// The solution.
pub struct Bent {
    lines: [Lines; 2],
    numbering: Numbering,
    x: Vec<f64>,
}

/// Shape functions of both plates over a piece.
const LOCAL: usize = 68;

/// Number of the first shape function of a field of a plate in a piece.
const fn local(plate: usize, field: usize) -> usize {
    34 * plate + 9 * field
}

/// The matrix and the right side of a piece while they are filled.
struct Piece<'a> {
    /// Integrals in x and y.
    products: [&'a Products; 2],
    /// `LOCAL` rows; empty until the matrix is asked for.
    matrix: Vec<[f64; LOCAL]>,
    right: [f64; LOCAL],
}

impl<'a> Piece<'a> {
    fn new(products: [&'a Products; 2]) -> Piece<'a> {
        Piece { products, matrix: Vec::new(), right: [0.0; LOCAL] }
    }

    fn loads(&mut self, content: &Content) {
        for (plate, section) in content.sections.iter().enumerate() {
            if let Some(s) = section {
                let strains = strains(plate);
                for k in 0..2 {
                    self.load(&strains[k], s.force[k]);
                    self.load(&strains[3 + k], s.moment[k]);
                }
            }
        }
        for s in &content.springs {
            self.load(&OPEN, s.normal * s.opening);
        }
    }

    /// The matrix of the unknowns that the piece has, row by row.
    fn matrix(mut self, content: &Content, own: &[(usize, usize)]) -> Arc<[f64]> {
        self.matrix = vec![[0.0; LOCAL]; LOCAL];
        for (plate, section) in content.sections.iter().enumerate() {
            if let Some(section) = section {
                self.plate(plate, section);
            }
        }
        content.springs.iter().for_each(|spring| self.spring(spring));
        own.iter()
            .flat_map(|&(i, _)| own.iter().map(move |&(j, _)| (i, j)))
            .map(|(i, j)| self.matrix[i][j])
            .collect()
    }

    /// Adds `factor` times the integral of the product of two sums of terms.
    fn pair(&mut self, one: &[Term], two: &[Term], factor: f64) {
        let [px, py] = self.products;
        for s in one {
            for t in two {
                let c = factor * s.factor * t.factor;
                let (sk, tk) = (s.kinds(), t.kinds());
                let (x, y) = (px.pair(sk[0], tk[0]), py.pair(sk[1], tk[1]));
                let (n, m) = (s.count(), t.count());
                let (row, column) = (local(s.plate, s.field), local(t.plate, t.field));
                for (a, x) in x.iter().enumerate().take(n) {
                    for (b, y) in y.iter().enumerate().take(n) {
                        let row = &mut self.matrix[row + a * n + b][column..column + m * m];
                        for (row, x) in row.chunks_exact_mut(m).zip(x) {
                            row.iter_mut().zip(y).for_each(|(v, y)| *v += c * x * y);
                        }
                    }
                }
            }
        }
    }

    fn load(&mut self, terms: &[Term], factor: f64) {
        for t in terms {
            let (kinds, n) = (t.kinds(), t.count());
            let (x, y) = (self.products[0].single(kinds[0]), self.products[1].single(kinds[1]));
            let right = &mut self.right[local(t.plate, t.field)..][..n * n];
            for (right, x) in right.chunks_exact_mut(n).zip(x) {
                right.iter_mut().zip(y).for_each(|(v, y)| *v += factor * t.factor * x * y);
            }
        }
    }

    fn plate(&mut self, plate: usize, s: &Section) {
        let strains = strains(plate);
        let order = |k: usize| k % 3;
        let entry = |c: &[f64; 4], i: usize, j: usize| match (i, j) {
            (0, 0) => c[0],
            (0, 1) | (1, 0) => c[1],
            (1, 1) => c[2],
            (2, 2) => c[3],
            _ => 0.0,
        };
        for (i, one) in strains.iter().enumerate() {
            for (j, two) in strains.iter().enumerate() {
                let block = match (i < 3, j < 3) {
                    (true, true) => &s.a,
                    (false, false) => &s.d,
                    _ => &s.b,
                };
                let value = entry(block, order(i), order(j));
                if value != 0.0 {
                    self.pair(one, two, value);
                }
            }
        }
    }

    fn spring(&mut self, s: &Spring) {
        let [low, high] = s.heights;
        let slide = |field: usize| {
            let order = if field == 0 { [1, 0] } else { [0, 1] };
            vec![
                term(1, field, [0, 0], 1.0),
                term(1, 2, order, -high),
                term(0, field, [0, 0], -1.0),
                term(0, 2, order, low),
            ]
        };
        for field in 0..2 {
            self.pair(&slide(field), &slide(field), s.shear);
        }
        self.pair(&OPEN, &OPEN, s.normal);
    }
}

/// An assembly on its grid.
struct Model {
    lines: [Lines; 2],
    numbering: Numbering,
    /// Unknowns and matrix of each piece.
    unknowns: Vec<Vec<usize>>,
    /// What each piece is made of.
    contents: Vec<Content>,
    /// Shared with models that have the same stiffness there.
    matrices: Vec<Arc<[f64]>>,
    right: Vec<f64>,
}

/// What lies over one another in a piece.
#[derive(Debug, Clone, PartialEq)]
struct Content {
    /// Of each plate that is there.
    sections: [Option<Section>; 2],
    springs: Vec<Spring>,
}

impl Content {
    fn of(assembly: &Assembly, (x, y): (f64, f64)) -> Content {
        let sections = [0, 1].map(|plate| {
            let parts = assembly.parts.iter().filter(|p| p.plate == plate && p.region.holds(x, y));
            parts.fold(None, |section: Option<Section>, part| {
                let mut section = section.unwrap_or_default();
                part.plies.iter().for_each(|ply| section.add(ply));
                Some(section)
            })
        });
        let both = sections.iter().all(Option::is_some);
        let springs = assembly.springs.iter().filter(|s| both && s.region.holds(x, y)).copied().collect();
        Content { sections, springs }
    }

    /// Whether both make the same matrix: loads may differ.
    fn as_stiff_as(&self, other: &Content) -> bool {
        let bare = |s: &Option<Section>| s.map(|s| (s.a, s.b, s.d));
        let held = |s: &Spring| (s.heights, s.shear, s.normal);
        self.sections.each_ref().map(bare) == other.sections.each_ref().map(bare)
            && self.springs.iter().map(held).eq(other.springs.iter().map(held))
    }
}

impl Model {
    fn of(assembly: &Assembly) -> Model {
        Model::on(assembly, mirrors(assembly), None)
    }

    /// The same with the halves left out that are mirror images by `mirrors`; matrices of pieces that are as stiff in `like`
    /// are taken from there.
    fn on(assembly: &Assembly, mirrors: [bool; 2], like: Option<&Model>) -> Model {
        let lines = [0, 1].map(|axis| lines(assembly, axis, mirrors[axis]));
        let [nx, ny] = [lines[0].pieces(), lines[1].pieces()];
        let centre = |px: usize, py: usize| (lines[0].middle(px), lines[1].middle(py));
        let mut present = vec![[false; 2]; nx * ny];
        for px in 0..nx {
            for py in 0..ny {
                let (x, y) = centre(px, py);
                for part in assembly.parts.iter().filter(|p| p.region.holds(x, y)) {
                    present[px * ny + py][part.plate] = true;
                }
            }
        }
        let numbering = number(&lines, &present);
        let like = like.filter(|model| model.lines == lines && model.numbering == numbering);
        let products = [0, 1].map(|k: usize| {
            let at = &lines[k].at;
            at.windows(2).map(|w| Products::new(w[1] - w[0])).collect::<Vec<_>>()
        });
        let mut right = vec![0.0; numbering.count];
        let mut contents = Vec::with_capacity(nx * ny);
        let (mut unknowns, mut matrices) = (Vec::with_capacity(nx * ny), Vec::with_capacity(nx * ny));
        for px in 0..nx {
            for py in 0..ny {
                let content = Content::of(assembly, centre(px, py));
                let own = numbering.piece([px, py]);
                let at = px * ny + py;
                let known = like.filter(|model| model.contents[at].as_stiff_as(&content));
                let products = [&products[0][px], &products[1][py]];
                let mut piece = Piece::new(products);
                piece.loads(&content);
                own.iter().for_each(|&(i, u)| right[u] += piece.right[i]);
                matrices.push(match known {
                    Some(model) => Arc::clone(&model.matrices[at]),
                    None => piece.matrix(&content, &own),
                });
                unknowns.push(own.into_iter().map(|(_, u)| u).collect());
                contents.push(content);
            }
        }
        Model { lines, numbering, unknowns, contents, matrices, right }
    }

    fn factor(&self) -> Result<Factor, NoConvergence> {
        let grid = [0, 1].map(|k| self.lines[k].pieces());
        Arc::new(Plan::new(grid, self.unknowns.clone(), self.numbering.count)).factor(&self.matrices)
    }

    fn bent(&self, x: Vec<f64>) -> Bent {
        Bent { lines: self.lines.clone(), numbering: self.numbering.clone(), x }
    }
}

/// Solves an assembly.
///
/// # Errors
/// [`NoConvergence`] when a plate has no stiffness somewhere, or stiffnesses lie too far apart.
pub fn solve(assembly: &Assembly) -> Result<Bent, NoConvergence> {
    let model = Model::of(assembly);
    let x = model.factor()?.solve(&model.right)?;
    Ok(model.bent(x))
}

impl Bent {
    /// Number of unknowns.
    pub fn unknowns(&self) -> usize {
        self.numbering.count
    }

    fn value(&self, t: &Term, [x, y]: [f64; 2]) -> f64 {
        let ((px, tx), (py, ty)) = (self.lines[0].find(x), self.lines[1].find(y));
        let h = |k: usize, p: usize| self.lines[k].at[p + 1] - self.lines[k].at[p];
        let kinds = t.kinds();
        let (fx, fy) = (values(kinds[0], tx, h(0, px)), values(kinds[1], ty, h(1, py)));
        let mut sum = 0.0;
        for (a, fx) in fx.iter().enumerate().take(t.count()) {
            for (b, fy) in fy.iter().enumerate().take(t.count()) {
                if let Some(u) = self.numbering.of(t.plate, t.field, [px, py], a, b) {
                    sum += fx * fy * self.x[u];
                }
            }
        }
        t.factor * sum
    }

    /// The unknowns of a model of the same body on another grid that has the lines of this one, or their images.
    fn unknowns_of(&self, model: &Model) -> Vec<f64> {
        let place = |k: usize, i: usize| {
            let at = &model.lines[k].at;
            if i.is_multiple_of(2) { at[i / 2] } else { 0.5 * (at[i / 2] + at[i / 2 + 1]) }
        };
        let [nx, ny] = [0, 1].map(|k| 2 * model.lines[k].pieces() + 1);
        let mut x = vec![0.0; model.numbering.count];
        for (i, j) in (0..nx).flat_map(|i| (0..ny).map(move |j| (i, j))) {
            for (plate, component) in [0, 1].into_iter().flat_map(|plate| (0..6).map(move |c| (plate, c))) {
                let Some(u) = model.numbering.index[model.numbering.slot(plate, i, j, component)] else {
                    continue;
                };
                let (field, order) = match component {
                    0 | 1 => (component, [0, 0]),
                    _ => (2, [(component - 2) % 2, (component - 2) / 2]),
                };
                let at = [place(0, i), place(1, j)];
                let turned = |k: usize| self.lines[k].mirrored && at[k] < 0.0 && unknowns::odd(component)[k];
                let sign = if turned(0) != turned(1) { -1.0 } else { 1.0 };
                x[u] = sign * self.value(&term(plate, field, order, 1.0), at);
            }
        }
        x
    }

    /// Deflection of a plate at a place, m, up positive; zero where the plate is not.
    pub fn deflection(&self, plate: usize, at: [f64; 2]) -> f64 {
        self.value(&term(plate, 2, [0, 0], 1.0), at)
    }

    /// Strains of the common plane and curvatures of a plate at a place: x, y, shear; x, y, twist.
    pub fn strains(&self, plate: usize, at: [f64; 2]) -> [f64; 6] {
        let mut all = [0.0; 6];
        for (value, terms) in all.iter_mut().zip(strains(plate)) {
            *value = terms.iter().map(|t| self.value(t, at)).sum();
        }
        // On the mirrored side shear and twist turn their sign.
        let sign = (0..2).fold(1.0, |s, k| if self.lines[k].mirrored && at[k] < 0.0 { -s } else { s });
        all[2] *= sign;
        all[5] *= sign;
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::property::Elastic;
    use crate::section::stacked;

    fn laminate() -> Vec<Ply> {
        let strain = |ppm: f64| -140e-6 * ppm;
        stacked(-0.5e-3, &[(1e-3, Elastic { modulus: 22e9, poisson: 0.2, strain: strain(16.0) })])
    }

    fn die(at: [f64; 2], side: f64) -> Part {
        let strain = |ppm: f64| -140e-6 * ppm;
        let layers = [
            (0.075e-3, Elastic { modulus: 8e9, poisson: 0.3, strain: strain(30.0) }),
            (0.75e-3, Elastic { modulus: 131e9, poisson: 0.28, strain: strain(2.8) }),
        ];
        Part { plate: 0, region: Region::full(Area::around(at, side, side)), plies: stacked(0.5e-3, &layers) }
    }

    fn body(parts: Vec<Part>) -> Assembly {
        let size = [35e-3; 2];
        let whole = Region::full(Area::around([0.0; 2], size[0], size[1]));
        let mut all = vec![Part { plate: 0, region: whole, plies: laminate() }];
        all.extend(parts);
        Assembly { size, parts: all, springs: vec![], step: 3e-3 }
    }

    #[test]
    fn a_full_die_bends_like_its_section() {
        let bent = solve(&body(vec![die([0.0; 2], 35e-3)])).unwrap();
        let mut plies = laminate();
        plies.extend(die([0.0; 2], 35e-3).plies);
        let free = Section::of(&plies).free().unwrap();
        let there = bent.strains(0, [5e-3, 16e-3]);
        assert!((there[0] / free.strain[0] - 1.0).abs() < 1e-9);
        assert!((there[4] / free.curvature[1] - 1.0).abs() < 1e-9);
        assert!((free.curvature[0] / 1.392_43 - 1.0).abs() < 1e-4, "{:?}", free);
        let expected = -free.curvature[0] * 2.0 * 17.5e-3_f64.powi(2) / 2.0;
        let drop = bent.deflection(0, [17.5e-3; 2]) - bent.deflection(0, [0.0; 2]);
        assert!((drop / expected - 1.0).abs() < 1e-9);
    }

    #[test]
    fn the_grid_of_the_study_is_within_one_percent_of_a_fine_one() {
        let corner = |step: f64| {
            let bent = solve(&Assembly { step, ..body(vec![die([0.0; 2], 15e-3)]) }).unwrap();
            bent.deflection(0, [17.5e-3; 2]) - bent.deflection(0, [0.0; 2])
        };
        let (coarse, fine, finest) = (corner(3.5e-3), corner(1.75e-3), corner(0.875e-3));
        assert!((coarse / finest - 1.0).abs() < 0.012, "{coarse} {finest}");
        assert!((fine - finest).abs() < 0.7 * (coarse - finest).abs());
    }

    #[test]
    fn a_die_off_centre_bends_the_body_whichever_way_it_is_numbered() {
        let centred = solve(&body(vec![die([0.0; 2], 15e-3)])).unwrap();
        let drop = |b: &Bent, at: [f64; 2]| (b.deflection(0, at) - b.deflection(0, [0.0; 2])) * 1e6;
        let corner = drop(&centred, [17.5e-3; 2]);
        assert!((corner + 231.0).abs() < 6.0, "{corner}");
        // Moved by little it takes the way without mirrors and gives nearly the same.
        let moved = solve(&body(vec![die([1e-5, 2e-5], 15e-3)])).unwrap();
        assert!(moved.unknowns() > 3 * centred.unknowns());
        let (near, far) = (drop(&moved, [17.5e-3; 2]), drop(&moved, [-17.5e-3, -17.5e-3]));
        assert!(((near + far) / 2.0 - corner).abs() < 0.01 * corner.abs(), "{near} {far} {corner}");
    }

    #[test]
    fn a_pair_of_dies_is_solved_on_a_half_and_read_on_both_sides() {
        let pair = |thicker: f64| {
            let mut dies = [-8e-3, 8e-3].map(|x| die([x, 3e-3], 11e-3));
            dies[1].plies.iter_mut().for_each(|p| p.top += thicker);
            solve(&body(dies.into())).unwrap()
        };
        // Unlike dies are no mirror image, by however little they differ.
        let (half, whole) = (pair(0.0), pair(1e-13));
        assert!(whole.unknowns() > 17 * half.unknowns() / 10);
        for at in [[-17.5e-3, -17.5e-3], [17.5e-3, -17.5e-3], [-7e-3, 16e-3], [9e-3, 4e-3]] {
            let drop = |b: &Bent| (b.deflection(0, at) - b.deflection(0, [0.0; 2])) * 1e6;
            assert!((drop(&half) - drop(&whole)).abs() < 1e-6, "{at:?}: {} {}", drop(&half), drop(&whole));
            let image = [-at[0], at[1]];
            for (k, (a, b)) in half.strains(0, at).into_iter().zip(half.strains(0, image)).enumerate() {
                let sign = if k % 3 == 2 { -1.0 } else { 1.0 };
                assert!((a - sign * b).abs() <= 1e-12 * a.abs(), "{k}");
            }
            for (k, (a, b)) in half.strains(0, at).into_iter().zip(whole.strains(0, at)).enumerate() {
                let most = if k < 3 { 1e-11 } else { 1e-8 };
                assert!((a - b).abs() < most, "{at:?} {k}: {a} {b}");
            }
        }
    }

    #[test]
    fn a_stiff_glue_makes_two_plates_one_and_a_soft_one_leaves_them_apart() {
        let steel = Elastic { modulus: 193e9, poisson: 0.3, strain: -140.0 * 17.3e-6 };
        let whole = Area::around([0.0; 2], 35e-3, 35e-3);
        let frame = Region { outer: whole, opening: Some(Area::around([0.0; 2], 26e-3, 26e-3)) };
        let ring = |plate: usize, from: f64| Part {
            plate,
            region: frame,
            plies: stacked(from, &[(0.75e-3, steel)]),
        };
        let one = solve(&body(vec![die([0.0; 2], 15e-3), ring(0, 0.5e-3)])).unwrap();
        let glued = |stiffness: f64| {
            let mut assembly = body(vec![die([0.0; 2], 15e-3), ring(1, -0.375e-3)]);
            assembly.springs = vec![Spring {
                region: frame,
                heights: [0.5e-3, -0.375e-3],
                shear: stiffness,
                normal: stiffness,
                opening: 0.0,
            }];
            solve(&assembly).unwrap()
        };
        let drop = |b: &Bent| (b.deflection(0, [17.5e-3; 2]) - b.deflection(0, [0.0; 2])) * 1e6;
        assert!(
            (drop(&glued(1e17)) / drop(&one) - 1.0).abs() < 0.02,
            "{} {}",
            drop(&glued(1e17)),
            drop(&one)
        );
        let bare = solve(&body(vec![die([0.0; 2], 15e-3)])).unwrap();
        assert!((drop(&glued(1e5)) / drop(&bare) - 1.0).abs() < 0.01);
    }
}
