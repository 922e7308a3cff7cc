//! What fills the cells: for each cell the uppermost box, its conductivity at the cell's own temperature, and for joints
//! and voids the share of the cell that they really take.

use super::overlap::{cells_in, circle_in};
use super::parts::{Area, Conduct, Parts, Slab};
use super::pitch::pitch;
use crate::interface::VOID_GAS;
use crate::mixing::{Pattern, at as at_temperature, joint_sheet};
use crate::problem::{Interface, Joints, VoidPlaces};
use facedown_field::conduction::{Body, Field, Medium};
use facedown_field::grid::Grid;

/// No box.
const NONE: u16 = u16::MAX;

/// Conductivities in and through the plane over temperature: K and W/(m K).
type Curve = Vec<(f64, [f64; 2])>;

/// What one box conducts.
enum Property {
    /// The same everywhere.
    Even(Curve),
    /// By column of the grid: x fastest, in the rectangle of columns that starts at the first pair.
    Map { from: [usize; 2], columns: usize, values: Vec<[f32; 2]> },
}

/// The cells of a package at one temperature.
pub(super) struct Filled {
    grid: Grid,
    /// Group of boxes of every z.
    group: Vec<usize>,
    /// Box of every column, x fastest, by group.
    maps: Vec<Vec<u16>>,
    properties: Vec<Property>,
    /// Heat capacity of the volume of every box, J/(m3 K); zero where not known.
    capacities: Vec<f64>,
    /// Temperature of all cells, K.
    start_k: f64,
}

/// The same cells at the temperatures of a field.
pub(super) struct Warm<'a> {
    /// The cells.
    pub cells: &'a Filled,
    /// The body of the field.
    pub body: &'a Body,
    /// Rises over the ambient.
    pub field: &'a Field,
    /// Ambient, K.
    pub ambient_k: f64,
}

impl Filled {
    /// Fills a grid; conductivities at `start_k`.
    pub fn new(parts: &Parts<'_>, grid: &Grid, pattern: Pattern, start_k: f64) -> Filled {
        let [nx, ny, nz] = grid.cells();
        let mut sets: Vec<Vec<usize>> = Vec::new();
        let mut group = Vec::with_capacity(nz);
        for z in 0..nz {
            let at = grid.middle(2, z);
            let set: Vec<usize> = (0..parts.slabs.len())
                .filter(|&i| at > parts.slabs[i].z[0] && at < parts.slabs[i].z[1])
                .collect();
            let place = sets.iter().position(|s| *s == set).unwrap_or_else(|| {
                sets.push(set);
                sets.len() - 1
            });
            group.push(place);
        }
        let maps = sets
            .iter()
            .map(|set| {
                let mut map = vec![NONE; nx * ny];
                for &i in set {
                    let slab = &parts.slabs[i];
                    for y in 0..ny {
                        for x in 0..nx {
                            let at = [grid.middle(0, x), grid.middle(1, y)];
                            if slab.area.holds(at) && !slab.hole.is_some_and(|h| h.holds(at)) {
                                map[y * nx + x] = i as u16;
                            }
                        }
                    }
                }
                map
            })
            .collect();
        let properties = parts.slabs.iter().map(|s| property(s, grid, pattern, start_k)).collect();
        let capacities = parts.slabs.iter().map(|s| s.capacity().unwrap_or(0.0)).collect();
        Filled { grid: grid.clone(), group, maps, properties, capacities, start_k }
    }

    /// The box that holds a cell.
    pub fn slab(&self, [x, y, z]: [usize; 3]) -> Option<usize> {
        let nx = self.grid.cells()[0];
        let slab = self.maps[self.group[z]][y * nx + x];
        (slab != NONE).then_some(usize::from(slab))
    }
}

impl Filled {
    fn conductivity_at(&self, cell: [usize; 3], temperature: impl Fn() -> f64) -> Option<[f64; 3]> {
        let [plane, through] = match &self.properties[self.slab(cell)?] {
            Property::Even(curve) if curve.len() == 1 => curve[0].1,
            Property::Even(curve) => on_curve(curve, temperature()),
            Property::Map { from, columns, values } => {
                values[(cell[1] - from[1]) * columns + cell[0] - from[0]].map(f64::from)
            }
        };
        Some([plane, plane, through])
    }
}

impl Medium for Filled {
    fn conductivity(&self, cell: [usize; 3]) -> Option<[f64; 3]> {
        self.conductivity_at(cell, || self.start_k)
    }

    fn capacity(&self, cell: [usize; 3]) -> f64 {
        self.slab(cell).map_or(0.0, |s| self.capacities[s])
    }
}

impl Medium for Warm<'_> {
    fn conductivity(&self, cell: [usize; 3]) -> Option<[f64; 3]> {
        let warm = || self.body.at(self.field, cell).map_or(self.cells.start_k, |rise| self.ambient_k + rise);
        self.cells.conductivity_at(cell, warm)
    }
}

fn on_curve(curve: &Curve, temperature_k: f64) -> [f64; 2] {
    let after = curve.partition_point(|p| p.0 < temperature_k);
    match (after.checked_sub(1).map(|i| curve[i]), curve.get(after)) {
        (Some(a), Some(b)) => {
            let s = (temperature_k - a.0) / (b.0 - a.0);
            [0, 1].map(|i| a.1[i] + s * (b.1[i] - a.1[i]))
        }
        (Some(only), None) => only.1,
        (None, only) => only.map_or([f64::NAN; 2], |p| p.1),
    }
}

