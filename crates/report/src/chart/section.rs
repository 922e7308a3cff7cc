//! The package cut through: true to scale, and stretched in height with the factor written.

use super::joint::dimension;
use super::{FULL, Words, open};
use crate::number::{fixed, round_step, significant};
use crate::palette::Made;
use crate::svg::Svg;
use crate::typography::width;

/// A thing that the section cuts. Lengths in m; x from the package's centre, z upward from the board.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// What it is made of.
    pub made: Made,
    /// Shape.
    pub shape: Shape,
    /// Left and right end.
    pub x: [f64; 2],
    /// Lower and upper end.
    pub z: [f64; 2],
}

/// The outline of a cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// A rectangle.
    Block,
    /// A bump or ball flattened at both ends.
    Barrel,
    /// A metal layer of which that share is metal.
    Metal(f64),
    /// A fillet whose upright side is at the first end of x.
    Fillet,
}

/// A dimension written beside the stretched section.
#[derive(Debug, Clone, PartialEq)]
pub struct Dimension {
    /// What is measured.
    pub name: String,
    /// Lower and upper end, m.
    pub z: [f64; 2],
}

/// A section.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Section {
    /// Pieces, drawn in this order.
    pub pieces: Vec<Piece>,
    /// Dimensions.
    pub dimensions: Vec<Dimension>,
    /// Materials to be named, with what they are here.
    pub legend: Vec<(Made, String)>,
}

/// Style class of a material.
pub fn class(made: Made) -> &'static str {
    match made {
        Made::Silicon => "k-silicon",
        Made::Copper => "k-copper",
        Made::SecondCopper => "k-copper2",
        Made::Solder => "k-solder",
        Made::Plate => "k-plate",
        Made::Dielectric => "k-dielectric",
        Made::Adhesive => "k-adhesive",
        Made::Laminate => "k-laminate",
        Made::ThermalInterface => "k-interface",
    }
}

impl Section {
    /// Extent in x and z; a millimetre each where there is nothing.
    fn extent(&self) -> ([f64; 2], [f64; 2]) {
        let over = |get: fn(&Piece) -> [f64; 2]| {
            let low = self.pieces.iter().map(|p| get(p)[0]).fold(f64::INFINITY, f64::min);
            let high = self.pieces.iter().map(|p| get(p)[1]).fold(f64::NEG_INFINITY, f64::max);
            if high > low { [low, high] } else { [0.0, 1e-3] }
        };
        (over(|p| p.x), over(|p| p.z))
    }

    /// The factor in height that makes the stretched drawing about 300 units tall: a round number, at least 1.
    pub fn stretch(&self) -> f64 {
        let (x, z) = self.extent();
        let tall = (z[1] - z[0]) * DRAWING / (x[1] - x[0]);
        round_step((300.0 / tall).max(1.0), 1.01).max(1.0)
    }
}

/// Width of the drawn package, picture units.
const DRAWING: f64 = 800.0;

/// Draws both.
pub fn section(words: &Words<'_>, section: &Section) -> String {
    let (x, z) = section.extent();
    let scale = DRAWING / (x[1] - x[0]);
    let factor = section.stretch();
    let (flat, tall) = ((z[1] - z[0]) * scale, (z[1] - z[0]) * scale * factor);
    let (left, head) = (12.0, 26.0);
    let second = head + flat + 78.0;
    let legend_top = second + tall + 34.0;
    let columns = 3;
    let lines = section.legend.len().div_ceil(columns) as f64;
    let height = legend_top + 22.0 * lines + 6.0;
    let mut svg = open(words, FULL, height);
    svg.label("head", left, 16.0, "True to scale");
    let mut place = Place { left, bottom: head + flat, scale, factor: 1.0, x0: x[0], z0: z[0] };
    pieces(&mut svg, section, &place);
    scale_bar(&mut svg, left, head + flat + 20.0, scale);
    svg.label("head", left, second - 12.0, &format!("Stretched {} times in height", fixed(factor, 1)));
    place = Place { bottom: second + tall, factor, ..place };
    pieces(&mut svg, section, &place);
    dimensions(&mut svg, section, &place, [second, second + tall]);
    for (index, (made, name)) in section.legend.iter().enumerate() {
        let at = left + (index % columns) as f64 * 350.0;
        let y = legend_top + 22.0 * (index / columns) as f64;
        svg.start("rect").attr("class", class(*made)).num("x", at).num("y", y - 11.0).num("width", 20.0);
        svg.num("height", 13.0).end();
        svg.label("text", at + 28.0, y, &crate::typography::shorten(name, 13.0, 315.0));
    }
    svg.finish()
}

/// How lengths become picture units.
struct Place {
    left: f64,
    bottom: f64,
    scale: f64,
    factor: f64,
    x0: f64,
    z0: f64,
}

impl Place {
    fn x(&self, x: f64) -> f64 {
        self.left + (x - self.x0) * self.scale
    }

    fn z(&self, z: f64) -> f64 {
        self.bottom - (z - self.z0) * self.scale * self.factor
    }
}

