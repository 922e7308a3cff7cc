//! Names in the plan: never one on another, more of them the closer one looks.
//!
//! Each name gets the first zoom (1, 2, 4, 8 or 16 times) at which it fits on its bump, or beside its pad
//! outside the die, without touching a name that is there already. Names keep their size on the screen, so a
//! name placed at one zoom stays clear at the next.

use std::collections::{BTreeMap, BTreeSet};

use facedown_layout::{Drawing, Label, Role};

use super::frame::Frame;
use super::scene::{Scene, Site};
use crate::typography::{shorten, width};

/// Zooms at which names appear, as powers of two.
pub(super) const LEVELS: usize = 5;

/// How much larger names are at each level; slower than the zoom, so that what was clear stays clear. The script
/// holds the same figures.
const GROWTH: [f64; LEVELS] = [1.0, 1.2, 1.4, 1.5, 1.6];

/// Size of pad names in picture pixels.
const PAD_SIZE: f64 = 7.5;

/// Space between the die edge and a pad name, in pixels.
const GAP: f64 = 7.0;

/// How a name runs from its anchor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Run {
    /// Centred on it.
    Middle,
    /// To the right of it.
    Right,
    /// To the left of it.
    Left,
    /// Upwards from it, turned by a quarter.
    Up,
    /// Downwards from it, turned by a quarter: the end of the word is at the anchor.
    Down,
}

/// A name with its anchor as seen (micrometres, x right, y down) and its size in pixels.
#[derive(Debug, Clone)]
pub(super) struct Name<'a> {
    pub x: f64,
    pub y: f64,
    pub run: Run,
    pub size: f64,
    pub text: String,
    pub net: Option<&'a str>,
    /// Room for the text at zoom 1 in pixels, when it must stay on something.
    room: Option<f64>,
}

/// Names to place, before the scale of the picture is known.
pub(super) struct Wanted<'a> {
    label: &'a str,
    site: Option<Site<'a>>,
    role: Role,
    at: (f64, f64),
}

/// Finds the pad or bump that each label of the drawing stands on. Pads without labels are named by their net.
pub(super) fn wanted<'a>(drawing: &'a Drawing, scene: &Scene<'a>) -> Vec<Wanted<'a>> {
    let typical = scene.typical_bump().unwrap_or(100.0).max(1.0);
    let cell = |x: f64, y: f64| ((x / typical).floor() as i64, (y / typical).floor() as i64);
    let mut sites_by_cell: BTreeMap<(i64, i64), Vec<&Site<'a>>> = BTreeMap::new();
    for site in &scene.sites {
        let (x, y) = site.centre();
        sites_by_cell.entry(cell(x, y)).or_default().push(site);
    }
    let host = |label: &Label| {
        let (i, j) = cell(label.at.x.um(), label.at.y.um());
        let near = (i - 1..=i + 1).flat_map(|a| (j - 1..=j + 1).map(move |b| (a, b)));
        near.filter_map(|c| sites_by_cell.get(&c)).flatten().find(|s| {
            let inside = |at, low, high| low <= at && at <= high;
            let same = (s.role == Role::Pad) == (label.role == Role::Pad);
            same && inside(label.at.x, s.low.x, s.high.x) && inside(label.at.y, s.low.y, s.high.y)
        })
    };
    let mut wanted: Vec<Wanted<'a>> = drawing
        .labels
        .iter()
        .filter(|l| !l.text.trim().is_empty())
        .map(|l| Wanted {
            label: &l.text,
            site: host(l).map(|s| **s),
            role: l.role,
            at: (l.at.x.um(), l.at.y.um()),
        })
        .collect();
    if !drawing.labels.iter().any(|l| l.role == Role::Pad) {
        let named = scene.sites.iter().filter(|s| s.role == Role::Pad).filter_map(|s| Some((s, s.net?)));
        wanted.extend(named.map(|(s, net)| Wanted {
            label: net,
            site: Some(*s),
            role: Role::Pad,
            at: s.centre(),
        }));
    }
    wanted
}

