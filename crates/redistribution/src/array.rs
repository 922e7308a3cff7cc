//! Bump arrays: where bumps may stand on a die, and why some places are left out.
//!
//! An array is centred on the die and as large as the distance to the seal ring allows. Sites are named as packages
//! name their balls: a row letter from the top row down (I, O, Q, S, X and Z are not used; after Y come AA, AB, ...) and a
//! column number from the left, both as seen on the die face.

use crate::problem::{KeepOut, Pad, Site};
use facedown_layout::{Point, Polygon};
use facedown_quantity::Nm;

/// Which places of the grid carry a site.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// All of them.
    Full,
    /// So many outer rows.
    PerimeterRows(usize),
    /// Every second one, like the dark fields of a checkerboard; the pitches are then the half-steps, and
    /// neighbours stand `sqrt(pitch_x^2 + pitch_y^2)` apart.
    Staggered,
}

/// What is asked of an array.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ArrayPlan {
    /// Step along x.
    pub pitch_x: Nm,
    /// Step along y.
    pub pitch_y: Nm,
    /// Which places are used.
    pub pattern: Pattern,
    /// Least distance of a site's centre from the die outline (to the outer edge of the seal ring, where the outline is
    /// that edge).
    pub edge: Nm,
    /// Number of columns and rows where the design fixes them; otherwise as many as fit.
    pub size: Option<(usize, usize)>,
    /// Names of sites to leave out.
    pub depopulated: Vec<String>,
    /// Diameter of the capture pad.
    pub capture: Nm,
    /// Space that a capture pad keeps from foreign metal and from keep-outs.
    pub space: Nm,
    /// RDL metal beyond a pad opening on every side, round at the corners.
    pub landing_enclosure: Nm,
}

/// Why a place of the grid carries no site.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DropReason {
    /// The design leaves it out.
    Depopulated,
    /// The capture pad and its space would reach into the keep-out with this number.
    KeepOut(usize),
    /// The capture pad would come nearer than the space to the landing of this pad.
    Landing(String),
}

/// A place without a site.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DroppedSite {
    /// The name that the site would have.
    pub name: String,
    /// Its centre.
    pub at: Point,
    /// Why it is left out.
    pub reason: DropReason,
}

/// A planned array.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PlannedArray {
    /// Columns of the grid.
    pub columns: usize,
    /// Rows of the grid.
    pub rows: usize,
    /// Sites, row by row from the top, left to right; no net is set.
    pub sites: Vec<Site>,
    /// Places left out, in the same order.
    pub dropped: Vec<DroppedSite>,
}

/// Why no array can be planned.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ArrayError {
    /// A pitch is zero or negative.
    #[error("a bump pitch of {pitch} is not a step; it must be above zero")]
    Pitch {
        /// The pitch.
        pitch: Nm,
    },
    /// Not even one site, or not as many as asked, fits.
    #[error(
        "{wanted} sites at a pitch of {pitch} need {needed} between the edge distances of {edge}; the die leaves {room} along {axis}"
    )]
    DoesNotFit {
        /// `x` or `y`.
        axis: char,
        /// Sites wanted along that axis.
        wanted: usize,
        /// Pitch.
        pitch: Nm,
        /// Length that they need.
        needed: Nm,
        /// Edge distance.
        edge: Nm,
        /// Length that is there (negative where the edge distances overlap).
        room: Nm,
    },
    /// More places than anyone can mean.
    #[error("{columns} x {rows} sites are more than {limit}; is a unit wrong?")]
    TooMany {
        /// Columns.
        columns: usize,
        /// Rows.
        rows: usize,
        /// Most places allowed.
        limit: usize,
    },
    /// A site to leave out does not exist.
    #[error(
        "there is no site {name} to leave out; rows run from A to {last_row}, columns from 1 to {columns}"
    )]
    NoSuchSite {
        /// Name given.
        name: String,
        /// Last row's letters.
        last_row: String,
        /// Number of columns.
        columns: usize,
    },
}

/// Most places of a grid.
pub const MOST_SITES: usize = 1_000_000;

/// Sites along a side: `floor((side - 2 edge) / pitch) + 1`, none when the edge distances overlap.
pub fn sites_along(side: Nm, edge: Nm, pitch: Nm) -> usize {
    let room = side - edge * 2;
    if room < Nm::ZERO || pitch <= Nm::ZERO { 0 } else { (room.0 / pitch.0) as usize + 1 }
}

