//! Writing one layer as a Gerber X2 file.
//!
//! Format after the Gerber Layer Format Specification, revision 2021.02 (Ucamco): 4.6 coordinates in millimetres, so
//! that one count is one nanometre; polygons as regions; pads that are circles or rectangles as flashes; attributes for
//! the function of the file, the function of an object and its net.
//!
//! A region has no holes. A polygon with holes is drawn dark and its holes are cleared, before everything that has no
//! holes is drawn, so that a cleared hole erases nothing else. Where two polygons with holes come so near that this
//! could fail, the second is cut into rings without holes instead.

use crate::circle::{circle_of, rectangle_of};
use crate::fault::Fault;
use crate::pieces::{Joint, without_holes};
use facedown_layout::{Point, Polygon};
use facedown_quantity::Nm;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// A drawn shape.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Feature {
    /// Its outline.
    pub polygon: Polygon,
    /// True for a pad: flashed where it is a circle ([`circle_of`]) or an axis-parallel rectangle.
    pub pad: bool,
    /// Value of `.AperFunction`, its fields separated by commas, for instance `Conductor` or `BGAPad,CuDef`.
    pub function: Option<String>,
    /// Value of the net attribute `.N`.
    pub net: Option<String>,
}

/// One file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Layer {
    /// Comments at the head of the file.
    pub comments: Vec<String>,
    /// File attributes in order: name with its dot where it is a standard one (`.FileFunction`), and fields.
    pub attributes: Vec<(String, Vec<String>)>,
    /// Shapes.
    pub features: Vec<Feature>,
}

/// Largest coordinate that four integer digits of millimetres hold, in nanometres.
const LARGEST: i64 = 9_999_999_999;

