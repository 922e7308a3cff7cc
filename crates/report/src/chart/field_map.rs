//! A field on a graded grid as a map: plan or section, contours with their numbers, the scale beside it.
//!
//! The map is drawn cell by cell in shades; cells too small to be seen share a spot of the picture. Contours are found
//! on the middles of the cells, at round numbers. Least and largest value are marked where they are and said below.

use super::axes::Span;
use super::contour::{Line, lines};
use super::{HALF, TEXT, Words, map_marks, open};
use crate::field_colours::{magnitude, signed};
use crate::number::{fixed, round_step, significant, step_decimals, ticks};
use crate::svg::Svg;
use crate::typography::width;

/// A map.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldMap<'a> {
    /// Grid lines to the right, mm, rising.
    pub across: &'a [f64],
    /// Grid lines upward, mm, rising.
    pub up: &'a [f64],
    /// A value a cell, the axis to the right fastest; not a number where there is no material.
    pub values: &'a [f64],
    /// Name of the field (`temperature`).
    pub name: &'a str,
    /// Its unit.
    pub unit: &'a str,
    /// True for values of both signs that are seen against zero.
    pub signed: bool,
    /// Outlines: name and left, right, lower, upper edge, mm.
    pub outlines: Vec<(&'a str, [f64; 4])>,
    /// By how much the upward axis is stretched; 1 for a plan.
    pub stretch: f64,
    /// True for a field of even parts with jumps between them: no contours, which would lie on each other there.
    pub stepped: bool,
    /// Cells that hold gas, in the order of the values; empty for none. They are paper with a dark rim, crossed out.
    pub gas: &'a [bool],
    /// Discs that are drawn as rings over the map: middle and radius, mm.
    pub rings: Vec<[f64; 3]>,
    /// From where it is seen (`seen from above, through the die`), or where it is cut.
    pub seen: &'a str,
}

/// Contours at most, or a few fewer, so that their step is round.
const CONTOURS: f64 = 8.0;
const SHADES: f64 = 64.0;
/// Size of a spot of the map, picture units.
const SPOT: f64 = 2.0;
/// Room of the map at most, and around it.
const WIDEST: f64 = 430.0;
const TALLEST: f64 = 380.0;
const LEFT: f64 = 54.0;
const TOP: f64 = 40.0;
const SCALE: f64 = 96.0;
const BELOW: f64 = 90.0;

/// What the values span, and how they are coloured.
struct Range {
    low: f64,
    high: f64,
    low_at: (f64, f64),
    high_at: (f64, f64),
    /// Half the span about zero for signed values.
    about: Option<f64>,
}

impl Range {
    fn share(&self, value: f64) -> f64 {
        match self.about {
            Some(half) => value / half,
            None => (value - self.low) / (self.high - self.low),
        }
    }

    fn colour(&self, value: f64) -> crate::palette::Colour {
        // Shades are even steps, so that neighbours of one shade join.
        let shade = (self.share(value) * SHADES).round() / SHADES;
        if self.about.is_some() { signed(shade) } else { magnitude(shade) }
    }

    /// Ends of the scale.
    fn ends(&self) -> (f64, f64) {
        self.about.map_or((self.low, self.high), |half| (-half, half))
    }
}