/// Nearest distance of neighbours in a checkerboard of half-steps `a` (x) and `b` (y), in their unit.
pub fn staggered_pitch(a: f64, b: f64) -> f64 {
    a.hypot(b)
}

/// Row letters by the habit of ball naming, from row 0: A to Y without I, O, Q, S, X, Z, then AA, AB, ...
pub fn row_letters(row: usize) -> String {
    const LETTERS: &[u8; 20] = b"ABCDEFGHJKLMNPRTUVWY";
    let mut letters = Vec::new();
    let mut rest = row;
    loop {
        letters.push(LETTERS[rest % LETTERS.len()]);
        if rest < LETTERS.len() {
            break;
        }
        rest = rest / LETTERS.len() - 1;
    }
    letters.iter().rev().map(|&l| char::from(l)).collect()
}

/// Plans the sites of a die of the given size, clear of keep-outs and of the landings of all pads.
///
/// # Errors
/// See [`ArrayError`].
pub fn plan_array(
    plan: &ArrayPlan,
    width: Nm,
    height: Nm,
    pads: &[Pad],
    keep_outs: &[KeepOut],
) -> Result<PlannedArray, ArrayError> {
    let columns = places(plan, 'x', width, plan.pitch_x, plan.size.map(|s| s.0))?;
    let rows = places(plan, 'y', height, plan.pitch_y, plan.size.map(|s| s.1))?;
    if columns.saturating_mul(rows) > MOST_SITES {
        return Err(ArrayError::TooMany { columns, rows, limit: MOST_SITES });
    }
    let left = (width - plan.pitch_x * (columns as i64 - 1)) / 2;
    let top = height - (height - plan.pitch_y * (rows as i64 - 1)) / 2;
    let mut planned = PlannedArray { columns, rows, ..PlannedArray::default() };
    let mut unknown: Vec<&String> = plan.depopulated.iter().collect();
    let reach = plan.capture.0 as f64 / 2.0 + plan.space.0 as f64;
    let pads = PadsByColumn::new(pads, reach + plan.landing_enclosure.0 as f64);
    for row in 0..rows {
        for column in 0..columns {
            if !plan.pattern.uses(row, column, rows, columns) {
                continue;
            }
            let at = Point::new(left + plan.pitch_x * column as i64, top - plan.pitch_y * row as i64);
            let name = format!("{}{}", row_letters(row), column + 1);
            unknown.retain(|n| **n != name);
            let keep_out = || {
                keep_outs
                    .iter()
                    .position(|k| distance_to_polygon(at, &k.polygon) < reach)
                    .map(DropReason::KeepOut)
            };
            let landing = || pads.meeting(at).map(|p| DropReason::Landing(p.name.clone()));
            let reason = if plan.depopulated.contains(&name) {
                Some(DropReason::Depopulated)
            } else {
                keep_out().or_else(landing)
            };
            match reason {
                Some(reason) => planned.dropped.push(DroppedSite { name, at, reason }),
                None => planned.sites.push(Site { name, at, net: None }),
            }
        }
    }
    match unknown.first() {
        Some(name) => Err(ArrayError::NoSuchSite {
            name: (*name).clone(),
            last_row: row_letters(rows.saturating_sub(1)),
            columns,
        }),
        None => Ok(planned),
    }
}

impl Pattern {
    fn uses(self, row: usize, column: usize, rows: usize, columns: usize) -> bool {
        match self {
            Pattern::Full => true,
            Pattern::Staggered => (row + column).is_multiple_of(2),
            Pattern::PerimeterRows(r) => row.min(rows - 1 - row).min(column.min(columns - 1 - column)) < r,
        }
    }
}

fn places(
    plan: &ArrayPlan,
    axis: char,
    side: Nm,
    pitch: Nm,
    asked: Option<usize>,
) -> Result<usize, ArrayError> {
    if pitch <= Nm::ZERO {
        return Err(ArrayError::Pitch { pitch });
    }
    let fit = sites_along(side, plan.edge, pitch);
    let wanted = asked.unwrap_or(fit);
    if wanted == 0 || wanted > fit {
        let wanted = wanted.max(1);
        return Err(ArrayError::DoesNotFit {
            axis,
            wanted,
            pitch,
            needed: pitch * (wanted as i64 - 1),
            edge: plan.edge,
            room: side - plan.edge * 2,
        });
    }
    Ok(wanted)
}

