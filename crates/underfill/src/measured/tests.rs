//! Drops become readings, angles, maps and charts.

use super::*;
use crate::drop::specimen;
use crate::problem::Problem;
use crate::surface::probe_liquid;
use facedown_raster::png_of_grey;

fn drop_of(liquid: Option<&str>, how: Measured) -> Drop {
    Drop {
        face: Face::Substrate,
        liquid: liquid.and_then(probe_liquid),
        how,
        spread_rad: 0.02,
        dose_j: 0.0,
        age_s: 0.0,
        place_m: None,
        lot: None,
    }
}

fn with(drops: Vec<Drop>) -> Problem {
    Problem { drops, plasma: None, ..crate::specimen::wetting() }
}

#[test]
fn a_drop_by_its_size_is_the_reading_of_its_angle() {
    let length = (72.8e-3_f64 / (998.2 * GRAVITY)).sqrt();
    let truth = 60_f64.to_radians();
    let size = size::of_angle(2e-9, truth, length).unwrap();
    let problem = with(vec![drop_of(
        Some("water"),
        Measured::Size { volume_m3: 2e-9, diameter_m: size.base_diameter_m },
    )]);
    let found = read(&problem);
    assert_eq!(found.readings.len(), 1);
    assert!((found.readings[0].angle_rad - truth).abs() < 1e-4, "{:?}", found.readings);
    assert!(found.readings[0].spread_rad > 0.005);
}

#[test]
fn a_picture_is_read_and_marked_and_a_blank_one_is_left_out() {
    let scene = specimen::Scene::of(50.0);
    let picture = |bytes: Vec<u8>| Measured::Picture {
        name: "drop.png".into(),
        base64: STANDARD.encode(bytes),
        pixel_m: None,
    };
    let good = png_of_grey(&scene.picture()).unwrap();
    let blank = png_of_grey(&facedown_raster::Grey::from_fn(80, 80, |_, _| 0.4)).unwrap();
    let problem = with(vec![drop_of(Some("water"), picture(blank)), drop_of(None, picture(good))]);
    let found = read(&problem);
    assert!(found.readings.is_empty() && found.notes[0].contains("blank"), "{:?}", found.notes);
    let (face, own) = found.own[0];
    assert_eq!((face, found.shown.drops[0].of), (Face::Substrate, 1));
    assert!(found.shown.drops[0].marked_png.as_ref().unwrap().starts_with("iVBORw0KGgo"));
    assert!((own.angle_rad.to_degrees() - 50.0).abs() < 0.5 && own.spread_rad > 0.0);
}

#[test]
fn places_give_a_map_and_lots_a_chart() {
    let mut drops = Vec::new();
    for k in 0..12 {
        let place_m = [0.6e-3 * f64::from(k % 4) * 3.0, 2.5e-3 * f64::from(k / 4)];
        // Worse to the right.
        let angle = 0.4 + 40.0 * place_m[0];
        let lot = Some(format!("lot {}", k / 2));
        drops.push(Drop { place_m: Some(place_m), lot, ..drop_of(None, Measured::Angle(angle)) });
    }
    let found = read(&with(drops));
    let map = &found.shown.maps[0];
    assert_eq!(map.angle_rad.len(), map.count[0] * map.count[1]);
    let row = map.count[1] / 2 * map.count[0];
    assert!(map.angle_rad[row + map.count[0] - 1] > map.angle_rad[row] + 0.1);
    assert_eq!((found.shown.charts.len(), found.shown.charts[0].points.len()), (1, 6));
    assert!(found.shown.charts[0].means && !found.shown.charts[0].treated);
}
