//! Writing a library as a stream. The bytes depend on the library alone: the date words are constant.

use super::library::{Element, Library, PathEnd, Placement};
use super::real::encode_real;
use super::record::code;
use crate::fault::Fault;
use crate::pieces::{Joint, without_holes};
use facedown_layout::{Point, Polygon};

/// The most vertices that [`boundaries`] gives one polygon. One XY record holds 8191 points at most, and the first
/// is repeated at the end.
pub const MAX_VERTICES: usize = 8000;

/// The longest text that is written, in bytes (Rubin 1987, appendix C).
pub const MAX_STRING: usize = 512;

/// Both time stamps of a library or cell: 1 January 2000, midnight, so that the same drawing gives the same bytes.
const DATE_WORDS: [i16; 12] = [2000, 1, 1, 0, 0, 0, 2000, 1, 1, 0, 0, 0];

/// The boundaries that cover a polygon exactly, for a library whose database unit is 1 nm.
///
/// The format has no holes: a polygon with holes is cut along lines between its own corners, so that no corner moves, and
/// stays one boundary that touches itself along the cuts. A polygon of more than [`MAX_VERTICES`] corners
/// becomes several that share edges.
///
/// # Errors
/// A [`Fault`] where a coordinate does not fit 32 bits (2.147 m), or a polygon with holes or too many corners
/// crosses itself.
pub fn boundaries(polygon: &Polygon, layer: i16, datatype: i16) -> Result<Vec<Element>, Fault> {
    let whole = |ring: &[Point]| -> Result<Element, Fault> {
        let points = ring
            .iter()
            .map(|p| Ok([coordinate(p.x.0)?, coordinate(p.y.0)?]))
            .collect::<Result<_, Fault>>()?;
        Ok(Element::Boundary { layer, datatype, points })
    };
    if polygon.holes.is_empty() && polygon.outer.len() <= MAX_VERTICES {
        return Ok(vec![whole(&polygon.outer)?]);
    }
    without_holes(polygon, MAX_VERTICES, Joint::MayTouchItself)?.iter().map(|ring| whole(ring)).collect()
}

fn coordinate(nm: i64) -> Result<i32, Fault> {
    i32::try_from(nm).map_err(|_| {
        Fault::new(
            "gdsii-coordinate",
            format!("the coordinate {} m does not fit the format", nm as f64 / 1e9),
        )
        .allowed("-2.147 m to 2.147 m in steps of 1 nm")
    })
}

/// Writes a library as a GDSII stream.
///
/// # Errors
/// A [`Fault`] where a name or text is empty, too long or not printable ASCII, a polygon has fewer than three points or
/// more than one record holds, a unit or magnification does not fit an eight-byte real, or two cells share a name.
pub fn write(library: &Library) -> Result<Vec<u8>, Fault> {
    // Room for all of it at once: files of many megabytes would be copied as they grow.
    let elements = library.cells.iter().flat_map(|c| &c.elements);
    let room =
        elements.map(|e| if let Element::Boundary { points, .. } = e { 40 + 8 * points.len() } else { 100 });
    let mut out = Stream { bytes: Vec::with_capacity(room.sum()) };
    out.shorts(code::HEADER, &[600]);
    out.shorts(code::BGNLIB, &DATE_WORDS);
    out.text(code::LIBNAME, &library.name, "library name")?;
    out.reals(code::UNITS, &[library.user_unit, library.database_unit_m])?;
    let mut names = std::collections::BTreeSet::new();
    for cell in &library.cells {
        if !names.insert(&cell.name) {
            return Err(Fault::new("gdsii-cell-twice", format!("cell `{}` is defined twice", cell.name)));
        }
        out.shorts(code::BGNSTR, &DATE_WORDS);
        out.text(code::STRNAME, &cell.name, "cell name")?;
        for element in &cell.elements {
            out.element(element)?;
        }
        out.empty(code::ENDSTR);
    }
    out.empty(code::ENDLIB);
    Ok(out.bytes)
}

#[derive(Default)]
struct Stream {
    bytes: Vec<u8>,
}

impl Stream {
    fn record(&mut self, code: u16, data: &[u8]) {
        // Every caller keeps its data below 64 KiB.
        self.bytes.extend_from_slice(&((data.len() + 4) as u16).to_be_bytes());
        self.bytes.extend_from_slice(&code.to_be_bytes());
        self.bytes.extend_from_slice(data);
    }

    fn empty(&mut self, code: u16) {
        self.record(code, &[]);
    }

    fn shorts(&mut self, code: u16, values: &[i16]) {
        let data: Vec<u8> = values.iter().flat_map(|v| v.to_be_bytes()).collect();
        self.record(code, &data);
    }

    fn long(&mut self, code: u16, value: i32) {
        self.record(code, &value.to_be_bytes());
    }

    fn reals(&mut self, code: u16, values: &[f64]) -> Result<(), Fault> {
        let mut data = Vec::new();
        for &value in values {
            let bytes = encode_real(value).ok_or_else(|| {
                Fault::new("gdsii-real", format!("the number {value:e} does not fit an eight-byte real"))
                    .allowed("0, or a magnitude from 16^-65 to below 16^63")
            })?;
            data.extend_from_slice(&bytes);
        }
        self.record(code, &data);
        Ok(())
    }

