//! Numbered frames of a fill: the gap at equal steps of time, from dispensing until it is full or stands still.
//!
//! A frame is one picture that stands alone: the liquid over the bump map, the front between the middles of cells by their
//! times of arrival, air that is shut in. Nothing is solved here; what the front gave is cut at a time. Played one after the
//! other the frames are the fill, so all of one fill have the same size and place.

use crate::number::{fixed, round_step, significant};
use crate::palette::{DARK, LIGHT, Made, Palette};
use crate::svg::Svg;
use crate::typography::SANS;
use facedown_underfill::filling::Filling;
use std::fmt::Write;

/// A fill at one time.
#[derive(Debug, Clone, PartialEq)]
pub struct FillFrame {
    /// Time since dispensing began, s.
    pub time_s: f64,
    /// Share of the free volume that is filled, 0 to 1.
    pub filled: f64,
    /// Pockets of air that the front has closed off.
    pub pockets: usize,
    /// The picture, SVG.
    pub picture: String,
}

/// What a frame says above the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FrameWords<'a> {
    /// Name of the design.
    pub design: &'a str,
    /// Name of the part over the gap.
    pub part: &'a str,
    /// Which fill it is: `as dispensed`, `without the plasma`.
    pub moment: &'a str,
}

/// Room of the picture at most, and around it, picture units.
const ROOM: [f64; 2] = [640.0, 560.0];
const SIDE: f64 = 24.0;
const TOP: f64 = 76.0;
const BELOW: f64 = 66.0;

/// Frames of a fill: `count` of them at equal steps of time, the first as dispensing begins, the last at the end. A fill
/// that takes no time has one frame.
pub fn fill_frames(filling: &Filling, count: usize, words: &FrameWords<'_>) -> Vec<FillFrame> {
    let end = end_s(filling);
    let steps = if end > 0.0 { count.max(2) - 1 } else { 0 };
    let stage = Stage::of(filling);
    let bumps = stage.bumps(filling);
    (0..=steps)
        .map(|k| {
            // The last frame is at the end itself, whatever the division rounds to.
            let time_s = if k == steps { end } else { end * k as f64 / steps as f64 };
            let (filled, pockets) = course(filling, time_s);
            let frame = FillFrame { time_s, filled, pockets, picture: String::new() };
            let picture = stage.picture(filling, &frame, (end, k == steps), &bumps, words);
            FillFrame { picture, ..frame }
        })
        .collect()
}

/// When it is full or stands still, s.
fn end_s(filling: &Filling) -> f64 {
    let course = filling.course.last().map_or(0.0, |p| p.time_s);
    let end = filling.fill_time_s.map_or(course, |t| t.max(course));
    if end.is_finite() { end } else { 0.0 }
}

/// Share that is filled, by a straight line between the kept points, and the pockets of air since the last of them.
fn course(filling: &Filling, time_s: f64) -> (f64, usize) {
    let after = filling.course.partition_point(|p| p.time_s <= time_s);
    let Some(before) = after.checked_sub(1).map(|k| filling.course[k]) else { return (0.0, 0) };
    let filled = filling.course.get(after).map_or(before.filled, |next| {
        let way = (time_s - before.time_s) / (next.time_s - before.time_s);
        before.filled + way * (next.filled - before.filled)
    });
    (filled, before.pockets)
}

/// Where the die lies in the picture.
struct Stage {
    count: [usize; 2],
    /// Picture units a m.
    scale: f64,
    /// Sides of a cell, picture units.
    step: [f64; 2],
    size: [f64; 2],
    left: f64,
    total: [f64; 2],
}

/// Parts of a picture that are cut at a time.
#[derive(Default)]
struct Cut {
    wet: String,
    gas: String,
    rim: String,
}