/// Draws it. A map without a cell, or whose sizes do not fit, is an empty picture with its title.
pub fn field_map(words: &Words<'_>, map: &FieldMap<'_>) -> String {
    let (across, up) = (middles(map.across), middles(map.up));
    let fits = !across.is_empty() && !up.is_empty() && map.values.len() == across.len() * up.len();
    let range = if fits { range(map, &across, &up) } else { None };
    let Some(range) = range else { return open(words, 0.0, 0.0).finish() };
    let (mm_across, mm_up) = (ends(map.across), ends(map.up));
    let stretch = if map.stretch > 0.0 { map.stretch } else { 1.0 };
    let tall = (mm_up.1 - mm_up.0) * stretch;
    let scale = (WIDEST / (mm_across.1 - mm_across.0)).min(TALLEST / tall);
    let frame = Place {
        left: LEFT,
        top: TOP,
        width: (mm_across.1 - mm_across.0) * scale,
        height: tall * scale,
        x: mm_across,
        y: mm_up,
    };
    let named = width(map.name, TEXT).max(width(map.unit, TEXT)) + 24.0;
    let total = (frame.left + frame.width + SCALE.max(named)).max(HALF);
    let mut svg = open(words, total, frame.top + frame.height + BELOW);
    svg.label("small", frame.left, 14.0, map.seen);
    axes(&mut svg, &frame, stretch);
    spots(&mut svg, &frame, map, &range);
    // Middle and width of the names, which the numbers of the contours keep clear of.
    let mut names: Vec<(f64, f64, f64)> = Vec::new();
    for (name, [x0, x1, y0, y1]) in &map.outlines {
        let (left, right, top, bottom) = (frame.x(*x0), frame.x(*x1), frame.y(*y1), frame.y(*y0));
        let mut path = format!("M{} {}H{}", fixed(left, 1), fixed(top, 1), fixed(right, 1));
        path.push_str(&format!("V{}H{}Z", fixed(bottom, 1), fixed(left, 1)));
        svg.start("path").attr("class", "map-edge").attr("d", path).end();
        if right - left > width(name, TEXT) + 8.0 && bottom - top > TEXT + 6.0 {
            svg.label("map-name", left + 4.0, top + TEXT + 1.0, name);
            let room = width(name, TEXT);
            names.push((left + 4.0 + 0.5 * room, top + TEXT - 3.0, room));
        }
    }
    let at = |x: f64, y: f64| (frame.x(x), frame.y(y));
    map_marks::rings(&mut svg, &map.rings, at, frame.width / (frame.x.1 - frame.x.0));
    let levels = levels(&range);
    let drawn: &[f64] = if map.stepped { &[] } else { &levels };
    contours(&mut svg, &frame, map, (&across, &up), drawn, &names);
    if map.gas.len() == map.values.len() {
        map_marks::gas(&mut svg, words.id, map.gas, (map.across, map.up), at);
    }
    extremes(&mut svg, &frame, map, &range);
    bar(&mut svg, &frame, map, &range, &levels);
    svg.finish()
}

/// The field of the picture.
struct Place {
    left: f64,
    top: f64,
    width: f64,
    height: f64,
    x: (f64, f64),
    y: (f64, f64),
}

impl Place {
    fn x(&self, mm: f64) -> f64 {
        self.left + self.width * (mm - self.x.0) / (self.x.1 - self.x.0)
    }

    fn y(&self, mm: f64) -> f64 {
        self.top + self.height * (self.y.1 - mm) / (self.y.1 - self.y.0)
    }
}

fn middles(lines: &[f64]) -> Vec<f64> {
    let rises = lines.iter().all(|v| v.is_finite()) && lines.windows(2).all(|l| l[0] < l[1]);
    if rises { lines.windows(2).map(|l| 0.5 * (l[0] + l[1])).collect() } else { Vec::new() }
}

fn ends(lines: &[f64]) -> (f64, f64) {
    (lines[0], lines[lines.len() - 1])
}

fn range(map: &FieldMap<'_>, across: &[f64], up: &[f64]) -> Option<Range> {
    let at = |i: usize| (across[i % across.len()], up[i / across.len()]);
    let known = || map.values.iter().enumerate().filter(|(_, v)| v.is_finite());
    let (low_at, low) = known().min_by(|a, b| a.1.total_cmp(b.1))?;
    let (high_at, high) = known().max_by(|a, b| a.1.total_cmp(b.1))?;
    let (mut low, mut high) = (*low, *high);
    if high - low <= 1e-12 * high.abs().max(low.abs()) {
        // A level field: a span around it, so that it has a colour and a scale.
        let room = if high == 0.0 { 1.0 } else { 0.01 * high.abs() };
        (low, high) = (low - room, high + room);
    }
    let about = map.signed.then(|| low.abs().max(high.abs()));
    Some(Range { low, high, low_at: at(low_at), high_at: at(high_at), about })
}