/// Pads sorted by x, so that a site looks only at those that can be near.
struct PadsByColumn<'a> {
    pads: Vec<&'a Pad>,
    widest: f64,
    reach: f64,
}

impl<'a> PadsByColumn<'a> {
    fn new(pads: &'a [Pad], reach: f64) -> Self {
        let mut pads: Vec<&Pad> = pads.iter().collect();
        pads.sort_by_key(|p| p.at);
        let widest = pads.iter().map(|p| p.width.0).max().unwrap_or(0) as f64;
        PadsByColumn { pads, widest, reach }
    }

    /// A pad whose opening is nearer to `at` than the reach.
    fn meeting(&self, at: Point) -> Option<&'a Pad> {
        let span = self.reach + self.widest / 2.0;
        let from = self.pads.partition_point(|p| ((p.at.x - at.x).0 as f64) < -span);
        self.pads[from..].iter().take_while(|p| ((p.at.x - at.x).0 as f64) <= span).copied().find(|p| {
            let beside = |d: Nm, size: Nm| (d.abs().0 as f64 - size.0 as f64 / 2.0).max(0.0);
            beside(p.at.x - at.x, p.width).hypot(beside(p.at.y - at.y, p.height)) < self.reach
        })
    }
}

/// Distance from a point to a polygon's area in nanometres, zero inside; holes are ignored.
fn distance_to_polygon(at: Point, polygon: &Polygon) -> f64 {
    let ring = &polygon.outer;
    let (px, py) = (at.x.nm(), at.y.nm());
    let (mut inside, mut nearest) = (false, f64::INFINITY);
    for (k, a) in ring.iter().enumerate() {
        let b = &ring[(k + 1) % ring.len()];
        let (ax, ay, bx, by) = (a.x.nm(), a.y.nm(), b.x.nm(), b.y.nm());
        if (ay > py) != (by > py) && px < ax + (py - ay) / (by - ay) * (bx - ax) {
            inside = !inside;
        }
        let (dx, dy) = (bx - ax, by - ay);
        let length = dx * dx + dy * dy;
        let t = if length > 0.0 { (((px - ax) * dx + (py - ay) * dy) / length).clamp(0.0, 1.0) } else { 0.0 };
        nearest = nearest.min((px - ax - t * dx).hypot(py - ay - t * dy));
    }
    if inside { 0.0 } else { nearest }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn plan(pitch_um: i64, edge_um: i64) -> ArrayPlan {
        ArrayPlan {
            pitch_x: Nm::from_um(pitch_um),
            pitch_y: Nm::from_um(pitch_um),
            pattern: Pattern::Full,
            edge: Nm::from_um(edge_um),
            size: None,
            depopulated: Vec::new(),
            capture: Nm::from_um(235),
            space: Nm::from_um(10),
            landing_enclosure: Nm::from_um(10),
        }
    }

    fn um(x: i64) -> Nm {
        Nm::from_um(x)
    }

    #[test]
    fn letters_skip_what_can_be_misread() {
        let all: Vec<String> = (0..43).map(row_letters).collect();
        assert_eq!(all[..20].concat(), "ABCDEFGHJKLMNPRTUVWY");
        assert_eq!([&all[20], &all[39], &all[40]], ["AA", "AY", "BA"]);
        assert_eq!(row_letters(20 + 400), "AAA");
    }

    #[test]
    fn an_array_is_centred_with_a1_at_the_upper_left() {
        let array = plan_array(&plan(400, 155), um(3000), um(3000), &[], &[]).unwrap();
        assert_eq!((array.columns, array.rows, array.sites.len()), (7, 7, 49));
        assert_eq!(array.sites[0].name, "A1");
        assert_eq!(array.sites[0].at, Point::um(300.0, 2700.0));
        assert_eq!(array.sites[48].name, "G7");
        assert_eq!(array.sites[48].at, Point::um(2700.0, 300.0));
    }

    #[test]
    fn patterns_use_their_share() {
        let count = |pattern| {
            let plan = ArrayPlan { pattern, ..plan(400, 155) };
            plan_array(&plan, um(3000), um(3000), &[], &[]).unwrap().sites.len()
        };
        assert_eq!(count(Pattern::PerimeterRows(2)), 4 * 2 * (7 - 2));
        assert_eq!(count(Pattern::Staggered), 25);
        assert_eq!(count(Pattern::PerimeterRows(9)), 49);
    }

    #[test]
    fn sites_give_way_to_keep_outs_and_landings() {
        let keep_out = KeepOut {
            layer: None,
            polygon: Polygon::rectangle(Point::um(1400.0, 1400.0), Point::um(1600.0, 1600.0)),
        };
        let pad = Pad {
            name: "P7".into(),
            net: "a".into(),
            at: Point::um(300.0, 2860.0),
            width: um(60),
            height: um(60),
        };
        let plan = ArrayPlan { depopulated: vec!["B2".into()], ..plan(400, 155) };
        let array = plan_array(&plan, um(3000), um(3000), &[pad], &[keep_out]).unwrap();
        let dropped: Vec<(&str, &DropReason)> =
            array.dropped.iter().map(|d| (d.name.as_str(), &d.reason)).collect();
        assert_eq!(
            dropped,
            [
                ("A1", &DropReason::Landing("P7".into())),
                ("B2", &DropReason::Depopulated),
                ("D4", &DropReason::KeepOut(0)),
            ]
        );
    }

    #[test]
    fn a_landing_at_the_exact_space_may_stay() {
        let pad = |y: f64| Pad {
            name: "P".into(),
            net: "a".into(),
            at: Point::um(300.0, y),
            width: um(60),
            height: um(60),
        };
        // 117.5 capture radius + 10 space + 10 enclosure + 30 half opening.
        let kept = |y: f64| {
            plan_array(&plan(400, 155), um(3000), um(3000), &[pad(y)], &[]).unwrap().dropped.is_empty()
        };
        assert!(kept(2700.0 + 167.5));
        assert!(!kept(2700.0 + 167.499));
    }

    #[test]
    fn arrays_that_cannot_be_are_refused() {
        let small = plan_array(&plan(400, 155), um(300), um(3000), &[], &[]).unwrap_err();
        assert!(matches!(small, ArrayError::DoesNotFit { axis: 'x', wanted: 1, .. }));
        let fixed = ArrayPlan { size: Some((8, 7)), ..plan(400, 155) };
        let wide = plan_array(&fixed, um(3000), um(3000), &[], &[]).unwrap_err();
        assert_eq!(
            wide.to_string(),
            "8 sites at a pitch of 400 um need 2800 um between the edge distances of 155 um; the die leaves 2690 um along x"
        );
        assert!(matches!(
            plan_array(&plan(0, 155), um(3000), um(3000), &[], &[]),
            Err(ArrayError::Pitch { .. })
        ));
        let fine = ArrayPlan { pitch_x: Nm(10), pitch_y: Nm(10), ..plan(400, 155) };
        assert!(matches!(plan_array(&fine, um(3000), um(3000), &[], &[]), Err(ArrayError::TooMany { .. })));
        let absent = ArrayPlan { depopulated: vec!["I1".into()], ..plan(400, 155) };
        assert!(matches!(
            plan_array(&absent, um(3000), um(3000), &[], &[]),
            Err(ArrayError::NoSuchSite { .. })
        ));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn every_site_keeps_its_distances(
            width in 500i64..9000, height in 500i64..9000, pitch in 100i64..900, edge in 60i64..300,
        ) {
            let plan = plan(pitch, edge);
            if let Ok(array) = plan_array(&plan, um(width), um(height), &[], &[]) {
                let (mut x, mut y) = (0i128, 0i128);
                for site in &array.sites {
                    for (c, side) in [(site.at.x, um(width)), (site.at.y, um(height))] {
                        prop_assert!(c >= plan.edge && side - c >= plan.edge);
                    }
                    x += site.at.x.0 as i128;
                    y += site.at.y.0 as i128;
                }
                let n = array.sites.len() as i128;
                prop_assert!((2 * x - n * um(width).0 as i128).abs() <= n);
                prop_assert!((2 * y - n * um(height).0 as i128).abs() <= n);
                // One more column would not fit.
                prop_assert!(um(pitch) * array.columns as i64 > um(width) - plan.edge * 2);
            }
        }
    }
}
