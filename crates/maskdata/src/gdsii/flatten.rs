//! Expanding a cell into polygons and texts in whole nanometres.
//!
//! Before anything is expanded, the placed cells are walked once each to count what would come out; a small file can
//! describe 10^18 polygons, so the counts decide and not the memory of the machine. References in a circle
//! and cells that are missing are refused.

use super::library::{Cell, Element, Library, Repeat};
use super::outline::{ROUND_CHORDS, outline};
use super::transform::Transform;
use crate::fault::Fault;
use facedown_layout::Point;
use facedown_quantity::Nm;
use std::collections::BTreeMap;

/// Bounds on what [`Library::flatten`] may produce.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Placed cells, polygons and texts together.
    pub elements: u64,
    /// Corners of all polygons together, and every 16 bytes of text; each takes 16 bytes.
    pub points: u64,
    /// Levels of placed cells below the flattened one; more than 512 count as 512.
    pub depth: usize,
}

impl Default for Limits {
    /// 4 million elements, 32 million corners (512 MB), 64 levels.
    fn default() -> Limits {
        Limits { elements: 4_000_000, points: 32_000_000, depth: 64 }
    }
}

/// A polygon of the flattened cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FlatPolygon {
    /// Layer number.
    pub layer: i16,
    /// Data type (or box type) number.
    pub datatype: i16,
    /// Corners, not closed, in either direction of travel; may touch or cross itself where the file does so.
    pub points: Vec<Point>,
}

/// A text of the flattened cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FlatText {
    /// Layer number.
    pub layer: i16,
    /// Text type number.
    pub texttype: i16,
    /// Where it stands.
    pub at: Point,
    /// What it says.
    pub string: String,
}

/// A flattened cell.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Flat {
    /// Polygons, boxes and widened paths in the order of the file.
    pub polygons: Vec<FlatPolygon>,
    /// Texts in the order of the file.
    pub texts: Vec<FlatText>,
    /// Paths without a width, which cover nothing and were left out.
    pub lines_without_width: usize,
    /// Polygons that shrank to a line or a point on the nanometre grid and were left out.
    pub collapsed: usize,
}

/// What one placed copy of a cell expands to.
#[derive(Clone, Copy)]
struct Count {
    elements: u64,
    points: u64,
    depth: usize,
}

impl Library {
    /// Expands a cell: polygons with their layer and data type, and texts, in nanometres.
    ///
    /// Positions are computed in double precision and rounded once to the nearest nanometre; they are exact for
    /// turns by 90 degrees and whole-numbered magnifications. Paths are widened, round ends with 64 chords each.
    ///
    /// # Errors
    /// A [`Fault`] where the cell or a placed cell is missing, cells place each other in a circle, a bound of `limits`
    /// would be passed, or a corner would lie more than 10 m from the origin.
    pub fn flatten(&self, cell: &str, limits: &Limits) -> Result<Flat, Fault> {
        let by_name: BTreeMap<&str, usize> =
            self.cells.iter().enumerate().map(|(i, c)| (c.name.as_str(), i)).collect();
        // The walk recurses once a level.
        let limits = &Limits { depth: limits.depth.min(512), ..*limits };
        let Some(&top) = by_name.get(cell) else {
            return Err(Fault::new("gdsii-no-cell", format!("the file has no cell `{cell}`"))
                .allowed(some_names(&self.top_cells()))
                .mend("name one of the cells of the file"));
        };
        let mut counter =
            Counter { library: self, by_name: &by_name, limits, done: BTreeMap::new(), open: Vec::new() };
        let total = counter.count(top)?;
        if total.elements > limits.elements || total.points > limits.points {
            return Err(Fault::new(
                "gdsii-too-large",
                format!(
                    "cell `{cell}` expands to {} placed cells and elements with {} corners",
                    at_least(total.elements),
                    at_least(total.points)
                ),
            )
            .allowed(format!("{} elements and {} corners", limits.elements, limits.points))
            .mend("name a smaller cell, or write only the layers that are needed"));
        }
        let mut work = Work {
            library: self,
            by_name: &by_name,
            scale: nanometres(self.database_unit_m),
            flat: Flat::default(),
        };
        work.expand(&self.cells[top], &Transform::IDENTITY)?;
        Ok(work.flat)
    }
}

