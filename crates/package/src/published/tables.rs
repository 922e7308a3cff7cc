//! Published tables: layers that free a ball array, ball matrices and lands, rules that nest, sites on a die.

use super::{ROOM, balls, part};
use crate::ball_escape::{board_land_mm, escape_channels, escape_layers};
use crate::bump_sites::sites_along;
use crate::bumps::Bumps;
use crate::fan_in_rules::FanInRules;
use facedown_evidence::{Basis, Check};
use facedown_quantity::Nm;

/// A source with its kind.
#[derive(Clone, Copy)]
struct Source(&'static str, Basis);

const SKY130: Source = Source("open SkyWater SKY130 design-rule tables (Apache-2.0)", Basis::Published);
const GEOMETRY: Source =
    Source("plane geometry, recomputed with scipy 1.17 (reference library)", Basis::ReferenceLibrary);
const LAYER_TABLE: Source = Source("AMD/Xilinx UG1099 v2.0 (2022), table 1", Basis::Published);
const MO_192: Source = Source("JEDEC MO-192-BAL-2, as drawn in a device data sheet", Basis::Published);
const MS_034: Source = Source("JEDEC MS-034-AAJ-2, as drawn in a device data sheet", Basis::Published);
const BALL_COUNTS: Source = Source("count of two outer rows of eight by eight balls", Basis::CommonPractice);
const LANDS: Source = Source("land reduction rule of IPC-7095, as quoted in the trade", Basis::Published);

/// Collects rows with little noise.
struct Table<'a>(&'a mut Vec<Check>);

impl Table<'_> {
    /// A whole number or a yes (1) or no (0).
    fn exact(&mut self, id: &str, source: Source, expected: f64, computed: f64) {
        self.within(id, source, expected, computed, 0.0);
    }

    fn within(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::absolute(id, ROOM, source.0, source.1, expected, computed, tolerance));
    }

    fn relative(&mut self, id: &str, source: Source, expected: f64, computed: f64, tolerance: f64) {
        self.0.push(Check::relative(id, ROOM, source.0, source.1, expected, computed, tolerance));
    }
}

/// Lengths in um, ball arrays in mm, yes and no as 1 and 0.
pub(super) fn rows(checks: &mut Vec<Check>) {
    let mut table = Table(checks);
    layer_rows(&mut table);
    ball_rows(&mut table);
    rule_rows(&mut table);
    let staggered = "pitch = \"282 um\"\nrow_pitch = \"142 um\"\npattern = \"staggered\"";
    let apart = part::<Bumps>(staggered).map_or(f64::NAN, |b| b.neighbour_distance_nm() / 1e3);
    table.within("staggered-pitch", GEOMETRY, 200.112, apart, 5e-4);
}

fn layer_rows(table: &mut Table) {
    for (balls, channels, one, two) in [
        (196, 52.0, 2.0, 1.0),
        (256, 60.0, 3.0, 1.0),
        (400, 76.0, 3.0, 2.0),
        (676, 100.0, 4.0, 2.0),
        (900, 116.0, 5.0, 2.0),
        (1156, 132.0, 5.0, 3.0),
        (1760, 164.0, 6.0, 3.0),
    ] {
        table.exact(&format!("balls-{balls}-channels"), LAYER_TABLE, channels, escape_channels(balls) as f64);
        table.exact(&format!("balls-{balls}-layers-1"), LAYER_TABLE, one, escape_layers(balls, 1) as f64);
        table.exact(&format!("balls-{balls}-layers-2"), LAYER_TABLE, two, escape_layers(balls, 2) as f64);
    }
}

fn ball_rows(table: &mut Table) {
    let span =
        |pitch, count| balls(pitch, count, None).map_or(f64::NAN, |(b, s)| b.footprint(&s).0.um() / 1e3);
    let count =
        |pitch, count, rows| balls(pitch, count, rows).map_or(f64::NAN, |(b, s)| b.sites(&s).len() as f64);
    table.relative("span-20", MO_192, 24.13, span("1.27 mm", 20), 1e-9);
    table.relative("span-15", MS_034, 17.78, span("1.27 mm", 15), 1e-9);
    table.exact("balls-15", MS_034, 225.0, count("1.27 mm", 15, None));
    table.exact("balls-8-two-rows", BALL_COUNTS, 48.0, count("0.8 mm", 8, Some(2)));
    table.exact("balls-20-four-rows", MO_192, 256.0, count("1.27 mm", 20, Some(4)));
    for (ball, land, tolerance) in [
        (0.75, 0.55, 1e-9),
        (0.60, 0.45, 1e-9),
        (0.55, 0.40, 0.02),
        (0.50, 0.40, 1e-9),
        (0.35, 0.30, 1e-9),
        (0.30, 0.25, 1e-9),
        (0.25, 0.20, 1e-9),
        (0.20, 0.17, 1e-9),
        (0.15, 0.13, 1e-9),
    ] {
        table.within(&format!("land-{ball:.2}"), LANDS, land, board_land_mm(ball), tolerance);
    }
}

fn rule_rows(table: &mut Table) {
    let um = Nm::from_um;
    let (a, b, wide) = (FanInRules::A_400, FanInRules::B_400, FanInRules::A_500);
    for (id, rules, ubm, capture, opening) in
        [("rules-500", wide, 250, 270.0, (220.0, 220.0)), ("rules-400", a, 215, 235.0, (170.0, 185.0))]
    {
        table.exact(&format!("{id}-capture"), SKY130, capture, rules.least_capture(um(ubm)).um());
        let range = rules.opening_range(um(ubm)).map_or((f64::NAN, f64::NAN), |r| (r.0.um(), r.1.um()));
        table.exact(&format!("{id}-opening-least"), SKY130, opening.0, range.0);
        table.exact(&format!("{id}-opening-most"), SKY130, opening.1, range.1);
    }
    table.exact("rules-500-ball", SKY130, 310.0, wide.ball.um());
    table.exact("rules-500-ball-spacing", SKY130, 190.0, (wide.pitch - wide.ball).um());
    let landing = a.landing(um(60), um(10));
    table.exact("landing-60-dielectric", SKY130, 40.0, landing.dielectric.um());
    table.exact("landing-60-wide-enough", SKY130, 1.0, f64::from(landing.wide_enough));
    table.exact("landing-60-rdl", SKY130, 60.0, landing.least_rdl.um());
    table.exact("landing-60-pad", SKY130, 55.0, landing.least_pad.um());
    let sites = |side: i64| f64::from(sites_along(um(side), a.edge, a.pitch));
    table.exact("sites-3000", SKY130, 7.0, sites(3000));
    table.exact("sites-4200", SKY130, 10.0, sites(4200));
    table.exact("sites-2600", SKY130, 6.0, sites(2600));
    table.exact("die-7000-allowed", SKY130, 0.0, f64::from(a.allows_die(um(7000), um(4000))));
    table.exact("die-6800-allowed", SKY130, 1.0, f64::from(a.allows_die(um(6800), um(4000))));
    table.exact("edge-150-allowed-a", SKY130, 0.0, f64::from(a.allows_edge(um(150))));
    table.exact("edge-150-allowed-b", SKY130, 0.0, f64::from(b.allows_edge(um(150))));
    table.exact("edge-155-allowed-a", SKY130, 1.0, f64::from(a.allows_edge(um(155))));
}
