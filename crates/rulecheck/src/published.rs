//! Published checks of the checker: distances from plane geometry, and the nesting of pad, opening, RDL, UBM and ball
//! of an open design-rule table.

use crate::{Rules, check};
use facedown_evidence::{Basis, Check};
use facedown_layout::{Drawing, Point, Polygon, Role, Shape, ShapeKind};
use facedown_quantity::Nm;

const GEOMETRY: &str = "plane geometry; the same distance by shapely 2.2";
const TABLE_A_500: &str = "SkyWater SKY130 open design-rule tables (Apache-2.0), fan-in wafer-level redistribution, table A, 500 um pitch";
const TABLE_A_400: &str = "SkyWater SKY130 open design-rule tables (Apache-2.0), fan-in wafer-level redistribution, table A, 400 um pitch";
const TABLE_B_400: &str = "SkyWater SKY130 open design-rule tables (Apache-2.0), fan-in wafer-level redistribution, table B, 400 um pitch";

/// Width 10 um, space 10 um, nothing forgiven.
fn rules() -> Rules {
    Rules { flattening: Nm::ZERO, ..Rules::new(Nm::from_um(10), Nm::from_um(10)) }
}

fn square(centre_um: (i64, i64), side: Nm) -> Polygon {
    let (x, y) = (Nm::from_um(centre_um.0), Nm::from_um(centre_um.1));
    // The upper right takes the odd nanometre.
    let low = side / 2;
    Polygon::rectangle(Point::new(x - low, y - low), Point::new(x + (side - low), y + (side - low)))
}

fn drawing(shapes: &[(Role, ShapeKind, Polygon)]) -> Drawing {
    let mut drawing = Drawing::new("published", Nm::from_um(2000), Nm::from_um(2000));
    for (role, kind, polygon) in shapes {
        drawing.layer_mut(*role).shapes.push(Shape::new(*kind, Some("a"), polygon.clone()));
    }
    drawing
}

