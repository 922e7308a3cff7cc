//! The bump sites of a die: the array, as even as the die allows, or the bump table.

use crate::bump_rules::nm;
use crate::bumps::{BumpPattern, BumpSite, Bumps};
use crate::die::Die;
use crate::near::{BUDGET, Near};
use crate::pads::{Pad, PadSource};
use facedown_quantity::Nm;
use std::collections::BTreeSet;

/// Row letters of JEDEC arrays (JEP95): I, O, Q, S, X and Z are left out because they are misread.
const LETTERS: &[u8; 20] = b"ABCDEFGHJKLMNPRTUVWY";

/// The sites of an array, and those that were left out.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sites {
    /// Sites, row by row from the largest y, each from the smallest x.
    pub sites: Vec<BumpSite>,
    /// Columns and rows of the grid.
    pub matrix: (u32, u32),
    /// Names of sites that meet a pad's landing or a keep-out and were left out.
    pub dropped: Vec<String>,
}

/// Name of a row, 0 first: A to Y without the letters that JEP95 leaves out, then AA, AB, ...
pub fn row_name(mut row: u32) -> String {
    let mut letters = Vec::new();
    loop {
        letters.push(LETTERS[(row % 20) as usize]);
        if row < 20 {
            break;
        }
        row = row / 20 - 1;
    }
    letters.iter().rev().map(|b| *b as char).collect()
}

/// Row and column (both from 0) of a site's name; `None` for anything else.
pub fn site_indices(name: &str) -> Option<(u32, u32)> {
    let split = name.find(|c: char| c.is_ascii_digit())?;
    let (letters, digits) = name.split_at(split);
    if letters.is_empty()
        || letters.len() > 4
        || digits.len() > 6
        || !digits.bytes().all(|b| b.is_ascii_digit())
    {
        return None;
    }
    let mut row = 0u32;
    for letter in letters.bytes() {
        let digit = LETTERS.iter().position(|l| *l == letter.to_ascii_uppercase())? as u32;
        row = row * 20 + digit + 1;
    }
    let column: u32 = digits.parse().ok()?;
    Some((row - 1, column.checked_sub(1)?))
}

/// Sites along a side: `floor((side - 2 edge) / pitch) + 1`, none when the edge distances overlap, a million at most.
pub fn sites_along(side: Nm, edge: Nm, pitch: Nm) -> u32 {
    let room = side.0 - 2 * edge.0;
    if room < 0 || pitch.0 <= 0 { 0 } else { (room / pitch.0 + 1).min(1_000_000) as u32 }
}

/// A block of sites, `C4` or `C4:F7`: rows and columns, both ends included.
pub fn site_block(text: &str) -> Option<Block> {
    let (a, b) = text.split_once(':').unwrap_or((text, text));
    let ((r0, c0), (r1, c1)) = (site_indices(a.trim())?, site_indices(b.trim())?);
    Some(((r0.min(r1), r0.max(r1)), (c0.min(c1), c0.max(c1))))
}

/// A block of sites: first and last row, first and last column.
pub type Block = ((u32, u32), (u32, u32));

/// For every site of an array, row by row, whether a block covers it. Time: blocks + sites, by adding up the corners
/// of the blocks.
pub(crate) fn left_out(blocks: impl Iterator<Item = Block>, columns: u32, rows: u32) -> Vec<bool> {
    let (columns, rows) = (columns as usize, rows as usize);
    let mut sums = vec![0i64; (columns + 1) * (rows + 1)];
    for ((r0, r1), (c0, c1)) in blocks {
        let (r0, r1) = ((r0 as usize).min(rows), (r1 as usize + 1).min(rows));
        let (c0, c1) = ((c0 as usize).min(columns), (c1 as usize + 1).min(columns));
        for (row, column, sign) in [(r0, c0, 1), (r0, c1, -1), (r1, c0, -1), (r1, c1, 1)] {
            sums[row * (columns + 1) + column] += sign;
        }
    }
    let mut gone = Vec::with_capacity(columns * rows);
    for row in 0..rows {
        let mut along = 0;
        for column in 0..columns {
            let at = row * (columns + 1) + column;
            along += sums[at];
            let above = if row > 0 { sums[at - columns - 1] } else { 0 };
            // From here on this cell holds the number of blocks over it.
            sums[at] = along + above;
            gone.push(sums[at] > 0);
        }
    }
    gone
}

impl Bumps {
    /// Least distance of bump centres from the die outline: as written, or so that capture pad and bump stay
    /// 25 um off the seal ring (open SKY130 process design-rule tables: bump edge to seal ring 25 um).
    pub fn edge_distance(&self, seal_ring: Nm) -> Nm {
        let sizes = self.sizes();
        let rule = Nm(sizes.capture.0.max(sizes.bump.0) / 2) + seal_ring + Nm::from_um(25);
        self.edge_distance.as_ref().map_or(rule, nm)
    }

    /// Columns and rows that fit on a body.
    pub fn matrix_that_fits(&self, width: Nm, height: Nm, seal_ring: Nm) -> (u32, u32) {
        let edge = self.edge_distance(seal_ring);
        (sites_along(width, edge, nm(&self.pitch)), sites_along(height, edge, self.row_pitch()))
    }

