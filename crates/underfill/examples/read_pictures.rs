//! Draws invented pictures, reads them, and writes what was found over them into a folder.
//!
//! Run: `cargo run -p facedown-underfill --example read_pictures -- FOLDER`

use facedown_underfill::drop::specimen::{Below, Scene};
use facedown_underfill::drop::{Asked, Gravity, marked, read};
use facedown_underfill::micrograph;
use std::error::Error;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(std::env::args().nth(1).ok_or("name a folder")?);
    std::fs::create_dir_all(&folder)?;
    let water = Asked {
        pixel_m: Some(1e-5),
        gravity: Gravity::Known { length_m: 2.727e-3, spread_m: 0.05e-3 },
        base_line: None,
    };
    for (name, below, degrees, tilt) in [
        ("face", Below::DarkFace, 62.0, 0.0),
        ("mirror", Below::Reflection, 38.0, 2.0_f64),
        ("round", Below::Reflection, 112.0, -1.5),
        ("foot", Below::Nothing, 85.0, 0.0),
    ] {
        let scene = Scene {
            below,
            tilt_rad: tilt.to_radians(),
            capillary_length: 272.7,
            noise: 0.02,
            uneven: 0.2,
            spot: degrees > 60.0,
            ..Scene::of(degrees)
        };
        let picture = scene.picture();
        let found = read(&picture, &water)?;
        println!(
            "{name}: drawn {degrees:.1} deg, read {:.2} +- {:.2} deg (left {:.2}, right {:.2}, cap {:.2}), base line by {}",
            found.angle_rad.to_degrees(),
            found.uncertainty.total_rad().to_degrees(),
            found.left.angle_rad.to_degrees(),
            found.right.angle_rad.to_degrees(),
            found.cap_rad.to_degrees(),
            found.base_line.found,
        );
        std::fs::write(folder.join(format!("drop-{name}.png")), marked(&picture, &found).png()?)?;
    }
    let scene = micrograph::specimen::Scene::usual();
    let picture = scene.picture().ok_or("the die has no size")?;
    let found = micrograph::read(&picture, &scene.asked())?;
    println!(
        "micrograph: drawn {:.2} % voids, counted {:.2} +- {:.2} %; {} voids, {} touch bumps, {} bridge them; largest {:.0} um",
        100.0 * scene.share(),
        100.0 * found.share,
        100.0 * found.uncertainty,
        found.voids.len(),
        found.touching(),
        found.bridging(),
        1e6 * found.voids.first().map_or(0.0, |v| v.diameter_m),
    );
    let marks = micrograph::marked(&picture, &found, &scene.bumps, scene.bump_diameter_m);
    std::fs::write(folder.join("micrograph.png"), marks.png()?)?;
    // An invented prediction: the same voids, a little to the right, on a coarse grid.
    let cells = (0..96 * 80)
        .map(|k| scene.is_void([f64::from(k % 96) * 5e-5 - 4e-5, f64::from(k / 96) * 5e-5 + 2.5e-5]))
        .collect();
    let map = micrograph::VoidMap { columns: 96, cells };
    let both = micrograph::beside(&picture, &found, &map, &scene.bumps, scene.bump_diameter_m)?;
    println!(
        "prediction: {:.2} % against {:.2} % seen, overlap {:.2}",
        100.0 * both.predicted,
        100.0 * both.seen,
        both.overlap.unwrap_or(0.0)
    );
    std::fs::write(folder.join("micrograph-beside.png"), both.picture.png()?)?;
    Ok(())
}
