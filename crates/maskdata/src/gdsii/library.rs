//! The content of a stream as plain data, in the file's own database units.

/// One end style of a path.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PathEnd {
    /// Square, flush with the end point (type 0).
    Flush,
    /// Half a circle around the end point (type 1).
    Round,
    /// Square, half the width beyond the end point (type 2).
    HalfWidth,
    /// Square, by lengths of its own in database units at the begin and the end (type 4).
    Custom(i32, i32),
}

/// How a placed cell or text is turned and scaled: mirrored about the x axis first, then magnified and turned, then
/// moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Mirrored about the x axis before turning.
    pub mirror: bool,
    /// Magnification, dimensionless, above 0.
    pub magnification: f64,
    /// Angle in degrees, counter-clockwise.
    pub angle_deg: f64,
    /// Where the cell's origin goes, in database units.
    pub at: [i32; 2],
}

impl Placement {
    /// A plain shift.
    pub fn shift(at: [i32; 2]) -> Placement {
        Placement { mirror: false, magnification: 1.0, angle_deg: 0.0, at }
    }
}

/// An array of placements. `column_end` and `row_end` are the points that the stream stores: the origin moved
/// by `columns` column steps, and by `rows` row steps, in database units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Repeat {
    /// Number of columns, from 1 to 32767.
    pub columns: i16,
    /// Number of rows, from 1 to 32767.
    pub rows: i16,
    /// Origin plus `columns` column steps.
    pub column_end: [i32; 2],
    /// Origin plus `rows` row steps.
    pub row_end: [i32; 2],
}

/// One element of a cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Element {
    /// A filled polygon; the closing point is not repeated here.
    Boundary {
        /// Layer number.
        layer: i16,
        /// Data type number.
        datatype: i16,
        /// Vertices in database units, at least three.
        points: Vec<[i32; 2]>,
    },
    /// A line of a width.
    Path {
        /// Layer number.
        layer: i16,
        /// Data type number.
        datatype: i16,
        /// Width in database units, 0 or more.
        width: i32,
        /// True where the width does not scale with the magnification of the placed cell (a negative width in the
        /// stream).
        absolute_width: bool,
        /// End style.
        end: PathEnd,
        /// Centre line in database units, at least two points.
        points: Vec<[i32; 2]>,
    },
    /// A box, kept apart by the format and filled like a boundary.
    Box {
        /// Layer number.
        layer: i16,
        /// Box type number.
        boxtype: i16,
        /// Corners in database units.
        points: Vec<[i32; 2]>,
    },
    /// A word at a place.
    Text {
        /// Layer number.
        layer: i16,
        /// Text type number.
        texttype: i16,
        /// Place in database units.
        at: [i32; 2],
        /// The word. Bytes above 127 are read as Latin-1; only ASCII is written.
        string: String,
    },
    /// A placed cell, or an array of placements.
    Reference {
        /// Name of the placed cell.
        cell: String,
        /// How it is placed.
        placement: Placement,
        /// The array, if it is one.
        repeat: Option<Repeat>,
    },
}

/// A cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// Its name.
    pub name: String,
    /// Its elements in file order.
    pub elements: Vec<Element>,
}

/// A whole stream.
#[derive(Debug, Clone, PartialEq)]
pub struct Library {
    /// Library name.
    pub name: String,
    /// One database unit in user units.
    pub user_unit: f64,
    /// One database unit in metres.
    pub database_unit_m: f64,
    /// Cells in file order; names are unique.
    pub cells: Vec<Cell>,
}

impl Library {
    /// An empty library with database unit 1 nm and user unit 1 um.
    pub fn nanometres(name: &str) -> Library {
        Library { name: name.into(), user_unit: 1e-3, database_unit_m: 1e-9, cells: Vec::new() }
    }

    /// The cell of this name.
    pub fn cell(&self, name: &str) -> Option<&Cell> {
        self.cells.iter().find(|c| c.name == name)
    }

    /// Names of the cells that no other cell places, in file order.
    pub fn top_cells(&self) -> Vec<&str> {
        let placed: std::collections::BTreeSet<&str> = self
            .cells
            .iter()
            .flat_map(|cell| &cell.elements)
            .filter_map(|element| match element {
                Element::Reference { cell, .. } => Some(cell.as_str()),
                _ => None,
            })
            .collect();
        self.cells.iter().map(|c| c.name.as_str()).filter(|name| !placed.contains(name)).collect()
    }
}