/// Up to six names for a message.
fn some_names(names: &[&str]) -> String {
    if names.is_empty() {
        return "no cell: the file has none that no other cell places".into();
    }
    let shown = names.iter().take(6).map(|n| format!("`{n}`")).collect::<Vec<_>>().join(", ");
    if names.len() > 6 { format!("{shown} and {} more", names.len() - 6) } else { shown }
}

fn at_least(count: u64) -> String {
    if count == u64::MAX { "more than 10^19".into() } else { count.to_string() }
}

/// Nanometres in one database unit; a factor within rounding of a whole number is taken as that number.
fn nanometres(database_unit_m: f64) -> f64 {
    let factor = database_unit_m / 1e-9;
    if (factor - factor.round()).abs() < 1e-12 * factor { factor.round() } else { factor }
}

struct Counter<'a> {
    library: &'a Library,
    by_name: &'a BTreeMap<&'a str, usize>,
    limits: &'a Limits,
    done: BTreeMap<usize, Count>,
    open: Vec<usize>,
}

impl Counter<'_> {
    fn count(&mut self, index: usize) -> Result<Count, Fault> {
        if let Some(count) = self.done.get(&index) {
            return Ok(*count);
        }
        let cell = &self.library.cells[index];
        if self.open.contains(&index) {
            return Err(Fault::new(
                "gdsii-circle",
                format!("cell `{}` places itself, directly or through others", cell.name),
            )
            .allowed("placements that form no circle")
            .mend(format!("remove the placement that leads back to `{}`", cell.name)));
        }
        if self.open.len() > self.limits.depth {
            return Err(self.too_deep());
        }
        self.open.push(index);
        let mut total = Count { elements: 0, points: 0, depth: 0 };
        for element in &cell.elements {
            let (elements, points) = match element {
                Element::Boundary { points, .. } | Element::Box { points, .. } => (1, points.len() as u64),
                Element::Path { points, .. } => (1, 4 * points.len() as u64 + 2 * ROUND_CHORDS as u64),
                // The bytes of a text count as corners, so that long texts in large arrays are bounded too.
                Element::Text { string, .. } => (1, string.len() as u64 / 16),
                Element::Reference { cell: name, repeat, .. } => {
                    let Some(&inner) = self.by_name.get(name.as_str()) else {
                        return Err(Fault::new(
                            "gdsii-missing-cell",
                            format!("cell `{}` places `{name}`, which the file does not hold", cell.name),
                        )
                        .mend("write the file with all its cells"));
                    };
                    let count = self.count(inner)?;
                    total.depth = total.depth.max(count.depth + 1);
                    if total.depth > self.limits.depth {
                        return Err(self.too_deep());
                    }
                    let copies = repeat.map_or(1, |r| r.columns as u64 * r.rows as u64);
                    (
                        count.elements.saturating_add(1).saturating_mul(copies),
                        count.points.saturating_mul(copies),
                    )
                }
            };
            total.elements = total.elements.saturating_add(elements);
            total.points = total.points.saturating_add(points);
        }
        self.open.pop();
        self.done.insert(index, total);
        Ok(total)
    }

    fn too_deep(&self) -> Fault {
        Fault::new(
            "gdsii-too-deep",
            format!("cells are placed in each other over more than {} levels", self.limits.depth),
        )
        .allowed(format!("{} levels", self.limits.depth))
        .mend("flatten the file, or name a cell further down")
    }
}

struct Work<'a> {
    library: &'a Library,
    by_name: &'a BTreeMap<&'a str, usize>,
    scale: f64,
    flat: Flat,
}