fn levels(range: &Range) -> Vec<f64> {
    let step = round_step(range.high - range.low, CONTOURS);
    let inside = 0.02 * (range.high - range.low);
    ticks(range.low, range.high, step)
        .into_iter()
        .filter(|l| *l > range.low + inside && *l < range.high - inside)
        .collect()
}

fn decimals(levels: &[f64]) -> usize {
    match levels {
        [a, b, ..] => step_decimals(b - a),
        _ => 2,
    }
}

fn axes(svg: &mut Svg, frame: &Place, stretch: f64) {
    let marks = |(low, high): (f64, f64), room: f64| Span { low, high, logarithmic: false }.marks(room);
    let bottom = frame.top + frame.height;
    for (mm, text) in marks(frame.x, (frame.width / 60.0).max(2.0)) {
        let x = frame.x(mm);
        svg.line("rule", (x, bottom), (x, bottom + 4.0));
        svg.label("tick mid", x, bottom + 18.0, &text);
    }
    for (mm, text) in marks(frame.y, (frame.height / 34.0).max(1.0)) {
        let y = frame.y(mm);
        svg.line("rule", (frame.left - 4.0, y), (frame.left, y));
        svg.label("tick end", frame.left - 7.0, y + 4.5, &text);
    }
    svg.label("axis mid", frame.left + frame.width / 2.0, bottom + 35.0, "mm");
    if stretch != 1.0 {
        let times = format!("mm, stretched {stretch} times upward");
        svg.label("axis", 2.0, frame.top - 9.0, &times);
    } else {
        svg.label("axis", 2.0, frame.top - 9.0, "mm");
    }
}

/// The cells, as spots of the picture; spots of one shade beside each other are one piece.
fn spots(svg: &mut Svg, frame: &Place, map: &FieldMap<'_>, range: &Range) {
    let (columns, rows) = ((frame.width / SPOT).ceil() as usize, (frame.height / SPOT).ceil() as usize);
    let cell = |lines: &[f64], mm: f64| lines.partition_point(|l| *l <= mm).clamp(1, lines.len() - 1) - 1;
    let (wide, tall) = (frame.width / columns as f64, frame.height / rows as f64);
    let mm = |(low, high): (f64, f64), k: usize, count: usize| {
        low + (high - low) * (k as f64 + 0.5) / count as f64
    };
    let across: Vec<usize> = (0..columns).map(|c| cell(map.across, mm(frame.x, c, columns))).collect();
    let mut shades: std::collections::BTreeMap<String, String> = std::collections::BTreeMap::new();
    for row in 0..rows {
        let j = cell(map.up, mm(frame.y, rows - 1 - row, rows));
        let y = frame.top + row as f64 * tall;
        let shade = |c: usize| {
            let value = map.values[j * (map.across.len() - 1) + across[c]];
            value.is_finite().then(|| range.colour(value))
        };
        let mut from = 0;
        while from < columns {
            let colour = shade(from);
            let to = (from + 1..columns).find(|&c| shade(c) != colour).unwrap_or(columns);
            if let Some(colour) = colour {
                let (x, run) = (frame.left + from as f64 * wide, (to - from) as f64 * wide);
                let d = shades.entry(colour.to_string()).or_default();
                let (run, tall) = (fixed(run, 2), fixed(tall, 2));
                d.push_str(&format!("M{} {}h{run}v{tall}h-{run}z", fixed(x, 2), fixed(y, 2)));
            }
            from = to;
        }
    }
    svg.start("g").attr("shape-rendering", "crispEdges");
    for (colour, d) in shades {
        svg.start("path").attr("fill", colour).attr("d", d).end();
    }
    svg.end();
}