fn property(slab: &Slab<'_>, grid: &Grid, pattern: Pattern, temperature_k: f64) -> Property {
    if let Conduct::Joints(joints) = &slab.conduct
        && !joints.places.is_empty()
    {
        return by_column(joints, &slab.area, grid, temperature_k);
    }
    if let Conduct::Interface(interface) = &slab.conduct
        && let Some(places) = &interface.void_places
    {
        return with_voids(interface, places, slab, grid, temperature_k);
    }
    let nodes = slab.nodes();
    Property::Even(
        nodes
            .iter()
            .map(|&t| {
                let sheet = slab.sheet(t, pattern);
                (t, [sheet.in_plane, sheet.through])
            })
            .collect(),
    )
}

/// Columns whose middle lies in an area.
fn range(grid: &Grid, axis: usize, area: &Area) -> std::ops::Range<usize> {
    let cells = grid.cells()[axis];
    let first = (0..cells).find(|&i| grid.middle(axis, i) > area.from[axis]).unwrap_or(0);
    let end = (first..cells).rev().find(|&i| grid.middle(axis, i) < area.to[axis]).map_or(first, |i| i + 1);
    first..end
}

/// Share of a rectangle of an interface over `area` that is void.
fn void_share(places: &VoidPlaces, area: &Area, tile: &Area) -> f64 {
    let [w, h] = tile.size();
    let share = match places {
        VoidPlaces::Circles(circles) => {
            let of = |(at, diameter): &([f64; 2], f64)| {
                let centre = [0, 1].map(|a| area.from[a] + at[a]);
                let far = (0..2).any(|a| {
                    centre[a] + diameter / 2.0 < tile.from[a] || centre[a] - diameter / 2.0 > tile.to[a]
                });
                if far { 0.0 } else { circle_in(centre, diameter / 2.0, tile) }
            };
            circles.iter().map(of).sum::<f64>() / (w * h)
        }
        VoidPlaces::Map(cells) => {
            let [own_w, own_h] = area.size();
            // Sum over cells by their shares, in cells; the rectangle has so many of them.
            let count = cells.values.len() as f64 * w * h / (own_w * own_h);
            cells_in(cells, area, tile) / count
        }
    };
    share.clamp(0.0, 1.0)
}

/// An interface with its voids where they are: by column, the full part and the gas side by side.
fn with_voids(
    interface: &Interface,
    places: &VoidPlaces,
    slab: &Slab<'_>,
    grid: &Grid,
    temperature_k: f64,
) -> Property {
    let area = &slab.area;
    let [xs, ys] = [0, 1].map(|axis| range(grid, axis, area));
    let height = slab.z[1] - slab.z[0];
    let paste = at_temperature(&interface.conductivity, temperature_k);
    let mut values = Vec::with_capacity(xs.len() * ys.len());
    for y in ys.clone() {
        for x in xs.clone() {
            let edges = |axis: usize, i: usize| &grid.edges(axis)[i..=i + 1];
            let (ex, ey) = (edges(0, x), edges(1, y));
            let void = void_share(places, area, &Area { from: [ex[0], ey[0]], to: [ex[1], ey[1]] });
            let through = height * interface.conductance(void, temperature_k);
            let plane = (1.0 - void) * paste + void * VOID_GAS;
            values.push([plane as f32, through as f32]);
        }
    }
    Property::Map { from: [xs.start, ys.start], columns: xs.len().max(1), values }
}

/// Joints where they stand: each is shared out over the columns that a square of the pitch around it covers, and a column
/// conducts as an array of that density would.
fn by_column(joints: &Joints, area: &Area, grid: &Grid, temperature_k: f64) -> Property {
    let [xs, ys] = [0, 1].map(|axis| range(grid, axis, area));
    let columns = xs.len();
    if columns * ys.len() == 0 {
        return Property::Map { from: [0; 2], columns: 1, values: Vec::new() };
    }
    let widest = joints.pieces.iter().map(|p| p.diameter_m).fold(0.0, f64::max);
    let metal = widest * std::f64::consts::PI.sqrt() / 2.0;
    let side = pitch(&joints.places).unwrap_or(metal).max(metal);
    let mut density = vec![0.0_f64; columns * ys.len()];
    for place in &joints.places {
        let low = [0, 1].map(|a| area.from[a] + place[a] - side / 2.0);
        let covered = |axis: usize, among: &std::ops::Range<usize>| -> Vec<(usize, f64)> {
            let first = grid.holding(axis, low[axis]).clamp(among.start, among.end - 1);
            let last = grid.holding(axis, low[axis] + side).clamp(among.start, among.end - 1);
            (first..=last)
                .map(|i| {
                    let edges = &grid.edges(axis)[i..=i + 1];
                    (i - among.start, (edges[1].min(low[axis] + side) - edges[0].max(low[axis])).max(0.0))
                })
                .collect()
        };
        let (along_x, along_y) = (covered(0, &xs), covered(1, &ys));
        // What would lie beside the area stays within it: no joint gets lost.
        let whole = [&along_x, &along_y].map(|a| a.iter().map(|c| c.1).sum::<f64>()).iter().product::<f64>();
        for &(y, h) in &along_y {
            for &(x, w) in &along_x {
                let cell = grid.width(0, xs.start + x) * grid.width(1, ys.start + y);
                // Joints for each area, as many as there would be of this density in the whole area.
                density[y * columns + x] += w * h / whole / cell;
            }
        }
    }
    let [w, h] = area.size();
    let fullest = 0.98 / (metal * metal);
    let values = density
        .iter()
        .map(|d| {
            // A column inside one joint is metal all over, whatever its square.
            let count = d.min(fullest) * w * h;
            let local = Joints { count, places: Vec::new(), heats_w: Vec::new(), ..joints.clone() };
            let sheet = joint_sheet(&local, w * h, temperature_k);
            [sheet.in_plane as f32, sheet.through as f32]
        })
        .collect();
    Property::Map { from: [xs.start, ys.start], columns, values }
}
