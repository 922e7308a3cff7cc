//! Drops of known angle, drawn and read back: how near, how certain, and what is refused.
#![allow(clippy::unwrap_used)]

use facedown_raster::Grey;
use facedown_raster::render::Noise;
use facedown_underfill::drop::specimen::{Below, Scene};
use facedown_underfill::drop::{Asked, Gravity, NoReading, outline, read, read_outline};

/// Pixels of 10 um, water.
const PIXEL: f64 = 1e-5;
const LENGTH_PX: f64 = 272.7;

fn asked(gravity: Gravity) -> Asked {
    Asked { pixel_m: Some(PIXEL), gravity, base_line: None }
}

fn water() -> Asked {
    asked(Gravity::Known { length_m: LENGTH_PX * PIXEL, spread_m: 0.0 })
}

fn scene(degrees: f64) -> Scene {
    Scene { capillary_length: LENGTH_PX, ..Scene::of(degrees) }
}

fn angle(scene: &Scene, asked: &Asked) -> f64 {
    match read(&scene.picture(), asked) {
        Ok(r) => r.angle_rad.to_degrees(),
        Err(e) => panic!("{scene:?}: {e}"),
    }
}

#[test]
fn a_clean_picture_gives_the_angle_to_a_tenth_of_a_degree() {
    for below in [Below::DarkFace, Below::Reflection, Below::Nothing] {
        for degrees in [20.0, 30.0, 45.0, 60.0, 75.0, 90.0, 105.0, 120.0] {
            let found = angle(&Scene { below, ..scene(degrees) }, &water());
            assert!((found - degrees).abs() <= 0.1, "{below:?} {degrees}: {found}");
        }
    }
}

#[test]
fn a_tilted_camera_uneven_light_and_a_bright_spot_change_little() {
    for below in [Below::DarkFace, Below::Reflection] {
        for degrees in [25.0, 60.0, 110.0] {
            for tilt in [-3.0_f64, 2.0] {
                let s = Scene {
                    below,
                    tilt_rad: tilt.to_radians(),
                    uneven: 0.25,
                    spot: degrees > 50.0,
                    ..scene(degrees)
                };
                let r = read(&s.picture(), &water()).unwrap();
                let found = r.angle_rad.to_degrees();
                assert!((found - degrees).abs() <= 0.2, "{below:?} {degrees} {tilt}: {found}");
                assert!(
                    (r.base_line.tilt_rad.to_degrees() - tilt).abs() < 0.1,
                    "{}",
                    r.base_line.tilt_rad.to_degrees()
                );
            }
        }
    }
}

#[test]
fn noise_in_the_grey_leaves_the_angle_within_half_a_degree_and_its_uncertainty_covers_it() {
    let mut pulls = Vec::new();
    for below in [Below::DarkFace, Below::Reflection] {
        for degrees in [20.0, 40.0, 70.0, 90.0, 120.0] {
            let s = Scene { below, noise: 0.05, ..scene(degrees) };
            let r = read(&s.picture(), &water()).unwrap();
            let off = r.angle_rad.to_degrees() - degrees;
            assert!(off.abs() <= 0.5, "{below:?} {degrees}: {off}");
            pulls.push(off / r.uncertainty.total_rad().to_degrees());
        }
    }
    let square = pulls.iter().map(|p| p * p).sum::<f64>() / pulls.len() as f64;
    assert!(square.sqrt() < 3.0, "{pulls:?}");
}

#[test]
fn invented_pictures_of_all_kinds_are_read_to_half_a_degree_and_within_their_uncertainty() {
    let mut draw = Noise::new(99);
    let mut pulls = Vec::new();
    for k in 0..36 {
        let degrees = 20.0 + 125.0 * draw.uniform();
        let below = [Below::DarkFace, Below::Reflection, Below::Nothing][k % 3];
        let tilt = if below == Below::Nothing { 0.0 } else { 6.0 * draw.uniform() - 3.0 };
        let s = Scene {
            below,
            base: Scene::of(degrees).base * (0.6 + 0.5 * draw.uniform()),
            tilt_rad: tilt.to_radians(),
            capillary_length: 150.0 + 600.0 * draw.uniform(),
            noise: 0.06 * draw.uniform(),
            uneven: 0.4 * (draw.uniform() - 0.5),
            blur: 0.7 + 1.5 * draw.uniform(),
            spot: degrees > 60.0,
            foot: [238.0 + 4.0 * draw.uniform(), 285.0 + 5.0 * draw.uniform()],
            ..Scene::of(degrees)
        };
        let length_m = s.capillary_length * PIXEL;
        let r = read(&s.picture(), &asked(Gravity::Known { length_m, spread_m: 0.0 })).unwrap();
        let off = r.angle_rad.to_degrees() - degrees;
        assert!(off.abs() <= 0.5, "{s:?}: {off}");
        pulls.push(off / r.uncertainty.total_rad().to_degrees());
    }
    let square = (pulls.iter().map(|p| p * p).sum::<f64>() / pulls.len() as f64).sqrt();
    assert!((0.3..1.5).contains(&square), "{square}: {pulls:?}");
}