impl Stage {
    fn of(filling: &Filling) -> Stage {
        let map = &filling.map;
        let size_m = [0, 1].map(|k| map.step_m[k] * map.count[k] as f64);
        let scale = (ROOM[0] / size_m[0]).min(ROOM[1] / size_m[1]);
        let size = size_m.map(|s| s * scale);
        let wide = size[0].max(420.0);
        Stage {
            count: map.count,
            scale,
            step: map.step_m.map(|s| s * scale),
            size,
            left: SIDE + 0.5 * (wide - size[0]),
            total: [wide + 2.0 * SIDE, TOP + size[1] + BELOW],
        }
    }

    /// Place of a corner of the net between the middles of cells, 0 the die's edge itself: picture units.
    fn corner(&self, axis: usize, k: usize) -> f64 {
        let along = match k {
            0 => 0.0,
            k if k > self.count[axis] => self.count[axis] as f64,
            k => k as f64 - 0.5,
        } * self.step[axis];
        if axis == 0 { self.left + along } else { TOP + self.size[1] - along }
    }

    /// Cuts the fill at a time. The net spans the middles of the cells and the edges of the die, where the cells at the
    /// edge count on.
    fn cut(&self, filling: &Filling, time_s: f64, last: bool) -> Cut {
        let [columns, rows] = self.count;
        let cell = |i: usize, j: usize| (j.clamp(1, rows) - 1) * columns + i.clamp(1, columns) - 1;
        let arrival = |c: usize| filling.map.arrival_s[c].map_or(f64::INFINITY, f64::from);
        let wet = |c: usize| arrival(c) <= time_s || (last && filling.map.arrival_s[c].is_some());
        let shut = self.shut_in(filling, &wet);
        let mut cut = Cut::default();
        for j in 0..=rows {
            let mut run: Option<usize> = None;
            for i in 0..=columns + 1 {
                let whole = i <= columns
                    && [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)]
                        .iter()
                        .all(|(i, j)| wet(cell(*i, *j)));
                match (whole, run) {
                    (true, None) => run = Some(i),
                    (false, Some(from)) => {
                        let [x0, x1] = [from, i].map(|k| fixed(self.corner(0, k), 1));
                        let [low, high] = [j, j + 1].map(|k| fixed(self.corner(1, k), 1));
                        let _ = write!(cut.wet, "M{x0} {low}H{x1}V{high}H{x0}z");
                        run = None;
                    }
                    _ => {}
                }
                if i <= columns && !whole {
                    let corners = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)].map(|(i, j)| {
                        let c = cell(i, j);
                        let place = (self.corner(0, i), self.corner(1, j));
                        Corner { place, late: arrival(c) - time_s, wet: wet(c), shut: shut[c] }
                    });
                    quad(&corners, &mut cut);
                }
            }
        }
        cut
    }

    /// Dry cells that liquid closes off: parts that do not reach the edge of the die, and those that end as voids.
    fn shut_in(&self, filling: &Filling, wet: &dyn Fn(usize) -> bool) -> Vec<bool> {
        let [columns, rows] = self.count;
        let mut shut = vec![false; columns * rows];
        let mut seen = vec![false; columns * rows];
        for start in 0..columns * rows {
            if seen[start] || wet(start) {
                continue;
            }
            let (mut part, mut next) = (vec![start], 0);
            seen[start] = true;
            let (mut open, mut air) = (false, true);
            while let Some(&c) = part.get(next) {
                next += 1;
                let (i, j) = (c % columns, c / columns);
                open |= i == 0 || j == 0 || i + 1 == columns || j + 1 == rows;
                air &= filling.map.void[c] > 0;
                let beside = [
                    (i > 0).then(|| c - 1),
                    (i + 1 < columns).then_some(c + 1),
                    (j > 0).then(|| c - columns),
                    (j + 1 < rows).then_some(c + columns),
                ];
                for n in beside.into_iter().flatten().filter(|n| !wet(*n)) {
                    if !std::mem::replace(&mut seen[n], true) {
                        part.push(n);
                    }
                }
            }
            if !open || air {
                part.iter().for_each(|c| shut[*c] = true);
            }
        }
        shut
    }

    /// All bumps as dots of a path: their middles, which a round pen makes discs.
    fn bumps(&self, filling: &Filling) -> String {
        let mut d = String::new();
        for [x, y] in &filling.bumps_m {
            let place = [self.left + x * self.scale, TOP + self.size[1] - y * self.scale];
            let _ = write!(d, "M{} {}h0", fixed(place[0], 1), fixed(place[1], 1));
        }
        d
    }

    fn picture(
        &self,
        filling: &Filling,
        frame: &FillFrame,
        (end, last): (f64, bool),
        bumps: &str,
        words: &FrameWords<'_>,
    ) -> String {
        let cut = self.cut(filling, frame.time_s, last);
        let told = told(frame, end);
        let title = format!("Fill under {}, {}", words.part, words.moment);
        let mut svg = Svg::new();
        let [wide, tall] = self.total.map(|v| fixed(v, 1));
        svg.start("svg")
            .attr("xmlns", "http://www.w3.org/2000/svg")
            .attr("viewBox", format!("0 0 {wide} {tall}"));
        svg.attr("width", wide).attr("height", tall).attr("role", "img");
        svg.start("title").text(&format!("{}: {title}. {told}", words.design)).end();
        svg.start("style").raw(&sheet()).end();
        svg.start("defs").start("pattern").attr("id", "cross").attr("patternUnits", "userSpaceOnUse");
        svg.num("width", 6.0).num("height", 6.0);
        svg.start("path").attr("class", "cross").attr("d", "M0 0L6 6M6 0L0 6").end().end().end();
        svg.start("rect").attr("class", "paper").attr("width", "100%").attr("height", "100%").end();
        svg.label("head", SIDE, 30.0, &title);
        svg.label("told", SIDE, 50.0, &told);
        svg.label("seen", SIDE, TOP - 9.0, &format!("{}; seen from above, through the die", words.design));
        let (right, bottom) = (self.left + self.size[0], TOP + self.size[1]);
        let [x0, y0, x1, y1] = [self.left, TOP, right, bottom].map(|v| fixed(v, 1));
        svg.start("path").attr("class", "gap").attr("d", format!("M{x0} {y0}H{x1}V{y1}H{x0}z")).end();
        svg.start("path").attr("class", "liquid").attr("d", &cut.wet).end();
        if !cut.gas.is_empty() {
            svg.start("path").attr("class", "air").attr("d", &cut.gas).end();
            svg.start("path").attr("fill", "url(#cross)").attr("d", &cut.gas).end();
            svg.start("path").attr("class", "rim").attr("d", &cut.rim).end();
        }
        if !bumps.is_empty() && filling.bump_diameter_m > 0.0 {
            let across = filling.bump_diameter_m * self.scale;
            let rim = (0.12 * across).min(1.2);
            svg.start("path").attr("class", "dot bump-rim").attr("id", "bumps").attr("d", bumps);
            svg.num("stroke-width", across).end();
            // The same dots once more, smaller, so that the rim stands around them.
            svg.start("path")
                .attr("class", "dot bump")
                .attr("d", bumps)
                .num("stroke-width", across - 2.0 * rim)
                .end();
        }
        svg.start("path").attr("class", "die").attr("d", format!("M{x0} {y0}H{x1}V{y1}H{x0}z")).end();
        self.corner_mark(&mut svg);
        self.scale_bar(&mut svg);
        self.time_line(&mut svg, frame.time_s, end);
        svg.finish()
    }

    /// The die's lower left corner, where its coordinates begin.
    fn corner_mark(&self, svg: &mut Svg) {
        let (x, y) = (fixed(self.left, 1), fixed(TOP + self.size[1], 1));
        svg.start("path").attr("class", "corner").attr("d", format!("M{x} {y}v-10l10 10z")).end();
    }

    fn scale_bar(&self, svg: &mut Svg) {
        let mm = 1e-3 * self.scale;
        let step = round_step(0.25 * self.size[0] / mm, 1.0);
        let (y, x) = (TOP + self.size[1] + 22.0, self.left);
        let to = x + step * mm;
        svg.line("bar", (x, y), (to, y));
        svg.line("bar", (x, y - 4.0), (x, y + 4.0));
        svg.line("bar", (to, y - 4.0), (to, y + 4.0));
        svg.label("told", to + 8.0, y + 4.5, &format!("{} mm", fixed(step, 3)));
    }

    /// Where on the way from dispensing to the end the frame stands.
    fn time_line(&self, svg: &mut Svg, time_s: f64, end: f64) {
        let y = TOP + self.size[1] + 48.0;
        let (from, to) = (SIDE, self.total[0] - SIDE);
        let here = if end > 0.0 { from + (to - from) * time_s / end } else { from };
        svg.line("way", (from, y), (to, y));
        svg.line("gone", (from, y), (here, y));
        svg.start("circle").attr("class", "here").num("cx", here).num("cy", y).num("r", 4.5).end();
    }
}

