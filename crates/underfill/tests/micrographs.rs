//! Micrographs of known voids, drawn and counted.
#![allow(clippy::unwrap_used)]

use facedown_raster::render::{Noise, covered};
use facedown_raster::{Grey, smooth};
use facedown_underfill::micrograph::specimen::{Round, Scene};
use facedown_underfill::micrograph::{Asked, NoVoids, Shade, VoidMap, beside, find_die, read};

#[test]
fn the_die_is_found_to_a_part_of_a_pixel() {
    for tilt in [-8.0_f64, -1.3, 0.0, 4.0] {
        let scene = Scene { tilt_rad: tilt.to_radians(), size: [700, 640], ..Scene::usual() };
        let found = find_die(&scene.picture().unwrap()).unwrap();
        for (a, b) in found.iter().zip(scene.corners()) {
            assert!((a[0] - b[0]).hypot(a[1] - b[1]) < 0.4, "{tilt}: {a:?} {b:?}");
        }
    }
}

#[test]
fn the_share_lies_within_its_uncertainty_and_every_void_is_counted() {
    for (tilt, noise, uneven) in
        [(0.0_f64, 0.0, [0.0, 0.0]), (2.0, 0.02, [0.3, -0.2]), (-4.0, 0.04, [-0.4, 0.3])]
    {
        let scene = Scene { tilt_rad: tilt.to_radians(), noise, uneven, ..Scene::usual() };
        let found = read(&scene.picture().unwrap(), &scene.asked()).unwrap();
        let apart = found.share - scene.share();
        assert!(apart.abs() < found.uncertainty, "{tilt} {apart} {}", found.uncertainty);
        assert!(found.uncertainty < 0.3 * found.share, "{} of {}", found.uncertainty, found.share);
        assert_eq!(found.voids.len(), 5);
        // The largest lies over four bumps, whose discs are left out of it.
        let largest = &found.voids[0];
        assert!((largest.centre_m[0] - 3.45e-3).hypot(largest.centre_m[1] - 2.75e-3) < 15e-6);
        assert_eq!(found.bridging(), 1);
        let mut bumps = largest.bumps.clone();
        bumps.sort_unstable();
        assert_eq!(bumps.len(), 4);
        // One more lies against a single bump.
        assert!(found.touching() >= 1 && found.touched.iter().all(|t| t.share > 0.0 && t.share <= 1.0));
        let classes = found.sizes(&[0.15e-3, 0.3e-3]);
        assert_eq!(classes.iter().map(|c| c.0).sum::<usize>(), 5);
        assert!((classes.iter().map(|c| c.1).sum::<f64>() - 1.0).abs() < 1e-12);
    }
}

#[test]
fn invented_voids_of_all_kinds_are_counted_within_their_uncertainty() {
    let mut draw = Noise::new(77);
    for _ in 0..10 {
        let voids = (0..1 + (11.0 * draw.uniform()) as usize)
            .map(|_| Round {
                centre_m: [4.8e-3 * draw.uniform(), 4e-3 * draw.uniform()],
                radius_m: 30e-6 + 300e-6 * draw.uniform().powi(2),
            })
            .collect();
        let scene = Scene {
            voids,
            tilt_rad: (8.0 * draw.uniform() - 4.0).to_radians(),
            noise: 0.05 * draw.uniform(),
            blur: 0.6 + 1.2 * draw.uniform(),
            uneven: [0.8 * (draw.uniform() - 0.5), 0.8 * (draw.uniform() - 0.5)],
            ..Scene::usual()
        };
        let found = read(&scene.picture().unwrap(), &scene.asked()).unwrap();
        let apart = found.share - scene.share();
        // A void that bumps and the rim cover up to less than the least that is counted is not seen.
        assert!(apart.abs() < found.uncertainty.max(2e-5), "{apart} {} {scene:?}", found.uncertainty);
    }
}

#[test]
fn a_die_without_voids_has_none_and_one_half_void_has_half() {
    let none = Scene { voids: vec![], ..Scene::usual() };
    let found = read(&none.picture().unwrap(), &none.asked()).unwrap();
    assert_eq!((found.share, found.voids.len(), found.parting.bright), (0.0, 0, None));
    let half = Scene {
        voids: vec![Round { centre_m: [-8e-3, 2e-3], radius_m: 10e-3 }],
        uneven: [0.0; 2],
        ..Scene::usual()
    };
    let found = read(&half.picture().unwrap(), &half.asked()).unwrap();
    assert!(
        (found.share - half.share()).abs() < found.uncertainty.max(0.01),
        "{} {}",
        found.share,
        half.share()
    );
}

