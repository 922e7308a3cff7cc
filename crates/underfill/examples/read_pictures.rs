//! Draws invented pictures, reads them, and writes what was found over them into a folder.
//!
//! Run: `cargo run -p facedown-underfill --example read_pictures -- FOLDER`

use facedown_underfill::drop::specimen::{Below, Scene};
use facedown_underfill::drop::{Asked, Gravity, marked, read};
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
    Ok(())
}
