//! Draws the invented pictures of the demonstration `tidewatch-dirty`: a sessile drop of water, and a micrograph with the voids that the front predicts without plasma, moved and
//! thinned, with a few more that it does not know.
//!
//! `cargo run --release -p facedown-pipeline --example draw_pictures -- crates/package/demos/tidewatch`

use facedown_package::{demo, read_and_check};
use facedown_pipeline::studies::{UNDERFILL, graph};
use facedown_pipeline::{Cache, Control};
use facedown_raster::png_of_grey;
use facedown_underfill::micrograph::specimen::{Round, Scene};
use facedown_underfill::{Outcome, drop};
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::path::PathBuf::from(std::env::args().nth(1).ok_or("give the folder of the pictures")?);
    let drop = drop::specimen::Scene { noise: 0.01, blur: 1.1, ..drop::specimen::Scene::of(27.0) };
    std::fs::write(folder.join("drop.png"), png_of_grey(&drop.picture())?)?;
    let files = demo("tidewatch").ok_or("no such demonstration")?.memory();
    let mut design = read_and_check(&files, "dirty.toml").design.ok_or("the design cannot be read")?;
    if let Some(fill) = design.process.as_mut().and_then(|p| p.underfill.as_mut()) {
        fill.micrographs.clear();
    }
    if let Some(clean) = design.process.as_mut().and_then(|p| p.clean.as_mut()) {
        clean.reading_list.clear();
    }
    let die = design.dies.first().ok_or("no die")?;
    let (die_m, name) = ([die.width.si(), die.height.si()], die.name.to_string());
    let run = graph()?.run(&design, None, &Cache::none(), Control::silent());
    let outcome: &Outcome = run.output(UNDERFILL, &name).ok_or("the underfill was not solved")?;
    let filling = outcome.untreated.as_ref().ok_or("no fill without plasma")?;
    let map = &filling.map;
    let mut voids: Vec<Round> = Vec::new();
    for (k, _) in map.void.iter().enumerate().filter(|(k, v)| **v > 0 && k % 11 != 3) {
        let at = [k % map.count[0], k / map.count[0]];
        let centre_m = [0, 1].map(|a| (at[a] as f64 + 0.5) * map.step_m[a] + [0.11e-3, -0.03e-3][a]);
        voids.push(Round { centre_m, radius_m: 0.085e-3 });
    }
    for (x, y, r) in [(1.65, 1.55, 0.07), (5.85, 2.45, 0.05), (3.15, 0.65, 0.09), (6.75, 5.65, 0.06)] {
        voids.push(Round { centre_m: [x * 1e-3, y * 1e-3], radius_m: r * 1e-3 });
    }
    let scene = Scene {
        size: [520, 475],
        die_m,
        pixel_m: 15.5e-6,
        tilt_rad: 1.2_f64.to_radians(),
        bumps: filling.bumps_m.clone(),
        bump_diameter_m: filling.bump_diameter_m,
        voids,
        uneven: [0.25, -0.15],
        blur: 0.9,
        noise: 0.015,
    };
    let picture = scene.picture().ok_or("the die has no size in the picture")?;
    std::fs::write(folder.join("scan.png"), png_of_grey(&picture)?)?;
    println!("{:.2} % of the gap are void", 100.0 * scene.share());
    Ok(())
}
