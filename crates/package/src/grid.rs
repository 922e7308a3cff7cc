//! Values by cell, as a CSV grid gives them: power over a die, voids in a bond line.
//!
//! A grid is written as a map is looked at: its first row is the upper edge, its first column the left one. Inside, rows
//! are kept from the lower edge up.

use crate::read::node::{FromNode, Node, Reader};
use crate::read::record::record;
use crate::values::{Length, TablePath};
use serde::Serialize;
use toml::de::DeValue;

/// Where a grid of power is read from.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(untagged)]
pub enum PowerGridSource {
    /// A CSV grid over a part of the die.
    Placed(PlacedGrid),
    /// The path of a CSV grid over the whole die.
    Path(TablePath),
}

record! {
    /// A grid over a part of the die.
    pub struct PlacedGrid: "a grid with its place" {
        /// Path of the CSV file.
        csv: TablePath,
        /// Its lower-left corner in the die frame, x and y.
        origin: [Length; 2],
        /// Its size, x and y.
        size: [Length; 2],
    }
}

/// Values by cell in SI units.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CellGrid {
    /// Cells along x.
    pub columns: usize,
    /// Cells along y.
    pub rows: usize,
    /// Value of each cell: from the lower-left corner to the right, then upward.
    pub values: Vec<f64>,
}

/// Power by cell over a rectangle of a die.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PowerGrid {
    /// Lower-left corner, m, die frame.
    pub origin_m: [f64; 2],
    /// Size, m.
    pub size_m: [f64; 2],
    /// Power of each cell, W.
    pub cells: CellGrid,
}

impl PowerGridSource {
    /// Path of the CSV file.
    pub fn path(&self) -> &str {
        match self {
            PowerGridSource::Placed(placed) => placed.csv.as_str(),
            PowerGridSource::Path(path) => path.as_str(),
        }
    }
}

impl CellGrid {
    /// Sum over all cells.
    pub fn sum(&self) -> f64 {
        self.values.iter().sum()
    }

    /// Mean over all cells; zero for none.
    pub fn mean(&self) -> f64 {
        if self.values.is_empty() { 0.0 } else { self.sum() / self.values.len() as f64 }
    }

    /// The same grid seen from behind: left and right exchanged.
    #[must_use]
    pub fn mirrored(&self) -> CellGrid {
        let values = self.values.chunks(self.columns.max(1)).flat_map(|row| row.iter().rev().copied());
        CellGrid { values: values.collect(), ..*self }
    }

    /// The same grid turned counter-clockwise by a quarter.
    #[must_use]
    pub fn turned(&self) -> CellGrid {
        // What was the lower edge becomes the right one.
        let (columns, rows) = (self.rows, self.columns);
        let values = (0..rows).flat_map(|y| (0..columns).map(move |x| (x, y)));
        let values = values.map(|(x, y)| self.values[(self.rows - 1 - x) * self.columns + y]).collect();
        CellGrid { columns, rows, values }
    }
}

impl FromNode for PowerGridSource {
    fn expected() -> String {
        "the path of a CSV grid, or a table that names a csv with its origin and size".into()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        match node.value {
            DeValue::String(_) => TablePath::from_node(node, reader).map(PowerGridSource::Path),
            DeValue::Table(_) => PlacedGrid::from_node(node, reader).map(PowerGridSource::Placed),
            _ => {
                reader.wrong_kind(node, &Self::expected());
                None
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three columns, two rows: 1 2 3 below, 4 5 6 above.
    fn six() -> CellGrid {
        CellGrid { columns: 3, rows: 2, values: vec![1.0, 2.0, 3.0, 4.0, 5.0, 6.0] }
    }

    #[test]
    fn a_grid_turns_as_its_die_does() {
        let turned = six().turned();
        assert_eq!((turned.columns, turned.rows), (2, 3));
        // Upper left goes to lower left, lower left to lower right.
        assert_eq!(turned.values, [4.0, 1.0, 5.0, 2.0, 6.0, 3.0]);
        assert_eq!(six().turned().turned().turned().turned(), six());
        assert_eq!(six().mirrored().values, [3.0, 2.0, 1.0, 6.0, 5.0, 4.0]);
        // Mirrored and turned by a half is turned upside down.
        assert_eq!(six().mirrored().turned().turned().values, [4.0, 5.0, 6.0, 1.0, 2.0, 3.0]);
    }
}
