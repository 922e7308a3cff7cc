//! Linear assignment: pair rows with columns one to one at the least total cost.
//!
//! Both solvers follow the shortest augmenting path method (Jonker and Volgenant, 1987, "A shortest augmenting
//! path algorithm for dense and sparse linear assignment problems", Computing 38, 325-340; rectangular form:
//! Crouse, 2016, "On implementing 2D rectangular assignment algorithms", IEEE Trans. Aerosp. Electron. Syst. 52(4)).
//! They return the dual prices with the pairing: prices whose sum equals the cost are the proof of the optimum.
//!
//! [`assign_dense`] takes any cost matrix; [`assign_points`] takes two point sets and a distance and never
//! builds the matrix, which makes thousands of points a matter of a fraction of a second.

mod bottleneck;
mod dense;
mod geometric;

pub use bottleneck::{Bottleneck, assign_bottleneck};
pub use dense::assign_dense;
pub use geometric::assign_points;

/// A dense cost matrix, row-major, in any unit; `f64::INFINITY` forbids a pair.
#[derive(Debug, Clone, PartialEq)]
pub struct CostMatrix {
    rows: usize,
    columns: usize,
    values: Vec<f64>,
}

impl CostMatrix {
    /// A matrix from its values, row after row.
    ///
    /// # Errors
    /// When the number of values is not `rows * columns`, or a value is NaN or minus infinity.
    pub fn new(rows: usize, columns: usize, values: Vec<f64>) -> Result<CostMatrix, AssignmentError> {
        if values.len() != rows * columns {
            return Err(AssignmentError::Shape { rows, columns, values: values.len() });
        }
        if let Some(at) = values.iter().position(|v| v.is_nan() || *v == f64::NEG_INFINITY) {
            return Err(AssignmentError::NotACost { row: at / columns, column: at % columns });
        }
        Ok(CostMatrix { rows, columns, values })
    }

    /// A matrix from a function of row and column.
    ///
    /// # Errors
    /// As [`CostMatrix::new`].
    pub fn from_fn(
        rows: usize,
        columns: usize,
        mut cost: impl FnMut(usize, usize) -> f64,
    ) -> Result<CostMatrix, AssignmentError> {
        let mut values = Vec::with_capacity(rows * columns);
        for row in 0..rows {
            for column in 0..columns {
                values.push(cost(row, column));
            }
        }
        CostMatrix::new(rows, columns, values)
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Number of columns.
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// The costs of one row.
    ///
    /// # Panics
    /// When there is no such row.
    pub fn row(&self, row: usize) -> &[f64] {
        &self.values[row * self.columns..(row + 1) * self.columns]
    }

    fn transposed(&self) -> CostMatrix {
        let mut values = Vec::with_capacity(self.values.len());
        for column in 0..self.columns {
            values.extend((0..self.rows).map(|row| self.values[row * self.columns + column]));
        }
        CostMatrix { rows: self.columns, columns: self.rows, values }
    }
}

/// How far apart two points of the plane are, from the differences of their coordinates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Distance {
    /// Straight line, `sqrt(dx^2 + dy^2)`.
    Euclidean,
    /// Shortest path of pieces at multiples of 45 degrees, `max + (sqrt(2) - 1) min`.
    Octilinear,
    /// Shortest path of horizontal and vertical pieces, `dx + dy`.
    Rectilinear,
}

impl Distance {
    /// The distance for coordinate differences `dx`, `dy` (any sign), in their unit.
    pub fn of(self, dx: f64, dy: f64) -> f64 {
        let (dx, dy) = (dx.abs(), dy.abs());
        match self {
            Distance::Euclidean => (dx * dx + dy * dy).sqrt(),
            Distance::Octilinear => dx.max(dy) + (std::f64::consts::SQRT_2 - 1.0) * dx.min(dy),
            Distance::Rectilinear => dx + dy,
        }
    }

    /// The distance between two points.
    pub fn between(self, a: [f64; 2], b: [f64; 2]) -> f64 {
        self.of(a[0] - b[0], a[1] - b[1])
    }
}

/// A cheapest pairing with its proof.
#[derive(Debug, Clone, PartialEq)]
pub struct Assignment {
    /// The column of each row; absent only for the rows that stay over when there are more rows than columns.
    pub column_of_row: Vec<Option<usize>>,
    /// Sum of the costs of the pairs.
    pub total: f64,
    /// Dual price of each row.
    pub row_price: Vec<f64>,
    /// Dual price of each column. `row_price[i] + column_price[j]` is never above the cost of the pair but for
    /// rounding; the prices of the longer side are at most zero, and zero where that side stays over.
    pub column_price: Vec<f64>,
}

impl Assignment {
    /// Sum of all prices: a lower bound on the total of every complete pairing, by linear programming duality.
    pub fn bound(&self) -> f64 {
        self.row_price.iter().sum::<f64>() + self.column_price.iter().sum::<f64>()
    }

    fn transposed(self, columns: usize) -> Assignment {
        let mut column_of_row = vec![None; columns];
        for (row, column) in self.column_of_row.iter().enumerate() {
            if let Some(column) = *column {
                column_of_row[column] = Some(row);
            }
        }
        Assignment {
            column_of_row,
            total: self.total,
            row_price: self.column_price,
            column_price: self.row_price,
        }
    }
}

/// Why there is no pairing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AssignmentError {
    /// The number of values does not fit the shape.
    #[error("a cost matrix of {rows} rows and {columns} columns cannot have {values} values")]
    Shape {
        /// Rows.
        rows: usize,
        /// Columns.
        columns: usize,
        /// Values given.
        values: usize,
    },
    /// A cost is NaN or minus infinity.
    #[error("the cost in row {row}, column {column} is not a number that can be minimised")]
    NotACost {
        /// Row.
        row: usize,
        /// Column.
        column: usize,
    },
    /// A coordinate is not finite.
    #[error("point {index} has a coordinate that is not finite")]
    NotAPoint {
        /// Place in its list.
        index: usize,
    },
    /// The forbidden pairs leave no complete pairing.
    #[error("no complete pairing exists: row {row} finds no column that the other rows can give up")]
    Infeasible {
        /// A row (a column where there are more rows than columns) that stays over.
        row: usize,
    },
}