/// Writes a layer as a Gerber X2 file.
///
/// # Errors
/// A [`Fault`] where a coordinate is 10 m or more, a net name is empty, or a polygon with holes crosses itself.
pub fn write(layer: &Layer) -> Result<Vec<u8>, Fault> {
    let mut apertures: BTreeMap<(Option<&str>, Aperture), usize> = BTreeMap::new();
    let marks: Vec<Option<(Point, Aperture)>> = layer.features.iter().map(flash).collect();
    for (feature, mark) in layer.features.iter().zip(&marks) {
        if let Some((_, aperture)) = mark {
            apertures.insert((feature.function.as_deref(), *aperture), 0);
        }
    }
    // Aperture numbers begin at 10; sorted, so that they depend on the shapes alone.
    for (number, slot) in apertures.values_mut().enumerate() {
        *slot = number + 10;
    }

    let mut file = File::default();
    for comment in &layer.comments {
        file.line(&format!("G04 {}*", plain(comment)));
    }
    for (name, fields) in &layer.attributes {
        let fields: String = fields.iter().map(|f| format!(",{}", escaped(f))).collect();
        file.line(&format!("%TF{name}{fields}*%"));
    }
    file.line("%FSLAX46Y46*%");
    file.line("%MOMM*%");
    for ((function, aperture), number) in &apertures {
        file.function(*function);
        file.line(&match aperture {
            Aperture::Circle(diameter) => format!("%ADD{number}C,{}*%", millimetres(*diameter)),
            Aperture::Rectangle(w, h) => format!("%ADD{number}R,{}X{}*%", millimetres(*w), millimetres(*h)),
        });
    }
    file.function(None);
    file.line("G01*");
    file.line("%LPD*%");

    let mut holed: Vec<&Feature> = layer.features.iter().filter(|f| !f.polygon.holes.is_empty()).collect();
    holed.sort_by_cached_key(|f| std::cmp::Reverse(area_of_box(&f.polygon)));
    let mut cleared: Vec<[Point; 2]> = Vec::new();
    for feature in holed {
        file.function(feature.function.as_deref());
        file.net(feature.net.as_deref())?;
        let own = box_of(&feature.polygon);
        if cleared.iter().any(|other| overlap(other, &own)) {
            for ring in without_holes(&feature.polygon, usize::MAX, Joint::Simple)? {
                file.region(&ring)?;
            }
        } else {
            file.region(&feature.polygon.outer)?;
            file.line("%LPC*%");
            for hole in &feature.polygon.holes {
                file.region(hole)?;
            }
            file.line("%LPD*%");
        }
        cleared.push(own);
    }
    for (feature, mark) in layer.features.iter().zip(&marks) {
        if !feature.polygon.holes.is_empty() {
            continue;
        }
        match mark {
            Some((at, aperture)) => {
                // The function of a flash belongs to its aperture.
                file.function(None);
                file.net(feature.net.as_deref())?;
                let number =
                    apertures.get(&(feature.function.as_deref(), *aperture)).copied().unwrap_or_default();
                file.aperture(number);
                file.point(*at, "D03")?;
            }
            None => {
                file.function(feature.function.as_deref());
                file.net(feature.net.as_deref())?;
                file.region(&feature.polygon.outer)?;
            }
        }
    }
    file.function(None);
    file.net(None)?;
    file.line("M02*");
    Ok(file.text.into_bytes())
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Aperture {
    /// Diameter.
    Circle(Nm),
    /// Width and height.
    Rectangle(Nm, Nm),
}

fn flash(feature: &Feature) -> Option<(Point, Aperture)> {
    if !feature.pad {
        return None;
    }
    if let Some(circle) = circle_of(&feature.polygon) {
        return Some((circle.centre, Aperture::Circle(circle.radius * 2)));
    }
    rectangle_of(&feature.polygon).map(|(centre, w, h)| (centre, Aperture::Rectangle(w, h)))
}

/// The file so far, and the attributes that stand.
#[derive(Default)]
struct File {
    text: String,
    function: Option<String>,
    net: Option<String>,
    aperture: usize,
}

impl File {
    fn line(&mut self, text: &str) {
        self.text.push_str(text);
        self.text.push('\n');
    }

    fn function(&mut self, function: Option<&str>) {
        if self.function.as_deref() != function {
            match function {
                Some(value) => {
                    let fields: String = value.split(',').map(|f| format!(",{}", escaped(f))).collect();
                    self.line(&format!("%TA.AperFunction{fields}*%"));
                }
                None => self.line("%TD.AperFunction*%"),
            }
            self.function = function.map(str::to_owned);
        }
    }

    fn net(&mut self, net: Option<&str>) -> Result<(), Fault> {
        if self.net.as_deref() != net {
            match net {
                // An empty value would say that the object is connected to nothing.
                Some("") => {
                    return Err(Fault::new("gerber-net", "a net has an empty name").mend("name the net"));
                }
                Some(name) => self.line(&format!("%TO.N,{}*%", escaped(name))),
                None => self.line("%TD.N*%"),
            }
            self.net = net.map(str::to_owned);
        }
        Ok(())
    }

    fn aperture(&mut self, number: usize) {
        if self.aperture != number {
            self.line(&format!("D{number}*"));
            self.aperture = number;
        }
    }

    fn point(&mut self, at: Point, operation: &str) -> Result<(), Fault> {
        if at.x.0.abs() > LARGEST || at.y.0.abs() > LARGEST {
            return Err(Fault::new("gerber-coordinate", format!("a corner lies at ({}, {})", at.x, at.y))
                .allowed("coordinates below 10 m"));
        }
        // Writing to a String cannot fail.
        let _ = writeln!(self.text, "X{}Y{}{operation}*", at.x.0, at.y.0);
        Ok(())
    }

    fn region(&mut self, ring: &[Point]) -> Result<(), Fault> {
        let Some(&first) = ring.first() else { return Ok(()) };
        self.line("G36*");
        self.point(first, "D02")?;
        for &corner in ring[1..].iter().chain([&first]) {
            self.point(corner, "D01")?;
        }
        self.line("G37*");
        Ok(())
    }
}

/// Attribute text: what the format uses itself, and all that is not printable ASCII, as `\u` and four hexadecimal
/// digits (`\U` and eight above the basic plane).
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let code = u32::from(c);
        if matches!(c, '*' | '%' | ',' | '\\') || !(' '..='~').contains(&c) {
            let _ = if code <= 0xffff { write!(out, "\\u{code:04X}") } else { write!(out, "\\U{code:08X}") };
        } else {
            out.push(c);
        }
    }
    out
}

