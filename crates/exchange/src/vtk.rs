//! Fields on a rectilinear grid as a legacy VTK file (version 3.0, binary), which general viewers open.
//!
//! Format: W. Schroeder, K. Martin, B. Lorensen, The Visualization Toolkit, "VTK File Formats" (simple legacy formats):
//! a text header, then big-endian numbers; x runs fastest, then y, then z. Coordinates are written in double precision,
//! values in the precision that they have, bit by bit. Writing to disk is left to the caller, who publishes all files of a run in one step.

use std::fmt::Write;

/// Where the numbers of a field belong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum On {
    /// One value a cell, between grid lines.
    Cells,
    /// One value a grid point.
    Points,
}

impl On {
    fn words(self) -> &'static str {
        match self {
            On::Cells => "cells",
            On::Points => "points",
        }
    }
}

/// A named field.
#[derive(Debug, Clone, PartialEq)]
pub struct Field<'a> {
    /// Name with its unit, for instance `temperature_K`; letters, digits, `_`, `-`, `.`.
    pub name: &'a str,
    /// Where its values belong.
    pub on: On,
    /// Numbers a place: 1, or 3 for a vector in x, y, z.
    pub components: usize,
    /// Values, x fastest, then y, then z; the components of a place side by side.
    pub values: Values<'a>,
}

/// Numbers of a field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Values<'a> {
    /// Double precision.
    Double(&'a [f64]),
    /// Single precision.
    Float(&'a [f32]),
    /// Small whole numbers, for what is counted or named.
    Byte(&'a [u8]),
}

impl Values<'_> {
    fn len(&self) -> usize {
        match self {
            Values::Double(v) => v.len(),
            Values::Float(v) => v.len(),
            Values::Byte(v) => v.len(),
        }
    }

    /// The format's name of their type.
    fn words(&self) -> &'static str {
        match self {
            Values::Double(_) => "double",
            Values::Float(_) => "float",
            Values::Byte(_) => "unsigned_char",
        }
    }

    /// The first value that is no finite number.
    fn wrong(&self) -> Option<usize> {
        match self {
            Values::Double(v) => v.iter().position(|v| !v.is_finite()),
            Values::Float(v) => v.iter().position(|v| !v.is_finite()),
            Values::Byte(_) => None,
        }
    }

    fn write(&self, bytes: &mut Vec<u8>) {
        match self {
            Values::Double(v) => bytes.extend(v.iter().flat_map(|v| v.to_be_bytes())),
            Values::Float(v) => bytes.extend(v.iter().flat_map(|v| v.to_be_bytes())),
            Values::Byte(v) => bytes.extend_from_slice(v),
        }
        bytes.push(b'\n');
    }
}

/// Fields over one grid.
#[derive(Debug, Clone, PartialEq)]
pub struct RectilinearGrid<'a> {
    /// A line that says what the file holds; at most 255 bytes.
    pub title: &'a str,
    /// Grid lines in x, y and z, rising, m; two or more in each.
    pub lines: [&'a [f64]; 3],
    /// Fields.
    pub fields: Vec<Field<'a>>,
}

/// What keeps a grid from being written.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum VtkFault {
    /// The title does not fit.
    #[error("the title holds a line break or more than 255 bytes")]
    Title,
    /// Grid lines are missing or do not rise.
    #[error(
        "grid lines in {axis}: at least two finite numbers that rise are needed; place {place} breaks this"
    )]
    Lines {
        /// Axis.
        axis: char,
        /// Number of the first wrong line, from 0.
        place: usize,
    },
    /// A name that readers cannot take, or that is there twice.
    #[error(
        "field name {0:?}: letters, digits, `_`, `-` and `.` are allowed, and each name once among cells or points"
    )]
    Name(String),
    /// The number of values is wrong.
    #[error("field {name} has {found} values; {components} for each of {places} {on} are needed")]
    Size {
        /// Field.
        name: String,
        /// Values given.
        found: usize,
        /// Components asked for.
        components: usize,
        /// Cells or points of the grid.
        places: usize,
        /// `cells` or `points`.
        on: &'static str,
    },
    /// Neither scalar nor vector.
    #[error("field {name} has {components} components; 1 and 3 are allowed")]
    Components {
        /// Field.
        name: String,
        /// Components given.
        components: usize,
    },
    /// A value that is not a number.
    #[error("field {name}: value {place} is not a finite number")]
    Value {
        /// Field.
        name: String,
        /// Number of the value, from 0.
        place: usize,
    },
}

/// The file's bytes. The same grid gives the same bytes.
///
/// # Errors
/// [`VtkFault`] names the first thing that cannot be written.
pub fn vtk(grid: &RectilinearGrid<'_>) -> Result<Vec<u8>, VtkFault> {
    if grid.title.contains(['\n', '\r']) || grid.title.len() > 255 {
        return Err(VtkFault::Title);
    }
    for (axis, lines) in ['x', 'y', 'z'].into_iter().zip(grid.lines) {
        let wrong = (0..lines.len().max(2)).find(|&i| {
            let rises = |line: &f64| line.is_finite() && (i == 0 || lines[i - 1] < *line);
            !lines.get(i).is_some_and(rises)
        });
        if let Some(place) = wrong {
            return Err(VtkFault::Lines { axis, place });
        }
    }
    let points = grid.lines.map(<[f64]>::len);
    let count = |on: On| match on {
        On::Cells => points.iter().map(|n| n - 1).product::<usize>(),
        On::Points => points.iter().product(),
    };
    for (i, field) in grid.fields.iter().enumerate() {
        sound(field, count(field.on))?;
        if grid.fields[..i].iter().any(|f| f.name == field.name && f.on == field.on) {
            return Err(VtkFault::Name(field.name.into()));
        }
    }
    let mut bytes = format!(
        "# vtk DataFile Version 3.0\n{}\nBINARY\nDATASET RECTILINEAR_GRID\nDIMENSIONS {} {} {}\n",
        grid.title, points[0], points[1], points[2]
    )
    .into_bytes();
    for (axis, lines) in ['X', 'Y', 'Z'].into_iter().zip(grid.lines) {
        bytes.extend(format!("{axis}_COORDINATES {} double\n", lines.len()).bytes());
        Values::Double(lines).write(&mut bytes);
    }
    for (on, head) in [(On::Cells, "CELL_DATA"), (On::Points, "POINT_DATA")] {
        let mut fields = grid.fields.iter().filter(|f| f.on == on).peekable();
        if fields.peek().is_some() {
            bytes.extend(format!("{head} {}\n", count(on)).bytes());
        }
        for field in fields {
            let (mut head, kind) = (String::new(), field.values.words());
            // Writing to text cannot fail.
            let _ = match field.components {
                3 => writeln!(head, "VECTORS {} {kind}", field.name),
                _ => writeln!(head, "SCALARS {} {kind} 1\nLOOKUP_TABLE default", field.name),
            };
            bytes.extend(head.bytes());
            field.values.write(&mut bytes);
        }
    }
    Ok(bytes)
}