/// Room to keep free outside each die edge for pad names, in pixels: left, right, bottom, top in die coordinates.
pub(super) fn margins(wanted: &[Wanted], drawing: &Drawing) -> [f64; 4] {
    let mut room = [0.0f64; 4];
    for w in wanted {
        if let Some(edge) = edge_of(w, drawing) {
            room[edge] = room[edge].max(GAP + 4.0 + width(w.label, PAD_SIZE));
        }
    }
    room.map(|r| r.clamp(18.0, 76.0))
}

/// The die edge that a pad stands at: 0 left, 1 right, 2 bottom, 3 top; none for a pad inside.
fn edge_of(wanted: &Wanted, drawing: &Drawing) -> Option<usize> {
    let site = wanted.site.filter(|_| wanted.role == Role::Pad)?;
    let (x, y) = site.centre();
    let (w, h) = (drawing.width.um(), drawing.height.um());
    let distances = [x, w - x, y, h - y];
    let nearest = (0..4).min_by(|a, b| distances[*a].total_cmp(&distances[*b]))?;
    (distances[nearest] < 0.12 * w.min(h)).then_some(nearest)
}

/// Turns wishes into names at their anchors.
pub(super) fn names<'a>(
    wanted: &[Wanted<'a>],
    drawing: &Drawing,
    frame: &Frame,
    typical_bump: f64,
) -> Vec<Name<'a>> {
    let on_bump = (typical_bump * frame.scale * 0.34).clamp(6.5, 11.0);
    let gap = GAP / frame.scale;
    wanted
        .iter()
        .map(|w| {
            let (x, y) = w.site.map_or(w.at, |s| s.centre());
            let net = w.site.and_then(|s| s.net);
            let (seen_x, seen_y) = frame.seen(x, y);
            let [left, right, top, bottom] = frame.die_edges();
            let beside = |run, x, y, room: f64| {
                let text = shorten(w.label, PAD_SIZE, room - GAP - 2.0);
                Name { x, y, run, size: PAD_SIZE, text, net, room: None }
            };
            match edge_of(w, drawing) {
                Some(2) => beside(Run::Down, seen_x, bottom + gap, frame.margin[2]),
                Some(3) => beside(Run::Up, seen_x, top - gap, frame.margin[3]),
                Some(_) if seen_x < (left + right) / 2.0 => {
                    beside(Run::Left, left - gap, seen_y, frame.margin[0])
                }
                Some(_) => beside(Run::Right, right + gap, seen_y, frame.margin[1]),
                None => {
                    let room = w.site.map(|s| s.width() * frame.scale * 0.9);
                    let size = if w.role == Role::Pad { PAD_SIZE } else { on_bump };
                    Name { x: seen_x, y: seen_y, run: Run::Middle, size, text: w.label.to_owned(), net, room }
                }
            }
        })
        .collect()
}

/// A box on the screen: left, top, right, bottom.
type Box4 = [f64; 4];

fn box_of(name: &Name, scale: f64, growth: f64) -> Box4 {
    let (x, y) = (name.x * scale, name.y * scale);
    let size = name.size * growth;
    let (long, half) = (width(&name.text, size), size * 0.58);
    match name.run {
        Run::Middle => [x - long / 2.0, y - half, x + long / 2.0, y + half],
        Run::Right => [x, y - half, x + long, y + half],
        Run::Left => [x - long, y - half, x, y + half],
        Run::Up => [x - half, y - long, x + half, y],
        Run::Down => [x - half, y, x + half, y + long],
    }
}

/// Boxes by the squares of a grid that they touch, for quick questions.
#[derive(Default)]
struct Taken(BTreeMap<(i64, i64), Vec<Box4>>);

impl Taken {
    const CELL: f64 = 48.0;

    fn cells(b: &Box4) -> impl Iterator<Item = (i64, i64)> + use<> {
        let [i0, j0, i1, j1] = b.map(|v| (v / Taken::CELL).floor() as i64);
        (i0..=i1).flat_map(move |i| (j0..=j1).map(move |j| (i, j)))
    }