/// Comment text: what would end the comment, and all that is not printable ASCII, is left out.
fn plain(text: &str) -> String {
    text.chars().filter(|c| (' '..='~').contains(c) && !matches!(c, '*' | '%')).collect()
}

/// Exact decimal millimetres.
fn millimetres(length: Nm) -> String {
    let text = format!("{}.{:06}", length.0 / 1_000_000, length.0 % 1_000_000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn box_of(polygon: &Polygon) -> [Point; 2] {
    let bound = |pick: fn(&Point) -> Nm| {
        let values = || polygon.outer.iter().map(pick);
        (values().min().unwrap_or_default(), values().max().unwrap_or_default())
    };
    let ((x0, x1), (y0, y1)) = (bound(|p| p.x), bound(|p| p.y));
    [Point::new(x0, y0), Point::new(x1, y1)]
}

fn area_of_box(polygon: &Polygon) -> i128 {
    let [low, high] = box_of(polygon);
    i128::from((high.x - low.x).0) * i128::from((high.y - low.y).0)
}

fn overlap(a: &[Point; 2], b: &[Point; 2]) -> bool {
    a[0].x <= b[1].x && b[0].x <= a[1].x && a[0].y <= b[1].y && b[0].y <= a[1].y
}

#[cfg(test)]
mod tests {
    use super::{Feature, Layer, escaped, millimetres, write};
    use facedown_layout::{Point, Polygon};
    use facedown_quantity::Nm;

    #[test]
    fn text_is_escaped_and_lengths_are_exact() {
        assert_eq!(escaped("a*b%c,d\\e"), "a\\u002Ab\\u0025c\\u002Cd\\u005Ce");
        assert_eq!(escaped("data[3] µ"), "data[3] \\u00B5");
        assert_eq!(escaped("\u{1d11e}"), "\\U0001D11E");
        assert_eq!(millimetres(Nm(270_000)), "0.27");
        assert_eq!(millimetres(Nm(1_000_001)), "1.000001");
        assert_eq!(millimetres(Nm(2_000_000)), "2");
    }

    #[test]
    fn a_small_file_reads_as_expected() {
        let square = |low: f64, high: f64| Polygon::rectangle(Point::um(low, low), Point::um(high, high));
        let mut plane = square(0.0, 100.0);
        let mut hole = square(40.0, 60.0).outer;
        hole.reverse();
        plane.holes.push(hole);
        let feature = |polygon, pad, function: &str, net: Option<&str>| Feature {
            polygon,
            pad,
            function: Some(function.into()),
            net: net.map(str::to_owned),
        };
        let layer = Layer {
            comments: vec!["die face up".into()],
            attributes: vec![(".FileFunction".into(), vec!["Copper".into(), "L1".into(), "Top".into()])],
            features: vec![
                feature(square(45.0, 55.0), true, "BGAPad,CuDef", Some("sig")),
                feature(plane, false, "Conductor", Some("gnd")),
            ],
        };
        let text = String::from_utf8(write(&layer).unwrap()).unwrap();
        expect_test::expect![[r#"
            G04 die face up*
            %TF.FileFunction,Copper,L1,Top*%
            %FSLAX46Y46*%
            %MOMM*%
            %TA.AperFunction,BGAPad,CuDef*%
            %ADD10R,0.01X0.01*%
            %TD.AperFunction*%
            G01*
            %LPD*%
            %TA.AperFunction,Conductor*%
            %TO.N,gnd*%
            G36*
            X0Y0D02*
            X100000Y0D01*
            X100000Y100000D01*
            X0Y100000D01*
            X0Y0D01*
            G37*
            %LPC*%
            G36*
            X40000Y60000D02*
            X60000Y60000D01*
            X60000Y40000D01*
            X40000Y40000D01*
            X40000Y60000D01*
            G37*
            %LPD*%
            %TD.AperFunction*%
            %TO.N,sig*%
            D10*
            X50000Y50000D03*
            %TD.N*%
            M02*
        "#]]
        .assert_eq(&text);
    }
}