#[test]
fn an_outline_with_noise_of_a_pixel_gives_the_angle_to_half_a_degree() {
    for degrees in [20.0, 45.0, 70.0, 90.0, 120.0] {
        let mut clean = outline(&scene(degrees).picture()).unwrap();
        let mut noise = Noise::new(11);
        for p in &mut clean.points {
            // The face itself is given: noise on it would be a rough face.
            if p[1] < 288.0 {
                *p = [p[0] + noise.normal(), p[1] + noise.normal()];
            }
        }
        let given = Asked { base_line: Some([[10.0, 290.4], [470.0, 290.4]]), ..water() };
        let r = read_outline(&clean, &given).unwrap();
        let off = r.angle_rad.to_degrees() - degrees;
        assert!(off.abs() <= 0.5, "{degrees}: {off}");
        assert!(off.abs() <= 3.0 * r.uncertainty.total_rad().to_degrees());
    }
}

#[test]
fn the_capillary_length_is_found_where_the_drop_is_heavy_and_a_cap_reads_low() {
    let s = Scene { capillary_length: 120.0, ..Scene::of(70.0) };
    let picture = s.picture();
    let fitted = read(&picture, &asked(Gravity::Fitted)).unwrap();
    assert!((fitted.angle_rad.to_degrees() - 70.0).abs() < 0.3, "{}", fitted.angle_rad.to_degrees());
    assert!((fitted.capillary_length_px.unwrap() / 120.0 - 1.0).abs() < 0.03);
    let cap = read(&picture, &asked(Gravity::Neglected));
    // So heavy a drop is no cap: refused, or told with the difference in its uncertainty.
    match cap {
        Ok(cap) => {
            let off = cap.angle_rad.to_degrees() - 70.0;
            assert!(off < -0.5 && off.abs() < 2.0 * cap.uncertainty.total_rad().to_degrees(), "{off}");
        }
        Err(e) => assert!(matches!(e, NoReading::NotADrop { .. }), "{e}"),
    }
}

#[test]
fn sizes_are_those_of_the_drop() {
    let s = scene(60.0);
    let r = read(&s.picture(), &water()).unwrap();
    assert!((r.base_px - 260.0).abs() < 0.3, "{}", r.base_px);
    let sized = facedown_underfill::drop::size::angle_of(
        (r.volume_px3 * PIXEL.powi(3), 0.0),
        (r.base_px * PIXEL, 0.0),
        LENGTH_PX * PIXEL,
    );
    // Volume and base of the same drop tell the same angle.
    assert!((sized.unwrap().angle_rad - r.angle_rad).to_degrees().abs() < 0.05);
    assert!((r.left.angle_rad - r.right.angle_rad).to_degrees().abs() < 0.2);
}

#[test]
fn pictures_without_a_whole_drop_are_refused_with_the_reason() {
    let words = |picture: &Grey| read(picture, &water()).unwrap_err().to_string();
    let blank = Noise::new(3).over(&Grey::from_fn(300, 200, |_, _| 0.6), 0.02);
    assert!(words(&blank).starts_with("the picture is blank"), "{}", words(&blank));
    let face = Grey::from_fn(300, 200, |_, y| if y > 150 { 0.1 } else { 0.8 });
    assert!(words(&face).starts_with("no drop was found"), "{}", words(&face));
    let high = Scene { foot: [238.0, 60.0], ..scene(90.0) };
    assert!(words(&high.picture()).contains("cut off by the frame at its top"), "{}", words(&high.picture()));
    let drop = scene(80.0).picture();
    let needle = Grey::from_fn(480, 360, |x, y| match (230..246).contains(&x) && y < 250 {
        true => 0.1,
        false => drop.at(x as isize, y as isize),
    });
    assert!(words(&needle).contains("a needle is still in it"), "{}", words(&needle));
    let aside = Scene { foot: [60.0, 290.0], below: Below::Nothing, ..scene(60.0) };
    assert!(words(&aside.picture()).contains("left side"), "{}", words(&aside.picture()));
    let beside = Scene { foot: [60.0, 290.0], ..scene(60.0) };
    assert!(words(&beside.picture()).contains("base line was not found"), "{}", words(&beside.picture()));
    let specks = Grey::from_fn(300, 200, |x, y| if x % 40 < 6 && y % 40 < 6 && y > 5 { 0.1 } else { 0.8 });
    assert!(words(&specks).starts_with("no drop was found"), "{}", words(&specks));
    let square =
        Grey::from_fn(300, 200, |x, y| if (100..200).contains(&x) && y > 60 || y > 150 { 0.1 } else { 0.8 });
    assert!(words(&square).starts_with("the outline is not that of one drop"), "{}", words(&square));
    let unscaled = Asked { pixel_m: None, ..water() };
    assert!(read(&scene(60.0).picture(), &unscaled).unwrap_err().to_string().contains("size of a pixel"));
    let off = Asked { base_line: Some([[0.0, 20.0], [400.0, 20.0]]), ..water() };
    assert!(read(&scene(60.0).picture(), &off).is_err());
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(40))]
    #[test]
    fn any_picture_ends_in_an_answer(seed in 0..u64::MAX, sigma in 0.0..8.0_f64, w in 1..140_usize, h in 1..110_usize) {
        let noise = Noise::new(seed).over(&Grey::from_fn(w, h, |_, _| 0.5), 0.3);
        let picture = facedown_raster::smooth::gaussian(&noise, sigma);
        if let Ok(r) = read(&picture, &water()) {
            proptest::prop_assert!(r.angle_rad.is_finite() && r.uncertainty.total_rad().is_finite());
        }
    }
}