/// All pieces; neighbours of one kind go into one path, which keeps the file small.
fn pieces(svg: &mut Svg, section: &Section, place: &Place) {
    let mut open: Option<(Made, String)> = None;
    for piece in &section.pieces {
        let (a, b) = (place.x(piece.x[0]), place.x(piece.x[1]));
        let (top, bottom) = (place.z(piece.z[1]), place.z(piece.z[0]));
        if let Shape::Metal(share) = piece.shape {
            flush(svg, &mut open);
            let thick = (bottom - top).max(0.7);
            let share = share.clamp(0.02, 1.0);
            let period = 22.0;
            let middle = (top + bottom) / 2.0;
            let d = format!("M{} {}H{}", fixed(a, 2), fixed(middle, 2), fixed(b, 2));
            svg.start("path").attr("class", metal(piece.made)).attr("d", d).num("stroke-width", thick);
            if share < 0.999 {
                let dashes = format!("{} {}", fixed(period * share, 2), fixed(period * (1.0 - share), 2));
                svg.attr("stroke-dasharray", dashes);
            }
            svg.end();
            continue;
        }
        let d = match piece.shape {
            Shape::Barrel => {
                let (neck, half) = (0.18 * (b - a), (bottom - top) / 2.0);
                format!(
                    "M{0} {1}C{2} {3} {2} {4} {0} {5}H{6}C{7} {4} {7} {3} {6} {1}Z",
                    fixed(a + neck, 2),
                    fixed(top, 2),
                    fixed(a - 0.33 * neck, 2),
                    fixed(top + 0.5 * half, 2),
                    fixed(bottom - 0.5 * half, 2),
                    fixed(bottom, 2),
                    fixed(b - neck, 2),
                    fixed(b + 0.33 * neck, 2)
                )
            }
            Shape::Fillet => {
                let (a, b, foot) = (fixed(a, 2), fixed(b, 2), fixed(bottom, 2));
                format!("M{a} {}Q{a} {foot} {b} {foot}H{a}Z", fixed(top, 2))
            }
            _ => format!(
                "M{} {}H{}V{}H{}Z",
                fixed(a, 2),
                fixed(top, 2),
                fixed(b, 2),
                fixed(bottom, 2),
                fixed(a, 2)
            ),
        };
        match &mut open {
            Some((made, path)) if *made == piece.made && piece.shape == Shape::Barrel => path.push_str(&d),
            _ => {
                flush(svg, &mut open);
                open = Some((piece.made, d));
            }
        }
    }
    flush(svg, &mut open);
}

fn flush(svg: &mut Svg, open: &mut Option<(Made, String)>) {
    if let Some((made, d)) = open.take() {
        svg.start("path").attr("class", class(made)).attr("d", d).end();
    }
}

fn metal(made: Made) -> &'static str {
    if made == Made::SecondCopper { "s-copper2" } else { "s-copper" }
}

fn scale_bar(svg: &mut Svg, left: f64, y: f64, scale: f64) {
    let length = round_step(140.0 / scale, 1.0);
    let units = length * scale;
    let d = format!(
        "M{0} {1}v8M{2} {1}v8M{0} {3}H{2}",
        fixed(left, 1),
        fixed(y - 4.0, 1),
        fixed(left + units, 1),
        fixed(y, 1)
    );
    svg.start("path").attr("class", "dim").attr("d", d).end();
    svg.label("small", left + units + 8.0, y + 4.0, &format!("{} mm", significant(length * 1e3, 2)));
}

/// Dimension lines in columns right of the drawing, so that neighbours do not write over each other.
fn dimensions(svg: &mut Svg, section: &Section, place: &Place, [top, bottom]: [f64; 2]) {
    let first = place.left + DRAWING + 22.0;
    let gap = 15.0;
    // Lower ends of the lines already drawn in each column; a dimension takes the first column where it is free.
    let mut columns: Vec<Vec<(f64, f64)>> = Vec::new();
    let mut texts: Vec<(f64, String, f64, f64)> = Vec::new();
    for dimension_of in &section.dimensions {
        let (a, b) = (place.z(dimension_of.z[1]), place.z(dimension_of.z[0]));
        let free = |taken: &Vec<(f64, f64)>| taken.iter().all(|(top, low)| b <= top + 0.5 || a >= low - 0.5);
        let column = columns.iter().position(free).unwrap_or(columns.len());
        if column == columns.len() {
            columns.push(Vec::new());
        }
        columns[column].push((a, b));
        let x = first + gap * column as f64;
        dimension(svg, x, a, b);
        let length = (dimension_of.z[1] - dimension_of.z[0]) * 1e6;
        let middle = (a + b) / 2.0;
        texts.push((middle, format!("{} {} um", dimension_of.name, significant(length, 3)), middle, x));
    }
    let x = first + gap * columns.len().saturating_sub(1) as f64;
    texts.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Downward first, then upward from the lower end: each text keeps a line's distance to the next.
    let line = 17.0;
    for index in 1..texts.len() {
        texts[index].0 = texts[index].0.max(texts[index - 1].0 + line);
    }
    let mut floor = bottom + 12.0;
    for text in texts.iter_mut().rev() {
        text.0 = text.0.min(floor);
        floor = text.0 - line;
    }
    for (y, text, at, from) in texts {
        let y = y.max(top);
        svg.line("link", (from + 6.0, at), (x + 22.0, y));
        let room = FULL - x - 28.0;
        let shown =
            if width(&text, 13.0) > room { crate::typography::shorten(&text, 12.0, room) } else { text };
        svg.label("text", x + 26.0, y + 4.5, &shown);
    }
}