fn contours(
    svg: &mut Svg,
    frame: &Place,
    map: &FieldMap<'_>,
    middles: (&[f64], &[f64]),
    levels: &[f64],
    names: &[(f64, f64, f64)],
) {
    let columns = middles.0.len();
    let mut labels: Vec<(f64, f64, f64, String)> = Vec::new();
    for level in levels {
        let found = lines(middles.0, middles.1, |i, j| map.values[j * columns + i], *level);
        let mut drawn: Vec<Line> = found
            .into_iter()
            .map(|line| line.into_iter().map(|(x, y)| (frame.x(x), frame.y(y))).collect())
            .collect();
        drawn.sort_by(|a, b| length(b).total_cmp(&length(a)));
        let mut d = String::new();
        for line in drawn.iter().filter(|l| length(l) > 6.0) {
            for (k, (x, y)) in line.iter().enumerate() {
                d.push_str(if k == 0 { "M" } else { "L" });
                d.push_str(&format!("{} {}", fixed(*x, 1), fixed(*y, 1)));
            }
        }
        if d.is_empty() {
            continue;
        }
        svg.start("path").attr("class", "map-halo").attr("d", &d).end();
        svg.start("path").attr("class", "map-line").attr("d", d).end();
        let text = fixed(*level, decimals(levels));
        let room = width(&text, 12.0);
        for line in drawn.iter().filter(|l| length(l) > 3.0 * room).take(2) {
            // The first place along the line where the number stands clear of the others and of the rim.
            let clear = |(x, y): &&(f64, f64)| {
                let apart = |o: &(f64, f64, f64, String)| {
                    (o.0 - x).abs() > 0.5 * (o.2 + room) + 4.0 || (o.1 - y).abs() > 15.0
                };
                *x > frame.left + room
                    && *x < frame.left + frame.width - room
                    && *y > frame.top + 12.0
                    && *y < frame.top + frame.height - 10.0
                    && labels.iter().all(apart)
                    && names.iter().all(|(nx, ny, wide)| {
                        (nx - x).abs() > 0.5 * (wide + room) + 4.0 || (ny - y).abs() > 15.0
                    })
            };
            let turn = line.len() / 3;
            if let Some((x, y)) = line[turn..].iter().chain(&line[..turn]).find(clear) {
                labels.push((*x, *y, room, text.clone()));
            }
        }
    }
    for (x, y, _, text) in labels {
        svg.label("map-number mid", x, y + 4.0, &text);
    }
}

fn length(line: &[(f64, f64)]) -> f64 {
    line.windows(2).map(|p| (p[1].0 - p[0].0).hypot(p[1].1 - p[0].1)).sum()
}

/// Marks of the largest and least value, and the sentence below the map.
fn extremes(svg: &mut Svg, frame: &Place, map: &FieldMap<'_>, range: &Range) {
    let mut say = Vec::new();
    let value = |at: (f64, f64)| {
        let cell = |lines: &[f64], mm: f64| lines.partition_point(|l| *l <= mm).saturating_sub(1);
        map.values[cell(map.up, at.1) * (map.across.len() - 1) + cell(map.across, at.0)]
    };
    for (what, at, d) in
        [("largest", range.high_at, "m0-5l5 8h-10z"), ("least", range.low_at, "m0 5l5-8h-10z")]
    {
        let path = format!("M{} {}{d}", fixed(frame.x(at.0), 1), fixed(frame.y(at.1), 1));
        svg.start("path").attr("class", "map-mark").attr("d", path).end();
        let (x, y) = (fixed(at.0, 3), fixed(at.1, 3));
        say.push(format!("{what} {} {} at {x}, {y} mm", significant(value(at), 4), map.unit));
    }
    let below = frame.top + frame.height + 56.0;
    for (row, (mark, sentence)) in ['\u{25b2}', '\u{25bd}'].iter().zip(say).enumerate() {
        svg.label("value", frame.left, below + 19.0 * row as f64, &format!("{mark} {sentence}"));
    }
}