fn sound(field: &Field<'_>, places: usize) -> Result<(), VtkFault> {
    let name = || field.name.to_owned();
    let allowed = |c: char| c.is_ascii_alphanumeric() || "_-.".contains(c);
    if field.name.is_empty() || !field.name.chars().all(allowed) {
        return Err(VtkFault::Name(name()));
    }
    if ![1, 3].contains(&field.components) {
        return Err(VtkFault::Components { name: name(), components: field.components });
    }
    if field.values.len() != places * field.components {
        return Err(VtkFault::Size {
            name: name(),
            found: field.values.len(),
            components: field.components,
            places,
            on: field.on.words(),
        });
    }
    match field.values.wrong() {
        Some(place) => Err(VtkFault::Value { name: name(), place }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid<'a>(values: &'a [f64]) -> RectilinearGrid<'a> {
        RectilinearGrid {
            title: "two cells",
            lines: [&[0.0, 1.0, 3.0], &[0.0, 2.0], &[-1.0, 0.0]],
            fields: vec![Field {
                name: "temperature_K",
                on: On::Cells,
                components: 1,
                values: Values::Double(values),
            }],
        }
    }

    #[test]
    fn two_cells_have_a_known_layout() {
        let bytes = vtk(&grid(&[300.0, 310.5])).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        assert!(text.starts_with(
            "# vtk DataFile Version 3.0\ntwo cells\nBINARY\nDATASET RECTILINEAR_GRID\nDIMENSIONS 3 2 2\nX_COORDINATES 3 double\n"
        ));
        assert!(text.contains("CELL_DATA 2\nSCALARS temperature_K double 1\nLOOKUP_TABLE default\n"));
        assert_eq!(bytes[bytes.len() - 9..], *[&310.5_f64.to_be_bytes()[..], b"\n"].concat());
    }

    #[test]
    fn values_keep_their_precision() {
        let plain = grid(&[300.0, 310.5]);
        let of = |values| {
            let fields = vec![Field { values, ..plain.fields[0].clone() }];
            vtk(&RectilinearGrid { fields, ..plain.clone() })
        };
        let float = of(Values::Float(&[300.0, 310.5])).unwrap();
        assert!(String::from_utf8_lossy(&float).contains("SCALARS temperature_K float 1\n"));
        assert_eq!(float[float.len() - 5..], *[&310.5_f32.to_be_bytes()[..], b"\n"].concat());
        let byte = of(Values::Byte(&[3, 7])).unwrap();
        assert!(byte.ends_with(b"SCALARS temperature_K unsigned_char 1\nLOOKUP_TABLE default\n\x03\x07\n"));
        assert!(of(Values::Float(&[300.0, f32::NAN])).is_err() && of(Values::Byte(&[3])).is_err());
    }

    #[test]
    fn what_does_not_fit_is_named() {
        let message = |g: &RectilinearGrid<'_>| vtk(g).unwrap_err().to_string();
        assert_eq!(
            message(&grid(&[300.0])),
            "field temperature_K has 1 values; 1 for each of 2 cells are needed"
        );
        assert_eq!(message(&grid(&[300.0, f64::NAN])), "field temperature_K: value 1 is not a finite number");
        let good = grid(&[300.0, 310.0]);
        for (lines, place) in [(&[0.0, 1.0, 1.0][..], 2), (&[0.0], 1), (&[], 0), (&[f64::NAN, 1.0], 0)] {
            let fault =
                vtk(&RectilinearGrid { lines: [lines, good.lines[1], good.lines[2]], ..good.clone() });
            assert_eq!(fault, Err(VtkFault::Lines { axis: 'x', place }));
        }
        let twice =
            RectilinearGrid { fields: [good.fields.clone(), good.fields.clone()].concat(), ..good.clone() };
        assert!(matches!(vtk(&twice), Err(VtkFault::Name(_))));
        let named =
            |name| RectilinearGrid { fields: vec![Field { name, ..good.fields[0].clone() }], ..good.clone() };
        assert!(
            vtk(&named("heat flux")).is_err() && vtk(&named("")).is_err() && vtk(&named("T.mean-1")).is_ok()
        );
        assert_eq!(vtk(&RectilinearGrid { title: "a\nb", ..good.clone() }), Err(VtkFault::Title));
        let odd = Field { components: 2, ..good.fields[0].clone() };
        assert!(matches!(
            vtk(&RectilinearGrid { fields: vec![odd], ..good.clone() }),
            Err(VtkFault::Components { .. })
        ));
    }
}