/// The smallest even length in nm between two bounds for which the drawing is clean, in um; NaN when the upper bound
/// is not clean.
fn smallest_clean(from_um: i64, to_um: i64, rules: &Rules, draw: impl Fn(Nm) -> Drawing) -> f64 {
    let clean = |half: i64| check(&draw(Nm(2 * half)), rules).clean();
    let (mut low, mut high) = (from_um * 500, to_um * 500);
    if !clean(high) {
        return f64::NAN;
    }
    while low < high {
        let middle = (low + high) / 2;
        if clean(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Nm(2 * high).um()
}

/// The rows that the checker adds to the table of published checks.
pub fn published_checks() -> Vec<Check> {
    let study = "rulecheck";
    let row = |id: &str, source: &str, basis, expected: f64, computed: f64, tolerance: f64| {
        Check::absolute(id, study, source, basis, expected, computed, tolerance)
    };
    let published = |id: &str, source: &str, expected: f64, computed: f64| {
        row(id, source, Basis::Published, expected, computed, 1e-9)
    };
    let mut rows = Vec::new();

    // Spaces between two lines of 40 um.
    let spacing = |lines: [Polygon; 2]| {
        let mut drawing = Drawing::new("lines", Nm::from_um(2000), Nm::from_um(2000));
        for (net, line) in ["a", "b"].into_iter().zip(lines) {
            drawing.layer_mut(Role::Rdl(1)).shapes.push(Shape::new(ShapeKind::Trace, Some(net), line));
        }
        check(&drawing, &rules()).min_spacing().map_or(f64::NAN, |m| m.value / 1e3)
    };
    let level = |y: f64| Polygon::rectangle(Point::um(100.0, y - 20.0), Point::um(900.0, y + 20.0));
    rows.push(row(
        "rulecheck-space-parallel",
        GEOMETRY,
        Basis::ReferenceLibrary,
        60.0,
        spacing([level(300.0), level(400.0)]),
        1e-9,
    ));
    let h = 20.0 * std::f64::consts::FRAC_1_SQRT_2;
    let slanted = |x: f64| {
        Polygon::new(vec![
            Point::um(x + h, 100.0 - h),
            Point::um(x + 500.0 + h, 600.0 - h),
            Point::um(x + 500.0 - h, 600.0 + h),
            Point::um(x - h, 100.0 + h),
        ])
    };
    // Vertices on whole nanometres: each side is off by up to 0.2 nm here.
    rows.push(row(
        "rulecheck-space-45-degrees",
        GEOMETRY,
        Basis::ReferenceLibrary,
        30.710_678,
        spacing([slanted(300.0), slanted(400.0)]),
        5e-4,
    ));

    // Nesting, table A.
    let capture = |ubm: i64| {
        let rules = Rules { capture_encloses_ubm: Some(Nm::from_um(10)), ..rules() };
        smallest_clean(ubm, 2 * ubm, &rules, |side| {
            drawing(&[
                (Role::Rdl(1), ShapeKind::Capture, square((1000, 1000), side)),
                (Role::Ubm, ShapeKind::Ubm, square((1000, 1000), Nm::from_um(ubm))),
            ])
        })
    };
    rows.push(published("rulecheck-capture-500", TABLE_A_500, 270.0, capture(250)));
    rows.push(published("rulecheck-capture-400", TABLE_A_400, 235.0, capture(215)));
    let ubm = |opening: i64| {
        let rules = Rules { ubm_encloses_bump_opening: Some(Nm::from_um(15)), ..rules() };
        smallest_clean(opening, 2 * opening, &rules, |side| {
            drawing(&[
                (Role::BumpOpening, ShapeKind::Opening, square((1000, 1000), Nm::from_um(opening))),
                (Role::Ubm, ShapeKind::Ubm, square((1000, 1000), side)),
            ])
        })
    };
    rows.push(published("rulecheck-ubm-over-opening-500", TABLE_A_500, 250.0, ubm(220)));
    rows.push(published("rulecheck-ubm-over-opening-400", TABLE_A_400, 215.0, ubm(185)));
    let opening = |least: i64| {
        let rules = Rules { bump_opening_width: Some(Nm::from_um(least)), ..rules() };
        smallest_clean(least / 2, 2 * least, &rules, |side| {
            drawing(&[(Role::BumpOpening, ShapeKind::Opening, square((1000, 1000), side))])
        })
    };
    rows.push(published("rulecheck-bump-opening-500", TABLE_A_500, 220.0, opening(220)));
    rows.push(published("rulecheck-bump-opening-400", TABLE_A_400, 170.0, opening(170)));
    let balls = drawing(&[
        (Role::Bump, ShapeKind::Bump, square((600, 1000), Nm::from_um(310))),
        (Role::Bump, ShapeKind::Bump, square((1100, 1000), Nm::from_um(310))),
    ]);
    let ball_rules = Rules { bump_space: Some(Nm::from_um(100)), ..rules() };
    let between = check(&balls, &ball_rules).layer(Role::Bump).and_then(|l| l.min_spacing.clone());
    rows.push(published(
        "rulecheck-ball-space-500",
        TABLE_A_500,
        190.0,
        between.map_or(f64::NAN, |m| m.value / 1e3),
    ));

    // Over a die pad: polymer opening 40 um, drawn 10 um inside a pad opening of 60 um.
    let over_pad = |role: Role, kind: ShapeKind, rules: Rules| {
        smallest_clean(40, 120, &rules, |side| {
            drawing(&[
                (Role::Opening(1), ShapeKind::Opening, square((1000, 1000), Nm::from_um(40))),
                (role, kind, square((1000, 1000), side)),
            ])
        })
    };
    let landing = Rules { landing_enclosure: Some(Nm::from_um(10)), ..rules() };
    rows.push(published(
        "rulecheck-landing",
        TABLE_A_500,
        60.0,
        over_pad(Role::Rdl(1), ShapeKind::Landing, landing),
    ));
    let pad_metal = Rules { pad_encloses_opening: Some(Nm(7_500)), ..rules() };
    rows.push(published(
        "rulecheck-pad-metal",
        TABLE_A_500,
        55.0,
        over_pad(Role::Pad, ShapeKind::Pad, pad_metal),
    ));
    let pad_opening = Rules { pad_opening_width: Some(Nm::from_um(35)), ..rules() };
    rows.push(published(
        "rulecheck-pad-opening",
        TABLE_A_500,
        35.0,
        smallest_clean(10, 60, &pad_opening, |side| {
            drawing(&[(Role::Opening(1), ShapeKind::Opening, square((1000, 1000), side))])
        }),
    ));

    // UBM centre to seal ring.
    for (id, source, least) in
        [("rulecheck-seal-ring-a", TABLE_A_400, 155), ("rulecheck-seal-ring-b", TABLE_B_400, 250)]
    {
        let rules = Rules { bump_centre_to_seal_ring: Some(Nm::from_um(least)), ..rules() };
        let nearest = smallest_clean(50, 1000, &rules, |x| {
            let (low, high) =
                (Point::new(x - Nm(50_000), Nm(950_000)), Point::new(x + Nm(50_000), Nm(1_050_000)));
            let bump = (Role::Bump, ShapeKind::Bump, Polygon::rectangle(low, high));
            let seat = (Role::Rdl(1), ShapeKind::Capture, Polygon::rectangle(low, high));
            drawing(&[bump, seat])
        });
        rows.push(published(id, source, least as f64, nearest));
    }
    rows
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_published_check_passes() {
        for row in super::published_checks() {
            assert!(row.pass(), "{} expected {} computed {}", row.id, row.expected, row.computed);
        }
    }
}