/// A corner of the net.
#[derive(Clone, Copy)]
struct Corner {
    place: (f64, f64),
    /// How much later than the frame the front passes, s; infinite where it never does.
    late: f64,
    wet: bool,
    shut: bool,
}

/// Where the front crosses from a wet corner to a dry one: by the times of both; half way where the dry one is never passed.
fn crossing(a: &Corner, b: &Corner) -> (f64, f64) {
    let share = |c: &Corner| if c.late.is_finite() { c.late } else { f64::NAN };
    let (from, to) = (share(a), share(b));
    let way = -from / (to - from);
    let way = if way.is_finite() { way.clamp(0.0, 1.0) } else { 0.5 };
    (a.place.0 + way * (b.place.0 - a.place.0), a.place.1 + way * (b.place.1 - a.place.1))
}

/// Cuts one mesh of the net, corners all round.
fn quad(corners: &[Corner; 4], cut: &mut Cut) {
    let gas = corners.iter().any(|c| c.shut);
    let all_dry = corners.iter().all(|c| !c.wet);
    if all_dry {
        if gas {
            polygon(&mut cut.gas, &corners.map(|c| c.place));
        }
        return;
    }
    let mut wet = Vec::with_capacity(8);
    let mut dry: Vec<(f64, f64)> = Vec::with_capacity(5);
    // The walk begins at a wet corner, so that a run of dry ones never spans its end.
    let first = corners.iter().position(|c| c.wet).unwrap_or(0);
    for k in 0..4 {
        let (a, b) = (&corners[(first + k) % 4], &corners[(first + k + 1) % 4]);
        if a.wet {
            wet.push(a.place);
        } else {
            dry.push(a.place);
        }
        if a.wet != b.wet {
            let at = crossing(a, b);
            wet.push(at);
            dry.push(at);
            if b.wet {
                if gas {
                    polygon(&mut cut.gas, &dry);
                    let (from, to) = (dry[0], dry[dry.len() - 1]);
                    let [x0, y0, x1, y1] = [from.0, from.1, to.0, to.1].map(|v| fixed(v, 1));
                    let _ = write!(cut.rim, "M{x0} {y0}L{x1} {y1}");
                }
                dry.clear();
            }
        }
    }
    polygon(&mut cut.wet, &wet);
}