    /// The array on a body of that size, centred, without regard to pads and keep-outs. Empty when it would hold
    /// more than [`crate::limits::SITES`] sites.
    pub fn array(&self, width: Nm, height: Nm, seal_ring: Nm) -> Sites {
        let fits = self.matrix_that_fits(width, height, seal_ring);
        let (columns, rows) = self.matrix.map_or(fits, |[c, r]| (c, r));
        let mut out = Sites { matrix: (columns, rows), ..Sites::default() };
        if u64::from(columns) * u64::from(rows) > crate::limits::SITES as u64 {
            return out;
        }
        let gone = left_out(self.depopulate.iter().filter_map(|t| site_block(t)), columns, rows);
        let pattern = self.pattern.unwrap_or(BumpPattern::Full);
        let ring = self.rows.unwrap_or(u32::MAX);
        let (px, py) = (nm(&self.pitch), self.row_pitch());
        let x0 = Nm((width.0 - px.0 * i64::from(columns.max(1) - 1)) / 2);
        let y0 = Nm((height.0 + py.0 * i64::from(rows.max(1) - 1)) / 2);
        for row in 0..rows {
            let shifted = pattern == BumpPattern::Staggered && row % 2 == 1;
            for column in 0..columns - u32::from(shifted && columns > 0) {
                let depth = row.min(rows - 1 - row).min(column.min(columns - 1 - column));
                let outer = pattern != BumpPattern::Perimeter || depth < ring;
                if !outer || gone[row as usize * columns as usize + column as usize] {
                    continue;
                }
                let half = if shifted { Nm(px.0 / 2) } else { Nm::ZERO };
                out.sites.push(BumpSite {
                    name: format!("{}{}", row_name(row), column + 1),
                    x: x0 + px * i64::from(column) + half,
                    y: y0 - py * i64::from(row),
                    net: self.tile_net(row, column),
                });
            }
        }
        out
    }

    /// The net that the tile gives to a site.
    fn tile_net(&self, row: u32, column: u32) -> Option<String> {
        let line = self.net_tile.get(row as usize % self.net_tile.len().max(1))?;
        let word = line.get(column as usize % line.len().max(1))?;
        if word == "*" {
            let prefix = self.signal_prefix.as_deref().unwrap_or("S_");
            Some(format!("{prefix}{}{}", row_name(row), column + 1))
        } else {
            Some(word.clone())
        }
    }
}

impl Die {
    /// The bump sites of this die. The table's where there is one, else the array without the sites whose capture
    /// pad, one space apart, meets the landing of a pad, a keep-out or the seal ring. A pad whose opening lies
    /// wholly inside the capture pad is the bump's own, and gives the site its net.
    ///
    /// Time: sites x log(pads). Empty without a table [die.bumps].
    pub fn sites(&self) -> Sites {
        let Some(bumps) = &self.bumps else { return Sites::default() };
        if bumps.table.is_some() {
            return Sites { sites: self.bump_list.clone(), ..Sites::default() };
        }
        let (width, height) = (nm(&self.width), nm(&self.height));
        let mut array = bumps.array(width, height, Nm::round_m(self.seal_ring_m()));
        let capture = bumps.sizes().capture;
        let rules = self.rdl_rules();
        let (space, beyond) = rules.map_or((Nm::ZERO, Nm::ZERO), |r| (r.space, r.landing_beyond_pad()));
        let keep_outs: Vec<Outline> = self
            .keep_outs
            .iter()
            .filter(|k| k.bumps != Some(true))
            .map(|k| Outline::new(k.corners_m()))
            .collect();
        let widest = self.pad_list.iter().map(|p| p.width.max(p.height)).max().unwrap_or(Nm::ZERO);
        let reach = Nm(capture.0 / 2) + space + beyond.max(Nm::ZERO) + widest;
        let near = Near::new(self.pad_list.iter().map(|p| (p.x, p.y)), reach);
        let mut budget = BUDGET;
        let mut dropped = BTreeSet::new();
        for (index, site) in array.sites.iter_mut().enumerate() {
            for pad in near.around(site.x, site.y).map(|i| &self.pad_list[i]) {
                // Only pads of absurd size are so many around one site; they are told by the checks.
                budget = budget.saturating_sub(1);
                if budget == 0 {
                    break;
                }
                if own(pad, site, capture) {
                    if site.net.is_none() && !pad.net.is_empty() {
                        site.net = Some(pad.net.clone());
                    }
                } else if gap(pad, site) < (Nm(capture.0 / 2) + space + beyond).nm() {
                    dropped.insert(index);
                }
            }
            let centre = (site.x.m(), site.y.m());
            let keep = (Nm(capture.0 / 2) + space).m();
            if keep_outs.iter().any(|k| k.near(centre, keep) && distance_to(&k.corners, centre) < keep) {
                dropped.insert(index);
            }
        }
        array.dropped = dropped.iter().map(|i| array.sites[*i].name.clone()).collect();
        let mut index = 0;
        array.sites.retain(|_| {
            index += 1;
            !dropped.contains(&(index - 1))
        });
        array
    }