#[test]
fn a_disc_has_its_area() {
    let disc = covered(1000, 1000, 8, |x, y| (x - 499.5).hypot(y - 499.5) < 50.0);
    let picture = smooth::gaussian(&disc.map(|v| 0.4 + 0.25 * v), 0.8);
    let corners = Some([[-0.5, 999.5], [999.5, 999.5], [999.5, -0.5], [-0.5, -0.5]]);
    let asked = Asked {
        die_m: [10e-3, 10e-3],
        bumps: &[],
        bump_diameter_m: 0.0,
        corners,
        edge_m: 0.0,
        voids: Shade::Brighter,
        least_diameter_m: 0.0,
    };
    let found = read(&picture, &asked).unwrap();
    assert!((found.share / (std::f64::consts::PI * 2500.0 / 1e6) - 1.0).abs() < 0.003, "{}", found.share);
    assert!((found.voids[0].diameter_m - 1e-3).abs() < 2e-6);
    let dark = read(&picture.map(|v| 1.0 - v), &Asked { voids: Shade::Darker, ..asked }).unwrap();
    assert!((dark.share - found.share).abs() < 1e-6);
}

#[test]
fn a_predicted_map_is_set_beside_the_picture() {
    let scene = Scene::usual();
    let picture = scene.picture().unwrap();
    let found = read(&picture, &scene.asked()).unwrap();
    let (columns, rows) = (480, 400);
    let map = |shift: f64| VoidMap {
        columns,
        cells: (0..columns * rows)
            .map(|k| {
                scene
                    .is_void([(k % columns) as f64 * 1e-5 + 5e-6 + shift, (k / columns) as f64 * 1e-5 + 5e-6])
            })
            .collect(),
    };
    let same = beside(&picture, &found, &map(0.0), &scene.bumps, scene.bump_diameter_m).unwrap();
    assert!(same.overlap.unwrap() > 0.9, "{:?}", same.overlap);
    assert!((same.predicted - same.seen).abs() < 2.0 * found.uncertainty);
    let moved = beside(&picture, &found, &map(0.6e-3), &scene.bumps, scene.bump_diameter_m).unwrap();
    assert!(moved.overlap.unwrap() < 0.1 && moved.confirmed.unwrap() < 0.2);
    assert_eq!(same.picture.width(), 2 * picture.width() + 12);
    let broken = VoidMap { columns: 7, cells: vec![true; 8] };
    assert!(beside(&picture, &found, &broken, &[], 0.0).is_err());
}

#[test]
fn pictures_that_cannot_be_counted_are_refused_with_the_reason() {
    let scene = Scene::usual();
    let picture = scene.picture().unwrap();
    let blank = Grey::from_fn(300, 300, |_, _| 0.4);
    assert_eq!(read(&blank, &scene.asked()), Err(NoVoids::Blank));
    let noise = Noise::new(1).over(&blank, 0.05);
    assert!(matches!(read(&noise, &scene.asked()), Err(NoVoids::Blank | NoVoids::NoDie)));
    let disc =
        Grey::from_fn(
            300,
            300,
            |x, y| if (x as f64 - 150.0).hypot(y as f64 - 150.0) < 100.0 { 0.6 } else { 0.1 },
        );
    assert_eq!(read(&disc, &scene.asked()).err(), Some(NoVoids::NoDie));
    let turned = Asked { die_m: [4.0e-3, 4.8e-3], ..scene.asked() };
    assert!(matches!(read(&picture, &turned), Err(NoVoids::NotARectangle { .. })));
    let small =
        Grey::from_fn(30, 30, |x, y| if (5..25).contains(&x) && (5..25).contains(&y) { 0.6 } else { 0.1 });
    assert!(matches!(read(&small, &scene.asked()), Err(NoVoids::TooSmall { .. })));
    let cut = Grey::from_fn(300, 300, |x, _| if x < 200 { 0.6 } else { 0.1 });
    assert!(read(&cut, &scene.asked()).is_err());
    let tiny = Asked { bump_diameter_m: 20e-6, ..scene.asked() };
    assert!(matches!(read(&picture, &tiny), Err(NoVoids::BumpsTooSmall { .. })));
    let full = Asked { bump_diameter_m: 0.5e-3, ..scene.asked() };
    assert!(matches!(read(&picture, &full), Err(NoVoids::NothingLeft { .. })));
    assert!(read(&picture, &Asked { die_m: [f64::NAN, 1e-3], ..scene.asked() }).is_err());
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(30))]
    #[test]
    fn any_picture_ends_in_an_answer(seed in 0..u64::MAX, sigma in 0.0..9.0_f64, w in 1..120_usize, h in 1..120_usize) {
        let noise = Noise::new(seed).over(&Grey::from_fn(w, h, |_, _| 0.5), 0.3);
        let scene = Scene::usual();
        let _ = read(&smooth::gaussian(&noise, sigma), &scene.asked());
        let corners = Some([[0.0, h as f64], [w as f64, h as f64], [w as f64, 0.0], [0.0, 0.0]]);
        if let Ok(found) = read(&noise, &Asked { corners, bumps: &[], ..scene.asked() }) {
            proptest::prop_assert!((0.0..=1.0).contains(&found.share) && found.uncertainty.is_finite());
        }
    }
}
