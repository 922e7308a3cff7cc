//! A window of substrate angle by flow temperature, and the spread of the fill time, for an invented die (invented tolerances).
//! `cargo run -p facedown-underfill --example process_window`; the middle should fill in 0.6 s with a probability near 1, and 160 deg not.

use facedown_underfill::Face;
use facedown_underfill::window::{self, NoWindow, Window, specimen};

fn main() -> Result<(), NoWindow> {
    let task = specimen::task(10_000);
    let told = window::spread(&task)?;
    println!(
        "{:?}, {:.2?} s; 5, 50, 95 %: {:.2?}; released {:.4} ({:.4?}); {} fronts, {:?}",
        told.verdict,
        told.fill_time_s,
        told.fill_times_s,
        told.good.share,
        told.good.between,
        told.fronts,
        told.accuracy
    );
    let asked = Window::AngleTemperature {
        face: Face::Substrate,
        angles_rad: (1..=8).map(|k| (20.0 * f64::from(k)).to_radians()).collect(),
        temperatures_k: (0..7).map(|k| 343.15 + 10.0 * f64::from(k)).collect(),
    };
    let told = window::window(&task, &asked)?;
    for row in told.points.chunks(told.count[0]).rev() {
        let cells = row.iter().map(|p| format!("{:>12} {:.2}", format!("{:?}", p.verdict), p.good.share));
        println!("{:.0} K: {}", row[0].at[1], cells.collect::<Vec<_>>().join(" "));
    }
    println!("{} fronts, {:?}", told.fronts, told.accuracy);
    Ok(())
}