    fn text(&mut self, code: u16, text: &str, name: &str) -> Result<(), Fault> {
        let printable = text.bytes().all(|b| (0x20..0x7f).contains(&b));
        if text.is_empty() || text.len() > MAX_STRING || !printable {
            return Err(Fault::new(
                "gdsii-text",
                format!("the {name} `{}` cannot be written", text.escape_default()),
            )
            .allowed(format!("1 to {MAX_STRING} printable ASCII characters"))
            .mend("shorten the text, or write other characters by an escape"));
        }
        let mut data = text.as_bytes().to_vec();
        if data.len() % 2 == 1 {
            data.push(0);
        }
        self.record(code, &data);
        Ok(())
    }

    fn xy(&mut self, points: impl Iterator<Item = [i32; 2]>, name: &str) -> Result<(), Fault> {
        let data: Vec<u8> = points.flatten().flat_map(i32::to_be_bytes).collect();
        if data.len() + 4 > usize::from(u16::MAX) {
            return Err(Fault::new("gdsii-points", format!("a {name} has {} points", data.len() / 8))
                .allowed("8191 points, the closing point of a polygon included")
                .mend("split it"));
        }
        self.record(code::XY, &data);
        Ok(())
    }

    fn ring(&mut self, points: &[[i32; 2]], name: &str) -> Result<(), Fault> {
        if points.len() < 3 {
            return Err(Fault::new("gdsii-points", format!("a {name} has {} corners", points.len()))
                .allowed("three corners or more"));
        }
        self.xy(points.iter().chain(points.first()).copied(), name)
    }

    fn element(&mut self, element: &Element) -> Result<(), Fault> {
        match element {
            Element::Boundary { layer, datatype, points } => {
                self.empty(code::BOUNDARY);
                self.shorts(code::LAYER, &[*layer]);
                self.shorts(code::DATATYPE, &[*datatype]);
                self.ring(points, "polygon")?;
            }
            Element::Box { layer, boxtype, points } => {
                self.empty(code::BOX);
                self.shorts(code::LAYER, &[*layer]);
                self.shorts(code::BOXTYPE, &[*boxtype]);
                self.ring(points, "box")?;
            }
            Element::Path { layer, datatype, width, absolute_width, end, points } => {
                if points.len() < 2 || *width < 0 {
                    return Err(Fault::new(
                        "gdsii-points",
                        format!("a path has {} points and the width {width}", points.len()),
                    )
                    .allowed("two points or more, and a width of 0 or more"));
                }
                self.empty(code::PATH);
                self.shorts(code::LAYER, &[*layer]);
                self.shorts(code::DATATYPE, &[*datatype]);
                let kind = match end {
                    PathEnd::Flush => 0,
                    PathEnd::Round => 1,
                    PathEnd::HalfWidth => 2,
                    PathEnd::Custom(..) => 4,
                };
                self.shorts(code::PATHTYPE, &[kind]);
                self.long(code::WIDTH, if *absolute_width { -*width } else { *width });
                if let PathEnd::Custom(begin, end) = end {
                    self.long(code::BGNEXTN, *begin);
                    self.long(code::ENDEXTN, *end);
                }
                self.xy(points.iter().copied(), "path")?;
            }
            Element::Text { layer, texttype, at, string } => {
                self.empty(code::TEXT);
                self.shorts(code::LAYER, &[*layer]);
                self.shorts(code::TEXTTYPE, &[*texttype]);
                self.xy(std::iter::once(*at), "text")?;
                self.text(code::STRING, string, "text")?;
            }
            Element::Reference { cell, placement, repeat } => {
                self.empty(if repeat.is_some() { code::AREF } else { code::SREF });
                self.text(code::SNAME, cell, "cell name")?;
                self.placement(placement)?;
                match repeat {
                    None => self.xy(std::iter::once(placement.at), "placement")?,
                    Some(r) => {
                        if r.columns < 1 || r.rows < 1 {
                            return Err(Fault::new(
                                "gdsii-array",
                                format!("an array has {} columns and {} rows", r.columns, r.rows),
                            )
                            .allowed("1 to 32767 of each"));
                        }
                        self.shorts(code::COLROW, &[r.columns, r.rows]);
                        self.xy([placement.at, r.column_end, r.row_end].into_iter(), "array")?;
                    }
                }
            }
        }
        self.empty(code::ENDEL);
        Ok(())
    }

    fn placement(&mut self, placement: &Placement) -> Result<(), Fault> {
        let plain = !placement.mirror && placement.magnification == 1.0 && placement.angle_deg == 0.0;
        if plain {
            return Ok(());
        }
        self.record(code::STRANS, &(if placement.mirror { 0x8000u16 } else { 0 }).to_be_bytes());
        if placement.magnification != 1.0 {
            self.reals(code::MAG, &[placement.magnification])?;
        }
        if placement.angle_deg != 0.0 {
            self.reals(code::ANGLE, &[placement.angle_deg])?;
        }
        Ok(())
    }
}