/// 10 m in nanometres: far beyond any mask, and far inside what doubles hold exactly.
const FARTHEST_NM: f64 = 1e10;

impl Work<'_> {
    fn expand(&mut self, cell: &Cell, transform: &Transform) -> Result<(), Fault> {
        for element in &cell.elements {
            match element {
                Element::Boundary { layer, datatype, points }
                | Element::Box { layer, boxtype: datatype, points } => {
                    let corners = points.iter().map(|&[x, y]| [f64::from(x), f64::from(y)]);
                    self.polygon(cell, *layer, *datatype, corners, transform)?;
                }
                Element::Path { layer, datatype, width, absolute_width, end, points } => {
                    let width = f64::from(*width) / if *absolute_width { transform.scale() } else { 1.0 };
                    let ring = outline(points, width, *end);
                    if ring.is_empty() {
                        self.flat.lines_without_width += 1;
                    } else {
                        self.polygon(cell, *layer, *datatype, ring.into_iter(), transform)?;
                    }
                }
                Element::Text { layer, texttype, at, string } => {
                    let at = self.point(cell, [f64::from(at[0]), f64::from(at[1])], transform)?;
                    self.flat.texts.push(FlatText {
                        layer: *layer,
                        texttype: *texttype,
                        at,
                        string: string.clone(),
                    });
                }
                Element::Reference { cell: name, placement, repeat } => {
                    // Present: the counting pass went the same way.
                    let Some(&index) = self.by_name.get(name.as_str()) else { continue };
                    let inner = &self.library.cells[index];
                    let placed = Transform::of(placement);
                    match repeat {
                        None => self.expand(inner, &transform.after(&placed))?,
                        Some(repeat) => {
                            for step in steps(placement.at, repeat) {
                                self.expand(inner, &transform.after(&placed.moved(step)))?;
                            }
                        }
                    }
                }
            }
        }
        Ok(())
    }

    fn point(&self, cell: &Cell, p: [f64; 2], transform: &Transform) -> Result<Point, Fault> {
        let [x, y] = transform.apply(p).map(|v| v * self.scale);
        if !(x.abs() <= FARTHEST_NM && y.abs() <= FARTHEST_NM) {
            return Err(Fault::new(
                "gdsii-far",
                format!("a corner of cell `{}` would lie more than 10 m from the origin", cell.name),
            )
            .allowed("coordinates within 10 m")
            .mend("check the magnifications of the placements"));
        }
        Ok(Point::new(Nm(x.round() as i64), Nm(y.round() as i64)))
    }

    fn polygon(
        &mut self,
        cell: &Cell,
        layer: i16,
        datatype: i16,
        corners: impl Iterator<Item = [f64; 2]>,
        transform: &Transform,
    ) -> Result<(), Fault> {
        let mut points = Vec::new();
        for corner in corners {
            let point = self.point(cell, corner, transform)?;
            if points.last() != Some(&point) {
                points.push(point);
            }
        }
        while points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        if points.len() < 3 {
            self.flat.collapsed += 1;
        } else {
            self.flat.polygons.push(FlatPolygon { layer, datatype, points });
        }
        Ok(())
    }
}

/// Shifts of all copies of an array, row by row.
fn steps(at: [i32; 2], repeat: &Repeat) -> impl Iterator<Item = [f64; 2]> {
    let delta = move |end: [i32; 2], count: i16, i: i16| {
        let part = |k: usize| (f64::from(end[k]) - f64::from(at[k])) * f64::from(i) / f64::from(count);
        [part(0), part(1)]
    };
    let repeat = *repeat;
    (0..repeat.rows).flat_map(move |row| {
        (0..repeat.columns).map(move |column| {
            let (a, b) =
                (delta(repeat.column_end, repeat.columns, column), delta(repeat.row_end, repeat.rows, row));
            [a[0] + b[0], a[1] + b[1]]
        })
    })
}