fn polygon(d: &mut String, points: &[(f64, f64)]) {
    for (k, (x, y)) in points.iter().enumerate() {
        let _ = write!(d, "{}{} {}", if k == 0 { 'M' } else { 'L' }, fixed(*x, 1), fixed(*y, 1));
    }
    d.push('z');
}

fn told(frame: &FillFrame, end: f64) -> String {
    let pockets = match frame.pockets {
        0 => "no air shut in".to_owned(),
        1 => "1 pocket of air shut in".to_owned(),
        n => format!("{n} pockets of air shut in"),
    };
    format!(
        "{} s of {} s; {} % of the gap full; {pockets}",
        // As many decimals as the end has, so that the numbers of a row of frames do not jump.
        decimals_of(end, frame.time_s),
        significant(end, 3),
        fixed(100.0 * frame.filled, 1),
    )
}

/// A time with the decimals of three digits of another.
fn decimals_of(end: f64, time: f64) -> String {
    let digits = if end > 0.0 { (2.0 - end.log10().floor()).clamp(0.0, 6.0) as usize } else { 0 };
    format!("{time:.digits$}")
}

/// Rules for paper and screen, dark where the reader's screen is.
fn sheet() -> String {
    format!(
        "text{{font-family:{SANS};font-variant-numeric:tabular-nums}}.head{{font-size:18px;font-weight:600}}\
         .told{{font-size:13px}}.seen{{font-size:11px}}.dot{{fill:none;stroke-linecap:round}}\
         .liquid{{fill-opacity:{}}}\n{}@media screen and (prefers-color-scheme:dark){{{}}}\n",
        Made::Adhesive.opacity(),
        colours(&LIGHT),
        colours(&DARK)
    )
}