/// The scale: colours from least to largest, with the numbers of the contours.
fn bar(svg: &mut Svg, frame: &Place, map: &FieldMap<'_>, range: &Range, levels: &[f64]) {
    let (x, thick, steps) = (frame.left + frame.width + 18.0, 14.0, 64);
    let tall = frame.height.max(110.0);
    let (low, high) = range.ends();
    let at = |value: f64| frame.top + tall * (1.0 - (value - low) / (high - low));
    svg.start("g").attr("shape-rendering", "crispEdges");
    for k in 0..steps {
        let value = low + (high - low) * (f64::from(k) + 0.5) / f64::from(steps);
        svg.start("rect").attr("fill", range.colour(value)).num("x", x).num("width", thick);
        svg.num("y", at(value) - 0.5 * tall / f64::from(steps))
            .num("height", tall / f64::from(steps) + 0.3)
            .end();
    }
    svg.end();
    svg.label("axis", x, frame.top - 22.0, map.name);
    svg.label("axis", x, frame.top - 7.0, map.unit);
    let mut free = f64::INFINITY;
    for level in levels {
        let y = at(*level);
        if free - y < 14.0 {
            continue;
        }
        free = y;
        svg.line("rule", (x + thick, y), (x + thick + 4.0, y));
        svg.label("tick", x + thick + 7.0, y + 4.5, &fixed(*level, decimals(levels)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn demo(values: &[f64]) -> FieldMap<'_> {
        FieldMap {
            across: &[0.0, 1.0, 3.0, 4.0],
            up: &[0.0, 2.0, 2.5],
            values,
            name: "temperature",
            unit: "degC",
            signed: false,
            outlines: vec![("die", [1.0, 3.0, 0.0, 2.0])],
            stretch: 1.0,
            stepped: false,
            gas: &[],
            rings: Vec::new(),
            seen: "seen from above",
        }
    }

    const WORDS: Words<'_> = Words { id: "map", title: "t", description: "d" };

    #[test]
    fn a_map_has_cells_contours_scale_and_extremes() {
        let picture = field_map(&WORDS, &demo(&[30.0, 60.0, 40.0, 30.0, 50.0, f64::NAN]));
        let tree = roxmltree::Document::parse(&picture).unwrap();
        let texts: Vec<&str> = tree.descendants().filter(|n| n.is_text()).filter_map(|n| n.text()).collect();
        assert!(texts.iter().any(|t| t.contains("largest 60.00 degC at 2, 1 mm")), "{texts:?}");
        assert!(
            texts.contains(&"40") && texts.contains(&"temperature") && texts.contains(&"seen from above")
        );
        assert!(picture.contains("map-line"));
    }

    #[test]
    fn gas_is_crossed_out_and_bumps_are_rings() {
        let gas = [false, true, false, false, false, false];
        let map = FieldMap {
            gas: &gas,
            rings: vec![[0.5, 1.0, 0.2]],
            ..demo(&[30.0, f64::NAN, 40.0, 30.0, 50.0, 20.0])
        };
        let picture = field_map(&WORDS, &map);
        assert!(roxmltree::Document::parse(&picture).is_ok());
        assert!(
            picture.contains("map-gas")
                && picture.contains("map-ring")
                && picture.contains("id=\"map-cross\"")
        );
        // One cell has one rim of four sides.
        let rim = picture.split("map-rim\" d=\"").nth(1).unwrap().split('"').next().unwrap();
        assert_eq!(rim.matches('M').count(), 4);
    }

    #[test]
    fn sizes_that_do_not_fit_and_level_fields_do_no_harm() {
        for values in [&[1.0; 5][..], &[f64::NAN; 6], &[7.0; 6], &[0.0; 6]] {
            let picture = field_map(&WORDS, &demo(values));
            assert!(roxmltree::Document::parse(&picture).is_ok() && !picture.contains("NaN"));
        }
        let falling = FieldMap { up: &[1.0, 0.0], ..demo(&[1.0; 3]) };
        assert!(!field_map(&WORDS, &falling).contains("path"));
    }
}