    /// The pads of this die: as read, or one under every bump for pads drawn `at bumps`.
    pub fn pads(&self) -> Vec<Pad> {
        let (Some(PadSource::AtBumps(_)), Some(bumps)) = (&self.pads, &self.bumps) else {
            return self.pad_list.clone();
        };
        let opening = bumps.sizes().opening;
        let pad = |site: BumpSite| Pad {
            name: site.name,
            net: site.net.unwrap_or_default(),
            x: site.x,
            y: site.y,
            width: opening,
            height: opening,
            class: None,
            current_a: None,
        };
        self.sites().sites.into_iter().map(pad).collect()
    }
}

/// True when the pad's opening lies wholly inside the capture pad.
pub(crate) fn own(pad: &Pad, site: &BumpSite, capture: Nm) -> bool {
    let dx = (pad.x - site.x).abs().nm() + pad.width.nm() / 2.0;
    let dy = (pad.y - site.y).abs().nm() + pad.height.nm() / 2.0;
    dx.hypot(dy) <= capture.nm() / 2.0
}

/// Distance of the site's centre from the pad's opening, nm.
pub(crate) fn gap(pad: &Pad, site: &BumpSite) -> f64 {
    let dx = ((pad.x - site.x).abs().nm() - pad.width.nm() / 2.0).max(0.0);
    let dy = ((pad.y - site.y).abs().nm() - pad.height.nm() / 2.0).max(0.0);
    dx.hypot(dy)
}

/// Distance of a point from a polygon, m; zero inside.
pub(crate) fn distance_to(polygon: &[(f64, f64)], (x, y): (f64, f64)) -> f64 {
    let mut inside = false;
    let mut least = f64::INFINITY;
    for (i, &(x0, y0)) in polygon.iter().enumerate() {
        let (x1, y1) = polygon[(i + 1) % polygon.len()];
        if (y0 > y) != (y1 > y) && x < x0 + (y - y0) / (y1 - y0) * (x1 - x0) {
            inside = !inside;
        }
        let (dx, dy) = (x1 - x0, y1 - y0);
        let length2 = dx * dx + dy * dy;
        let t = if length2 > 0.0 { (((x - x0) * dx + (y - y0) * dy) / length2).clamp(0.0, 1.0) } else { 0.0 };
        least = least.min((x - x0 - t * dx).hypot(y - y0 - t * dy));
    }
    if inside { 0.0 } else { least }
}

/// A polygon with the box around it, so that far points are told apart quickly.
struct Outline {
    corners: Vec<(f64, f64)>,
    low: (f64, f64),
    high: (f64, f64),
}

impl Outline {
    fn new(corners: Vec<(f64, f64)>) -> Outline {
        let fold = |start: f64, pick: fn(f64, f64) -> f64| {
            corners.iter().fold((start, start), |(x, y), c| (pick(x, c.0), pick(y, c.1)))
        };
        let (low, high) = (fold(f64::INFINITY, f64::min), fold(f64::NEG_INFINITY, f64::max));
        Outline { corners, low, high }
    }

    fn near(&self, (x, y): (f64, f64), reach: f64) -> bool {
        x > self.low.0 - reach && x < self.high.0 + reach && y > self.low.1 - reach && y < self.high.1 + reach
    }
}

#[cfg(test)]
mod tests {
    use super::{left_out, row_name, site_block, site_indices};

    #[test]
    fn row_names_skip_letters_that_are_misread_and_read_back() {
        assert_eq!(row_name(0), "A");
        assert_eq!(row_name(8), "J");
        assert_eq!(row_name(19), "Y");
        assert_eq!(row_name(20), "AA");
        assert_eq!(row_name(39), "AY");
        assert_eq!(row_name(40), "BA");
        assert_eq!(row_name(90), "DL");
        assert_eq!(row_name(20 + 400), "AAA");
        for row in 0..9000 {
            assert_eq!(site_indices(&format!("{}7", row_name(row))), Some((row, 6)));
        }
    }

    #[test]
    fn blocks_are_read_from_any_corner() {
        assert_eq!(site_block("C4"), Some(((2, 2), (3, 3))));
        assert_eq!(site_block("F7:C4"), Some(((2, 5), (3, 6))));
        for wrong in ["", "4", "C", "C0", "I4", "C4:", "C4-F7", "ABCDEFG1", "A99999999"] {
            assert_eq!(site_block(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn blocks_leave_out_what_they_cover_and_nothing_else() {
        let blocks =
            [((0, 1), (0, 2)), ((1, 1), (2, 4)), ((3, 90), (5, 90)), ((2, 2), (0, 0)), ((2, 2), (0, 0))];
        let gone = left_out(blocks.into_iter(), 7, 5);
        for row in 0..5u32 {
            for column in 0..7u32 {
                let covered = blocks
                    .iter()
                    .any(|((r0, r1), (c0, c1))| (*r0..=*r1).contains(&row) && (*c0..=*c1).contains(&column));
                assert_eq!(gone[(row * 7 + column) as usize], covered, "row {row}, column {column}");
            }
        }
    }
}