fn colours(palette: &Palette) -> String {
    let Palette { ink, paper, muted, grid, .. } = palette;
    let (amber, solder, silicon) =
        (palette.tone(Made::Adhesive), palette.tone(Made::Solder), palette.tone(Made::Silicon));
    format!(
        ".paper,.air{{fill:{paper}}}text{{fill:{ink}}}.seen{{fill:{muted}}}.gap{{fill:{grid};fill-opacity:.35}}\
         .liquid{{fill:{}}}.cross{{fill:none;stroke:{ink};stroke-width:.8}}\
         .rim{{fill:none;stroke:{ink};stroke-width:1.6;stroke-linecap:round}}\
         .bump-rim{{stroke:{}}}.bump{{stroke:{}}}.die{{fill:none;stroke:{};stroke-width:1.6}}.corner{{fill:{}}}\
         .bar,.gone{{fill:none;stroke:{ink};stroke-width:1.4}}.way{{fill:none;stroke:{grid};stroke-width:3}}\
         .gone{{stroke-width:3}}.here{{fill:{ink}}}\n",
        amber.fill, solder.rim, solder.fill, silicon.fill, silicon.fill
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use facedown_underfill::FrontPoint;
    use facedown_underfill::filling::FillMap;
    use facedown_underfill::front::End;

    const WORDS: FrameWords<'_> = FrameWords { design: "d & e", part: "die", moment: "as dispensed" };

    /// Five by four cells, filled column by column in a second each; the cell in the middle of the second row stays air.
    fn demo() -> Filling {
        let cells = || (0..20).map(|c| (c % 5, c / 5));
        let air = |(i, j): (usize, usize)| i == 2 && j == 1;
        let course = |k: u32| FrontPoint {
            time_s: f64::from(k),
            filled: f64::from(k) / 5.0,
            position_m: None,
            pockets: usize::from(k >= 4),
        };
        Filling {
            end: End::Voids,
            fill_time_s: Some(5.0),
            fill_time_error_s: None,
            order: None,
            filled: 0.95,
            last_place_m: None,
            voids: Vec::new(),
            void_area_fraction: 0.05,
            void_area_error_m2: 0.0,
            unfilled_area_m2: 0.0,
            volume_error: 0.0,
            used_m3: 1e-9,
            left_m3: 0.0,
            free_volume_m3: 1e-9,
            bumps_touched: 0,
            bump_diameter_m: 0.1e-3,
            bumps_m: vec![[0.5e-3, 0.5e-3], [1.5e-3, 1.5e-3]],
            map: FillMap {
                count: [5, 4],
                step_m: [0.5e-3, 0.5e-3],
                arrival_s: cells().map(|c| (!air(c)).then_some(c.0 as f32 + 0.5)).collect(),
                void: cells().map(|c| u32::from(air(c))).collect(),
                angle_substrate_rad: Vec::new(),
            },
            course: (0..=5).map(course).collect(),
        }
    }

    /// Area of the closed figures of a path that has only M, L, H, V and z, by the sum over their corners.
    fn area(d: &str) -> f64 {
        let mut sum = 0.0;
        for figure in d.split('z').filter(|f| !f.is_empty()) {
            let mut points: Vec<(f64, f64)> = Vec::new();
            // Letters end the pieces: the letter of a step stands at the end of the piece before.
            let pieces: Vec<&str> = figure.split_inclusive(char::is_alphabetic).collect();
            for step in pieces.windows(2) {
                let numbers: Vec<f64> = step[1]
                    .trim_end_matches(char::is_alphabetic)
                    .split(' ')
                    .filter(|t| !t.is_empty())
                    .map(|t| t.parse().unwrap())
                    .collect();
                let last = points.last().copied().unwrap_or_default();
                points.push(match step[0].chars().last().unwrap() {
                    'H' => (numbers[0], last.1),
                    'V' => (last.0, numbers[0]),
                    _ => (numbers[0], numbers[1]),
                });
            }
            let turned: f64 = (0..points.len())
                .map(|k| {
                    let (a, b) = (points[k], points[(k + 1) % points.len()]);
                    a.0 * b.1 - b.0 * a.1
                })
                .sum();
            sum += 0.5 * turned.abs();
        }
        sum
    }

    fn path<'a>(picture: &'a str, class: &str) -> Option<&'a str> {
        picture.split(&format!("class=\"{class}\" d=\"")).nth(1)?.split('"').next()
    }

    #[test]
    fn frames_stand_at_equal_steps_from_dispensing_to_the_end() {
        let frames = fill_frames(&demo(), 11, &WORDS);
        let times: Vec<f64> = frames.iter().map(|f| f.time_s).collect();
        assert_eq!(times, (0..=10).map(|k| 0.5 * f64::from(k)).collect::<Vec<_>>());
        assert_eq!((frames[0].filled, frames[10].filled), (0.0, 1.0));
        assert!((frames[3].filled - 0.3).abs() < 1e-12, "between two points of the course");
        assert_eq!([frames[7].pockets, frames[8].pockets], [0, 1]);
        for frame in &frames {
            let tree = roxmltree::Document::parse(&frame.picture).unwrap();
            assert!(
                tree.descendants().any(|n| n.text().is_some_and(|t| t.starts_with("d & e: Fill under die")))
            );
            assert!(!frame.picture.contains("NaN") && !frame.picture.contains("inf"));
        }
        assert_eq!(frames, fill_frames(&demo(), 11, &WORDS));
    }

    #[test]
    fn liquid_covers_what_the_front_has_passed_and_air_the_rest_at_the_end() {
        let frames = fill_frames(&demo(), 11, &WORDS);
        // 2.5 mm by 2.0 mm, 640 by 512 units: the front stands at 1.5 of 2.5 mm after 3 s. The cell of air takes half a diamond
        // behind its middle and, with the corners to the front, three halves of one before it: a cell in all.
        let at_3_s = area(path(&frames[6].picture, "liquid").unwrap());
        let cell = 128.0_f64.powi(2);
        assert!((at_3_s - (384.0 * 512.0 - cell)).abs() < 1.0, "{at_3_s}");
        let last = &frames[10].picture;
        let (wet, air) = (area(path(last, "liquid").unwrap()), area(path(last, "air").unwrap()));
        // Liquid and air share the die without overlap; corners of a cell of air are cut half way between middles.
        assert!((wet + air - 640.0 * 512.0).abs() < 1.0, "{wet} {air}");
        assert!((air - 0.5 * cell).abs() < 1.0, "{air}");
        assert!(
            path(&frames[6].picture, "air").is_none(),
            "open to the edge as long as the front has not closed it off"
        );
    }

    #[test]
    fn a_fill_that_never_begins_has_one_frame() {
        let dry = Filling {
            end: End::DoesNotWet,
            fill_time_s: None,
            course: vec![FrontPoint { time_s: 0.0, filled: 0.0, position_m: None, pockets: 0 }],
            map: FillMap { arrival_s: vec![None; 20], void: vec![0; 20], ..demo().map },
            ..demo()
        };
        let frames = fill_frames(&dry, 24, &WORDS);
        assert_eq!((frames.len(), frames[0].time_s, frames[0].filled), (1, 0.0, 0.0));
        assert_eq!(path(&frames[0].picture, "liquid"), Some(""));
    }
}