    fn free(&self, b: &Box4) -> bool {
        Taken::cells(b)
            .filter_map(|c| self.0.get(&c))
            .flatten()
            .all(|t| b[0] >= t[2] || b[2] <= t[0] || b[1] >= t[3] || b[3] <= t[1])
    }

    fn take(&mut self, b: Box4) {
        for c in Taken::cells(&b) {
            self.0.entry(c).or_default().push(b);
        }
    }
}

/// The zoom level of each name, none for those that never fit. `marks` are places to keep clear (seen,
/// micrometres), each within `mark_radius` pixels. Names of `chosen` nets are placed before others.
pub(super) fn levels(
    names: &[Name],
    chosen: &BTreeSet<&str>,
    scale: f64,
    marks: &[(f64, f64)],
    mark_radius: f64,
) -> Vec<Option<usize>> {
    let mut level_of: Vec<Option<usize>> = vec![None; names.len()];
    // Names of chosen nets come first; the sort keeps all others in their order.
    let mut order: Vec<usize> = (0..names.len()).collect();
    order.sort_by_key(|i| !names[*i].net.is_some_and(|n| chosen.contains(n)));
    for (level, growth) in GROWTH.into_iter().enumerate() {
        let zoomed = scale * f64::from(1u32 << level);
        let mut taken = Taken::default();
        for (x, y) in marks {
            let (x, y) = (x * zoomed, y * zoomed);
            // The number stands to the right of the mark.
            taken.take([x - mark_radius, y - mark_radius, x + 2.0 * mark_radius, y + mark_radius]);
        }
        for (name, _) in names.iter().zip(&level_of).filter(|(_, l)| l.is_some()) {
            taken.take(box_of(name, zoomed, growth));
        }
        for i in order.iter().copied() {
            let (name, slot) = (&names[i], &mut level_of[i]);
            if slot.is_some() {
                continue;
            }
            let on_site =
                name.room.is_none_or(|r| width(&name.text, name.size * growth) <= r * zoomed / scale);
            let b = box_of(name, zoomed, growth);
            if on_site && taken.free(&b) {
                taken.take(b);
                *slot = Some(level);
            }
        }
    }
    level_of
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn name(x: f64, y: f64, text: &str, run: Run) -> Name<'static> {
        Name { x, y, run, size: 8.0, text: text.into(), net: None, room: None }
    }

    #[test]
    fn crowded_names_wait_for_a_closer_look() {
        let row: Vec<Name> = (0..8).map(|i| name(f64::from(i) * 100.0, 0.0, "A1", Run::Middle)).collect();
        let found = levels(&row, &BTreeSet::new(), 0.1, &[], 0.0);
        assert_eq!(found, [0, 1, 0, 1, 0, 1, 0, 1].map(Some));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]
        #[test]
        fn no_name_lies_on_another_at_any_zoom(
            places in prop::collection::vec((0.0..900.0f64, 0.0..900.0f64, 0u8..5, "[A-Za-z0-9]{1,9}"), 1..60)
        ) {
            let runs = [Run::Middle, Run::Right, Run::Left, Run::Up, Run::Down];
            let names: Vec<Name> = places.iter().map(|(x, y, r, t)| name(*x, *y, t, runs[usize::from(*r)])).collect();
            let found = levels(&names, &BTreeSet::new(), 0.5, &[], 0.0);
            for (zoom, growth) in GROWTH.into_iter().enumerate() {
                let shown: Vec<Box4> = names.iter().zip(&found)
                    .filter(|(_, l)| l.is_some_and(|l| l <= zoom))
                    .map(|(n, _)| box_of(n, 0.5 * f64::from(1u32 << zoom), growth))
                    .collect();
                for (i, a) in shown.iter().enumerate() {
                    for b in &shown[..i] {
                        prop_assert!(a[0] >= b[2] || a[2] <= b[0] || a[1] >= b[3] || a[3] <= b[1]);
                    }
                }
            }
        }
    }
}
